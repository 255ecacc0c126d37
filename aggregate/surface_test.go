package aggregate_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
)

func TestSurfaceMean(t *testing.T) {
	for _, tc := range []struct{ a, b, want float64 }{{.425, .85, .58917}, {.3, .6, .41589}, {.6, 1.18, .82560}, {1.18, 2.36, 1.63583}} {
		d, err := graded(tc.b, 100, tc.a, 0).SurfaceMean(0)
		near(t, "d32", mm(d), tc.want, 2e-5, err, "1.3: ln(b/a)/(1/a-1/b), printed to 5 digits")
	}
	// Two sieves nearly alike, where ln(b/a) and 1/a - 1/b lose their digits: the
	// same in 40 digits by mpmath, (b - a)/a 1e-6, 1e-8.
	for _, tc := range []struct{ a, b, want float64 }{{1, 1.000001, 1.000000499999833333}, {1, 1.00000001, 1.0000000049999999833}} {
		d, err := graded(tc.b, 100, tc.a, 0).SurfaceMean(0)
		near(t, "d32", mm(d), tc.want, 1e-12, err, "ln(b/a)/(1/a-1/b), computed")
	}
	// G8: a fraction .425-.850 at 2.65: exact 3.843 m2/kg; by its geometric mean 3.767, by its arithmetic one 3.552.
	g := graded(.85, 100, .425, 0)
	s, err := g.Surface(1, 2650, 0)
	near(t, "surface", float64(s), 3.843, 1e-3, err, "G8, computed")
	for _, short := range []float64{3.767, 3.552} {
		if math.Abs(float64(s)/short-1) < 0.015 {
			t.Errorf("surface %v: a mean size gives %g, too little", s, short)
		}
	}
	// Identity of 1.3: mass of a layer x surface per mass = 4 c, any mix of sizes, with d32 for the size.
	d, err := sandG1.SurfaceMean(0.075 * units.Millimetre)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []units.Fraction{0.547, 0.82} {
		layer, err := aggregate.ToRefusal(d/10, aggregate.Grain{Size: d, Density: 2650, Packing: .55, Coverage: c})
		if err != nil {
			t.Fatal(err)
		}
		s, err := sandG1.Surface(units.Mass(layer.Held), 2650, 0.075*units.Millimetre)
		near(t, "spheres over plan", float64(s), 4*float64(c), 1e-12, err, "1.3 identity: sphere area is 4 times its plan")
	}
	nan := units.Length(math.NaN())
	for name, bad := range map[string]struct {
		g      aggregate.Gradation
		finest units.Length
	}{"dust of no size": {sandG1, 0}, "finest above the sieve": {sandG1, 1e-3}, "top holds some": {graded(2, 90, 1, 0), 0}, "NaN": {sandG1, nan}, "none": {nil, 0}} {
		d, err1 := bad.g.SurfaceMean(bad.finest)
		s, err2 := bad.g.Surface(1, 2650, bad.finest)
		if !errors.Is(err1, units.ErrRange) || !errors.Is(err2, units.ErrRange) || !math.IsNaN(float64(d)+float64(s)) {
			t.Errorf("%s: %v, %v, %v, %v; want NaN and range errors", name, d, err1, s, err2)
		}
	}
	for _, m := range []units.Mass{0, -1, units.Mass(nan)} {
		s, err1 := g.Surface(m, 2650, 0)
		f, err2 := g.FactorSurface(m)
		if !errors.Is(err1, units.ErrRange) || !errors.Is(err2, units.ErrRange) || !math.IsNaN(float64(s)+float64(f)) {
			t.Errorf("mass %v: %v, %v, %v, %v", m, s, err1, f, err2)
		}
	}
}

func TestFactorSurface(t *testing.T) {
	g := graded(9.5, 100, 4.75, 75, 2.36, 60, 1.18, 45, .6, 35, .3, 25, .15, 18, .075, 6)
	s, err := g.FactorSurface(1)
	near(t, "metric factors", float64(s), 8.665, 5e-4, err, "G6: factors of UFC 3-250-03 Table C-1, rounded to .41 ... 32.77, computed")
	s, err = g.FactorSurface(1 * units.Pound)
	near(t, "US factors", float64(s/units.SquareFoot), 42.3, 5e-4, err, "G6: 42.3 ft2/lb with factors 2 2 4 8 14 30 60 160, computed")
	if s, err := sandG1.FactorSurface(1); !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(s)) {
		t.Errorf("no 75 um sieve: %v, %v; want NaN and a range error", s, err)
	}
}

func TestSurfaceProperties(t *testing.T) { // within the sieves; twice the size, half the surface; parts add up
	rapid.Check(t, func(t *rapid.T) {
		g := drawGradation(t, 0)
		d, err := g.SurfaceMean(0)
		if err != nil || d < g[len(g)-1].Opening*(1-1e-6) || d > g[0].Opening*(1+1e-6) {
			t.Fatalf("d32 %v of %v, %v", d, g, err)
		}
		a, err1 := g.Surface(1, 2650, 0)
		b, err2 := g.Surface(3, 2650, 0)
		if err := errors.Join(err1, err2); err != nil || math.Abs(float64(b/a)-3) > 1e-12 || math.Abs(float64(a)*2650*float64(d)/6-1) > 1e-12 {
			t.Fatalf("%v and %v, %v", a, b, err)
		}
	})
}

func BenchmarkSurface(b *testing.B) {
	b.ReportAllocs() // 0 allocs/op
	for b.Loop() {
		sandG1.Surface(1, 2650, 0.075e-3)
	}
}
