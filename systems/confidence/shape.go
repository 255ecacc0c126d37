package confidence

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/interp"
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
		return &table{q: quantiler{distuv.Beta{Alpha: m * k, Beta: (1 - m) * k}, width, lo}.at, from: -tableTo}, nil
	}
	return nil, fmt.Errorf("scatter %s has shape %q: want one that this version knows", s.ID, s.Shape)
}

// A table holds the quantiles of a distribution that is slow to invert, over
// scores, as a cubic spline; beyond it they are asked for themselves.
// Accuracy: 1e-6 of the width for a beta of alpha and beta above 1.
type table struct {
	q      func(z float64) float64
	from   float64
	spline *interp.NotAKnotCubic // nil until filled
}

const (
	tableTo   = 5.0
	tableStep = 1. / 16
)

func (t *table) fill() error {
	if t.spline != nil {
		return nil
	}
	rows := int((tableTo-t.from)/tableStep) + 1
	z, v := make([]float64, rows), make([]float64, rows)
	for i := range z {
		z[i] = t.from + float64(i)*tableStep
		v[i] = t.q(z[i])
	}
	s := new(interp.NotAKnotCubic)
	if err := s.Fit(z, v); err != nil {
		return err
	}
	t.spline = s
	return nil
}

func (t *table) at(z float64) float64 {
	if t.spline == nil || !(z >= t.from && z <= tableTo) {
		return t.q(z)
	}
	return t.spline.Predict(z)
}
