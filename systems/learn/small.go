package learn

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// A few is what a few readings of one quantity say, by weight.
type few struct {
	mean, se, dof float64 // se is NaN of one reading
	n             int
	wild          []int     // readings not believed: further than 5 deviations from the middle
	ratio         []float64 // of the wild ones to the middle
	log           bool      // of logarithms
}

// mostOff is how many deviations, by the median of their sizes, a reading may be
// off the middle of four or more.
const mostOff = 6.0

// fewOf averages readings. Of four or more it leaves out those far off the
// middle, whose share of the spread is judged by the median of the others'
// deviations, at least by 3 % of the middle. The mean's error is that of
// Student's t for so few: n - 1 degrees.
func fewOf(v, weight []float64) few {
	keep, wild, ratio := sift(v)
	f := average(pick(v, keep), pick(weight, keep))
	f.wild, f.ratio = wild, ratio
	return f
}

// sift parts the readings to keep from the wild ones, of which it says by what
// they are off the middle.
func sift(v []float64) (keep, wild []int, ratio []float64) {
	mid := median(slices.Clone(v))
	dev := make([]float64, len(v))
	for i := range v {
		dev[i] = math.Abs(v[i] - mid)
	}
	scale := max(1.4826*median(slices.Clone(dev)), 0.03*math.Abs(mid))
	for i := range v {
		if len(v) >= 4 && dev[i] > mostOff*scale {
			wild, ratio = append(wild, i), append(ratio, v[i]/mid)
			continue
		}
		keep = append(keep, i)
	}
	return keep, wild, ratio
}

// pick returns those of all that keep says; nil of nothing.
func pick[T any](all []T, keep []int) (out []T) {
	if all == nil {
		return nil
	}
	for _, i := range keep {
		out = append(out, all[i])
	}
	return out
}

// average is the mean of readings by weight, with its error.
func average(v, w []float64) few {
	f := few{n: len(v), mean: stat.Mean(v, w), se: math.NaN(), dof: float64(len(v) - 1)}
	if f.n > 1 {
		// Of weights w the variance of the mean is sum(w2 d2)/(sum w)2 n/(n - 1),
		// which is s2/n where they are alike.
		sum, all := 0.0, 0.0
		for i, x := range v {
			g := 1.0
			if w != nil {
				g = w[i]
			}
			sum += g * g * (x - f.mean) * (x - f.mean)
			all += g
		}
		f.se = math.Sqrt(sum/(all*all)) * math.Sqrt(float64(f.n)/float64(f.n-1))
	}
	return f
}

// times is the figure less by, times x.
func (f few) times(less, x float64) few {
	f.mean, f.se = (f.mean-less)*x, f.se*x
	return f
}

// plus adds an independent figure's error (Welch and Satterthwaite's degrees of freedom).
func (f few) plus(se, dof float64) few {
	if math.IsNaN(f.se) || se == 0 {
		return f
	}
	a, b := f.se*f.se, se*se
	f.dof = (a + b) * (a + b) / (a*a/f.dof + b*b/dof)
	f.se = math.Sqrt(a + b)
	return f
}

// span is the 95 % interval; false of one reading.
func (f few) span() (lo, hi float64, ok bool) {
	if math.IsNaN(f.se) {
		return 0, 0, false
	}
	t := t95(f.dof)
	return f.mean - t*f.se, f.mean + t*f.se, true
}
