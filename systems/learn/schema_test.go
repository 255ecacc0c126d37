package learn

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"reflect"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"github.com/tackfree/tackfree/data/units"
)

var update = flag.Bool("update", false, "write the schema of readings anew")

const schemaFile = "../../data/schemas/readings.schema.json"

// schemaOf is the schema of what decodes into a t.
func schemaOf(t reflect.Type) map[string]any {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if q, ok := reflect.Zero(t).Interface().(units.Quantity); ok {
		return map[string]any{"type": "string", "pattern": units.Pattern(q)}
	}
	switch t.Kind() {
	case reflect.Struct:
		p := map[string]any{}
		for _, f := range reflect.VisibleFields(t) {
			p[f.Tag.Get("toml")] = schemaOf(f.Type)
		}
		return map[string]any{"type": "object", "properties": p, "additionalProperties": false}
	case reflect.Map:
		return map[string]any{"type": "object", "additionalProperties": schemaOf(t.Elem())}
	case reflect.Slice:
		return map[string]any{"type": "array", "items": schemaOf(t.Elem())}
	case reflect.Bool:
		return map[string]any{"type": "boolean"}
	case reflect.Int64:
		return map[string]any{"type": "integer", "minimum": 0}
	case reflect.Float64:
		return map[string]any{"type": "number", "exclusiveMinimum": 0}
	}
	return map[string]any{"type": "string"}
}

// The schema of readings is written from its structs (go test ./systems/learn
// -update), and takes and refuses what the decoder does, as far as a schema can
// see. Source of the dialect: JSON Schema draft 2020-12.
func TestSchema(t *testing.T) {
	s := schemaOf(reflect.TypeFor[readingsFile]())
	p := s["properties"].(map[string]any)
	p["kind"], p["schema"] = map[string]any{"const": "readings"}, map[string]any{"const": 1}
	s["required"] = []string{"kind"}
	rows := func(table string) map[string]any {
		return p[table].(map[string]any)["additionalProperties"].(map[string]any)["additionalProperties"].(map[string]any)
	}
	one := func(key string) map[string]any { return map[string]any{"required": []string{key}} }
	rows("used")["required"], rows("used")["oneOf"] = []string{"area"}, []any{one("used"), one("kits")}
	rows("grain")["required"] = []string{"thrown", "vacuumed"}
	rows("work")["required"], rows("work")["anyOf"] = []string{"time", "hands"}, []any{one("area"), one("length"), one("count")}
	l := p["loggers"].(map[string]any)
	l["oneOf"] = []any{one("log"), one("log_file")}
	l["properties"].(map[string]any)["heat"].(map[string]any)["additionalProperties"] = map[string]any{"enum": []string{"on", "off"}}
	p["wet"].(map[string]any)["additionalProperties"].(map[string]any)["items"] = map[string]any{"type": "string", "pattern": units.Pattern(units.Length(0))}
	s["$schema"], s["title"] = "https://json-schema.org/draft/2020-12/schema", "tackfree readings"
	got, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	got = append(got, '\n')
	if *update {
		if err := os.WriteFile(schemaFile, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if want, err := os.ReadFile(schemaFile); err != nil || !bytes.Equal(got, want) {
		t.Fatalf("%s differs from its structs (%v): run go test ./systems/learn -update", schemaFile, err)
	}
	compiled, err := jsonschema.NewCompiler().Compile(schemaFile)
	if err != nil {
		t.Fatal(err)
	}
	j := demo(t)
	for _, tc := range []struct {
		old, new string
		good     bool
	}{
		{"", "", true},
		{`kind = "readings"`, `kind = "reading"`, false},
		{`kind = "readings"`, ``, false},
		{`kind = "readings"`, "kind = \"readings\"\nschema = 1", true},
		{`kind = "readings"`, "kind = \"readings\"\nschema = 2", false},
		{`area = "100 ft2"`, `area = "100 ft"`, false},
		{`kits = 0.5`, `kits = "0.5"`, false},
		{`kits = 0.5`, `kits = 1`, true},
		{`kits = 0.5`, ``, false},
		{`kits = 0.5`, "kits = 0.5\nused = \"1 gal\"", false},
		{`"0h" = "on"`, `"0h" = "On"`, false},
		{`["10 mil"]`, `["10"]`, false},
		{`["10 mil"]`, `"10 mil"`, false},
		{`thrown = "50 lb"`, ``, false},
		{`hands = 1`, `hands = 1.5`, false},
		{`hands = 1`, ``, false},
		{`time = "1h"`, `tme = "1h"`, false},
		{`[loggers.heat]`, "ground_depth = \"4 in\"\n[loggers.heat]", true},
		{`[loggers.heat]`, "deep_within = \"4 in\"\n[loggers.heat]", false},
	} {
		text := strings.Replace(goodReadings, tc.old, tc.new, 1)
		_, decoder := Read(strings.NewReader(text), j)
		var raw map[string]any
		_, err := toml.Decode(text, &raw)
		if err == nil {
			err = compiled.Validate(raw)
		}
		if (err == nil) != tc.good || (decoder == nil) != tc.good {
			t.Errorf("%q for %q, want good %v:\nschema  %v\ndecoder %v", tc.new, tc.old, tc.good, err, decoder)
		}
	}
}
