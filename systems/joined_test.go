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
	c := builtin(t)
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

// A coat laid before a leg keeps the water that the legs before left in it; one
// laid in it or later has all. By hand.
func TestDried(t *testing.T) {
	wet := climate.Drying{Water: 0.1}
	coats := []climate.WetCoat{{At: -time.Hour, Area: 10, Drying: wet}, {At: -5 * time.Hour, Area: 10, Drying: wet}, {Area: 10, Drying: wet}, {At: time.Hour, Area: 10, Drying: wet}}
	dried(coats, []climate.CoatWater{{Left: 0.06}, {Left: 0}, {Left: 0.1}, {Left: 0.1}})
	for i, want := range []units.Fraction{0.4, 1, 0, 0} {
		if d := coats[i].Gone - want; d > 1e-12 || d < -1e-12 {
			t.Errorf("coat %d gave off %v, want %v", i, coats[i].Gone, want)
		}
	}
}

// A forecast in legs, of which nothing but the tank was read as it was, is the
// forecast in one run, with coats laid before now, at now and after it, covered
// before, at and after it, and with a slab that gives off moisture. What coats and
// slab give is what the air takes, leg by leg. Source: the forecast in one run, from
// which a leg differs by the step that it begins with.
func TestLegsDryAsOneRun(t *testing.T) {
	c := builtin(t)
	text := strings.Replace(demo, `tank = "150 lb"`, `tank = "1500 lb"`, 1)
	one, err := ReadJob(strings.NewReader(text), c)
	if err != nil {
		t.Fatal(err)
	}
	const now = 50 * time.Hour
	const area, water, flux = 30, 0.12, 2e-7
	wet := climate.Drying{Water: water, Convection: 3}
	what := coupling{emissions: []emission{{Emission: climate.Emission{To: 30 * time.Hour, Area: area, Flux: flux}}, {Emission: climate.Emission{To: now, Area: area, Flux: flux}}, {Emission: climate.Emission{To: 60 * time.Hour, Area: area, Flux: flux}}}}
	for _, at := range [][2]time.Duration{{20 * time.Hour, 21 * time.Hour}, {44 * time.Hour, 0}, {49 * time.Hour, 0}, {49 * time.Hour, now}, {49 * time.Hour, 51 * time.Hour}, {now, 0}, {now, now}, {70 * time.Hour, 0}} {
		what.coats = append(what.coats, dryingCoat{WetCoat: climate.WetCoat{At: at[0], Covered: at[1], Area: area, Drying: wet}})
	}
	want, err := one.Site.with(what, one.Site.Span, nil)
	if err != nil {
		t.Fatal(err)
	}
	legs, err := ReadJob(strings.NewReader("now = \"50h\"\n"+text), c)
	if err != nil {
		t.Fatal(err)
	}
	legs.Site.past = &sitePast{now: now, left: map[int]*units.Mass{0: &want.Forecast.States[now/want.Steps].Fuel[0]}}
	got, err := legs.Site.with(what, legs.Site.Span, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Forecast.States) != len(want.Forecast.States) || got.last.from != now {
		t.Fatalf("%d states, the last leg from %v", len(got.Forecast.States), got.last.from)
	}
	for i, x := range got.Forecast.States {
		y := want.Forecast.States[i]
		if d, e := float64(x.Surface.Sub(y.Surface)), float64(x.DewPoint.Sub(y.DewPoint)); d > 1e-4 || d < -1e-4 || e > 1e-3 || e < -1e-3 {
			t.Errorf("%v: surface %.3f K, dew point %.3f K off", x.At, d, e)
		}
	}
	given := 0.0
	for i, x := range got.Forecast.Coats {
		y := want.Forecast.Coats[i]
		if d := float64(x.Left-y.Left) / water; d > 1e-4 || d < -1e-4 || x.IsDry != y.IsDry || (x.Dry-y.Dry).Abs() > time.Second {
			t.Errorf("coat %d: %+v, in one run %+v", i, x, y)
		}
		if off := float64(x.Given) + area*float64(x.Left) - area*water; off > 1e-9 || off < -1e-9 {
			t.Errorf("coat %d: %+v of %v kg", i, x, area*water)
		}
		given += float64(x.Given)
	}
	b := got.Forecast.Balance
	for name, d := range map[string]float64{
		"coats": given - float64(b.Dried),
		"slab":  float64(b.Emitted) - flux*area*140*3600,
		"air":   float64(b.Dried + b.Emitted + b.Burned - b.Vented - b.InTheAir),
	} {
		if d > 1e-6 || d < -1e-6 {
			t.Errorf("%s: %v kg off in %+v", name, d, b)
		}
	}
	if x := got.Forecast.Coats[2]; !(x.IsDry && x.Dry > now) {
		t.Errorf("a coat laid an hour before now is not dry some time after it, as the test wants it: %+v", x)
	}
}
