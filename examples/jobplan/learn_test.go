package main

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
)

// The demo's third day: what was learned, the logger that is not believed, text
// for the job's file and the plan from now on. Common practice, no source.
func TestLearn(t *testing.T) {
	var out, errs bytes.Buffer
	if code := run([]string{"-learn", "testdata/readings.toml", "testdata/thursday.toml"}, &out, &errs); code != 0 {
		t.Fatalf("%d %s", code, &errs)
	}
	for _, want := range []string{"film coefficient of the slab", "NOT BELIEVED  surface door: jump", "[room.slab]\nfilm = ", "Now Thu 9 Apr 09:00", "[done]"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("no %q in\n%.3000s", want, &out)
		}
	}
	out.Reset()
	if code := run([]string{"-json", "-learn", "testdata/readings.toml", "testdata/thursday.toml"}, &out, &errs); code != 0 {
		t.Fatalf("%d %s", code, &errs)
	}
	var got struct {
		Learned struct {
			Figures []struct{ Key []string }
			Flags   []struct{ Reading, Wrong string }
		}
		TOML string
		Plan struct{ Now string }
	}
	if err := json.Unmarshal(out.Bytes(), &got); err != nil || len(got.Learned.Figures) < 5 || len(got.Learned.Flags) != 1 || got.TOML == "" || got.Plan.Now == "" {
		t.Errorf("%v %+v", err, got)
	}
	for _, args := range [][]string{{"-learn", "testdata/none.toml"}, {"-learn", "testdata/thursday.toml"}, {"-learn", "testdata/readings.toml", "-why", "nonsense", "testdata/thursday.toml"}} {
		errs.Reset()
		if code := run(args, &out, &errs); code != 1 || errs.Len() == 0 {
			t.Errorf("%v: %d %s", args, code, &errs)
		}
	}
}

// Where a figure comes from of the plan with what was learned: the learned film
// stands in it, with how many readings taught it; text and JSON say the same.
// Common practice, no source.
func TestLearnWhy(t *testing.T) {
	var out, errs bytes.Buffer
	if code := run([]string{"-learn", "testdata/readings.toml", "-why", "steps.prime.gross", "testdata/thursday.toml"}, &out, &errs); code != 0 {
		t.Fatalf("%d %s", code, &errs)
	}
	for _, want := range []string{"what the pores drink, store (areas.store.uptake)", "NOT BELIEVED  surface door", "need: ", "learned from 8 readings"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("no %q in\n%s", want, &out)
		}
	}
	// An area's figure says it too: in its place, and as the pores' share of the need.
	line := ""
	for l := range strings.Lines(out.String()[strings.Index(out.String(), "need: "):]) {
		if strings.Contains(l, "uptake of bottling: ") {
			line = l
		}
	}
	if !strings.Contains(line, "job; learned from ") || !strings.Contains(line, ", 95 % ") {
		t.Errorf("the uptake learned is told as %q in\n%s", line, &out)
	}
	out.Reset()
	if code := run([]string{"-json", "-learn", "testdata/readings.toml", "-why", "steps.prime.gross", "testdata/thursday.toml"}, &out, &errs); code != 0 {
		t.Fatalf("%d %s", code, &errs)
	}
	var got struct {
		Learned struct{ Figures []struct{ Key []string } }
		Why     map[string]any
	}
	if err := json.Unmarshal(out.Bytes(), &got); err != nil || len(got.Learned.Figures) < 5 || len(got.Why) == 0 {
		t.Errorf("%v %+v", err, got)
	}
}
