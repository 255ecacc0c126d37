package climate_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// job is a heated room with a slab through a day of hourly weather, drawn from rng.
func job(t testing.TB, rng *rand.Rand) (climate.Room, climate.Weather) {
	f := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	hours := func(lo, hi float64) time.Duration { return time.Duration(f(lo, hi) * 3.6e12) }
	area := math.Exp(f(3, 7.6))
	r := climate.Room{Floor: units.Area(area), Volume: units.Volume(area * f(2.5, 8)), Envelope: units.Conductance(area * f(0.5, 4)), AirChanges: units.Rate(math.Exp(f(-2.3, 1.6))) * units.PerHour,
		Slab: onSoil(0.15, units.FilmCoefficient(f(4, 12))), Air: units.Celsius(f(0, 20)), RH: units.Fraction(f(.3, .9)), Surface: units.Celsius(f(0, 20)), Watch: climate.Watch{Margin: 3, Surface: units.Celsius(10)},
		Thermostat: []climate.Setting{{Temp: units.Celsius(f(10, 25))}, {At: hours(3, 10), Temp: units.Celsius(f(5, 25))}, {At: hours(12, 15)}},
		Heaters: []climate.Heater{{Fuel: propane(t), Max: units.Power(area * f(20, 200)), Unvented: rng.IntN(2) == 0, Efficiency: 0.8, Tank: units.Mass(area * f(0.01, 0.1))},
			{Max: units.Power(area * f(5, 20))}}}
	if rng.IntN(3) == 0 {
		from := hours(4, 20)
		r.Openings = []climate.Opening{{From: from, To: from + hours(0.1, 0.5), AirChanges: units.Rate(f(5, 60)) * units.PerHour}}
	}
	if rng.IntN(3) == 0 {
		r.Coats = []climate.WetCoat{{At: hours(1, 12), Area: r.Floor, Drying: climate.Drying{Water: 0.15, Convection: 3}}}
	}
	var w climate.Weather
	c, rh := f(-10, 15), f(.4, .9)
	for h := range 25 {
		w = append(w, climate.Reading{At: time.Duration(h) * time.Hour, Temp: units.Celsius(c), RH: units.Fraction(rh)})
		c += f(-3, 3)
		rh = min(max(rh+f(-.1, .1), .2), 1)
	}
	return r, w
}

// Common practice, no source: the doc comment's accuracy, against runs in steps of 5 s with a slab of 1 mK;
// the drawing is seeded, so that it is the same each time.
func TestRoomAccuracy(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	worst := 0.0
	for range 40 {
		r, w := job(t, rng)
		got, err := r.Forecast(w, 24*time.Hour, time.Hour)
		r.Slab.Accuracy = 0.001
		ref, err2 := r.Forecast(w, 24*time.Hour, 5*time.Second)
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		for i, s := range got.States {
			q := ref.States[720*i]
			worst = max(worst, math.Abs(float64(s.Air.Sub(q.Air))))
			if d := float64(s.Air.Sub(q.Air)); !(math.Abs(d) < 0.1) {
				t.Errorf("air %.3f K off at %v", d, s.At)
			}
			if d := float64(s.Surface.Sub(q.Surface)); !(math.Abs(d) < 0.03) {
				t.Errorf("surface %.3f K off at %v", d, s.At)
			}
			if d := float64(s.DewPoint.Sub(q.DewPoint)); !(math.Abs(d) < 0.1) {
				t.Errorf("dew point %.3f K off at %v", d, s.At)
			}
		}
		for _, e := range got.Events {
			near, off := time.Hour, 0.0
			for _, x := range ref.Events {
				if x.What == e.What && x.Heater == e.Heater {
					near = min(near, (x.At - e.At).Abs())
				}
			}
			q := ref.States[int(e.At/(5*time.Second))]
			switch e.What {
			case climate.MarginBroken, climate.MarginKept:
				off = float64(q.Margin) - 3
			case climate.Condensing, climate.NotCondensing:
				off = float64(q.Margin)
			case climate.SurfaceAbove, climate.SurfaceBelow:
				off = q.Surface.Celsius() - 10
			case climate.HeatersHold, climate.HeatersAtMaximum:
				set := r.Thermostat[0]
				if e.At >= r.Thermostat[1].At {
					set = r.Thermostat[1]
				}
				off = float64(q.Air.Sub(set.Temp))
			default:
				off = math.Inf(1)
			}
			if near > 5*time.Minute && !(math.Abs(off) < 0.1) {
				t.Errorf("%v: in short steps %v away, %.3f K off the limit", e, near, off)
			}
		}
	}
	if worst < 1e-3 {
		t.Errorf("worst %v K: the two runs do not differ", worst)
	}
}

// Weather that jumps from damp heat to dry cold, in a nanosecond or a minute, in
// a room with up to 100 air changes: the outcome of long steps is that of steps
// of 1 s, to 0.2 K of air (outside the accuracy stated for hourly weather), and never dry
// to nothing: the lowest dew point outdoors is the lowest indoors, but for the
// 0.3 K by which a second-order step shoots over.
func TestRoomWeatherJumps(t *testing.T) {
	for _, gap := range []time.Duration{1, time.Second, time.Minute} {
		for _, n := range []units.Rate{0.5, 5, 20, 100} {
			r := climate.Room{Volume: 100, Envelope: 10, AirChanges: n * units.PerHour, Air: units.Celsius(35), RH: 0.95}
			w := climate.Weather{{Temp: units.Celsius(35), RH: 0.95}, {At: 4 * time.Hour, Temp: units.Celsius(35), RH: 0.95}, {At: 4*time.Hour + gap, Temp: units.Celsius(-20), RH: 0.05}}
			long, err1 := r.Forecast(w, 6*time.Hour, 5*time.Minute)
			short, err2 := r.Forecast(w, 6*time.Hour, time.Second)
			if err1 != nil || err2 != nil {
				t.Fatal(err1, err2)
			}
			lowest, err := climate.Air{Temp: units.Celsius(-20), RH: 0.05}.DewPoint()
			if err != nil {
				t.Fatal(err)
			}
			for i, s := range long.States {
				if d := math.Abs(float64(s.Air.Sub(short.States[300*i].Air))); !(d < 0.2) {
					t.Errorf("jump in %v, %v air changes: %.3f K off at %v", gap, n/units.PerHour, d, s.At)
				}
				if !(s.DewPoint.Sub(lowest) > -0.3) {
					t.Errorf("jump in %v, %v air changes: dew point %v at %v, outdoors %v at least", gap, n/units.PerHour, s.DewPoint, s.At, lowest)
				}
			}
		}
	}
}

// A logger's readings every 10 s for twelve days, and one output: more than
// 100 000 stretches, each with few steps.
func TestRoomManyReadings(t *testing.T) {
	r := shop(t)
	var w climate.Weather
	for i := range 105_000 {
		w = append(w, climate.Reading{At: time.Duration(i) * 10 * time.Second, Temp: units.Celsius(5 + float64(i%2)), RH: 0.8})
	}
	span := w[len(w)-1].At
	if f, err := r.Forecast(w, span, 30*24*time.Hour); err != nil || len(f.States) != 2 || math.Abs(f.States[1].Air.Celsius()-15) > 1e-6 {
		t.Errorf("%v", err)
	}
}

// Thin coats in a gale give off what they have and not more, two at once too.
func TestRoomThinCoats(t *testing.T) {
	for _, water := range []units.Loading{1e-3, 0.01, 0.1} {
		for _, h := range []units.FilmCoefficient{1, 10, 100} {
			r := climate.Room{Volume: 300, Floor: 100, Envelope: 1000, AirChanges: 20 * units.PerHour, Air: units.Celsius(20), RH: 0.3, Slab: onSoil(0.15, 6)}
			for _, a := range []units.Area{30, 100} {
				r.Coats = append(r.Coats, climate.WetCoat{Area: a, Drying: climate.Drying{Water: water, Critical: 0.01, Convection: h}}, climate.WetCoat{At: time.Hour, Area: a, Drying: climate.Drying{Water: 2 * water, Critical: 1, Convection: h}})
			}
			f, err := r.Forecast(climate.Weather{{Temp: units.Celsius(20), RH: 0.3}}, 24*time.Hour, time.Hour)
			if err != nil {
				t.Fatal(err)
			}
			if d, all := float64(f.Balance.Dried), float64(water)*390; !(d <= all*(1+1e-9)) || h > 1 && d < 0.999*all {
				t.Errorf("%v, %v: %v dried of %v kg", water, h, d, all)
			}
		}
	}
}

// From damp heat to the driest cold at once, with 500 air changes more: water
// never runs below none.
func TestRoomDriestCold(t *testing.T) {
	for _, n := range []units.Rate{50, 200, 500} {
		r := climate.Room{Volume: 300, Envelope: 1000, AirChanges: 100 * units.PerHour, Air: units.Celsius(60), RH: 1, Openings: []climate.Opening{{From: 0, To: 10 * time.Hour, AirChanges: n * units.PerHour}}}
		w := climate.Weather{{Temp: units.Celsius(60), RH: 1}, {At: time.Hour, Temp: units.Celsius(60), RH: 1}, {At: time.Hour + 1, Temp: units.Celsius(-40), RH: 0.01}}
		f, err := r.Forecast(w, 3*time.Hour, time.Minute)
		if err != nil {
			t.Errorf("%v: %v", n, err)
			continue
		}
		for _, s := range f.States {
			if !(s.RH > 0) || s.DewPoint.IsNaN() {
				t.Errorf("%v: %+v", n, s)
			}
		}
	}
}

// A surface that is far from its air at the start does not shoot over.
func TestRoomStart(t *testing.T) {
	for _, h := range []units.FilmCoefficient{10, 1000, 1e5} {
		r := climate.Room{Volume: 1e5, Floor: 100, Envelope: 1e6, Air: units.Celsius(60), RH: 0.3, Surface: units.Celsius(-40), Slab: onSoil(0.15, h)}
		r.Slab.Deep = units.Temperature{}
		f, err := r.Forecast(climate.Weather{{Temp: units.Celsius(60), RH: 0.3}}, time.Minute, time.Second)
		if err != nil {
			t.Fatal(err)
		}
		for i, s := range f.States {
			if i > 0 && s.Surface.Less(f.States[i-1].Surface.Add(-0.01)) || units.Celsius(60.01).Less(s.Surface) {
				t.Errorf("film %v: %v at %v after %v", h, s.Surface, s.At, f.States[max(i-1, 0)].Surface)
			}
		}
	}
}
