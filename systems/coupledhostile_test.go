package systems

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// drawHostile draws what is hard on plan and space: up to twelve sections, a room
// of 30 m3 or a hall, no ventilation, a slab that gives off much, air near
// saturation, coats of much water that may never dry, night shifts, a forecast
// shorter than the job, and work that is done by now.
func drawHostile(t *rapid.T) string {
	n := func(name string, lo, hi int) int { return rapid.IntRange(lo, hi).Draw(t, name) }
	pick := func(name string, from ...string) string { return rapid.SampledFrom(from).Draw(t, name) }
	recipe := pick("recipe", "roll-coat", "quartz-broadcast")
	text := "name = \"n\"\nrecipe = \"" + recipe + "\"\nstart = \"2026-07-07T07:00:00-04:00\"\n"
	now := n("now", 0, 2) * n("hours", 1, 30)
	if now > 0 {
		text += fmt.Sprintf("now = \"%dh\"\n", now)
	}
	text += fmt.Sprintf("[areas.a]\narea = \"%s\"\nuptake = \"%d mil\"\n[crew]\nhands = %d\n%s\nsections = %d\n", pick("area", "12 m2", "100 m2", "3000 m2"), n("uptake", 0, 40), n("hands", 1, 6),
		pick("shift", "from = \"07:00\"\nto = \"18:00\"", "from = \"20:00\"\nto = \"05:00\"", "from = \"00:00\"\nto = \"24:00\""), n("sections", 1, 12))
	if e := n("emission", 0, 3); e > 0 {
		text += fmt.Sprintf("[moisture]\nemission = \"%d lb/(1000 ft2 d)\"\n", []int{0, 2, 12, 25}[e])
	}
	if rapid.Bool().Draw(t, "wet?") {
		text += "[materials.epoxy-primer-water]\nsolids = \"15 %\"\nwater = \"80 %\"\n"
	}
	text += fmt.Sprintf("[room]\nheight = \"2.5 m\"\nenvelope = \"insulated\"\nair_changes = \"%s 1/h\"\nair = \"%d °F\"\nrh = \"%d %%\"\n[room.slab]\nthickness = \"5 in\"\nunder = \"sand-gravel\"\ndeep = \"50 °F\"\nsurface = \"%d °F\"\nfilm = \"still-cold-floor\"\n",
		pick("changes", "0", "0.05", "3"), n("air", 45, 95), n("rh", 20, 99), n("surface", 40, 80))
	if rapid.Bool().Draw(t, "heated?") {
		text += fmt.Sprintf("[room.thermostat]\n\"0h\" = \"%d °F\"\n[room.heaters.h]\nclass = \"propane-unvented\"\nmax = \"%d000 Btu/h\"\ntank = \"%d lb\"\n", n("set", 55, 80), n("max", 5, 100), n("tank", 5, 400))
	}
	text += "[outdoors.air]\n"
	span := n("span", 1, 12)
	for day := range span {
		text += fmt.Sprintf("\"%dh\" = \"%d °F\"\n\"%dh\" = \"%d °F\"\n", 24*day, n("night", 30, 85), 24*day+9, n("day", 40, 100))
	}
	text += fmt.Sprintf("[outdoors.rh]\n\"0h\" = \"%d %%\"\n\"%dh\" = \"%d %%\"\n", n("rh out", 20, 100), 24*(span-1)+9, n("rh later", 20, 100))
	if now > 0 && rapid.Bool().Draw(t, "done?") {
		text += "[done.clean]\nstart = \"0h\"\nend = \"30m\"\n"
	}
	return text
}

// Whatever is drawn ends in time in a plan that is that of its own forecast, whose
// JSON holds no NaN, or in a finding or an error that says why not. By definition.
func TestHostileCoupling(t *testing.T) {
	c := builtin(t)
	told := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		j, err := ReadJob(strings.NewReader(drawHostile(t)), c)
		if err != nil {
			t.Fatal(err)
		}
		ctx, stop := context.WithTimeout(context.Background(), time.Minute)
		defer stop()
		p, err := wholePlan(ctx, &j)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := json.Marshal(p.o); err != nil {
			t.Fatal(err)
		}
		told["planned"]++
		for _, key := range []string{"water-not-followed", "forecast-not-settled", "order-of-sections-held", "held-for-own-water", "never-ready", "weather-held", "still-drying"} {
			if len(keys(p.o, key)) > 0 {
				told[key]++
			}
		}
		if len(keys(p.o, "water-not-followed"))+len(keys(p.o, "forecast-not-settled")) > 0 {
			return
		}
		if now := p.coupling(); now.key() != p.j.Site.coupling.key() {
			t.Fatalf("the plan's coats\n%s\nthe forecast's\n%s", now.key(), p.j.Site.coupling.key())
		}
	})
	t.Log(told)
}

// A tight room of 30 m3 at 20 °C and 50 %, coated with water in three sections. By
// hand, with 2339 Pa of saturation (ASHRAE Fundamentals 2017 ch. 1 table 3, from memory):
//
//	humidity ratio at 50 %: 0.62194 * 1169.5 / (101325 - 1169.5) = 7.262 g/kg
//	saturated:              0.62194 * 2339 / (101325 - 2339)     = 14.696 g/kg
//	dry air: 30 m3 * (101325 - 1169.5) Pa / (287.05 J/(kg K) * 293.15 K) = 35.71 kg
//	it takes 35.71 * (14.696 - 7.262) = 265.5 g and no more.
//
// The three coats hold 3 * 421.8 g, so that 79 % stays in them, none leaves the room,
// and they never dry: all told. To 1.5 %: the model's air keeps the mass of 1.204 kg/m3.
func TestClosedRoomByHand(t *testing.T) {
	_, o := planned(t, `name = "n"
recipe = "roll-coat"
start = "2026-07-07T07:00:00-04:00"
[areas.a]
area = "12 m2"
uptake = "2 mil"
[crew]
hands = 2
from = "07:00"
to = "18:00"
sections = 3
[room]
height = "2.5 m"
envelope = "insulated"
air_changes = "0 1/h"
air = "20 °C"
rh = "50 %"
[room.slab]
thickness = "5 in"
under = "sand-gravel"
deep = "20 °C"
surface = "20 °C"
film = "stirred"
[outdoors.air]
"0h" = "20 °C"
"240h" = "20 °C"
[outdoors.rh]
"0h" = "50 %"
"240h" = "50 %"
`)
	w := o.Heat.Water
	if len(w.Each) != 3 || math.Abs(float64(w.Coats)/0.2655-1) > 0.015 || w.Vented != 0 || math.Abs(float64(w.InTheAir-w.Coats)) > 1e-9 {
		t.Errorf("%+v", w)
	}
	holds, left := 0.0, 0.0
	for _, x := range w.Each {
		holds += float64(x.Holds)
		left += float64(x.Holds) * float64(x.Left)
		if x.Dry != nil {
			t.Errorf("dry at %v", x.Dry)
		}
	}
	if math.Abs(left/holds-0.79) > 0.01 || math.Abs(holds-left-float64(w.Coats)) > 1e-9 {
		t.Errorf("%v kg of %v left", left, holds)
	}
	if len(keys(o, "never-ready")) != 3 || len(keys(o, "never-cures")) != 3 || len(keys(o, "coats-damp-the-air")) != 1 {
		t.Errorf("%+v", o.Findings)
	}
}
