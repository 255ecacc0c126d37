package systems

import (
	"bytes"
	"encoding"
	"encoding/json"
	"flag"
	"os"
	"reflect"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"

	"github.com/tackfree/tackfree/data/units"
)

// The JSON Schemas of data/schemas are written from the structs that the files
// decode into (go test ./systems -update), so that they say what the decoder
// does. Source of the dialect: JSON Schema draft 2020-12.
func TestSchemas(t *testing.T) {
	update := flag.Lookup("update").Value.String() == "true"
	for name, v := range map[string]any{
		"material": Material{}, "recipe": Recipe{}, "limits": limitsFile{}, "cautions": cautionsFile{}, "marks": marksFile{}, "heat": heatFile{}, "sources": map[string]Source{}, "job": jobFile{},
	} {
		s := schema(reflect.TypeOf(v))
		demand(name, s)
		s["$schema"] = "https://json-schema.org/draft/2020-12/schema"
		s["title"] = "tackfree " + name
		got, err := json.MarshalIndent(s, "", "  ")
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, '\n')
		file := "../data/schemas/" + name + ".schema.json"
		if update {
			if err := os.WriteFile(file, got, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		if want, err := os.ReadFile(file); err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s differs from its struct (%v): run go test ./systems -update", file, err)
		}
	}
}

func object(properties map[string]any) map[string]any {
	return map[string]any{"type": "object", "properties": properties, "additionalProperties": false}
}

func texts(keys ...string) map[string]any {
	p := map[string]any{"basis": map[string]any{"enum": []string{"published", "common-practice", "illustrative", "sheet", "job"}}}
	for _, k := range append(keys, "source", "at", "note") {
		p[k] = map[string]any{"type": "string"}
	}
	return p
}

// quantity is the schema of a text that reads as a t.
func quantity(t reflect.Type) map[string]any {
	return map[string]any{"type": "string", "pattern": units.Pattern(reflect.Zero(t).Interface().(units.Quantity))}
}

// demand adds what the decoder asks for beyond the structs: the keys that must
// be there, and the words that a key may hold.
func demand(name string, s map[string]any) {
	p, _ := s["properties"].(map[string]any)
	under := func(keys ...string) map[string]any {
		at := s
		for _, k := range keys {
			if k == "*" {
				at = at["additionalProperties"].(map[string]any)
			} else {
				at = at["properties"].(map[string]any)[k].(map[string]any)
			}
		}
		return at
	}
	one := func(words ...string) map[string]any { return map[string]any{"enum": words} }
	some := map[string]any{"type": "string", "pattern": "\\S"}
	if p != nil {
		p["schema"] = map[string]any{"const": schemaNumber}
	}
	if p["version"] != nil {
		p["version"] = map[string]any{"type": "string", "pattern": "^(0|[1-9][0-9]*)\\.(0|[1-9][0-9]*)\\.(0|[1-9][0-9]*)$"}
		p["id"] = some
		s["required"] = []string{"id", "version", "kind"}
	}
	switch name {
	case "material":
		p["kind"] = one("liquid", "aggregate", "thickener")
		p["extends"] = map[string]any{"type": "string", "pattern": "^.+@[0-9]+\\.[0-9]+\\.[0-9]+$"}
		p["sheet"].(map[string]any)["required"] = []string{"title", "edition"}
		for _, key := range []string{"title", "edition"} {
			under("sheet")["properties"].(map[string]any)[key] = some
		}
		if mix := p["mix_by"]; mix != nil {
			p["mix_by"] = one("volume", "mass")
		}
		times := under("times")
		row := times["additionalProperties"]
		times["properties"] = map[string]any{}
		for _, event := range Events() {
			times["properties"].(map[string]any)[event] = row
		}
		times["additionalProperties"] = false
		s["required"] = []string{"id", "version"}
		s["oneOf"] = []any{
			map[string]any{"required": []string{"extends", "sheet"}},
			map[string]any{"properties": map[string]any{"kind": one("liquid"), "extends": false, "sheet": false, "times": map[string]any{"required": []string{PotLife}}}, "required": []string{"kind", "mix", "mix_by", "parts", "solids", "kit", "times"}},
			map[string]any{"properties": map[string]any{"kind": one("aggregate"), "extends": false, "sheet": false}, "required": []string{"kind", "density", "size", "packing", "bag"}},
			map[string]any{"properties": map[string]any{"kind": one("thickener"), "extends": false, "sheet": false}, "required": []string{"kind", "density", "bag"}},
		}
	case "recipe":
		p["kind"] = one("recipe")
		under("steps")["minProperties"] = 1
		step := under("steps", "*")
		step["properties"].(map[string]any)["does"] = one(does()...)
		step["required"] = []string{"does"}
		s["required"] = []string{"id", "version", "kind", "margin", "steps"}
		placed := map[string]any{"properties": map[string]any{"does": one(FillPatch, FillJoint, FillCrack, Cove, Coat, Broadcast)}}
		step["if"], step["then"] = placed, map[string]any{"required": []string{"material"}}
	case "limits":
		p["kind"] = one("limits")
		limit := under("limits", "*")
		limit["required"] = []string{"value", "quantity", "owner", "basis"}
		limit["properties"].(map[string]any)["quantity"] = one("temperature", "temperature difference", "fraction", "mass flux", "length", "duration", "pressure", "density")
		limit["properties"].(map[string]any)["basis"] = one("published", "common-practice", "illustrative", "sheet", "job")
		limit["properties"].(map[string]any)["owner"] = map[string]any{"type": "string", "minLength": 1}
	case "cautions":
		p["kind"] = one("cautions")
	case "marks":
		p["kind"] = one("marks")
		under("grits", "*")["required"] = []string{"scratch"}
		known := one("published", "common-practice", "illustrative", "sheet", "job")
		under("profiles")["propertyNames"] = map[string]any{"pattern": "^([1-9]|10)$"}
		under("profiles", "*")["required"] = []string{"basis"}
		under("profiles", "*")["properties"].(map[string]any)["basis"] = known
		band := under("bands", "*")
		band["required"] = []string{"thickness", "least", "most"}
		medium := under("media", "*")
		medium["required"] = []string{"does", "basis"}
		medium["properties"].(map[string]any)["basis"] = known
		medium["properties"].(map[string]any)["does"] = one(mediumDoes()...)
		for _, key := range []string{"least", "most"} {
			band["properties"].(map[string]any)[key] = map[string]any{"type": "integer", "minimum": 1, "maximum": 10}
			medium["properties"].(map[string]any)[key] = map[string]any{"type": "integer", "minimum": 0, "maximum": 10}
		}
	case "heat":
		p["kind"] = one("fuels", "heaters", "envelopes", "floors")
		under("fuels", "*")["required"] = []string{"hhv", "lhv", "water", "co2", "density"}
		under("envelopes", "*")["required"] = []string{"walls", "roof", "air_changes"}
		under("films", "*")["required"] = []string{"film"}
		under("layers", "*")["required"] = []string{"conductivity", "density", "heat"}
	case "sources":
		x := under("*")
		x["required"] = []string{"title", "how"}
		x["properties"].(map[string]any)["how"] = one("seen", "memory")
		x["properties"].(map[string]any)["title"] = map[string]any{"type": "string", "minLength": 1}
	case "job":
		p["name"] = some
		p["start"] = map[string]any{"type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(\\.[0-9]+)?(Z|[+-][0-9]{2}:[0-9]{2})$"}
		under("areas")["minProperties"] = 1
		under("grind")["properties"].(map[string]any)["profile"] = map[string]any{"type": "integer", "minimum": 1, "maximum": 10}
		crew := under("crew")
		crew["required"] = []string{"hands", "from", "to"}
		crew["properties"].(map[string]any)["hands"] = map[string]any{"type": "integer", "minimum": 1, "maximum": 1000}
		crew["properties"].(map[string]any)["rest"] = map[string]any{"type": "array", "items": one("sun", "mon", "tue", "wed", "thu", "fri", "sat")}
		s["required"] = []string{"name", "recipe", "start", "areas", "crew"}
		s["anyOf"] = []any{map[string]any{"required": []string{"temperatures"}}, map[string]any{"required": []string{"room", "outdoors"}}}
		area := under("areas", "*")
		area["oneOf"] = []any{map[string]any{"required": []string{"area"}, "not": map[string]any{"anyOf": []any{map[string]any{"required": []string{"length"}}, map[string]any{"required": []string{"width"}}}}}, map[string]any{"required": []string{"length", "width"}, "properties": map[string]any{"area": false}}}
		done := under("done", "*")
		done["oneOf"] = []any{map[string]any{"required": []string{"start"}}, map[string]any{"required": []string{"sections"}, "not": map[string]any{"required": []string{"end"}}}}
		done["properties"].(map[string]any)["kits"] = map[string]any{"type": "number", "exclusiveMinimum": 0}
		under("done", "*", "sections", "*")["required"] = []string{"start"}
		for table, keys := range map[string][]string{"patches": {"area", "depth"}, "joints": {"length", "width", "depth"}, "cracks": {"length", "width", "depth"}} {
			under(table, "*")["required"] = keys
		}
	}
}

func schema(t reflect.Type) map[string]any {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	text := map[string]any{"type": "string"}
	switch name := t.Name(); {
	case t == reflect.TypeFor[toml.Primitive](): // a job's overrides of a material
		return schema(reflect.TypeFor[Material]())
	case strings.HasPrefix(name, "Value["):
		q := t.Field(0).Type
		o := object(texts())
		for _, key := range []string{"value", "low", "high"} {
			o["properties"].(map[string]any)[key] = quantity(q)
		}
		o["required"] = []string{"value"}
		return map[string]any{"oneOf": []any{quantity(q), o}}
	case strings.HasPrefix(name, "Limits["):
		q := t.Field(0).Type
		o := object(texts())
		for _, key := range []string{"low", "high"} {
			o["properties"].(map[string]any)[key] = quantity(q)
		}
		o["anyOf"] = []any{map[string]any{"required": []string{"low"}}, map[string]any{"required": []string{"high"}}}
		return o
	case t == reflect.TypeFor[Times]():
		o := object(texts())
		o["properties"].(map[string]any)["amount"] = quantity(reflect.TypeFor[units.Volume]())
		o["patternProperties"] = map[string]any{units.Pattern(units.Temperature{}): quantity(reflect.TypeFor[units.Span]())}
		o["not"] = map[string]any{"propertyNames": map[string]any{"enum": []string{"amount", "basis", "source", "at", "note"}}} // at least one row
		return o
	case t.Implements(reflect.TypeFor[units.Quantity]()):
		return quantity(t)
	case reflect.PointerTo(t).Implements(reflect.TypeFor[encoding.TextUnmarshaler]()):
		return text
	}
	switch t.Kind() {
	case reflect.Struct:
		p := map[string]any{}
		for _, f := range reflect.VisibleFields(t) {
			if tag := f.Tag.Get("toml"); tag != "" && tag != "-" {
				p[tag] = schema(f.Type)
			}
		}
		return object(p)
	case reflect.Map:
		return map[string]any{"type": "object", "additionalProperties": schema(t.Elem())}
	case reflect.Slice:
		return map[string]any{"type": "array", "items": schema(t.Elem())}
	case reflect.Bool:
		return map[string]any{"type": "boolean"}
	case reflect.Int, reflect.Int64:
		return map[string]any{"type": "integer"}
	}
	return text
}
