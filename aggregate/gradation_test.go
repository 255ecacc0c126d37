package aggregate_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
)

// graded makes a gradation of openings in mm and shares in %.
func graded(pairs ...float64) aggregate.Gradation {
	var g aggregate.Gradation
	for i := 0; i < len(pairs); i += 2 {
		g = append(g, aggregate.Passing{Opening: units.Length(pairs[i]) * units.Millimetre, Share: units.Fraction(pairs[i+1]) * units.Percent})
	}
	return g
}

// overlayBand is the gradation of the AASHTO-AGC-ARTBA Task Force 34 pattern, from memory.
var overlayBand = aggregate.Band{
	{Opening: 4.75 * units.Millimetre, Least: 1, Most: 1},
	{Opening: 2.36 * units.Millimetre, Least: 0.30, Most: 0.75},
	{Opening: 1.18 * units.Millimetre, Least: 0, Most: 0.05},
	{Opening: 0.6 * units.Millimetre, Least: 0, Most: 0.01},
}

func ExampleGradation() {
	mid, _ := overlayBand.Middle()
	d50, _ := mid.Size(50 * units.Percent)
	cu, _ := mid.Uniformity()
	fm, err := mid.FinenessModulus()
	fmt.Printf("D50 %.2f mm, Cu %.2f, fineness modulus %.3f, %v\n", float64(d50/units.Millimetre), cu, fm, err)
	// Output: D50 2.28 mm, Cu 2.01, fineness modulus 4.445, <nil>
}

func TestFinenessModulus(t *testing.T) {
	for _, tc := range []struct {
		g    aggregate.Gradation
		want float64
		src  string
	}{
		{graded(9.5, 100, 4.75, 98, 2.36, 85, 1.18, 65, .6, 45, .3, 21, .15, 3), 2.83, "G1: PCA, Design and Control of Concrete Mixtures; retained 0,2,15,35,55,79,97; memory"},
		{graded(9.5, 100, 4.75, 94, 2.36, 75, 1.18, 49, .6, 29, .3, 15, .15, 8), 3.30, "G2: retained 6,25,51,71,85,92; seen civinnovate.com p=17671"},
		{graded(4.75, 100, 2.36, 95, 1.18, 70, .6, 40, .3, 15, .15, 3), 2.77, "G7 part A, computed"},
		{graded(4.75, 100, 2.36, 100, 1.18, 95, .6, 80, .3, 45, .15, 12), 1.68, "G7 part B, computed"},
		{graded(4.75, 100, 2.36, 52.5, 1.18, 2.5, .6, .5), 4.445, "G10: middle of the overlay band, nothing through No. 50, computed"},
		{graded(150, 100, 75, 0), 10, "by hand: all retained on ten sieves"},
		{graded(0.15, 100, 0.075, 0), 0, "by hand: all passes the series"},
		{graded(2.36, 100, .6, 50, .15, 0), (0.5*math.Log(2.36/1.18)/math.Log(2.36/.6) + .5 + (.5 + .5*math.Log(.6/.3)/math.Log(.6/.15)) + 1), "by hand: 1.18 and 0.3 mm interpolated in the logarithm"},
	} {
		fm, err := tc.g.FinenessModulus()
		near(t, "fineness modulus", fm, tc.want, 1e-12, err, tc.src)
		slices.Reverse(tc.g)
		fm, err = tc.g.FinenessModulus()
		near(t, "fine to coarse", fm, tc.want, 1e-12, err, tc.src)
	}
	for name, g := range map[string]aggregate.Gradation{"coarsest sieve holds some": graded(4.75, 90, .15, 0), "dust below the finest": graded(4.75, 100, .6, 5)} {
		if fm, err := g.FinenessModulus(); !errors.Is(err, units.ErrRange) || !math.IsNaN(fm) {
			t.Errorf("%s: %v, %v; want NaN and a range error", name, fm, err)
		}
	}
}

func TestSizes(t *testing.T) {
	mid, err1 := overlayBand.Middle()
	fine, err2 := overlayBand.Fine()
	coarse, err3 := overlayBand.Coarse()
	if err := errors.Join(err1, err2, err3); err != nil {
		t.Fatal(err)
	}
	das := graded(.30, 10, .41, 30, .77, 60)
	for _, tc := range []struct {
		g           aggregate.Gradation
		share, want float64
		src         string
	}{
		{mid, 10, 1.309, "G10, computed"}, {mid, 60, 2.636, "G10, computed"}, {mid, 50, 2.28, "1.3: 2.28 mm by logarithm, computed"},
		{fine, 50, 1.842, "G10 fine edge, computed"}, {coarse, 50, 2.882, "G10 coarse edge, computed"},
		{das, 10, .30, "G5: Das, Principles of Geotechnical Engineering 9e prob. 2.2"}, {das, 30, .41, "G5"}, {das, 60, .77, "G5"},
		{graded(4, 100, 1, 0), 50, 2, "by hand: the geometric mean"},
		{graded(8, 100, 4, 100, 2, 50, 1, 0, .5, 0), 100, 4, "by hand: the finest sieve that passes all"},
		{graded(8, 100, 4, 100, 2, 50, 1, 0, .5, 0), 0, 1, "by hand: the coarsest that passes nothing"},
		{graded(8, 100, 4, 40, 2, 40, 1, 0), 40, 2, "by hand: fine end of a gap"},
	} {
		d, err := tc.g.Size(units.Fraction(tc.share) * units.Percent)
		near(t, fmt.Sprint("D", tc.share), mm(d), tc.want, 1e-3, err, tc.src)
	}
	d, err := mid.SizeLinear(50 * units.Percent)
	near(t, "D50 linear", mm(d), 2.30, 1e-3, err, "1.3: 2.30 mm linear, computed")
	cu, err := mid.Uniformity()
	near(t, "Cu", cu, 2.01, 2e-3, err, "G10, printed to 3 digits")
	cu, err = das.Uniformity()
	near(t, "Cu", cu, 2.57, 2e-3, err, "G5: seen, printed to 3 digits")
	cc, err := das.Curvature()
	near(t, "Cc", cc, .7277, 1e-4, err, "G5, computed: below 1, poorly graded")
	if d, err := das.Size(5 * units.Percent); !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(d)) {
		t.Errorf("D5 below the sieves: %v, %v; want NaN and a range error", d, err)
	}
	if cu, err := graded(1, 50, .5, 20).Uniformity(); !errors.Is(err, units.ErrRange) || !math.IsNaN(cu) {
		t.Errorf("Cu without D10: %v, %v", cu, err)
	}
	if cc, err := graded(1, 50, .5, 20).Curvature(); !errors.Is(err, units.ErrRange) || !math.IsNaN(cc) {
		t.Errorf("Cc without D10: %v, %v", cc, err)
	}
}

func TestThrough(t *testing.T) {
	g := graded(4, 100, 1, 20, .5, 0)
	for _, tc := range []struct{ d, want float64 }{{4, 1}, {10, 1}, {2, .6}, {1, .2}, {.5, 0}, {.1, 0}} {
		s, err := g.Through(units.Length(tc.d) * units.Millimetre)
		if err != nil || math.Abs(float64(s)-tc.want) > 1e-12 {
			t.Errorf("%g mm: %v, %v; want %g (by hand)", tc.d, s, err, tc.want)
		}
	}
	for _, bad := range []struct {
		g aggregate.Gradation
		d units.Length
	}{{graded(4, 90, 1, 0), 5e-3}, {graded(4, 100, 1, 10), 0.5e-3}, {g, 0}, {g, units.Length(math.NaN())}} {
		if s, err := bad.g.Through(bad.d); !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(s)) {
			t.Errorf("%v through %v: %v, %v; want NaN and a range error", bad.g, bad.d, s, err)
		}
	}
}

func TestLargestStep(t *testing.T) {
	// ASTM C33 asks a concrete sand for a fineness modulus of 2.3 to 3.1 and at
	// most 45 % between sieves (an excerpt seen); the overlay's band breaks both.
	sand := graded(9.5, 100, 4.75, 98, 2.36, 85, 1.18, 65, .6, 45, .3, 21, .15, 3)
	step, err := sand.LargestStep()
	near(t, "PCA sand", float64(step), 0.24, 1e-12, err, "G1: 45 - 21, within C33's 45 %")
	mid, _ := overlayBand.Middle()
	step, err = mid.LargestStep()
	near(t, "overlay", float64(step), 0.50, 1e-12, err, "52.5 - 2.5: of nearly one size, no concrete sand")
}

func TestFromRetained(t *testing.T) {
	openings := []units.Length{9.5e-3, 4.75e-3, 2.36e-3, 1.18e-3, 0.6e-3, 0.3e-3, 0.15e-3}
	g, err := aggregate.FromRetained(openings, []units.Mass{0, .010, .065, .100, .100, .120, .090}, .015) // G1 as 500 g
	if err != nil {
		t.Fatal(err)
	}
	fm, err := g.FinenessModulus()
	near(t, "weighed", fm, 2.83, 1e-12, err, "G1 by weights")
	nan := math.NaN()
	for _, bad := range []struct {
		m   []units.Mass
		pan units.Mass
	}{{[]units.Mass{1}, 0}, {make([]units.Mass, 7), 0}, {[]units.Mass{0, 0, 0, -1, 0, 0, 3}, 1}, {[]units.Mass{0, 0, 0, 0, 0, 0, 3}, -1}, {[]units.Mass{units.Mass(nan), 0, 0, 0, 0, 0, 3}, 1}} {
		if g, err := aggregate.FromRetained(openings, bad.m, bad.pan); !errors.Is(err, units.ErrRange) || g != nil {
			t.Errorf("%v, pan %v: %v, %v; want a range error", bad.m, float64(bad.pan), g, err)
		}
	}
}

func TestBadGradations(t *testing.T) {
	for name, g := range map[string]aggregate.Gradation{
		"none": nil, "one sieve": graded(1, 50), "rising": graded(2, 50, 1, 60), "twice": graded(1, 50, 1, 40), "zigzag": graded(1, 100, 3, 50, 2, 20),
		"above 100": graded(2, 101, 1, 0), "below 0": graded(2, 100, 1, -1e-7), "no opening": graded(2, 100, 0, 0), "NaN share": graded(2, 100, 1, math.NaN()), "NaN opening": graded(2, 100, math.NaN(), 0),
	} {
		d, err1 := g.Size(0.5)
		fm, err2 := g.FinenessModulus()
		cu, err3 := g.Uniformity()
		cc, err4 := g.Curvature()
		st, err5 := g.LargestStep()
		th, err6 := g.Through(1e-3)
		for _, err := range []error{err1, err2, err3, err4, err5, err6} {
			if !errors.Is(err, units.ErrRange) {
				t.Errorf("%s: %v; want a range error", name, err)
			}
		}
		for _, v := range []float64{float64(d), fm, cu, cc, float64(st), float64(th)} {
			if !math.IsNaN(v) {
				t.Errorf("%s: %v beside an error; want NaN", name, v)
			}
		}
	}
	_, err := graded(2, 100, 1, 130, 0, 0).Size(0.5)
	if want := "aggregate.Gradation.Size: [1].Share = 130 %: want 0 to 100\naggregate.Gradation.Size: [2].Opening = 0 mm: want 0.001 to 200"; err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

// drawGradation draws a gradation from 100 % down to foot, 2 to 8 sieves.
func drawGradation(t *rapid.T, foot float64) aggregate.Gradation {
	n := rapid.IntRange(2, 8).Draw(t, "sieves")
	shares := []float64{100, foot}
	for len(shares) < n {
		shares = append(shares, rapid.Float64Range(foot, 100).Draw(t, "share"))
	}
	slices.Sort(shares)
	slices.Reverse(shares)
	d := 40.0
	var pairs []float64
	for _, s := range shares {
		d *= rapid.Float64Range(0.3, 0.95).Draw(t, "ratio")
		pairs = append(pairs, d, s)
	}
	return graded(pairs...)
}

func TestGradationProperties(t *testing.T) { // order, there and back, scaling, either direction
	rapid.Check(t, func(t *rapid.T) {
		g := drawGradation(t, 0)
		p := units.Fraction(rapid.Float64Range(0, 1).Draw(t, "p"))
		q := units.Fraction(rapid.Float64Range(0, 1).Draw(t, "q"))
		a, err1 := g.Size(p)
		b, err2 := g.Size(q)
		lin, err3 := g.SizeLinear(p)
		if err := errors.Join(err1, err2, err3); err != nil || p < q && a > b*(1+1e-12) {
			t.Fatalf("D%v %v, D%v %v, %v", p, a, q, b, err)
		}
		if lin < a*(1-1e-12) { // the chord lies above the logarithm's curve
			t.Fatalf("linear %v below logarithmic %v", lin, a)
		}
		if s, err := g.Through(a); err != nil || math.Abs(float64(s-p)) > 1e-9 {
			t.Fatalf("through D%v: %v, %v", p, s, err)
		}
		back := slices.Clone(g)
		slices.Reverse(back)
		if c, err := back.Size(p); err != nil || c != a {
			t.Fatalf("fine to coarse: %v, want %v (%v)", c, a, err)
		}
		twice := slices.Clone(g)
		for i := range twice {
			twice[i].Opening *= 2
		}
		cu, err1 := g.Uniformity()
		cc, err2 := g.Curvature()
		cu2, err3 := twice.Uniformity()
		cc2, err4 := twice.Curvature()
		if err := errors.Join(err1, err2, err3, err4); err != nil || cu < 1-1e-12 || math.Abs(cu2/cu-1)+math.Abs(cc2/cc-1) > 1e-12 {
			t.Fatalf("Cu %v, %v; Cc %v, %v; %v", cu, cu2, cc, cc2, err)
		}
	})
}

var sandG1 = graded(9.5, 100, 4.75, 98, 2.36, 85, 1.18, 65, .6, 45, .3, 21, .15, 3)

func BenchmarkGradation(b *testing.B) {
	for name, f := range map[string]func(){
		"Size":            func() { sandG1.Size(0.5) },
		"Through":         func() { sandG1.Through(1e-3) },
		"FinenessModulus": func() { sandG1.FinenessModulus() },
		"Uniformity":      func() { sandG1.Uniformity() },
		"Curvature":       func() { sandG1.Curvature() },
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs() // 0 allocs/op
			for b.Loop() {
				f()
			}
		})
	}
}

func FuzzGradation(f *testing.F) {
	f.Add(4.75e-3, 1.0, 2.36e-3, 0.5, 1.18e-3, 0.0, 0.3)
	f.Add(1e-3, 0.0, 2e-3, 0.5, 4e-3, 1.0, 1.0)
	f.Fuzz(func(t *testing.T, d0, s0, d1, s1, d2, s2, share float64) {
		g := aggregate.Gradation{{Opening: units.Length(d0), Share: units.Fraction(s0)}, {Opening: units.Length(d1), Share: units.Fraction(s1)}, {Opening: units.Length(d2), Share: units.Fraction(s2)}}
		check := func(v float64, err error) {
			if (err == nil) == math.IsNaN(v) || err == nil && !(v >= 0 && v < 1e9) {
				t.Fatalf("%v with %v of %v", v, err, g)
			}
		}
		d, err := g.Size(units.Fraction(share))
		check(float64(d), err)
		s, err := g.Through(units.Length(share))
		check(float64(s), err)
		a, err := g.Surface(1, 2650, units.Length(share))
		check(float64(a), err)
		check(g.FinenessModulus())
		check(g.Uniformity())
		check(g.Curvature())
	})
}

func FuzzMix(f *testing.F) {
	f.Add(1e-3, 0.6, 0.7, 1e-4, 0.5, 4.1)
	f.Fuzz(func(t *testing.T, d0, p0, y0, d1, p1, index float64) {
		m := aggregate.Mix{{Size: units.Length(d0), Share: units.Fraction(y0), Packing: units.Fraction(p0)}, {Size: units.Length(d1), Share: units.Fraction(1 - y0), Packing: units.Fraction(p1)}}
		a, err1 := m.IdealPacking()
		b, err2 := m.LinearPacking()
		c, err3 := m.CompressiblePacking(index)
		d, err4 := m.ToufarPacking()
		for i, v := range []units.Fraction{a, b, c, d} {
			if err := []error{err1, err2, err3, err4}[i]; (err == nil) == math.IsNaN(float64(v)) || err == nil && !(v > 0 && v < 1.0000001) {
				t.Fatalf("model %d: %v with %v of %v", i, v, err, m)
			}
		}
	})
}
