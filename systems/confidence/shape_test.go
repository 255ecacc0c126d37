package confidence

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

func share01(v float64) *units.Fraction { f := units.Fraction(v); return &f }

// moment draws a spread on a fine even grid of probability.
func moment(s spread) (mean, sd float64) {
	const n = 200000
	x := make([]float64, n)
	for i := range x {
		x[i] = s.at(distuv.UnitNormal.Quantile((float64(i) + 0.5) / n))
	}
	return stat.MeanStdDev(x, nil)
}

// The shapes have the mean and the scatter that the data state. Sources: moments
// of the lognormal and the triangular distribution, NIST/SEMATECH e-Handbook
// 1.3.6.6.9 and (from memory) Johnson, Kotz and Balakrishnan 1995 ch. 26;
// quantiles of the normal, beta and triangle: gonum/stat/distuv.
func TestShapes(t *testing.T) {
	triangle := math.Sqrt((0.8*0.8 + 1.3*1.3 + 0.9*0.9 - 0.8*1.3 - 0.8*0.9 - 1.3*0.9) / 18)
	for _, tc := range []struct {
		name     string
		s        systems.Scatter
		mean, sd float64
		tol      float64 // of the grid: the tails beyond it
	}{
		{"lognormal", systems.Scatter{Shape: systems.Lognormal, Mean: 1.03, Spread: share01(0.12)}, 1.03, 0.1236, 1e-5},
		{"lognormal, wide", systems.Scatter{Shape: systems.Lognormal, Mean: 1, Spread: share01(0.5)}, 1, 0.5, 1e-3},
		{"normal", systems.Scatter{Shape: systems.Normal, Mean: 1, Spread: share01(0.05)}, 1, 0.05, 1e-5},
		{"triangular", systems.Scatter{Shape: systems.Triangular, Mean: 1, Low: share01(0.8), High: share01(1.3)}, 1, triangle, 1e-5},
		{"beta", systems.Scatter{Shape: systems.Beta, Mean: 1, Spread: share01(0.25), Low: share01(0.3), High: share01(2.2)}, 1, 0.25, 1e-4},
		{"still", systems.Scatter{Shape: systems.Lognormal, Mean: 1.1, Spread: share01(0)}, 1.1, 0, 1e-12},
	} {
		d, err := spreadOf(&tc.s)
		if err != nil {
			t.Fatal(tc.name, err)
		}
		if slow, ok := d.(*table); ok { // as the draws have it; TestTable holds it against the inverse itself
			if err := slow.fill(); err != nil {
				t.Fatal(tc.name, err)
			}
		}
		if mean, sd := moment(d); math.Abs(mean-tc.mean) > tc.tol || math.Abs(sd-tc.sd) > tc.tol {
			t.Errorf("%s: mean %.6f, standard deviation %.6f; want %.6f, %.6f", tc.name, mean, sd, tc.mean, tc.sd)
		}
		last := math.Inf(-1)
		for z := -8.0; z <= 8; z += 1. / 128 { // it rises, and stays above nothing
			x := d.at(z)
			if x < last || !(x > 0) {
				t.Fatalf("%s: at a score of %g it is %g, after %g", tc.name, z, x, last)
			}
			last = x
		}
	}
	n, err := spreadOf(&systems.Scatter{Shape: systems.Normal, Mean: 1, Spread: share01(0.1)})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range []float64{1e-6, 0.01, 0.5, 0.8, 0.9, 0.999999} { // ten standard deviations above nothing: not cut
		if got, want := n.at(distuv.UnitNormal.Quantile(p)), (distuv.Normal{Mu: 1, Sigma: 0.1}).Quantile(p); math.Abs(got-want) > 1e-9 {
			t.Errorf("normal at %g: %.12f, gonum %.12f", p, got, want)
		}
	}
	cut, err := spreadOf(&systems.Scatter{Shape: systems.Normal, Mean: 1, Spread: share01(0.3)})
	if err != nil {
		t.Fatal(err)
	}
	full, below := distuv.Normal{Mu: 1, Sigma: 0.3}, distuv.UnitNormal.CDF(-1/0.3)
	for _, p := range []float64{1e-9, 1e-3, 0.3, 0.5, 0.9, 0.9999} { // the truncated normal's quantile, from its definition
		if got, want := cut.at(distuv.UnitNormal.Quantile(p)), full.Quantile(below+p*(1-below)); math.Abs(got-want) > 1e-7 {
			t.Errorf("cut normal at %g: %.12f, want %.12f", p, got, want)
		}
	}
}

// The table of a beta against gonum's own inverse: the accuracy that table's
// comment states. Source: gonum/stat/distuv.
func TestTable(t *testing.T) {
	for _, b := range []distuv.Beta{{Alpha: 2, Beta: 3}, {Alpha: 8, Beta: 14}, {Alpha: 1.2, Beta: 1.1}, {Alpha: 30, Beta: 2}} {
		of := quantiler{b, 1, 0}
		table := &table{q: of.at, from: -tableTo}
		if err := table.fill(); err != nil {
			t.Fatal(err)
		}
		for z := -6.0; z < 6; z += 0.00731 {
			if got, want := table.at(z), of.at(z); math.Abs(got-want) > 1e-6 {
				t.Fatalf("beta(%g, %g) at %g: %.9f, want %.9f", b.Alpha, b.Beta, z, got, want)
			}
		}
	}
}

// Sums and products of lognormals drawn from the hypercube have the moments that
// arithmetic gives: means add and multiply; variances of independent ones add;
// of a product 1 + c^2 multiplies. Source: moments of independent variables; the
// product of lognormals is lognormal.
func TestSumsAndProducts(t *testing.T) {
	const n = 20000
	a, b := moments(1.05, 0.2), moments(1.1, 0.15)
	za, _ := column(n, 3, 0, 4)
	zb, _ := column(n, 3, 1, 4)
	sum, product := make([]float64, n), make([]float64, n)
	for i := range n {
		x, y := a.at(za[i]), b.at(zb[i])
		sum[i], product[i] = x+y, x*y
	}
	check := func(what string, got, want, tol float64) {
		t.Helper()
		if math.Abs(got-want) > tol*want {
			t.Errorf("%s: %.5f, want %.5f", what, got, want)
		}
	}
	m, s := stat.MeanStdDev(sum, nil)
	check("mean of the sum", m, 1.05+1.1, 1e-5) // additive: the hypercube is near exact
	check("scatter of the sum", s, math.Hypot(1.05*0.2, 1.1*0.15), 0.02)
	m, s = stat.MeanStdDev(product, nil)
	check("mean of the product", m, 1.05*1.1, 1e-3)
	check("scatter of the product", s/(1.05*1.1), math.Sqrt((1+0.04)*(1+0.0225)-1), 0.02)
}

// A Latin hypercube finds the mean of an additive function much surer than plain
// draws: its variance falls by n^-3 for smooth terms, theirs by n^-1. Sources:
// McKay, Beckman and Conover 1979; Stein 1987; from memory.
func TestHypercubeConverges(t *testing.T) {
	f := func(u, v, w float64) float64 { return u*u + math.Sin(v) + 2*w }
	variance := func(n int, latin bool) float64 {
		var means []float64
		for seed := range uint64(60) {
			sum := 0.0
			if latin {
				x, _ := column(n, seed, 0, 4)
				y, _ := column(n, seed, 1, 4)
				z, _ := column(n, seed, 2, 4)
				for i := range n {
					sum += f(distuv.UnitNormal.CDF(x[i]), distuv.UnitNormal.CDF(y[i]), distuv.UnitNormal.CDF(z[i]))
				}
			} else {
				r := rand.New(rand.NewPCG(seed, 99))
				for range n {
					sum += f(r.Float64(), r.Float64(), r.Float64())
				}
			}
			means = append(means, sum/float64(n))
		}
		return stat.Variance(means, nil)
	}
	rate := func(latin bool) float64 {
		return math.Log10(variance(1000, latin)/variance(100, latin)) / math.Log10(10)
	}
	if r := rate(true); r > -2.6 || r < -3.4 {
		t.Errorf("the hypercube's variance falls by n^%.2f, want about -3", r)
	}
	if r := rate(false); r > -0.6 || r < -1.4 {
		t.Errorf("plain draws' variance falls by n^%.2f, want about -1", r)
	}
	if gain := variance(1000, false) / variance(1000, true); gain < 1e4 {
		t.Errorf("the hypercube is %.0f times better than plain draws, want above 10^4", gain)
	}
}

// Each column has one draw in every n-th, and its cuts hold equal shares. From
// the definition of a Latin hypercube, McKay, Beckman and Conover 1979.
func TestColumn(t *testing.T) {
	const n = 1000
	z, in := column(n, 7, 3, 20)
	seen, cuts := make([]bool, n), make([]int, 20)
	for i, x := range z {
		k := int(distuv.UnitNormal.CDF(x) * n * (1 + 1e-12))
		if seen[k] {
			t.Fatalf("two draws in share %d", k)
		}
		seen[k] = true
		cuts[in[i]]++
	}
	for c, k := range cuts {
		if k != n/20 {
			t.Errorf("cut %d holds %d", c, k)
		}
	}
}
