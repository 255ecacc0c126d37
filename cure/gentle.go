package cure

import (
	"math"

	"github.com/tackfree/tackfree/climate"
)

// near is how far an exponent may be from the last one that was worked out in
// full for its Taylor series to tenth order to be exact in float64: an eighth,
// of which the eleventh power over 11! is 3e-18.
const near = 0.125

// gentle integrates l's rate from sample to sample of t, for as long as the
// whole of the next piece is on l between lo and hi kelvin, is one that
// [line.mean] has its series for, and leaves the sum below need. It returns the
// sum and how many pieces it took, maybe none: any other piece is [walk.segment]'s.
//
// It is mean written out, so that nothing is called between one sample and the
// next, and that the exponential of a temperature that has hardly changed is
// gone on from instead of being worked out anew.
func (l *line) gentle(t climate.Trace, lo, hi, need float64) (sum float64, n int) {
	at, a, q, c := l.at, l.a, l.q, l.c
	qat := q * at
	here := t[0].Temp.Kelvin()
	last, value := math.Inf(1), 0.0
	for i := 1; i < len(t) && here > lo && here < hi; i++ {
		next := t[i].Temp.Kelvin()
		if !(next > lo && next < hi) {
			break
		}
		h := next - here
		m := here + h/2
		inv := 1 / m
		e := h * inv
		v, w := qat*inv*e, c*h
		if math.Abs(v)+math.Abs(w) > series || math.Abs(e) > 0.01 {
			break
		}
		ln := a + (m-at)*(c-q*inv)
		d := ln - last
		if !(math.Abs(d) <= near) {
			last, value, d = ln, math.Exp(ln), 0
		}
		u, v2 := w-v, v*e
		s := u * u
		u2 := 2 * v2
		curve := 1 + (s+u2)*(1./24) + (s*s+6*s*u2+3*u2*u2-24*u*v2*e+24*v2*e*e)*(1./1920)
		p := value * exp(d) * curve * (float64(t[i].At-t[i-1].At) * 1e-9)
		if !(sum+p < need) {
			break
		}
		sum += p
		here = next
		n = i
	}
	return sum, n
}

// exp is math.Exp of d within near of 0, to 5e-16.
func exp(d float64) float64 {
	d2 := d * d
	d4 := d2 * d2
	low := (1 + d) + d2*(1./2+d*(1./6))
	mid := (1./24 + d*(1./120)) + d2*(1./720+d*(1./5040))
	high := (1./40320 + d*(1./362880)) + d2*(1./3628800)
	return low + d4*(mid+d4*high)
}
