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

// Fuels from outside the table of TestBurned. Heating values in MJ/kg.
func TestBurnedOther(t *testing.T) {
	for _, tc := range []struct {
		name     string
		f        climate.Formula
		hhv, lhv float64
		tol      float64
		src      string
	}{
		{"hydrogen", climate.Formula{Hydrogen: 2}, 141.8, 119.96, 1e-3, "from memory of Moran and others table A-25: 141 780 and 119 950 kJ/kg"},
		{"methanol liquid", climate.Formula{Carbon: 1, Hydrogen: 4, Oxygen: 1, Formation: -238.66e3}, 22.67, 19.92, 3e-3, "from memory of Moran and others table A-25"},
		{"carbon", climate.Formula{Carbon: 1}, 32.77, 32.77, 2e-3, "from memory of Moran and others table A-25: 32 770 kJ/kg"},
		{"carbon monoxide", climate.Formula{Carbon: 1, Oxygen: 1, Formation: -110.53e3}, 10.10, 10.10, 2e-3, "282.98 kJ/mol over 28.010 g/mol, CODATA, by hand"},
		{"methane", climate.Formula{Carbon: 1, Hydrogen: 4, Formation: -74.85e3}, 55.507, 50.019, 5e-4, "Moran and others example 13.7, printed"},
		{"n-octane liquid", climate.Formula{Carbon: 8, Hydrogen: 18, Formation: -249.95e3}, 47.989 * 114 / 114.231, 44.42, 1e-3, "Cengel example 15-5 prints 47 989 kJ/kg with M = 114"},
	} {
		f, err := tc.f.Burned()
		if err != nil || math.Abs(float64(f.HHV)/1e6/tc.hhv-1) > tc.tol || math.Abs(float64(f.LHV)/1e6/tc.lhv-1) > tc.tol {
			t.Errorf("%s: %v, %v, %v; want %v, %v MJ/kg within %v (%s)", tc.name, f.HHV, f.LHV, err, tc.hhv, tc.lhv, tc.tol, tc.src)
		}
	}
}

// Per million Btu and per gallon.
func TestFuelFactors(t *testing.T) {
	const btu, gal, lb = 1055.05585262, 3.785411784, 0.45359237
	fuel := func(f climate.Formula) climate.Fuel {
		b, err := f.Burned()
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	p := fuel(climate.Formula{Carbon: 3, Hydrogen: 8, Formation: -103.85e3})
	m := fuel(climate.Formula{Carbon: 1, Hydrogen: 4, Formation: -74.87e3})
	b := fuel(climate.Formula{Carbon: 4, Hydrogen: 10, Formation: -126.15e3})
	k := fuel(climate.Formula{Carbon: 12, Hydrogen: 23, Formation: -303e3})
	perMMBtu := func(x units.Fraction, f climate.Fuel) float64 { return float64(x) / float64(f.HHV) * 1e6 * btu }
	for _, tc := range []struct {
		name           string
		got, want, tol float64
		src            string
	}{
		{"propane CO2, kg/mmBtu", perMMBtu(p.CO2, p), 62.75, 2e-4, "stoichiometry, computed"},
		{"propane CO2, kg/mmBtu", perMMBtu(p.CO2, p), 62.87, 2.5e-3, "40 CFR 98 table C-1, 0.2 % above stoichiometry"},
		{"propane water, kg/mmBtu", perMMBtu(p.Water, p), 34.25, 2e-4, "stoichiometry, computed"},
		{"butane CO2, kg/mmBtu", perMMBtu(b.CO2, b), 64.56, 1e-3, "stoichiometry, computed"},
		{"butane water, kg/mmBtu", perMMBtu(b.Water, b), 33.03, 1e-3, "stoichiometry, computed"},
		{"methane CO2, kg/mmBtu", perMMBtu(m.CO2, m), 52.2, 2e-3, "stoichiometry, computed, three digits"},
		{"methane water, kg/mmBtu", perMMBtu(m.Water, m), 42.7, 2e-3, "stoichiometry, computed, three digits"},
		{"kerosene CO2, kg/mmBtu", perMMBtu(k.CO2, k), 72.22, 2e-2, "40 CFR 98 table C-1, kerosene-type jet fuel (its kerosene, 75.20, is 4 % above any kerosene's stoichiometry)"},
		{"kerosene water, kg/mmBtu", perMMBtu(k.Water, k), 28.4, 3e-2, "stoichiometry with the formation from memory"},
		{"propane, Btu/gal, higher", float64(p.HHV) / btu * 4.20 * lb, 90904, 2e-4, "4.20 lb/gal, computed"},
		{"propane, Btu/gal, higher", float64(p.HHV) / btu * 4.20 * lb, 91000, 2e-3, "40 CFR 98 table C-1, rounded to 1000"},
		{"propane, Btu/gal, lower", float64(p.LHV) / btu * 4.20 * lb, 83697, 2e-4, "4.20 lb/gal, computed"},
		{"propane water, lb/gal", float64(p.Water) * 4.20, 6.86, 1e-3, "4.20 lb/gal, computed; pages that say 1.6 or 4.8 lb/gal are wrong"},
		{"propane CO2, kg/gal", float64(p.CO2) * 4.20 * lb, 5.72, 4e-3, "40 CFR 98 tables C-1: 62.87 kg/mmBtu x 0.091 mmBtu/gal"},
		{"kerosene CO2, kg/gal", float64(k.CO2) * 0.81 * gal, 9.65, 1e-2, "0.81 kg/L, 14.1 % H, computed"},
		{"gap of the heating values, MJ/kg of water", float64(p.HHV-p.LHV) / float64(p.Water) / 1e6, 2.4418, 1e-3, "vaporisation at 25 °C, steam tables (from memory)"},
	} {
		if !(math.Abs(tc.got/tc.want-1) <= tc.tol) {
			t.Errorf("%s: %.6g, want %v within %v (%s)", tc.name, tc.got, tc.want, tc.tol, tc.src)
		}
	}
}

// The dew point of a flue: the moles of water and carbon dioxide are those of
// Burned, the air by hand.
func TestFlueDewPoint(t *testing.T) {
	for _, tc := range []struct {
		name         string
		f            climate.Formula
		mass, o2     float64 // g/mol; mol of oxygen per mol of fuel with the excess
		used         float64 // of it
		share, td    float64 // of water by volume; °C at 100 kPa
		tolX, tolDew float64
		src          string
	}{
		{"ethane, 20 % excess", climate.Formula{Carbon: 2, Hydrogen: 6, Formation: -84.68e3}, 30.069, 3.5 * 1.2, 3.5, 3 / 21.49, 52.3, 1e-3, 0.2, "Cengel example 15-2, printed"},
		{"octane, 200 % air", climate.Formula{Carbon: 8, Hydrogen: 18, Formation: -249.95e3}, 114.229, 12.5 * 2, 12.5, 0.0729, 39.7, 2e-3, 0.2, "Borgnakke and Sonntag example 15.2, printed"},
	} {
		f, err := tc.f.Burned()
		if err != nil {
			t.Fatal(err)
		}
		water, carbon := float64(f.Water)*tc.mass/18.015, float64(f.CO2)*tc.mass/44.009
		x := water / (water + carbon + 4.76*tc.o2 - tc.used)
		a, err := climate.FromHumidityRatio(units.Celsius(59), units.Fraction(0.621945*x/(1-x)), 100e3)
		if err != nil {
			t.Fatal(err)
		}
		td, err := a.DewPoint()
		if err != nil || math.Abs(x/tc.share-1) > tc.tolX || math.Abs(td.Celsius()-tc.td) > tc.tolDew {
			t.Errorf("%s: %.4f of water, %v, %v; want %.4f, %v °C within %v, %v K (%s)", tc.name, x, td, err, tc.share, tc.td, tc.tolX, tc.tolDew, tc.src)
		}
	}
}

func TestBurnedProperties(t *testing.T) { // mass balance, order, no dependence on how many molecules
	rapid.Check(t, func(t *rapid.T) {
		f := climate.Formula{Carbon: rapid.Float64Range(0, 50).Draw(t, "C"), Hydrogen: rapid.Float64Range(0, 100).Draw(t, "H"), Oxygen: rapid.Float64Range(0, 50).Draw(t, "O"),
			Formation: units.MolarEnergy(rapid.Float64Range(-3e6, 3e6).Draw(t, "formation"))}
		b, err := f.Burned()
		if err != nil {
			if !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(b.HHV+b.LHV)) || !math.IsNaN(float64(b.Water+b.CO2)) {
				t.Fatalf("%+v beside %v", b, err)
			}
			return
		}
		if !(b.LHV > 0 && b.LHV <= b.HHV && b.Water >= 0 && b.CO2 >= 0) {
			t.Fatalf("%+v", b)
		}
		// what is made weighs what was burned and its oxygen
		need := (f.Carbon + f.Hydrogen/4 - f.Oxygen/2) * 2 * 15.999 / (12.011*f.Carbon + 1.008*f.Hydrogen + 15.999*f.Oxygen)
		if d := float64(b.Water+b.CO2) - 1 - need; math.Abs(d) > 1e-12*(1+need) {
			t.Fatalf("%v kg made of 1 kg and %v kg of oxygen", b.Water+b.CO2, need)
		}
		two, err := climate.Formula{Carbon: 2 * f.Carbon, Hydrogen: 2 * f.Hydrogen, Oxygen: 2 * f.Oxygen, Formation: 2 * f.Formation}.Burned()
		if err == nil && math.Abs(float64(two.HHV/b.HHV)-1) > 1e-12 {
			t.Fatalf("two molecules %v, one %v", two.HHV, b.HHV)
		}
	})
}

// Each fault of a heater is refused by name, also by what takes the room.
func TestHeaterRefusals(t *testing.T) {
	p := propane(t)
	w := climate.Weather{{Temp: units.Celsius(5), RH: 0.8}}
	good := climate.Heater{Fuel: p, Max: 10e3, Unvented: true, Tank: 20}
	for name, change := range map[string]func(*climate.Heater){
		"no power":                 func(h *climate.Heater) { h.Max = 0 },
		"power NaN":                func(h *climate.Heater) { h.Max = units.Power(math.NaN()) },
		"110 MW":                   func(h *climate.Heater) { h.Max = 110e6 },
		"more than the lower":      func(h *climate.Heater) { h.Efficiency = 0.93 },
		"vented without a share":   func(h *climate.Heater) { h.Unvented = false },
		"vented above 1":           func(h *climate.Heater) { h.Unvented, h.Efficiency = false, 1.01 },
		"4 %":                      func(h *climate.Heater) { h.Efficiency = 0.04 },
		"negative tank":            func(h *climate.Heater) { h.Tank = -1e-6 },
		"negative refill":          func(h *climate.Heater) { h.Refills = []climate.Refill{{At: time.Hour, Add: -0.0005}} },
		"refills fall":             func(h *climate.Heater) { h.Refills = []climate.Refill{{At: time.Hour}, {At: time.Minute}} },
		"refill out of time":       func(h *climate.Heater) { h.Refills = []climate.Refill{{At: math.MaxInt64}} },
		"refill out of time below": func(h *climate.Heater) { h.Refills = []climate.Refill{{At: math.MinInt64}} },
		"electric and unvented":    func(h *climate.Heater) { h.Fuel, h.Tank = climate.Fuel{}, 0 },
		"electric with a tank":     func(h *climate.Heater) { h.Fuel, h.Unvented = climate.Fuel{}, false },
		"heat pump of 9": func(h *climate.Heater) {
			h.Fuel, h.Unvented, h.Tank, h.Efficiency = climate.Fuel{}, false, 0, 9
		},
		"only water":       func(h *climate.Heater) { h.Fuel = climate.Fuel{Water: 1} },
		"lower is higher":  func(h *climate.Heater) { h.Fuel.LHV = h.Fuel.HHV * 1.01 },
		"HHV NaN":          func(h *climate.Heater) { h.Fuel.HHV = units.SpecificEnergy(math.NaN()) },
		"CO2 NaN":          func(h *climate.Heater) { h.Fuel.CO2 = units.Fraction(math.NaN()) },
		"water NaN":        func(h *climate.Heater) { h.Fuel.Water = units.Fraction(math.NaN()) },
		"water below zero": func(h *climate.Heater) { h.Fuel.Water = -1e-9 },
	} {
		r := shop(t)
		h := good
		change(&h)
		r.Heaters = []climate.Heater{h}
		if f, err := r.Forecast(w, time.Hour, time.Minute); !errors.Is(err, units.ErrRange) || f != nil {
			t.Errorf("%s: %v; want a range error", name, err)
		}
	}
	r := shop(t)
	r.Heaters = []climate.Heater{good, good, good, good, good}
	if _, err := r.Forecast(w, time.Hour, time.Minute); !errors.Is(err, units.ErrRange) {
		t.Errorf("5 heaters: %v", err)
	}
}

// Two heaters, the first with fuel for an hour: by hand, the second takes over.
func TestTwoHeaters(t *testing.T) {
	p := propane(t)
	r := climate.Room{Volume: 100, Envelope: 500, Air: units.Celsius(20), RH: 0.4, Thermostat: []climate.Setting{{Temp: units.Celsius(20)}},
		Heaters: []climate.Heater{{Fuel: p, Max: 8e3, Unvented: true, Efficiency: 0.9, Tank: units.Mass(8e3 * 3600 / float64(p.HHV))}, {Max: 10e3}}}
	f, err := r.Forecast(climate.Weather{{Temp: units.Celsius(0), RH: 0.8}}, 3*time.Hour, 30*time.Minute)
	if err != nil {
		t.Fatal(err)
	}
	// 500 W/K x 20 K = 10 kW: 7.2 kW of the first (8 kW taken in), 2.8 kW of the second; then 10 kW of that.
	for _, tc := range []struct {
		i           int
		power, heat float64
	}{{0, 10.8e3, 10e3}, {1, 10.8e3, 10e3}, {3, 10e3, 10e3}, {6, 10e3, 10e3}} {
		if s := f.States[tc.i]; math.Abs(float64(s.Power)-tc.power) > 1 || math.Abs(float64(s.Heat)-tc.heat) > 1 {
			t.Errorf("%v: %v taken in, %v given; want %v, %v W (by hand)", s.At, s.Power, s.Heat, tc.power, tc.heat)
		}
	}
	if e, ok := f.First(climate.TankEmpty); !ok || e.Heater != 0 || math.Abs(e.At.Seconds()-3600) > 1 {
		t.Errorf("empty at %v, %v; want 1 h", e, ok)
	}
	// With the first one empty from the start, the second alone.
	r.Heaters[0].Tank, r.Heaters[0].Refills = 0, []climate.Refill{{At: 100 * time.Hour, Add: 5}}
	if f, err = r.Forecast(climate.Weather{{Temp: units.Celsius(0), RH: 0.8}}, 3*time.Hour, 30*time.Minute); err != nil || math.Abs(float64(f.States[0].Power)-10e3) > 1 || math.Abs(float64(f.States[6].Power)-10e3) > 1 || f.Balance.Fuel[0] != 0 {
		t.Errorf("first empty: %v, %v", f.States[6], err)
	}
}

// Refills before, at and after the start, two at once, and one at an output.
func TestRefills(t *testing.T) {
	p := propane(t)
	r := climate.Room{Volume: 100, Envelope: 500, Air: units.Celsius(20), RH: 0.4, // no thermostat: nothing burns
		Heaters: []climate.Heater{{Fuel: p, Max: 8e3, Unvented: true, Tank: 1, Refills: []climate.Refill{{At: -time.Hour, Add: 2}, {At: 0, Add: 4}, {At: time.Hour, Add: 8}, {At: time.Hour, Add: 16}, {At: 2 * time.Hour, Add: 32}}}}}
	f, err := r.Forecast(climate.Weather{{Temp: units.Celsius(0), RH: 0.8}}, 2*time.Hour, 30*time.Minute)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []units.Mass{7, 7, 31, 31, 63} {
		if got := f.States[i].Fuel[0]; math.Abs(float64(got-want)) > 1e-9 {
			t.Errorf("%v: %v of fuel, want %v", f.States[i].At, got, want)
		}
	}
	n := 0
	for _, e := range f.Events {
		if e.What == climate.TankRefilled {
			n++
		}
	}
	if n != 3 {
		t.Errorf("%v: want 3 refills after 0", f.Events)
	}
}
