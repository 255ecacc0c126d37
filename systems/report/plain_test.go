package report_test

import (
	"os"
	"strings"
	"testing"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// damp is a tight garage of nowhere with an unvented heater, whose air takes more
// water than it can hold.
const damp = `name = "Garage"
recipe = "flake-broadcast"
start = "2026-11-28T08:00:00-05:00"
[areas.a]
length = "22 ft"
width = "12 ft"
[crew]
hands = 2
from = "08:00"
to = "18:00"
[room]
height = "8 ft"
envelope = "insulated"
air_changes = "0.1 1/h"
air = "38 °F"
rh = "75 %"
[room.slab]
thickness = "4 in"
under = "clay-silt"
deep = "50 °F"
surface = "40 °F"
[room.thermostat]
"0h" = "65 °F"
[room.heaters.torpedo]
class = "propane-unvented"
max = "40000 Btu/h"
tank = "20 lb"
[outdoors.air]
"0h" = "34 °F"
"120h" = "28 °F"
[outdoors.rh]
"0h" = "80 %"
"120h" = "80 %"
[materials.epoxy-standard.kits.pail]
price = 195
[materials.epoxy-standard.kits.drum]
price = 870
[prices]
currency = "acorns"
`

// What a floor layer reads: the units asked for in every line, volatile compounds
// as labels give them (g/L: 40 CFR 59, the number of kg/m3), findings in words with
// what to do about them, no humidity that air cannot have, the place's money, and
// by which clock. Otherwise common practice, no source.
func TestPlainWords(t *testing.T) {
	c, err := systems.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	o, _ := planned(t, c, damp)
	us, si := text(t, o, units.US), text(t, o, units.SI)
	for _, tc := range []struct{ in, want, not string }{
		{si, "wet film by comb every 9.29 m2", "ft2"},
		{us, "wet film by comb every 100 ft2", "m2"},
		{si, "volatile organic compounds 12 g/L as applied", "kg/m3"},
		{us, "volatile organic compounds 0.1 lb/gal as applied", "g/L"},
		{si, "slab too cold before tack-free", "slab-too-cold"},
		{us, "acorns\n", ""},
		{us, ">100 %", " 145 %"},
		{us, "Above 100 % the air fogs", ""},
		{us, "all times at UTC-05:00", ""},
		{us, "Warm the slab first, or take a chemistry for the cold.", ""},
	} {
		if !strings.Contains(strings.Join(strings.Fields(tc.in), " "), strings.TrimSpace(tc.want)) || tc.not != "" && strings.Contains(tc.in, tc.not) {
			t.Errorf("want %q and no %q in\n%s", tc.want, tc.not, tc.in)
		}
	}
	demo, err := os.ReadFile("../demo/sloe-lane.toml")
	if err != nil {
		t.Fatal(err)
	}
	o, _ = planned(t, c, strings.Replace(string(demo), `most = "100 g/L"`, `most = "20 g/L"`, 1))
	if got := strings.Join(strings.Fields(text(t, o, units.SI)), " "); !strings.Contains(got, "as applied are 87.5 g/L; at most 20 g/L") || strings.Contains(got, ">100 %") {
		t.Errorf("the limit of volatile compounds in SI:\n%s", got)
	}
}
