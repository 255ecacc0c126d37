package systems_test

import (
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/systems"
)

// baseJob is a job with nothing wrong, for checks that change one thing; of our
// own invention (common practice, no source).
const baseJob = `name = "base"
recipe = "quartz-broadcast@1.1.0"
start = "2026-05-04T07:00:00-04:00"
[areas.a]
area = "800 ft2"
uptake = "2 mil"
profile = "2 mil"
[crew]
hands = 3
from = "07:00"
to = "17:00"
[moisture]
humidity = "70 %"
emission = "3 lb/(1000 ft2 d)"
[temperatures.slab]
"0h" = "65 °F"
"400h" = "65 °F"
[temperatures.air]
"0h" = "68 °F"
"400h" = "68 °F"
[temperatures.rh]
"0h" = "50 %"
"400h" = "50 %"
`

// changed returns baseJob with each odd text replaced by the even one after it.
func changed(t testing.TB, pairs ...string) string {
	t.Helper()
	for i := 0; i < len(pairs); i += 2 {
		if !strings.Contains(baseJob, pairs[i]) {
			t.Fatalf("the base job has no %q", pairs[i])
		}
	}
	return strings.NewReplacer(pairs...).Replace(baseJob)
}

// works returns the schedule's lines of a step.
func works(o *systems.Outcome, step string) (out []systems.Work) {
	for _, w := range o.Schedule {
		if w.Step == step {
			out = append(out, w)
		}
	}
	return out
}

// one returns the only line of a step.
func one(t *testing.T, o *systems.Outcome, step string) systems.Work {
	t.Helper()
	all := works(o, step)
	if len(all) != 1 {
		t.Fatalf("%d lines of %s, want one", len(all), step)
	}
	return all[0]
}

// reached returns when a step on the whole floor reaches an event.
func reached(t *testing.T, o *systems.Outcome, step, event string) time.Time {
	t.Helper()
	for _, e := range one(t, o, step).Events {
		if e.Event == event && e.At != nil {
			return *e.At
		}
	}
	t.Fatalf("%s does not reach %s", step, event)
	return time.Time{}
}

// has reports whether a step has a finding of a key.
func has(o *systems.Outcome, step, key string) bool {
	for _, f := range found(o, key) {
		if f.Step == step {
			return true
		}
	}
	return false
}
