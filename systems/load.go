package systems

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"

	"github.com/tackfree/tackfree/data"
	"github.com/tackfree/tackfree/internal/tomlfile"
)

// schemaNumber is the edition of the file kinds that this library reads. A file
// may name it (schema = 1); one of a later edition is refused.
const schemaNumber = 1

// A DataLayer is one file tree of a catalog made of several, laid out like package
// data: the built-in one, a company's, a job's.
type DataLayer struct {
	Name  string // in errors, overrides and the files of a plan
	Files fs.FS

	version string // of package data; "" for other trees
}

// BuiltinLayer is the data that comes with the library, as a layer to put
// others over.
func BuiltinLayer() DataLayer {
	return DataLayer{Name: "built-in", Files: data.Files, version: data.Version}
}

// An Override is an entry of a catalog that a higher layer put in the place of
// a lower one's.
type Override struct {
	Kind  string // "material", "recipe", "limit", "caution", "grit", "medium", "bands", "source", "fuel" ...
	Name  string // "epoxy-standard@1.1.0"; without a version the name that now leads to another file
	Layer string // whose entry counts
	Over  string // whose entry it hides
}

// Builtin returns the catalog of the data that comes with the library.
func Builtin() (*Catalog, error) { return LoadLayers(BuiltinLayer()) }

// Load reads a catalog from a file tree laid out like package data: materials,
// recipes, limits, marks, heat, scatter and sources.toml. Every fault is a [*FileError];
// several come together as [*FileErrors].
//
// Of limits, cautions, marks, heat and scatter the newest version of each file counts. An
// older one is checked all the same, and its limits answer to "id@version".
func Load(fsys fs.FS) (*Catalog, error) { return LoadLayers(DataLayer{Files: fsys}) }

// LoadLayers reads one catalog from several trees. A later layer wins over the
// earlier ones:
//
//   - a material or recipe of the same id and version takes the other's place;
//   - a name without a version leads to the newest version in the highest layer
//     that has the id, even where a lower one has a newer version;
//   - a limit, caution, grit, profile, medium, source, fuel, heater, envelope,
//     film, layer or scatter of the same id takes the other's place;
//   - the bands of thickness of a marks file take the place of all of the other's.
//
// Names are looked up in all layers together, so that a company's sheet extends
// a built-in class. [Catalog.Overrides] tells what hides what. Where there is
// more than one layer, errors name the layer before the file.
func LoadLayers(layers ...DataLayer) (*Catalog, error) {
	c := &Catalog{
		materials: map[string]Material{}, recipes: map[string]Recipe{}, sources: map[string]Source{}, rank: map[string]int{},
	}
	l := &loader{c: c, toml: tomlfile.NewReader(), docs: map[string]*tomlfile.Doc{}, from: map[string]int{}}
	for i, layer := range layers {
		switch {
		case layer.Files == nil:
			return nil, fmt.Errorf("systems.LoadLayers: layer %d %q has no files: want a file tree", i+1, layer.Name)
		case len(layers) > 1 && layer.Name == "":
			return nil, fmt.Errorf("systems.LoadLayers: layer %d has no name: want one for each", i+1)
		case slices.Contains(l.names, layer.Name):
			return nil, fmt.Errorf("systems.LoadLayers: found layer %q again: want names that differ", layer.Name)
		}
		l.names = append(l.names, layer.Name)
		if layer.version != "" {
			c.version = layer.version
		}
	}
	for i, layer := range layers { // all of them before any file that names one
		if err := l.readSources(i, layer); err != nil {
			l.errs = append(l.errs, err)
		}
	}
	if len(l.errs) > 0 { // all else would be found wanting
		return nil, tomlfile.Gather(l.errs...)
	}
	for i, layer := range layers {
		err := fs.WalkDir(layer.Files, ".", func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || path.Ext(name) != ".toml" || name == "sources.toml" {
				return err
			}
			text, err := fs.ReadFile(layer.Files, name)
			if err != nil {
				return err
			}
			l.bad(l.add(i, layer, name, text))
			return nil
		})
		l.bad(err)
	}
	l.extend()
	l.bad(c.compose(nil, l.docs))
	if len(l.errs) == 0 { // or what a faulty file has would be missed
		l.bad(l.check())
	}
	if err := tomlfile.Gather(l.errs...); err != nil {
		return nil, err
	}
	l.report(layers)
	return c, nil
}

// A loader holds what is needed only while a catalog is read.
type loader struct {
	c       *Catalog
	toml    *tomlfile.Reader
	names   []string                 // of the layers
	docs    map[string]*tomlfile.Doc // by kind and id@version
	from    map[string]int           // kind and name -> layer
	pending []pending
	errs    []error
}

func (l *loader) bad(err error) {
	if err != nil {
		l.errs = append(l.errs, err)
	}
}

// file names a file in errors.
func (l *loader) file(layer int, name string) string {
	if len(l.names) > 1 {
		return l.names[layer] + "/" + name
	}
	return name
}

// claim notes that a layer has an entry, and reports whether the same layer
// already had one of that name.
func (l *loader) claim(layer int, kind, name string) (again bool) {
	key := kind + " " + name
	over, ok := l.from[key]
	if ok && over == layer {
		return true
	}
	if ok {
		l.c.overrides = append(l.c.overrides, Override{kind, name, l.names[layer], l.names[over]})
	}
	l.from[key] = layer
	return false
}

func (l *loader) readSources(layer int, from DataLayer) error {
	text, err := fs.ReadFile(from.Files, "sources.toml")
	if errors.Is(err, fs.ErrNotExist) {
		return nil // a tree need not have one
	} else if err != nil {
		return &FileError{File: l.file(layer, "sources.toml"), Problem: err.Error(), Err: err}
	}
	var s map[string]Source
	d, err := l.toml.Decode(l.file(layer, "sources.toml"), text, &s)
	if err != nil {
		return err
	}
	for _, key := range d.Under() {
		if s[key].Title == "" {
			return d.Errorf([]string{key, "title"}, "not given: want the title of the document")
		}
		if how := s[key].How; how != "seen" && how != "memory" {
			return d.Errorf([]string{key, "how"}, "found %q: want seen or memory", how)
		}
		l.claim(layer, "source", key)
		l.c.sources[key] = s[key]
	}
	return nil
}

// add reads one file.
func (l *loader) add(layer int, from DataLayer, name string, text []byte) error {
	c, shown := l.c, l.file(layer, name)
	sum := sha256.Sum256(text)
	id := FileID{Hash: hex.EncodeToString(sum[:])}
	if from.version == "" {
		id.Layer = from.Name
	}
	switch top, _, _ := strings.Cut(name, "/"); top {
	case "materials":
		var m Material
		d, err := l.toml.Decode(shown, text, &m)
		if err != nil {
			return err
		}
		id.Kind, id.ID, id.Version = "material", m.ID, m.Version
		if err := versioned(d, m.ID, m.Version); err != nil {
			return err
		}
		key := m.ID + "@" + m.Version
		if l.claim(layer, "material", key) {
			return d.Errorf([]string{"version"}, "found %s again: want one file for each version", key)
		}
		c.rank["material "+key] = layer
		l.docs["material "+key] = d
		if m.Extends != "" {
			delete(c.materials, key)
			l.pending = append(l.pending, pending{key, m.Extends, shown, text, id})
			return nil
		}
		l.pending = slices.DeleteFunc(l.pending, func(p pending) bool { return p.key == key }) // of a lower layer
		m.file = id
		c.materials[key] = m // also a faulty one, so that it is not told again of those that name it
		if d.Defined("sheet") {
			return d.Errorf([]string{"sheet"}, "found a sheet without extends: want the class that it fills in, such as extends = \"epoxy-standard@1.1.0\"")
		}
		err = m.finish(d, nil)
		c.materials[key] = m
		return err
	case "recipes":
		var r Recipe
		d, err := l.toml.Decode(shown, text, &r)
		if err != nil {
			return err
		}
		id.Kind, id.ID, id.Version = "recipe", r.ID, r.Version
		r.file, r.order = id, d.Under("steps")
		if err := versioned(d, r.ID, r.Version); err != nil {
			return err
		}
		if r.Kind != "recipe" {
			return d.Errorf([]string{"kind"}, "found %q: want recipe", r.Kind)
		}
		key := r.ID + "@" + r.Version
		if l.claim(layer, "recipe", key) {
			return d.Errorf([]string{"version"}, "found %s again: want one file for each version", key)
		}
		c.rank["recipe "+key] = layer
		l.docs["recipe "+key] = d
		c.recipes[key] = r
		return r.check(d)
	case "limits", "marks", "heat", "scatter":
		s, err := c.readSet(l.toml, top, shown, text, id)
		if s != nil {
			s.layer = layer
			c.sets = append(c.sets, s)
			l.docs[s.key()] = s.doc
			s.doc = nil
		}
		return err
	}
	return &FileError{File: shown, Problem: "found a file that is in none of the folders: want it under materials, recipes, limits, marks, heat or scatter"}
}

// versioned checks schema, id and version, and that the file is named after them.
func versioned(d *tomlfile.Doc, id, version string) error {
	if err := edition(d); err != nil {
		return err
	}
	if id == "" {
		return d.Errorf([]string{"id"}, "found none: want a name such as epoxy-standard")
	}
	if !semver(version) {
		return d.Errorf([]string{"version"}, "found %q: want a version such as 1.0.0", version)
	}
	base := strings.TrimSuffix(path.Base(d.Name), ".toml")
	if base != id+"-"+version && (base != version || path.Base(path.Dir(d.Name)) != id) {
		return d.Errorf([]string{"id"}, "found %s %s in this file: want the file named %s-%s.toml or %s/%s.toml", id, version, id, version, id, version)
	}
	return nil
}

// edition checks the schema that a file names.
func edition(d *tomlfile.Doc) error {
	if n, ok := d.Whole("schema"); ok && n != schemaNumber {
		return d.Errorf([]string{"schema"}, "found %d: want %d, the one that this version of the library reads", n, schemaNumber)
	}
	return nil
}

// check looks for names that lead nowhere, once everything is read.
func (l *loader) check() error {
	var errs []error
	c := l.c
	for _, key := range slices.Sorted(maps.Keys(c.materials)) {
		m := c.materials[key]
		for _, x := range c.dangling(&m) {
			errs = append(errs, l.docs["material "+key].Errorf(strings.Split(x.key, "."), "%s", x.problem))
		}
	}
	for _, key := range slices.Sorted(maps.Keys(c.recipes)) {
		d := l.docs["recipe "+key]
		for _, err := range flat(c.recipes[key].resolve(c, key)) {
			if f, ok := err.(*FileError); ok { // resolve knows no lines
				err = d.Errorf(strings.Split(f.Key, "."), "%s", f.Problem)
			}
			errs = append(errs, err)
		}
	}
	errs = append(errs, c.checkHeat(l.docs))
	return tomlfile.Gather(errs...)
}

// flat lists the errors that err joins.
func flat(err error) []error {
	if err == nil {
		return nil
	}
	if j, ok := err.(interface{ Unwrap() []error }); ok {
		var all []error
		for _, e := range j.Unwrap() {
			all = append(all, flat(e)...)
		}
		return all
	}
	return []error{err}
}

// report adds to the overrides the names without a version that lead to another
// layer's file than before, and puts all in order.
func (l *loader) report(layers []DataLayer) {
	c := l.c
	for _, kind := range []string{"material", "recipe"} {
		has := map[string][]int{} // id -> layers
		for key, layer := range c.rank {
			if k, id, _ := strings.Cut(key, " "); k == kind {
				id, _, _ = strings.Cut(id, "@")
				if !slices.Contains(has[id], layer) {
					has[id] = append(has[id], layer)
				}
			}
		}
		for id, in := range has {
			slices.Sort(in)
			for _, under := range in[:len(in)-1] {
				c.overrides = append(c.overrides, Override{kind, id, layers[in[len(in)-1]].Name, layers[under].Name})
			}
		}
	}
	slices.SortFunc(c.overrides, func(a, b Override) int {
		return strings.Compare(a.Kind+" "+a.Name+" "+a.Layer+" "+a.Over, b.Kind+" "+b.Name+" "+b.Layer+" "+b.Over)
	})
	c.overrides = slices.Compact(c.overrides)
}

// Overrides tells what entries of a lower layer are hidden by a higher one's.
func (c *Catalog) Overrides() []Override { return slices.Clone(c.overrides) }
