package systems

import (
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"strings"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/tomlfile"
)

// A Sheet names the data sheet of a product whose figures a material file takes
// the place of its class's.
type Sheet struct {
	Title   string `toml:"title" json:"title"`
	Edition string `toml:"edition" json:"edition"` // number or date, as printed
	At      string `toml:"at" json:"at"`           // page, where a figure does not give its own
	Note    string `toml:"note" json:"note"`
}

// pending is a material file that extends another and waits until all are read.
type pending struct {
	key, extends, shown string
	text                []byte
	id                  FileID
}

// extend makes the materials that fill in a class: the class's figures, and over
// them those that the file states.
func (l *loader) extend() {
	c := l.c
	wait := map[string]pending{}
	for _, p := range l.pending {
		wait[p.key] = p
	}
	open := map[string]bool{} // being made: met again, the way is a circle
	var chain []string
	var make func(key string) error
	make = func(key string) error {
		p := wait[key]
		d := l.docs["material "+key]
		_, version, exact := strings.Cut(p.extends, "@")
		switch {
		case open[p.extends] || p.extends == key:
			return d.Errorf([]string{"extends"}, "found %q, which comes back to this file (%s): want a class that does not", p.extends, strings.Join(append(slices.Clone(chain), key, p.extends), " -> "))
		case !exact || !semver(version):
			return d.Errorf([]string{"extends"}, "found %q: want a name with its version such as epoxy-standard@1.1.0, so that the file stays what it is", p.extends)
		}
		if _, ok := wait[p.extends]; ok {
			open[key], chain = true, append(chain, key)
			err := make(p.extends)
			delete(open, key)
			chain = chain[:len(chain)-1]
			if err != nil {
				return err // told once, of the file that has it
			}
		}
		parent, ok := c.materials[p.extends]
		if !ok {
			return d.Errorf([]string{"extends"}, "found %q: want %s", p.extends, tomlfile.OneOf(p.extends, slices.Sorted(maps.Keys(c.materials))))
		}
		delete(wait, key)
		m, err := fillIn(&parent, p)
		if err != nil {
			return err
		}
		c.materials[key] = m
		return nil
	}
	for _, key := range slices.Sorted(maps.Keys(wait)) {
		if _, ok := wait[key]; ok {
			l.bad(make(key))
		}
	}
}

// fillIn reads a file over the figures of its class.
func fillIn(class *Material, p pending) (Material, error) {
	m := class.clone()
	kind := m.Kind
	m.ID, m.Version, m.Extends, m.Sheet, m.Schema = "", "", "", Sheet{}, 0
	d, err := tomlfile.Decode(p.shown, p.text, &m)
	if err != nil {
		return m, err
	}
	m.over(class)
	m.file, m.bases = p.id, append(slices.Clone(class.bases), class.file)
	if m.Kind != kind {
		return m, d.Errorf([]string{"kind"}, "found %q: want %s, as %s is", m.Kind, kind, p.extends)
	}
	var errs []error
	for _, x := range []struct{ key, text, want string }{{"title", m.Sheet.Title, "the sheet's title"}, {"edition", m.Sheet.Edition, "its number or date, as printed"}} {
		if strings.TrimSpace(x.text) == "" {
			errs = append(errs, d.Errorf([]string{"sheet", x.key}, "not given: want %s", x.want))
		}
	}
	for _, f := range m.sites() {
		if d.Defined(strings.Split(f.key, ".")...) && (f.o.Basis == FromJob || f.o.Basis == FromSheet) {
			f.o.Basis, f.o.Source = FromSheet, m.Sheet.Title+", "+m.Sheet.Edition
			if f.o.At == "" {
				f.o.At = m.Sheet.At
			}
			f.put()
		}
	}
	errs = append(errs, m.finish(d, nil))
	return m, tomlfile.Gather(errs...)
}

// clone copies m so that the decoder, which writes into what is there, does not
// reach the original.
func (m *Material) clone() Material {
	n := *m
	n.Cautions = slices.Clone(m.Cautions)
	n.Kits = maps.Clone(m.Kits)
	n.Parts, n.Times, n.Passing = maps.Clone(m.Parts), maps.Clone(m.Times), maps.Clone(m.Passing)
	return n
}

// over takes class for what the figures of m, read over class's, are held
// against, and gives back to a part what was not stated of it.
func (m *Material) over(class *Material) {
	if m.class = class.class; m.class == nil {
		m.class = class
	}
	for key, part := range m.Parts {
		was := class.Parts[key]
		if part.Name == "" {
			part.Name = was.Name
		}
		if !part.Density.Given() {
			part.Density = was.Density
		}
		m.Parts[key] = part
	}
	if m.Kit.Text != class.Kit.Text && reflect.DeepEqual(m.Kits, class.Kits) { // sold in its own kits
		m.Kits = nil
	}
	for name, k := range m.Kits { // a price alone is of the class's size
		if !k.Volume.Given() {
			k.Volume = class.Kits[name].Volume
			m.Kits[name] = k
		}
	}
}

// A site is where a figure of a material keeps its origin.
type site struct {
	key string
	o   *Origin
	put func() // back, where it is in a map
}

// sites lists the figures of m that were given.
func (m *Material) sites() []site {
	var all []site
	add := func(key string, given bool, o *Origin) {
		if given {
			all = append(all, site{key, o, func() {}})
		}
	}
	add("solids", m.Solids.Given(), &m.Solids.Origin)
	add("water", m.Water.Given(), &m.Water.Origin)
	add("kit", m.Kit.Given(), &m.Kit.Origin)
	for _, name := range slices.Sorted(maps.Keys(m.Kits)) {
		if k := m.Kits[name]; k.Volume.Given() {
			all = append(all, site{"kits." + name + ".volume", &k.Volume.Origin, func() { m.Kits[name] = k }})
		}
	}
	add("voc", m.VOC.Given(), &m.VOC.Origin)
	add("water", m.Water.Given(), &m.Water.Origin)
	add("exempt", m.Exempt.Given(), &m.Exempt.Origin)
	add("film", m.Film.text() != "", &m.Film.Origin)
	add("vessel", m.Vessel.Given(), &m.Vessel.Origin)
	add("mixing", m.Mixing.Given(), &m.Mixing.Origin)
	add("surface", m.Surface.text() != "", &m.Surface.Origin)
	add("air", m.Air.text() != "", &m.Air.Origin)
	add("humidity", m.Humidity.text() != "", &m.Humidity.Origin)
	add("dose", m.Dose.Given(), &m.Dose.Origin)
	add("density", m.Density.Given(), &m.Density.Origin)
	add("size", m.Size.Given(), &m.Size.Origin)
	add("packing", m.Packing.Given(), &m.Packing.Origin)
	add("coverage", m.Coverage.Given(), &m.Coverage.Origin)
	add("retention", m.Retention.Given(), &m.Retention.Origin)
	add("bag", m.Bag.Given(), &m.Bag.Origin)
	add("plate", m.Plate.Given(), &m.Plate.Origin)
	add("refusal", m.Refusal.Given(), &m.Refusal.Origin)
	for _, key := range slices.Sorted(maps.Keys(m.Parts)) {
		if part := m.Parts[key]; part.Density.Given() {
			all = append(all, site{"parts." + key + ".density", &part.Density.Origin, func() { m.Parts[key] = part }})
		}
	}
	for _, key := range slices.Sorted(maps.Keys(m.Times)) {
		t := m.Times[key]
		all = append(all, site{"times." + key, &t.Origin, func() { m.Times[key] = t }})
	}
	return all
}

// A doubt is a figure that lies far from what its class has.
type doubt struct {
	key         string // "solids", "times.pot-life 50 °F"
	found, want units.Quantity
}

// far is how many times longer or shorter than its class's a time may be, and
// thicker or thinner a film, before the plan asks to look again. Common practice,
// no source: a slip of unit (hours for minutes, mm for mil) is further off.
const far = 3.0

// doubts holds the figures of m against the ranges of its class. It takes the
// nearer end of a range; a figure that the class has no range for is not doubted.
func (m *Material) doubts() []doubt {
	c := m.class
	if c == nil {
		return nil
	}
	var all []doubt
	all = ranged(all, "solids", m.Solids, c.Solids)
	all = ranged(all, "water", m.Water, c.Water)
	all = ranged(all, "mixing", m.Mixing, c.Mixing)
	all = ranged(all, "density", m.Density, c.Density)
	all = ranged(all, "size", m.Size, c.Size)
	all = ranged(all, "packing", m.Packing, c.Packing)
	all = ranged(all, "coverage", m.Coverage, c.Coverage)
	all = ranged(all, "retention", m.Retention, c.Retention)
	all = ranged(all, "plate", m.Plate, c.Plate)
	all = ranged(all, "refusal", m.Refusal, c.Refusal)
	for _, key := range m.parts {
		all = ranged(all, "parts."+key+".density", m.Parts[key].Density, c.Parts[key].Density)
	}
	if m.Film.HighText != "" && c.Film.HighText != "" && m.Film.High > c.Film.High*far*(1+1e-9) {
		all = append(all, doubt{"film", m.Film.High, c.Film.High * far})
	}
	if m.Film.LowText != "" && c.Film.LowText != "" && m.Film.Low < c.Film.Low/far*(1-1e-9) {
		all = append(all, doubt{"film", m.Film.Low, c.Film.Low / far})
	}
	for _, key := range slices.Sorted(maps.Keys(m.Times)) {
		t := m.Times[key]
		for i, row := range t.Table {
			usual, err := c.Times[key].Table.Time(row.Temp)
			if err != nil { // outside the class's rows there is nothing to hold it against
				continue
			}
			if r := row.Time.Seconds() / usual.Seconds(); r > far*(1+1e-9) || r < 1/far*(1-1e-9) {
				bound := usual.Seconds() * far
				if r < 1 {
					bound = usual.Seconds() / far
				}
				all = append(all, doubt{"times." + key + " " + t.Texts[i][0], units.Span(row.Time), units.Span(math.Round(bound) * 1e9)})
			}
		}
	}
	return all
}

// ranged doubts a figure outside the range of its class.
func ranged[Q units.Quantity](all []doubt, key string, v, class Value[Q]) []doubt {
	switch {
	case !v.Given():
	case class.Low != nil && less(v.Q, *class.Low):
		all = append(all, doubt{key, v.Q, *class.Low})
	case class.High != nil && less(*class.High, v.Q):
		all = append(all, doubt{key, v.Q, *class.High})
	}
	return all
}

// judgeFigures tells which figures of own sheets lie far from their class.
func (p *planner) judgeFigures() {
	told := map[string]bool{}
	for _, id := range p.j.Recipe.order {
		if !p.active(id) {
			continue
		}
		s := p.step(id)
		for _, name := range []string{s.Material, s.Sand} {
			m, ok := p.materials[name]
			if !ok || told[name] {
				continue
			}
			told[name] = true
			for _, d := range m.doubts() {
				p.find(Finding{Key: "figure-outside-class", Severity: Watch, Found: Amount{d.found}, Asked: Amount{d.want},
					Owner: m.class.ID + "@" + m.class.Version, Limit: fmt.Sprintf("%s@%s %s", m.ID, m.Version, d.key)})
			}
		}
	}
}
