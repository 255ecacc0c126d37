package systems_test

import (
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/systems"
)

// Nobody walks on, grinds or loads a coat that is still wet, however damp the air
// holds it and however soon its sheet's table of temperature alone would let them; and
// a floor that never comes to tack-free is never handed over. Common practice, no source.
func TestNobodyWalksOnAWetCoat(t *testing.T) {
	c := builtin(t)
	for _, tc := range []struct {
		rh          string
		held, never bool
	}{
		{"\"0h\" = \"50 %\"\n", false, false},
		{"\"0h\" = \"60 %\"\n\"90m\" = \"60 %\"\n\"2h\" = \"92 %\"\n\"40h\" = \"92 %\"\n\"41h\" = \"50 %\"\n", true, false},
		{"\"0h\" = \"60 %\"\n\"90m\" = \"60 %\"\n\"2h\" = \"92 %\"\n", false, true},
	} {
		rh := tc.rh
		text := `
name = "damp"
recipe = "roll-coat@1.0.0"
start = "2026-04-07T07:00:00-04:00"
[areas.a]
area = "300 ft2"
uptake = "2 mil"
[crew]
hands = 3
from = "07:00"
to = "18:00"
[temperatures.slab]
"0h" = "62 °F"
"240h" = "62 °F"
[temperatures.air]
"0h" = "64 °F"
"240h" = "64 °F"
[temperatures.rh]
` + rh + `
[steps.coat-1]
material = "epoxy-water"
[steps.coat-2]
material = "epoxy-water"
`
		o := planText(t, text, c)
		held, never := false, false
		for _, w := range o.Schedule {
			at := map[string]*time.Time{}
			for _, e := range w.Events {
				at[e.Event] = e.At
			}
			free, ok := at[systems.TackFree]
			if !ok {
				continue
			}
			for _, event := range []string{systems.Grindable, systems.Foot, systems.Service} {
				x, given := at[event]
				switch {
				case !given:
				case free == nil:
					if never = true; x != nil {
						t.Errorf("%s: %s is at %s %v and never tack-free", rh, w.Step, event, x)
					}
				case x == nil || x.Before(*free):
					t.Errorf("%s: %s is at %s %v and tack-free %v", rh, w.Step, event, x, free)
				case x.Equal(*free):
					held = true
					if why, err := o.Explain("steps." + w.Step + "." + event); err != nil || !strings.Contains(why.Formula, "not before it is tack-free") {
						t.Errorf("%s: %v %v", rh, why, err)
					}
				}
			}
		}
		if tc.held != held || tc.never != never || never != (o.Foot == nil) {
			t.Errorf("%s: held %t, never %t, foot %v", rh, held, never, o.Foot)
		}
	}
}
