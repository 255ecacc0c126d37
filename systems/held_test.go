package systems_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/systems"
)

// Common practice, no source: a foreman who holds a coat back for a day has it
// in the first shift after that, and what hangs on it later.
func TestNotBefore(t *testing.T) {
	plan := func(extra string) *systems.Outcome {
		t.Helper()
		o, err := systems.Plan(context.Background(), job(t, string(systems.DemoJob())+extra))
		if err != nil {
			t.Fatal(err)
		}
		return o
	}
	start := func(o *systems.Outcome, id string) time.Time {
		for _, w := range o.Schedule {
			if w.Step == id {
				return w.Start
			}
		}
		t.Fatalf("%s is not planned", id)
		return time.Time{}
	}
	free := plan("")
	for _, at := range []string{"52h", "2026-04-09T11:00:00-04:00"} {
		held := plan("\n[steps.prime]\nnot_before = \"" + at + "\"\n")
		if got, want := start(held, "prime"), free.Start.Add(52*time.Hour); !got.Equal(want) {
			t.Errorf("prime not before %s: starts %v, want %v", at, got, want)
		}
		if !start(held, "patch").Equal(start(free, "patch")) {
			t.Error("the patch does not hang on the prime, and moved")
		}
	}
	for text, want := range map[string]string{
		`not_before = "-2h"`:                       `found time "-2h": want a time since the start`,
		`not_before = "2026-04-06T11:00:00-04:00"`: "before the start",
		`not_before = "soon"`:                      `found time "soon"`,
	} {
		if _, err := systems.ReadJob(strings.NewReader(string(systems.DemoJob())+"\n[steps.prime]\n"+text+"\n"), builtin(t)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: got %v, want %q", text, err, want)
		}
	}
	if _, err := systems.ReadJob(strings.NewReader(string(systems.DemoJob())+"\n[steps.throw]\nnot_before = \"9h\"\n"), builtin(t)); err == nil || !strings.Contains(err.Error(), "goes with its coat") {
		t.Errorf("a broadcast held back: %v", err)
	}
}
