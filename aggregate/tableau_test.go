package aggregate_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
)

// sands draws n parts and a band on m sieves, each sieve's share the coarser's
// times a ratio.
func sands(r *rand.Rand, n, m int, ratio func() float64) ([]aggregate.Gradation, aggregate.Band) {
	draw := func() aggregate.Gradation {
		s, d := 100.0, 10.0
		pairs := []float64{d, s}
		for range m - 1 {
			d *= 0.95
			s *= ratio()
			pairs = append(pairs, d, s)
		}
		return graded(pairs...)
	}
	parts := make([]aggregate.Gradation, n)
	for i := range parts {
		if parts[i] = draw(); i > 0 && r.IntN(4) == 0 {
			parts[i] = parts[r.IntN(i)]
		}
	}
	band := make(aggregate.Band, m)
	a, b := draw(), draw()
	if r.IntN(2) == 0 {
		b = a
	}
	for i := range band {
		band[i] = aggregate.BandSieve{Opening: a[i].Opening, Least: min(a[i].Share, b[i].Share), Most: max(a[i].Share, b[i].Share)}
	}
	return parts, band
}

// outside is how far the blend is outside a band at most, by its definition.
func outside(parts []aggregate.Gradation, band aggregate.Band, x []float64) float64 {
	worst := 0.0
	for r, s := range band {
		v := 0.0
		for c, p := range parts {
			v += x[c] * float64(p[r].Share)
		}
		worst = max(worst, v-float64(s.Most), float64(s.Least)-v)
	}
	return worst
}

// Source: the simplex of gonum as reference library, which solves most of the
// ordinary ones: no distance differs by 1e-9.
func TestBlendAgainstLibrary(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 0))
	solved := 0
	for range 400 {
		n, m := 1+r.IntN(6), 2+r.IntN(8)
		parts, band := sands(r, n, m, r.Float64)
		_, off, err := aggregate.BlendWithin(parts, band)
		if err != nil {
			t.Fatal(err)
		}
		// Columns: the shares, the distance e, a slack for each row:
		// sum x P - e + slack = Most, sum x P + e - slack = Least, sum x = 1.
		a, b, cost := mat.NewDense(2*m+1, n+1+2*m, nil), make([]float64, 2*m+1), make([]float64, n+1+2*m)
		for c := range n {
			a.Set(2*m, c, 1)
		}
		b[2*m], cost[n] = 1, 1
		for i, s := range band {
			for side, v := range []units.Fraction{s.Most, s.Least} {
				row, sign := 2*i+side, float64(1-2*side)
				for c, p := range parts {
					a.Set(row, c, float64(p[i].Share))
				}
				a.Set(row, n, -sign)
				a.Set(row, n+1+row, sign)
				b[row] = float64(v)
			}
		}
		want, _, err := lp.Simplex(cost, a, b, 1e-12, nil)
		if err != nil {
			continue // singular to the library
		}
		solved++
		if math.Abs(float64(off)-want) > 1e-9 {
			t.Errorf("%v within %v: off by %v, the library finds %v", parts, band, off, want)
		}
	}
	if solved < 350 {
		t.Errorf("the library solved %d only", solved)
	}
}

// Sands that are alike to the last digits, at which a simplex in floating
// point goes round or finds a singular matrix: the distance is that of the
// shares, and no small step from them comes nearer. Convexity: where no small
// step helps, no large one does. By the definition of the distance.
func TestBlendOfLikes(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 5))
	ratio := func() float64 {
		switch r.IntN(5) {
		case 0:
			return float64(r.IntN(5)) / 4
		case 1:
			return math.Ldexp(1, -r.IntN(60))
		case 2:
			return 1 - math.Ldexp(1, -r.IntN(53))
		}
		return r.Float64()
	}
	for k := range 3000 {
		n := 1 + r.IntN(6)
		parts, band := sands(r, n, 2+r.IntN(8), ratio)
		shares, off, err := aggregate.BlendWithin(parts, band)
		if err != nil {
			t.Fatal(k, err)
		}
		x, sum := make([]float64, n), 0.0
		for i, s := range shares {
			if x[i] = float64(s); s < 0 {
				t.Fatalf("draw %d: shares %v", k, shares)
			}
			sum += x[i]
		}
		if own := outside(parts, band, x); math.Abs(sum-1) > 1e-12 || math.Abs(own-float64(off)) > 1.1e-12 {
			t.Fatalf("draw %d: shares %v, off by %v, by their own measure %v", k, shares, off, own)
		}
		for range 40 {
			y, step := slices.Clone(x), math.Ldexp(1, -r.IntN(30))
			for range 1 + r.IntN(3) {
				from, to := r.IntN(n), r.IntN(n)
				d := min(step*r.Float64(), y[from])
				y[from] -= d
				y[to] += d
			}
			if d := outside(parts, band, y); d < float64(off)-1e-9 {
				t.Fatalf("draw %d: %v is off by %v, %v by %v only", k, shares, off, y, d)
			}
		}
	}
}

// The draw at which the library's own first phase ended in a singular matrix.
func TestBlendSingular(t *testing.T) {
	a := graded(4.75, 100, 2.36, 5.551115123125783e-15, 1.18, 5.551115123125783e-15)
	b := graded(4.75, 100, 2.36, 100, 1.18, 100*1.4901161193847656e-08)
	c := graded(4.75, 100, 2.36, 100*5.960464477539063e-08, 1.18, 50*5.960464477539063e-08)
	target := graded(4.75, 100, 2.36, 100, 1.18, 50)
	shares, off, err := aggregate.BlendTo([]aggregate.Gradation{a, b, c}, target)
	// All of b and c: off by c's share at 2.36 mm, where it passes 6e-8, and by
	// 0.5 - 1.49e-8 (1 + c) at 1.18 mm, where c passes twice what b does. Equal
	// at c = 0.5 - 2.24e-8.
	near(t, "share of c", float64(shares[2]), 0.5-2.24e-8, 1e-7, err, "by hand")
	near(t, "off by", float64(off), 0.5-2.24e-8, 1e-9, err, "by hand")
}

// The hardest that is taken: 20 parts on 100 sieves.
func BenchmarkBlendWithin(b *testing.B) {
	r := rand.New(rand.NewPCG(4, 0))
	for _, size := range [][2]int{{3, 6}, {20, 100}} {
		parts, band := sands(r, size[0], size[1], func() float64 { return 1 - 0.1*r.Float64() })
		b.Run(fmt.Sprintf("%d parts, %d sieves", size[0], size[1]), func(b *testing.B) {
			for b.Loop() {
				if _, _, err := aggregate.BlendWithin(parts, band); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
