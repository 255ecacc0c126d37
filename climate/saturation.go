package climate

import (
	"fmt"
	"math"
)

// logT returns ln t for t in K: 2 artanh z about 283.15 K, where |z| < 0.18, so
// that the terms to z^15 leave less than 2e-14. It is three times as fast as
// [math.Log], which matters where saturation is inverted.
func logT(t float64) float64 {
	const t0, ln = 283.15, 5.645976792559814 // ln 283.15
	z := (t - t0) / (t + t0)
	y := z * z
	y2 := y * y
	return ln + 2*z*((1+y/3)+y2*(1./5+y/7)+y2*y2*((1./9+y/11)+y2*(1./13+y/15))) // Estrin: short chains
}

// lnWater returns the logarithm of the saturation vapour pressure in Pa over
// liquid water, and its derivative by temperature, at t in K.
//
// Source: Hyland and Wexler (1983), as in ASHRAE Fundamentals 2017 ch. 1 eq. 6;
// below 0 °C, where that is an extrapolation (0.7 % high at -40 °C), Murphy and
// Koop (2005) eq. 10, raised by 2.8e-7 to meet it there.
func lnWater(t float64) (l, dl float64) {
	const c8, c9, c10, c11, c12, c13 = -5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 6.5459673
	if t < 273.15 {
		return lnSupercooled(t)
	}
	x := 1 / t
	return c8*x + c9 + t*(c10+t*(c11+t*c12)) + c13*logT(t), x*(c13-c8*x) + c10 + t*(2*c11+t*3*c12)
}

// lnSupercooled is Murphy and Koop (2005) eq. 10, for 123 K to 332 K.
func lnSupercooled(t float64) (l, dl float64) {
	x, ln := 1/t, logT(t)
	th := math.Tanh(0.0415 * (t - 218.8))
	g := 53.878 - 1331.22*x - 9.44523*ln + 0.014025*t
	dg := (1331.22*x-9.44523)*x + 0.014025
	const meet = 2.77521015945581e-07
	return 54.842763 + meet - 6763.22*x - 4.210*ln + 0.000367*t + th*g,
		(6763.22*x-4.210)*x + 0.000367 + th*dg + 0.0415*(1-th*th)*g
}

// lnIce returns the same over ice.
//
// Source: as lnWater, eq. 5.
func lnIce(t float64) (l, dl float64) {
	const c1, c2, c3, c4, c5, c6, c7 = -5.6745359e3, 6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13, 4.1635019
	x := 1 / t
	return c1*x + c2 + t*(c3+t*(c4+t*(c5+t*c6))) + c7*logT(t), x*(c7-c1*x) + c3 + t*(2*c4+t*(3*c5+t*4*c6))
}

// liquid returns the saturation vapour pressure over liquid water and its
// derivative by temperature, in Pa and Pa/K, at t in K.
func liquid(t float64) (p, dp float64) {
	l, dl := lnWater(t)
	p = math.Exp(l)
	return p, p * dl
}

// ice returns the same over ice.
func ice(t float64) (p, dp float64) {
	l, dl := lnIce(t)
	p = math.Exp(l)
	return p, p * dl
}

// dewOf returns the temperature in K at which the saturation pressure over
// liquid water has the logarithm l, by Newton in 1/T, in which ln p is nearly
// straight: from a start 0.05 K off, as Magnus gives from -45 °C to 60 °C, one
// step leaves at most 2e-6 K.
func dewOf(fn string, l float64) (float64, error) {
	t := magnusInverse(l, 17.62, 243.12)
	for range 8 {
		v, dv := lnWater(t)
		next := t * t * dv / (t*dv + v - l) // 1/next = 1/t + (v - l)/(t^2 dv)
		if math.Abs(next-t) < 0.06 {
			return next, nil
		}
		t = next
	}
	return math.NaN(), fmt.Errorf("%s: no convergence for ln p = %g, at %g K", fn, l, t)
}

// frostOf is dewOf over ice.
func frostOf(fn string, l float64) (float64, error) {
	t := magnusInverse(l, 22.46, 272.62)
	for range 8 {
		v, dv := lnIce(t)
		next := t * t * dv / (t*dv + v - l)
		if math.Abs(next-t) < 0.06 {
			return next, nil
		}
		t = next
	}
	return math.NaN(), fmt.Errorf("%s: no convergence for ln p = %g, at %g K", fn, l, t)
}

// magnusInverse is a start.
func magnusInverse(l, b, c float64) float64 {
	const ln = 6.415424237852311 // ln 611.2
	g := l - ln
	return 273.15 + c*g/(b-g)
}
