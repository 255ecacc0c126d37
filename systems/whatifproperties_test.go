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

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// ifJobs are jobs of all kinds: with a space and without, heated and not, of one
// section and several, by day and by night, with a past, of hours and of weeks.
func ifJobs(t *testing.T) map[string]systems.Job {
	t.Helper()
	return map[string]systems.Job{"demo": job(t, string(systems.DemoJob())), "thursday": thursday(t), "two tanks": job(t, read(t, "whatif/two-tanks.toml")), "barn": job(t, read(t, "whatif/barn.toml")),
		"shed": job(t, read(t, "whatif/shed.toml")), "cold": job(t, read(t, "whatif/cold.toml")), "night": job(t, read(t, "stories/night-stop.toml")), "damp": job(t, read(t, "stories/unvented-heat.toml")), "weekend": job(t, read(t, "stories/tight-weekend.toml"))}
}

// drawDisturbance draws one that fits a job, or nearly.
func drawDisturbance(t *rapid.T, j *systems.Job) systems.Disturbance {
	last := 200.0
	heaters := []string{"", "other"}
	var refills []time.Duration
	if j.Site != nil {
		last = j.Site.Span.Hours()
		for i, h := range j.Site.Heaters {
			heaters = append(heaters, h.Name)
			for _, r := range j.Site.Room.Heaters[i].Refills {
				refills = append(refills, r.At)
			}
		}
	}
	hour := func(label string) time.Duration {
		return moments(rapid.Float64Range(j.Now.Hours(), last).Draw(t, label)).Truncate(time.Minute)
	}
	steps := []string{"prime", "body", "body-1", "base", "mortar", "sweep", "grout", "seal", "top", "grind", "clean"}
	step := rapid.SampledFrom(steps).Draw(t, "step")
	switch rapid.IntRange(0, 8).Draw(t, "kind") {
	case 0:
		return systems.HeatStops{At: hour("at"), For: moments(rapid.SampledFrom([]float64{0, 0.1, 5, 30, 500}).Draw(t, "for"))}
	case 1:
		d := systems.NoRefill{Heater: rapid.SampledFrom(heaters).Draw(t, "heater")}
		if len(refills) > 0 && rapid.Bool().Draw(t, "one") {
			at := rapid.SampledFrom(refills).Draw(t, "refill")
			d.At = &at
		}
		return d
	case 2:
		return systems.SmallerTank{Heater: rapid.SampledFrom(heaters).Draw(t, "heater"), Tank: units.Mass(rapid.Float64Range(0, 60).Draw(t, "tank"))}
	case 3:
		return systems.DoorOpen{From: hour("from"), For: moments(rapid.SampledFrom([]float64{0.01, 3, 50, 5000}).Draw(t, "for")), AirChanges: units.Rate(rapid.Float64Range(0.1, 500).Draw(t, "n")) * units.PerHour}
	case 4:
		return systems.WeatherOff{Temp: units.TempDelta(rapid.Float64Range(-30, 30).Draw(t, "warmer")), RH: units.Fraction(rapid.Float64Range(-1, 1).Draw(t, "damper"))}
	case 5:
		return systems.HandsShort{Hands: rapid.IntRange(1, 4).Draw(t, "hands"), From: hour("from")}
	case 6:
		return systems.StepLate{Step: step, By: moments(rapid.SampledFrom([]float64{0.001, 1, 20, 200, 3000}).Draw(t, "by"))}
	case 7:
		return systems.OtherMaterial{Step: step, Option: rapid.SampledFrom([]string{"cold", "polyaspartic", "slow", "epoxy", "epoxy-cold", "fast"}).Draw(t, "option")}
	}
	return systems.MoreUptake{Times: rapid.Float64Range(0.1, 20).Draw(t, "times")}
}

// What holds of every answer: an error is of a range; the text has all its
// numbers and says what the values say; in either order it is the same; as
// planned a step keeps its start unless it is late; and nothing breaks only if
// every stop stands in the plan too. No source needed.
func TestWhatIfHolds(t *testing.T) {
	jobs := ifJobs(t)
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom(sortedNames(jobs)).Draw(t, "job")
		j := jobs[name]
		d := []systems.Disturbance{drawDisturbance(t, &j)}
		if rapid.Bool().Draw(t, "two") {
			d = append(d, drawDisturbance(t, &j))
		}
		x, err := systems.WhatIf(context.Background(), j, d...)
		if err != nil {
			if !errors.Is(err, units.ErrRange) || strings.Contains(err.Error(), "NaN") {
				t.Fatalf("%s: %#v: %v", name, d, err)
			}
			return
		}
		b, err := json.Marshal(x)
		if err != nil || strings.Contains(string(b), "NaN") {
			t.Fatalf("%s: %#v: %v", name, d, err)
		}
		if len(d) == 2 {
			y, err := systems.WhatIf(context.Background(), j, d[1], d[0])
			if err != nil {
				t.Fatalf("%s: %#v: in the other order: %v", name, d, err)
			}
			for _, both := range [][2]any{{x.AsPlanned, y.AsPlanned}, {x.Replanned, y.Replanned}, {x.From, y.From}} {
				one, _ := json.Marshal(both[0])
				other, _ := json.Marshal(both[1])
				if string(one) != string(other) {
					t.Fatalf("%s: %#v: the order counts:\n%.1000s\n%.1000s", name, d, one, other)
				}
			}
		}
		late := map[string]bool{}
		for _, one := range d {
			if l, ok := one.(systems.StepLate); ok {
				late[l.Step] = true
			}
		}
		for _, w := range x.AsPlanned.Outcome.Schedule {
			i := slices.IndexFunc(x.Plan.Schedule, func(v systems.Work) bool { return v.Step == w.Step && v.Section == w.Section })
			if i < 0 {
				t.Fatalf("%s: %#v: %s [%d] is not in the plan", name, d, w.Step, w.Section)
			}
			by := w.Start.Sub(x.Plan.Schedule[i].Start)
			if w.Does != systems.Broadcast && (by < 0 || by > 0 && len(late) == 0 && w.Does != systems.Condition) { // a broadcast goes with its coat, whose setup is longer for fewer hands
				t.Fatalf("%s: %#v: as planned %s [%d] begins %v later", name, d, w.Step, w.Section, by)
			}
			if by > 0 && w.Does == systems.Coat && !late[w.Step] {
				t.Fatalf("%s: %#v: as planned %s [%d] begins %v later and is not late", name, d, w.Step, w.Section, by)
			}
		}
		for k, a := range []*systems.Answer{&x.AsPlanned, &x.Replanned} {
			text := strings.Join(a.Sentences(j.Start, units.SI), "\n")
			if (a.BreaksFirst == nil) != strings.Contains(text, "Nothing breaks that the plan keeps.") {
				t.Fatalf("%s: %#v: breaks first %+v:\n%s", name, d, a.BreaksFirst, text)
			}
			if strings.Contains(text, "NaN") || strings.Contains(text, "  ") || strings.Contains(text, "%!") || strings.Contains(text, "..") {
				t.Fatalf("%s: %#v: %s", name, d, text)
			}
			if k == 0 && a.BreaksFirst != nil && a.BreaksFirst.At.Before(x.From.Add(-time.Minute)) {
				t.Fatalf("%s: %#v: breaks %s %s %v, before %v", name, d, a.BreaksFirst.Step, a.BreaksFirst.Key, a.BreaksFirst.At, x.From)
			}
			if a.BreaksFirst != nil {
				continue
			}
			for _, f := range a.Outcome.Findings {
				if f.Severity != systems.Stop {
					continue
				}
				if !slices.ContainsFunc(x.Plan.Findings, func(g systems.Finding) bool {
					return f.Key == g.Key && f.Step == g.Step && f.Section == g.Section && f.Limit == g.Limit && g.Severity == systems.Stop
				}) {
					t.Fatalf("%s: %#v: nothing breaks, and %+v", name, d, f)
				}
			}
			for _, c := range a.Coats {
				if c.Breaks != nil && c.Breaks.Anyway == nil {
					t.Fatalf("%s: %#v: nothing breaks, and %+v", name, d, c)
				}
			}
		}
	})
}

func sortedNames[V any](m map[string]V) (all []string) {
	for name := range m {
		all = append(all, name)
	}
	slices.Sort(all)
	return all
}

// Heat that stops later, once a coat lies, breaks a limit of cold of it no
// earlier on the clock, and is no colder at the worst: the room whose heat stopped
// earlier is at no hour warmer (the maximum principle; see HeatLoss). Events to 2
// minutes, temperatures to 0.05 K, as the forecast states.
func TestLaterStopIsNoWorse(t *testing.T) {
	jobs := map[string]systems.Job{"body": job(t, read(t, "stories/night-stop.toml")), "body-1": job(t, strings.Replace(read(t, "whatif/two-tanks.toml"), "propane-unvented", "propane-vented", 1))}
	rapid.Check(t, func(t *rapid.T) {
		step := rapid.SampledFrom(sortedNames(jobs)).Draw(t, "coat")
		j := jobs[step]
		var first [2]time.Time
		var low [2]float64
		var at [2]time.Duration
		for i := range at {
			x := ask(t, j) // where it lies and when it is tack-free
			w := x.Plan.Schedule[slices.IndexFunc(x.Plan.Schedule, func(w systems.Work) bool { return w.Step == step })]
			down := w.End.Sub(j.Start)
			if i == 0 {
				at[0] = down + moments(rapid.Float64Range(0, 11).Draw(t, "stop"))
			} else {
				at[1] = at[0] + moments(rapid.Float64Range(0, 6).Draw(t, "later"))
			}
			x = ask(t, j, systems.HeatStops{At: at[i]})
			first[i], low[i] = j.Start.Add(400*24*time.Hour), math.Inf(1)
			for _, f := range x.AsPlanned.Outcome.Findings {
				if f.Step == step && f.Section == w.Section && f.Key == "air-too-cold-before-tack-free" {
					first[i], low[i] = *f.When, float64(f.Found.Q.(units.Temperature).Kelvin())
				}
			}
		}
		if first[1].Before(first[0].Add(-2*time.Minute)) || low[1] < low[0]-0.05 {
			t.Fatalf("%s: a stop at %v breaks %v, %.2f K; one at %v %v, %.2f K", step, at[0], first[0], low[0], at[1], first[1], low[1])
		}
	})
}
