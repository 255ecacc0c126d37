package systems

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/tomlfile"
)

// A dataSet is one file of limits, cautions, marks, heat or scatter. Of each id the newest
// version in a layer counts, unless another is asked for.
type dataSet struct {
	layer int
	FileID
	doc      *tomlfile.Doc // only until it is in the loader's hands
	order    []string      // of limits
	limits   map[string]Limit
	cautions map[string]Caution
	grits    map[string]Grit
	heat     heat
	prep     preparation
	scatter  map[string]Scatter
}

func (s *dataSet) key() string { return fmt.Sprintf("%d %s %s@%s", s.layer, s.Kind, s.ID, s.Version) }

// limitsOrCautions is what a file under limits may hold: the one or the other.
type limitsOrCautions struct {
	limitsFile
	Cautions map[string]cautionText `toml:"cautions"`
}

// readSet reads a file of a folder that holds sets. It returns none of what
// cannot be told apart from others.
func (c *Catalog) readSet(r *tomlfile.Reader, folder, name string, text []byte, id FileID) (*dataSet, error) {
	switch folder {
	case "limits":
		return c.readLimits(r, name, text, id)
	case "marks":
		var f marksFile
		d, err := r.Decode(name, text, &f)
		if err != nil {
			return nil, err
		}
		id.Kind, id.ID, id.Version = f.Kind, f.ID, f.Version
		if err := versioned(d, f.ID, f.Version); err != nil {
			return nil, err
		}
		s := &dataSet{FileID: id, doc: d, grits: f.Grits}
		if f.Kind != "marks" {
			return nil, d.Errorf([]string{"kind"}, "found %q: want marks", f.Kind)
		}
		var errs []error
		for _, key := range d.Under("grits") {
			g := f.Grits[key]
			if !(g.Scratch.Q > 0) || g.Scratch.Q > 5*units.Millimetre {
				errs = append(errs, d.Errorf([]string{"grits", key, "scratch"}, "found %q: want a depth above 0 mm and at most 5 mm", g.Scratch.Text))
			}
			for _, x := range []origin{{where: "scratch", Origin: g.Scratch.Origin}, {where: "size", Origin: g.Size.Origin}} {
				if problem := c.unsourced(x.Origin); problem != "" {
					errs = append(errs, d.Errorf([]string{"grits", key, x.where}, "%s", problem))
				}
			}
			g.file = id
			s.grits[key] = g
		}
		s.prep, err = c.readPreparation(d, &f, id)
		errs = append(errs, err)
		return s, tomlfile.Gather(errs...)
	}
	if folder == "scatter" {
		return c.readScatter(r, name, text, id)
	}
	return c.readHeat(r, name, text, id)
}

func (c *Catalog) readLimits(r *tomlfile.Reader, name string, text []byte, id FileID) (*dataSet, error) {
	var f limitsOrCautions
	d, err := r.Decode(name, text, &f)
	if err != nil {
		return nil, err
	}
	id.Kind, id.ID, id.Version = f.Kind, f.ID, f.Version
	if err := versioned(d, f.ID, f.Version); err != nil {
		return nil, err
	}
	s := &dataSet{FileID: id, doc: d}
	other := map[string]string{"limits": "cautions", "cautions": "limits"}[f.Kind]
	switch {
	case other == "":
		return nil, d.Errorf([]string{"kind"}, "found %q: want limits or cautions", f.Kind)
	case d.Defined(other):
		return nil, d.Errorf([]string{other}, "unknown key %q in a file of kind %s: want one of id, kind, name, schema, version, %s", other, f.Kind, f.Kind)
	}
	var errs []error
	bad := func(err error) { errs = append(errs, err) }
	source := func(at []string, source string) {
		if source != "" && c.sources[source].Title == "" {
			bad(d.Errorf(append(at, "source"), "found %q: want a key of sources.toml%s", source, nearest(source, c.sources)))
		}
	}
	if f.Kind == "cautions" {
		s.cautions = map[string]Caution{}
		for _, key := range d.Under("cautions") {
			t := f.Cautions[key]
			source([]string{"cautions", key}, t.Source)
			s.cautions[key] = Caution{Key: key, Title: t.Title, Text: t.Text}
		}
		return s, tomlfile.Gather(errs...)
	}
	s.order, s.limits = d.Under("limits"), map[string]Limit{}
	for _, key := range s.order {
		l, at := f.Limits[key], []string{"limits", key}
		l.ID, l.file = key, id
		s.limits[key] = l
		if err := l.Basis.check(); err != nil {
			bad(d.Errorf(append(at, "basis"), "%w", err))
		}
		if l.Basis == Published && l.Source == "" {
			bad(d.Errorf(at, "found basis published and no source: want a source"))
		}
		source(slices.Clone(at), l.Source)
		if err := l.check(); err != nil {
			bad(d.Errorf(append(at, "value"), "%w", err))
		}
		if l.Owner == "" {
			bad(d.Errorf(at, "found no owner: want who asks for it"))
		}
	}
	return s, tomlfile.Gather(errs...)
}

// nearest says which key of m a word may have meant, or nothing.
func nearest[T any](word string, m map[string]T) string {
	if near := tomlfile.Nearest(word, slices.Sorted(maps.Keys(m))); near != "" {
		return " (nearest: " + near + ")"
	}
	return ""
}

// compose makes limits, cautions, marks and heat of the sets: of each layer the
// newest version of each file, or the one that pinned names by layer, kind and
// id; higher layers over lower ones. docs is nil except while loading.
func (c *Catalog) compose(pinned map[string]string, docs map[string]*tomlfile.Doc) error {
	c.limits, c.cautions, c.grits, c.files = map[string]Limit{}, map[string]Caution{}, map[string]Grit{}, map[string]FileID{}
	c.heat = heat{map[string]FuelClass{}, map[string]HeaterClass{}, map[string]EnvelopeClass{}, map[string]FilmClass{}, map[string]LayerClass{}}
	c.scatter = map[string]Scatter{}
	c.prep = preparation{profiles: map[string]Profile{}, media: map[string]Medium{}}
	newest := map[string]*dataSet{}
	file := func(s *dataSet) string { return s.Layer + " " + s.Kind + " " + s.ID }
	for _, s := range c.sets {
		best, ok := newest[file(s)]
		switch pin := pinned[file(s)]; {
		case pin != "" && s.Version == pin, pin == "" && (!ok || later("@"+s.Version, "@"+best.Version)):
			newest[file(s)] = s
		}
	}
	var errs []error
	last := -1
	has := map[string]*dataSet{} // by kind and name, what the layer has
	for _, s := range c.sets {   // by layer
		if s.layer != last {
			last, has = s.layer, map[string]*dataSet{}
		}
		again := func(kind, name string, at ...string) bool {
			over, ok := has[kind+" "+name]
			has[kind+" "+name] = s
			if !ok {
				return false
			}
			if d := docs[s.key()]; d != nil {
				errs = append(errs, d.Errorf(at, "found %s %q again, which %s %s@%s has too: want one of each", kind, name, over.Kind, over.ID, over.Version))
			}
			return true
		}
		for _, key := range s.order {
			if !again("limit", key+"@"+s.Version, "limits", key) {
				c.limits[key+"@"+s.Version] = s.limits[key]
			}
		}
		if newest[file(s)] != s {
			continue
		}
		for _, key := range s.order {
			if !again("limit", key, "limits", key) {
				c.hide("limit", key, s, docs, c.limits[key].file)
				c.limits[key] = s.limits[key]
			}
		}
		for _, key := range slices.Sorted(maps.Keys(s.cautions)) {
			if !again("caution", key, "cautions", key) {
				c.hide("caution", key, s, docs, c.files["caution "+key])
				c.cautions[key], c.files["caution "+key] = s.cautions[key], s.FileID
			}
		}
		for _, key := range slices.Sorted(maps.Keys(s.grits)) {
			if !again("grit", key, "grits", key) {
				c.hide("grit", key, s, docs, c.grits[key].file)
				c.grits[key] = s.grits[key]
			}
		}
		if err := c.prepare(s, docs, again); err != nil {
			errs = append(errs, err)
		}
		put("fuel", "fuels", c.heat.fuels, s.heat.fuels, c, s, docs, again)
		put("heater", "heaters", c.heat.heaters, s.heat.heaters, c, s, docs, again)
		put("envelope", "envelopes", c.heat.envelopes, s.heat.envelopes, c, s, docs, again)
		put("film", "films", c.heat.films, s.heat.films, c, s, docs, again)
		put("layer", "layers", c.heat.layers, s.heat.layers, c, s, docs, again)
		put("scatter", "scatter", c.scatter, s.scatter, c, s, docs, again)
	}
	return tomlfile.Gather(errs...)
}

// hide notes, while loading, that an entry of s takes the place of one of file.
func (c *Catalog) hide(kind, name string, s *dataSet, docs map[string]*tomlfile.Doc, file FileID) {
	if docs != nil && file.ID != "" {
		c.overrides = append(c.overrides, Override{kind, name, layerName(s.Layer), layerName(file.Layer)})
	}
}

// layerName names the layer of a file: that of the built-in data is not written.
func layerName(layer string) string {
	if layer == "" {
		return BuiltinLayer().Name
	}
	return layer
}

// put puts the entries of a heat file over those of lower layers.
func put[T interface{ from() FileID }](kind, table string, to, from map[string]T, c *Catalog, s *dataSet, docs map[string]*tomlfile.Doc, again func(kind, name string, at ...string) bool) {
	for _, key := range slices.Sorted(maps.Keys(from)) {
		if again(kind, key, table, key) {
			continue
		}
		if old, ok := to[key]; ok {
			c.hide(kind, key, s, docs, old.from())
		}
		to[key] = from[key]
	}
}

// asOf returns the catalog as it was for a plan that used files: names without
// a version lead to those, also where there are newer ones.
func (c *Catalog) asOf(files []FileID) (*Catalog, error) {
	old := *c
	old.pins = map[string]string{}
	sets := map[string]string{}
	for _, f := range files {
		var have FileID
		switch key := f.ID + "@" + f.Version; f.Kind {
		case "material":
			have = c.materials[key].file
		case "recipe":
			have = c.recipes[key].file
		default:
			for _, s := range c.sets {
				if s.Layer == f.Layer && s.Kind == f.Kind && s.ID == f.ID && s.Version == f.Version {
					have = s.FileID
				}
			}
			if file := f.Layer + " " + f.Kind + " " + f.ID; sets[file] == "" || later("@"+f.Version, "@"+sets[file]) { // a limit may be asked for by an older version too
				sets[file] = f.Version
			}
		}
		name := strings.TrimSpace(f.Kind + " " + f.ID + " " + f.Version)
		if have.ID == "" {
			return nil, fmt.Errorf("the catalog has no %s: want the data that the plan was made from, with its layers", name)
		}
		if have.Hash != f.Hash {
			return nil, fmt.Errorf("found %s with SHA-256 %s: want %s, from which the plan was made", name, have.Hash, f.Hash)
		}
		old.pins[f.Kind+" "+f.ID] = old.pins[f.Kind+" "+f.ID] + " " + f.Version
	}
	old.overrides = nil
	return &old, old.compose(sets, nil)
}
