package learn

import (
	"context"
	"strings"
	"testing"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// A reading that is none is told by its step and its name, or its number, and with
// few figures. Common practice, no source.
func TestReadingsCalled(t *testing.T) {
	c, err := builtin()
	if err != nil {
		t.Fatal(err)
	}
	j, err := systems.ReadJob(strings.NewReader(string(systems.DemoJob())), c)
	if err != nil {
		t.Fatal(err)
	}
	for _, tc := range []struct {
		r    Readings
		want string
	}{
		{Readings{Used: []Used{{Step: "prime", Area: 700 * units.SquareFoot, Used: -units.Gallon}}}, "learn: prime, reading 1 without a name: used: found -3.785 L used: want above nothing"},
		{Readings{Used: []Used{{Step: "prime", Name: "north", Area: 700 * units.SquareFoot, Used: -units.Gallon}}}, "learn: prime north: used: found -3.785 L used"},
		{Readings{Used: []Used{{Step: "prime", Area: 1e5 / 3.0, Used: units.Gallon}}}, "prime, reading 1 without a name: area: found 33333 m2 done: want above nothing to "},
		{Readings{Work: []Work{{Step: "clean", Hands: 1, Time: 1}}}, "learn: clean, reading 1 without a name: found no area"},
	} {
		_, err := Learn(context.Background(), j, tc.r)
		if err == nil || !strings.Contains(err.Error(), tc.want) || strings.Contains(err.Error(), "0000") {
			t.Errorf("want %q: %v", tc.want, err)
		}
	}
}
