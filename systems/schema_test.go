package systems

import (
	"bytes"
	"encoding"
	"encoding/json"
	"flag"
	"maps"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/tomlfile"
)

// The JSON Schemas of data/schemas are written from the structs that the files
// decode into (go test ./systems -update), so that they say what the decoder
// does. Source of the dialect: JSON Schema draft 2020-12.
func TestSchemas(t *testing.T) {
	update := flag.Lookup("update").Value.String() == "true"
	for name, v := range map[string]any{
		"material": Material{}, "recipe": Recipe{}, "limits": limitsFile{}, "cautions": cautionsFile{}, "marks": marksFile{}, "heat": heatFile{}, "scatter": scatterFile{}, "sources": map[string]Source{}, "job": jobFile{},
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
	case "scatter":
		p["kind"] = one("scatter")
		entry := under("scatter", "*")
		entry["required"] = []string{"shape", "mean", "basis"}
		entry["properties"].(map[string]any)["shape"] = one(Shapes()...)
		entry["properties"].(map[string]any)["basis"] = one("published", "common-practice", "illustrative", "sheet", "job")
		entry["properties"].(map[string]any)["worth"] = map[string]any{"type": "integer", "minimum": 0, "maximum": 1000, "not": map[string]any{"enum": []int{1, 2}}}
		under("scatter")["propertyNames"] = map[string]any{"pattern": scatterPattern()}
		entry["oneOf"] = []any{
			map[string]any{"properties": map[string]any{"shape": one(Normal, Lognormal), "low": false, "high": false}, "required": []string{"spread"}},
			map[string]any{"properties": map[string]any{"shape": one(Triangular), "spread": false}, "required": []string{"low", "high"}},
			map[string]any{"properties": map[string]any{"shape": one(Beta)}, "required": []string{"low", "high", "spread"}},
		}
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
		demandWhatIf(under("what_if", "*"))
		area := under("areas", "*")
		shapes := map[string][]string{"area": {"area"}, "length": {"length", "width"}, "diameter": {"diameter"}, "corners": {"corners"}, "steps": {"steps", "width", "tread", "riser"}}
		only := func(own ...string) any { // one shape has these keys, and none that only others have
			no := map[string]any{}
			for _, keys := range append(slices.Collect(maps.Values(shapes)), []string{"nosing", "open_sides"}) {
				for _, key := range keys {
					if !slices.Contains(own, key) && !(own[0] == "steps" && (key == "nosing" || key == "open_sides")) {
						no[key] = false
					}
				}
			}
			return map[string]any{"required": own, "properties": no}
		}
		area["oneOf"] = []any{only("area"), only("length", "width"), only("diameter"), only("corners"), only("steps", "width", "tread", "riser")}
		hole := under("areas", "*", "holes", "*")
		hole["oneOf"] = []any{only("area"), only("length", "width"), only("diameter"), only("corners")}
		length := strings.Trim(units.Pattern(units.Length(0)), "^$")
		for _, at := range []map[string]any{area, hole} {
			at["properties"].(map[string]any)["corners"] = map[string]any{"type": "array", "items": map[string]any{"type": "string", "pattern": "^" + length + "," + length + "$"}, "minItems": 3, "maxItems": 1000}
		}
		area["properties"].(map[string]any)["steps"] = map[string]any{"type": "integer", "minimum": 1, "maximum": 10000}
		area["properties"].(map[string]any)["open_sides"] = map[string]any{"type": "integer", "minimum": 0, "maximum": 2}
		under("areas", "*", "drank")["required"] = []string{"volume", "area"}
		under("areas", "*", "texture")["oneOf"] = []any{
			map[string]any{"required": []string{"height", "share"}, "properties": map[string]any{"sand": false, "diameter": false}},
			map[string]any{"required": []string{"sand", "diameter"}, "properties": map[string]any{"height": false, "share": false}}}
		for _, table := range []string{"joints", "cracks"} {
			joint := under(table, "*")
			joint["properties"].(map[string]any)["form"] = one("square", "v")
			joint["dependentRequired"] = map[string]any{"rod": []string{"set"}, "set": []string{"rod"}, "lap": []string{"over"}}
		}
		under("volatiles")["dependentRequired"] = map[string]any{"most": []string{"owner"}, "owner": []string{"most"}, "actual": []string{"most"}}
		decide := under("decide")
		decide["properties"].(map[string]any)["goal"] = one(goals()...)
		decide["properties"].(map[string]any)["hand_over"] = one(Foot, Service)
		decide["properties"].(map[string]any)["nodes"] = map[string]any{"type": "integer", "minimum": 0, "maximum": 1000000000}
		under("decide", "materials", "*")["minItems"] = 1
		prices := under("prices")["properties"].(map[string]any)
		price := func(per string) map[string]any {
			return map[string]any{"type": "string", "pattern": "^[0-9]+(\\.[0-9]{1,4})? +per +" + per + "$"}
		}
		prices["digits"] = map[string]any{"type": "integer", "minimum": 0, "maximum": 4}
		prices["labour"] = price("h")
		under("prices", "overtime")["required"] = []string{"after", "times"}
		for _, table := range []string{"materials", "fuels", "disposal"} {
			under("prices", table)["additionalProperties"] = price(".+")
		}
		under("prices", "disposal")["propertyNames"] = one(Leftover, Vacuumed, Empties)
		equipment := under("prices", "equipment", "*")
		equipment["required"] = []string{"price"}
		equipment["properties"].(map[string]any)["price"] = price("day")
		equipment["properties"].(map[string]any)["days"] = map[string]any{"type": "integer", "minimum": 1, "maximum": 10000}
		under("past", "*")["propertyNames"] = map[string]any{"pattern": scatterPattern()}
		under("past", "*", "*")["required"] = []string{"planned", "used"}
		done := under("done", "*")
		done["oneOf"] = []any{map[string]any{"required": []string{"start"}}, map[string]any{"required": []string{"sections"}, "not": map[string]any{"required": []string{"end"}}}}
		done["properties"].(map[string]any)["kits"] = map[string]any{"type": "number", "exclusiveMinimum": 0}
		under("done", "*", "sections", "*")["required"] = []string{"start"}
		for table, keys := range map[string][]string{"patches": {"area", "depth"}, "joints": {"length", "width", "depth"}, "cracks": {"length", "width", "depth"}} {
			under(table, "*")["required"] = keys
		}
	}
}

// demandWhatIf adds what a table [what_if.<name>] asks for: something that goes
// otherwise, no two of one thing, and no part of one without the rest.
func demandWhatIf(s map[string]any) {
	has := func(keys ...string) map[string]any { return map[string]any{"required": keys} }
	var some []any
	for _, key := range []string{"heat_stops", "no_refill", "smaller_tank", "door", "warmer", "colder", "damper", "drier", "hands_short", "delay", "not_before", "option", "material", "uptake"} {
		some = append(some, has(key))
	}
	s["anyOf"] = some
	s["allOf"] = []any{
		map[string]any{"not": has("warmer", "colder")},
		map[string]any{"not": has("damper", "drier")},
		map[string]any{"anyOf": []any{map[string]any{"not": has("heater")}, has("no_refill"), has("smaller_tank")}},
	}
	s["dependentRequired"] = map[string]any{"for": []string{"heat_stops"}, "door": []string{"door_for", "air_changes"}, "door_for": []string{"door"}, "air_changes": []string{"door"}, "hands_from": []string{"hands_short"}}
	p := s["properties"].(map[string]any)
	p["hands_short"] = map[string]any{"type": "integer", "minimum": 1, "maximum": 999}
	for _, key := range []string{"heat_stops", "no_refill", "heater", "door", "hands_from"} {
		p[key] = map[string]any{"type": "string", "minLength": 1}
	}
	for _, key := range []string{"delay", "not_before", "option", "material"} {
		p[key].(map[string]any)["minProperties"] = 1
	}
}

// scatterPattern matches the names of what scatters.
func scatterPattern() string { return "^(film-.+|" + strings.Join(scatterIDs(), "|") + ")$" }

func schema(t reflect.Type) map[string]any {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	text := map[string]any{"type": "string"}
	switch name := t.Name(); {
	case t == reflect.TypeFor[tomlfile.Part](): // a job's overrides of a material
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
	case t == reflect.TypeFor[Dose]():
		o := object(texts("part"))
		o["patternProperties"] = map[string]any{units.Pattern(units.Temperature{}): quantity(reflect.TypeFor[units.Fraction]())}
		o["required"], o["minProperties"] = []string{"part"}, 3
		return o
	case t == reflect.TypeFor[Times]():
		o := object(texts())
		o["properties"].(map[string]any)["amount"] = quantity(reflect.TypeFor[units.Volume]())
		temp, span := units.Pattern(units.Temperature{}), quantity(reflect.TypeFor[units.Span]())
		over := map[string]any{"type": "object", "additionalProperties": false, "minProperties": 1, "patternProperties": map[string]any{units.Pattern(units.Fraction(0)): span}}
		o["patternProperties"] = map[string]any{temp: map[string]any{"oneOf": []any{span, over}}}
		o["properties"].(map[string]any)["by"] = map[string]any{"enum": slices.Sorted(maps.Keys(dependences()))}
		o["if"] = map[string]any{"required": []string{"by"}} // rows over humidity
		o["then"] = map[string]any{"patternProperties": map[string]any{temp: over}}
		o["else"] = map[string]any{"patternProperties": map[string]any{temp: span}}
		o["not"] = map[string]any{"propertyNames": map[string]any{"enum": []string{"amount", "basis", "by", "source", "at", "note"}}} // at least one row
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
	case reflect.Float64:
		return map[string]any{"type": "number"}
	case reflect.Int, reflect.Int64:
		return map[string]any{"type": "integer"}
	}
	return text
}
