// Package root finds where a function of one variable crosses zero; gonum has
// no such routine.
package root

import (
	"errors"
	"fmt"
	"math"
)

// ErrBracket says that the function has one sign at both ends.
var ErrBracket = errors.New("root: the function has the same sign at both ends")

// Brent returns x between a and b with f(x) = 0 within tol in x. f(a) and f(b)
// must differ in sign, or one be zero.
//
// Source: Brent, Algorithms for Minimization without Derivatives, procedure zero;
// from memory.
func Brent(f func(float64) float64, a, b, tol float64) (float64, error) {
	fa, fb := f(a), f(b)
	switch {
	case math.IsNaN(fa) || math.IsNaN(fb):
		return math.NaN(), fmt.Errorf("root: not a number at %g or %g", a, b)
	case fa == 0:
		return a, nil
	case fb == 0:
		return b, nil
	case (fa > 0) == (fb > 0):
		return math.NaN(), ErrBracket
	}
	c, fc := a, fa
	d := b - a
	e := d
	for range 200 {
		if math.Abs(fc) < math.Abs(fb) {
			a, b, c = b, c, b
			fa, fb, fc = fb, fc, fb
		}
		eps := 2*0x1p-52*math.Abs(b) + tol/2
		m := (c - b) / 2
		if math.Abs(m) <= eps || fb == 0 {
			return b, nil
		}
		if math.Abs(e) < eps || math.Abs(fa) <= math.Abs(fb) {
			d, e = m, m // bisect
		} else {
			var p, q float64
			s := fb / fa
			if a == c { // secant
				p, q = 2*m*s, 1-s
			} else { // inverse quadratic
				r, u := fa/fc, fb/fc
				p = s * (2*m*r*(r-u) - (b-a)*(u-1))
				q = (r - 1) * (u - 1) * (s - 1)
			}
			if p > 0 {
				q = -q
			} else {
				p = -p
			}
			if 2*p < 3*m*q-math.Abs(eps*q) && p < math.Abs(e*q/2) {
				e, d = d, p/q
			} else {
				d, e = m, m
			}
		}
		a, fa = b, fb
		if math.Abs(d) > eps {
			b += d
		} else {
			b += math.Copysign(eps, m)
		}
		if fb = f(b); math.IsNaN(fb) {
			return math.NaN(), fmt.Errorf("root: not a number at %g", b)
		}
		if (fb > 0) == (fc > 0) {
			c, fc = a, fa
			d = b - a
			e = d
		}
	}
	return math.NaN(), fmt.Errorf("root: no convergence between %g and %g, %g left", a, b, fb)
}
