package aggregate_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
)

func ExampleMortar_For() {
	m, _ := aggregate.MortarByVolume(3, aggregate.Quartz, 1100, 60*units.Percent)
	resin, sand, err := m.For(10 * units.Gallon)
	fmt.Printf("%.2f gal of resin, %.0f lb of sand, %v\n", float64(resin/units.Gallon), float64(sand/units.Pound), err)
	// Output: 3.33 gal of resin, 133 lb of sand, <nil>
}

func TestMortarByVolume(t *testing.T) {
	for _, tc := range []struct{ parts, ratio, surplus, air float64 }{{2, 2.91, .2075, 0}, {3, 4.36, -.1887, .0629}, {4, 5.82, -.5849, .1462}} {
		m, err := aggregate.MortarByVolume(tc.parts, 2650, 1100, 1.6/2.65)
		near(t, "by weight", m.SandToResin, tc.ratio, 1e-3, err, "F7: loose sand 1.60, resin 1.10, computed")
		s, err := m.Surplus()
		near(t, "surplus", float64(s), tc.surplus, 1e-3, err, "F7: 2:1 has .2075 over, 3:1 is .1887 short, computed; 4:1 by hand, 1 - 4 x .3962")
		air, err := m.Air()
		if err != nil || math.Abs(float64(air)-tc.air) > 1e-4 {
			t.Errorf("%g:1: air %v, %v; want %g (F7)", tc.parts, air, err, tc.air)
		}
	}
	// The print rule: voids of .396 are just filled at 1/v = 2.52 volumes of sand to one.
	m, err := aggregate.JustFilled(2650, 1100, 1-.396)
	parts := m.SandToResin * 1100 / 2650 / (1 - .396)
	near(t, "just filled", parts, 2.52, 3e-3, err, "section 5, printed to 3 digits")
	s, err1 := m.Surplus()
	air, err2 := m.Air()
	if err := errors.Join(err1, err2); err != nil || math.Abs(float64(s)) > 1e-12 || air > 1e-12 {
		t.Errorf("just filled: surplus %v, air %v, %v; want none", s, air, err)
	}
}

// ft of joint to a gallon of resin, 231/(12 w d); section 5, exact, computed.
func TestJointRun(t *testing.T) {
	neat := aggregate.Mortar{SandDensity: 2650, ResinDensity: 1100, Bulk: .6}
	for _, tc := range []struct{ w, d, feet float64 }{
		{1. / 8, 1. / 8, 1232}, {1. / 8, 1. / 4, 616}, {1. / 8, 1. / 2, 308}, {1. / 8, 1, 154}, {1. / 8, 1.5, 102.67}, {1. / 8, 2, 77}, {3. / 16, 3. / 16, 547.56},
		{1. / 4, 1. / 4, 308}, {1. / 4, 3. / 8, 205.33}, {1. / 4, 1. / 2, 154}, {1. / 4, 1, 77}, {1. / 4, 2, 38.5}, {3. / 8, 3. / 8, 136.89}, {1. / 2, 1. / 2, 77}, {1. / 2, 1, 38.5}, {1, 1, 19.25},
	} {
		l, err := neat.Run(units.Gallon, units.Length(tc.w)*units.Inch, units.Length(tc.d)*units.Inch)
		near(t, fmt.Sprintf("%g x %g in", tc.w, tc.d), float64(l/units.Foot), tc.feet, 1e-4, err, "231/(12 w d), computed")
		near(t, "gal/100 ft", 100/float64(l/units.Foot), 5.19481*tc.w*tc.d, 1e-4, err, "5.19481 w d, computed")
	}
	l, err := neat.Run(10.1*units.FluidOunce, units.Inch/4, units.Inch/4)
	near(t, "cartridge", float64(l/units.Foot), 24.30, 2e-4, err, "10.1 fl oz at 1/4 x 1/4, computed, printed to 4 digits")
	l, err = neat.Run(units.Litre, 5e-3, 10e-3)
	near(t, "m per L", float64(l), 1000./(5*10), 1e-12, err, "1000/(mm x mm), computed")
	// F3: 5:1 by weight makes 3.0755 gal of each gallon, and so runs 3.0755 times as far.
	five := aggregate.Mortar{SandToResin: 5, SandDensity: 2650, ResinDensity: 1100, Bulk: .79}
	l, err = five.Run(units.Gallon, units.Inch, units.Inch)
	near(t, "5:1", float64(l/units.Foot), 3.0755*19.25, 1e-4, err, "F3, computed")
}

func TestMortarFor(t *testing.T) { // amounts give back volume, air and ratio; jobs split
	rapid.Check(t, func(t *rapid.T) {
		m := aggregate.Mortar{SandToResin: rapid.Float64Range(0, 12).Draw(t, "ratio"), SandDensity: 2650, ResinDensity: units.Density(rapid.Float64Range(900, 1800).Draw(t, "resin")), Bulk: units.Fraction(rapid.Float64Range(.4, .8).Draw(t, "bulk"))}
		v := units.Volume(rapid.Float64Range(1e-4, 1).Draw(t, "volume"))
		resin, sand, err := m.For(v)
		air, err2 := m.Air()
		s, err3 := m.Surplus()
		if err := errors.Join(err, err2, err3); err != nil || math.Abs(float64(resin)+float64(sand)/2650-float64(v)*(1-float64(air))) > 1e-12*float64(v) {
			t.Fatalf("%v and %v in %v with %v air, %v", resin, sand, v, air, err)
		}
		if (s < -1e-12) != (air > 1e-12) {
			t.Fatalf("surplus %v with air %v", s, air)
		}
		r2, s2, err := m.For(v / 2)
		if err != nil || math.Abs(float64(2*r2/resin)-1) > 1e-12 || math.Abs(float64(2*s2-sand)) > 1e-12*float64(sand) {
			t.Fatalf("half: %v and %v, %v", r2, s2, err)
		}
		if run, err := m.Run(resin, 0.01, 0.02); err != nil || math.Abs(float64(run)*0.0002-float64(v)) > 1e-12*float64(v) {
			t.Fatalf("runs %v, %v", run, err)
		}
		parts := rapid.Float64Range(0, 5).Draw(t, "parts")
		if w, err := aggregate.MortarByVolume(parts, 2650, m.ResinDensity, m.Bulk); err != nil || math.Abs(w.SandToResin*float64(m.ResinDensity)/2650/float64(m.Bulk)-parts) > 1e-12 {
			t.Fatalf("%g parts: %+v, %v", parts, w, err)
		}
	})
}

func TestMortarFillRefusals(t *testing.T) {
	good := aggregate.Mortar{SandToResin: 5, SandDensity: 2650, ResinDensity: 1100, Bulk: .6}
	nan := math.NaN()
	for name, f := range map[string]func() (float64, error){
		"parts": func() (float64, error) {
			m, err := aggregate.MortarByVolume(-1, 2650, 1100, .6)
			return m.SandToResin, err
		},
		"parts NaN": func() (float64, error) {
			m, err := aggregate.MortarByVolume(nan, 2650, 1100, .6)
			return m.SandToResin, err
		},
		"dense": func() (float64, error) {
			m, err := aggregate.MortarByVolume(20, 20000, 100, .6)
			return m.SandToResin, err
		},
		"bulk":    func() (float64, error) { m, err := aggregate.JustFilled(2650, 1100, 1); return m.SandToResin, err },
		"surplus": func() (float64, error) { s, err := aggregate.Mortar{}.Surplus(); return float64(s), err },
		"volume":  func() (float64, error) { r, s, err := good.For(0); return float64(r) + float64(s), err },
		"resin":   func() (float64, error) { l, err := good.Run(0, 1e-2, 1e-2); return float64(l), err },
		"width":   func() (float64, error) { l, err := good.Run(1e-3, 0, 1e-2); return float64(l), err },
	} {
		if v, err := f(); !errors.Is(err, units.ErrRange) || !math.IsNaN(v) {
			t.Errorf("%s: %v, %v; want NaN and a range error", name, v, err)
		}
	}
}

func BenchmarkMortarFor(b *testing.B) {
	b.ReportAllocs() // 0 allocs/op
	m := aggregate.Mortar{SandToResin: 5, SandDensity: 2650, ResinDensity: 1100, Bulk: .6}
	for b.Loop() {
		m.For(1)
	}
}
