package climate_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// The branches are those that forecasts from 0 with HeatStops give: the same
// equations by another way (no source needed).
func TestAfterStops(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 9))
	for n := range 24 {
		r, w := job(t, rng)
		stops := []time.Duration{0, 90 * time.Minute, 5*time.Hour + 22*time.Minute, 5*time.Hour + 22*time.Minute, 20 * time.Hour}
		const within, late = 30 * time.Hour, 15 * time.Minute
		step, all := late, 121
		if n%2 == 1 { // 2 h of 5 min, 28 h of 15 min
			step, all = 5*time.Minute, 1+24+112
		}
		var got [5][]climate.RoomState
		if err := r.AfterStops(w, stops, within, step, late, func(i int, s *climate.RoomState) bool {
			got[i] = append(got[i], *s)
			return i != 3 || len(got[i]) < 4
		}); err != nil {
			t.Fatal(err)
		}
		if len(got[3]) != 4 || len(got[4]) != all {
			t.Fatalf("%d and %d states, want 4 and %d", len(got[3]), len(got[4]), all)
		}
		for i, stop := range stops {
			var also []time.Duration
			for _, s := range got[i] {
				also = append(also, s.At)
			}
			f, err := r.HeatStops(stop).ForecastAt(w, stop+within, time.Hour, also...)
			if err != nil {
				t.Fatal(err)
			}
			for k, s := range got[i] {
				j := slices.IndexFunc(f.States, func(x climate.RoomState) bool { return x.At == s.At })
				at := time.Duration(k) * step
				if at > 2*time.Hour {
					at = 2*time.Hour + time.Duration(k-int(2*time.Hour/step))*late
				}
				if j < 0 || s.At != stop+at {
					t.Fatalf("state %d at %v", k, s.At)
				}
				x := f.States[j]
				if math.Abs(float64(x.Air.Sub(s.Air))) > 0.02 || math.Abs(float64(x.Surface.Sub(s.Surface))) > 0.01 || math.Abs(float64(x.RH-s.RH)) > 0.002 || k > 0 && s.Power != 0 {
					t.Fatalf("stop %v: at %v %v %v %v, want %v %v %v (0.02 K: errors of the steps)", stop, s.At, s.Air, s.Surface, s.RH, x.Air, x.Surface, x.RH)
				}
			}
		}
	}
	r, w := box(climate.Heater{Max: 100})
	never := func(int, *climate.RoomState) bool { t.Error("looked"); return false }
	for name, err := range map[string]error{
		"falling":  r.AfterStops(w, []time.Duration{2, 1}, time.Hour, time.Minute, time.Minute, never),
		"negative": r.AfterStops(w, []time.Duration{-1}, time.Hour, time.Minute, time.Minute, never),
		"far":      r.AfterStops(w, []time.Duration{math.MaxInt64}, time.Hour, time.Minute, time.Minute, never),
		"no step":  r.AfterStops(w, []time.Duration{0}, time.Hour, 0, time.Hour, never),
		"no late":  r.AfterStops(w, []time.Duration{0}, time.Hour, time.Minute, 0, never),
		"no time":  r.AfterStops(w, []time.Duration{0}, -time.Hour, time.Minute, time.Minute, never),
	} {
		if !errors.Is(err, units.ErrRange) {
			t.Errorf("%s: %v, want a range error", name, err)
		}
	}
	if err := r.AfterStops(w, nil, time.Hour, time.Minute, time.Minute, never); err != nil {
		t.Error(err)
	}
}

// Comparison of solutions (a maximum principle, no source needed): a room whose
// heat stopped earlier is never warmer afterwards, nor is its slab; and its
// vapour, with vented heat and no coat that dries, is the same.
func TestEarlierStopIsColder(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	for range 10 {
		r, w := job(t, rng)
		r = r.Vented()
		r.Coats = nil // in the cold they give off less
		var first, later []climate.RoomState
		stops := []time.Duration{3 * time.Hour, 9 * time.Hour}
		if err := r.AfterStops(w, stops, 40*time.Hour, time.Hour, time.Hour, func(i int, s *climate.RoomState) bool {
			if i == 0 {
				first = append(first, *s)
			} else {
				later = append(later, *s)
			}
			return true
		}); err != nil {
			t.Fatal(err)
		}
		for k, s := range later[:len(later)-6] {
			x := first[k+6]
			if x.At != s.At || x.Air.Sub(s.Air) > 0.02 || x.Surface.Sub(s.Surface) > 0.01 || math.Abs(float64(x.DewPoint.Sub(s.DewPoint))) > 0.02 {
				t.Fatalf("at %v stopped earlier %v %v %v, later %v %v %v", s.At, x.Air, x.Surface, x.DewPoint, s.Air, s.Surface, s.DewPoint)
			}
		}
	}
}

// The thermostat after a pause is that of the room; by hand, no source needed.
func TestHeatPauses(t *testing.T) {
	set := func(h float64, c float64) climate.Setting {
		s := climate.Setting{At: time.Duration(h * float64(time.Hour))}
		if c != 0 {
			s.Temp = units.Celsius(c)
		}
		return s
	}
	r := climate.Room{Thermostat: []climate.Setting{set(0, 15), set(2, 30), set(4, 0), set(6, 20)}}
	for _, tc := range []struct {
		from, to float64
		want     []climate.Setting
	}{
		{1, 1.5, []climate.Setting{set(0, 15), set(1, 0), set(1.5, 15), set(2, 30), set(4, 0), set(6, 20)}},
		{1, 3, []climate.Setting{set(0, 15), set(1, 0), set(3, 30), set(4, 0), set(6, 20)}},
		{0, 2, []climate.Setting{set(0, 0), set(2, 30), set(4, 0), set(6, 20)}},
		{3, 9, []climate.Setting{set(0, 15), set(2, 30), set(3, 0), set(9, 20)}},
		{3, 5, []climate.Setting{set(0, 15), set(2, 30), set(3, 0), set(5, 0), set(6, 20)}},
	} {
		h := func(x float64) time.Duration { return time.Duration(x * float64(time.Hour)) }
		if got := r.HeatPauses(h(tc.from), h(tc.to)).Thermostat; !slices.Equal(got, tc.want) {
			t.Errorf("off from %v to %v: %v, want %v", tc.from, tc.to, got, tc.want)
		}
	}
	if r.Thermostat[1] != set(2, 30) || len(r.Thermostat) != 4 {
		t.Error("the room was changed")
	}
}

// The branches of a room in which coats dry and the slab gives off moisture are
// the forecasts with HeatStops: coats laid before, at and after the stop, covered
// before and after it, one that dried before the start in part. A branch takes
// nothing from the run that it branches off nor from the others. To what a
// forecast says of itself where humidity jumps: air and dew point 0.1 K, the surface
// 0.03 K. Source: the same equations by another way.
func TestAfterStopsDrying(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 1))
	hours := func(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }
	for range 8 {
		r, w := job(t, rng)
		wet := climate.Drying{Water: units.Loading(0.05 + 0.15*rng.Float64()), Convection: units.FilmCoefficient(1 + 4*rng.Float64())}
		stops := []time.Duration{0, hours(2), hours(5.3), hours(5.3), hours(9), hours(20)}
		third := r.Floor / 3
		r.Coats = []climate.WetCoat{
			{At: -time.Hour, Area: third, Drying: wet, Gone: 0.4},
			{At: hours(1.5), Area: third, Drying: wet},
			{At: hours(1.5), Area: third, Drying: wet, Covered: hours(4)},
			{At: hours(5), Area: third, Drying: wet, Covered: hours(9)},
			{At: hours(5.3), Area: third, Drying: wet, Covered: hours(30)},
			{At: hours(12), Area: third, Drying: wet},
		}
		r.Emissions = []climate.Emission{{To: hours(5.3), Area: third, Flux: 2e-7}, {To: hours(25), Area: third, Flux: 4e-7}}
		const within, step = 24 * time.Hour, 15 * time.Minute
		got := make([][]climate.RoomState, len(stops))
		if err := r.AfterStops(w, stops, within, step, step, func(i int, s *climate.RoomState) bool {
			got[i] = append(got[i], *s)
			return true
		}); err != nil {
			t.Fatal(err)
		}
		for i, stop := range stops {
			f, err := r.HeatStops(stop).ForecastAt(w, stop+within, time.Hour, func() (also []time.Duration) {
				for _, s := range got[i] {
					also = append(also, s.At)
				}
				return also
			}()...)
			if err != nil {
				t.Fatal(err)
			}
			gave, should := 0.0, 0.0
			for k, s := range got[i] {
				j := slices.IndexFunc(f.States, func(x climate.RoomState) bool { return x.At == s.At })
				x := f.States[j]
				if math.Abs(float64(x.Air.Sub(s.Air))) > 0.1 || math.Abs(float64(x.Surface.Sub(s.Surface))) > 0.03 || math.Abs(float64(x.DewPoint.Sub(s.DewPoint))) > 0.1 {
					t.Fatalf("stop %v: at %v air %v, surface %v, dew point %v; want %v, %v, %v", stop, s.At, s.Air, s.Surface, s.DewPoint, x.Air, x.Surface, x.DewPoint)
				}
				if k > 0 {
					gave += float64(s.Evaporation) * step.Seconds()
					should += float64(x.Evaporation) * step.Seconds()
				}
			}
			if math.Abs(gave-should) > 0.01*float64(wet.Water)*float64(third) {
				t.Errorf("stop %v: %.4f kg evaporate in a day, want %.4f (1 %% of a coat)", stop, gave, should)
			}
		}
		if !slices.Equal(got[2], got[3]) {
			t.Error("two branches at one stop differ: the first left something behind")
		}
	}
}

// Stops asked for afterwards are those that AfterStops gives from the beginning: the
// same equations by another way (no source needed); and only rising ones from the
// first stop on are taken.
func TestAfterStopsAnd(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 9))
	var stops []time.Duration
	for i := range 20 {
		stops = append(stops, time.Duration(i)*time.Hour)
	}
	again := []time.Duration{30 * time.Minute, 7*time.Hour + 30*time.Minute, 8 * time.Hour, 17*time.Hour + 15*time.Minute, 25 * time.Hour}
	const within, step = 6 * time.Hour, 15 * time.Minute
	for range 8 {
		r, w := job(t, rng)
		got, want := map[int][]climate.RoomState{}, map[int][]climate.RoomState{}
		err := r.AfterStopsAnd(w, stops, within, step, step, func(i int, s *climate.RoomState) bool { got[i] = append(got[i], *s); return true }, func() []time.Duration { return again })
		if err != nil {
			t.Fatal(err)
		}
		if err := r.AfterStops(w, again, within, step, step, func(i int, s *climate.RoomState) bool { want[i] = append(want[i], *s); return true }); err != nil {
			t.Fatal(err)
		}
		for i := range again {
			a, b := got[len(stops)+i], want[i]
			if len(a) != len(b) || len(a) != 25 {
				t.Fatalf("stop %v: %d and %d states", again[i], len(a), len(b))
			}
			for k := range a {
				if d := math.Abs(a[k].Air.Kelvin() - b[k].Air.Kelvin()); a[k].At != b[k].At || !(d < 0.02) {
					t.Errorf("stop %v at %v: air %g K apart", again[i], a[k].At, d)
				}
			}
		}
		for _, bad := range [][]time.Duration{{2, 1}, {-1}, {math.MaxInt64}} {
			if err := r.AfterStopsAnd(w, stops, 0, step, step, func(int, *climate.RoomState) bool { return false }, func() []time.Duration { return bad }); !errors.Is(err, units.ErrRange) {
				t.Errorf("more stops at %v: %v", bad, err)
			}
		}
	}
}
