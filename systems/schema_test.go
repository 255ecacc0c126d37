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
	p := map[string]any{"basis": map[string]any{"enum": []string{"published", "common-practice", "illustrative"}}}
	for _, k := range append(keys, "source", "at", "note") {
		p[k] = map[string]any{"type": "string"}
	}
	return p
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
		o := object(texts("value", "low", "high"))
		o["required"] = []string{"value"}
		return map[string]any{"oneOf": []any{text, o}}
	case strings.HasPrefix(name, "Limits["):
		return object(texts("low", "high"))
	case t == reflect.TypeFor[Times]():
		o := object(texts("amount"))
		o["patternProperties"] = map[string]any{"(°C|degC|°F|degF|K)$": text}
		return o
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
