package climate_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

func ExampleDewPoint() {
	td, err := climate.DewPoint(units.Celsius(25), 80*units.Percent)
	fmt.Printf("%.1f °C %v\n", td.Celsius(), err)
	_, err = climate.DewPoint(units.Celsius(25), 80) // Percent forgotten
	fmt.Println(err)
	// Output:
	// 21.3 °C <nil>
	// climate.DewPoint: rh = 8000 %: want 1 to 100
}

func TestDewPoint(t *testing.T) {
	const formula, other = 1e-9, 0.06 // K: same equation, more digits; the doc comment's accuracy
	for _, tc := range []struct {
		air, rh, want, tol float64
		src                string
	}{
		{20, 20, -3.6708967826, formula, "WMO-No. 8 annex 4.B in 40 digits"},
		{25, 80, 21.3093971637, other, "PsychroLib 2.5.0, module docstring (ASHRAE 2017 ch. 1)"},
		{60, 100, 60, formula, "saturated air is at its dew point"},
		{20, 75, 15.4, 0.06, "Cengel and Boles, Thermodynamics, example 14-2, printed to 0.1"},
		{21.1, 65, 14.270, other, "PsychroLib 2.5.0, computed"},
		{26.7, 50, 15.423, other, "PsychroLib 2.5.0, computed"},
		{12.8, 65, 6.392, other, "PsychroLib 2.5.0, computed"},
		{20, 65, 13.228, other, "IAPWS, computed"},
		{15, 80, 11.582, other, "IAPWS, computed"},
		{25, 50, 13.865, other, "IAPWS, computed"},
		{10, 70, 4.787, other, "IAPWS, computed"},
		{5, 40, -7.47, 0.06, "supercooled dew point over water, not the frost point -6.64; Murphy and Koop 2005, computed"},
		{-10, 40, -21.05, 0.15, "as above, not -19.93; RH over water"},
		{(70. - 32) / 1.8, 50, (50.53 - 32) / 1.8, 0.1 / 1.8, "PsychroLib 2.5.0, inch-pound"},
		{(60. - 32) / 1.8, 50, (41.33 - 32) / 1.8, 0.1 / 1.8, "PsychroLib 2.5.0, inch-pound"},
		{(90. - 32) / 1.8, 30, (54.43 - 32) / 1.8, 0.1 / 1.8, "PsychroLib 2.5.0, inch-pound"},
	} {
		td, err := climate.DewPoint(units.Celsius(tc.air), units.Fraction(tc.rh)*units.Percent)
		if err != nil || !(math.Abs(td.Celsius()-tc.want) <= tc.tol) {
			t.Errorf("%g °C %g %%: got %v, %v; want %v ± %g (%s)", tc.air, tc.rh, td.Celsius(), err, tc.want, tc.tol, tc.src)
		}
	}
}

func TestAir(t *testing.T) {
	for _, tc := range []struct {
		air, rh, p  float64
		dew, w, tol float64 // °C, kg/kg, relative for w
		src         string
	}{
		{21.1, 65, 0, 14.270, 0.010149, 0.003, "PsychroLib 2.5.0 PS07"},
		{26.7, 50, 0, 15.423, 0.010946, 0.003, "PsychroLib 2.5.0 PS10"},
		{12.8, 65, 0, 6.392, 0.005955, 0.003, "PsychroLib 2.5.0 PS03"},
		{20, 60, 83427.5, 12.007, 0.010640, 0.003, "PsychroLib 2.5.0 PA04, 1609 m: the dew point does not depend on pressure"},
		{20, 75, 0, 15.438, math.NaN(), 0, "PsychroLib 2.5.0 for Cengel and Boles example 14-2"},
		{30, 80, 0, math.NaN(), 0.0216, 0.005, "Cengel and Boles example 14-6, printed"},
		{14, 100, 0, 14, 0.0100, 0.005, "Cengel and Boles example 14-6, printed"},
		{25, 100, 0, 25, 0.020173, 0.01, "ASHRAE Fundamentals 2017 ch. 1 table 2, real-gas factor left out here"},
		{50, 100, 0, 50, 0.086863, 0.01, "ASHRAE Fundamentals 2017 ch. 1 table 2"},
	} {
		a := climate.Air{Temp: units.Celsius(tc.air), RH: units.Fraction(tc.rh) * units.Percent, Pressure: units.Pressure(tc.p)}
		td, err := a.DewPoint()
		if !math.IsNaN(tc.dew) && (err != nil || math.Abs(td.Celsius()-tc.dew) > 0.01) {
			t.Errorf("%g °C %g %%: dew point %v, %v; want %v ± 0.01 (%s)", tc.air, tc.rh, td.Celsius(), err, tc.dew, tc.src)
		}
		w, err := a.HumidityRatio()
		if !math.IsNaN(tc.w) && (err != nil || math.Abs(float64(w)/tc.w-1) > tc.tol) {
			t.Errorf("%g °C %g %%: W %v, %v; want %v ± %g (%s)", tc.air, tc.rh, float64(w), err, tc.w, tc.tol, tc.src)
		}
	}
	// Saturation, ASHRAE Fundamentals 2017 ch. 1 table 3 (0.03 %) and IAPWS (0.03 %); below 0 °C over water, Murphy and Koop 2005 (0.005 %).
	for _, tc := range [][3]float64{{5, 872.6, 3e-4}, {25, 3169.7, 3e-4}, {50, 12351.3, 3e-4}, {20, 2339.19, 3e-4}, {35, 5629.06, 3e-4}, {60, 19947.38, 3e-4}, {-5, 421.76, 5e-5}, {-10, 286.45, 5e-5}, {-15, 191.31, 5e-5}, {-20, 125.50, 5e-5}} {
		p, err := climate.Air{Temp: units.Celsius(tc[0]), RH: 1}.VapourPressure()
		if err != nil || math.Abs(float64(p)/tc[1]-1) > tc[2] {
			t.Errorf("saturation at %g °C: %v, %v; want %v", tc[0], float64(p), err, tc[1])
		}
	}
	// Frost point of air at 5 °C 40 %: -6.64 (PsychroLib 2.5.0; RH over water in both).
	if tf, err := (climate.Air{Temp: units.Celsius(5), RH: 0.4}).FrostPoint(); err != nil || math.Abs(tf.Celsius()+6.64) > 0.01 {
		t.Errorf("frost point %v, %v; want -6.64", tf, err)
	}
	if _, err := (climate.Air{Temp: units.Celsius(25), RH: 0.5}).FrostPoint(); !errors.Is(err, units.ErrRange) {
		t.Errorf("frost point of warm air: %v; want a range error", err)
	}
	// Cengel and Boles example 14-6: 30 °C 80 %: h 85.4 kJ/kg, v 0.889 m3/kg dry air, printed.
	a := climate.Air{Temp: units.Celsius(30), RH: 0.8}
	if h, err := a.Enthalpy(); err != nil || math.Abs(float64(h)/85.4e3-1) > 0.005 {
		t.Errorf("enthalpy %v, %v; want 85.4 kJ/kg", h, err)
	}
	w, _ := a.HumidityRatio()
	if d, err := a.Density(); err != nil || math.Abs((1+float64(w))/float64(d)/0.889-1) > 0.005 {
		t.Errorf("density %v, %v; want 1.0216/0.889 kg/m3", d, err)
	}
}

func TestDewPointProperties(t *testing.T) { // order, the bound under rounding, and the two formulas agree
	rapid.Check(t, func(t *rapid.T) {
		air := units.Celsius(rapid.Float64Range(-40, 60).Draw(t, "air °C"))
		lo := rapid.Float64Range(0.01, 1).Draw(t, "rh")
		hi := rapid.Float64Range(lo, 1).Draw(t, "wetter")
		a, err1 := climate.DewPoint(air, units.Fraction(lo))
		b, err2 := climate.DewPoint(air, units.Fraction(hi))
		if err1 != nil || err2 != nil || b.Sub(a) < 0 || b.Sub(air) > 0 {
			t.Fatalf("want %v <= %v <= %v (%v, %v)", a, b, air, err1, err2)
		}
		ref, err := climate.Air{Temp: air, RH: units.Fraction(hi)}.DewPoint()
		stated := ref.Celsius() >= 0 && air.Celsius() <= 50 // where the doc comment states 0.06 K
		if err != nil || air.Less(ref) || stated && math.Abs(float64(ref.Sub(b))) > 0.06 {
			t.Fatalf("Magnus %v, reference %v, %v", b, ref, err)
		}
	})
}

func TestRefusals(t *testing.T) {
	nan := math.NaN()
	for _, tc := range []struct {
		air units.Temperature
		rh  units.Fraction
	}{{units.Celsius(61), 0.5}, {units.Celsius(20), 0}, {units.Celsius(20), 1.1}, {units.Celsius(nan), 0.5}, {units.Celsius(20), units.Fraction(nan)}, {units.Temperature{}, 0.5}} {
		td, err := climate.DewPoint(tc.air, tc.rh)
		if !errors.Is(err, units.ErrRange) || !td.IsNaN() {
			t.Errorf("%v %v: got %v, %v; want NaN and a range error", tc.air, tc.rh, td, err)
		}
		if td, err = (climate.Air{Temp: tc.air, RH: tc.rh}).DewPoint(); !errors.Is(err, units.ErrRange) || !td.IsNaN() {
			t.Errorf("Air %v %v: got %v, %v; want NaN and a range error", tc.air, tc.rh, td, err)
		}
	}
}

func FuzzDewPoint(f *testing.F) {
	f.Add(20.0, 0.5)
	f.Fuzz(func(t *testing.T, c, rh float64) {
		td, err := climate.DewPoint(units.Celsius(c), units.Fraction(rh))
		if (err == nil) == td.IsNaN() {
			t.Fatalf("%g °C %g: %v with %v", c, rh, td, err)
		}
	})
}

func BenchmarkDewPoint(b *testing.B) {
	b.ReportAllocs() // 0 allocs/op
	for b.Loop() {
		climate.DewPoint(units.Celsius(25), 80*units.Percent)
	}
}

func BenchmarkLog(b *testing.B) { // what BenchmarkDewPoint is compared with
	x := 0.8
	for b.Loop() {
		x = 0.8 + math.Log(x)*1e-9
	}
}

func BenchmarkAirDewPoint(b *testing.B) { // the exact one: at most 80 ns, 0 allocs/op
	b.ReportAllocs()
	a := climate.Air{Temp: units.Celsius(25), RH: 80 * units.Percent}
	for b.Loop() {
		a.DewPoint()
	}
}
