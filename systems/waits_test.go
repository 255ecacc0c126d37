package systems_test

import (
	"strings"
	"testing"
)

// A coat kept back first by a cold slab and then by the dew point goes down when
// the dew point lets it: that is what the plan says it waits for. By hand: the slab
// passes 10 °C after 8 h; 15 °C of slab and 20 °C of air keep 3 K of margin once
// their humidity is below 60 % (dew point 12.0 °C). Common practice, no source.
func TestWaitsForTheLast(t *testing.T) {
	o := planOf(t, `name = "Store"
recipe = "roll-coat"
start = "2026-05-04T07:00:00Z"
[areas.a]
area = "40 m2"
[crew]
hands = 2
from = "00:00"
to = "24:00"
[steps.coat-1]
material = "epoxy-standard"
[temperatures.slab]
"0h" = "5 °C"
"8h" = "10 °C"
"16h" = "15 °C"
"200h" = "15 °C"
[temperatures.air]
"0h" = "20 °C"
"200h" = "20 °C"
[temperatures.rh]
"0h" = "80 %"
"30h" = "80 %"
"40h" = "40 %"
"200h" = "40 %"
`)
	for _, w := range o.Schedule {
		if w.Step == "coat-1" && (!strings.HasPrefix(w.Binding, "waits: slab too close to the dew point before") || w.Margin < 2.99) {
			t.Errorf("%s: %s, margin %v", w.Start, w.Binding, w.Margin)
		}
	}
}
