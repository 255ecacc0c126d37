package systems_test

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

func ask(t rapid.TB, j systems.Job, d ...systems.Disturbance) *systems.Difference {
	t.Helper()
	x, err := systems.WhatIf(context.Background(), j, d...)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func moments(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }

// Nothing disturbed is the plan itself, both ways; no source needed. Jobs with a
// room and without, with one section and several.
func TestWhatIfNothing(t *testing.T) {
	for name, text := range map[string]string{"demo": string(systems.DemoJob()), "typed": read(t, "typed.toml"), "two-rooms": read(t, "two-rooms.toml"), "every-finding": read(t, "every-finding.toml"),
		"weekend": read(t, "stories/tight-weekend.toml"), "warehouse": read(t, "warehouse.toml"), "night": read(t, "stories/night-stop.toml")} {
		j := job(t, text)
		o, err := systems.Plan(context.Background(), j)
		if err != nil {
			t.Fatal(err)
		}
		d := ask(t, j)
		for _, a := range []*systems.Answer{&d.AsPlanned, &d.Replanned} {
			q := a.Outcome
			if diff := cmp.Diff(text4(t, o.Schedule, o.TakeOff, o.Order, o.Heat, o.Findings, o.Foot, o.Service, o.End), text4(t, q.Schedule, q.TakeOff, q.Order, q.Heat, q.Findings, q.Foot, q.Service, q.End)); diff != "" {
				t.Errorf("%s: not the plan (-plan +what if):\n%.2000s", name, diff)
			}
			if len(a.Comes)+len(a.Goes)+len(a.Moves)+len(a.Steps)+len(a.Order) != 0 || a.BreaksFirst != nil {
				t.Errorf("%s: nothing disturbed, and %v come, %v go, %v move, %v shift", name, a.Comes, a.Goes, a.Moves, a.Steps)
			}
		}
	}
}

func text4(t *testing.T, v ...any) []string {
	t.Helper()
	b, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return strings.Split(string(b), "\n")
}

// early are the events that cold delays.
func early(name string) bool {
	switch name {
	case systems.TackFree, systems.RecoatEarliest, systems.Grindable, systems.Foot, systems.Service:
		return true
	}
	return false
}

// overHumidity reports whether the liquid of a step has an event's time by humidity.
func overHumidity(t rapid.TB, o *systems.Outcome, step, event string) bool {
	t.Helper()
	c := builtin(t)
	for _, n := range o.TakeOff {
		if n.Step == step {
			m, err := c.Material(n.Material)
			if err != nil {
				t.Fatal(err)
			}
			return m.Times[event].Humid != nil
		}
	}
	return false
}

// Colder weather, or a stop of the heat, never makes an earliest event earlier
// as planned, nor takes it out of "never": rates rise with temperature. Not of a
// liquid with times over humidity: colder outdoors it may be drier over the slab,
// even of air that keeps its humidity, where the air falls below the slab: see
// TestColderIsDrier. No source needed.
func TestColderIsNeverEarlier(t *testing.T) {
	jobs := []systems.Job{job(t, string(systems.DemoJob())), job(t, read(t, "stories/night-stop.toml")), job(t, read(t, "typed.toml")), job(t, read(t, "stories/unvented-heat.toml")),
		job(t, string(systems.DemoJob())+"\n[temperatures.rh]\n\"0h\" = \"60 %\"\n")}
	rapid.Check(t, func(t *rapid.T) {
		j := jobs[rapid.IntRange(0, len(jobs)-1).Draw(t, "job")]
		by := rapid.Float64Range(0.1, 8).Draw(t, "by")
		d := []systems.Disturbance{systems.WeatherOff{Temp: units.TempDelta(-by)}}
		if j.Site != nil && rapid.Bool().Draw(t, "stop") {
			d = append(d, systems.HeatStops{At: moments(rapid.Float64Range(0, 100).Draw(t, "at"))})
		}
		x := ask(t, j, d...)
		for _, s := range x.AsPlanned.Steps {
			free := slices.IndexFunc(s.Events, func(e systems.EventShift) bool { return e.Event == systems.TackFree })
			for _, e := range s.Events {
				if !early(e.Event) || s.Start.Sooner != nil || overHumidity(t, x.Plan, s.Step, e.Event) {
					continue
				}
				if free >= 0 && overHumidity(t, x.Plan, s.Step, systems.TackFree) {
					if wet := s.Events[free].Was; wet == nil || e.Was != nil && e.Was.Equal(*wet) {
						continue // it waits for tack-free, and that goes by humidity
					}
				}
				const noise = 6 * time.Minute // of service after days, from the forecast's thinning (0.02 K); and a primer that dries sooner cools the slab sooner, which is then warmer by up to 0.1 K for some hours
				if e.Was == nil && e.Now != nil || e.Sooner != nil && e.Sooner.Duration() > noise {
					t.Fatalf("%v: %s %s was %v, is %v", x.Disturbed, s.Step, e.Event, e.Was, e.Now)
				}
			}
		}
	})
}

// Colder air outdoors holds less water, and heated to the same temperature it is
// drier indoors: there what dries comes sooner. Before the primer is laid it is
// drier at most by what the air outdoors lost: of the vapour that saturates it 7 %
// per kelvin between 0 and 15 °C, by the Magnus form from memory. The demo with
// heat that suffices.
func TestColderIsDrier(t *testing.T) {
	demo := job(t, strings.NewReplacer(`tank = "150 lb"`, `tank = "1500 lb"`, `max = "150000 Btu/h"`, `max = "300000 Btu/h"`).Replace(string(systems.DemoJob())))
	var last time.Duration
	for _, by := range []units.TempDelta{1, 3, 8} {
		x := ask(t, demo, systems.WeatherOff{Temp: -by})
		at := int(one(t, x.Plan, "prime").Start.Sub(x.Plan.Start)/time.Hour) + 1
		for k := at - 24; k < at+12; k++ {
			was, is := x.Plan.Heat.Hours[k], x.AsPlanned.Outcome.Heat.Hours[k]
			if math.Abs(float64(is.Air.Sub(was.Air))) > 0.01 || !(is.RH < was.RH) || k < at-1 && is.RH < was.RH*units.Fraction(math.Exp(-0.075*float64(by))) {
				t.Errorf("%v colder, at %v: air %v, was %v; humidity %v, was %v", by, was.At, is.Air, was.Air, is.RH, was.RH)
			}
		}
		var sooner time.Duration
		for _, s := range x.AsPlanned.Steps {
			for _, e := range s.Events {
				if s.Step == "prime" && e.Event == systems.RecoatEarliest && e.Sooner != nil {
					sooner = e.Sooner.Duration()
				}
			}
		}
		if !overHumidity(t, x.Plan, "prime", systems.RecoatEarliest) || sooner <= last {
			t.Errorf("%v colder, and a waterborne primer in drier air is %v sooner, %v for less", by, sooner, last)
		}
		last = sooner
	}
}

// Fuel that does not run out: the longer the heat is off, the colder the slab,
// at every hour; and the fuel burned is less. (With a tank a pause saves fuel
// for later.) No source needed.
func TestLongerStopIsColder(t *testing.T) {
	j := job(t, read(t, "stories/night-stop.toml"))
	rapid.Check(t, func(t *rapid.T) {
		at := moments(rapid.Float64Range(0, 90).Draw(t, "at"))
		short := moments(rapid.Float64Range(0.1, 40).Draw(t, "for"))
		long := short + moments(rapid.Float64Range(0.1, 40).Draw(t, "more"))
		a, b := ask(t, j, systems.HeatStops{At: at, For: short}), ask(t, j, systems.HeatStops{At: at, For: long})
		for i, h := range a.AsPlanned.Outcome.Heat.Hours {
			g := b.AsPlanned.Outcome.Heat.Hours[i]
			if g.Slab.Sub(h.Slab) > 0.01 || g.Slab.Sub(a.Plan.Heat.Hours[i].Slab) > 0.01 {
				t.Fatalf("off %v for %v: slab %v at %v; for %v: %v", at, short, h.Slab, h.At, long, g.Slab)
			}
		}
		if a.AsPlanned.Fuel[0].Now > a.AsPlanned.Fuel[0].Was*(1+1e-3) {
			t.Fatalf("off for %v burns %v, not %v", short, a.AsPlanned.Fuel[0].Now, a.AsPlanned.Fuel[0].Was)
		}
	})
}

// Disturbances that do not fit are refused, naming the field and what is
// allowed. Common practice, no source.
func TestWhatIfRefuses(t *testing.T) {
	demo, typed := job(t, string(systems.DemoJob())), job(t, changed(t))
	nan := math.NaN()
	at := func(h float64) *time.Duration { d := moments(h); return &d }
	for _, tc := range []struct {
		j    systems.Job
		d    systems.Disturbance
		want string
	}{
		{demo, nil, "disturbance 1 is nil"},
		{demo, systems.HeatStops{At: -1}, "HeatStops.At: found"},
		{demo, systems.HeatStops{At: 193 * time.Hour}, "want 0h to 8d"},
		{demo, systems.HeatStops{At: math.MaxInt64}, "HeatStops.At"},
		{demo, systems.HeatStops{At: 1, For: -time.Hour}, "HeatStops.For: found -1h"},
		{demo, systems.HeatStops{At: 1, For: math.MaxInt64}, "HeatStops.For"},
		{typed, systems.HeatStops{}, "want [room]"},
		{typed, systems.NoRefill{}, "want [room]"},
		{typed, systems.SmallerTank{}, "want [room]"},
		{typed, systems.DoorOpen{}, "want [room]"},
		{demo, systems.NoRefill{At: at(143)}, "want 6d"},
		{demo, systems.NoRefill{Heater: "other"}, `found "other": want rented`},
		{demo, systems.SmallerTank{Tank: units.Mass(nan)}, "SmallerTank.Tank: found NaN"},
		{demo, systems.SmallerTank{Tank: 1000}, "less than the"},
		{demo, systems.SmallerTank{Tank: -1}, "SmallerTank.Tank"},
		{demo, systems.DoorOpen{From: 1, For: 0, AirChanges: 1}, "DoorOpen.For"},
		{demo, systems.DoorOpen{From: -1, For: 1, AirChanges: units.Rate(nan)}, "DoorOpen.From"},
		{demo, systems.DoorOpen{From: 1, For: 1, AirChanges: units.Rate(nan)}, "DoorOpen.AirChanges: found NaN"},
		{demo, systems.WeatherOff{}, "found no shift"},
		{demo, systems.WeatherOff{Temp: units.TempDelta(nan)}, "WeatherOff.Temp: found NaN"},
		{demo, systems.WeatherOff{RH: units.Fraction(math.Inf(1))}, "WeatherOff.RH"},
		{demo, systems.WeatherOff{Temp: -31}, "want -30 K to 30 K"},
		{typed, systems.WeatherOff{Temp: 30, RH: 2}, "WeatherOff.RH"},
		{job(t, changed(t, `"0h" = "65 °F"`, `"0h" = "130 °F"`)), systems.WeatherOff{Temp: 20}, "want -40 °C to 60 °C"},
		{demo, systems.HandsShort{}, "want 1 to 2"},
		{demo, systems.HandsShort{Hands: 3}, "want 1 to 2"},
		{demo, systems.HandsShort{Hands: 1, From: -1}, "HandsShort.From"},
		{job(t, changed(t, "hands = 3", "hands = 1")), systems.HandsShort{Hands: 1}, "crew of one"},
		{demo, systems.StepLate{}, `found step ""`},
		{demo, systems.StepLate{Step: "bodi", By: 1}, `found step "bodi"`},
		{demo, systems.StepLate{Step: "throw", By: 1}, "want body"},
		{demo, systems.StepLate{Step: "warm", By: 1}, "waits for the slab"},
		{demo, systems.StepLate{Step: "body"}, "or neither"},
		{demo, systems.StepLate{Step: "body", By: 1, Until: 1}, "both a delay and a time"},
		{demo, systems.StepLate{Step: "body", By: -1}, "StepLate.By"},
		{demo, systems.StepLate{Step: "body", By: math.MaxInt64}, "within 400 days"},
		{demo, systems.StepLate{Step: "body", Until: -1}, "StepLate.Until"},
		{demo, systems.OtherMaterial{Step: "body"}, "or neither"},
		{demo, systems.OtherMaterial{Step: "body", Option: "warm"}, "want cold or polyaspartic"},
		{demo, systems.OtherMaterial{Step: "body", Material: "none"}, "none"},
		{demo, systems.OtherMaterial{Step: "body", Material: "quartz-medium"}, "want liquid"},
		{demo, systems.OtherMaterial{Step: "grind", Material: "epoxy-fast"}, "takes no material"},
		{demo, systems.OtherMaterial{Step: "nix", Material: "epoxy-fast"}, `found step "nix"`},
		{demo, systems.MoreUptake{}, "found 0"},
		{demo, systems.MoreUptake{Times: nan}, "found NaN"},
		{demo, systems.MoreUptake{Times: 21}, "above 0 to 20"},
		{job(t, changed(t, `uptake = "2 mil"`, `uptake = "150 mil"`)), systems.MoreUptake{Times: 2}, "at most 5 mm"},
		{job(t, changed(t, `uptake = "2 mil"`, `uptake = "0 mil"`)), systems.MoreUptake{Times: 2}, "drink nothing"},
	} {
		x, err := systems.WhatIf(context.Background(), tc.j, tc.d)
		if x != nil || !errors.Is(err, units.ErrRange) || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%#v: got %v, want a range error with %q", tc.d, err, tc.want)
		}
	}
	if _, err := systems.WhatIf(context.Background(), demo, systems.HandsShort{Hands: 1}, systems.HandsShort{Hands: 2}); !errors.Is(err, units.ErrRange) {
		t.Errorf("more hands missing than there are: %v", err)
	}
	if _, err := systems.WhatIf(context.Background(), systems.Job{}); err == nil {
		t.Error("a job not read: no error")
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := systems.WhatIf(ctx, demo, systems.HeatStops{}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

// Times at the edges of a job give an answer. No source needed.
func TestWhatIfEdges(t *testing.T) {
	demo := job(t, string(systems.DemoJob()))
	for _, d := range []systems.Disturbance{systems.HeatStops{}, systems.HeatStops{At: 192 * time.Hour}, systems.HeatStops{At: 191 * time.Hour, For: 400 * time.Hour}, systems.HeatStops{At: 1, For: 1}, systems.DoorOpen{From: 192 * time.Hour, For: time.Hour, AirChanges: 0.1},
		systems.SmallerTank{}, systems.WeatherOff{Temp: -30, RH: -1}, systems.WeatherOff{Temp: 30, RH: 1}, systems.HandsShort{Hands: 2, From: 399 * 24 * time.Hour}, systems.StepLate{Step: "body", By: 399 * 24 * time.Hour}, systems.StepLate{Step: "seal", By: 1}, systems.MoreUptake{Times: 1e-9}} {
		x := ask(t, demo, d)
		if _, err := json.Marshal(x); err != nil {
			t.Errorf("%#v: %v", d, err)
		}
		for _, a := range []*systems.Answer{&x.AsPlanned, &x.Replanned} {
			for _, s := range a.Sentences(demo.Start, units.US) {
				if strings.Contains(s, "NaN") || strings.Contains(s, "  ") || strings.Contains(s, "%!") || !strings.HasSuffix(s, ".") {
					t.Errorf("%#v: %q", d, s)
				}
			}
		}
	}
}

// What each disturbance does to the demo job; the directions are common
// practice, no source.
func TestDisturbances(t *testing.T) {
	demo := job(t, string(systems.DemoJob()))
	body := func(o *systems.Outcome) systems.Work { return one(t, o, "body") }
	comes := func(a *systems.Answer, key string) bool {
		for _, f := range a.Comes {
			if f.Key == key {
				return true
			}
		}
		return false
	}
	order := func(o *systems.Outcome, id string) units.Volume {
		for _, l := range o.Order {
			if strings.HasPrefix(l.Material, id+"@") {
				return l.Volume
			}
		}
		return 0
	}

	x := ask(t, demo, systems.StepLate{Step: "body", By: 24 * time.Hour})
	if got := body(x.AsPlanned.Outcome).Start.Sub(body(x.Plan).Start); got != 24*time.Hour {
		t.Errorf("body a day late starts %v later", got)
	}
	if !comes(&x.AsPlanned, "not-ready") || comes(&x.Replanned, "not-ready") || comes(&x.Replanned, "crew-still-busy") {
		t.Error("sweeping begins before a late body is hard, as planned alone")
	}
	if s := one(t, x.AsPlanned.Outcome, "sweep").Start; !s.Equal(one(t, x.Plan, "sweep").Start) {
		t.Error("as planned, what follows keeps its start")
	}
	if b := x.AsPlanned.BreaksFirst; b == nil || !strings.HasPrefix(b.Key, "window-missed") && b.At.Before(body(x.Plan).Start) {
		t.Errorf("breaks first: %+v", b)
	}

	x = ask(t, demo, systems.HandsShort{Hands: 1})
	p := body(x.AsPlanned.Outcome)
	if !p.Start.Equal(body(x.Plan).Start) || !p.End.After(body(x.Plan).End) || !comes(&x.AsPlanned, "crew-still-busy") {
		t.Errorf("one hand short: body %v to %v", p.Start, p.End)
	}
	late := ask(t, demo, systems.HandsShort{Hands: 1, From: 48 * time.Hour})
	if one(t, late.Replanned.Outcome, "grind").End != one(t, late.Plan, "grind").End || !body(late.Replanned.Outcome).End.Equal(body(x.Replanned.Outcome).End) {
		t.Error("hands that are missing later slow what is later")
	}
	small := job(t, strings.Replace(string(systems.DemoJob()), "hands = 3", "hands = 2", 1))
	o, err := systems.Plan(context.Background(), small)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(text4(t, o.Schedule), text4(t, x.Replanned.Outcome.Schedule)); d != "" {
		t.Errorf("re-planned one hand short is the plan of two hands (-plan +what if):\n%s", d)
	}
	if x = ask(t, demo, systems.HandsShort{Hands: 1, From: 300 * time.Hour}); len(x.Notes) != 1 || len(x.Replanned.Steps) != 0 {
		t.Errorf("missing after the last work: %v", x.Notes)
	}

	x = ask(t, demo, systems.MoreUptake{Times: 2})
	var was, now units.Volume
	for i, n := range x.Plan.TakeOff {
		was, now = was+n.Uptake, now+x.AsPlanned.Outcome.TakeOff[i].Uptake
	}
	if math.Abs(float64(now/was)-2) > 1e-9 || order(x.AsPlanned.Outcome, "epoxy-primer-water") <= order(x.Plan, "epoxy-primer-water") {
		t.Errorf("twice the uptake: %v, want twice %v", now, was)
	}
	// The crew keeps its hours; the primer's water is more, which cools and damps,
	// so that what dries and cures comes later.
	tack := false
	for _, s := range x.AsPlanned.Steps {
		if s.Start != (systems.Shift{Was: s.Start.Was, Now: s.Start.Now}) || s.End != (systems.Shift{Was: s.End.Was, Now: s.End.Now}) {
			t.Errorf("twice the uptake moves the work of %s: %+v, %+v", s.Step, s.Start, s.End)
		}
		for _, e := range s.Events {
			if e.Sooner != nil {
				t.Errorf("twice the uptake: %s of %s is sooner: %+v", e.Event, s.Step, e)
			}
			tack = tack || s.Step == "prime" && e.Event == systems.TackFree && e.Later != nil
		}
	}
	if a, b := x.AsPlanned.Outcome.Heat.Water, x.Plan.Heat.Water; !tack || a.Coats < b.Coats+3 {
		t.Errorf("twice the uptake, 9 L of primer more: %v of water, was %v; tack-free later: %v", a.Coats, b.Coats, tack)
	}

	x = ask(t, demo, systems.OtherMaterial{Step: "body", Option: "cold"})
	same := planOf(t, strings.Replace(string(systems.DemoJob()), "[what_if.friday-night]", "[steps.body]\nmaterial = \"epoxy-standard-cold\"\n[what_if.friday-night]", 1))
	if d := cmp.Diff(text4(t, same.Schedule, same.Order), text4(t, x.Replanned.Outcome.Schedule, x.Replanned.Outcome.Order)); d != "" {
		t.Errorf("another chemistry re-planned is the job's plan with it (-plan +what if):\n%s", d)
	}
	y := ask(t, demo, systems.OtherMaterial{Step: "body", Material: "epoxy-standard-cold"})
	if d := cmp.Diff(x.Replanned, y.Replanned, cmp.FilterPath(func(p cmp.Path) bool { return p.Last().String() == ".Outcome" }, cmp.Ignore()), cmp.Comparer(func(a, b units.Temperature) bool { return a == b }), cmp.FilterPath(func(p cmp.Path) bool { return p.Last().String() == ".early" || p.Last().String() == ".longer" }, cmp.Ignore())); d != "" {
		t.Errorf("an option and its material differ:\n%s", d)
	}

	x = ask(t, demo, systems.NoRefill{})
	if f := x.AsPlanned.Fuel[0]; math.Abs(float64(f.Now/(150*units.Pound))-1) > 1e-6 || len(f.Empty) != 1 {
		t.Errorf("never refilled: burns %v, want the 150 lb in the tank", f.Now)
	}
	at := 144 * time.Hour
	if y = ask(t, demo, systems.NoRefill{Heater: "rented", At: &at}); y.AsPlanned.Fuel[0].Now != x.AsPlanned.Fuel[0].Now {
		t.Error("the only refill and all of them differ")
	}
	x = ask(t, demo, systems.SmallerTank{})
	if f := x.AsPlanned.Fuel[0]; f.Now > 200*units.Pound || f.Now >= f.Was || f.Now < 50*units.Pound {
		t.Errorf("nothing in the tank, 200 lb on Monday: burns %v of %v", f.Now, f.Was)
	}
	x = ask(t, demo, systems.DoorOpen{From: 50 * time.Hour, For: 3 * time.Hour, AirChanges: 30 * units.PerHour})
	if h := x.AsPlanned.Outcome.Heat.Hours[53]; !h.Air.Less(x.Plan.Heat.Hours[53].Air) || x.AsPlanned.Fuel[0].Empty[0].After(x.Plan.Heat.Heaters[0].Empty[0]) {
		t.Errorf("a door open: air %v", h.Air)
	}
	x = ask(t, demo, systems.WeatherOff{RH: 0.2})
	if h, g := x.AsPlanned.Outcome.Heat.Hours[60], x.Plan.Heat.Hours[60]; !g.DewPoint.Less(h.DewPoint) || math.Abs(float64(h.Air.Sub(g.Air))) > 0.3 {
		t.Errorf("damper weather: dew point %v, was %v", h.DewPoint, g.DewPoint)
	}
	typed := job(t, changed(t))
	x = ask(t, typed, systems.WeatherOff{Temp: -5, RH: 0.1})
	if w, v := body(x.AsPlanned.Outcome), body(x.Plan); math.Abs(float64(v.Slab.Sub(w.Slab))-5) > 1e-9 || math.Abs(float64(v.Air.Sub(w.Air))-5) > 1e-9 || math.Abs(float64(w.RH-v.RH)-0.1) > 1e-9 {
		t.Errorf("typed weather 5 K colder: slab %v, was %v", w.Slab, v.Slab)
	}
	logged := job(t, string(systems.DemoJob())+"\n[temperatures.slab]\n\"0h\" = \"60 °F\"\n")
	if x = ask(t, logged, systems.HeatStops{At: 3 * time.Hour}); len(x.Notes) != 1 || !strings.Contains(x.Notes[0], "slab") || body(x.AsPlanned.Outcome).Slab != body(x.Plan).Slab {
		t.Errorf("a slab that is typed in stays: %v", x.Notes)
	}
}

// Several disturbances combine, in any order, and the same question has the same
// bytes for an answer. No source needed.
func TestDisturbancesCombine(t *testing.T) {
	demo := job(t, string(systems.DemoJob()))
	d := []systems.Disturbance{systems.HeatStops{At: 76 * time.Hour, For: 10 * time.Hour}, systems.WeatherOff{Temp: -3}, systems.DoorOpen{From: 60 * time.Hour, For: time.Hour, AirChanges: 0.002}, systems.HandsShort{Hands: 1, From: 30 * time.Hour}, systems.StepLate{Step: "prime", By: 2 * time.Hour}}
	a := ask(t, demo, d...)
	b := ask(t, demo, d[4], d[2], d[3], d[1], d[0])
	bytes := func(v any) string {
		x, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		return string(x)
	}
	if bytes(a.AsPlanned) != bytes(b.AsPlanned) || bytes(a.Replanned) != bytes(b.Replanned) || !a.From.Equal(b.From) {
		t.Error("the order of disturbances counts")
	}
	if bytes(a) != bytes(ask(t, demo, d...)) {
		t.Error("the same question, another answer")
	}
	alone := ask(t, demo, d[0])
	if a.AsPlanned.Fuel[0].Empty[0].After(alone.AsPlanned.Fuel[0].Empty[0]) || len(a.Disturbed) != 5 {
		t.Errorf("colder and with the door open, the tank lasts longer: %v", a.AsPlanned.Fuel)
	}
}

// What a person says is what the table says. Common practice, no source.
func TestDisturbancesText(t *testing.T) {
	demo := job(t, string(systems.DemoJob()))
	if d := cmp.Diff([]string{"friday-night", "short-handed"}, demo.WhatIfs()); d != "" {
		t.Error(d)
	}
	refill := 144 * time.Hour
	for text, want := range map[string][]systems.Disturbance{
		"friday-night":                  {systems.HeatStops{At: 76 * time.Hour, For: 20 * time.Hour}},
		"heat stops 76h, for 20h":       {systems.HeatStops{At: 76 * time.Hour, For: 20 * time.Hour}},
		" heat  stops 76h ,for 20h":     {systems.HeatStops{At: 76 * time.Hour, For: 20 * time.Hour}},
		"short-handed":                  {systems.HandsShort{Hands: 1, From: 48 * time.Hour}, systems.StepLate{Step: "body", By: 3 * time.Hour}},
		"no refill all":                 {systems.NoRefill{}},
		"no refill 144h, heater rented": {systems.NoRefill{Heater: "rented", At: &refill}},
		"smaller tank 50 kg":            {systems.SmallerTank{Tank: 50}},
		"door 50h, door for 2h, air changes 3600 1/h, colder 2 K": nil,
		"door 50h, door for 2h, air changes 36 1/h":               {systems.DoorOpen{From: 50 * time.Hour, For: 2 * time.Hour, AirChanges: 0.01}},
		"warmer 2 K, drier 5 %":                                   {systems.WeatherOff{Temp: 2, RH: -0.05}},
		"not before body 2026-04-11T07:00:00-04:00":               {systems.StepLate{Step: "body", Until: 96 * time.Hour}},
		"option grout cold, material seal polyaspartic-slow":      {systems.OtherMaterial{Step: "grout", Option: "cold"}, systems.OtherMaterial{Step: "seal", Material: "polyaspartic-slow"}},
		"uptake 150 %": {systems.MoreUptake{Times: 1.5}},
	} {
		got, err := demo.Disturbances(text)
		if (err == nil) != (want != nil) {
			t.Errorf("%q: %v", text, err)
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%q (-want +got):\n%s", text, d)
		}
	}
	for text, want := range map[string]string{
		"": `found ""`, "heat": "heat stops", "heat stops": `found "heat stops"`, "heat stops soon": `found time "soon"`, "heat stops 3h, heat stops 4h": "heat_stops",
		"for 3h": "without heat_stops", "hands short two": "hands_short", "hands short -1": "want 1 to 2", "hands short 2000000": "found 2000000: want 1 to 2", "colder -3 K": "colder: found -3 K: want above 0 K to 30 K (54 °F), and warmer for the other way", "drier 101 %": "found 101 %: want above 0 % to 100 %",
		"door 10h, door for 500d, air changes 5 1/h": "door_for: found 500d: want above 0h to 400d", "heat stops 10h, for 500d": "for: found 500d: want above 0h to 400d", "colder NaN K": "colder", "colder 3 K, warmer 3 K": "one of them",
		"delay body -3h": "delay", "delay body": "delay", "delay bodi 3h": `found step "bodi"`, "option body x": "want cold or polyaspartic", "heat stops 1h\nrest = 1": "heat_stops", `heat stops "1h`: "heat_stops",
		"heat stops -3h": `found time "-3h"`, "no refill 3h": "want 6d", "no refill never": "want all", "door 3h": "door_for", "uptake 0 %": "found 0", "uptake 1.5": "uptake", "for 0h, heat stops 3h": "above 0h",
	} {
		if d, err := demo.Disturbances(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, %v; want %q", text, d, err, want)
		}
	}
	// In a file: the line and the key.
	for _, tc := range []struct{ table, line, want string }{
		{"heat_stops = \"500h\"", "heat_stops", "what_if.x.heat_stops: found 20d20h: want 0h to 8d"},
		{"colder = \"3 K\"\nheater = \"rented\"", "heater", "what_if.x.heater: found one without no_refill or smaller_tank"},
		{"smaller_tank = \"900 lb\"", "smaller_tank", "what_if.x.smaller_tank"},
		{"smaller_tank = \"90 lb\"\nheater = \"red\"", "heater", `what_if.x.heater: found "red": want rented`},
		{"hands_short = 7", "hands_short", "what_if.x.hands_short: found 7: want 1 to 2"},
		{"delay = { bod = \"3h\" }", "delay", "what_if.x.delay.bod"},
		{"option = { body = \"slow\" }", "option", "what_if.x.option.body"},
		{"heet_stops = \"3h\"", "heet_stops", "heet_stops"},
	} {
		text := string(systems.DemoJob()) + "\n[what_if.x]\n" + tc.table + "\n"
		_, err := systems.ReadJob(strings.NewReader(text), builtin(t))
		line := "job:" + itoa(1+strings.Count(text[:strings.LastIndex(text, "\n"+tc.line)+1], "\n")) + ":"
		if err == nil || !strings.Contains(err.Error(), tc.want) || !strings.Contains(err.Error(), line) {
			t.Errorf("%s: got %v, want %s %s", tc.table, err, line, tc.want)
		}
	}
}

func itoa(n int) string { b, _ := json.Marshal(n); return string(b) }

func BenchmarkWhatIf(b *testing.B) { // the demo: three plans and a forecast
	j, err := systems.ReadJob(strings.NewReader(string(systems.DemoJob())), builtin(b))
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := systems.WhatIf(context.Background(), j, systems.HeatStops{At: 76 * time.Hour}); err != nil {
			b.Fatal(err)
		}
	}
}
