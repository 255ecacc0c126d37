package systems

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/tomlfile"
)

// A FileError is one fault of a file: it names file, line and key, and says
// what was found and what is allowed. Catalog and job errors are of this type.
type FileError = tomlfile.Error

// FileErrors are several faults together, at most 20, those of a file in the
// order of its lines. [errors.As] finds the first [*FileError] among them.
type FileErrors = tomlfile.Errors

// A Catalog holds the reference data that recipes and jobs are made from. It
// is read-only after loading and safe for concurrent use.
type Catalog struct {
	materials map[string]Material // "id@version"
	recipes   map[string]Recipe   // "id@version"
	limits    map[string]Limit    // id in the newest version of its file, and "id@version"
	cautions  map[string]Caution  // key
	grits     map[string]Grit     // grit number as text
	sources   map[string]Source
	files     map[string]FileID // of what does not know its own: "caution key", "profile key", "medium key"
	heat      heat
	prep      preparation
	scatter   map[string]Scatter

	sets      []*dataSet        // of limits, cautions, marks and heat, by layer
	rank      map[string]int    // "material id@version", "recipe id@version" -> layer
	pins      map[string]string // "material id" -> the versions that a name without one may lead to; nil: all
	overrides []Override
	version   string // of package data, if it is in there
}

// A Limit is a bound that somebody asks for: its value, its owner and edition.
type Limit struct {
	ID       string `toml:"-" json:"id"`
	What     string `toml:"what" json:"what"`
	Value    string `toml:"value" json:"value"`       // quantity text
	Quantity string `toml:"quantity" json:"quantity"` // kind of quantity
	Owner    string `toml:"owner" json:"owner"`
	Edition  string `toml:"edition" json:"edition"`
	Rising   bool   `toml:"rising" json:"rising"` // dew-point rules: the surface must not be falling
	Basis    Basis  `toml:"basis" json:"basis"`
	Source   string `toml:"source" json:"source"`
	At       string `toml:"at" json:"at"`
	Note     string `toml:"note" json:"note"`

	file FileID
}

// check reads the value as the quantity that the limit says it is.
func (l Limit) check() error {
	text, err := []byte(l.Value), error(nil)
	switch l.Quantity {
	case "temperature difference":
		err = new(units.TempDelta).UnmarshalText(text)
	case "fraction":
		err = new(units.Fraction).UnmarshalText(text)
	case "mass flux":
		err = new(units.MassFlux).UnmarshalText(text)
	case "length":
		err = new(units.Length).UnmarshalText(text)
	case "duration":
		err = new(units.Span).UnmarshalText(text)
	case "pressure":
		err = new(units.Pressure).UnmarshalText(text)
	case "density":
		err = new(units.Density).UnmarshalText(text)
	case "temperature":
		err = new(units.Temperature).UnmarshalText(text)
	default:
		err = fmt.Errorf("quantity: found %q: want temperature, temperature difference, fraction, mass flux, length, duration, pressure or density", l.Quantity)
	}
	return err
}

// A Grit is a grinding step: how deep its scratches are.
type Grit struct {
	Grit    string              `toml:"grit"`
	Size    Value[units.Length] `toml:"size"`    // of the grains, by the grit-size standard
	Scratch Value[units.Length] `toml:"scratch"` // depth of the marks it leaves
	file    FileID
}

// A Source is a document that published figures.
type Source struct {
	Title   string `toml:"title" json:"title"`
	Owner   string `toml:"owner" json:"owner"`
	Edition string `toml:"edition" json:"edition"`
	Year    string `toml:"year" json:"year"`
	How     string `toml:"how" json:"how"` // "seen" or "memory"
	Note    string `toml:"note" json:"note"`
}

type limitsFile struct {
	Schema  int64            `toml:"schema"`
	Kind    string           `toml:"kind"`
	ID      string           `toml:"id"`
	Version string           `toml:"version"`
	Name    string           `toml:"name"`
	Limits  map[string]Limit `toml:"limits"`
}

type cautionText struct {
	Title  string `toml:"title"`
	Text   string `toml:"text"`
	Topic  string `toml:"topic"`
	Basis  Basis  `toml:"basis"`
	Source string `toml:"source"`
	At     string `toml:"at"`
	Note   string `toml:"note"`
}

type cautionsFile struct {
	Schema   int64                  `toml:"schema"`
	Kind     string                 `toml:"kind"`
	ID       string                 `toml:"id"`
	Version  string                 `toml:"version"`
	Name     string                 `toml:"name"`
	Cautions map[string]cautionText `toml:"cautions"`
}

type marksFile struct {
	Schema  int64           `toml:"schema"`
	Kind    string          `toml:"kind"`
	ID      string          `toml:"id"`
	Version string          `toml:"version"`
	Name    string          `toml:"name"`
	Grits   map[string]Grit `toml:"grits"`

	Profiles map[string]Profile `toml:"profiles"` // CSP as text
	Bands    map[string]Band    `toml:"bands"`
	Media    map[string]Medium  `toml:"media"`
}

func semver(v string) bool {
	p := strings.Split(v, ".")
	if len(p) != 3 {
		return false
	}
	for _, x := range p {
		if n, err := strconv.Atoi(x); err != nil || n < 0 || strconv.Itoa(n) != x {
			return false
		}
	}
	return true
}

// A dangle is a name that leads nowhere.
type dangle struct{ key, problem string }

// dangling returns the names in m that lead nowhere, and what is wrong with each.
func (c *Catalog) dangling(m *Material) []dangle {
	var all []dangle
	for _, caution := range m.Cautions {
		if _, ok := c.cautions[caution]; !ok {
			all = append(all, dangle{"cautions", fmt.Sprintf("found %q: want %s", caution, tomlfile.OneOf(caution, slices.Sorted(maps.Keys(c.cautions))))})
		}
	}
	if m.Moisture != "" && c.limits[m.Moisture].ID == "" {
		all = append(all, dangle{"moisture", fmt.Sprintf("found %q: want a limit of limits/*.toml: %s", m.Moisture, tomlfile.OneOf(m.Moisture, slices.Sorted(maps.Keys(c.limits))))})
	}
	for _, o := range m.origins() {
		if problem := c.unsourced(o.Origin); problem != "" {
			all = append(all, dangle{o.where, problem})
		}
	}
	return all
}

// unsourced says what is wrong with a published figure of no known source.
func (c *Catalog) unsourced(o Origin) string {
	if o.Basis == Published && c.sources[o.Source].Title == "" {
		return fmt.Sprintf("found source %q: want a key of sources.toml%s", o.Source, nearest(o.Source, c.sources))
	}
	if o.Basis == FromSheet && o.Source == "" {
		return "found basis sheet and no source: want the sheet's title and edition"
	}
	return ""
}

// Recipe returns the recipe called "id" (its newest version) or "id@1.0.0".
func (c *Catalog) Recipe(name string) (Recipe, error) { return newest(c, c.recipes, "recipe", name) }

// Material returns the material called "id" (its newest version) or "id@1.0.0".
func (c *Catalog) Material(name string) (Material, error) {
	return newest(c, c.materials, "material", name)
}

// Limit returns the limit called "id" (as the newest version of its file has
// it) or "id@1.0.0" (as that version of the file had it).
func (c *Catalog) Limit(id string) (Limit, error) {
	if l, ok := c.limits[id]; ok {
		return l, nil
	}
	return Limit{}, fmt.Errorf("no limit %q: want %s", id, tomlfile.OneOf(id, c.LimitIDs()))
}

// Recipes, Materials and LimitIDs list what the catalog has.
func (c *Catalog) Recipes() []string { return slices.Sorted(maps.Keys(c.recipes)) }

// Materials lists the materials as "id@version".
func (c *Catalog) Materials() []string { return slices.Sorted(maps.Keys(c.materials)) }

// LimitIDs lists the limits, without those of older versions.
func (c *Catalog) LimitIDs() []string {
	return slices.DeleteFunc(slices.Sorted(maps.Keys(c.limits)), func(id string) bool { return strings.Contains(id, "@") })
}

// newest returns what name leads to: with a version that one; without, the
// newest in the highest layer that has the id.
func newest[T any](c *Catalog, all map[string]T, what, name string) (T, error) {
	if t, ok := all[name]; ok {
		return t, nil
	}
	best := ""
	pins, pinned := c.pins[what+" "+name]
	for key := range all {
		id, version, _ := strings.Cut(key, "@")
		if id != name || pinned && !slices.Contains(strings.Fields(pins), version) {
			continue
		}
		if by := c.rank[what+" "+key] - c.rank[what+" "+best]; best == "" || by > 0 || by == 0 && later(key, best) {
			best = key
		}
	}
	if best == "" {
		var zero T
		keys := slices.Sorted(maps.Keys(all))
		known := slices.Clone(keys)
		if !strings.Contains(name, "@") {
			for i, key := range known {
				known[i], _, _ = strings.Cut(key, "@")
			}
		}
		near := tomlfile.Nearest(name, known)
		if near != "" {
			near = " (nearest: " + near + ")"
		}
		return zero, fmt.Errorf("no %s %q: want one of %s%s", what, name, strings.Join(keys, ", "), near)
	}
	return all[best], nil
}

// later compares the versions of two keys of the same id.
func later(a, b string) bool {
	_, va, _ := strings.Cut(a, "@")
	_, vb, _ := strings.Cut(b, "@")
	pa, pb := strings.Split(va, "."), strings.Split(vb, ".")
	for i := range pa {
		x, _ := strconv.Atoi(pa[i])
		y, _ := strconv.Atoi(pb[i])
		if x != y {
			return x > y
		}
	}
	return false
}

// finish checks a material's figures and prepares its mix. under is the key of
// an override in a job, nil in a data file.
func (m *Material) finish(d *tomlfile.Doc, under []string) error {
	var errs []error
	bad := func(key, format string, args ...any) {
		errs = append(errs, d.Errorf(append(slices.Clone(under), strings.Split(key, ".")...), format, args...))
	}
	if err := m.Reaction.check(d, under); err != nil {
		errs = append(errs, err)
	}
	for _, f := range m.positive() {
		if !f.given {
			if f.need {
				bad(f.key, "not given: want %s", f.want)
			}
			continue
		}
		if !(f.v >= f.lo && f.v <= f.hi) {
			bad(f.key, "found %q: want %s", f.text, f.want)
		}
	}
	switch m.Kind {
	case "aggregate":
		for opening, share := range m.Passing {
			l, err := parse[units.Length](opening)
			if err != nil || !(l > 0) {
				bad("passing."+opening, "found opening %q: want a length above zero such as 0.6 mm", opening)
			}
			if f, err := parse[units.Fraction](share); err != nil || !(f >= 0 && f <= 1) {
				bad("passing."+opening, "found %q: want 0 %% to 100 %%", share)
			}
		}
		return tomlfile.Gather(errs...)
	case "thickener":
		return tomlfile.Gather(errs...)
	case "liquid":
	default:
		bad("kind", "found %q: want liquid, aggregate or thickener", m.Kind)
		return tomlfile.Gather(errs...)
	}
	m.checkKits(bad)
	if m.Water.Q+m.Exempt.Q > 0.95*(1+1e-9) {
		bad("water", "found %s of water and %s of exempt compounds: want at most 95 %% together", m.Water.Text, m.Exempt.Text)
	}
	if rest := 1 - m.Solids.Q; m.Water.Given() && m.Water.Q > rest+1e-9 {
		bad("water", "found %q beside %s of solids: want at most the rest of the liquid, %s", m.Water.Text, m.Solids.Text, units.Format(max(rest, 0), units.SI))
	}
	m.parts = slices.Sorted(maps.Keys(m.Parts))
	ratios := strings.Split(m.Mix, ":")
	if len(ratios) != len(m.parts) || len(ratios) == 0 {
		bad("mix", "found %q for %d parts: want one number for each, such as 2:1", m.Mix, len(m.parts))
	}
	by := coverage.ByVolume
	switch m.MixBy {
	case "volume":
	case "mass":
		by = coverage.ByMass
	default:
		bad("mix_by", "found %q: want volume or mass", m.MixBy)
	}
	m.mix = coverage.Mix{By: by}
	for i, key := range m.parts {
		if i >= len(ratios) {
			break // told above
		}
		r, err := strconv.ParseFloat(ratios[i], 64)
		if err != nil || !(r > 0) || r > 1e4 {
			bad("mix", "found %q: want numbers above zero, such as 2:1", m.Mix)
		}
		p := m.Parts[key]
		if !(p.Density.Q >= 300 && p.Density.Q <= 5000) {
			bad("parts."+key+".density", "found %q: want 0.3 kg/L to 5 kg/L", p.Density.Text)
		}
		m.mix.Parts = append(m.mix.Parts, coverage.Part{Name: p.Name, Ratio: r, Density: p.Density.Q})
	}
	if m.Film.LowText != "" && m.Film.HighText != "" && !(m.Film.Low > 0 && m.Film.Low <= m.Film.High) {
		bad("film", "found %s to %s: want low above zero and not above high", m.Film.LowText, m.Film.HighText)
	}
	for _, key := range slices.Sorted(maps.Keys(m.Times)) {
		if !slices.Contains(Events(), key) {
			bad("times."+key, "found event %q: want one of %s", key, strings.Join(Events(), ", "))
		}
		for i, row := range m.Times[key].Table {
			if row.Temp.Less(units.Celsius(-60)) || units.Celsius(100).Less(row.Temp) {
				bad("times."+key, "found row %q: want a temperature from -60 °C to 100 °C", m.Times[key].Texts[i][0])
			}
		}
	}
	for _, r := range []struct {
		key     string
		crossed bool
		text    string
	}{{"surface", m.Surface.crossed(), m.Surface.text()}, {"air", m.Air.crossed(), m.Air.text()}, {"humidity", m.Humidity.crossed(), m.Humidity.text()}} {
		if r.crossed {
			bad(r.key, "found %s: want low not above high", r.text)
		}
	}
	if temp := m.shut(); temp != "" {
		bad("times."+RecoatLatest, "found a window that at %s closes before it opens: want a later time than for %s", temp, RecoatEarliest)
	}
	if m.Dose.Given() && !slices.Contains(m.parts, m.Dose.Part) {
		bad("dose.part", "found %q: want one of the parts %s", m.Dose.Part, strings.Join(m.parts, ", "))
	}
	if _, ok := m.Times[PotLife]; !ok {
		bad("times", "found no %s: want its table", PotLife)
	}
	return tomlfile.Gather(errs...)
}

// shut returns the row, as it was written, at whose temperature m may no longer
// be recoated before it may be, or "". Outside the rows of one of the two there
// is nothing to compare.
func (m *Material) shut() string {
	opens, closes := m.Times[RecoatEarliest], m.Times[RecoatLatest]
	for _, t := range []Times{opens, closes} {
		for i, row := range t.Table {
			from, err1 := opens.Table.Time(row.Temp)
			to, err2 := closes.Table.Time(row.Temp)
			if err1 == nil && err2 == nil && to <= from {
				return t.Texts[i][0]
			}
		}
	}
	return ""
}

type figureCheck struct {
	key, text   string
	given, need bool
	v, lo, hi   float64
	want        string
}

// positive lists the single figures with their bounds.
func (m *Material) positive() []figureCheck {
	liquid, grain := m.Kind == "liquid", m.Kind == "aggregate"
	flake := m.Plate.Given() || m.Refusal.Given()
	powder := grain || m.Kind == "thickener"
	return []figureCheck{
		{"solids", m.Solids.Text, m.Solids.Given(), liquid, float64(m.Solids.Q), 0.05, 1, "5 % to 100 %"},
		{"kit", m.Kit.Text, m.Kit.Given(), liquid, float64(m.Kit.Q), 1e-6, 2, "1 mL to 2 m3"},
		{"voc", m.VOC.Text, m.VOC.Given(), false, float64(m.VOC.Q), 0, 2000, "0 g/L to 2000 g/L"},
		{"water", m.Water.Text, m.Water.Given(), false, float64(m.Water.Q), 0, 0.95, "0 % to 95 %"},
		{"exempt", m.Exempt.Text, m.Exempt.Given(), false, float64(m.Exempt.Q), 0, 0.95, "0 % to 95 %"},
		{"vessel", m.Vessel.Text, m.Vessel.Given(), false, float64(m.Vessel.Q), 1e-5, 2, "10 mL to 2 m3"},
		{"mixing", m.Mixing.Text, m.Mixing.Given(), false, m.Mixing.Q.Duration().Seconds(), 1, 7200, "1s to 2h"},
		{"density", m.Density.Text, m.Density.Given(), powder, float64(m.Density.Q), 300, 9000, "0.3 kg/L to 9 kg/L"},
		{"size", m.Size.Text, m.Size.Given(), grain, float64(m.Size.Q), 1e-5, 0.05, "10 um to 50 mm"},
		{"packing", m.Packing.Text, m.Packing.Given(), grain, float64(m.Packing.Q), 0.2, 0.8, "20 % to 80 %"},
		{"coverage", m.Coverage.Text, m.Coverage.Given(), false, float64(m.Coverage.Q), 0.547, 0.907, "54.7 % to 90.7 %"},
		{"retention", m.Retention.Text, m.Retention.Given(), false, float64(m.Retention.Q), 0.05, 1, "5 % to 100 %"},
		{"bag", m.Bag.Text, m.Bag.Given(), powder, float64(m.Bag.Q), 0.01, 5000, "10 g to 5 t"},
		{"plate", m.Plate.Text, m.Plate.Given(), flake, float64(m.Plate.Q), 1e-5, 0.002, "10 um to 2 mm, beside refusal"},
		{"refusal", m.Refusal.Text, m.Refusal.Given(), flake, float64(m.Refusal.Q), 0.01, 5, "0.01 kg/m2 to 5 kg/m2, beside plate"},
	}
}

type origin struct {
	where string
	text  string
	Origin
}

// origins is a list of figures with where they come from.
type origins []origin

// add lists a figure, if it was given.
func (o *origins) add(where, text string, from Origin) {
	if text != "" {
		*o = append(*o, origin{where, text, from})
	}
}

// crossed reports whether the low limit lies above the high one.
func (r Limits[Q]) crossed() bool {
	return r.LowText != "" && r.HighText != "" && less(r.High, r.Low)
}

// text says a pair of limits in words, or "" if there is none.
func (r Limits[Q]) text() string {
	switch {
	case r.LowText == "" && r.HighText == "":
		return ""
	case r.HighText == "":
		return "from " + r.LowText
	case r.LowText == "":
		return "up to " + r.HighText
	}
	return r.LowText + " to " + r.HighText
}

// text says the rows in words.
func (t Times) text() string {
	rows := make([]string, len(t.Texts))
	for i, row := range t.Texts {
		rows[i] = row[0] + " " + row[1]
	}
	return strings.Join(rows, ", ")
}

// origins lists every figure of m with where it comes from, in a fixed order.
func (m *Material) origins() origins {
	var all origins
	all.add("solids", m.Solids.Text, m.Solids.Origin)
	all.add("water", m.Water.Text, m.Water.Origin)
	all.add("kit", m.Kit.Text, m.Kit.Origin)
	for _, name := range slices.Sorted(maps.Keys(m.Kits)) {
		all.add("kits."+name+".volume", m.Kits[name].Volume.Text, m.Kits[name].Volume.Origin)
	}
	all.add("voc", m.VOC.Text, m.VOC.Origin)
	all.add("exempt", m.Exempt.Text, m.Exempt.Origin)
	all.add("film", m.Film.text(), m.Film.Origin)
	all.add("vessel", m.Vessel.Text, m.Vessel.Origin)
	all.add("mixing", m.Mixing.Text, m.Mixing.Origin)
	all.add("surface", m.Surface.text(), m.Surface.Origin)
	all.add("air", m.Air.text(), m.Air.Origin)
	all.add("humidity", m.Humidity.text(), m.Humidity.Origin)
	for _, key := range m.parts {
		all.add("parts."+key+".density", m.Parts[key].Density.Text, m.Parts[key].Density.Origin)
	}
	for _, key := range Events() {
		all.add("times."+key, m.Times[key].text(), m.Times[key].Origin)
	}
	all.add("reaction.heat", m.Reaction.Heat.Text, m.Reaction.Heat.Origin)
	all.add("reaction.specific", m.Reaction.Specific.Text, m.Reaction.Specific.Origin)
	all.add("reaction.conductivity", m.Reaction.Conductivity.Text, m.Reaction.Conductivity.Origin)
	all.add("reaction.energy", m.Reaction.Energy.Text, m.Reaction.Energy.Origin)
	all.add("reaction.start", m.Reaction.Start.Text, m.Reaction.Start.Origin)
	all.add("reaction.workable", m.Reaction.Workable.Text, m.Reaction.Workable.Origin)
	all.add("dose", m.Dose.text(), m.Dose.Origin)
	all.add("density", m.Density.Text, m.Density.Origin)
	all.add("size", m.Size.Text, m.Size.Origin)
	all.add("packing", m.Packing.Text, m.Packing.Origin)
	all.add("coverage", m.Coverage.Text, m.Coverage.Origin)
	all.add("retention", m.Retention.Text, m.Retention.Origin)
	all.add("bag", m.Bag.Text, m.Bag.Origin)
	all.add("plate", m.Plate.Text, m.Plate.Origin)
	all.add("refusal", m.Refusal.Text, m.Refusal.Origin)
	return all
}
