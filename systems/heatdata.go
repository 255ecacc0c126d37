package systems

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/tomlfile"
)

// A FuelClass is a fuel of temporary heat, per mass.
type FuelClass struct {
	Class
	HHV     Value[units.SpecificEnergy] `toml:"hhv"`   // higher heating value
	LHV     Value[units.SpecificEnergy] `toml:"lhv"`   // lower
	Water   Value[units.Fraction]       `toml:"water"` // kg per kg burned
	CO2     Value[units.Fraction]       `toml:"co2"`   // kg per kg burned
	Density Value[units.Density]        `toml:"density"`
}

// Fuel returns the fuel for package climate.
func (f *FuelClass) Fuel() climate.Fuel {
	return climate.Fuel{HHV: f.HHV.Q, LHV: f.LHV.Q, Water: f.Water.Q, CO2: f.CO2.Q}
}

// A HeaterClass is a class of temporary heaters.
type HeaterClass struct {
	Class
	Fuel       string                `toml:"fuel"` // id of a fuel; "" for electric
	Unvented   bool                  `toml:"unvented"`
	Efficiency Value[units.Fraction] `toml:"efficiency"` // not of unvented ones
	Cautions   []string              `toml:"cautions"`
}

// An EnvelopeClass is what a kind of space loses.
type EnvelopeClass struct {
	Class
	Walls      Value[units.FilmCoefficient] `toml:"walls"` // thermal transmittance, windows and doors in it
	Roof       Value[units.FilmCoefficient] `toml:"roof"`
	AirChanges Value[units.Rate]            `toml:"air_changes"` // doors shut
}

// A FilmClass is a film coefficient between a floor and air.
type FilmClass struct {
	Class
	Film Value[units.FilmCoefficient] `toml:"film"`
}

// A LayerClass is what a layer of a floor is made of.
type LayerClass struct {
	Class
	Conductivity Value[units.Conductivity] `toml:"conductivity"`
	Density      Value[units.Density]      `toml:"density"`
	Heat         Value[units.SpecificHeat] `toml:"heat"`
}

// Layer returns a layer of it for package climate.
func (l *LayerClass) Layer(thickness units.Length) climate.Layer {
	return climate.Layer{Thickness: thickness, Conductivity: l.Conductivity.Q, Density: l.Density.Q, HeatCapacity: l.Heat.Q}
}

// heatFile is any file under heat; kind says which of its tables it has.
type heatFile struct {
	Kind      string                   `toml:"kind"`
	ID        string                   `toml:"id"`
	Version   string                   `toml:"version"`
	Name      string                   `toml:"name"`
	Fuels     map[string]FuelClass     `toml:"fuels"`
	Heaters   map[string]HeaterClass   `toml:"heaters"`
	Envelopes map[string]EnvelopeClass `toml:"envelopes"`
	Films     map[string]FilmClass     `toml:"films"`
	Layers    map[string]LayerClass    `toml:"layers"`
}

// heat holds the catalog's fuels, heaters, envelopes, films and layers.
type heat struct {
	fuels     map[string]FuelClass
	heaters   map[string]HeaterClass
	envelopes map[string]EnvelopeClass
	films     map[string]FilmClass
	layers    map[string]LayerClass
}

// addHeat reads a file under heat.
func (c *Catalog) addHeat(name string, text []byte, id FileID) error {
	var f heatFile
	d, err := tomlfile.Decode(name, text, &f)
	if err != nil {
		return err
	}
	id.Kind, id.ID, id.Version = f.Kind, f.ID, f.Version
	has := map[string]bool{"fuels": len(f.Fuels) > 0, "heaters": len(f.Heaters) > 0, "envelopes": len(f.Envelopes) > 0, "floors": len(f.Films) > 0 || len(f.Layers) > 0}
	if _, ok := has[f.Kind]; !ok {
		return d.Errorf([]string{"kind"}, "found %q: want fuels, heaters, envelopes or floors", f.Kind)
	}
	for kind, there := range has {
		if there != (kind == f.Kind) {
			return d.Errorf([]string{"kind"}, "found tables of %s in a file of kind %q, or none of its own: want those of one kind", kind, f.Kind)
		}
	}
	if err := versioned(d, f.ID, f.Version); err != nil {
		return err
	}
	at := func(table, key string, figures ...figure) error {
		for _, x := range figures {
			where := []string{table, key, x.key}
			if x.text == "" {
				return d.Errorf([]string{table, key}, "found no %s: want one", x.key)
			}
			if !(x.v >= x.lo && x.v <= x.hi) {
				return d.Errorf(where, "found %q: want %s", x.text, x.want)
			}
			if x.Basis == Published && c.sources[x.Source].Title == "" {
				return d.Errorf(where, "found source %q: want a key of sources.toml", x.Source)
			}
		}
		return nil
	}
	for _, key := range d.Under("fuels") {
		x := f.Fuels[key]
		if err := at("fuels", key, fig("hhv", x.HHV, 5e6, 150e6, "5 MJ/kg to 150 MJ/kg"), fig("lhv", x.LHV, 4e6, float64(x.HHV.Q), "4 MJ/kg up to hhv"),
			fig("water", x.Water, 0, 9, "0 % to 900 %"), fig("co2", x.CO2, 0, 4, "0 % to 400 %"), fig("density", x.Density, 0.1, 2000, "0.1 kg/m3 to 2000 kg/m3")); err != nil {
			return err
		}
	}
	for _, key := range d.Under("heaters") {
		x := f.Heaters[key]
		switch where := []string{"heaters", key}; {
		case x.Unvented && (x.Fuel == "" || x.Efficiency.Given()):
			return d.Errorf(where, "found an unvented heater without fuel or with an efficiency: want a fuel, and no efficiency since it follows from that")
		case !x.Unvented && !x.Efficiency.Given():
			return d.Errorf(where, "found no efficiency: want one for a heater that is not unvented")
		}
		if x.Efficiency.Given() {
			top, want := 1.0, "5 % to 100 %"
			if x.Fuel == "" {
				top, want = 8, "5 % to 800 %"
			}
			if err := at("heaters", key, fig("efficiency", x.Efficiency, 0.05, top, want)); err != nil {
				return err
			}
		}
	}
	for _, key := range d.Under("envelopes") {
		x := f.Envelopes[key]
		if err := at("envelopes", key, fig("walls", x.Walls, 0.05, 20, "0.05 W/(m2 K) to 20 W/(m2 K)"), fig("roof", x.Roof, 0.05, 20, "0.05 W/(m2 K) to 20 W/(m2 K)"),
			fig("air_changes", x.AirChanges, 0, 100./3600, "0 1/h to 100 1/h")); err != nil {
			return err
		}
	}
	for _, key := range d.Under("films") {
		if err := at("films", key, fig("film", f.Films[key].Film, 0.1, 1000, "0.1 W/(m2 K) to 1000 W/(m2 K)")); err != nil {
			return err
		}
	}
	for _, key := range d.Under("layers") {
		x := f.Layers[key]
		if err := at("layers", key, fig("conductivity", x.Conductivity, 0.01, 500, "0.01 W/(m K) to 500 W/(m K)"), fig("density", x.Density, 1, 25000, "1 kg/m3 to 25 000 kg/m3"),
			fig("heat", x.Heat, 100, 10000, "100 J/(kg K) to 10 000 J/(kg K)")); err != nil {
			return err
		}
	}
	if c.past[name] {
		return nil
	}
	fill(c.heat.fuels, f.Fuels, id)
	fill(c.heat.heaters, f.Heaters, id)
	fill(c.heat.envelopes, f.Envelopes, id)
	fill(c.heat.films, f.Films, id)
	fill(c.heat.layers, f.Layers, id)
	return nil
}

// A Class is what the entries of the heat files have in common.
type Class struct {
	ID   string `toml:"-"`
	Name string `toml:"name"`
	file FileID
}

func (c *Class) put(id string, file FileID) { c.ID, c.file = id, file }

// fill adds entries of a file to those of the catalog.
func fill[T any, P interface {
	*T
	put(string, FileID)
}](to, from map[string]T, file FileID) {
	for id, x := range from {
		P(&x).put(id, file)
		to[id] = x
	}
}

// A figure is a value with the range it must be in, in SI.
type figure struct {
	key, text string
	v, lo, hi float64
	want      string
	Origin
}

func fig[Q ~float64](key string, v Value[Q], lo, hi float64, want string) figure {
	return figure{key, v.Text, float64(v.Q), lo, hi, want, v.Origin}
}

// checkHeat looks for names that lead nowhere.
func (c *Catalog) checkHeat() error {
	for _, key := range slices.Sorted(maps.Keys(c.heat.heaters)) {
		h := c.heat.heaters[key]
		if _, ok := c.heat.fuels[h.Fuel]; !ok && h.Fuel != "" {
			return &FileError{File: h.file.ID + "@" + h.file.Version, Key: "heaters." + key + ".fuel", Problem: fmt.Sprintf("found %q: want one of %s", h.Fuel, names(c.heat.fuels))}
		}
		for _, caution := range h.Cautions {
			if _, ok := c.cautions[caution]; !ok {
				return &FileError{File: h.file.ID + "@" + h.file.Version, Key: "heaters." + key + ".cautions", Problem: fmt.Sprintf("found %q: want some of %s", caution, names(c.cautions))}
			}
		}
	}
	return nil
}

func names[T any](m map[string]T) string { return strings.Join(slices.Sorted(maps.Keys(m)), ", ") }

func one[T any](m map[string]T, kind, id string) (T, error) {
	x, ok := m[id]
	if !ok {
		return x, fmt.Errorf("no %s %q: want one of %s", kind, id, names(m))
	}
	return x, nil
}

// Fuel returns the fuel called id.
func (c *Catalog) Fuel(id string) (FuelClass, error) { return one(c.heat.fuels, "fuel", id) }

// Heater returns the heater class called id.
func (c *Catalog) Heater(id string) (HeaterClass, error) { return one(c.heat.heaters, "heater", id) }

// Envelope returns the envelope called id.
func (c *Catalog) Envelope(id string) (EnvelopeClass, error) {
	return one(c.heat.envelopes, "envelope", id)
}

// Film returns the film coefficient called id.
func (c *Catalog) Film(id string) (FilmClass, error) { return one(c.heat.films, "film", id) }

// Layer returns the layer material called id.
func (c *Catalog) Layer(id string) (LayerClass, error) { return one(c.heat.layers, "layer", id) }
