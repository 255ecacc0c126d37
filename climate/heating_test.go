package climate_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// box is a room without a slab, whose surface is its air: 1 m3 and 1 W/K to
// outdoors at 10 °C, so that all can be done by hand.
func box(heaters ...climate.Heater) (climate.Room, climate.Weather) {
	return climate.Room{Volume: 1, Envelope: 1, Air: units.Celsius(10), RH: 0.5, Thermostat: []climate.Setting{{Temp: units.Celsius(40)}}, Heaters: heaters},
		climate.Weather{{Temp: units.Celsius(10), RH: 0.5}}
}

// heats is box's time constant, air of 10 °C: rho cp V/UA.
const heats = 101325 / (287.042 * 283.15) * 1006 // s

// In the steady state the heat is UA dT, and on the way there
// UA dT/(1 - exp(-t/tau)), by hand; the doc comment's 0.1 %, and as much again for the forecast.
func TestHeaterForByHand(t *testing.T) {
	p := propane(t)
	lhv := float64(p.LHV / p.HHV)
	first := func(h ...climate.Heater) []climate.Heater { return h }
	for name, tc := range map[string]struct {
		heaters   []climate.Heater
		envelope  units.Conductance
		surface   float64
		by, until time.Duration
		want      float64
	}{
		"10 W":                       {first(climate.Heater{}), 1, 20, 10 * time.Hour, 12 * time.Hour, 10},
		"2 W":                        {first(climate.Heater{}), 1, 12, 10 * time.Hour, 10 * time.Hour, 2},
		"on the way":                 {first(climate.Heater{}), 1, 20, 20 * time.Minute, time.Hour, 10 / (1 - math.Exp(-1200/heats))},
		"on the way, no round hours": {first(climate.Heater{}), 1, 20, 67 * time.Minute, 67 * time.Minute, 10 / (1 - math.Exp(-4020/heats))},
		"30 s":                       {first(climate.Heater{}), 1, 20, 30 * time.Second, 30 * time.Second, 10 / (1 - math.Exp(-30/heats))},
		"the second gives 4 W":       {first(climate.Heater{}, climate.Heater{Max: 4}), 1, 20, 10 * time.Hour, 12 * time.Hour, 6},
		"the second has no fuel":     {first(climate.Heater{}, climate.Heater{Fuel: p, Unvented: true, Max: 4}), 1, 20, 10 * time.Hour, 12 * time.Hour, 10 - 4*lhv},
		"unvented propane":           {first(climate.Heater{Fuel: p, Unvented: true, Tank: 1e-3}), 1, 20, 10 * time.Hour, 12 * time.Hour, 10 / lhv},
		"heat pump":                  {first(climate.Heater{Efficiency: 3}), 1, 30, 10 * time.Hour, 12 * time.Hour, 20. / 3},
		"20 MW":                      {first(climate.Heater{}), 1e6, 30, time.Hour, time.Hour, 20e6},
		"85 % of 100 MW":             {first(climate.Heater{Efficiency: 0.3}), 1e6, 35.5, time.Hour, time.Hour, 85e6},
	} {
		r, w := box(tc.heaters...)
		r.Envelope = tc.envelope
		got, f, err := r.HeaterFor(w, units.Celsius(tc.surface), tc.by, tc.until)
		if err != nil || math.Abs(float64(got)/tc.want-1) > 2e-3 {
			t.Errorf("%s: %v, %v; want %v W", name, got, err, tc.want)
			continue
		}
		if v, err := f.Surfaces().At(tc.by); err != nil || v.Celsius() < tc.surface {
			t.Errorf("%s: the forecast is at %v, %v; want %v °C", name, v, err, tc.surface)
		}
	}
}

// The power found holds the surface and 1 % less does not, in rooms with slabs
// through a day of weather; where none is found, ten times as much as could be
// does not do either.
func TestHeaterForHolds(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	found, none := 0, 0
	for range 40 {
		r, w := job(t, rng)
		r.Thermostat = r.Thermostat[:1]
		want := r.Surface.Add(units.TempDelta(8*rng.Float64() - 2))
		by := time.Duration((4 + 12*rng.Float64()) * 3.6e12).Round(15 * time.Minute)
		p, f, err := r.HeaterFor(w, want, by, by+4*time.Hour)
		if errors.Is(err, climate.ErrNotHeld) {
			none++
			if low, _, err := f.LowestSurface(by, by+4*time.Hour); err != nil || !low.Less(want) {
				t.Errorf("not held, but the surface is %v, %v asked: %v", low, want, err)
			}
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		if low, _, err := f.LowestSurface(by, by+4*time.Hour); err != nil || low.Less(want) {
			t.Errorf("held by %v, but down to %v of %v: %v", p, low, want, err)
		}
		if p == 0 {
			continue
		}
		found++
		for _, tc := range []struct {
			share units.Power
			holds bool
		}{{1, true}, {0.99, false}} {
			s := r.Endless()
			s.Heaters[0].Max = max(1, p*tc.share)
			f, err := s.Forecast(w, by+4*time.Hour, 15*time.Minute)
			if err != nil {
				t.Fatal(err)
			}
			if low, _, err := f.LowestSurface(by, by+4*time.Hour); err != nil || low.Less(want) == tc.holds {
				t.Errorf("%v of %v: down to %v of %v: %v", tc.share, p, low, want, err)
			}
		}
	}
	if found < 8 || none < 3 {
		t.Errorf("%d powers found, %d times none: the drawing tests nothing", found, none)
	}
}

func TestHeaterForRefusals(t *testing.T) {
	r, w := box(climate.Heater{})
	c20 := units.Celsius(20)
	if p, f, err := r.HeaterFor(w, units.Celsius(10), time.Hour, 2*time.Hour); err != nil || p != 0 || f == nil {
		t.Errorf("warm already: %v, %v; want 0", p, err)
	}
	low := r
	low.Thermostat = []climate.Setting{{Temp: units.Celsius(19)}}
	off := r
	off.Thermostat = nil
	late := r
	late.Thermostat = []climate.Setting{{At: 3 * time.Hour, Temp: units.Celsius(40)}}
	for name, r := range map[string]climate.Room{"set too low": low, "off": off, "on too late": late} {
		if p, f, err := r.HeaterFor(w, c20, time.Hour, 2*time.Hour); !errors.Is(err, climate.ErrNotHeld) || !math.IsNaN(float64(p)) || f == nil {
			t.Errorf("%s: %v, %v; want ErrNotHeld", name, p, err)
		}
		if _, _, err := r.HeaterFor(w, c20, 47*time.Second, 47*time.Second); !errors.Is(err, climate.ErrNotHeld) {
			t.Errorf("%s, 47 s: %v; want ErrNotHeld", name, err)
		}
	}
	none := r
	none.Heaters = nil
	bad := r
	bad.Volume = 0
	for name, err := range map[string]error{
		"no heater":     third(none.HeaterFor(w, c20, 0, time.Hour)),
		"before 0":      third(r.HeaterFor(w, c20, -1, time.Hour)),
		"until before":  third(r.HeaterFor(w, c20, 2, 1)),
		"zero surface":  third(r.HeaterFor(w, units.Temperature{}, 0, time.Hour)),
		"surface NaN":   third(r.HeaterFor(w, units.NaNTemperature(), 0, time.Hour)),
		"no weather":    third(r.HeaterFor(nil, c20, 0, time.Hour)),
		"no room":       third(bad.HeaterFor(w, c20, 0, time.Hour)),
		"200 years":     third(r.HeaterFor(w, c20, 0, math.MaxInt64)),
		"fall, stop":    second(r.FallAfter(w, -1, time.Hour)),
		"fall, within":  second(r.FallAfter(w, time.Hour, 0)),
		"fall, too far": second(r.FallAfter(w, math.MaxInt64, math.MaxInt64)),
		"fall, room":    second(bad.FallAfter(w, time.Hour, time.Hour)),
		"fuel, span":    second(r.FuelFor(w, 0)),
		"fuel, weather": second(r.FuelFor(nil, time.Hour)),
		"cost, span":    third(r.UnventedCost(w, -time.Hour)),
		"cost, room":    third(bad.UnventedCost(w, time.Hour)),
	} {
		if !errors.Is(err, units.ErrRange) {
			t.Errorf("%s: %v; want a range error", name, err)
		}
	}
	if m, err := r.FuelFor(nil, time.Hour); err == nil || !math.IsNaN(float64(m[0]+m[1]+m[2]+m[3])) {
		t.Errorf("fuel %v beside %v; want NaN", m, err)
	}
	if d, err := r.FallAfter(nil, 0, time.Hour); err == nil || !math.IsNaN(float64(d)) {
		t.Errorf("fall %v beside %v; want NaN", d, err)
	}
	if a, b, err := r.UnventedCost(nil, time.Hour); err == nil || !math.IsNaN(float64(a)) || !math.IsNaN(float64(b)) {
		t.Errorf("cost %v, %v beside %v; want NaN", a, b, err)
	}
}

func third[A, B any](_ A, _ B, err error) error { return err }

// A box held at 40 °C cools by its time constant, whenever the heat stops; 0.03 K,
// which is within what the forecast states for the air, 0.1 K.
func TestFallAfterByHand(t *testing.T) {
	r, w := box(climate.Heater{Max: 100})
	for _, stop := range []time.Duration{6 * time.Hour, 7*time.Hour + 7*time.Minute, 7*time.Hour + 7*time.Minute + 11} {
		for _, within := range []time.Duration{time.Second, time.Minute, 5 * time.Minute, 20 * time.Minute, 5 * time.Hour} {
			want := 30 * -math.Expm1(-within.Seconds()/heats)
			if d, err := r.FallAfter(w, stop, within); err != nil || math.Abs(float64(d)-want) > 0.03 {
				t.Errorf("stopped at %v, %v later: %v, %v; want %.4f K", stop, within, d, err, want)
			}
		}
	}
	r.Air = units.Celsius(30)
	if d, err := r.FallAfter(w, 0, 500*time.Millisecond); err != nil || math.Abs(float64(d)-20*-math.Expm1(-0.5/(heats*283.15/303.15))) > 1e-4 {
		t.Errorf("at once, 0.5 s: %v, %v", d, err)
	}
}

func TestFallAfterProperties(t *testing.T) { // a longer time falls further where it is always colder outdoors; a warmer slab falls further
	rapid.Check(t, func(t *rapid.T) {
		f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		r := climate.Room{Floor: 100, Volume: 400, Envelope: units.Conductance(f("UA", 50, 500)), AirChanges: units.Rate(f("n", 0, 3)) * units.PerHour, Slab: onSoil(0.15, units.FilmCoefficient(f("h", 3, 12))),
			Air: units.Celsius(18), Surface: units.Celsius(18), RH: 0.5, Thermostat: []climate.Setting{{Temp: units.Celsius(18)}}, Heaters: []climate.Heater{{Max: 100e3}}}
		r.Slab.Deep = units.Celsius(f("deep", 0, 15))
		w := climate.Weather{{Temp: units.Celsius(f("out", -20, 10)), RH: 0.8}}
		stop := time.Duration(f("stop", 0, 20) * 3.6e12)
		short, long := f("short", 0.01, 5), f("longer", 0.1, 5)
		a, err1 := r.FallAfter(w, stop, time.Duration(short*3.6e12))
		b, err2 := r.FallAfter(w, stop, time.Duration((short+long)*3.6e12))
		if err := errors.Join(err1, err2); err != nil || !(a > -0.03 && b > a-0.03) {
			t.Fatalf("falls %v, then %v, %v", a, b, err)
		}
	})
}

// 500 W/K x 20 K x 10 h = 360 MJ, over propane's lower heating value 7.767 kg, by
// hand; the first heater's, the second being electric.
func TestFuelFor(t *testing.T) {
	p := propane(t)
	r := climate.Room{Volume: 100, Envelope: 500, Air: units.Celsius(20), RH: 0.4, Thermostat: []climate.Setting{{Temp: units.Celsius(20)}},
		Heaters: []climate.Heater{{Fuel: p, Max: 20e3, Unvented: true, Tank: 3, Refills: []climate.Refill{{At: time.Hour, Add: 1}}}, {Max: 10e3}}}
	w := climate.Weather{{Temp: units.Celsius(0), RH: 0.8}}
	m, err := r.FuelFor(w, 10*time.Hour)
	if want := 360e6 / float64(p.LHV); err != nil || math.Abs(float64(m[0])/want-1) > 1e-9 || m[1] != 0 {
		t.Errorf("%v, %v; want %v kg", m, err, want)
	}
	if m, err := r.FuelFor(w, 100*time.Millisecond); err != nil || math.Abs(float64(m[0])/(1000/float64(p.LHV))-1) > 1e-6 {
		t.Errorf("in 0.1 s %v, %v; want 1 kJ's", m, err)
	}
	if r.Heaters[0].Tank != 3 || len(r.Heaters[0].Refills) != 1 {
		t.Errorf("the room was changed: %+v", r.Heaters[0])
	}
	f, err := r.Forecast(w, 10*time.Hour, time.Hour)
	if err != nil || math.Abs(float64(f.Balance.Fuel[0])-4) > 1e-5 {
		t.Errorf("of the tank %v, %v; want 4 kg", f.Balance.Fuel[0], err)
	}
}

// R5 of the combustion table (computed, dew points by IAPWS): 1 kg of propane in
// a closed room of 100 m3 at 20 °C 40 % brings the dew point from 6.01 to
// 24.52 °C; 0.2 K, since the table's dry air is 0.9 % less.
func TestUnventedCost(t *testing.T) {
	r := climate.Room{Volume: 100, Envelope: 1e6, Air: units.Celsius(20), RH: 0.4, Thermostat: []climate.Setting{{Temp: units.Celsius(25)}},
		Heaters: []climate.Heater{{Fuel: propane(t), Max: 1e3, Unvented: true, Tank: 1}}}
	w := climate.Weather{{Temp: units.Celsius(20), RH: 0.4}}
	with, vented, err := r.UnventedCost(w, 20*time.Hour)
	if err != nil || math.Abs(float64(with)-(20-24.52)) > 0.2 || math.Abs(float64(vented)-(20-6.01)) > 0.02 {
		t.Errorf("%v, %v, %v; want -4.52 and 13.99 K", with, vented, err)
	}
	same, vented, err := r.Vented().UnventedCost(w, 20*time.Hour)
	if err != nil || same != vented {
		t.Errorf("vented already: %v, %v, %v", same, vented, err)
	}
	if _, _, err := r.UnventedCost(w, time.Millisecond); err != nil {
		t.Errorf("1 ms: %v", err)
	}
}

// Vented: as much heat for as much fuel, no water; what Forecast refuses it
// still refuses.
func TestVented(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for range 20 {
		r, w := job(t, rng)
		r.Coats = nil
		before := r.Heaters[0]
		a, err1 := r.Forecast(w, 24*time.Hour, time.Hour)
		b, err2 := r.Vented().Forecast(w, 24*time.Hour, time.Hour)
		if err := errors.Join(err1, err2); err != nil {
			t.Fatal(err)
		}
		if math.Abs(float64(a.Balance.Heat/b.Balance.Heat)-1) > 1e-9 || math.Abs(float64(a.Balance.Fuel[0]/b.Balance.Fuel[0])-1) > 1e-9 || b.Balance.Burned != 0 || b.Balance.Exhausted != 0 {
			t.Errorf("%+v, vented %+v", a.Balance, b.Balance)
		}
		if r.Heaters[0].Unvented != before.Unvented || r.Heaters[0].Efficiency != before.Efficiency {
			t.Error("the room was changed")
		}
		for i := range a.States { // water raises the dew point only
			if a.States[i].DewPoint.Sub(b.States[i].DewPoint) < -1e-9 {
				t.Errorf("%v unvented, %v vented", a.States[i].DewPoint, b.States[i].DewPoint)
			}
		}
	}
	for name, h := range map[string]climate.Heater{
		"vented without a share": {Fuel: propane(t), Max: 1e3},
		"electric and unvented":  {Max: 1e3, Unvented: true},
		"fuel NaN":               {Max: 1e3, Unvented: true, Fuel: climate.Fuel{HHV: units.SpecificEnergy(math.NaN())}},
	} {
		r, w := box(h)
		if _, err := r.Vented().Forecast(w, time.Hour, time.Hour); !errors.Is(err, units.ErrRange) {
			t.Errorf("%s: %v; want a range error", name, err)
		}
	}
}

func TestHeatStops(t *testing.T) {
	r, w := box(climate.Heater{Max: 100})
	r.Thermostat = []climate.Setting{{At: -time.Hour, Temp: units.Celsius(15)}, {At: 2 * time.Hour, Temp: units.Celsius(30)}, {At: 4 * time.Hour, Temp: units.Celsius(40)}}
	for _, stop := range []time.Duration{-2 * time.Hour, 0, time.Hour, 2 * time.Hour, 3 * time.Hour, 100 * time.Hour} {
		f, err := r.HeatStops(stop).Forecast(w, 6*time.Hour, 15*time.Minute)
		if err != nil {
			t.Fatal(err)
		}
		whole, err := r.Forecast(w, 6*time.Hour, 15*time.Minute)
		if err != nil {
			t.Fatal(err)
		}
		for i, s := range f.States {
			if s.At > stop && s.Power != 0 || s.At <= stop && math.Abs(float64(s.Air.Sub(whole.States[i].Air))) > 1e-9 {
				t.Errorf("stopped at %v: %v and %v at %v", stop, s.Power, s.Air, s.At)
			}
		}
	}
	if len(r.Thermostat) != 3 || r.Thermostat[1].Temp.IsZero() {
		t.Errorf("the room was changed: %v", r.Thermostat)
	}
	if bad := r.HeatStops(math.MaxInt64); second(bad.Forecast(w, time.Hour, time.Hour)) == nil {
		t.Error("stopped in 292 years: no error")
	}
}

// Endless: as much as a tank that does not run out; the room stays as it is.
func TestEndless(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	for range 10 {
		r, w := job(t, rng)
		big := r
		big.Heaters = append([]climate.Heater(nil), r.Heaters...)
		big.Heaters[0].Tank = 1e6
		tank := r.Heaters[0].Tank
		a, err1 := r.Endless().Forecast(w, 24*time.Hour, time.Hour)
		b, err2 := big.Forecast(w, 24*time.Hour, time.Hour)
		c, err3 := r.Forecast(w, 24*time.Hour, time.Hour)
		if err := errors.Join(err1, err2, err3); err != nil {
			t.Fatal(err)
		}
		if math.Abs(float64(a.Balance.Heat/b.Balance.Heat)-1) > 1e-12 || c.Balance.Fuel[0] > a.Balance.Fuel[0]*(1+1e-9) || c.Balance.Fuel[0] > tank*(1+1e-9) {
			t.Errorf("endless %v, large tank %v; burned %v of %v, endless %v", a.Balance.Heat, b.Balance.Heat, c.Balance.Fuel[0], tank, a.Balance.Fuel[0])
		}
		if _, ok := a.First(climate.TankEmpty); ok || r.Heaters[0].Tank != tank {
			t.Errorf("empty without end, or the room was changed: %v", a.Events)
		}
	}
}

func TestLowest(t *testing.T) {
	c := units.Celsius
	f := &climate.RoomForecast{States: []climate.RoomState{{At: 0, Surface: c(9), Margin: 4}, {At: 10, Surface: c(8), Margin: 5}, {At: 20, Surface: c(12), Margin: -1}, {At: 30, Surface: c(8), Margin: 2}},
		Events: []climate.Event{{At: 3, What: climate.TankEmpty, Heater: 1}, {At: 4, What: climate.MarginBroken}, {At: 5, What: climate.TankEmpty, Heater: 2}}}
	for _, tc := range []struct {
		from, to  time.Duration
		surface   float64
		surfaceAt time.Duration
		margin    units.TempDelta
		marginAt  time.Duration
		refused   bool
	}{
		{0, 30, 8, 10, -1, 20, false}, {0, 0, 9, 0, 4, 0, false}, {10, 15, 8, 10, 5, 10, false}, {20, 30, 8, 30, -1, 20, false},
		{-100, 1000, 8, 10, -1, 20, false}, {11, 19, 0, 0, 0, 0, true}, {30, 0, 0, 0, 0, 0, true}, {31, 40, 0, 0, 0, 0, true},
	} {
		s, at, err := f.LowestSurface(tc.from, tc.to)
		m, mat, err2 := f.LowestMargin(tc.from, tc.to)
		if tc.refused {
			if !errors.Is(err, units.ErrRange) || !errors.Is(err2, units.ErrRange) || !s.IsNaN() || !math.IsNaN(float64(m)) {
				t.Errorf("%v to %v: %v, %v, %v, %v; want range errors", tc.from, tc.to, s, err, m, err2)
			}
			continue
		}
		if err != nil || err2 != nil || s != c(tc.surface) || at != tc.surfaceAt || m != tc.margin || mat != tc.marginAt {
			t.Errorf("%v to %v: %v at %v, %v at %v, %v, %v; want %+v", tc.from, tc.to, s, at, m, mat, err, err2, tc)
		}
	}
	if e, ok := f.First(climate.TankEmpty); !ok || e.Heater != 1 || e.At != 3 {
		t.Errorf("first %v, %v", e, ok)
	}
	if e, ok := f.First(climate.RHAbove); ok || e != (climate.Event{}) {
		t.Errorf("first %v, %v; want none", e, ok)
	}
}

func BenchmarkHeaterFor(b *testing.B) { // 24 h, about 20 forecasts: at most 30 ms
	b.ReportAllocs()
	r := climate.Room{Volume: 600, Envelope: 400, AirChanges: 0.6 * units.PerHour, Floor: 150, Slab: onSoil(0.15, 6), Air: units.Celsius(8), Surface: units.Celsius(7), RH: 0.6,
		Thermostat: []climate.Setting{{Temp: units.Celsius(22)}}, Heaters: []climate.Heater{{Max: 1}}}
	w := climate.Weather{{Temp: units.Celsius(2), RH: 0.75}}
	for b.Loop() {
		if _, _, err := r.HeaterFor(w, units.Celsius(12), 20*time.Hour, 24*time.Hour); err != nil {
			b.Fatal(err)
		}
	}
}
