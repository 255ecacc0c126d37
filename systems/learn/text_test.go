package learn

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/BurntSushi/toml"

	"github.com/tackfree/tackfree/data/units"
)

// What was learned, as text for the job's file, is TOML: a coat of which film and
// rate were learned with pores between them has its table once. Source: TOML 1.0,
// "Defining a table more than once is not allowed".
func TestLearnedTextIsTOML(t *testing.T) {
	var wet []units.Length
	for i := range 5 {
		wet = append(wet, units.Length(8+0.5*float64(i))*units.Mil)
	}
	got, err := Learn(context.Background(), demo(t), Readings{Wet: []Wet{{"prime", wet}},
		Used: []Used{{"prime", "a", "", 300 * units.SquareFoot, 3 * units.Gallon}, {"prime", "b", "", 300 * units.SquareFoot, 3.1 * units.Gallon}},
		Work: []Work{{Step: "prime", Area: 300 * units.SquareFoot, Time: time.Hour, Hands: 1}}})
	if err != nil {
		t.Fatal(err)
	}
	var tables map[string]map[string]map[string]any
	if _, err := toml.Decode(got.TOML(), &tables); err != nil {
		t.Fatalf("%v in\n%s", err, got.TOML())
	}
	if p := tables["steps"]["prime"]; p["film"] == nil || p["rate"] == nil || len(tables["areas"]) != 3 || strings.Count(got.TOML(), "[steps.prime]") != 1 {
		t.Errorf("want film and rate of the primer and three areas in\n%s", got.TOML())
	}
}
