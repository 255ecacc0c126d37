package systems_test

import (
	"context"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// cold returns when, with the heat stopped, a coat first breaks a limit that the
// plan keeps at that moment and a quarter of an hour after: from the findings of a whole plan with a whole
// forecast from 0, another way than the standing answer's.
func cold(x *systems.Difference, step string, section int, stop time.Time) (time.Time, bool) {
	var first time.Time
	held := func(f systems.Finding) bool { return strings.HasSuffix(f.Key, "-before-tack-free") }
	for _, f := range x.AsPlanned.Outcome.Findings {
		if f.Step != step || f.Section != section || !held(f) || f.Until.Before(stop) {
			continue
		}
		at := *f.When
		if at.Before(stop) {
			at = stop
		}
		for _, g := range x.Plan.Findings { // already so in the plan
			if g.Step == step && g.Section == section && g.Key == f.Key && !g.When.After(at.Add(15*time.Minute)) && g.Until.After(at) {
				at = *g.Until
			}
		}
		if at.Before(*f.Until) && (first.IsZero() || at.Before(first)) {
			first = at
		}
	}
	return first, !first.IsZero()
}

// The standing answer against a scan of all half-hours, each with a plan and a
// forecast of its own: no stop while a coat is wet breaks a limit earlier on the
// clock than one when it has just gone down, and none leaves less notice than
// said. Brute force, no source needed. 6 min: the accuracy of an event (2 min)
// twice, and states every 5 or 15 min; and a twentieth of the time since the
// stop, when the air creeps toward its limit by 0.3 K/h, which the 0.05 K that
// the plan's air is thinned to makes 10 min.
func TestWorstStop(t *testing.T) {
	tolerance := func(since time.Duration) time.Duration { return 6*time.Minute + since/20 }
	for name, text := range map[string]string{"demo": string(systems.DemoJob()), "night": read(t, "stories/night-stop.toml"), "unvented": read(t, "stories/unvented-heat.toml"),
		"sections": strings.Replace(strings.Replace(string(systems.DemoJob()), `rest = ["sun"]`, "sections = 2", 1), `"150000 Btu/h"`, `"170000 Btu/h"`, 1)} {
		t.Run(name, func(t *testing.T) {
			j := job(t, text)
			o, err := systems.Plan(context.Background(), j)
			if err != nil {
				t.Fatal(err)
			}
			if o.HeatLoss == nil || len(o.HeatLoss.Coats) < 4 {
				t.Fatalf("no standing answer: %+v", o.HeatLoss)
			}
			var worst *systems.HeatLossCoat
			for i := range o.HeatLoss.Coats {
				c := &o.HeatLoss.Coats[i]
				end := o.Start.Add(time.Duration(len(o.Heat.Hours)-1) * time.Hour)
				var least time.Duration
				any := false
				for at := c.Stop; c.Planned != nil && at.Before(*c.Planned) && at.Before(end); at = at.Add(30 * time.Minute) {
					x := ask(t, j, systems.HeatStops{At: at.Sub(o.Start)})
					when, broken := cold(x, c.Step, c.Section, at)
					if !broken {
						continue
					}
					if c.Breaks == nil || when.Before(c.Breaks.At.Add(-tolerance(when.Sub(c.Stop)))) {
						t.Errorf("%s: stopped at %v it breaks %v, and stopped when just down %+v", c.Step, at, when, c.Breaks)
						continue
					}
					if at.Equal(c.Stop) && when.Sub(c.Breaks.At).Abs() > tolerance(when.Sub(at)) {
						t.Errorf("%s: stopped when just down it breaks %v, and the standing answer says %v", c.Step, when, c.Breaks.At)
					}
					if notice := when.Sub(at); !any || notice < least {
						least, any = notice, true
					}
				}
				if any != (c.Notice != nil) || any && (least-c.Notice.Time.Duration()).Abs() > tolerance(least) {
					t.Errorf("%s section %d: least notice of all half-hours %v (%v), the standing answer says %+v", c.Step, c.Section, least, any, c.Notice)
				}
				if c.Breaks != nil && c.Breaks.After != units.Span(c.Breaks.At.Sub(c.Stop)) {
					t.Errorf("%s: %v after %v is not %v", c.Step, c.Breaks.After, c.Stop, c.Breaks.At)
				}
				if c.Notice != nil && (worst == nil || c.Notice.Time < worst.Notice.Time) {
					worst = c
				}
			}
			if worst == nil || o.HeatLoss.Worst == nil || worst.Stop != o.HeatLoss.Worst.Stop {
				t.Errorf("the worst is %+v, said is %+v", worst, o.HeatLoss.Worst)
			}
			if !strings.Contains(o.HeatLoss.Text, "to bring it back") || strings.Contains(o.HeatLoss.Text, "NaN") {
				t.Error(o.HeatLoss.Text)
			}
		})
	}
}

// The shortest notice of the demo's body, and of its other coats, is that of all
// quarters of an hour, each with a plan and a forecast of its own, and shorter than
// at the hours alone. Brute force, no source needed; the tolerance is TestWorstStop's.
func TestShortestNoticeByQuarters(t *testing.T) {
	j := job(t, string(systems.DemoJob()))
	o, err := systems.Plan(context.Background(), j)
	if err != nil {
		t.Fatal(err)
	}
	looked := 0
	for i := range o.HeatLoss.Coats {
		c := &o.HeatLoss.Coats[i]
		if c.Notice == nil {
			continue
		}
		looked++
		least, hourly := time.Duration(math.MaxInt64), time.Duration(math.MaxInt64)
		for k := 0; ; k++ {
			at := c.Stop.Add(time.Duration(k) * 15 * time.Minute)
			if !at.Before(*c.Planned) {
				break
			}
			when, broken := cold(ask(t, j, systems.HeatStops{At: at.Sub(o.Start)}), c.Step, c.Section, at)
			if !broken {
				continue
			}
			if least = min(least, when.Sub(at)); k%4 == 0 {
				hourly = min(hourly, when.Sub(at))
			}
		}
		said := c.Notice.Time.Duration()
		if (said - least).Abs() > 6*time.Minute+least/20 {
			t.Errorf("%s: %v by all quarters, said is %v", c.Step, least, said)
		}
		if c.Step == "body" && !(said < hourly-10*time.Minute) {
			t.Errorf("body: said is %v, at the hours alone it is %v", said, hourly)
		}
		t.Logf("%s: %v by quarters, %v by hours, said %v", c.Step, least, hourly, said)
	}
	if looked == 0 {
		t.Error("no coat with a notice")
	}
}

// What may follow on a floor that went cold is what a job with the heat stopped
// then may take: the chemistry that is said to go down keeps its limits in a
// plan that waits for that start, and one that is said not to does not. No
// source needed.
func TestMayFollow(t *testing.T) {
	text := read(t, "stories/night-stop.toml")
	o := planOf(t, text)
	looked := 0
	for _, c := range o.HeatLoss.Coats {
		stop := c.Stop.Sub(o.Start)
		j := job(t, strings.Replace(text, "[room.thermostat]\n\"0h\" = \"15 °C\"", "[room.thermostat]\n\"0h\" = \"15 °C\"\n\""+stop.Round(time.Second).String()+"\" = \"off\"", 1))
		for _, m := range c.MayFollow {
			if !m.Goes {
				continue
			}
			var d []systems.Disturbance
			if m.Option != "" {
				d = append(d, systems.OtherMaterial{Step: c.Next, Option: m.Option})
			}
			d = append(d, systems.StepLate{Step: c.Next, Until: m.From.Sub(o.Start)})
			x := ask(t, j, d...)
			w := one(t, x.Replanned.Outcome, c.Next)
			if w.Start.Sub(*m.From).Abs() > 10*time.Minute {
				continue // the plan holds it back for other work
			}
			looked++
			for _, f := range x.Replanned.Outcome.Findings {
				if f.Step == c.Next && (strings.HasSuffix(f.Key, "-before-tack-free") || f.Key == "never-cures") {
					t.Errorf("after a stop %v %s of %s from %v: %s", c.Stop, c.Next, m.Name, m.From, f.Text)
				}
			}
		}
	}
	if looked < 1 {
		t.Error("nothing looked at")
	}
}

// waterRoom is a heated room that is rolled with two waterborne coats.
const waterRoom = `name = "Paper store, heated"
recipe = "roll-coat"
start = "2026-05-04T07:00:00-04:00"
[areas.store]
length = "40 ft"
width = "25 ft"
uptake = "2 mil"
profile = "2 mil"
[grind]
grits = ["40"]
[crew]
hands = 3
from = "07:00"
to = "17:00"
[moisture]
emission = "3 lb/(1000 ft2 d)"
[room]
height = "11 ft"
envelope = "old-insulated"
air_changes = "2 1/h"
air = "60 °F"
rh = "50 %"
[room.slab]
thickness = "6 in"
under = "sand-gravel"
deep = "62 °F"
surface = "62 °F"
film = "stirred"
[room.thermostat]
"0h" = "75 °F"
[room.heaters.a]
class = "propane-vented"
max = "100000 Btu/h"
tank = "900 lb"
[outdoors.air]
"0h" = "58 °F"
"300h" = "58 °F"
[outdoors.rh]
"0h" = "55 %"
"300h" = "55 %"
`

// After a stop the next coat's water comes with it to its own hour: the chemistries
// without water are not held back by what they replace, and the waterborne one is by
// its own water, at whatever hour. Checked against plans of the job with the heat off
// from the stop on, in which the space is followed anew. No source needed.
func TestMayFollowItsOwnWater(t *testing.T) {
	o := planOf(t, waterRoom)
	c := o.HeatLoss.Coats[0]
	if c.Next != "coat-2" || len(c.MayFollow) != 4 {
		t.Fatalf("%+v", c)
	}
	off := job(t, strings.Replace(waterRoom, "\"0h\" = \"75 °F\"", "\"0h\" = \"75 °F\"\n\""+c.Stop.Sub(o.Start).Round(time.Second).String()+"\" = \"off\"", 1))
	for _, m := range c.MayFollow {
		from := c.NextReady.Sub(o.Start)
		if m.From != nil {
			from = m.From.Sub(o.Start)
		}
		d := []systems.Disturbance{systems.StepLate{Step: c.Next, Until: from}}
		if m.Option != "" {
			d = append(d, systems.OtherMaterial{Step: c.Next, Option: m.Option})
		}
		x := ask(t, off, d...).Replanned.Outcome
		w, broken := one(t, x, c.Next), false
		for _, f := range x.Findings {
			broken = broken || f.Step == c.Next && (strings.HasSuffix(f.Key, "-before-tack-free") || f.Key == "never-cures")
		}
		if broken == m.Goes {
			t.Errorf("%s from %v: goes %v, and the plan of it breaks a limit: %v", m.Name, w.Start, m.Goes, broken)
		}
		switch m.Option {
		case "": // laid in the morning it lifts the humidity to above 80 % by itself
			if m.Goes || !strings.HasSuffix(m.Why, "by its own water") {
				t.Errorf("%+v", m)
			}
		case "polyaspartic":
			if !m.Goes || w.Start.Sub(*m.From).Abs() > time.Minute || m.From.Sub(o.Start) != 24*time.Hour {
				t.Errorf("%+v, planned %v", m, w.Start)
			}
		}
	}
}

// Where nothing follows from the heat nothing is said of it. No source needed.
func TestNoStandingAnswer(t *testing.T) {
	demo := string(systems.DemoJob())
	cut := func(from, to string) string {
		i, j := strings.Index(demo, from), strings.Index(demo, to)
		return demo[:i] + demo[j:]
	}
	noHeat := cut("[room.thermostat]", "[room.doors.delivery]")
	noHeat = noHeat[:strings.Index(noHeat, "# What may be decided")] // of the heat
	for name, text := range map[string]string{
		"no room": changed(t), "no heaters": noHeat,
		"slab typed": demo + "\n[temperatures.slab]\n\"0h\" = \"60 °F\"\n",
		"air typed":  demo + "\n[temperatures.air]\n\"0h\" = \"60 °F\"\n",
	} {
		if o := planOf(t, text); o.HeatLoss != nil {
			t.Errorf("%s: %+v", name, o.HeatLoss)
		}
	}
	if o := planOf(t, demo+"\n[temperatures.rh]\n\"0h\" = \"50 %\"\n"); o.HeatLoss == nil {
		t.Error("the humidity typed in: the heat still counts")
	}
}
