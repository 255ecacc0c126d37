package systems_test

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

func thursday(t *testing.T, with ...string) systems.Job {
	t.Helper()
	b, err := os.ReadFile("../examples/jobplan/testdata/thursday.toml")
	if err != nil {
		t.Fatal(err)
	}
	return job(t, strings.NewReplacer(with...).Replace(string(b)))
}

// Of a job whose past is told, nothing disturbed is the plan, and what goes
// otherwise leaves what was done as it was done: no step that lies behind begins
// too early, none is late, and no other chemistry is offered for a coat that lies
// there. Common practice, no source.
func TestWhatIfPast(t *testing.T) {
	j := thursday(t)
	o, err := systems.Plan(context.Background(), j)
	if err != nil {
		t.Fatal(err)
	}
	x := ask(t, j)
	for _, a := range []*systems.Answer{&x.AsPlanned, &x.Replanned} {
		q := a.Outcome
		if diff := cmp.Diff(text4(t, o.Schedule, o.Order, o.Heat, o.Findings, o.Now, o.Service), text4(t, q.Schedule, q.Order, q.Heat, q.Findings, q.Now, q.Service)); diff != "" || len(a.Comes)+len(a.Goes)+len(a.Moves)+len(a.Steps) != 0 {
			t.Errorf("not the plan (-plan +what if):\n%.2000s", diff)
		}
	}
	for _, d := range []systems.Disturbance{systems.HeatStops{At: 60 * time.Hour}, systems.DoorOpen{From: 55 * time.Hour, For: time.Hour, AirChanges: 10 * units.PerHour}, systems.NoRefill{}, systems.SmallerTank{Tank: 20 * units.Pound},
		systems.WeatherOff{Temp: -10, RH: 0.1}, systems.HandsShort{Hands: 1}, systems.StepLate{Step: "body", By: 5 * time.Hour}, systems.OtherMaterial{Step: "body", Option: "cold"}} {
		x := ask(t, j, d)
		if x.From.Before(*o.Now) || len(x.Notes) == 0 {
			t.Errorf("%#v begins %v, before now; notes %v", d, x.From, x.Notes)
		}
		for _, a := range []*systems.Answer{&x.AsPlanned, &x.Replanned} {
			for _, w := range a.Outcome.Schedule {
				i := slices.IndexFunc(o.Schedule, func(v systems.Work) bool { return v.Step == w.Step && v.Section == w.Section })
				if w.Status == systems.WorkDone && (i < 0 || !w.Start.Equal(o.Schedule[i].Start) || !w.End.Equal(o.Schedule[i].End)) {
					t.Errorf("%#v: %s was done and moves to %v", d, w.Step, w.Start)
				}
			}
			for _, f := range a.Comes {
				if f.Key == "not-ready" && f.When.Before(*o.Now) || f.Past {
					t.Errorf("%#v: comes in what lies behind: %s %s %v", d, f.Key, f.Step, f.When)
				}
			}
			if b := a.BreaksFirst; b != nil && b.At.Before(*o.Now) {
				t.Errorf("%#v breaks first %v, before now", d, b)
			}
			for _, c := range a.Coats {
				if c.Step == "prime" && (c.Status != systems.WorkDone || len(c.Chemistries) != 0) || c.Step == "body" && c.Status != "" {
					t.Errorf("%#v: %+v", d, c)
				}
			}
			for k, h := range a.Outcome.Heat.Hours { // readings and the forecast up to now
				if g := x.Plan.Heat.Hours[k]; h.At.Before(*o.Now) && (math.Abs(float64(h.Slab.Sub(g.Slab)))+math.Abs(float64(h.Outdoors.Sub(g.Outdoors))) > 1e-9) {
					t.Fatalf("%#v: at %v slab %v, was %v", d, h.At, h.Slab, g.Slab)
				}
			}
		}
	}
	x = ask(t, j, systems.SmallerTank{Tank: 20 * units.Pound})
	if e := x.AsPlanned.Fuel[0].Empty; len(e) == 0 || !e[0].Before(o.Heat.Heaters[0].Empty[0]) {
		t.Errorf("20 lb in the tank now, not 72 lb: dry %v, was %v", e, o.Heat.Heaters[0].Empty)
	}
	for _, tc := range []struct {
		d    systems.Disturbance
		want string
	}{
		{systems.HeatStops{At: 49 * time.Hour}, "want 2d2h, which is now, to 8d"},
		{systems.DoorOpen{From: 10 * time.Hour, For: time.Hour, AirChanges: 0.001}, "DoorOpen.From: found 10h: want 2d2h, which is now"},
		{systems.SmallerTank{Tank: 80 * units.Pound}, "less than the 32.6"},
		{systems.StepLate{Step: "patch", By: time.Hour}, "found patch, which was done Tue 7 Apr 07:25"},
		{systems.StepLate{Step: "prime", Until: 60 * time.Hour}, "found prime, which was done"},
		{systems.OtherMaterial{Step: "prime", Option: "epoxy"}, "found prime, which was begun"},
		{systems.MoreUptake{Times: 2}, "prime was begun before now"},
	} {
		if x, err := systems.WhatIf(context.Background(), j, tc.d); x != nil || !errors.Is(err, units.ErrRange) || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%#v: got %v, want a range error with %q", tc.d, err, tc.want)
		}
	}
	refilled := thursday(t, `"144h" = "200 lb"`, `"40h" = "20 lb"`)
	if _, err := systems.WhatIf(context.Background(), refilled, systems.NoRefill{}); !errors.Is(err, units.ErrRange) || !strings.Contains(err.Error(), "still to be refilled") {
		t.Errorf("a refill that has come: %v", err)
	}
}

// With the past told and nothing read, what is before now is the forecast's and
// stays too. Common practice, no source.
func TestWhatIfPastNotRead(t *testing.T) {
	text, err := os.ReadFile("../examples/jobplan/testdata/thursday.toml")
	if err != nil {
		t.Fatal(err)
	}
	bare, _, _ := strings.Cut(string(text), "[temperatures]")
	j := job(t, strings.Replace(bare, `left = "72 lb"`, "", 1))
	for _, d := range []systems.Disturbance{systems.WeatherOff{Temp: 8}, systems.HeatStops{At: 50 * time.Hour}, systems.SmallerTank{Tank: units.Pound}} {
		x := ask(t, j, d)
		for k, h := range x.AsPlanned.Outcome.Heat.Hours {
			g := x.Plan.Heat.Hours[k]
			if by := h.Slab.Sub(g.Slab); h.At.Before(*x.Plan.Now) && (by > 0.02 || by < -0.02) {
				t.Fatalf("%#v: at %v slab %v, was %v", d, h.At, h.Slab, g.Slab)
			}
		}
		last := len(x.Plan.Heat.Hours) - 1
		if _, ok := d.(systems.WeatherOff); ok && math.Abs(float64(x.AsPlanned.Outcome.Heat.Hours[last].Outdoors.Sub(x.Plan.Heat.Hours[last].Outdoors))-8) > 1e-9 {
			t.Error("8 K warmer, and it is not")
		}
	}
}

// Two that say otherwise of one thing are refused; those of one kind that can be
// together add up, in either order. Common practice, no source.
func TestDisturbancesTogether(t *testing.T) {
	demo := job(t, string(systems.DemoJob()))
	for _, tc := range []struct {
		d    []systems.Disturbance
		want string
	}{
		{[]systems.Disturbance{systems.SmallerTank{Tank: 20}, systems.SmallerTank{Heater: "rented", Tank: 10}}, "SmallerTank.Tank: found 10 kg after 20 kg for the tank of rented"},
		{[]systems.Disturbance{systems.OtherMaterial{Step: "body", Option: "cold"}, systems.OtherMaterial{Step: "body", Option: "polyaspartic"}}, "found body again"},
		{[]systems.Disturbance{systems.WeatherOff{Temp: 20}, systems.WeatherOff{Temp: 20}}, "WeatherOff.Temp, added up: found 40 K"},
		{[]systems.Disturbance{systems.HandsShort{Hands: 2}, systems.HandsShort{Hands: 1, From: 300 * 24 * time.Hour}}, "3 hands missing together"},
		{[]systems.Disturbance{systems.DoorOpen{From: 1, For: time.Hour, AirChanges: 0}}, "found 0 1/h: want above 0 1/h"},
		{[]systems.Disturbance{systems.DoorOpen{From: 1, For: time.Hour, AirChanges: 600 * units.PerHour}}, "found 600 1/h"},
	} {
		if x, err := systems.WhatIf(context.Background(), demo, tc.d...); x != nil || !errors.Is(err, units.ErrRange) || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%v: got %v, want a range error with %q", tc.d, err, tc.want)
		}
	}
	answer := func(d ...systems.Disturbance) string {
		x := ask(t, demo, d...)
		b, err := json.Marshal([]any{x.AsPlanned, x.Replanned, x.From})
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	for _, d := range [][2]systems.Disturbance{
		{systems.WeatherOff{RH: 1}, systems.WeatherOff{RH: -0.9}}, // saturated on the way in one order, bone dry in the other
		{systems.MoreUptake{Times: 20}, systems.MoreUptake{Times: 0.1}},
		{systems.HeatStops{At: 60 * time.Hour, For: 10 * time.Hour}, systems.HeatStops{At: 65 * time.Hour, For: 20 * time.Hour}},
		{systems.NoRefill{}, systems.SmallerTank{Tank: 20}},
	} {
		if answer(d[0], d[1]) != answer(d[1], d[0]) {
			t.Errorf("%v: the order counts", d)
		}
	}
	if answer(systems.WeatherOff{Temp: -3}, systems.WeatherOff{Temp: -1, RH: 0.1}) != answer(systems.WeatherOff{Temp: -4, RH: 0.1}) {
		t.Error("3 K and 1 K colder are not 4 K")
	}
	if answer(systems.OtherMaterial{Step: "body", Option: "cold"}) != answer(systems.OtherMaterial{Step: "body", Option: "cold"}, systems.OtherMaterial{Step: "body", Option: "cold"}) {
		t.Error("the same twice is not the same")
	}
	// Hands missing after the plan's last work still miss where a delay moves it beyond.
	late := systems.StepLate{Step: "seal", By: 400 * time.Hour}
	x := ask(t, demo, late, systems.HandsShort{Hands: 2, From: 300 * time.Hour})
	if a, b := one(t, x.Replanned.Outcome, "seal"), one(t, ask(t, demo, late).Replanned.Outcome, "seal"); a.End.Sub(a.Start) <= b.End.Sub(b.Start) || len(x.Notes) != 0 {
		t.Errorf("one pair of hands seals from %v to %v, three from %v to %v; notes %v", a.Start, a.End, b.Start, b.End, x.Notes)
	}
}

// Two tanks that run dry and are refilled several times: what of it comes and
// goes is told by its time. A tank that is not refilled on Friday morning lacks
// heat from then on; it does not lack less since it is dry once for long, not
// twice. Common practice, no source.
func TestWhatIfTwoTanks(t *testing.T) {
	j := job(t, read(t, "whatif/two-tanks.toml"))
	at := 60 * time.Hour
	x := ask(t, j, systems.NoRefill{Heater: "oil", At: &at})
	for _, f := range x.AsPlanned.Goes {
		if f.Key == "tank-runs-dry" || f.Key == "heaters-at-maximum" {
			t.Errorf("a tank less, and this goes: %s %s %v to %v", f.Key, f.Limit, f.When, f.Until)
		}
	}
	b := x.AsPlanned.BreaksFirst
	if b == nil || b.Key != "tank-runs-dry" || b.Limit != "oil" || !b.At.Equal(j.Start.Add(at)) || b.After != 0 {
		t.Errorf("breaks first: %+v, want the heater of the tank that is not filled, at that hour", b)
	}
	n := 0
	for _, f := range x.AsPlanned.Comes {
		if f.Key == "tank-runs-dry" {
			n++
			if f.Limit != "second" || !f.Until.Equal(j.Start.Add(90*time.Hour)) {
				t.Errorf("comes: %s %v to %v, want the other tank, dry before its second refill", f.Limit, f.When, f.Until)
			}
		}
	}
	if n != 1 {
		t.Errorf("%d tanks run dry that did not, want 1", n)
	}
}

// A coat that breaks a limit in the plan already does so not by the disturbance,
// and the answer says it. Common practice, no source.
func TestWhatIfAnyway(t *testing.T) {
	demo := job(t, string(systems.DemoJob()))
	x := ask(t, demo, systems.HeatStops{At: 76 * time.Hour, For: 20 * time.Hour})
	says := strings.Join(x.AsPlanned.Sentences(demo.Start, units.SI), "\n")
	for _, c := range x.AsPlanned.Coats {
		has := false
		for _, f := range x.Plan.Findings {
			has = has || c.Breaks != nil && f.Key == c.Breaks.Key && f.Step == c.Step
		}
		if c.Breaks != nil && has != (c.Breaks.Anyway != nil) {
			t.Errorf("%s breaks %s at %v, the plan does: %v; anyway %v", c.Step, c.Breaks.Key, c.Breaks.At, has, c.Breaks.Anyway)
		}
	}
	for _, want := range []string{"So it does in the plan, from Thu 9 Apr 08:26 on.", "The plan has it by itself Fri 10 Apr 20:37."} {
		if !strings.Contains(says, want) {
			t.Errorf("no %q in\n%s", want, says)
		}
	}
}

// A table [what_if.<name>] that time has overtaken does not make the job
// unreadable; asked, it is refused. Common practice, no source.
func TestWhatIfOvertaken(t *testing.T) {
	b, err := os.ReadFile("../examples/jobplan/testdata/thursday.toml")
	if err != nil {
		t.Fatal(err)
	}
	for table, want := range map[string]string{"heat_stops = \"34h\"": "want 2d2h, which is now", "delay = { patch = \"3h\" }": "found patch, which was done", "smaller_tank = \"100 lb\"": "less than the 32.6",
		"door = \"10h\"\ndoor_for = \"1h\"\nair_changes = \"5 1/h\"": "which is now", "material = { patch = \"epoxy-fast\" }": "was begun before now"} {
		j := job(t, string(b)+"\n[what_if.then]\n"+table+"\n")
		d, err := j.Disturbances("then")
		if err != nil {
			t.Fatal(err)
		}
		if _, err := systems.WhatIf(context.Background(), j, d...); !errors.Is(err, units.ErrRange) || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: got %v, want a range error with %q", table, err, want)
		}
	}
}
