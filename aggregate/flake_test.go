package aggregate_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
)

// A chip of 5 mil and 1.5 kg/L: illustrative, no source.
var chip = aggregate.Flake{Thickness: 5 * units.Mil, Density: 1500}

func TestFlake(t *testing.T) {
	w, err := chip.Layer()
	near(t, "layer", float64(w/units.PoundPerSquareFoot), 0.03902, 1e-3, err, "by hand: 1500 x 127e-6 kg/m2")
	a, err := chip.Covers(1 * units.Pound)
	near(t, "1 lb", float64(a/units.SquareFoot), 1/0.03902, 1e-3, err, "by hand")
	for _, tc := range []struct{ layers, hidden float64 }{{0, 0}, {math.Ln2, .5}, {1, .63212}, {3, .95021}} {
		h, err := chip.Hidden(w * units.Loading(tc.layers))
		near(t, "hidden", float64(h), tc.hidden, 1e-5, err, "1 - exp(-n), by hand")
	}
	// Common practice, no source: 0.10 to 0.15 lb/ft2 of flake is a full broadcast. Here that is 2.6 to 3.8 layers and hides 92 to 98 %.
	for _, rate := range []float64{0.10, 0.15} {
		h, err := chip.Hidden(units.Loading(rate) * units.PoundPerSquareFoot)
		if err != nil || h < 0.9 || h > 0.99 {
			t.Errorf("full broadcast of %g lb/ft2 hides %v, %v", rate, h, err)
		}
	}
	left, off, err := chip.Scrape(0.5, 10*units.Percent)
	near(t, "left", float64(left), 0.45, 1e-12, err, "by hand")
	near(t, "off", float64(off), 0.05, 1e-12, err, "by hand")
}

// Round chips thrown at random on a square, and a grid of points looked at:
// 60 x 60 points see about 3600 a/A = independent spots; the tolerance is
// four standard errors over 20 throws.
func TestFlakesAtRandom(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	const side, r = 20.0, 0.5
	for _, layers := range []float64{0.5, 1, 2} {
		n := int(layers * side * side / (math.Pi * r * r))
		hidden := 0
		for range 20 {
			var x, y []float64
			for range n {
				x, y = append(x, side*rng.Float64()), append(y, side*rng.Float64())
			}
			for i := range 20 {
				for k := range 20 { // points a unit apart: no chip covers two
					px, py := float64(i)+0.5, float64(k)+0.5
					for c := range x {
						dx, dy := math.Abs(x[c]-px), math.Abs(y[c]-py)
						dx, dy = min(dx, side-dx), min(dy, side-dy)
						if dx*dx+dy*dy < r*r {
							hidden++
							break
						}
					}
				}
			}
		}
		w, _ := chip.Layer()
		want, err := chip.Hidden(w * units.Loading(layers))
		tol := 4 * math.Sqrt(0.25/8000)
		if got := float64(hidden) / 8000; err != nil || math.Abs(got-float64(want)) > tol {
			t.Errorf("%g layers hide %g when thrown, %v by the formula, %v; want within %.3f", layers, got, want, err, tol)
		}
	}
}

func TestFlakeProperties(t *testing.T) { // there and back; throws multiply what stays open; mass splits
	rapid.Check(t, func(t *rapid.T) {
		f := aggregate.Flake{Thickness: units.Length(rapid.Float64Range(2e-5, 1e-3).Draw(t, "t")), Density: units.Density(rapid.Float64Range(900, 3000).Draw(t, "rho"))}
		w, err1 := f.Layer()
		a, b := rapid.Float64Range(0, 3).Draw(t, "a"), rapid.Float64Range(0, 3).Draw(t, "b")
		ha, err2 := f.Hidden(w * units.Loading(a))
		hb, err3 := f.Hidden(w * units.Loading(b))
		both, err4 := f.Hidden(w * units.Loading(a+b))
		back, err5 := f.Loading(ha)
		if err := errors.Join(err1, err2, err3, err4, err5); err != nil || math.Abs(float64((1-ha)*(1-hb)-(1-both))) > 1e-12 || math.Abs(float64(back-w*units.Loading(a))) > 1e-9*float64(w) {
			t.Fatalf("%v, %v, both %v; back %v of %g layers of %v; %v", ha, hb, both, back, a, w, err)
		}
		left, off, err := f.Scrape(w, units.Fraction(rapid.Float64Range(0, 1).Draw(t, "scraped")))
		if err != nil || math.Abs(float64(left+off-w)) > 1e-15 || left < 0 {
			t.Fatalf("%v and %v of %v, %v", left, off, w, err)
		}
	})
}

func TestFlakeRefusals(t *testing.T) {
	nan := math.NaN()
	for name, f := range map[string]func() (float64, error){
		"none":     func() (float64, error) { v, err := aggregate.Flake{}.Layer(); return float64(v), err },
		"mass":     func() (float64, error) { v, err := chip.Covers(0); return float64(v), err },
		"loading":  func() (float64, error) { v, err := chip.Hidden(-1e-9); return float64(v), err },
		"NaN":      func() (float64, error) { v, err := chip.Hidden(units.Loading(nan)); return float64(v), err },
		"all":      func() (float64, error) { v, err := chip.Loading(1); return float64(v), err },
		"scraped":  func() (float64, error) { v, _, err := chip.Scrape(1, 1.1); return float64(v), err },
		"no chips": func() (float64, error) { v, err := aggregate.Flake{}.Loading(.5); return float64(v), err },
	} {
		if v, err := f(); !errors.Is(err, units.ErrRange) || !math.IsNaN(v) {
			t.Errorf("%s: %v, %v; want NaN and a range error", name, v, err)
		}
	}
}

func BenchmarkFlake(b *testing.B) {
	b.ReportAllocs() // 0 allocs/op
	for b.Loop() {
		chip.Hidden(0.5)
	}
}
