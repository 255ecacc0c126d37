package systems

import (
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/tomlfile"
)

type areaFile struct {
	Length      *units.Length        `toml:"length"`
	Width       *units.Length        `toml:"width"`
	Area        *units.Area          `toml:"area"`
	Less        *units.Area          `toml:"less"`
	BaseLength  *units.Length        `toml:"base_length"`
	BaseHeight  *units.Length        `toml:"base_height"`
	BaseRadius  *units.Length        `toml:"base_radius"`
	Uptake      *Value[units.Length] `toml:"uptake"`
	Porosity    *units.Fraction      `toml:"porosity"`
	Penetration *units.Length        `toml:"penetration"`
	Profile     *units.Length        `toml:"profile"`

	Diameter  *units.Length       `toml:"diameter"`
	Corners   []string            `toml:"corners"` // "x, y" of each
	Holes     map[string]holeFile `toml:"holes"`
	Edge      *units.Length       `toml:"edge"`  // where a coat is cut in, if not the sides of the shape
	Faces     *units.Area         `toml:"faces"` // vertical faces coated too
	Steps     *int64              `toml:"steps"` // a stair, with width
	Tread     *units.Length       `toml:"tread"`
	Riser     *units.Length       `toml:"riser"`
	Nosing    *units.Length       `toml:"nosing"`
	OpenSides *int64              `toml:"open_sides"`
	Drank     *drankFile          `toml:"drank"`   // a test spot, with water or resin
	Texture   *textureFile        `toml:"texture"` // a measured profile
}

type patchFile struct {
	Area  units.Area   `toml:"area"`
	Depth units.Length `toml:"depth"`
	Crown units.Length `toml:"crown"`
	Count *int64       `toml:"count"`
}

type jointFile struct {
	Length units.Length `toml:"length"`
	Width  units.Length `toml:"width"`
	Depth  units.Length `toml:"depth"`
	Count  *int64       `toml:"count"`

	Form string        `toml:"form"`
	Set  *units.Length `toml:"set"`
	Rod  *units.Length `toml:"rod"`
	Over *units.Length `toml:"over"`
	Lap  *units.Length `toml:"lap"`
}

type dishFile struct {
	Gain     *units.Mass `toml:"gain"`
	Area     *units.Area `toml:"area"`
	Exposure *units.Span `toml:"exposure"`
}

type stepFile struct {
	Skip     bool                   `toml:"skip"`
	Title    string                 `toml:"title"`
	Material string                 `toml:"material"`
	Film     *Value[units.Length]   `toml:"film"`
	Share    *Value[units.Fraction] `toml:"share"`
	Ratio    *Value[units.Fraction] `toml:"ratio"`
	Waste    *Value[units.Fraction] `toml:"waste"`
	Rate     *Value[units.AreaRate] `toml:"rate"`
	Pace     *Value[units.Speed]    `toml:"pace"`
	Each     *Value[units.Span]     `toml:"each"`
	Setup    *Value[units.Span]     `toml:"setup"`
	Lag      *Value[units.Span]     `toml:"lag"`
	Keeps    *Value[units.Fraction] `toml:"keeps"`
	Takes    *Value[units.Loading]  `toml:"takes"`
	Face     *Value[units.Length]   `toml:"face"`
	Texture  *Value[units.Length]   `toml:"texture"`
	Thinner  *Value[units.Fraction] `toml:"thinner"`
	Lets     *Value[units.Density]  `toml:"lets"`
	Cut      *Value[units.Length]   `toml:"cut"`
	Strip    *Value[units.Length]   `toml:"strip"`
	Hangs    *Value[units.Length]   `toml:"hangs"`
	Tools    *Value[units.Volume]   `toml:"tools"`
	Residue  *Value[units.Volume]   `toml:"residue"`
	Usable   *Value[units.Fraction] `toml:"usable"`
	Hands    *int64                 `toml:"hands"`

	NotBefore string `toml:"not_before"` // since the start, or with offset
	Method    string `toml:"method"`     // of laying a coat, a film's scatter
}

type jobFile struct {
	Schema  int64                `toml:"schema"`
	Name    string               `toml:"name"`
	Place   string               `toml:"place"`
	Recipe  string               `toml:"recipe"`
	Start   string               `toml:"start"`
	Areas   map[string]areaFile  `toml:"areas"`
	Patches map[string]patchFile `toml:"patches"`
	Joints  map[string]jointFile `toml:"joints"`
	Cracks  map[string]jointFile `toml:"cracks"`
	Grind   struct {
		Grits   []string `toml:"grits"`
		Profile *int64   `toml:"profile"` // CSP, judged by eye against the chips
	} `toml:"grind"`
	Crew struct {
		Hands    int64    `toml:"hands"`
		From     string   `toml:"from"`
		To       string   `toml:"to"`
		Rest     []string `toml:"rest"`
		Sections int64    `toml:"sections"`
	} `toml:"crew"`
	Moisture struct {
		Humidity *units.Fraction `toml:"humidity"`
		Emission *units.MassFlux `toml:"emission"`
		Age      *units.Span     `toml:"age"`

		Readings []string            `toml:"readings"` // of F2170 probes
		Dishes   map[string]dishFile `toml:"dishes"`   // of F1869
	} `toml:"moisture"`
	Limits struct {
		Margin   string `toml:"margin"`
		Moisture string `toml:"moisture"`
	} `toml:"limits"`
	Temperatures struct {
		Slab    map[string]units.Temperature `toml:"slab"`
		Air     map[string]units.Temperature `toml:"air"`
		RH      map[string]units.Fraction    `toml:"rh"`
		Log     string                       `toml:"log"`
		LogFile string                       `toml:"log_file"`
	} `toml:"temperatures"`
	Volatiles volatilesFile            `toml:"volatiles"`
	Room      roomFile                 `toml:"room"`
	Outdoors  outdoorsFile             `toml:"outdoors"`
	Materials map[string]tomlfile.Part `toml:"materials"`
	Steps     map[string]stepFile      `toml:"steps"`
	Decide    decideFile               `toml:"decide"`
	WhatIf    map[string]whatIfFile    `toml:"what_if"`

	Prices pricesFile                     `toml:"prices"`
	Past   map[string]map[string]pastFile `toml:"past"`
	Now    string                         `toml:"now"` // since the start, or with offset: what is before it is done
	Done   map[string]doneFile            `toml:"done"`
}
