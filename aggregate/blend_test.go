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

var (
	partA = graded(4.75, 100, 2.36, 95, 1.18, 70, .6, 40, .3, 15, .15, 3) // G7
	partB = graded(4.75, 100, 2.36, 100, 1.18, 95, .6, 80, .3, 45, .15, 12)
)

func ExampleBlendTo() {
	target, _ := aggregate.Blend([]aggregate.Gradation{partA, partB}, []units.Fraction{0.6, 0.4})
	shares, off, err := aggregate.BlendTo([]aggregate.Gradation{partA, partB}, target)
	fmt.Printf("%.0f %% and %.0f %%, off by %.1f %%, %v\n", 100*float64(shares[0]), 100*float64(shares[1]), 100*float64(off), err)
	// Output: 60 % and 40 %, off by 0.0 %, <nil>
}

func TestBlend(t *testing.T) {
	g, err := aggregate.Blend([]aggregate.Gradation{partA, partB}, []units.Fraction{.6, .4})
	if err != nil || len(g) != 6 {
		t.Fatal(g, err)
	}
	for i, want := range []float64{100, 97, 80, 56, 27, 6.6} {
		near(t, "60/40", float64(g[i].Share)*100, want, 1e-12, err, "G7, computed")
	}
	fm, err := g.FinenessModulus()
	near(t, "60/40", fm, 2.334, 1e-12, err, "G7, computed")
	x, err := aggregate.BlendForFineness(partA, partB, 2.40)
	near(t, "share of A", float64(x), .66055, 1e-5, err, "G7, printed to 5 digits")
	// Parts on sieves of their own: known on all from where both are known.
	g, err = aggregate.Blend([]aggregate.Gradation{graded(4, 100, 1, 0), graded(2, 100, .5, 0)}, []units.Fraction{.5, .5})
	if err != nil || len(g) != 4 {
		t.Fatal(g, err)
	}
	for i, want := range []float64{100, 75, 25, 0} {
		near(t, "two sands", float64(g[i].Share)*100, want, 1e-12, err, "by hand: 2 mm is midway in the logarithm of 1 to 4 mm")
	}
	nan := units.Fraction(math.NaN())
	for _, shares := range [][]units.Fraction{nil, {1}, {.5, .6}, {1.5, -.5}, {nan, .5}} {
		if g, err := aggregate.Blend([]aggregate.Gradation{partA, partB}, shares); !errors.Is(err, units.ErrRange) || g != nil {
			t.Errorf("%v: %v, %v; want a range error", shares, g, err)
		}
	}
	for _, fm := range []float64{1, 3, math.NaN()} {
		if x, err := aggregate.BlendForFineness(partA, partB, fm); !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(x)) {
			t.Errorf("fineness %v: %v, %v; want NaN and a range error", fm, x, err)
		}
	}
	if x, err := aggregate.BlendForFineness(partA, partA, 2.77); !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(x)) {
		t.Errorf("one sand with itself: %v, %v", x, err)
	}
	if _, _, err := aggregate.BlendTo([]aggregate.Gradation{partA, graded(2, 90, 1, 50)}, partB); !errors.Is(err, units.ErrRange) {
		t.Errorf("part without the sieves: %v", err)
	}
	if _, _, err := aggregate.BlendTo(nil, partB); !errors.Is(err, units.ErrRange) {
		t.Errorf("no parts: %v", err)
	}
	if _, _, err := aggregate.BlendWithin([]aggregate.Gradation{partA}, nil); !errors.Is(err, units.ErrRange) {
		t.Errorf("no band: %v", err)
	}
}

func TestBlendWithin(t *testing.T) {
	// C33's fine aggregate, from memory: No. 4 95-100, 8 80-100, 16 50-85, 30 25-60, 50 5-30, 100 0-10.
	c33 := aggregate.Band{{4.75e-3, .95, 1}, {2.36e-3, .8, 1}, {1.18e-3, .5, .85}, {.6e-3, .25, .6}, {.3e-3, .05, .3}, {.15e-3, 0, .1}}
	shares, off, err := aggregate.BlendWithin([]aggregate.Gradation{partA, partB}, c33)
	if err != nil || off != 0 {
		t.Fatalf("%v, off %v, %v; A alone is in the band", shares, off, err)
	}
	g, err := aggregate.Blend([]aggregate.Gradation{partA, partB}, shares)
	if err != nil {
		t.Fatal(err)
	}
	if m, err := c33.Misses(g); err != nil || len(m) > 0 {
		t.Errorf("blend %v misses %+v, %v", shares, m, err)
	}
	// B alone cannot: worst at No. 30, 80 of 60, by hand.
	_, off, err = aggregate.BlendWithin([]aggregate.Gradation{partB}, c33)
	near(t, "B alone", float64(off), .20, 1e-9, err, "by hand")
}

// The linear programme against every blend in steps of 2 %: none is nearer,
// and the distance told is the blend's own.
func TestBlendIsBest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func() aggregate.Gradation {
			s := 100.0
			pairs := []float64{4.75, 100}
			for _, d := range []float64{2.36, 1.18, .6, .3, .15} {
				s *= rapid.Float64Range(0, 1).Draw(t, "ratio")
				pairs = append(pairs, d, s)
			}
			return graded(pairs...)
		}
		parts := []aggregate.Gradation{draw(), draw(), draw()}
		target := draw()
		shares, off, err := aggregate.BlendTo(parts, target)
		if err != nil {
			t.Fatal(err)
		}
		distance := func(x []units.Fraction) float64 {
			worst := 0.0
			for i, want := range target {
				v := units.Fraction(0)
				for k, p := range parts {
					v += x[k] * p[i].Share
				}
				worst = max(worst, math.Abs(float64(v-want.Share)))
			}
			return worst
		}
		sum := shares[0] + shares[1] + shares[2]
		if math.Abs(float64(sum)-1) > 1e-12 || min(shares[0], shares[1], shares[2]) < 0 || math.Abs(distance(shares)-float64(off)) > 1e-9 {
			t.Fatalf("shares %v, off %v, own distance %v", shares, off, distance(shares))
		}
		for i := range 51 {
			for k := range 51 - i {
				x := []units.Fraction{units.Fraction(i) / 50, units.Fraction(k) / 50, units.Fraction(50-i-k) / 50}
				if d := distance(x); d < float64(off)-1e-9 {
					t.Fatalf("%v is off by %v, %v by %v only", shares, off, x, d)
				}
			}
		}
	})
}
