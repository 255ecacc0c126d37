package confidence

import "slices"

// bins is into how many equal shares a factor is cut to see what it drives.
const bins = 32

// firstOrder estimates Sobol's first-order index of each factor: the share of
// the variance of y that goes when that factor alone is known, Var E(y | x) /
// Var y. The factor's draws are cut into shares of equal probability, and the
// variance between their means is taken: the correlation ratio of Pearson,
// with Kelley's correction for the means' own noise,
//
//	S = 1 - (1 - eta^2) (n - 1)/(n - shares)
//
// It supposes nothing of the form of y, so that what goes up and down again is
// seen too; what several factors do together only is in no first-order index,
// and is what the sum lacks of 1. in[k][i] is the share that draw i of factor k
// lies in.
//
// A factor that drives nothing comes out about 0, on either side.
//
// Accuracy: within a share the factor still varies, which hides about 1 % of an
// index for a line through a normal factor; noise about 2 sqrt(S) (1 - S)/sqrt(n).
// Source: Pearson 1905, Kelley 1935; as an estimator of Sobol's index McKay 1995,
// Plischke and others 2013; all from memory.
func firstOrder(y []float64, in [][]uint8, shares int, of []int) []float64 {
	s := make([]float64, len(of))
	n := float64(len(y))
	mean := 0.0
	for _, v := range y {
		mean += v
	}
	mean /= n
	total := 0.0
	for _, v := range y {
		total += (v - mean) * (v - mean)
	}
	if !(total > n*mean*mean*1e-24) { // it does not vary
		return s
	}
	var sum, count [256]float64
	for j, k := range of {
		clear(sum[:])
		clear(count[:])
		for i, b := range in[k] {
			sum[b] += y[i] - mean
			count[b]++
		}
		between := 0.0
		for b := range shares {
			if count[b] > 0 {
				between += sum[b] * sum[b] / count[b]
			}
		}
		s[j] = 1 - (1-between/total)*(n-1)/(n-float64(shares))
	}
	return s
}

// ranks replaces values by their ranks, equal ones by their mean rank: idx is
// the order of y from the smallest. Shares are of the variance of ranks. That of
// the values themselves would hang on the few farthest draws where past jobs are
// few, and the moments of whose distribution may not even exist.
func ranks(y []float64, idx []int32) []float64 {
	r := make([]float64, len(y))
	for i := 0; i < len(idx); {
		j := i + 1
		for j < len(idx) && y[idx[j]] == y[idx[i]] {
			j++
		}
		for _, k := range idx[i:j] {
			r[k] = float64(i+j-1) / 2
		}
		i = j
	}
	return r
}

// ordered returns the order of y from the smallest. Values are sorted with their
// places, since following places to values misses the cache where draws are many.
func ordered(y []float64) []int32 {
	type placed struct {
		v float64
		i int32
	}
	all := make([]placed, len(y))
	for i, v := range y {
		all[i] = placed{v, int32(i)}
	}
	slices.SortFunc(all, func(a, b placed) int {
		switch {
		case a.v < b.v:
			return -1
		case a.v > b.v:
			return 1
		}
		return int(a.i - b.i)
	})
	idx := make([]int32, len(y))
	for i := range all {
		idx[i] = all[i].i
	}
	return idx
}

// sharesFor returns into how many shares n draws are cut: 32, fewer where less
// than 50 draws would lie in each.
func sharesFor(n int) int { return max(4, min(bins, n/50)) }
