package climate_test

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// propane by stoichiometry: C3H8, formation -103.85 kJ/mol.
func propane(t testing.TB) climate.Fuel {
	f, err := climate.Formula{Carbon: 3, Hydrogen: 8, Formation: -103.85e3}.Burned()
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Heating values and products computed from CODATA enthalpies, and as printed
// by textbooks where named.
func TestBurned(t *testing.T) {
	for _, tc := range []struct {
		name               string
		f                  climate.Formula
		hhv, lhv, h2o, co2 float64
		tol                float64
		src                string
	}{
		{"propane gas", climate.Formula{Carbon: 3, Hydrogen: 8, Formation: -103.85e3}, 50.344, 46.352, 1.6341, 2.9940, 2e-4, "computed, CODATA"},
		{"methane", climate.Formula{Carbon: 1, Hydrogen: 4, Formation: -74.87e3}, 55.50, 50.01, 2.2458, 2.7432, 5e-4, "computed; Moran and others example 13.7 prints 55.507 and 50.019"},
		{"n-butane gas", climate.Formula{Carbon: 4, Hydrogen: 10, Formation: -126.15e3}, 49.50, 45.71, 1.5497, 3.0286, 1e-3, "computed"},
		{"n-octane liquid", climate.Formula{Carbon: 8, Hydrogen: 18, Formation: -249.95e3}, 47.89, 44.42, 1.4193, 3.0821, 1e-3, "computed; Cengel example 15-5 prints 47.989 with M = 114"},
		{"n-dodecane liquid", climate.Formula{Carbon: 12, Hydrogen: 26, Formation: -350.9e3}, 47.47, 44.11, 1.3749, 3.1003, 2e-3, "computed, bound for kerosene"},
		{"kerosene as C12H23", climate.Formula{Carbon: 12, Hydrogen: 23, Formation: -303e3}, 46.1, 43.0, 1.238, 3.156, 3e-3, "computed, formation from memory"},
	} {
		f, err := tc.f.Burned()
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range [][2]float64{{float64(f.HHV) / 1e6, tc.hhv}, {float64(f.LHV) / 1e6, tc.lhv}, {float64(f.Water), tc.h2o}, {float64(f.CO2), tc.co2}} {
			if math.Abs(c[0]/c[1]-1) > tc.tol {
				t.Errorf("%s: %v, want %v (%s)", tc.name, c[0], c[1], tc.src)
			}
		}
	}
	for _, f := range []climate.Formula{{}, {Carbon: 1, Oxygen: 2, Formation: -393.5e3}, {Carbon: -1, Hydrogen: 4}, {Carbon: math.NaN()}} {
		if _, err := f.Burned(); err == nil {
			t.Errorf("%+v burns", f)
		}
	}
}

// shop is R1 of the climate notes: 24 x 24 x 9 ft.
func shop(t testing.TB) climate.Room {
	return climate.Room{Volume: 146.79, Envelope: 150, AirChanges: 0.5 * units.PerHour, Air: units.Celsius(15), RH: 0.4,
		Thermostat: []climate.Setting{{At: -time.Hour, Temp: units.Celsius(15)}},
		Heaters:    []climate.Heater{{Fuel: propane(t), Max: 40000 * units.BtuPerHour, Unvented: true}}}
}

// R1: propane at 40 000 Btu/h, unvented, 0.5 air changes, 15 °C inside, -1.11 °C
// 80 % outside; computed with perfect mixing, fuel on HHV, dew points by IAPWS.
// The envelope is chosen so that the heater runs at just that power; the room
// starts with the outdoor air's water. Tolerances of the notes: 0.15 K, 2 %.
func TestUnventedRoom(t *testing.T) {
	r := shop(t)
	outside := climate.Weather{{Temp: units.Celsius(-1.11), RH: 0.8}}
	a := climate.Air{Temp: units.Celsius(-1.11), RH: 0.8}
	w, err := a.HumidityRatio()
	if err != nil {
		t.Fatal(err)
	}
	start, err := climate.FromHumidityRatio(units.Celsius(15), w, 0)
	if err != nil {
		t.Fatal(err)
	}
	r.RH = start.RH
	// sensible heat = 40 000 Btu/h x LHV/HHV = UA dT + 0.5/3600 rho V cp dT
	p := propane(t)
	sensible := float64(40000*units.BtuPerHour) * float64(p.LHV/p.HHV)
	rho := 101325 / (287.042 * 288.15)
	r.Envelope = units.Conductance((sensible - 0.5/3600*rho*146.79*1006*16.11) / 16.11 * (1 - 1e-9))
	f, err := r.Forecast(outside, 100*time.Hour, 30*time.Minute)
	if err != nil {
		t.Fatal(err)
	}
	for _, tc := range []struct {
		i        int
		dew, ppm float64
	}{{1, 6.78, 4484}, {2, 12.02, 7649}, {4, 17.32, 12033}, {200, 23.2, 18792}} {
		s := f.States[tc.i]
		if math.Abs(s.DewPoint.Celsius()-tc.dew) > 0.15 || math.Abs(float64(s.CO2)*1e6/tc.ppm-1) > 0.02 {
			t.Errorf("after %v: dew point %v, CO2 %.0f ppm; want %v °C, %v ppm (R1, computed)", s.At, s.DewPoint, float64(s.CO2)*1e6, tc.dew, tc.ppm)
		}
	}
	per := float64(f.Balance.Fuel[0]) / 100
	for _, c := range [][2]float64{{per, 0.8383}, {float64(f.Balance.Burned) / 100, 1.3699}, {float64(f.Balance.Exhausted) / 100, 2.5098}} {
		if math.Abs(c[0]/c[1]-1) > 1e-3 {
			t.Errorf("%v kg/h, want %v (R1)", c[0], c[1])
		}
	}
}

// R5: a closed room of 100 m3 at 20 °C 40 %, in which 1 kg of propane burns.
func TestSealedRoom(t *testing.T) {
	p := propane(t)
	r := climate.Room{Volume: 100, Envelope: 1e6, Air: units.Celsius(20), RH: 0.4, Thermostat: []climate.Setting{{At: 0, Temp: units.Celsius(25)}},
		Heaters: []climate.Heater{{Fuel: p, Max: 1 * units.Kilowatt, Unvented: true, Tank: 1}}}
	f, err := r.Forecast(climate.Weather{{Temp: units.Celsius(20), RH: 0.4}}, 24*time.Hour, time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	last := f.States[24]
	// The room's dry air here is p V/(Ra T) = 120.4 kg, the notes' (p - pv)V/(Ra T) = 119.3: 0.9 %.
	if math.Abs(last.DewPoint.Celsius()-24.52) > 0.2 || math.Abs(float64(last.CO2)*1e6/16937-1) > 0.02 || math.Abs(float64(f.Balance.Fuel[0])-1) > 1e-9 {
		t.Errorf("dew point %v, CO2 %.0f ppm, fuel %v; want 24.52 °C, 16937 ppm, 1 kg (R5)", last.DewPoint, float64(last.CO2)*1e6, f.Balance.Fuel[0])
	}
	// empty after 50.344 MJ/1 kW = 13.984 h
	for _, e := range f.Events {
		if e.What == climate.TankEmpty && math.Abs(e.At.Hours()-float64(p.HHV)/1e3/3600) < 1e-3 {
			return
		}
	}
	t.Errorf("no empty tank at %.3f h: %v", float64(p.HHV)/1e3/3600, f.Events)
}

// Heat loss, printed: Murphy and McKay examples 9.1 (fabric) and 9.3
// (ventilation, with 0.33 Wh/(m3 K)); and the US constant 0.018 Btu/(ft3 °F).
func TestSteadyRoom(t *testing.T) {
	// Hall: ventilation at 1.5 1/h, 6000 m3, 21 K: 62 370 W; fabric 58 308 W.
	r := climate.Room{Volume: 6000, Envelope: units.Conductance(58308. / 21), AirChanges: 1.5 * units.PerHour, Air: units.Celsius(19), RH: 0.4,
		Thermostat: []climate.Setting{{At: 0, Temp: units.Celsius(19)}}, Heaters: []climate.Heater{{Max: 500 * units.Kilowatt}}}
	f, err := r.Forecast(climate.Weather{{Temp: units.Celsius(-2), RH: 0.8}}, 10*time.Hour, time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	got := float64(f.States[10].Heat)
	byHand := 58308 + 101325/(287.042*292.15)*6000*1006*1.5/3600*21
	if math.Abs(got-byHand) > 1e-6*byHand || math.Abs(got/(58308+62370)-1) > 0.015 {
		t.Errorf("hall takes %v W; by hand %v, printed 120 678 (its 0.33 Wh/(m3 K) is 1.5 %% below air of 19 °C)", got, byHand)
	}
	// 5184 ft3, 0.5 1/h, 50 °F: 2333 Btu/h.
	r = climate.Room{Volume: 5184 * units.CubicFoot, AirChanges: 0.5 * units.PerHour, Air: units.Fahrenheit(70), RH: 0.4,
		Thermostat: []climate.Setting{{At: 0, Temp: units.Fahrenheit(70)}}, Heaters: []climate.Heater{{Max: 5 * units.Kilowatt}}}
	if f, err = r.Forecast(climate.Weather{{Temp: units.Fahrenheit(20), RH: 0.8}}, 10*time.Hour, time.Hour); err != nil {
		t.Fatal(err)
	}
	if got := float64(f.States[10].Heat / units.BtuPerHour); math.Abs(got/2333-1) > 0.005 {
		t.Errorf("%v Btu/h, want 2333 (0.018 Btu/(ft3 °F), computed)", got)
	}
}

// Without slab and heat a room falls by the exponential of one body; with an
// envelope without resistance its slab is that of Slab.Forecast.
func TestUncoupledRoom(t *testing.T) {
	r := climate.Room{Volume: 300, Envelope: 200, AirChanges: 0.7 * units.PerHour, Air: units.Celsius(20), RH: 0.5, Contents: 2000}
	f, err := r.Forecast(climate.Weather{{Temp: units.Celsius(0), RH: 0.8}}, 12*time.Hour, 10*time.Minute)
	if err != nil {
		t.Fatal(err)
	}
	m := 101325 / (287.042 * 293.15) * 300
	tau := (m*1006 + 2000*500) / (200 + m*1006*0.7/3600)
	for _, s := range f.States {
		want, err := climate.Lumped(units.Celsius(20), units.Celsius(0), time.Duration(tau*1e9), s.At)
		if err != nil || math.Abs(float64(s.Air.Sub(want))) > 2e-3 {
			t.Errorf("%v: %v, want %v (%v)", s.At, s.Air, want, err)
		}
	}
	r = climate.Room{Volume: 300, Envelope: 1e6, Air: units.Celsius(5), Surface: units.Celsius(5), RH: 0.5, Floor: 100, Slab: onSoil(0.15, 6)}
	r.Slab.Deep = units.Temperature{}
	var w climate.Weather
	for _, s := range night() {
		w = append(w, climate.Reading{At: s.At, Temp: s.Temp, RH: 0.6})
	}
	if f, err = r.Forecast(w, 72*time.Hour, time.Hour); err != nil {
		t.Fatal(err)
	}
	ref, err := r.Slab.Forecast(units.Celsius(5), night(), 72*time.Hour, time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	for i := range ref {
		if d := math.Abs(float64(ref[i].Temp.Sub(f.States[i].Surface))); d > 0.02 {
			t.Errorf("%v: room's slab %v, slab alone %v", ref[i].At, f.States[i].Surface, ref[i].Temp)
		}
	}
}

// drawRoom draws a room with all there can be, and its weather.
func drawRoom(t *rapid.T) (climate.Room, climate.Weather) {
	f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	hours := func(name string) time.Duration { return time.Duration(f(name, 0, 60) * 3.6e12) }
	r := climate.Room{Volume: units.Volume(math.Pow(10, f("log V", 0.5, 5))), Envelope: units.Conductance(math.Pow(10, f("log UA", 0, 5))), AirChanges: units.Rate(f("n", 0, 20)) * units.PerHour,
		Air: units.Celsius(f("air", -10, 35)), RH: units.Fraction(f("rh", 0.05, 1)), Surface: units.Celsius(f("surface", -10, 35)), Contents: units.Mass(f("contents", 0, 1e4))}
	if rapid.Bool().Draw(t, "slab?") {
		r.Floor = units.Area(math.Pow(10, f("log A", 0, 4)))
		r.Volume = r.Floor.Times(units.Length(f("height", 1, 20)))
		r.Slab = onSoil(units.Length(f("thick", 0.02, 0.5)), units.FilmCoefficient(f("h", 0.5, 30)))
		if rapid.Bool().Draw(t, "insulated?") {
			r.Slab.Deep = units.Temperature{}
		}
		for range rapid.IntRange(0, 2).Draw(t, "emissions") {
			from := hours("emits from")
			r.Emissions = append(r.Emissions, climate.Emission{From: from, To: from + hours("emits for"), Area: r.Floor * units.Area(f("bare", 0.1, 1)), Flux: units.MassFlux(math.Pow(10, f("log flux", -8, -6)))})
		}
		for range rapid.IntRange(0, 2).Draw(t, "coats") {
			at, covered := hours("coat"), time.Duration(0)
			if rapid.Bool().Draw(t, "covered?") {
				covered = at + hours("wet for")/3
			}
			r.Coats = append(r.Coats, climate.WetCoat{At: at, Covered: covered, Area: r.Floor * units.Area(f("share", 0.1, 1)), Drying: climate.Drying{Water: units.Loading(f("water", 0.01, 0.5)), Convection: units.FilmCoefficient(f("hc", 0.5, 10))}})
		}
	}
	at := time.Duration(0)
	for range rapid.IntRange(0, 4).Draw(t, "settings") {
		set := climate.Setting{At: at, Temp: units.Celsius(f("set", 0, 35))}
		if rapid.IntRange(0, 3).Draw(t, "off") == 0 {
			set.Temp = units.Temperature{}
		}
		r.Thermostat = append(r.Thermostat, set)
		at += hours("next setting") / 3
	}
	for range rapid.IntRange(0, 3).Draw(t, "heaters") {
		h := climate.Heater{Fuel: climate.Fuel{HHV: 50e6, LHV: 46e6, Water: 1.63, CO2: 2.99}, Max: units.Power(math.Pow(10, f("log P", 2, 6))), Unvented: true}
		switch rapid.IntRange(0, 2).Draw(t, "kind") {
		case 0:
			h.Unvented, h.Efficiency = false, 0.8
		case 1:
			h = climate.Heater{Max: h.Max}
		}
		if !(h.Fuel == climate.Fuel{}) && rapid.Bool().Draw(t, "tank?") {
			h.Tank = units.Mass(f("tank", 0, 60))
			h.Refills = []climate.Refill{{At: hours("refill"), Add: units.Mass(f("add", 0, 60))}}
		}
		r.Heaters = append(r.Heaters, h)
	}
	if rapid.Bool().Draw(t, "door?") {
		from := hours("door")
		r.Openings = []climate.Opening{{From: from, To: from + hours("open")/5, AirChanges: units.Rate(f("draught", 0, 100)) * units.PerHour}}
	}
	r.Watch = climate.Watch{Margin: 3, Surface: units.Celsius(10), RH: 0.85, CO2: 0.005}
	var w climate.Weather
	for i := range rapid.IntRange(1, 10).Draw(t, "weather") {
		w = append(w, climate.Reading{At: time.Duration(i) * 7 * time.Hour, Temp: units.Celsius(f("out", -25, 35)), RH: units.Fraction(f("out rh", 0.05, 1))})
	}
	return r, w
}

// Heat (to 1e-8 of what went through, with what rounding in kelvin is worth) and
// water are accounted for, and the room stays between the extremes of
// what drives it.
func TestRoomBalances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, w := drawRoom(t)
		f, err := r.Forecast(w, 60*time.Hour, time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		b := f.Balance
		through := math.Abs(float64(b.Heat)) + math.Abs(float64(b.Envelope)) + math.Abs(float64(b.Ventilation)) + math.Abs(float64(b.Deep)) + math.Abs(float64(b.Stored))
		// What rounding in kelvin is worth, in 60 h of steps: 720, or 3600 while a
		// coat dries. Where nothing moves it is the same in each step and adds up.
		steps := 1.0
		if len(r.Coats) > 0 {
			steps = 5
		}
		rounding := 1e-13 * 300 * (steps*float64(r.Floor)*1.4e7 + float64(r.Volume)*1207*(1+100*60) + float64(r.Contents)*500 + (float64(r.Envelope)+float64(r.Floor)*float64(r.Slab.Film))*216000)
		if off := float64(b.Heat - b.Envelope - b.Ventilation - b.Deep - b.Evaporation - b.Stored); math.Abs(off) > 1e-8*through+rounding {
			t.Fatalf("heat: %v J of %v are lost: %+v", off, through, b)
		}
		if off := float64(b.Burned + b.Dried + b.Emitted - b.Vented - b.InTheAir); math.Abs(off) > 1e-9*(math.Abs(float64(b.Burned+b.Dried+b.Emitted))+math.Abs(float64(b.Vented))+float64(r.Volume)) {
			t.Fatalf("water: %v kg are lost: %+v", off, b)
		}
		lo, hi := min(r.Air.Kelvin(), r.Surface.Kelvin()), max(r.Air.Kelvin(), r.Surface.Kelvin())
		for _, o := range w {
			lo, hi = min(lo, o.Temp.Kelvin()), max(hi, o.Temp.Kelvin())
		}
		if d := r.Slab.Deep.Kelvin(); d != 0 {
			lo, hi = min(lo, d), max(hi, d)
		}
		for _, s := range r.Thermostat {
			if len(r.Heaters) > 0 {
				hi = max(hi, s.Temp.Kelvin())
			}
		}
		cooled := 0.0
		if len(r.Coats) > 0 {
			cooled = 30 // drying coats cool the slab below the air, to its wet bulb at most
		}
		for _, e := range r.Emissions { // and its own moisture until the film brings the heat for it
			cooled += 2.45e6 * float64(e.Flux) / float64(r.Slab.Film)
		}
		for _, s := range f.States {
			if k := s.Air.Kelvin(); !(k > lo-0.1-cooled && k < hi+0.1) {
				t.Fatalf("air %v at %v, outside %v to %v K", s.Air, s.At, lo, hi)
			}
			if k := s.Surface.Kelvin(); !(k > lo-0.1-cooled && k < hi+0.1) {
				t.Fatalf("surface %v at %v, outside %v to %v K", s.Surface, s.At, lo, hi)
			}
			if !(s.RH >= 0) || s.DewPoint.IsNaN() || !(s.CO2 >= 400e-6) || !(s.Power >= 0) {
				t.Fatalf("%+v", s)
			}
		}
		for i := range r.Heaters {
			h := &r.Heaters[i]
			have := h.Tank
			for _, x := range h.Refills {
				have += x.Add
			}
			if have > 0 && (b.Fuel[i] > have*(1+1e-9) || f.States[60].Fuel[i] < 0) {
				t.Fatalf("heater %d burned %v of %v", i, b.Fuel[i], have)
			}
		}
		for i, e := range f.Events {
			if e.At < 0 || e.At > 60*time.Hour || i > 0 && e.At < f.Events[i-1].At {
				t.Fatalf("events %v", f.Events)
			}
		}
	})
}

// benchRoom is a workshop over soil through three cold days, with a tank that
// runs dry.
func benchRoom(t testing.TB) (climate.Room, climate.Weather) {
	r := climate.Room{Volume: 600, Envelope: 400, AirChanges: 0.6 * units.PerHour, Floor: 150, Slab: onSoil(0.15, 6), Air: units.Celsius(8), Surface: units.Celsius(7), RH: 0.6,
		Thermostat: []climate.Setting{{At: 0, Temp: units.Celsius(18)}, {At: 20 * time.Hour, Temp: units.Celsius(12)}, {At: 30 * time.Hour, Temp: units.Celsius(18)}},
		Heaters:    []climate.Heater{{Fuel: propane(t), Max: 30 * units.Kilowatt, Unvented: true, Tank: 40, Refills: []climate.Refill{{At: 48 * time.Hour, Add: 40}}}},
		Watch:      climate.Watch{Margin: 3, Surface: units.Celsius(10)}}
	var w climate.Weather
	for h := range 73 {
		w = append(w, climate.Reading{At: time.Duration(h) * time.Hour, Temp: units.Celsius(2 + 6*math.Sin(2*math.Pi*(float64(h)-9)/24)), RH: 0.75})
	}
	return r, w
}

func BenchmarkRoomForecast(b *testing.B) { // 72 h: at most 1.5 ms
	b.ReportAllocs()
	r, w := benchRoom(b)
	for b.Loop() {
		if _, err := r.Forecast(w, 72*time.Hour, 5*time.Minute); err != nil {
			b.Fatal(err)
		}
	}
}

// Limits broken at the start are told at 0, those that are just kept are not;
// and one that starts at its limit is told when it leaves it.
func TestWatchAtTheStart(t *testing.T) {
	c := units.Celsius
	base := climate.Room{Volume: 300, Floor: 100, Envelope: 100, AirChanges: 1 * units.PerHour, Air: c(12), RH: 0.85, Surface: c(12), Slab: onSoil(0.15, 6)}
	base.Slab.Deep = c(12)
	same := climate.Weather{{Temp: c(12), RH: 0.85}}
	damp := climate.Weather{{Temp: c(12), RH: 1}}
	dew, err := climate.Air{Temp: c(12), RH: 0.85}.DewPoint()
	if err != nil {
		t.Fatal(err)
	}
	margin := c(12).Sub(dew) // about 2.4 K
	for name, tc := range map[string]struct {
		watch   climate.Watch
		surface float64
		w       climate.Weather
		what    string
		at0     bool
	}{
		"margin broken":      {climate.Watch{Margin: margin + 0.5}, 12, same, climate.MarginBroken, true},
		"margin just kept":   {climate.Watch{Margin: margin}, 12, same, "", false},
		"margin leaves it":   {climate.Watch{Margin: margin}, 12, damp, climate.MarginBroken, false},
		"surface below":      {climate.Watch{Surface: c(13)}, 12, same, climate.SurfaceBelow, true},
		"surface just there": {climate.Watch{Surface: c(12)}, 12, same, "", false},
		"humid":              {climate.Watch{RH: 0.8}, 12, same, climate.RHAbove, true},
		"just humid":         {climate.Watch{RH: 0.85}, 12, same, "", false},
		"humidity leaves it": {climate.Watch{RH: 0.85}, 12, damp, climate.RHAbove, false},
		"carbon dioxide":     {climate.Watch{CO2: 400e-6}, 12, same, climate.CO2Above, true},
		"just that much":     {climate.Watch{CO2: 420e-6}, 12, same, "", false},
		"condensing":         {climate.Watch{}, 5, same, climate.Condensing, true},
	} {
		r := base
		r.Watch, r.Surface = tc.watch, c(tc.surface)
		f, err := r.Forecast(tc.w, 3*time.Hour, time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		var first climate.Event
		if len(f.Events) > 0 {
			first = f.Events[0]
		}
		if first.What != tc.what || first.At > time.Second || tc.at0 && first.At != 0 {
			t.Errorf("%s: %v; want %q, at 0: %v", name, f.Events, tc.what, tc.at0)
		}
	}
}
