package systems_test

import (
	"strings"
	"testing"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// A cold store of nowhere, heated while it is coated.
const heatedStore = `name = "Cold store"
recipe = "methacrylate-broadcast"
start = "2026-02-06T06:00:00Z"
[areas.store]
length = "10 m"
width = "8 m"
uptake = "50 um"
profile = "80 um"
[grind]
grits = ["16"]
[crew]
hands = 4
from = "06:00"
to = "20:00"
[room]
height = "4 m"
envelope = "old-insulated"
air = "4 °C"
rh = "60 %"
[room.slab]
thickness = "120 mm"
under = "sand-gravel"
deep = "8 °C"
surface = "6 °C"
[room.thermostat]
"0h" = "12 °C"
[room.heaters.torpedo]
class = "propane-unvented"
max = "30 kW"
tank = "47 kg"
[outdoors.air]
"0h" = "2 °C"
"96h" = "2 °C"
[outdoors.rh]
"0h" = "80 %"
"96h" = "80 %"
`

// An open flame beside methacrylate is a stop for each of its coats, beside a
// coat with solvent it is to be watched, and none is found once the tank is dry,
// of other resins, or of heat whose flame is not in the space. Source: 29 CFR
// 1926.154 and the cautions of the materials ("no open heater"); common practice.
func TestFlameInVapour(t *testing.T) {
	const tank = `tank = "47 kg"`
	rolled := strings.Replace(heatedStore, "methacrylate-broadcast", "roll-coat", 1) + "[steps.coat-1]\nmaterial = \"epoxy-standard\"\n"
	for _, tc := range []struct {
		name, job string
		want      string // steps with their severity
	}{
		{"unvented", heatedStore, "prime stop, body stop, seal stop"},
		{"from the main", strings.Replace(strings.Replace(heatedStore, tank, "", 1), "propane", "natural-gas", 1), "prime stop, body stop, seal stop"},
		{"dry before the first coat", strings.Replace(heatedStore, tank, `tank = "0.5 kg"`, 1), ""},
		{"vented", strings.Replace(heatedStore, "unvented", "vented", 1), ""},
		{"electric", strings.Replace(strings.Replace(heatedStore, "propane-unvented", "electric", 1), tank, "", 1), ""},
		{"one coat with solvent", rolled + "[steps.coat-2]\nmaterial = \"polyaspartic\"\n", "coat-2 watch"},
		{"none with solvent", rolled + "[steps.coat-2]\nskip = true\n", ""},
	} {
		var got []string
		o := planOf(t, tc.job)
		for _, f := range o.Findings {
			if f.Key != "flame-in-vapour" {
				continue
			}
			got = append(got, f.Step+" "+string(f.Severity))
			for _, w := range o.Schedule {
				if w.Step == f.Step && (!w.Start.Equal(*f.When) || f.Until == nil || !f.Until.After(w.End)) {
					t.Errorf("%s: %s from %v to %v, work %v to %v", tc.name, f.Step, f.When, f.Until, w.Start, w.End)
				}
			}
			if s := f.Sentence(units.SI); !strings.Contains(s, "torpedo is an open flame") || !strings.Contains(s, "put it out") {
				t.Errorf("%s: %s", tc.name, s)
			}
		}
		if s := strings.Join(got, ", "); s != tc.want {
			t.Errorf("%s: %q, want %q\n%v", tc.name, s, tc.want, keys(o))
		}
	}
}

func keys(o *systems.Outcome) (all []string) {
	for _, f := range o.Findings {
		all = append(all, f.Step+" "+f.Key)
	}
	return all
}

// A finding has its own times: changing one does not move the step. By definition of
// a copy; common practice, no source.
func TestFlameHasItsOwnTimes(t *testing.T) {
	o := planOf(t, heatedStore)
	n := 0
	for i := range o.Findings {
		f := &o.Findings[i]
		if f.Key != "flame-in-vapour" {
			continue
		}
		n++
		for k := range o.Schedule {
			if f.When == &o.Schedule[k].Start {
				t.Errorf("the finding of %s shares its time with the schedule", f.Step)
			}
		}
	}
	if n == 0 {
		t.Error("no flame was found")
	}
}
