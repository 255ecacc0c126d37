package systems

import (
	"fmt"
	"maps"
	"slices"
	"strconv"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/tomlfile"
)

// A Profile is a concrete surface profile, CSP 1 to 10: a chip to compare with.
type Profile struct {
	Method string `toml:"method" json:"method"` // what leaves it, as its name says
	Basis  Basis  `toml:"basis" json:"basis"`
	Source string `toml:"source" json:"source"`
	At     string `toml:"at" json:"at"`
	Note   string `toml:"note" json:"note"`
}

// A Band says which profiles a floor of some thickness wants.
type Band struct {
	Thickness Limits[units.Length] `toml:"thickness"`
	Least     int64                `toml:"least"` // CSP
	Most      int64                `toml:"most"`
}

// A Medium cleans or prepares concrete.
type Medium struct {
	What   string              `toml:"what"`
	Does   string              `toml:"does"`  // grind, blast, scarify, etch, clean or wipe
	Size   Value[units.Length] `toml:"size"`  // of shot or grain
	Least  int64               `toml:"least"` // CSP that it leaves, 0 if none
	Most   int64               `toml:"most"`
	Basis  Basis               `toml:"basis"`
	Source string              `toml:"source"`
	At     string              `toml:"at"`
	Note   string              `toml:"note"`
}

// figure is the band as a plan or a list names it.
func (b Band) figure() Figure {
	return Figure{Where: fmt.Sprintf("profile CSP %d to %d", b.Least, b.Most), Text: b.Thickness.text(), Origin: b.Thickness.Origin}
}

// preparation is what the marks files say of media and profiles.
type preparation struct {
	profiles map[string]Profile
	bands    []Band // thinnest first
	media    map[string]Medium
	file     FileID
}

// Media lists the media that clean and prepare concrete, by id.
func (c *Catalog) Media() map[string]Medium { return maps.Clone(c.prep.media) }

// Profiles lists the surface profiles by their number, as text.
func (c *Catalog) Profiles() map[string]Profile { return maps.Clone(c.prep.profiles) }

// band returns the band of a thickness: the first whose upper end is not below it.
func (p preparation) band(l units.Length) (Band, bool) {
	for _, b := range p.bands {
		if b.Thickness.HighText == "" || l <= b.Thickness.High*(1+1e-9) {
			return b, true
		}
	}
	return Band{}, false
}

// addPreparation checks media, profiles and bands of a marks file and takes
// them over, if no newer version of the file stands beside it.
func (c *Catalog) addPreparation(d *tomlfile.Doc, f *marksFile, id FileID) error {
	origin := func(at []string, b Basis, source string) error {
		if err := b.check(); err != nil {
			return d.Errorf(append(slices.Clone(at), "basis"), "%w", err)
		}
		if problem := c.unsourced(Origin{Basis: b, Source: source}); problem != "" {
			return d.Errorf(append(slices.Clone(at), "source"), "%s", problem)
		}
		return nil
	}
	csp := func(at []string, least, most int64, none bool) error {
		if none && least == 0 && most == 0 || least >= 1 && least <= most && most <= 10 {
			return nil
		}
		return d.Errorf(at, "found profiles %d to %d: want 1 to 10, least not above most", least, most)
	}
	for _, key := range d.Under("profiles") {
		p, at := f.Profiles[key], []string{"profiles", key}
		if n, err := strconv.Atoi(key); err != nil || n < 1 || n > 10 {
			return d.Errorf(at, "found profile %q: want 1 to 10", key)
		}
		if err := origin(at, p.Basis, p.Source); err != nil {
			return err
		}
	}
	var bands []Band
	for _, key := range d.Under("bands") {
		b, at := f.Bands[key], []string{"bands", key}
		if err := csp(at, b.Least, b.Most, false); err != nil {
			return err
		}
		if err := origin(append(at, "thickness"), b.Thickness.Basis, b.Thickness.Source); err != nil {
			return err
		}
		if b.Thickness.crossed() || len(bands) > 0 && !(b.Thickness.Low >= bands[len(bands)-1].Thickness.High) {
			return d.Errorf(append(at, "thickness"), "found %s: want the bands one above the other, thinnest first", b.Thickness.text())
		}
		bands = append(bands, b)
	}
	for _, key := range d.Under("media") {
		m, at := f.Media[key], []string{"media", key}
		if !slices.Contains([]string{"grind", "blast", "scarify", "etch", "clean", "wipe"}, m.Does) {
			return d.Errorf(append(at, "does"), "found %q: want one of grind, blast, scarify, etch, clean, wipe", m.Does)
		}
		if m.Size.Given() && !(m.Size.Q >= 10*units.Micrometre && m.Size.Q <= 10*units.Millimetre) {
			return d.Errorf(append(at, "size"), "found %q: want 10 um to 10 mm", m.Size.Text)
		}
		if m.Size.Given() {
			if err := origin(append(at, "size"), m.Size.Basis, m.Size.Source); err != nil {
				return err
			}
		}
		if err := csp(at, m.Least, m.Most, true); err != nil {
			return err
		}
		if err := origin(at, m.Basis, m.Source); err != nil {
			return err
		}
	}
	if c.past[d.Name] || len(f.Profiles)+len(f.Bands)+len(f.Media) == 0 {
		return nil
	}
	if c.prep.file.ID != "" && c.prep.file.ID != f.ID {
		return d.Errorf([]string{"id"}, "found media or profiles in %s too: want them in one file", c.prep.file.ID)
	}
	c.prep = preparation{f.Profiles, bands, f.Media, id}
	return nil
}

// judgeProfile compares the profile that the job says its slab has with the
// band of the floor's thickness. Without one nothing is told.
func (p *planner) judgeProfile() {
	b, ok := p.j.catalog.prep.band(p.o.Thickness)
	if p.j.Profile == 0 || p.o.Thickness == 0 || !ok || p.j.Profile >= b.Least && p.j.Profile <= b.Most {
		return
	}
	p.find(Finding{Key: "profile-does-not-fit", Severity: Watch, Found: Amount{p.o.Thickness}, Owner: p.j.catalog.sources[b.Thickness.Source].Owner + " " + p.j.catalog.sources[b.Thickness.Source].Edition,
		Limit: fmt.Sprintf("CSP %d, and CSP %d to %d", p.j.Profile, b.Least, b.Most)})
}
