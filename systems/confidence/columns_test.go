package confidence

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// The columns of a hypercube are independent: the rank correlations of all pairs of
// 30 columns, and of one column under neighbouring seeds, are about 0 with a variance
// of 1/(n - 1), and the largest is no larger than that of so many normal ones.
// Source: Spearman's coefficient of independent ranks, NIST/SEMATECH e-Handbook, from
// memory; the largest by Bonferroni at one in 10 000; the sum of squares by the
// chi-squared distribution.
func TestColumnsAreIndependent(t *testing.T) {
	const n, k = 2000, 30
	for _, seed := range []uint64{0, 1, 2, 42, math.MaxUint64} {
		var cols [][]float64
		for c := range uint64(k) {
			z, _ := column(n, seed, c, 4)
			cols = append(cols, z)
		}
		for near := range uint64(4) { // the first factor of the seeds after it
			z, _ := column(n, seed+near+1, 0, 4)
			cols = append(cols, z)
		}
		for i, z := range cols {
			cols[i] = ranks(z, ordered(z))
		}
		pairs, most, sum := 0.0, 0.0, 0.0
		for i := range cols {
			for j := range i {
				r := stat.Correlation(cols[i], cols[j], nil)
				pairs, most, sum = pairs+1, max(most, math.Abs(r)), sum+r*r*(n-1)
			}
		}
		if limit := distuv.UnitNormal.Quantile(1-1e-4/2/pairs) / math.Sqrt(n-1); most > limit {
			t.Errorf("seed %d: two columns go together by %.4f, want at most %.4f", seed, most, limit)
		}
		if chi := (distuv.ChiSquared{K: pairs}); sum < chi.Quantile(1e-4) || sum > chi.Quantile(1-1e-4) {
			t.Errorf("seed %d: the squares add up to %.1f of %g pairs", seed, sum, pairs)
		}
	}
}
