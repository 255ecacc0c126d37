package climate_test

import (
	"errors"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// uno is the bleed-water evaporation of Uno (1998), ACI 305R, kg/(m2 h), with
// temperatures in °C and the wind in km/h.
func uno(tc, ta, rh, wind float64) float64 {
	return 5 * (math.Pow(tc+18, 2.5) - rh*math.Pow(ta+18, 2.5)) * (wind + 4) * 1e-6
}

// A different source: concrete in wind. hc = 0.78 (V + 4) W/(m2 K), V in km/h,
// is fitted to it, one number for all rows, so that the rows check how
// evaporation goes with temperature, humidity and wind, and 0.78 that a
// still-air 3.1 W/(m2 K) is what floors have. 10 %: Uno's power of 2.5 stands for
// the saturation pressure. PCA's table (from memory) is printed in lb/(ft2 h).
func TestEvaporationUno(t *testing.T) {
	const lb = 0.45359237 / (0.3048 * 0.3048) // kg/m2 per lb/ft2
	f := func(f float64) float64 { return (f - 32) / 1.8 }
	for _, tc := range []struct {
		surface, air, rh, wind float64
		want, tol              float64
		src                    string
	}{
		{30, 25, 0.4, 20, 1.3335238452, 0.1, "Uno (1998), computed"},
		{30, 25, 0.5, 10, 0.693, 0.1, "Uno (1998), computed"},
		{20, 20, 0.5, 0, 0.0890, 0.1, "Uno (1998), computed"},
		{f(70), f(70), 0.7, 0, 0.015 * lb, 0.3, "PCA/ACI table (from memory); 0.015 is two digits, its formula gives 0.0123"},
		{f(70), f(70), 0.7, 5 * 1.609344, 0.038 * lb, 0.1, "PCA/ACI table (from memory)"},
		{f(70), f(70), 0.7, 10 * 1.609344, 0.062 * lb, 0.1, "PCA/ACI table (from memory)"},
		{f(70), f(70), 0.7, 15 * 1.609344, 0.085 * lb, 0.1, "PCA/ACI table (from memory)"},
		{f(70), f(70), 0.7, 20 * 1.609344, 0.110 * lb, 0.1, "PCA/ACI table (from memory)"},
		{f(70), f(70), 0.7, 25 * 1.609344, 0.135 * lb, 0.1, "PCA/ACI table (from memory)"},
		{f(70), f(70), 0.9, 10 * 1.609344, 0.020 * lb, 0.1, "PCA/ACI table (from memory)"},
		{f(70), f(70), 0.5, 10 * 1.609344, 0.100 * lb, 0.1, "PCA/ACI table (from memory)"},
		{f(70), f(70), 0.3, 10 * 1.609344, 0.135 * lb, 0.1, "PCA/ACI table (from memory)"},
		{f(50), f(50), 0.7, 10 * 1.609344, 0.026 * lb, 0.12, "PCA/ACI table (from memory); cold, where 2.5 is worst"},
		{f(60), f(60), 0.7, 10 * 1.609344, 0.043 * lb, 0.1, "PCA/ACI table (from memory)"},
		{f(90), f(90), 0.7, 10 * 1.609344, 0.110 * lb, 0.1, "PCA/ACI table (from memory)"},
	} {
		e, err := climate.Evaporation(units.Celsius(tc.surface), climate.Air{Temp: units.Celsius(tc.air), RH: units.Fraction(tc.rh)}, units.FilmCoefficient(0.78*(tc.wind+4)))
		if got := float64(e) * 3600; err != nil || math.Abs(got/tc.want-1) > tc.tol {
			t.Errorf("%v °C in %v °C %v, %v km/h: %.4f, %v; want %.4f kg/(m2 h) within %v (%s)", tc.surface, tc.air, tc.rh, tc.wind, got, err, tc.want, tc.tol, tc.src)
		}
	}
	if e := uno(30, 25, 0.4, 20); math.Abs(e-1.3335238452) > 1e-9 {
		t.Errorf("Uno %v, want 1.3335", e)
	}
}

// A different source: ASHRAE's formula for quiet pools, 0.1 A 0.5 (Pw - Pdp) lb/h,
// in.Hg, ft2; 1000 ft2 of 80 °F in air of 82 °F 50 % give off 24.09 lb/h
// (computed). With 3 W/(m2 K), air that moves a little, the two agree to 5 %; the
// still air of FloorConvection over a floor colder than it gives a quarter.
func TestEvaporationPool(t *testing.T) {
	want := 24.09 * 0.45359237 / 3600 / (1000 * 0.3048 * 0.3048)
	surface, air := units.Fahrenheit(80), climate.Air{Temp: units.Fahrenheit(82), RH: 0.5}
	e, err := climate.Evaporation(surface, air, 3)
	if err != nil || math.Abs(float64(e)/want-1) > 0.05 {
		t.Errorf("%v, %v; want %v kg/(m2 s)", e, err, want)
	}
	h, err1 := climate.FloorConvection(surface, air.Temp)
	still, err2 := climate.Evaporation(surface, air, h)
	if err := errors.Join(err1, err2); err != nil || !(float64(still)/want > 0.2 && float64(still)/want < 0.35) {
		t.Errorf("still air: %v of it, %v; want 0.2 to 0.35", float64(still)/want, err)
	}
}

// At the wet-bulb temperature the heat that comes by convection is that which
// evaporation takes: the thermodynamic wet bulb is that of Le = 1, and 0.86
// evaporates 1/0.904 as much. 4 %: the vapour's part in cp and density. (With
// concentrations at unlike temperatures it is 13 % off at 30 °C 70 %.)
func TestEvaporationWetBulb(t *testing.T) {
	for _, a := range []climate.Air{{Temp: units.Celsius(20), RH: 0.5}, {Temp: units.Celsius(10), RH: 0.3}, {Temp: units.Celsius(30), RH: 0.7}, {Temp: units.Celsius(25), RH: 0.4, Pressure: 84e3}} {
		wet, err := a.WetBulb()
		if err != nil {
			t.Fatal(err)
		}
		e, err := climate.Evaporation(wet, a, 5)
		taken, came := float64(e)*(2501e3-2326*wet.Celsius()), 5*float64(a.Temp.Sub(wet))
		if err != nil || math.Abs(taken/came*0.9043-1) > 0.04 {
			t.Errorf("%v: %v W/m2 come, %v are taken, %v", a, came, taken, err)
		}
	}
}

// A tenth of a kelvin above the dew point dries, a tenth below is wetted, however
// much warmer the air is.
func TestEvaporationAtTheDewPoint(t *testing.T) {
	for _, a := range []climate.Air{{Temp: units.Celsius(30), RH: 0.7}, {Temp: units.Celsius(35), RH: 0.3}, {Temp: units.Celsius(10), RH: 0.95}, {Temp: units.Celsius(20), RH: 0.5, Pressure: 80e3}} {
		dew, err := a.DewPoint()
		if err != nil {
			t.Fatal(err)
		}
		above, err1 := climate.Evaporation(dew.Add(0.1), a, 3)
		below, err2 := climate.Evaporation(dew.Add(-0.1), a, 3)
		if err := errors.Join(err1, err2); err != nil || !(above > 0) || !(below < 0) {
			t.Errorf("%v: %v above, %v below, %v", a, above, below, err)
		}
	}
}

func TestEvaporationProperties(t *testing.T) { // order in all arguments, the sign at the dew point, in proportion to convection
	rapid.Check(t, func(t *rapid.T) {
		f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		s, a := f("surface", -5, 59), climate.Air{Temp: units.Celsius(f("air", -40, 60)), RH: units.Fraction(f("rh", 0.01, 1)), Pressure: units.Pressure(f("p", 50e3, 110e3))}
		h := units.FilmCoefficient(f("h", 0.1, 50))
		e, err := climate.Evaporation(units.Celsius(s), a, h)
		twice, err2 := climate.Evaporation(units.Celsius(s), a, 2*h)
		warmer, err3 := climate.Evaporation(units.Celsius(s+f("more", 1e-6, 1)), a, h)
		if err := errors.Join(err, err2, err3); err != nil || math.Abs(float64(twice-2*e)) > 1e-12*math.Abs(float64(e)) || !(warmer > e) {
			t.Fatalf("%v, with twice the film %v, warmer %v, %v", e, twice, warmer, err)
		}
		dew, err := a.DewPoint()
		if m := s - dew.Celsius(); err != nil || math.Abs(m) > 0.01 && (m > 0) != (e > 0) {
			t.Fatalf("%v at %v °C, dew point %v, %v", e, s, dew, err)
		}
		damper := a
		damper.RH += (1 - a.RH) * units.Fraction(f("damper", 0, 1))
		if d, err := climate.Evaporation(units.Celsius(s), damper, h); err != nil || d > e {
			t.Fatalf("%v in %v, %v in %v, %v", e, a, d, damper, err)
		}
	})
}

// By hand: 0.15 kg/m2 with 30 % critical and 5 % left is (0.7 + 0.3 ln 6) x 0.15 =
// 0.18563 kg/m2 of a wet surface; the same by small steps; and by the defaults.
func TestDryingTimeByHand(t *testing.T) {
	air := climate.Air{Temp: units.Celsius(23), RH: 0.5}
	k, err := climate.Evaporation(units.Celsius(22), air, 3)
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range []climate.Drying{{Water: 0.15, Convection: 3}, {Water: 0.15, Critical: 0.3, Left: 0.05, Convection: 3}, {Water: 0.15, Critical: 1, Left: 0.01, Convection: 3},
		{Water: 0.15, Critical: 0.2, Left: 0.4, Convection: 3}, {Water: 0.15, Critical: 0.2, Left: 0.2, Convection: 3}} {
		got, err := d.Time(units.Celsius(22), air)
		if err != nil {
			t.Fatal(err)
		}
		c, left := float64(d.Critical), float64(d.Left)
		if c == 0 {
			c, left = 0.3, 0.05
			if want := (0.7 + 0.3*math.Log(6)) * 0.15 / float64(k); math.Abs(got.Seconds()/want-1) > 1e-9 {
				t.Errorf("%v, want %v s", got, want)
			}
		}
		m, s := 0.15, 0.0
		for ; m > left*0.15; s++ {
			m -= float64(k) * min(1, m/(c*0.15)) // steps of 1 s
		}
		if math.Abs(got.Seconds()/s-1) > 2e-3 {
			t.Errorf("%+v: %v, by steps %v s", d, got, s)
		}
	}
}

// Cold damp air (10 °C 85 %, 12 °C 75 %) takes at least twice the time of a data
// sheet's 23 °C 50 %: common practice, no source.
func TestDryingColdAndDamp(t *testing.T) {
	d := climate.Drying{Water: 0.15, Convection: 3}
	sheet, err := d.Time(units.Celsius(23), climate.Air{Temp: units.Celsius(23), RH: 0.5})
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range []climate.Air{{Temp: units.Celsius(10), RH: 0.85}, {Temp: units.Celsius(12), RH: 0.75}, {Temp: units.Celsius(8), RH: 0.6}} {
		if got, err := d.Time(a.Temp, a); err != nil || got < 2*sheet {
			t.Errorf("%v: %v, %v; at 23 °C 50 %% %v", a, got, err, sheet)
		}
	}
	if _, err := d.Time(units.Celsius(10), climate.Air{Temp: units.Celsius(15), RH: 0.9}); !errors.Is(err, climate.ErrNeverDry) {
		t.Errorf("a floor below the dew point: %v; want ErrNeverDry", err)
	}
}

// Constant conditions: Reach is Time, wherever it starts and however the
// constant is written; it scales with the water and against the convection.
func TestDryingReachConstant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		d := climate.Drying{Water: units.Loading(f("water", 0.001, 2)), Critical: units.Fraction(f("critical", 0.01, 1)), Left: units.Fraction(f("left", 0.001, 0.5)), Convection: units.FilmCoefficient(f("h", 0.1, 50))}
		s, a := units.Celsius(f("surface", -5, 60)), climate.Air{Temp: units.Celsius(f("air", -40, 60)), RH: units.Fraction(f("rh", 0.01, 1))}
		start := time.Duration(f("start", -1e6, 1e6) * 1e9)
		surface, room := climate.Trace{{Temp: s}}, climate.Weather{{Temp: a.Temp, RH: a.RH}}
		for i := range rapid.IntRange(0, 3).Draw(t, "more") {
			at := time.Duration(float64(i+1) * f("gap", 1, 1e5) * 1e9 * float64(i+1))
			if at > surface[len(surface)-1].At {
				surface = append(surface, climate.Sample{At: at, Temp: s})
				room = append(room, climate.Reading{At: at / 2 * 3, Temp: a.Temp, RH: a.RH})
			}
		}
		want, err := d.Time(s, a)
		got, err2 := d.Reach(surface, room, start)
		if errors.Is(err, climate.ErrNeverDry) != errors.Is(err2, climate.ErrNeverDry) {
			if want > 365*24*time.Hour || got-start > 365*24*time.Hour {
				return // a year, give or take rounding
			}
			t.Fatalf("%v, %v; Time %v, %v", got, err2, want, err)
		}
		if err == nil && math.Abs((got-start).Seconds()/want.Seconds()-1) > 1e-9+1e-8/want.Seconds() {
			t.Fatalf("%v after %v, Time %v", got-start, start, want)
		}
	})
}

// Along a history: the integral of the rate, by hand. Air that doubles its
// potential at a jump, a stop while it condenses, a jump in the midst of 5 min.
func TestDryingReach(t *testing.T) {
	d := climate.Drying{Water: 0.02, Convection: 3}
	c, dry, damp := units.Celsius(20), units.Fraction(0.4), units.Fraction(0.95)
	rate := func(rh units.Fraction) float64 {
		k, err := climate.Evaporation(c, climate.Air{Temp: c, RH: rh}, 3)
		if err != nil {
			t.Fatal(err)
		}
		return float64(k)
	}
	work := 0.02 * (0.7 + 0.3*math.Log(6))
	surface := climate.Trace{{Temp: c}}
	for _, jump := range []time.Duration{5 * time.Minute, 7*time.Minute + 11*time.Second, 9*time.Minute + 59*time.Second} {
		room := climate.Weather{{Temp: c, RH: damp}, {At: jump, Temp: c, RH: damp}, {At: jump + 1, Temp: c, RH: dry}, {At: jump + 10*time.Hour, Temp: c, RH: dry}}
		want := jump.Seconds() + (work-rate(damp)*jump.Seconds())/rate(dry)
		if got, err := d.Reach(surface, room, 0); err != nil || math.Abs(got.Seconds()/want-1) > 1e-3 {
			t.Errorf("jump at %v: %v, %v; want %v s", jump, got, err, want)
		}
	}
	// The floor is below the dew point for two hours: as if it were laid after them.
	cold := climate.Trace{{Temp: units.Celsius(5)}, {At: 2 * time.Hour, Temp: units.Celsius(5)}, {At: 2*time.Hour + 1, Temp: c}}
	room := climate.Weather{{Temp: c, RH: 0.6}}
	a, err1 := d.Reach(cold, room, 0)
	b, err2 := d.Reach(cold, room, 2*time.Hour+1)
	if err := errors.Join(err1, err2); err != nil || (a-b).Abs() > time.Second {
		t.Errorf("after condensation %v, laid after it %v, %v", a, b, err)
	}
	if _, err := d.Reach(climate.Trace{{Temp: units.Celsius(5)}}, room, 0); !errors.Is(err, climate.ErrNeverDry) {
		t.Errorf("below the dew point for ever: %v; want ErrNeverDry", err)
	}
	if _, err := d.Reach(climate.Trace{{Temp: units.Celsius(-20)}}, room, 0); !errors.Is(err, units.ErrRange) {
		t.Errorf("-20 °C: %v; want a range error", err)
	}
}

func TestDryingRefusals(t *testing.T) {
	good, s, a := climate.Drying{Water: 0.1, Convection: 3}, units.Celsius(20), climate.Air{Temp: units.Celsius(20), RH: 0.5}
	nan := math.NaN()
	for name, change := range map[string]func(*climate.Drying){
		"no water": func(d *climate.Drying) { d.Water = 0 }, "6 kg": func(d *climate.Drying) { d.Water = 6 }, "water NaN": func(d *climate.Drying) { d.Water = units.Loading(nan) },
		"critical": func(d *climate.Drying) { d.Critical = 1.1 }, "critical NaN": func(d *climate.Drying) { d.Critical = units.Fraction(nan) }, "critical below": func(d *climate.Drying) { d.Critical = -0.1 },
		"left": func(d *climate.Drying) { d.Left = 0.6 }, "left NaN": func(d *climate.Drying) { d.Left = units.Fraction(nan) },
		"no convection": func(d *climate.Drying) { d.Convection = 0 }, "convection NaN": func(d *climate.Drying) { d.Convection = units.FilmCoefficient(nan) },
	} {
		d := good
		change(&d)
		if _, err := d.Time(s, a); !errors.Is(err, units.ErrRange) {
			t.Errorf("Time, %s: %v", name, err)
		}
		if _, err := d.Reach(climate.Trace{{Temp: s}}, climate.Weather{{Temp: a.Temp, RH: a.RH}}, 0); !errors.Is(err, units.ErrRange) {
			t.Errorf("Reach, %s: %v", name, err)
		}
	}
	w, tr := climate.Weather{{Temp: a.Temp, RH: a.RH}}, climate.Trace{{Temp: s}}
	for name, err := range map[string]error{
		"no surface":   second(good.Reach(nil, w, 0)),
		"no room":      second(good.Reach(tr, nil, 0)),
		"early":        second(good.Reach(tr, w, math.MinInt64)),
		"late":         second(good.Reach(tr, w, math.MaxInt64)),
		"zero surface": second(good.Time(units.Temperature{}, a)),
		"zero air":     second(good.Time(s, climate.Air{})),
		"wet":          second(climate.WaterIn(0.0051, 0.5)),
		"wet below":    second(climate.WaterIn(-1e-9, 0.5)),
		"wet NaN":      second(climate.WaterIn(units.Length(nan), 0.5)),
		"solids":       second(climate.WaterIn(1e-4, 50)),
		"solids NaN":   second(climate.WaterIn(1e-4, units.Fraction(nan))),
		"evaporation":  second(climate.Evaporation(units.Celsius(61), a, 3)),
		"film":         second(climate.Evaporation(s, a, 0)),
		"film NaN":     second(climate.Evaporation(s, a, units.FilmCoefficient(nan))),
	} {
		if !errors.Is(err, units.ErrRange) {
			t.Errorf("%s: %v; want a range error", name, err)
		}
	}
	if k, err := climate.Evaporation(s, a, 0); err == nil || !math.IsNaN(float64(k)) {
		t.Errorf("%v beside %v", k, err)
	}
}

// 200 um wet of 45 % solids: 998 x 0.2e-3 x 0.55 = 0.10978 kg/m2, by hand; all
// solids carry none, also where the limit gives way.
func TestWaterIn(t *testing.T) {
	for _, tc := range []struct{ wet, solids, want float64 }{{200e-6, 0.45, 0.10978}, {200e-6, 1, 0}, {200e-6, 1 + 5e-10, 0}, {0, 0.5, 0}, {0.005, 0, 4.99}} {
		if got, err := climate.WaterIn(units.Length(tc.wet), units.Fraction(tc.solids)); err != nil || got < 0 || math.Abs(float64(got)-tc.want) > 1e-12 {
			t.Errorf("%v m of %v: %v, %v; want %v kg/m2", tc.wet, tc.solids, got, err, tc.want)
		}
	}
}

// In a room whose surface and air hardly change, the coat's water goes as Drying
// says: when its 5 % are left by Reach, the room has 95 % of it. And no coat
// gives off more than it has.
func TestDryingInARoom(t *testing.T) {
	c := units.Celsius(20)
	r := climate.Room{Volume: 1e5, Floor: 1, Envelope: 1e6, AirChanges: 1 * units.PerHour, Air: c, RH: 0.5, Slab: climate.Slab{Layers: []climate.Layer{{Thickness: 0.01, Conductivity: 400, Density: 8900, HeatCapacity: 385}}, Film: 1e3},
		Coats: []climate.WetCoat{{Area: 1, Drying: climate.Drying{Water: 0.1, Convection: 3}}}}
	r.Volume = 1e4
	at, err := r.Coats[0].Reach(climate.Trace{{Temp: c}}, climate.Weather{{Temp: c, RH: 0.5}}, 0)
	if err != nil {
		t.Fatal(err)
	}
	f, err := r.Forecast(climate.Weather{{Temp: c, RH: 0.5}}, at, time.Hour)
	if err != nil || math.Abs(float64(f.Balance.Dried)/0.095-1) > 3e-3 {
		t.Errorf("%v dried by %v, %v; want 0.095 kg", f.Balance.Dried, at, err)
	}
	rapid.Check(t, func(t *rapid.T) {
		r, w := drawRoom(t)
		f, err := r.Forecast(w, 60*time.Hour, time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		all := 0.0
		for _, c := range r.Coats {
			all += float64(c.Area) * float64(c.Water)
		}
		if d := float64(f.Balance.Dried); !(d >= 0 && d <= all*(1+1e-9)) {
			t.Fatalf("%v dried of %v kg", d, all)
		}
	})
}

// By hand: half of the water in the full rate's time for half; from the critical
// 30 % on the share falls by e in each 0.3 of the full rate's time. And what is
// left at the time of Reach is Left.
func TestLeftAt(t *testing.T) {
	c := units.Celsius(20)
	d := climate.Drying{Water: 0.1, Convection: 3}
	trace, air := climate.Trace{{Temp: c}}, climate.Weather{{Temp: c, RH: 0.5}}
	k, err := climate.Evaporation(c, climate.Air{Temp: c, RH: 0.5}, 3)
	if err != nil {
		t.Fatal(err)
	}
	full := 0.1 / float64(k) // s
	for _, x := range [][2]float64{{0, 1}, {0.5, 0.5}, {0.7, 0.3}, {1, 0.3 / math.E}, {1.3, 0.3 / math.E / math.E}} {
		got, err := d.LeftAt(trace, air, time.Hour, time.Hour+seconds(x[0]*full))
		if err != nil || math.Abs(float64(got)-x[1]) > 1e-6 {
			t.Errorf("after %v of the full rate's time: %v, %v; want %v", x[0], got, err, x[1])
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		var trace climate.Trace
		var air climate.Weather
		for i := range rapid.IntRange(1, 8).Draw(t, "readings") {
			at := time.Duration(i) * 5 * time.Hour
			trace = append(trace, climate.Sample{At: at, Temp: units.Celsius(rapid.Float64Range(0, 30).Draw(t, "surface"))})
			air = append(air, climate.Reading{At: at, Temp: units.Celsius(rapid.Float64Range(0, 30).Draw(t, "air")), RH: units.Fraction(rapid.Float64Range(0.05, 1).Draw(t, "rh"))})
		}
		start := time.Duration(rapid.Int64Range(0, int64(20*time.Hour)).Draw(t, "start"))
		at, err := d.Reach(trace, air, start)
		if errors.Is(err, climate.ErrNeverDry) {
			return
		}
		left, err2 := d.LeftAt(trace, air, start, at)
		if err != nil || err2 != nil || math.Abs(float64(left)-0.05) > 1e-6 {
			t.Fatalf("dry at %v, %v, with %v left, %v", at, err, left, err2)
		}
		sooner, err := d.LeftAt(trace, air, start, start+(at-start)/2)
		if err != nil || sooner < left {
			t.Fatalf("half way %v left, at the end %v, %v", sooner, left, err)
		}
	})
	for _, at := range []time.Duration{-time.Second, 367 * 24 * time.Hour} {
		if got, err := d.LeftAt(trace, air, 0, at); !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(got)) {
			t.Errorf("at %v: %v, %v", at, got, err)
		}
	}
}

func BenchmarkDryingReach(b *testing.B) { // 2 allocs/op; 12 h in steps of 5 min: at most 0.2 ms
	b.ReportAllocs()
	d := climate.Drying{Water: 0.3, Convection: 2}
	surface, room := climate.Trace{{Temp: units.Celsius(10)}, {At: 48 * time.Hour, Temp: units.Celsius(12)}}, climate.Weather{{Temp: units.Celsius(12), RH: 0.7}, {At: 48 * time.Hour, Temp: units.Celsius(14), RH: 0.7}}
	for b.Loop() {
		if _, err := d.Reach(surface, room, 0); err != nil {
			b.Fatal(err)
		}
	}
}
