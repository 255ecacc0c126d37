package systems

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/tomlfile"
)

// A Job is one floor to be built: what was typed in, with the recipe and the
// materials resolved and the user's own figures put over theirs. Make one with
// [ReadJob] or [ReadJobFS].
type Job struct {
	Name, Place string
	Start       time.Time
	Recipe      Recipe
	Areas       []Area
	Patches     []PatchWork
	Joints      []JointWork
	Cracks      []JointWork // chased: as wide and deep as they are to be filled
	Grits       []string
	Crew        Crew
	Slab        SlabState
	Weather     Weather
	Sections    int // 0: as many as the crew needs
	Margin      Limit
	Profile     int64              // of the prepared slab, CSP 1 to 10; 0 if not given
	VOC         *coverage.VOCLimit // of volatile organic compounds; nil if the job names none
	Moisture    string             // id of the slab moisture limit that applies in place of the materials' own, or ""
	Goal        Goal               // of [decide], for Decide; zero if the job has none
	Site        *Site              // nil if the job has no [room]

	// What is before Now has happened: it is placed as Done tells, and all other
	// work starts then or later. Zero: nothing is done yet.
	Now  time.Duration
	Done map[string]DoneWork // by step

	catalog   *Catalog
	materials map[string]*Material // by the name a step uses; not to be changed
	skip      map[string]bool
	overrides map[string]Material      // by id, figures of the job's own data sheets
	held      map[string]time.Duration // by step: it does not start before
	ifs       whatIfs                  // disturbances by the name of their table
	lack      []lack                   // hands that are missing
	keep      *kept                    // the plan whose starts are kept, or nil
	layout    string                   // of times in the words of disturbances; "": as all text has them
	order     *heldOrder               // of its sections, or nil
	given     Weather                  // typed in or logged: it wins over the site's forecast
	logged    Weather                  // of it, what a logger read
	input     Input
	prices    *Prices           // nil: none given
	past      []PastUse         // in the order of the file
	methods   map[string]string // by coat: how it is put down, if the job says so
}

// An Area is one floor area with what is known of its concrete.
type Area struct {
	Name                             string
	Floor                            units.Area
	BaseLength, BaseHeight, BaseCove units.Length
	Uptake                           units.Length // volume of resin the pores drink, per area
	UptakeKnown                      bool
	Profile                          units.Length // volume of resin the texture takes, per area

	Lines []coverage.Line // the shape, and the holes in it
	Plan  units.Area      // as seen from above: of a stair its treads, else Floor
	Less  units.Area      // taken off beside the holes
	Edge  units.Length    // sides of the shape and its holes, where a coat is cut in
	Faces units.Area      // vertical faces that are coated too: sides of plinths and columns

	EdgeKnown, EdgeGiven bool // Edge follows from the shape or was given; was given

	given               []given // of the shape, as the job states it
	sides               []side  // that Faces adds up
	uptakeOf, profileOf []given // the tests that Uptake and Profile follow from
	uptakeAs            arg     // Uptake as the job gives it, where it says more of it than the figure
}

// A PatchWork is a number of like patches.
type PatchWork struct {
	Name  string
	Area  units.Area
	Depth units.Length
	Crown units.Length
	Count int
}

// A JointWork is a number of like joints or cracks.
type JointWork struct {
	Name                 string
	Form                 string // "square", or "" for it; "v"
	Length, Width, Depth units.Length
	Set, Rod             units.Length // of a backer rod: how deep its crown lies, its diameter; 0 without one
	Over, Lap            units.Length // bead that the joint is overfilled by, to be ground off: its height and width
	Count                int
}

// A Crew is who works, and when.
type Crew struct {
	Hands    int
	From, To time.Duration  // of the day; To beyond 24 h is on the next one
	Rest     []time.Weekday // on which no shift begins
}

// SlabState is what was measured of the slab.
type SlabState struct {
	Humidity *units.Fraction // in-situ relative humidity
	Emission *units.MassFlux
	Age      *time.Duration
	Probes   int // readings that Humidity is the highest of; 0 if it was typed in itself
	Dishes   int // likewise of Emission
}

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

// ReadJob reads a job file and resolves it against c. Every fault is a
// [*FileError] that names line, key, what was found and what is allowed. A
// logger's readings stand in the file itself (temperatures.log); for a file
// that names another (temperatures.log_file) use [ReadJobFS].
func ReadJob(r io.Reader, c *Catalog) (Job, error) { return readJob(r, "job", nil, c) }

// ReadJobFS reads the job file called name in fsys; a logger's CSV file that
// it names is read from the same folder.
func ReadJobFS(fsys fs.FS, name string, c *Catalog) (Job, error) {
	if fsys == nil {
		return Job{}, errors.New("systems.ReadJobFS: file tree = nil: want the folder of the job")
	}
	f, err := fsys.Open(name)
	if err != nil {
		return Job{}, err
	}
	defer f.Close()
	return readJob(f, name, func(file string) ([]byte, error) { return fs.ReadFile(fsys, path.Join(path.Dir(name), file)) }, c)
}

const maxJobBytes = 8 << 20

func readJob(r io.Reader, name string, open func(string) ([]byte, error), c *Catalog) (Job, error) {
	if c == nil {
		return Job{}, errors.New("systems.ReadJob: catalog = nil: want one from Builtin or Load")
	}
	if r == nil {
		return Job{}, errors.New("systems.ReadJob: reader = nil: want the text of a job")
	}
	text, err := io.ReadAll(io.LimitReader(r, maxJobBytes+1))
	if err != nil {
		return Job{}, err
	}
	if len(text) > maxJobBytes {
		return Job{}, &FileError{File: name, Problem: "longer than 8 MiB"}
	}
	var f jobFile
	d, err := tomlfile.Decode(name, bytes.TrimPrefix(text, byteOrderMark), &f)
	if err == nil {
		err = edition(d)
	}
	if err != nil {
		return Job{}, err
	}
	j := Job{Name: f.Name, Place: f.Place, catalog: c, materials: map[string]*Material{}, skip: map[string]bool{}, overrides: map[string]Material{}, held: map[string]time.Duration{}, methods: map[string]string{}, input: Input{Name: name, Text: string(text)}}
	p := jobReader{d: d, f: &f, j: &j, c: c, open: open}
	if err := p.all(); err != nil {
		return Job{}, err
	}
	return j, nil
}

type jobReader struct {
	d    *tomlfile.Doc
	f    *jobFile
	j    *Job
	c    *Catalog
	open func(string) ([]byte, error)
}

func (p jobReader) bad(key string, format string, args ...any) error {
	return p.d.Errorf(strings.Split(key, "/"), format, args...)
}

// all reads every part and gathers the faults. A part that hangs on another is
// left out where that one is at fault: what it would say might not be true.
func (p jobReader) all() error {
	var errs []error
	sound := func(read func() error) bool {
		err := read()
		errs = append(errs, err)
		return err == nil
	}
	start, recipe, areas := sound(p.head), sound(p.recipe), sound(p.areas)
	sound(p.joints)
	crew := sound(p.crew)
	sound(p.slab)
	sound(p.volatiles)
	prices := sound(p.prices)
	sound(p.past)
	overrides := sound(p.overrides)
	if prices && overrides {
		sound(p.kitPrices)
	}
	if areas {
		sound(p.patches)
	}
	now := start && sound(p.now)
	weather := now && areas && sound(p.room) && sound(p.weather)
	if now && recipe && sound(p.steps) && sound(p.done) && overrides && sound(p.resolve) {
		sound(p.decide)
		if areas {
			sound(p.before)
		}
		if weather && crew {
			sound(p.whatIf)
		}
	}
	return tomlfile.Gather(errs...)
}

func (p jobReader) head() error {
	if strings.TrimSpace(p.f.Name) == "" {
		return p.bad("name", "not given: want the job's name")
	}
	t, err := time.Parse(time.RFC3339, p.f.Start)
	if err != nil {
		return p.bad("start", "found %q: want a time with offset such as 2026-04-07T07:00:00-04:00", p.f.Start)
	}
	if t.Year() < 1900 || t.Year() > 2200 {
		return p.bad("start", "found %q: want a year from 1900 to 2200", p.f.Start)
	}
	_, offset := t.Zone()
	p.j.Start = t.In(time.FixedZone("", offset)) // Parse takes the machine's own zone, with its daylight saving, where the offset fits
	return nil
}

func (p jobReader) recipe() error {
	r, err := p.c.Recipe(p.f.Recipe)
	if err != nil {
		return p.bad("recipe", "found %q: %w", p.f.Recipe, err)
	}
	r.Steps = maps.Clone(r.Steps)
	p.j.Recipe = r
	margin := r.Margin
	if p.f.Limits.Margin != "" {
		margin = p.f.Limits.Margin
	}
	l, err := p.c.Limit(margin)
	if err != nil {
		return p.bad("limits/margin", "%w", err)
	}
	if err := new(units.TempDelta).UnmarshalText([]byte(l.Value)); err != nil {
		return p.bad("limits/margin", "found %q, which is not a temperature difference: want a dew-point rule", margin)
	}
	p.j.Margin = l
	if id := p.f.Limits.Moisture; id != "" {
		l, err := p.c.Limit(id)
		if err != nil {
			return p.bad("limits/moisture", "%w", err)
		}
		if l.Quantity != "mass flux" && (l.Quantity != "fraction" || !strings.HasPrefix(id, "moisture-")) {
			return p.bad("limits/moisture", "found %q, which is not a limit of slab moisture: want an emission, or a humidity whose id begins with moisture-", id)
		}
		p.j.Moisture = id
	}
	return nil
}

// within checks a length-like figure of the job.
func within[Q ~float64](p jobReader, key string, q, lo, hi Q, want string) error {
	if q >= lo && q <= hi {
		return nil
	}
	return p.bad(key, "found %v: want %s", any(q), want)
}

func (p jobReader) areas() error {
	names := p.d.Under("areas")
	if len(names) == 0 {
		return p.bad("areas", "found none: want at least one, such as [areas.shop]")
	}
	var errs []error
	for _, name := range names {
		errs = append(errs, p.area(name))
	}
	return errors.Join(errs...)
}

func (p jobReader) area(name string) error {
	f, at := p.f.Areas[name], "areas/"+name
	a := Area{Name: name}
	if err := p.measure(at, &f, &a); err != nil {
		return err
	}
	if f.BaseLength != nil || f.BaseHeight != nil || f.BaseRadius != nil {
		if f.BaseLength == nil || f.BaseHeight == nil {
			return p.bad(at, "found a base without both base_length and base_height: want both")
		}
		a.BaseLength, a.BaseHeight = *f.BaseLength, *f.BaseHeight
		if f.BaseRadius != nil {
			a.BaseCove = *f.BaseRadius
		}
		if err := errors.Join(within(p, at+"/base_length", a.BaseLength, 0, 1e5, "0 m to 100 km"), within(p, at+"/base_height", a.BaseHeight, 0.001, 5, "1 mm to 5 m"),
			within(p, at+"/base_radius", a.BaseCove, 0, a.BaseHeight, "0 mm up to the base height")); err != nil {
			return err
		}
		if lost := a.BaseLength.Times(a.BaseCove); lost >= a.Floor {
			return p.bad(at+"/base_length", "found a cove that takes %v of floor: want less than the area", lost)
		}
	}
	if err := p.surface(at, &f, &a); err != nil {
		return err
	}
	if a.Plan == 0 {
		a.Plan = a.Floor
	}
	p.j.Areas = append(p.j.Areas, a)
	return nil
}

func count(n *int64) int64 {
	if n == nil {
		return 1
	}
	return *n
}

func (p jobReader) patches() error {
	var total units.Area
	var errs []error
	for _, name := range p.d.Under("patches") {
		f, at := p.f.Patches[name], "patches/"+name
		n := count(f.Count)
		if n < 1 || n > 100000 {
			errs = append(errs, p.bad(at+"/count", "found %d: want 1 to 100000", n))
		}
		if err := errors.Join(within(p, at+"/area", f.Area, 1e-6, 1e5, "1 mm2 to 100 000 m2"), within(p, at+"/depth", f.Depth, 1e-5, 1, "0.01 mm to 1 m"),
			within(p, at+"/crown", f.Crown, 0, 0.05, "0 mm to 50 mm")); err != nil {
			errs = append(errs, err)
		}
		total += f.Area * units.Area(n)
		p.j.Patches = append(p.j.Patches, PatchWork{name, f.Area, f.Depth, f.Crown, int(n)})
	}
	if len(errs) > 0 {
		return errors.Join(errs...)
	}
	var floor units.Area
	for _, a := range p.j.Areas {
		floor += a.Floor
	}
	if total > floor {
		return p.bad("patches", "found %v of patches on %v of floor: want no more than the floor", total, floor)
	}
	return nil
}

func (p jobReader) joints() error {
	var errs []error
	fill := func(kind, name string, f jointFile, to *[]JointWork) {
		w, err := p.joint(kind+"/"+name, name, f)
		if err != nil {
			errs = append(errs, err)
		}
		*to = append(*to, w)
	}
	for _, name := range p.d.Under("joints") {
		fill("joints", name, p.f.Joints[name], &p.j.Joints)
	}
	for _, name := range p.d.Under("cracks") {
		fill("cracks", name, p.f.Cracks[name], &p.j.Cracks)
	}
	for _, g := range p.f.Grind.Grits {
		if _, ok := p.c.grits[g]; !ok {
			errs = append(errs, p.bad("grind/grits", "found grit %q: want some of %s", g, strings.Join(sortedGrits(p.c.grits), ", ")))
		}
	}
	p.j.Grits = p.f.Grind.Grits
	if n := p.f.Grind.Profile; n != nil {
		if *n < 1 || *n > 10 {
			errs = append(errs, p.bad("grind/profile", "found %d: want a surface profile from 1 to 10", *n))
		}
		p.j.Profile = *n
	}
	return errors.Join(errs...)
}

func sortedGrits(m map[string]Grit) []string {
	keys := slices.Collect(maps.Keys(m))
	slices.SortFunc(keys, func(a, b string) int {
		x, _ := strconv.Atoi(a)
		y, _ := strconv.Atoi(b)
		return x - y
	})
	return keys
}

// check looks at a crew, which need not be read from a file.
func (c Crew) check() error {
	bad := func(field, format string, args ...any) error {
		return fmt.Errorf("systems.Plan: crew."+field+": found "+format, args...)
	}
	for _, d := range c.Rest {
		if d < time.Sunday || d > time.Saturday {
			return bad("rest", "day %d: want 0 (Sunday) to 6", int(d))
		}
	}
	switch {
	case c.Hands < 1 || c.Hands > mostHands:
		return bad("hands", "%d: want 1 to %d", c.Hands, mostHands)
	case c.From < 0 || c.From >= day:
		return bad("from", "%s: want a time of day, 0h to 24h", units.DurationText(c.From))
	case c.To < c.From+time.Hour || c.To > c.From+day:
		return bad("to", "%s: want one hour to 24 h after from, %s", units.DurationText(c.To), units.DurationText(c.From))
	case c.neverWorks():
		return bad("rest", "all seven days: want at least one to work")
	}
	return nil
}

// neverWorks reports whether all days of the week are days of rest.
func (c Crew) neverWorks() bool {
	return len(slices.Compact(slices.Sorted(slices.Values(c.Rest)))) == 7
}

// mostHands is the largest crew that a job may have.
const mostHands = 1000

// longestNight tells a night shift from a slip of the pen.
const longestNight = 16 * time.Hour

func clock(text string) (time.Duration, bool) {
	t, err := time.Parse("15:04", text)
	if err != nil {
		return 0, false
	}
	return time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute, true
}

func (p jobReader) crew() error {
	f := p.f.Crew
	if f.Hands < 1 || f.Hands > mostHands {
		return p.bad("crew/hands", "found %d: want 1 to %d", f.Hands, mostHands)
	}
	from, ok1 := clock(f.From)
	to, ok2 := clock(f.To)
	if f.To == "24:00" {
		to, ok2 = day, true
	}
	if !ok1 {
		return p.bad("crew/from", "found %q: want a time of day such as 07:00", f.From)
	}
	if ok2 && to <= from { // a night shift
		if to += day; to-from > longestNight {
			ok2 = false
		}
	}
	if !ok2 || to-from < time.Hour {
		return p.bad("crew/to", "found %q: want a time of day at least one hour after from, or of the next day for a night shift of at most 16 hours", f.To)
	}
	if f.Sections < 0 || f.Sections > 1000 {
		return p.bad("crew/sections", "found %d: want 0 (as many as the crew needs) to 1000", f.Sections)
	}
	p.j.Sections = int(f.Sections)
	p.j.Crew = Crew{Hands: int(f.Hands), From: from, To: to}
	for _, day := range f.Rest {
		i := slices.Index([]string{"sun", "mon", "tue", "wed", "thu", "fri", "sat"}, day)
		if i < 0 {
			return p.bad("crew/rest", "found %q: want some of sun, mon, tue, wed, thu, fri, sat", day)
		}
		p.j.Crew.Rest = append(p.j.Crew.Rest, time.Weekday(i))
	}
	if p.j.Crew.neverWorks() {
		return p.bad("crew/rest", "found all seven days: want at least one to work")
	}
	return nil
}

func (p jobReader) slab() error {
	m := p.f.Moisture
	if m.Humidity != nil {
		if err := within(p, "moisture/humidity", *m.Humidity, 0, 1, "0 % to 100 %"); err != nil {
			return err
		}
	}
	if m.Emission != nil {
		if err := within(p, "moisture/emission", *m.Emission, 0, 1e-5, "0 to about 177 lb/(1000 ft2 d)"); err != nil {
			return err
		}
	}
	p.j.Slab = SlabState{Humidity: m.Humidity, Emission: m.Emission, Probes: len(m.Readings), Dishes: len(m.Dishes)}
	if len(m.Readings) > 0 {
		if m.Humidity != nil {
			return p.bad("moisture/readings", "found readings and humidity: want one of them")
		}
		var high units.Fraction
		for i, text := range m.Readings {
			var rh units.Fraction
			if err := rh.UnmarshalText([]byte(text)); err != nil {
				return p.bad("moisture/readings", "reading %d: %w", i+1, err)
			}
			if !(rh >= 0.01 && rh <= 1) {
				return p.bad("moisture/readings", "reading %d: found %q: want 1 %% to 100 %%", i+1, text)
			}
			high = max(high, rh)
		}
		p.j.Slab.Humidity = &high
	}
	if len(m.Dishes) > 0 {
		if m.Emission != nil {
			return p.bad("moisture/dishes", "found dishes and emission: want one of them")
		}
		var high units.MassFlux
		for _, name := range p.d.Under("moisture", "dishes") {
			f, at := m.Dishes[name], "moisture/dishes/"+name
			if f.Gain == nil || f.Area == nil || f.Exposure == nil {
				return p.bad(at, "found no gain, area or exposure: want all three")
			}
			e, err := climate.EmissionRate(*f.Gain, *f.Area, f.Exposure.Duration())
			if err != nil {
				return p.bad(at, "%w", oneLine(err))
			}
			high = max(high, e)
		}
		p.j.Slab.Emission = &high
	}
	if m.Age != nil {
		age := m.Age.Duration()
		if age < 0 {
			return p.bad("moisture/age", "found %v: want 0d or more", age)
		}
		p.j.Slab.Age = &age
	}
	return nil
}

func (p jobReader) overrides() error {
	var errs []error
	for _, id := range p.d.Under("materials") {
		errs = append(errs, p.override(id))
	}
	return tomlfile.Gather(errs...)
}

// override reads the job's own figures of a material over the catalog's.
func (p jobReader) override(id string) error {
	class, err := p.c.Material(id)
	if err != nil {
		return p.bad("materials/"+id, "%w", err)
	}
	m := class.clone()
	if err := p.d.Primitive(p.f.Materials[id], &m, "materials", id); err != nil {
		return err
	}
	if m.Kind != class.Kind || m.ID != class.ID || m.Version != class.Version || m.Extends != class.Extends || m.Sheet != class.Sheet {
		return p.bad("materials/"+id, "found another kind, id, version, extends or sheet: want figures only")
	}
	m.over(&class)
	if err := m.finish(p.d, []string{"materials", id}); err != nil {
		return err
	}
	var errs []error
	for _, x := range p.c.dangling(&m) {
		errs = append(errs, p.d.Errorf(append([]string{"materials", id}, strings.Split(x.key, ".")...), "%s", x.problem))
	}
	if err := tomlfile.Gather(errs...); err != nil {
		return err
	}
	p.j.overrides[id] = m
	return nil
}

func (p jobReader) steps() error {
	var errs []error
	for _, id := range p.d.Under("steps") {
		errs = append(errs, p.oneStep(id))
	}
	if err := errors.Join(errs...); err != nil {
		return err
	}
	if len(p.f.Steps) > 0 {
		if err := p.j.Recipe.check(p.d); err != nil {
			return err
		}
	}
	for _, id := range p.j.Recipe.order {
		s := p.j.Recipe.Steps[id]
		if (s.Into != "" && p.j.skip[s.Into] || s.Fills != "" && p.j.skip[s.Fills]) && !p.j.skip[id] {
			return p.bad("steps/"+id, "the step %s%s that it needs is skipped: want it skipped too", s.Into, s.Fills)
		}
	}
	return nil
}

func (p jobReader) oneStep(id string) error {
	f, at := p.f.Steps[id], "steps/"+id
	s, ok := p.j.Recipe.Steps[id]
	if !ok {
		return p.bad(at, "found step %q, which the recipe does not have: want %s", id, tomlfile.OneOf(id, p.j.Recipe.order))
	}
	if f.Skip {
		p.j.skip[id] = true
	}
	if f.Title != "" {
		s.Title = f.Title
	}
	if f.Material != "" {
		if err := p.otherMaterial(&s, f.Material, at+"/material"); err != nil {
			return err
		}
	}
	set(&s.Film, f.Film)
	set(&s.Share, f.Share)
	set(&s.Ratio, f.Ratio)
	set(&s.Waste, f.Waste)
	set(&s.Rate, f.Rate)
	set(&s.Pace, f.Pace)
	set(&s.Each, f.Each)
	set(&s.Setup, f.Setup)
	set(&s.Lag, f.Lag)
	set(&s.Keeps, f.Keeps)
	set(&s.Takes, f.Takes)
	set(&s.Face, f.Face)
	set(&s.Texture, f.Texture)
	set(&s.Thinner, f.Thinner)
	set(&s.Lets, f.Lets)
	set(&s.Cut, f.Cut)
	set(&s.Strip, f.Strip)
	set(&s.Hangs, f.Hangs)
	set(&s.Tools, f.Tools)
	set(&s.Residue, f.Residue)
	set(&s.Usable, f.Usable)
	if f.Hands != nil {
		s.Hands = *f.Hands
	}
	if f.NotBefore != "" {
		t, err := moment(f.NotBefore, p.j.Start)
		if err != nil {
			return p.bad(at+"/not_before", "%v", err)
		}
		if t < 0 {
			return p.bad(at+"/not_before", "found %q, which is before the start: want a time from the start on", f.NotBefore)
		}
		if s.Does == Broadcast {
			return p.bad(at+"/not_before", "found one for a broadcast, which goes with its coat: want it for %s", s.Into)
		}
		p.j.held[id] = t
	}
	if f.Method != "" {
		if methods := p.c.Methods(); !slices.Contains(methods, f.Method) {
			return p.bad(at+"/method", "found %q: want %s", f.Method, tomlfile.OneOf(f.Method, methods))
		}
		if s.Does != Coat {
			return p.bad(at+"/method", "found a method for a step that does %s: want it for coats only", s.Does)
		}
		p.j.methods[id] = f.Method
	}
	for _, o := range s.figures() {
		if problem := p.c.unsourced(o.Origin); problem != "" {
			return p.bad(at+"/"+o.where, "%s", problem)
		}
	}
	p.j.Recipe.Steps[id] = s
	if f.Film != nil && s.Does != Coat {
		return p.bad(at+"/film", "found a film for a step that does %s: want it for coats only", s.Does)
	}
	return nil
}

// otherMaterial lets a step take another material, named at a key.
func (p jobReader) otherMaterial(s *Step, name, at string) error {
	m, err := p.c.Material(name)
	if err != nil {
		return p.bad(at, "%w", err)
	}
	if s.Material == "" {
		return p.bad(at, "found %q: this step takes no material", name)
	}
	if old, err := p.c.Material(s.Material); err == nil && old.Kind != m.Kind {
		return p.bad(at, "found %q, which is %s: want %s", name, m.Kind, old.Kind)
	}
	s.Material = name
	return nil
}

func set[T any](to *T, from *T) {
	if from != nil {
		*to = *from
	}
}

// resolve finds the materials that the steps and their options name.
func (p jobReader) resolve() error {
	used, version := map[string]bool{}, map[string]string{} // by id
	find := func(name string) error {
		m, err := p.c.Material(name)
		if err != nil {
			return p.bad("recipe", "%w", err)
		}
		if o, ok := p.j.overrides[m.ID+"@"+m.Version]; ok {
			m, used[m.ID] = o, true
		} else if o, ok := p.j.overrides[m.ID]; ok && o.Version == m.Version {
			m, used[m.ID] = o, true
		}
		version[m.ID] = m.Version
		p.j.materials[name] = &m
		return nil
	}
	for _, id := range p.j.Recipe.order {
		s := p.j.Recipe.Steps[id]
		for _, name := range []string{s.Material, s.Sand} {
			if name != "" {
				if err := find(name); err != nil {
					return err
				}
			}
		}
		for _, o := range s.Options {
			if err := find(o.Material); err != nil {
				return err
			}
		}
	}
	for _, name := range p.d.Under("materials") { // figures for a version that no step takes would do nothing
		o := p.j.overrides[name]
		if v, ok := version[o.ID]; ok && !used[o.ID] {
			return p.bad("materials/"+name, "found figures for %s@%s, and the steps take %s@%s: want [materials.%q]", o.ID, o.Version, o.ID, v, o.ID+"@"+v)
		}
	}
	return nil
}

func (p jobReader) weather() error {
	t := p.f.Temperatures
	w := &p.j.Weather
	switch {
	case t.Log != "" && t.LogFile != "":
		return p.bad("temperatures/log_file", "found log and log_file: want one of them")
	case t.LogFile != "":
		if p.open == nil {
			return p.bad("temperatures/log_file", "found %q, but the job was not read from a folder: want the readings in temperatures.log", t.LogFile)
		}
		text, err := p.open(t.LogFile)
		if err != nil {
			return p.bad("temperatures/log_file", "found %q: %w", t.LogFile, err)
		}
		p.j.input.Files = map[string]string{t.LogFile: string(text)}
		if err := w.readLog(t.LogFile, text, 1, p.j.Start); err != nil {
			return err
		}
	case t.Log != "":
		line := p.d.Line("temperatures", "log")
		if err := w.readLog(p.d.Name, []byte(strings.TrimPrefix(t.Log, "\n")), line+1, p.j.Start); err != nil {
			return err
		}
	}
	logged := *w
	slab, err := p.series([]string{"temperatures", "slab"}, func(k string) float64 { return t.Slab[k].Kelvin() }, 233.15-1e-9, 333.15+1e-9, warm)
	if err != nil {
		return err
	}
	air, err := p.series([]string{"temperatures", "air"}, func(k string) float64 { return t.Air[k].Kelvin() }, 233.15-1e-9, 333.15+1e-9, warm)
	if err != nil {
		return err
	}
	rh, err := p.series([]string{"temperatures", "rh"}, func(k string) float64 { return float64(t.RH[k]) }, 0.01, 1, "1 % to 100 %")
	if err != nil {
		return err
	}
	for _, x := range []struct {
		typed Series
		to    *Series
	}{{slab, &w.Slab}, {air, &w.Air}, {rh, &w.RH}} {
		if len(x.typed) > 0 { // typed ones win over the logger's
			*x.to = x.typed
		}
	}
	p.j.given, p.j.logged = *w, logged
	for _, x := range []struct {
		typed Series
		to    *Series
	}{{slab, &p.j.logged.Slab}, {air, &p.j.logged.Air}, {rh, &p.j.logged.RH}} {
		if len(x.typed) > 0 {
			*x.to = nil
		}
	}
	if err := p.split(logged); err != nil {
		return err
	}
	if p.j.Site != nil {
		*w = p.j.given.over(p.j.Site.weather())
	}
	for _, x := range []struct {
		name string
		of   Series
	}{{"slab", w.Slab}, {"air", w.Air}, {"rh", w.RH}} {
		if len(x.of) == 0 {
			return p.bad("temperatures", "found no %s: want [temperatures.%s], a log with that column, or [room] and [outdoors]", x.name, x.name)
		}
	}
	return nil
}

const warm = "-40 °C to 60 °C"

// series reads a table of readings by time.
func (p jobReader) series(table []string, value func(string) float64, lo, hi float64, want string) (Series, error) {
	var s Series
	var errs []error
	for _, key := range p.d.Under(table...) {
		full := append(slices.Clone(table), key)
		at, err := moment(key, p.j.Start)
		if err != nil {
			errs = append(errs, p.d.Errorf(full, "%v", err))
			continue
		}
		v := value(key)
		if !(v >= lo && v <= hi) {
			errs = append(errs, p.d.Errorf(full, "out of range: want %s", want))
			continue
		}
		if len(s) > 0 && at <= s[len(s)-1].At {
			errs = append(errs, p.d.Errorf(full, "found time %q not after the one before: want rising times", key))
			continue
		}
		s = append(s, Reading{at, v})
	}
	return s, errors.Join(errs...)
}

// farthest is how far a reading may be from the job's start: a year and some.
const farthest = 400 * day

// Moment reads a time of the job, since its start or by the clock with an offset, as
// that since its start.
//
// Range: 400 days before the start to 400 days after it. The error names the text and
// what is allowed.
func (j *Job) Moment(text string) (time.Duration, error) { return moment(text, j.Start) }

// moment reads a time since the start, or one with offset.
func moment(text string, start time.Time) (time.Duration, error) {
	at, err := units.ParseDuration(text)
	if err != nil {
		t, err := time.Parse(time.RFC3339, text)
		if err != nil {
			return 0, fmt.Errorf("found time %q: want a time since the start such as 12h, or one with offset such as 2026-04-07T07:00:00-04:00", text)
		}
		at = t.Sub(start) // holds the farthest Duration if it is farther
	}
	if at < -farthest || at > farthest {
		return 0, fmt.Errorf("found time %q: want one within 400 days of the start", text)
	}
	return at, nil
}
