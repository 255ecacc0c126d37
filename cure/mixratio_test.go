package cure_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
)

func ExampleMixRatio() {
	mix := cure.MixRatio{EEW: 190 * units.Gram, AHEW: 42.575 * units.Gram}
	phr, err := mix.Hardener(1)
	fmt.Printf("%.1f phr %v\n", 100*phr, err)
	ratio, _ := mix.Ratio(10*units.Kilogram, 3*units.Kilogram) // a third too much
	off, err := mix.OffRatio(cure.Gel{Amine: 4, Epoxide: 2}, ratio)
	fmt.Printf("%.2f amine hydrogens for an epoxide, %.0f %% of the amine reacts %v\n", ratio, 100*off.Amine, err)
	// Output:
	// 22.4 phr <nil>
	// 1.34 amine hydrogens for an epoxide, 75 % of the amine reacts <nil>
}

// cure-notes.md section 2.3, computed from molar masses with 100 kJ/mol and cp 1.8
// kJ/(kg K): 3 decimals of phr, 2 of heat and rise, which is within its 0.1 %.
func TestMixRatio(t *testing.T) {
	for _, tc := range []struct {
		amine                           string
		eew, molar, h, ahew, phr, j, dt float64
	}{
		{"IPDA", 190, 170.30, 4, 42.575, 22.408, 429.97, 238.87},
		{"1,3-BAC", 190, 142.24, 4, 35.560, 18.716, 443.34, 246.30},
		{"MXDA", 190, 136.19, 4, 34.047, 17.920, 446.33, 247.96},
		{"TETA, pure DGEBA", 170.21, 146.232, 6, 24.372, 14.319, 513.92, 285.51},
	} {
		m := cure.MixRatio{EEW: units.Mass(tc.eew) * units.Gram, AHEW: units.Mass(tc.molar/tc.h) * units.Gram}
		phr, err1 := m.Hardener(1)
		heat, err2 := m.Heat(100*units.KilojoulePerMole, 1)
		rise, err3 := cure.AdiabaticRise(heat, 1800)
		if err1 != nil || err2 != nil || err3 != nil || math.Abs(tc.molar/tc.h-tc.ahew) > 6e-4 || math.Abs(100*float64(phr)-tc.phr) > 6e-4 ||
			math.Abs(float64(heat)/1e3-tc.j) > 6e-3 || math.Abs(float64(rise)-tc.dt) > 6e-3 {
			t.Errorf("%s: got %.4f phr, %.3f J/g, %.3f K, %v %v %v; want %+v", tc.amine, 100*phr, float64(heat)/1e3, float64(rise), err1, err2, err3, tc)
		}
	}
	// The same section: 13 phr of TETA, given for a technical resin, is EEW 187.5.
	if phr, err := (cure.MixRatio{EEW: 0.1875, AHEW: 0.024372}).Hardener(1); err != nil || math.Abs(100*float64(phr)-13) > 0.005 {
		t.Errorf("got %.4f phr, %v; want 13", 100*phr, err)
	}
}

func TestOffRatio(t *testing.T) {
	m, diamine := cure.MixRatio{EEW: 0.190, AHEW: 0.0425}, cure.Gel{Amine: 4, Epoxide: 2}
	for _, tc := range []struct {
		ratio, e, a, excess, gel float64 // gel points: cure-notes.md 2.2, the rest the balance of groups
	}{
		{1, 1, 1, 0, 0.577350269},
		{0.8, 0.8, 1, 0.2 * 0.190 / (0.190 + 0.8*0.0425), 0.516398},
		{1.25, 1, 0.8, 0.25 * 0.0425 / (0.190 + 1.25*0.0425), 0.645497},
		{3.5, 1, 1 / 3.5, 2.5 * 0.0425 / (0.190 + 3.5*0.0425), math.NaN()},
	} {
		o, err := m.OffRatio(diamine, units.Fraction(tc.ratio))
		if err != nil || math.Abs(float64(o.Epoxide)-tc.e) > 1e-14 || math.Abs(float64(o.Amine)-tc.a) > 1e-14 || math.Abs(float64(o.Excess)-tc.excess) > 1e-14 ||
			o.Gels == math.IsNaN(tc.gel) || o.Gels && math.Abs(float64(o.Gel)-tc.gel) > 1e-6 || !o.Gels && !math.IsNaN(float64(o.Gel)) {
			t.Errorf("got %+v, %v; want %+v", o, err, tc)
		}
	}
	for name, err := range map[string]error{
		"zero value": errOf((cure.MixRatio{}).Hardener(1)), "no ratio": errOf(m.Hardener(0)), "ratio": errOf(m.Heat(1e5, -1)), "heat": errOf(m.Heat(1e9, 1)),
		"no resin": errOf(m.Ratio(0, 1)), "nan": errOf(m.Ratio(1, units.Mass(math.NaN()))), "grams as kg": errOf((cure.MixRatio{EEW: 190, AHEW: 42}).Hardener(1)),
		"gel": errOf(m.OffRatio(cure.Gel{}, 1)), "off": errOf(m.OffRatio(diamine, units.Fraction(math.NaN()))), "rise": errOf(cure.AdiabaticRise(-1, 1800)),
	} {
		if !errors.Is(err, units.ErrRange) {
			t.Errorf("%s: got %v", name, err)
		}
	}
	if h, c, err := cure.Filled(430e3, 1800, 1, 800); !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(h)) || !math.IsNaN(float64(c)) {
		t.Errorf("all filler: got %g %g, %v", h, c, err)
	}
	if o, err := m.OffRatio(diamine, 0); err == nil || !math.IsNaN(float64(o.Epoxide+o.Amine+o.Excess+o.Gel)) || o.Gels {
		t.Errorf("ratio 0: got %+v, %v", o, err)
	}
}

// Weighing and reckoning are inverse; no ratio gives more heat than the right one.
func TestMixRatioProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := cure.MixRatio{EEW: units.Mass(rapid.Float64Range(0.1, 1).Draw(t, "EEW")), AHEW: units.Mass(rapid.Float64Range(0.02, 0.3).Draw(t, "AHEW"))}
		r := units.Fraction(rapid.Float64Range(0.1, 10).Draw(t, "ratio"))
		hard, err := m.Hardener(r)
		back, err2 := m.Ratio(1, units.Mass(hard))
		heat, err3 := m.Heat(1e5, r)
		top, err4 := m.Heat(1e5, 1)
		if err != nil || err2 != nil || err3 != nil || err4 != nil || math.Abs(float64(back/r)-1) > 1e-14 || heat > top {
			t.Fatalf("%g -> %g -> %g; heat %g, right %g", r, hard, back, heat, top)
		}
	})
}
