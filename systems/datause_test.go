package systems

import (
	"io/fs"
	"reflect"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"

	"github.com/tackfree/tackfree/data"
)

// Every key that a data file may have is used in one, every source is cited, and
// every range has its value inside and its ends in order. Common practice, no
// source.
func TestDataIsUsed(t *testing.T) {
	c, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	used := map[string]bool{} // "material solids"
	var walk func(kind string, t reflect.Type, v any)
	walk = func(kind string, t reflect.Type, v any) {
		table, ok := v.(map[string]any)
		if !ok {
			return
		}
		switch t.Kind() {
		case reflect.Map:
			for _, x := range table {
				walk(kind, t.Elem(), x)
			}
		case reflect.Struct:
			for _, f := range reflect.VisibleFields(t) {
				if x, ok := table[f.Tag.Get("toml")]; ok {
					used[kind+" "+t.Name()+" "+f.Tag.Get("toml")] = true
					walk(kind, f.Type, x)
				}
			}
		}
	}
	kinds := map[string]reflect.Type{"materials": reflect.TypeFor[Material](), "recipes": reflect.TypeFor[Recipe](), "limits": reflect.TypeFor[limitsFile](), "cautions": reflect.TypeFor[cautionsFile](), "marks": reflect.TypeFor[marksFile](), "heat": reflect.TypeFor[heatFile](), "scatter": reflect.TypeFor[scatterFile](), "sources.toml": reflect.TypeFor[map[string]Source]()}
	cited := map[string]bool{}
	err = fs.WalkDir(data.Files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := fs.ReadFile(data.Files, name)
		if err != nil {
			return err
		}
		var raw map[string]any
		if _, err := toml.Decode(string(text), &raw); err != nil {
			return err
		}
		kind, _, _ := strings.Cut(name, "/")
		if raw["kind"] == "cautions" {
			kind = "cautions"
		}
		walk(kind, kinds[kind], raw)
		cites(raw, cited)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	// Keys that only a company's files, or none yet, have: each with why.
	may := map[string]string{"price": "own sheets and jobs: a dealer's", "case": "own sheets: a maker's", "exempt": "own sheets: what is exempt hangs on place and date", "texture": "a job's own sand patch", "thinner": "a job's own", "lets": "a job's own", "schema": "a file need not name it", "extends": "own sheets", "sheet": "own sheets", "title": "of a sheet", "edition": "of a sheet", "at": "of a sheet", "note": "of a sheet"}
	var look func(kind string, t reflect.Type)
	seen := map[reflect.Type]bool{}
	n := 0
	look = func(kind string, typ reflect.Type) {
		for typ.Kind() == reflect.Map {
			typ = typ.Elem()
		}
		if typ.Kind() != reflect.Struct || seen[typ] || reflect.PointerTo(typ).Implements(reflect.TypeFor[interface{ UnmarshalTOML(any) error }]()) {
			return
		}
		seen[typ] = true
		for _, f := range reflect.VisibleFields(typ) {
			tag := f.Tag.Get("toml")
			if tag == "" || tag == "-" {
				continue
			}
			n++
			if !used[kind+" "+typ.Name()+" "+tag] && may[tag] == "" {
				t.Errorf("%s: no file uses %s of %s", kind, tag, typ.Name())
			}
			look(kind, f.Type)
		}
	}
	for kind, typ := range kinds {
		look(kind, typ)
	}
	if n < 100 {
		t.Errorf("saw %d keys only", n)
	}
	for key := range c.Sources() {
		if !cited[key] {
			t.Errorf("nothing cites source %s", key)
		}
	}
	for key := range cited {
		if _, ok := c.Source(key); !ok {
			t.Errorf("source %s is cited and is not there", key)
		}
	}
}

// cites notes the sources that a file names.
func cites(v any, cited map[string]bool) {
	table, ok := v.(map[string]any)
	if !ok {
		return
	}
	for key, x := range table {
		if s, ok := x.(string); ok && key == "source" {
			cited[s] = true
		}
		cites(x, cited)
	}
}

// ranges visits every figure with a range below v.
func ranges(v reflect.Value, at string, look func(at string, q, low, high reflect.Value)) {
	switch v.Kind() {
	case reflect.Struct:
		if name := v.Type().Name(); strings.HasPrefix(name, "Value[") {
			look(at, v.FieldByName("Q"), v.FieldByName("Low"), v.FieldByName("High"))
			return
		}
		for i := range v.NumField() {
			if f := v.Type().Field(i); f.IsExported() || f.Anonymous {
				ranges(v.Field(i), at+" "+f.Name, look)
			}
		}
	case reflect.Map:
		for _, k := range v.MapKeys() {
			ranges(v.MapIndex(k), at+" "+k.String(), look)
		}
	}
}

func TestRangesAreOrdered(t *testing.T) {
	c, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	num := func(v reflect.Value) float64 { return si(v.Interface()) }
	look := func(at string, q, low, high reflect.Value) {
		if low.IsNil() && high.IsNil() {
			return
		}
		n++
		switch {
		case !low.IsNil() && num(q) < num(low.Elem()), !high.IsNil() && num(high.Elem()) < num(q):
			t.Errorf("%s: %v outside its range", at, q.Interface())
		case !low.IsNil() && !high.IsNil() && !(num(low.Elem()) < num(high.Elem())):
			t.Errorf("%s: the range of %v has no width or is turned round", at, q.Interface())
		}
	}
	for key, m := range c.materials {
		ranges(reflect.ValueOf(m), key, look)
	}
	for key, r := range c.recipes {
		ranges(reflect.ValueOf(r), key, look)
	}
	for _, s := range c.sets {
		for key, g := range s.grits {
			ranges(reflect.ValueOf(g), "grit "+key, look)
		}
		for key, m := range s.prep.media {
			ranges(reflect.ValueOf(m), "medium "+key, look)
		}
		for _, m := range []any{s.heat.fuels, s.heat.heaters, s.heat.envelopes, s.heat.films, s.heat.layers} {
			ranges(reflect.ValueOf(m), s.ID, look)
		}
	}
	if n < 150 {
		t.Errorf("saw %d ranges only", n)
	}
}
