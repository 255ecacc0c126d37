// Package ode solves small systems of ordinary differential equations, one or
// two unknowns, with an error control that the caller scales, and dense output;
// gonum has no such solver. It is explicit: meant for equations that are not
// stiff, or are written so that they are not.
package ode

import (
	"errors"
	"fmt"
	"math"
)

// A Vec holds the unknowns; a system of one uses only the first.
type Vec [2]float64

// Errors of [Solver.Step].
var (
	ErrSteps = errors.New("ode: too many steps")
	ErrSmall = errors.New("ode: the step became too small")
)

// A Solver steps y' = f(t, y) forward by DOP853, the explicit Runge-Kutta method
// of order 8 with error estimates of orders 5 and 3.
//
// Source: Hairer, Norsett and Wanner, Solving Ordinary Differential Equations I,
// from memory.
type Solver struct {
	T    float64 // now
	Y    Vec     // the unknowns at T
	Left int     // steps that may still be taken, with those refused
	Max  float64 // the longest step; dense output is poor where steps are as long as stability allows

	n       int
	f       func(t float64, y, dy *Vec)
	scale   func(old, next, sc *Vec)
	h       float64 // the next step's length
	from    float64
	old     Vec // at from
	next    Vec
	work    Vec
	sc      Vec
	k       [16]Vec
	p       [7]Vec
	dense   bool // p is that of the last step
	stepped bool // k[12] is the slope at T
}

// Start sets s up for n = 1 or 2 unknowns y at time 0, with h as the first step to try. f
// writes the slopes; scale writes the error that a step from old to next may
// make in each unknown, above zero or infinite.
func (s *Solver) Start(n int, y Vec, h float64, f func(t float64, y, dy *Vec), scale func(old, next, sc *Vec)) {
	*s = Solver{Y: y, Left: 1 << 20, Max: math.Inf(1), n: n, f: f, scale: scale, h: h}
	f(0, &s.Y, &s.k[0])
}

// Restart sets the clock to 0 after f has changed, as at a kink of what drives
// it; the slope at the kink must be what it was, unless jump is set.
func (s *Solver) Restart(jump bool) {
	s.T, s.dense = 0, false
	if jump {
		s.f(0, &s.Y, &s.k[0])
		s.stepped = false
	}
}

// Step takes one step that ends at end at the latest, which must be after T.
func (s *Solver) Step(end float64) error {
	if s.stepped {
		s.k[0] = s.k[12]
	}
	s.dense = false
	refused := false
	for {
		if s.Left--; s.Left < 0 {
			return ErrSteps
		}
		h, last := min(s.h, s.Max), false
		if s.T+1.01*h >= end { // no crumbs
			h, last = end-s.T, true
		}
		if s.T+h == s.T {
			return fmt.Errorf("%w: %g at %g", ErrSmall, h, s.T)
		}
		err := s.try(h)
		// Hairer et al., the usual step-size rule with the exponent of order 8, from memory.
		grow := 6.0
		if err > 0 {
			grow = 0.9 * math.Pow(err, -0.125)
		}
		if !(err <= 1) || !finite(s.next, s.n) { // NaN and Inf are refused
			if !(grow >= 0.1) {
				grow = 0.1
			}
			s.h, refused = h*min(grow, 0.9), true
			continue
		}
		grow = min(6, max(grow, 0.333))
		if refused {
			grow = min(grow, 1)
		}
		if !last || h*grow > s.h || grow < 1 { // a step cut short by end says little of a longer one
			s.h = h * grow
		}
		s.from, s.old = s.T, s.Y
		s.T += h
		if last {
			s.T = end
		}
		s.Y, s.stepped = s.next, true
		return nil
	}
}

func finite(v Vec, n int) bool {
	for i := range n {
		if v[i]-v[i] != 0 {
			return false
		}
	}
	return true
}

// Undo takes the last step back, once, so that a shorter one may be taken; there
// must have been one since Start or Restart.
func (s *Solver) Undo() {
	s.T, s.Y, s.stepped, s.dense = s.from, s.old, false, false
}

// From returns the time at which the last step began, and the unknowns there.
func (s *Solver) From() (float64, Vec) { return s.from, s.old }

// Slope returns the slopes at T.
func (s *Solver) Slope() Vec {
	if s.stepped {
		return s.k[12]
	}
	return s.k[0]
}

// At returns the unknowns at t within the last step, of order 7. It may be
// called until the next Step or Restart.
func (s *Solver) At(t float64) Vec {
	if t == s.T {
		return s.Y
	}
	if !s.dense {
		s.interpolate()
		s.dense = true
	}
	x := (t - s.from) / (s.T - s.from)
	var y Vec
	for i := range s.n { // as in the published code
		p := &s.p
		v := p[3][i] + x*(p[4][i]+(1-x)*(p[5][i]+x*p[6][i]))
		y[i] = s.old[i] + x*(p[0][i]+(1-x)*(p[1][i]+x*(p[2][i]+(1-x)*v)))
	}
	return y
}
