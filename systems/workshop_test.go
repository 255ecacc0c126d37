package systems_test

import (
	"bytes"
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/report"
)

// A workshop at 2500 m with current for its heat, in SI; the place is invented.
const workshop = `name = "Workshop of the cable car"
recipe = "urethane-cement-broadcast@1.1.0"
start = "2026-03-02T07:30:00+01:00"
[areas.werkstatt]
length = "12 m"
width = "7 m"
base_length = "30 m"
base_height = "100 mm"
base_radius = "20 mm"
[grind]
profile = 5
[crew]
hands = 2
from = "07:30"
to = "17:00"
rest = ["sun"]
[moisture]
humidity = "85 %"
[room]
height = "4 m"
altitude = "2500 m"
envelope = "old-insulated"
air = "3 °C"
rh = "60 %"
[room.slab]
thickness = "180 mm"
under = "sand-gravel"
deep = "3 °C"
surface = "-1 °C"
film = "stirred"
[room.thermostat]
"0h" = "18 °C"
[room.heaters.electric]
class = "electric"
max = "24 kW"
[outdoors.air]
"0h" = "-6 °C"
"8h" = "2 °C"
"24h" = "-9 °C"
"240h" = "-4 °C"
[outdoors.rh]
"0h" = "60 %"
"240h" = "50 %"
`

func printed(t testing.TB, o *systems.Outcome, s units.System) string {
	t.Helper()
	var b bytes.Buffer
	if err := report.Write(&b, o, s); err != nil {
		t.Fatal(err)
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// What a contractor reads in SI holds no Fahrenheit, current is in kilowatt-hours
// (1 kWh = 3.6 MJ, NIST SP 811) and has no tank. Common practice, no source.
func TestPrintedInSI(t *testing.T) {
	o := planOf(t, workshop)
	text := printed(t, o, units.SI)
	for _, not := range []string{"°F", " MJ", "fuel left"} {
		if i := strings.Index(text, not); i >= 0 {
			t.Errorf("%q in: %s", not, text[max(0, i-120):i+20])
		}
	}
	for _, want := range []string{"before the slab is at 7.2 °C", "; takes " + systems.KilowattHours(o.Heat.Heaters[0].TakenIn)} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in: %s", want, text)
		}
	}
	if got := systems.KilowattHours(8388 * units.Megajoule); got != "2330 kWh" {
		t.Errorf("8388 MJ: %s", got)
	}
}

// What if tells an electric heater's current as the plan does, in kilowatt-hours,
// and what it is with the heat off. Common practice, no source.
func TestWhatIfOfCurrent(t *testing.T) {
	j := job(t, workshop)
	d, err := systems.WhatIf(context.Background(), j, systems.HeatStops{At: 30 * time.Hour})
	if err != nil {
		t.Fatal(err)
	}
	if len(d.AsPlanned.Fuel) != 1 {
		t.Fatalf("heaters told: %+v", d.AsPlanned.Fuel)
	}
	f := d.AsPlanned.Fuel[0]
	if was := d.Plan.Heat.Heaters[0].TakenIn; f.Fuel != "" || f.WasTakenIn != was || !(f.NowTakenIn < was) {
		t.Errorf("%+v, the plan has %v", f, was)
	}
	want := "electric takes " + systems.KilowattHours(f.NowTakenIn) + ", not " + systems.KilowattHours(f.WasTakenIn) + "."
	if said := d.AsPlanned.Sentences(j.Start, units.US); !slices.Contains(said, want) {
		t.Errorf("no %q in %q", want, said)
	}
}

// A night says that a coat is ready when the step that waits for it may begin:
// when the last of the events has come that it waits for. Common practice, no source.
func TestNightReadyWhenTheNextBegins(t *testing.T) {
	told := 0
	for _, text := range []string{workshop, string(systems.DemoJob()), read(t, "urethane-cement.toml"), read(t, "cove.toml")} {
		o := planOf(t, text)
		for _, n := range o.Nights {
			for _, l := range n.Lying {
				if l.Ready == nil {
					continue
				}
				for _, w := range works(o, l.Next) {
					if w.Section <= 1 && l.Section <= 1 {
						told++
						if w.Start.Before(l.Ready.Truncate(60e9)) {
							t.Errorf("%s is ready for %s at %v, which begins at %v", l.Step, l.Next, l.Ready, w.Start)
						}
					}
					if strings.Contains(w.Binding, "recoat-earliest") && w.Section <= 1 && strings.HasPrefix(w.Binding, l.Title+": ") && !w.Start.Truncate(60e9).Equal(l.Ready.Truncate(60e9)) {
						t.Errorf("%s waits for %s (%s) until %v, in the night it is ready at %v", l.Next, l.Step, w.Binding, w.Start, l.Ready)
					}
				}
			}
		}
	}
	if told == 0 {
		t.Error("no night with anything ready for what comes next")
	}
}

// The mark of figures held past the last reading is explained where there is one,
// and only there. Common practice, no source.
func TestHeldIsExplainedWhereItIs(t *testing.T) {
	const foot = "* beyond the last temperatures given, which are held"
	for _, tc := range []struct {
		text string
		want bool
	}{{baseJob, false}, {string(systems.DemoJob()), true}} {
		o := planOf(t, tc.text)
		held := false
		for _, w := range o.Schedule {
			for _, e := range w.Events {
				held = held || e.Held && e.At != nil
			}
		}
		if got := strings.Contains(printed(t, o, units.US), foot); got != held || held != tc.want {
			t.Errorf("%s: explained %v, held %v, want %v", o.Job, got, held, tc.want)
		}
	}
}

// What several sections have in common is said once, with the times of each; no
// finding is lost by that. Common practice, no source.
func TestSectionsSaidOnce(t *testing.T) {
	o := planOf(t, read(t, "warehouse.toml"))
	text, sentences, sections := printed(t, o, units.US), map[string]int{}, map[string]int{}
	text = text[strings.Index(text, "WHAT TO WATCH"):strings.Index(text, "WHAT TO BUY")]
	for _, f := range o.Findings {
		said := strings.Join(strings.Fields(f.Sentence(units.US)), " ")
		sentences[f.Step+said]++
		if f.Section > 0 {
			sections[f.Step+said]++
			if at := f.When.In(o.Start.Location()).Format("Mon 2 Jan 15:04"); !strings.Contains(text, at) {
				t.Errorf("section %d of %s, %s, is not told", f.Section, f.Step, at)
			}
		}
	}
	several := 0
	for said, n := range sections {
		if n > 1 && n == sentences[said] {
			several++
		}
	}
	if several == 0 {
		t.Error("no finding of several sections: the check shows nothing")
	}
	for _, f := range o.Findings {
		said := strings.Join(strings.Fields(f.Sentence(units.US)), " ")
		other := 0
		for _, g := range o.Findings {
			if g.Sentence(units.US) == f.Sentence(units.US) && g.Step != f.Step {
				other++
			}
		}
		if n := strings.Count(text, said); sections[f.Step+said] > 1 && other == 0 && n != 1 {
			t.Errorf("said %d times: %s", n, said)
		}
	}
}
