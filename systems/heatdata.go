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
	Schema    int64                    `toml:"schema"`
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

// readHeat reads a file under heat.
func (c *Catalog) readHeat(r *tomlfile.Reader, name string, text []byte, id FileID) (*dataSet, error) {
	var f heatFile
	d, err := r.Decode(name, text, &f)
	if err != nil {
		return nil, err
	}
	id.Kind, id.ID, id.Version = f.Kind, f.ID, f.Version
	type heatTables struct {
		of    string // kind of file
		there bool
	}
	tables := []heatTables{{"fuels", len(f.Fuels) > 0}, {"heaters", len(f.Heaters) > 0}, {"envelopes", len(f.Envelopes) > 0}, {"floors", len(f.Films) > 0 || len(f.Layers) > 0}}
	own := slices.IndexFunc(tables, func(x heatTables) bool { return x.of == f.Kind })
	if own < 0 {
		return nil, d.Errorf([]string{"kind"}, "found %q: want fuels, heaters, envelopes or floors", f.Kind)
	}
	for i, x := range tables {
		if x.there && i != own {
			return nil, d.Errorf([]string{"kind"}, "found tables of %s in a file of kind %q: want those of one kind", x.of, f.Kind)
		}
	}
	if !tables[own].there {
		return nil, d.Errorf([]string{"kind"}, "found %q and no table of it: want at least one", f.Kind)
	}
	if err := versioned(d, f.ID, f.Version); err != nil {
		return nil, err
	}
	var errs []error
	at := func(table, key string, figures ...figure) {
		bad := func(key []string, format string, args ...any) { errs = append(errs, d.Errorf(key, format, args...)) }
		for _, x := range figures {
			where := []string{table, key, x.key}
			if x.text == "" {
				bad([]string{table, key}, "found no %s: want one", x.key)
				continue
			}
			if !(x.v >= x.lo && x.v <= x.hi) {
				bad(where, "found %q: want %s", x.text, x.want)
			}
			if problem := c.unsourced(x.Origin); problem != "" {
				bad(where, "%s", problem)
			}
		}
	}
	for _, key := range d.Under("fuels") {
		x := f.Fuels[key]
		at("fuels", key, fig("hhv", x.HHV, 5e6, 150e6, "5 MJ/kg to 150 MJ/kg"), fig("lhv", x.LHV, 4e6, float64(x.HHV.Q), "4 MJ/kg up to hhv"),
			fig("water", x.Water, 0, 9, "0 % to 900 %"), fig("co2", x.CO2, 0, 4, "0 % to 400 %"), fig("density", x.Density, 0.1, 2000, "0.1 kg/m3 to 2000 kg/m3"))
	}
	for _, key := range d.Under("heaters") {
		x := f.Heaters[key]
		switch where := []string{"heaters", key}; {
		case x.Unvented && (x.Fuel == "" || x.Efficiency.Given()):
			errs = append(errs, d.Errorf(where, "found an unvented heater without fuel or with an efficiency: want a fuel, and no efficiency since it follows from that"))
		case !x.Unvented && !x.Efficiency.Given():
			errs = append(errs, d.Errorf(where, "found no efficiency: want one for a heater that is not unvented"))
		}
		if x.Efficiency.Given() {
			top, want := 1.0, "5 % to 100 %"
			if x.Fuel == "" {
				top, want = 8, "5 % to 800 %"
			}
			at("heaters", key, fig("efficiency", x.Efficiency, 0.05, top, want))
		}
	}
	for _, key := range d.Under("envelopes") {
		x := f.Envelopes[key]
		at("envelopes", key, fig("walls", x.Walls, 0.05, 20, "0.05 W/(m2 K) to 20 W/(m2 K)"), fig("roof", x.Roof, 0.05, 20, "0.05 W/(m2 K) to 20 W/(m2 K)"),
			fig("air_changes", x.AirChanges, 0, 100./3600, "0 1/h to 100 1/h"))
	}
	for _, key := range d.Under("films") {
		at("films", key, fig("film", f.Films[key].Film, 0.1, 1000, "0.1 W/(m2 K) to 1000 W/(m2 K)"))
	}
	for _, key := range d.Under("layers") {
		x := f.Layers[key]
		at("layers", key, fig("conductivity", x.Conductivity, 0.01, 500, "0.01 W/(m K) to 500 W/(m K)"), fig("density", x.Density, 1, 25000, "1 kg/m3 to 25 000 kg/m3"),
			fig("heat", x.Heat, 100, 10000, "100 J/(kg K) to 10 000 J/(kg K)"))
	}
	fill(f.Fuels, id)
	fill(f.Heaters, id)
	fill(f.Envelopes, id)
	fill(f.Films, id)
	fill(f.Layers, id)
	return &dataSet{FileID: id, doc: d, heat: heat{f.Fuels, f.Heaters, f.Envelopes, f.Films, f.Layers}}, tomlfile.Gather(errs...)
}

// figures lists the figures of one entry.
func (f *FuelClass) figures() (all origins) {
	all.add("fuel "+f.ID+" hhv", f.HHV.Text, f.HHV.Origin)
	all.add("fuel "+f.ID+" lhv", f.LHV.Text, f.LHV.Origin)
	all.add("fuel "+f.ID+" water", f.Water.Text, f.Water.Origin)
	all.add("fuel "+f.ID+" co2", f.CO2.Text, f.CO2.Origin)
	all.add("fuel "+f.ID+" density", f.Density.Text, f.Density.Origin)
	return all
}

func (h *HeaterClass) figures() (all origins) {
	all.add("heater "+h.ID+" efficiency", h.Efficiency.Text, h.Efficiency.Origin)
	return all
}

func (e *EnvelopeClass) figures() (all origins) {
	all.add("envelope "+e.ID+" walls", e.Walls.Text, e.Walls.Origin)
	all.add("envelope "+e.ID+" roof", e.Roof.Text, e.Roof.Origin)
	all.add("envelope "+e.ID+" air_changes", e.AirChanges.Text, e.AirChanges.Origin)
	return all
}

func (f *FilmClass) figures() (all origins) {
	all.add("film "+f.ID+" film", f.Film.Text, f.Film.Origin)
	return all
}

func (l *LayerClass) figures() (all origins) {
	all.add("layer "+l.ID+" conductivity", l.Conductivity.Text, l.Conductivity.Origin)
	all.add("layer "+l.ID+" density", l.Density.Text, l.Density.Origin)
	all.add("layer "+l.ID+" heat", l.Heat.Text, l.Heat.Origin)
	return all
}

// A Class is what the entries of the heat files have in common.
type Class struct {
	ID   string `toml:"-"`
	Name string `toml:"name"`
	file FileID
}

func (c *Class) put(id string, file FileID) { c.ID, c.file = id, file }

func (c Class) from() FileID { return c.file }

// fill names the entries of a file.
func fill[T any, P interface {
	*T
	put(string, FileID)
}](m map[string]T, file FileID) {
	for id, x := range m {
		P(&x).put(id, file)
		m[id] = x
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

// checkHeat looks for names that lead nowhere. docs are those of the sets.
func (c *Catalog) checkHeat(docs map[string]*tomlfile.Doc) error {
	var errs []error
	for _, s := range c.sets {
		d := docs[s.key()]
		for _, key := range slices.Sorted(maps.Keys(s.heat.heaters)) {
			h := s.heat.heaters[key]
			if _, ok := c.heat.fuels[h.Fuel]; !ok && h.Fuel != "" {
				errs = append(errs, d.Errorf([]string{"heaters", key, "fuel"}, "found %q: want %s", h.Fuel, tomlfile.OneOf(h.Fuel, slices.Sorted(maps.Keys(c.heat.fuels)))))
			}
			for _, caution := range h.Cautions {
				if _, ok := c.cautions[caution]; !ok {
					errs = append(errs, d.Errorf([]string{"heaters", key, "cautions"}, "found %q: want some of %s", caution, names(c.cautions)))
				}
			}
		}
	}
	return tomlfile.Gather(errs...)
}

func names[T any](m map[string]T) string { return strings.Join(slices.Sorted(maps.Keys(m)), ", ") }

func one[T any](m map[string]T, kind, id string) (T, error) {
	x, ok := m[id]
	if !ok {
		return x, fmt.Errorf("no %s %q: want %s", kind, id, tomlfile.OneOf(id, slices.Sorted(maps.Keys(m))))
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
