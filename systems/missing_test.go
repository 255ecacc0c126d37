package systems_test

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// What the job asks for and the recipe has no step for is told, and takes
// nothing from the floor. Common practice, no source.
func TestNotInRecipe(t *testing.T) {
	full := strings.Replace(baseJob, "[areas.a]\n", coveJob, 1) + patchJob + jointJob + "[grind]\ngrits = [\"30\"]\n"
	o := planOf(t, strings.Replace(full, "quartz-broadcast", "two-course-overlay", 1))
	var lost []string
	for _, f := range found(o, "not-in-recipe") {
		lost = append(lost, f.Limit)
		if f.Severity != systems.Stop {
			t.Errorf("%+v", f)
		}
	}
	if !slices.Equal(lost, []string{"patches", "joints", "a cove", "a base to coat", "grits to grind with"}) {
		t.Errorf("told: %q", lost)
	}
	for _, n := range o.TakeOff {
		if math.Abs(float64(n.Area/units.SquareFoot)-800) > 1e-9 {
			t.Errorf("%s covers %v of 800 ft2", n.Step, n.Area)
		}
	}
	if f := found(planOf(t, full), "not-in-recipe"); len(f) != 0 {
		t.Errorf("a recipe with all the steps: %+v", f)
	}
	if f := found(planOf(t, full+skip("patch", "joint", "cove", "grind")), "not-in-recipe"); len(f) != 0 {
		t.Errorf("steps left out on purpose: %+v", f)
	}
	// A cove left out stands on no floor: 800 ft2 and 110 ft of 4 in face, by hand.
	for _, n := range planOf(t, full+skip("cove")).TakeOff {
		if n.Step == "body" && math.Abs(float64(n.Area/units.SquareFoot)-(800+110.0/3)) > 1e-6 {
			t.Errorf("cove left out: the body covers %v", n.Area)
		}
	}
}

// Grits are for floors: where a recipe coats the base alone and prepares it in a step
// of its own, they are told to be of no use, which is nothing to stop for. Of a recipe
// that lays coats on the floor without grinding it they stay one (TestNotInRecipe).
// Common practice, no source.
func TestGritsOfBase(t *testing.T) {
	text := read(t, "cove.toml")
	without, with := planOf(t, text), planOf(t, text+"[grind]\ngrits = [\"30\"]\n")
	if f := found(with, "not-in-recipe"); len(f) != 0 {
		t.Errorf("told as left out: %+v", f)
	}
	f := found(with, "grits-not-used")
	if len(f) != 1 || f[0].Severity != systems.Note || !strings.Contains(f[0].Text, "grits") {
		t.Errorf("told: %+v", f)
	}
	if !without.End.Equal(with.End) || len(found(without, "grits-not-used")) != 0 {
		t.Errorf("ends %v and %v", without.End, with.End)
	}
}

// Bare concrete drinks from the first coat that is laid: 2 mil of pores and
// 2 mil of profile on 800 ft2 are 2.0 gal, by hand (1604 mil ft2 to the gallon).
func TestFirstCoatDrinks(t *testing.T) {
	for _, tc := range []struct{ skip, drinks string }{{"", "prime"}, {skip("prime"), "body"}} {
		o := planOf(t, baseJob+tc.skip)
		for _, n := range o.TakeOff {
			drunk := float64((n.Profile + n.Uptake) / units.Gallon)
			if want := 800 * 4 / 1604.2; n.Step == tc.drinks && math.Abs(drunk-want) > 1e-3*want || n.Step != tc.drinks && drunk != 0 {
				t.Errorf("%q: %s drinks %.4f gal", tc.skip, n.Step, drunk)
			}
		}
	}
	unmeasured := strings.Replace(baseJob, "uptake = \"2 mil\"\n", "", 1)
	if o := planOf(t, unmeasured+skip("prime")); !has(o, "body", "uptake-unmeasured") {
		t.Errorf("unmeasured pores under the body coat: %+v", o.Findings)
	}
}

// Work that is left out is not judged, and a slab poured today is not a slab of
// unknown age. Common practice, no source.
func TestSkippedWorkIsNotJudged(t *testing.T) {
	deep := baseJob + strings.Replace(patchJob, "0.5 in", "3 in", 1) + jointJob
	young := strings.Replace(deep, "[moisture]\n", "[moisture]\nage = \"0d\"\n", 1)
	if o := planOf(t, young); len(found(o, "patch-too-deep")) != 1 || len(found(o, "joint-too-young")) != 2 {
		t.Errorf("patch and joint: %+v", o.Findings)
	}
	if o := planOf(t, young+skip("patch", "joint")); len(found(o, "patch-too-deep"))+len(found(o, "joint-too-young")) != 0 {
		t.Errorf("both left out: %+v", o.Findings)
	}
	if o := planOf(t, deep); len(found(o, "joint-too-young")) != 0 {
		t.Errorf("age not given: %+v", o.Findings)
	}
	_, err := systems.ReadJob(strings.NewReader(strings.Replace(deep, "[moisture]\n", "[moisture]\nage = \"-3d\"\n", 1)), builtin(t))
	var f *systems.FileError
	if !errors.As(err, &f) || f.Key != "moisture.age" {
		t.Errorf("age -3d: %v", err)
	}
}

// Heating that comes to nothing, and coats that do not wait for it, are told;
// a recipe can make them wait. Common practice, no source.
func TestCondition(t *testing.T) {
	cold := changed(t, "\"0h\" = \"65 °F\"\n\"400h\" = \"65 °F\"\n", "\"0h\" = \"45 °F\"\n\"400h\" = \"45 °F\"\n", "50 %", "30 %") + "[steps.prime]\nmaterial = \"epoxy-standard-cold\"\n"
	if o := planOf(t, cold); !has(o, "warm", "condition-not-met") || !has(o, "prime", "condition-not-awaited") {
		t.Errorf("a slab of 45 °F: %+v", o.Findings)
	}
	late := strings.Replace(cold, "\"0h\" = \"45 °F\"\n\"400h\" = \"45 °F\"\n", "\"0h\" = \"45 °F\"\n\"10h\" = \"49 °F\"\n\"30h\" = \"55 °F\"\n\"400h\" = \"60 °F\"\n", 1)
	o := planOf(t, late)
	if has(o, "warm", "condition-not-met") || !has(o, "prime", "condition-not-awaited") {
		t.Errorf("a slab that is warm after a day: %+v", o.Findings)
	}
	const file = "recipes/quartz-broadcast/1.1.0.toml"
	c, err := systems.Load(tree(t, file, "after = { cove = \"recoat-earliest\" }", "after = { cove = \"recoat-earliest\", warm = \"done\" }"))
	if err != nil {
		t.Fatal(err)
	}
	for text, ready := range map[string]bool{late: true, cold: false} {
		j, err := systems.ReadJob(strings.NewReader(text), c)
		if err != nil {
			t.Fatal(err)
		}
		o, err := systems.Plan(t.Context(), j)
		if err != nil {
			t.Fatal(err)
		}
		if has(o, "prime", "never-ready") == ready || has(o, "prime", "condition-not-awaited") {
			t.Errorf("waiting for the heat: %+v", o.Findings)
		}
		if ready && one(t, o, "prime").Start.Before(one(t, o, "warm").End) {
			t.Errorf("prime starts %v, the slab is warm %v", one(t, o, "prime").Start, one(t, o, "warm").End)
		}
	}
	for _, wrong := range []string{"warm = \"foot\"", "clean = \"tack-free\"", "cove = \"pot-life\""} {
		if _, err := systems.Load(tree(t, file, "after = { cove = \"recoat-earliest\" }", "after = { "+wrong+" }")); err == nil {
			t.Errorf("after = { %s } is taken", wrong)
		}
	}
}
