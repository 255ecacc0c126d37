package systems_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/tackfree/tackfree/systems"
)

// A name in a job that leads nowhere is refused: it must not switch a check
// off. Common practice, no source.
func TestNamesThatLeadNowhere(t *testing.T) {
	c := builtin(t)
	for _, tc := range []struct{ text, key, want string }{
		{"[materials.epoxy-primer-water]\nmoisture = \"moisture-f1869-1lb\"\n", "materials.epoxy-primer-water.moisture", "moisture-f1869-3lb"},
		{"[materials.epoxy-primer-water]\ncautions = [\"slipp\"]\n", "materials.epoxy-primer-water.cautions", `found "slipp"`},
		{"[materials.epoxy-primer-water]\nsolids = { value = \"50 %\", basis = \"published\", source = \"nobody\" }\n", "materials.epoxy-primer-water.solids", `found source "nobody"`},
		{"[steps.body]\nfilm = { value = \"10 mil\", basis = \"published\", source = \"nobody\" }\n", "steps.body.film", `found source "nobody"`},
	} {
		_, err := systems.ReadJob(strings.NewReader(baseJob+tc.text), c)
		var f *systems.FileError
		if !errors.As(err, &f) || f.Line == 0 || f.Key != tc.key || !strings.Contains(f.Problem, tc.want) {
			t.Errorf("%s got %v; want %s: %s", tc.text, err, tc.key, tc.want)
		}
	}
	if _, err := systems.ReadJob(strings.NewReader(baseJob+"[materials.epoxy-primer-water]\nmoisture = \"moisture-f1869-3lb\"\n"), c); err != nil {
		t.Errorf("a limit that there is: %v", err)
	}
}

// A catalog is read-only: what one job overrides does not reach the next.
func TestOverridesStayInTheJob(t *testing.T) {
	c := builtin(t)
	text := baseJob + "[materials.epoxy-primer-water]\ncautions = [\"silica\", \"slip\", \"amine\"]\n"
	if _, err := systems.ReadJob(strings.NewReader(text), c); err != nil {
		t.Fatal(err)
	}
	m, err := c.Material("epoxy-primer-water")
	if err != nil {
		t.Fatal(err)
	}
	was, err := builtin(t).Material("epoxy-primer-water")
	if err != nil || !slices.Equal(m.Cautions, was.Cautions) {
		t.Errorf("the catalog's cautions are %v after the job, were %v (%v)", m.Cautions, was.Cautions, err)
	}
}

// Limits that cross and windows that close before they open are refused.
// Common practice, no source.
func TestImpossibleOverrides(t *testing.T) {
	c := builtin(t)
	for _, tc := range []struct{ text, key string }{
		{"surface = { low = \"90 °F\", high = \"50 °F\" }", "surface"},
		{"air = { low = \"90 °F\", high = \"50 °F\" }", "air"},
		{"humidity = { low = \"90 %\", high = \"50 %\" }", "humidity"},
		{"times.recoat-earliest.\"70 °F\" = \"20h\"\ntimes.recoat-latest.\"70 °F\" = \"10h\"", "times.recoat-latest"},
		{"times.recoat-latest.\"60 °F\" = \"12h\"", "times.recoat-latest"}, // the data's earliest time at 60 °F is 14 h
	} {
		_, err := systems.ReadJob(strings.NewReader(baseJob+"[materials.epoxy-standard]\n"+tc.text+"\n"), c)
		var f *systems.FileError
		if !errors.As(err, &f) || f.Key != "materials.epoxy-standard."+tc.key || f.Line == 0 {
			t.Errorf("%s\n got %v, want a fault of %s", tc.text, err, tc.key)
		}
	}
	for _, text := range []string{"surface = { low = \"50 °F\", high = \"50 °F\" }", "times.recoat-earliest.\"70 °F\" = \"10h\"\ntimes.recoat-latest.\"70 °F\" = \"20h\""} {
		if _, err := systems.ReadJob(strings.NewReader(baseJob+"[materials.epoxy-standard]\n"+text+"\n"), c); err != nil {
			t.Errorf("%s\n%v", text, err)
		}
	}
}
