package cure

import "math"

// A line is a law's rate over a range of temperature, in 1/s:
//
//	ln rate = a + q (at/T - 1) + c (T - at)
//
// q is that of Arrhenius, -Ea/(R at); c that of a rate which grows by the same
// factor for every kelvin; the rate is flat with neither, and nothing proceeds
// with a = -Inf. It holds from lo kelvin to the lo of the next line. It is
// written about a point of its own, at, so that steep lines keep their digits.
type line struct{ lo, at, a, q, c float64 }

// arrheniusR is the molar gas constant, J/(mol K), exact since 2019.
// Source: CODATA 2018.
const arrheniusR = 8.31446261815324

// ln is the logarithm of the rate at k kelvin.
func (l *line) ln(k float64) float64 {
	return l.a + (k-l.at)*(l.c-l.q/k)
}

// gauss are the nodes and weights of the five-point Gauss-Legendre rule on
// [0, 1]. Source: Abramowitz and Stegun table 25.4, from memory; exact for powers to
// the ninth, which TestGauss shows.
var gauss = [5][2]float64{
	{0.046910077030668, 0.118463442528095}, {0.230765344947158, 0.239314335249683}, {0.5, 0.284444444444444},
	{0.769234655052842, 0.239314335249683}, {0.953089922969332, 0.118463442528095},
}

// Over a piece which changes ln rate by less than series and T by less than a
// hundredth, the mean of the rate is its Taylor series about the middle, good to
// series^6/322560 and as much again for the curve of 1/T: 1e-11. One which
// changes ln rate by less than gentle, and T by less than a tenth, is left to
// the five-point rule, good to (5!)^4 / (11 (10!)^3) = 4e-13; more is parted.
const series, gentle = 0.1, 1.0

// mean returns the mean rate over temperatures from t0 to t1, at all of which l
// is taken to hold. +Inf says that it is more than a float64 can say.
func (l *line) mean(t0, t1 float64) float64 {
	if l.q == 0 && l.c == 0 {
		return math.Exp(l.a)
	}
	h := t1 - t0
	m := t0 + h/2
	inv := 1 / m
	e := h * inv
	v, w := l.q*l.at*inv*e, l.c*h
	size := math.Abs(v) + math.Abs(w)
	if size > series || math.Abs(e) > 0.01 {
		return l.steep(t0, t1, size, math.Abs(e))
	}
	// The derivatives of ln rate at m, each times its power of h.
	u, u2, u3, u4 := w-v, 2*v*e, -6*v*e*e, 24*v*e*e*e
	s := u * u
	return math.Exp(l.a+(m-l.at)*(l.c-l.q*inv)) * (1 + (s+u2)*(1./24) + (s*s+6*s*u2+3*u2*u2+4*u*u3+u4)*(1./1920))
}

// steep is mean by the five-point rule over as many pieces as it takes. Of a
// steep line only the fast end counts: it is begun there.
func (l *line) steep(t0, t1, size, e float64) float64 {
	if l.ln(t1) > l.ln(t0) {
		t0, t1 = t1, t0
	}
	n := max(1, math.Ceil(max(size/gentle, e/0.1)))
	step := (t1 - t0) / n
	sum := 0.0
	for i := 0.0; i < n; i++ {
		from := t0 + step*i
		p := 0.0
		for _, g := range gauss {
			p += g[1] * math.Exp(l.ln(from+step*g[0]))
		}
		sum += p
		if math.IsInf(sum, 1) || l.q*l.c == 0 && p <= 1e-18*sum {
			break // nor will more of it change that
		}
	}
	return sum / n
}
