package systems_test

import (
	"bytes"
	"context"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// changesOf reads the keys of a decision as one would who writes them into the job
// file: each in place of the job's, and the tables that say so in place of the whole
// of the job's.
func changesOf(t *testing.T, keys, text string) (out []systems.Change) {
	t.Helper()
	var table []string
	for line := range strings.Lines(keys) {
		line = strings.TrimSpace(line)
		if head, ok := strings.CutPrefix(line, "["); ok {
			name, said, _ := strings.Cut(head, "]")
			table = strings.Split(name, ".")
			if strings.Contains(said, "whole table") {
				_, was, _ := strings.Cut(text, "["+name+"]\n")
				was, _, _ = strings.Cut(was, "\n[")
				for old := range strings.Lines(was) {
					if k, _, ok := strings.Cut(old, " = "); ok {
						out = append(out, systems.Change{Key: append(slices.Clone(table), strings.Trim(k, `"`))})
					}
				}
			}
			continue
		}
		if k, value, ok := strings.Cut(line, " = "); ok && !strings.HasPrefix(line, "#") {
			value, _, _ = strings.Cut(value, " # ")
			out = append(out, systems.Change{Key: append(slices.Clone(table), strings.Trim(k, `"`)), Value: value})
		}
	}
	return out
}

// A decision's keys, written into the job's own text, give the plan that the
// decision told, with its hand-over: of the demo, the stories, floors in sections
// and a day on which work is done. Two routes to one plan; common practice, no source.
func TestDecisionWrittenIntoTheJob(t *testing.T) {
	c := builtin(t)
	const dir = "testdata/"
	changed := 0
	for _, tc := range []struct{ name, goal string }{
		{"demo", systems.Earliest}, {"demo", systems.LeastCost}, {dir + "stories/night-stop.toml", systems.Earliest}, {dir + "stories/unvented-heat.toml", systems.Earliest},
		{dir + "stories/tight-weekend.toml", systems.Earliest}, {dir + "rings/at-once.toml", systems.Earliest}, {dir + "rings/one-by-one.toml", systems.LeastFuel},
		{"../examples/jobplan/testdata/thursday.toml", systems.Earliest}, {"../examples/jobplan/testdata/thursday.toml", systems.FewestFindings},
	} {
		text := systems.DemoJob()
		if tc.name != "demo" {
			var err error
			if text, err = os.ReadFile(tc.name); err != nil {
				t.Fatal(err)
			}
		}
		j, err := systems.ReadJob(bytes.NewReader(text), c)
		if err != nil {
			t.Fatal(err)
		}
		g := j.Goal
		g.For, g.NoRelax = tc.goal, true
		d, err := systems.Decide(context.Background(), j, g)
		if err != nil {
			t.Errorf("%s: %v", tc.name, err)
			continue
		}
		changes := changesOf(t, d.Keys, string(text))
		changed += len(changes)
		again, _, err := j.Revise(changes...)
		if err != nil {
			t.Errorf("%s for %s: %v\n%s", tc.name, tc.goal, err, d.Keys)
			continue
		}
		o, err := systems.Plan(context.Background(), again)
		if err != nil {
			t.Errorf("%s for %s: %v", tc.name, tc.goal, err)
			continue
		}
		at := o.Foot
		if d.HandOver == systems.Service {
			at = o.Service
		}
		if at == nil || d.Score.HandOver == nil || !at.Equal(*d.Score.HandOver) {
			t.Errorf("%s for %s: hand-over %v, decided %v\n%s", tc.name, tc.goal, at, d.Score.HandOver, d.Keys)
		}
		if diff := cmp.Diff(d.Outcome.Schedule, o.Schedule, cmp.AllowUnexported(units.Temperature{})); diff != "" {
			t.Errorf("%s for %s:\n%s\n%s", tc.name, tc.goal, d.Keys, diff)
		}
		if diff := cmp.Diff(d.Outcome.Findings, o.Findings, cmp.AllowUnexported(units.Temperature{})); diff != "" {
			t.Errorf("%s for %s:\n%s\n%s", tc.name, tc.goal, d.Keys, diff)
		}
	}
	if changed < 12 {
		t.Errorf("only %d keys to write: too few to prove anything", changed)
	}
}
