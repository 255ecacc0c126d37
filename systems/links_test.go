package systems_test

import (
	"strings"
	"testing"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

func skip(steps ...string) string {
	text := ""
	for _, s := range steps {
		text += "[steps." + s + "]\nskip = true\n"
	}
	return text
}

const (
	patchJob = "[patches.p]\narea = \"4 ft2\"\ndepth = \"0.5 in\"\ncount = 5\n"
	jointJob = "[joints.j]\nlength = \"30 ft\"\nwidth = \"0.25 in\"\ndepth = \"1 in\"\n"
	coveJob  = "[areas.a]\nbase_length = \"110 ft\"\nbase_height = \"4 in\"\nbase_radius = \"1 in\"\n"
)

// No coat goes on one that is not ready, whatever steps between are left out.
// Common practice, no source.
func TestSkippedStepsPassTheirWaitsOn(t *testing.T) {
	after := func(o *systems.Outcome, step, under string) {
		t.Helper()
		if ready := reached(t, o, under, systems.RecoatEarliest); one(t, o, step).Start.Before(ready) {
			t.Errorf("%s starts %v on a %s that may be recoated from %v", step, one(t, o, step).Start, under, ready)
		}
	}
	after(planOf(t, baseJob+skip("throw", "sweep", "grout")), "seal", "body")
	cove := changed(t, "[areas.a]\n", coveJob)
	after(planOf(t, cove+skip("prime")), "body", "cove")
	after(planOf(t, cove+skip("prime", "clean", "grind")), "body", "cove")
	after(planOf(t, baseJob+patchJob), "prime", "patch") // no grits: no grinding waits for the filler
	after(planOf(t, baseJob+jointJob), "prime", "joint")
	after(planOf(t, baseJob+patchJob+jointJob+skip("prime")), "body", "patch")
	after(planOf(t, baseJob+patchJob+"[grind]\ngrits = [\"30\"]\n"+skip("grind", "clean")), "prime", "patch")
	// Nobody vacuums a floor with wet filler in it.
	o := planOf(t, baseJob+patchJob)
	if w := one(t, o, "clean"); w.Start.Before(reached(t, o, "patch", systems.TackFree)) {
		t.Errorf("cleaning starts %v on wet patches", w.Start)
	}
}

// The window of the coat under a skipped one is kept too. Common practice, no source.
func TestSkippedStepPassesItsWindowOn(t *testing.T) {
	text := baseJob + skip("throw", "sweep", "grout") + "[materials.epoxy-standard.times.recoat-latest]\n\"50 °F\" = \"18h\"\n\"75 °F\" = \"18h\"\n[materials.epoxy-standard.times.recoat-earliest]\n\"50 °F\" = \"17h\"\n\"75 °F\" = \"17h\"\n"
	if o := planOf(t, text); !has(o, "seal", "window-missed") {
		t.Errorf("the seal comes after the body's window of 18 h without a word: %+v", o.Findings)
	}
}

// A time that a data sheet lacks is not taken as met. Common practice, no source.
func TestTimeNotGiven(t *testing.T) {
	// The overlay binder's sheet has no time for grinding.
	o := planOf(t, baseJob+patchJob+"[grind]\ngrits = [\"30\"]\n[steps.patch]\nmaterial = \"epoxy-overlay\"\n")
	f := found(o, "no-time-given")
	if len(f) != 1 || f[0].Step != "grind" || f[0].Severity != systems.Stop || f[0].Event != systems.Grindable || f[0].Instead != systems.Service {
		t.Errorf("patches of a binder without a time for grinding: %+v", f)
	} else if text := f[0].Sentence(units.US); !strings.Contains(text, "epoxy-overlay@1.1.0") || !strings.Contains(text, "grindable") {
		t.Errorf("sentence %q", text)
	}
	if ready := reached(t, o, "patch", systems.Service); one(t, o, "grind").Start.Before(ready) {
		t.Errorf("grinding starts %v, full service of the patches is %v", one(t, o, "grind").Start, ready)
	}
	// Aggregate into the primer, whose sheet has no time for that.
	o = planOf(t, baseJob+"[steps.body]\nmaterial = \"epoxy-primer-water\"\n")
	if !has(o, "throw", "no-time-given") {
		t.Errorf("a broadcast into a coat whose sheet does not say until when: %+v", o.Findings)
	}
}

// Where a data sheet has no later time either, the plan does not go on; and a
// floor with a layer of unknown service has none. Common practice, no source.
func TestNoTimeAtAll(t *testing.T) {
	rows := "\"50 °F\" = \"16h\"\n\"60 °F\" = \"9h\"\n\"75 °F\" = \"5h\"\n\"90 °F\" = \"3h\"\n"
	c, err := systems.Load(tree(t, "materials/epoxy-overlay-1.1.0.toml", "[times.service]\nbasis = \"common-practice\"\n"+rows, ""))
	if err != nil {
		t.Fatal(err)
	}
	plan := func(text string) *systems.Outcome {
		t.Helper()
		j, err := systems.ReadJob(strings.NewReader(text), c)
		if err != nil {
			t.Fatal(err)
		}
		o, err := systems.Plan(t.Context(), j)
		if err != nil {
			t.Fatal(err)
		}
		return o
	}
	o := plan(baseJob + patchJob + "[grind]\ngrits = [\"30\"]\n[steps.patch]\nmaterial = \"epoxy-overlay\"\n")
	if f := found(o, "never-ready"); len(f) != 1 || f[0].Step != "grind" || !strings.Contains(f[0].Limit, "gives no time for grindable") || len(works(o, "prime")) != 0 {
		t.Errorf("patches that nothing says when to grind: %+v", o.Findings)
	}
	o = plan(strings.Replace(baseJob, "quartz-broadcast", "two-course-overlay", 1))
	if !has(o, "course-1", "no-time-given") || !has(o, "course-2", "no-time-given") || o.Service != nil || o.Foot == nil {
		t.Errorf("courses of unknown service: %+v, service %v", o.Findings, o.Service)
	}
}
