package confidence

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"github.com/tackfree/tackfree/systems"
)

// A spread is the distribution of one factor: its quantile at the probability
// that a standard normal score z has. Scores rather than probabilities, so that
// what two amounts share can be put into both.
type spread interface {
	at(z float64) float64
}

// always is a factor that does not scatter.
type always float64

func (a always) at(float64) float64 { return float64(a) }

// lognormal has a logarithm of mean mu and standard deviation sigma.
type lognormal struct{ mu, sigma float64 }

func (l lognormal) at(z float64) float64 { return math.Exp(l.mu + l.sigma*z) }

// moments returns the lognormal of a mean and a coefficient of variation:
// sigma^2 = ln(1 + c^2), mu = ln m - sigma^2/2. Source: e.g. Johnson, Kotz and
// Balakrishnan 1994 ch. 14, from memory.
func moments(mean, cv float64) lognormal {
	v := math.Log1p(cv * cv)
	return lognormal{math.Log(mean) - v/2, math.Sqrt(v)}
}

// normal is cut off at nothing: an amount is not negative. At a spread of 30 %,
// the most that data may have, one in 2300 is cut off.
type normal struct {
	mean, sd, below float64 // below: what is cut off
}

func (n normal) at(z float64) float64 {
	if n.below > 0 && z < 0 { // upper tails keep their digits
		z = distuv.UnitNormal.Quantile(n.below + (1-n.below)*distuv.UnitNormal.CDF(z))
	} else if n.below > 0 {
		z = -distuv.UnitNormal.Quantile((1 - n.below) * distuv.UnitNormal.CDF(-z))
	}
	return n.mean + n.sd*z
}

// quantiler is a distribution of gonum's.
type quantiler struct {
	q     interface{ Quantile(float64) float64 }
	scale float64
	from  float64
}

func (x quantiler) at(z float64) float64 {
	return x.from + x.scale*x.q.Quantile(distuv.UnitNormal.CDF(z))
}

// spreadOf returns the distribution that a scatter describes.
func spreadOf(s *systems.Scatter) (spread, error) {
	mean := float64(s.Mean)
	switch s.Shape {
	case systems.Normal:
		if *s.Spread == 0 {
			return always(mean), nil
		}
		return normal{mean, mean * float64(*s.Spread), distuv.UnitNormal.CDF(-1 / float64(*s.Spread))}, nil
	case systems.Lognormal:
		if *s.Spread == 0 {
			return always(mean), nil
		}
		return moments(mean, float64(*s.Spread)), nil
	case systems.Triangular:
		lo, hi := float64(*s.Low), float64(*s.High)
		mode := min(hi, max(lo, 3*mean-lo-hi)) // within, but for rounding
		return quantiler{distuv.NewTriangle(lo, hi, mode, nil), 1, 0}, nil
	case systems.Beta:
		lo, width := float64(*s.Low), float64(*s.High-*s.Low)
		m := (mean - lo) / width
		sd := mean * float64(*s.Spread) / width
		k := m*(1-m)/(sd*sd) - 1 // alpha + beta, by moments
		return newTable(quantiler{distuv.Beta{Alpha: m * k, Beta: (1 - m) * k}, width, lo}), nil
	}
	return nil, fmt.Errorf("scatter %s has shape %q: want one that this version knows", s.ID, s.Shape)
}

// A table holds the quantiles of a distribution that is slow to invert, over
// scores, as a cubic through values and slopes; beyond them it is asked itself.
// Accuracy: 1e-6 of the width for a beta of alpha and beta above 1.
type table struct {
	of spread
	v  []float64
}

const (
	tableFrom = -5.0
	tableStep = 1. / 64
	tableRows = 10*64 + 1
)

func newTable(of spread) table {
	t := table{of: of, v: make([]float64, tableRows)}
	for i := range t.v {
		t.v[i] = of.at(tableFrom + float64(i)*tableStep)
	}
	return t
}

func (t table) at(z float64) float64 {
	x := (z - tableFrom) / tableStep
	i := int(math.Floor(x))
	if !(i >= 1 && i < len(t.v)-2) {
		return t.of.at(z)
	}
	f := x - float64(i) // Catmull and Rom: slopes from the neighbours
	a, b, c, d := t.v[i-1], t.v[i], t.v[i+1], t.v[i+2]
	return b + f/2*(c-a+f*(2*a-5*b+4*c-d+f*(3*(b-c)+d-a)))
}
