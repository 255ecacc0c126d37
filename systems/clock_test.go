package systems_test

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // so that the check needs no zones of the machine's own

	"github.com/tackfree/tackfree/systems"
)

// The plan is the same wherever it is made: the night of the first of November
// 2026 daylight saving ends in New York. Common practice, no source.
func TestPlanOfEveryZone(t *testing.T) {
	here := time.Local
	defer func() { time.Local = here }()
	var plans [2]string
	for i, name := range []string{"UTC", "America/New_York"} {
		zone, err := time.LoadLocation(name)
		if err != nil {
			t.Fatal(err)
		}
		time.Local = zone
		text, err := json.Marshal(planOf(t, changed(t, "2026-05-04T07:00:00-04:00", "2026-10-30T07:00:00-04:00")))
		if err != nil {
			t.Fatal(err)
		}
		plans[i] = string(text)
	}
	if plans[0] != plans[1] {
		t.Errorf("the plan depends on the machine's zone:\n%.2000s\n%.2000s", plans[0], plans[1])
	}
}

// A night crew works from the evening to the morning, and not by day.
// Common practice, no source.
func TestNightShift(t *testing.T) {
	o := planOf(t, changed(t, "from = \"07:00\"\nto = \"17:00\"", "from = \"19:00\"\nto = \"05:00\"\nrest = [\"tue\"]"))
	if len(found(o, "never-ready")) > 0 || len(works(o, "seal")) != 1 {
		t.Fatalf("not planned: %+v", o.Findings)
	}
	for _, w := range o.Schedule {
		if w.Crew == 0 {
			continue
		}
		for _, at := range []time.Time{w.Start, w.End.Add(-time.Second)} {
			if h := at.Hour(); h >= 5 && h < 19 {
				t.Errorf("%s at %v, by day", w.Step, at)
			}
			if day := at.Add(-5 * time.Hour).Weekday(); day == time.Tuesday {
				t.Errorf("%s at %v, in a shift that begins on the day of rest", w.Step, at)
			}
		}
	}
	if first := one(t, o, "sound").Start; first.Hour() != 19 || first.Day() != 4 {
		t.Errorf("the first shift begins %v, want the evening of the day of the start", first)
	}
	// Called out at two in the morning the crew is in the shift of the day before.
	early := planOf(t, changed(t, "2026-05-04T07:00:00-04:00", "2026-05-04T02:00:00-04:00", "from = \"07:00\"\nto = \"17:00\"", "from = \"19:00\"\nto = \"05:00\""))
	if first := one(t, early, "sound").Start; !first.Equal(early.Start) {
		t.Errorf("the job begins %v inside a shift, the first work %v", early.Start, first)
	}
}

func TestShiftErrors(t *testing.T) {
	c := builtin(t)
	for _, tc := range []struct{ from, to, key string }{
		{"24:00", "08:00", "crew.from"}, {"07:00", "06:30", "crew.to"}, {"07:00", "07:00", "crew.to"}, {"07:00", "07:30", "crew.to"}, {"07:00", "25:00", "crew.to"}, {"23:30", "00:00", "crew.to"},
	} {
		_, err := systems.ReadJob(strings.NewReader(changed(t, "from = \"07:00\"\nto = \"17:00\"", "from = \""+tc.from+"\"\nto = \""+tc.to+"\"")), c)
		var f *systems.FileError
		if !errors.As(err, &f) || f.Key != tc.key || f.Line == 0 {
			t.Errorf("%s to %s: got %v, want a fault of %s", tc.from, tc.to, err, tc.key)
		}
	}
	if _, err := systems.ReadJob(strings.NewReader(changed(t, "to = \"17:00\"", "to = \"24:00\"")), c); err != nil {
		t.Errorf("until midnight: %v", err)
	}
}
