package systems

import (
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// A space changed after now keeps its past, and its forecast is another from the
// change on: what a what-if asks. Common practice, no source.
func TestElsewhereKeepsThePast(t *testing.T) {
	c, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	text := "now = \"20h\"\n" + demo + "\n[temperatures]\nlog = \"\"\"\ntime,slab (°F),air (°F),rh (%)\n0h,44,46,70\n4h,50,64,40\n12h,53,64,40\n20h,54.5,64,40\n\"\"\"\n"
	j, err := ReadJob(strings.NewReader(text), c)
	if err != nil {
		t.Fatal(err)
	}
	k, err := j.elsewhere(func(s *Site) { s.Room = s.Room.HeatStops(30 * time.Hour) })
	if err != nil {
		t.Fatal(err)
	}
	for _, at := range []time.Duration{0, 2 * time.Hour, 12 * time.Hour, 20 * time.Hour} {
		if j.Weather.Slab.At(at) != k.Weather.Slab.At(at) || j.Weather.Air.At(at) != k.Weather.Air.At(at) {
			t.Errorf("the past at %v is another", at)
		}
	}
	if want := units.Fahrenheit(53).Kelvin(); k.Weather.Slab.At(12*time.Hour) != want {
		t.Errorf("slab at 12 h %.3f K, read %.3f", k.Weather.Slab.At(12*time.Hour), want)
	}
	if d := j.Weather.Slab.At(50*time.Hour) - k.Weather.Slab.At(50*time.Hour); d < 1 {
		t.Errorf("20 h without heat cool the slab by %.2f K only", d)
	}
	if n, m := len(k.Site.Forecast.States), int(k.Site.Span/k.Site.Steps)+1; n != m {
		t.Errorf("%d states, want %d: every quarter of an hour", n, m)
	}
	for i, x := range k.Site.Forecast.States {
		if x.At != time.Duration(i)*k.Site.Steps {
			t.Fatalf("state %d at %v", i, x.At)
		}
	}
}

// A coat laid before a leg keeps the water that has not left: the oldest dries
// first. By hand.
func TestDried(t *testing.T) {
	coats := []climate.WetCoat{{At: -time.Hour, Area: 10, Drying: climate.Drying{Water: 0.1}}, {At: -5 * time.Hour, Area: 10, Drying: climate.Drying{Water: 0.1}}, {At: time.Hour, Area: 10, Drying: climate.Drying{Water: 0.1}}}
	dried(coats, 1.4) // kg of the 2 kg in the first two
	for i, want := range []units.Loading{0.06, 0.001, 0.1} {
		if d := coats[i].Water - want; d > 1e-12 || d < -1e-12 {
			t.Errorf("coat %d has %v, want %v", i, coats[i].Water, want)
		}
	}
}
