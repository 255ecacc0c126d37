package learn

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// A few is what a few readings of one quantity say, by weight.
type few struct {
	mean, se, dof float64 // se is NaN of one reading, and of readings that are all alike
	n             int
	wild          []int     // readings not believed: further than mostOff deviations from the middle
	ratio         []float64 // of the wild ones to the middle
	log           bool      // of logarithms
}

// mostOff is how many deviations, by the median of their sizes, a reading may be
// off the middle of four or more.
const mostOff = 6.0

// Scatter that readings of a kind have at least, as a part of the middle, in judging
// which are wild: what a few show of it by themselves may be far too little.
// Common practice, no source.
const (
	kitsScatter  = 0.05
	combScatter  = 0.12 // a comb has steps of a mil
	grainScatter = 0.06
	hoursScatter = 0.20 // of the logarithm
)

// fewOf averages readings. Of four or more it leaves out those that are mostOff
// deviations or more from the middle: a deviation is the median of theirs, at least
// scatter of the middle. The mean's error is that of Student's t for so few: n - 1
// degrees.
func fewOf(v, weight []float64, scatter float64) few {
	keep, wild, ratio := sift(v, scatter)
	f := average(pick(v, keep), pick(weight, keep))
	f.wild, f.ratio = wild, ratio
	return f
}

// sift parts the readings to keep from the wild ones, of which it says by what
// they are off the middle. Accuracy: of good readings that scatter as the constants
// above say one set in a hundred has a wild one at most (TestWorkRecovered).
// Source: Huber (1981), from memory; the factor for few is Croux and Rousseeuw's
// (1992), from memory.
func sift(v []float64, scatter float64) (keep, wild []int, ratio []float64) {
	mid := median(slices.Clone(v))
	dev := make([]float64, len(v))
	for i := range v {
		dev[i] = math.Abs(v[i] - mid)
	}
	n := float64(len(v))
	few := n / (n - 0.8)
	if i := len(v) - 4; i >= 0 && i < 6 {
		few = [6]float64{1.363, 1.206, 1.200, 1.140, 1.129, 1.107}[i]
	}
	scale := max(1.4826*few*median(slices.Clone(dev)), scatter*math.Abs(mid))
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
		if f.se = math.Sqrt(sum/(all*all)) * math.Sqrt(float64(f.n)/float64(f.n-1)); f.se < 1e-9*math.Abs(f.mean) {
			f.se = math.NaN() // all alike: rounded, or copied
		}
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
