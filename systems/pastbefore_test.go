package systems_test

import (
	"strings"
	"testing"

	"github.com/tackfree/tackfree/systems"
)

// What cannot have been: each refused with its key. Common practice, no source.
func TestImpossiblePast(t *testing.T) {
	c := builtin(t)
	demo := string(systems.DemoJob())
	const head = "now = \"10h\"\n"
	for _, tc := range []struct{ head, tail, want string }{
		{"", "[done.sound]\nstart = \"0h\"\n", "done: found work done without now"},
		{"now = \"soon\"\n", "", "now: found time \"soon\""},
		{"now = \"2026-04-06T11:00:00-04:00\"\n", "", "before the start"},
		{head, "[done.polish]\nstart = \"0h\"\n", `done.polish: found step "polish"`},
		{head, "[done.sound]\nend = \"1h\"\n", "done.sound: found no start"},
		{head, "[done.sound]\nstart = \"0h\"\nend = \"\"\n", "done.sound.end: found \"\": want a time up to now"},
		{head, "[done.prime]\nstart = \"0h\"\nmaterial = \"\"\n", "done.prime.material: found \"\": want a material"},
		{head, "[done.prime.sections.1]\nstart = \"0h\"\nend = \"\"\n", "done.prime.sections.1.end: found \"\": want"},
		{head, "[done.prime]\nend = \"\"\n[done.prime.sections.1]\nstart = \"0h\"\n", "found start or end beside sections"},
		{head, "[done.sound]\nstart = \"\"\n", "done.sound.start: "},
		{head, "[done.sound]\nstart = \"3h\"\nend = \"2h\"\n", "done.sound.end: found \"2h\", which is before its start"},
		{head, "[done.sound]\nstart = \"3h\"\nend = \"11h\"\n", "done.sound.end: found \"11h\", which is after now"},
		{head, "[done.sound]\nstart = \"11h\"\n", "done.sound.start: found \"11h\": want a time from the job's start up to now"},
		{head, "[done.sound]\nstart = \"2026-04-06T11:00:00-04:00\"\n", "done.sound.start"},
		{head, "[done.grind]\nstart = \"1h\"\nend = \"3h\"\n", "done.grind: found grind done and not patch, which it waits for: want [done.patch] too"},
		{"now = \"50h\"\n", pastDemo + "[done.cove]\nstart = \"25h\"\nend = \"28h\"\n[done.prime]\nstart = \"48h\"\n", "done.prime: found prime done and not clean, which comes before it and cannot be done after it: want [done.clean] too"},
		{"now = \"50h\"\n", strings.Replace(pastDemo, "[done.grind]", "[done.clean]", 1), "done.clean: found clean done and not grind, which comes before it"},
		{head, "[done.sound.sections.2]\nstart = \"1h\"\nend = \"2h\"\n", "done.sound.sections: found 1 of 2 sections, of work that the plan does on the whole floor"},
		{head, "[done.throw]\nstart = \"1h\"\nend = \"3h\"\n", "done.throw: found throw done without the coat it falls into"},
		{head, "[done.sound]\nstart = \"1h\"\nend = \"3h\"\nkits = 2\n", "done.sound.kits: found kits of a step that takes no material"},
		{head, "[done.patch]\nstart = \"1h\"\nend = \"3h\"\nkits = -2\n", "done.patch.kits: found -2"},
		{head, "[done.patch]\nstart = \"1h\"\nend = \"3h\"\nmaterial = \"quartz-medium\"\n", "done.patch.material: found \"quartz-medium\", which is aggregate"},
		{head, "[done.sound]\nstart = \"1h\"\n[done.sound.sections.1]\nstart = \"1h\"\n", "done.sound: found start or end beside sections"},
		{head, "[done.sound.sections.0]\nstart = \"1h\"\n", "done.sound.sections.0: found section \"0\""},
		{head, "[done.sound.sections.1]\nstart = \"1h\"\n[done.sound.sections.01]\nstart = \"2h\"\n", "done.sound.sections.01: found section \"01\": want 1 to 1000, without"}, // one section twice
		{head, "[steps.sound]\nskip = true\n[done.sound]\nstart = \"1h\"\n", "which the job skips"},
		{head, "[done.sound]\nstart = 1\n", "done.sound.start: found a whole number"},
		{head, "[temperatures]\nlog = \"\"\"\ntime,air (°F)\n0h,50\n11h,50\"\"\"\n", "found a reading of air logged after now"},
	} {
		_, err := systems.ReadJob(strings.NewReader(tc.head+demo+"\n"+tc.tail), c)
		if err == nil || !strings.Contains(err.Error(), tc.want) || strings.Contains(err.Error(), "job:0") {
			t.Errorf("%s%s: got %v, want %q", tc.head, tc.tail, err, tc.want)
		}
	}
}

// A thousand hands for a year are more hours than can be counted. Common practice, no source.
func TestImpossibleHours(t *testing.T) {
	demo := "now = \"9000h\"\n" + strings.Replace(string(systems.DemoJob()), "hands = 3\n", "hands = 1000\n", 1)
	for tail, want := range map[string]string{"end = \"8999h\"\n": "done.sound: found 8999 hours of 1000 hands: want at most 1000000 hand-hours", "": "found 9000 hours", "end = \"999h\"\n": ""} {
		_, err := systems.ReadJob(strings.NewReader(demo+"[done.sound]\nstart = \"0h\"\n"+tail), builtin(t))
		if want == "" && err != nil || want != "" && (err == nil || !strings.Contains(err.Error(), want)) {
			t.Errorf("%q: got %v, want %q", tail, err, want)
		}
	}
}

// Sections of a past that do not fit together: a coat begun on all of the floor, or
// on a section, over one that was not begun there; and a section of work that the
// plan does on the whole floor. Common practice, no source.
func TestImpossibleSections(t *testing.T) {
	c := builtin(t)
	demo := "now = \"80h\"\n" + strings.Replace(string(systems.DemoJob()), "hands = 3\n", "hands = 3\nsections = 3\n", 1) + pastDemo + "[done.clean]\nstart = \"24h\"\nend = \"25h\"\n[done.cove]\nstart = \"25h\"\nend = \"28h\"\n"
	const ran, ended = "start = \"72h\"\n", "start = \"48h\"\nend = \"49h\"\n"
	for _, tc := range []struct{ tail, want string }{
		{"[done.prime.sections.2]\n" + ended + "[done.body]\n" + ran, "done.body: found body done and not prime, which it waits for: want [done.prime.sections.1] too"},
		{"[done.prime.sections.2]\n" + ended + "[done.body.sections.3]\n" + ran, "want [done.prime.sections.3] too"},
		{"[done.prime]\n" + ran + "[done.body.sections.2]\n" + ran, "want [done.prime.sections.2] too"}, // of what goes on the first section alone was begun
		{"[done.prime.sections.2]\n" + ended + "[done.body.sections.2]\n" + ran, ""},
		{"[done.prime]\n" + ended + "[done.body]\n" + ran, ""},
		{"[done.prime]\n" + ended + "[done.body]\nstart = \"72h\"\nend = \"74h\"\n[done.grout.sections.1]\nstart = \"79h\"\n", "done.grout: found grout done and not sweep, which comes before it and cannot be done after it: want [done.sweep] too"},
	} {
		_, err := systems.ReadJob(strings.NewReader(demo+tc.tail), c)
		if tc.want == "" && err != nil || tc.want != "" && (err == nil || !strings.Contains(err.Error(), tc.want)) {
			t.Errorf("%s: got %v, want %q", tc.tail, err, tc.want)
		}
	}
	one := strings.Replace(demo, "[done.sound]\n", "[done.sound.sections.1]\n", 1)
	if _, err := systems.ReadJob(strings.NewReader(one), c); err == nil || !strings.Contains(err.Error(), "done.sound.sections: found 1 of 3 sections") {
		t.Errorf("a third of the sounding: %v", err)
	}
	if _, err := systems.ReadJob(strings.NewReader(strings.Replace(one, "end = \"30m\"\n", "", 1)), c); err != nil { // it goes on
		t.Error(err)
	}
}
