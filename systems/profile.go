package systems

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

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
	file     FileID // of the bands
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

// readPreparation checks media, profiles and bands of a marks file.
func (c *Catalog) readPreparation(d *tomlfile.Doc, f *marksFile, id FileID) (preparation, error) {
	var errs []error
	bad := func(at []string, format string, args ...any) { errs = append(errs, d.Errorf(at, format, args...)) }
	origin := func(at []string, b Basis, source string) {
		if err := b.check(); err != nil {
			bad(append(slices.Clone(at), "basis"), "%w", err)
		}
		if problem := c.unsourced(Origin{Basis: b, Source: source}); problem != "" {
			bad(append(slices.Clone(at), "source"), "%s", problem)
		}
	}
	csp := func(at []string, least, most int64, none bool) {
		if !(none && least == 0 && most == 0 || least >= 1 && least <= most && most <= 10) {
			bad(at, "found profiles %d to %d: want 1 to 10, least not above most", least, most)
		}
	}
	for _, key := range d.Under("profiles") {
		p, at := f.Profiles[key], []string{"profiles", key}
		if n, err := strconv.Atoi(key); err != nil || n < 1 || n > 10 {
			bad(at, "found profile %q: want 1 to 10", key)
		}
		origin(at, p.Basis, p.Source)
	}
	var bands []Band
	for _, key := range d.Under("bands") {
		b, at := f.Bands[key], []string{"bands", key}
		csp(at, b.Least, b.Most, false)
		at = append(at, "thickness")
		origin(at, b.Thickness.Basis, b.Thickness.Source)
		if above := len(bands) > 0; b.Thickness.crossed() || above && (bands[len(bands)-1].Thickness.HighText == "" || !(b.Thickness.Low >= bands[len(bands)-1].Thickness.High)) {
			bad(at, "found %s: want the bands one above the other, thinnest first", b.Thickness.text())
		}
		bands = append(bands, b)
	}
	for _, key := range d.Under("media") {
		m, at := f.Media[key], []string{"media", key}
		if !slices.Contains(mediumDoes(), m.Does) {
			bad(append(slices.Clone(at), "does"), "found %q: want one of %s", m.Does, strings.Join(mediumDoes(), ", "))
		}
		if m.Size.Given() {
			size := append(slices.Clone(at), "size")
			if !(m.Size.Q >= 10*units.Micrometre && m.Size.Q <= 10*units.Millimetre) {
				bad(size, "found %q: want 10 um to 10 mm", m.Size.Text)
			}
			origin(size, m.Size.Basis, m.Size.Source)
		}
		csp(at, m.Least, m.Most, true)
		origin(at, m.Basis, m.Source)
	}
	return preparation{f.Profiles, bands, f.Media, id}, tomlfile.Gather(errs...)
}

// mediumDoes lists what media can do.
func mediumDoes() []string { return []string{"grind", "blast", "scarify", "etch", "clean", "wipe"} }

// given reports whether a marks file says anything of media and profiles.
func (p *preparation) given() bool { return len(p.profiles)+len(p.bands)+len(p.media) > 0 }

// prepare puts the profiles and media of s over those of lower layers, and its
// bands, which only together cover the thicknesses, in the place of theirs. A
// layer has them in one file.
func (c *Catalog) prepare(s *dataSet, docs map[string]*tomlfile.Doc, again func(kind, name string, at ...string) bool) error {
	if !s.prep.given() {
		return nil
	}
	if other := c.files["preparation "+strconv.Itoa(s.layer)]; other.ID != "" {
		if d := docs[s.key()]; d != nil {
			return d.Errorf([]string{"id"}, "found media or profiles in %s too: want them in one file", other.ID)
		}
		return nil
	}
	c.files["preparation "+strconv.Itoa(s.layer)] = s.FileID
	for _, key := range slices.Sorted(maps.Keys(s.prep.profiles)) {
		if !again("profile", key, "profiles", key) {
			c.hide("profile", key, s, docs, c.files["profile "+key])
			c.prep.profiles[key], c.files["profile "+key] = s.prep.profiles[key], s.FileID
		}
	}
	for _, key := range slices.Sorted(maps.Keys(s.prep.media)) {
		if !again("medium", key, "media", key) {
			c.hide("medium", key, s, docs, c.files["medium "+key])
			c.prep.media[key], c.files["medium "+key] = s.prep.media[key], s.FileID
		}
	}
	if len(s.prep.bands) > 0 {
		c.hide("bands", "thickness", s, docs, c.prep.file)
		c.prep.bands, c.prep.file = s.prep.bands, s.FileID
	}
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
