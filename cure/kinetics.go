package cure

import (
	"errors"
	"fmt"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// molarGas is the molar gas constant in J/(mol K), exact. Source: SI Brochure
// 9th ed. (2019), from the fixed Boltzmann and Avogadro constants.
const molarGas = 8.31446261815324

// Kinetics says how fast a mix reacts. The conversion a, the share of the
// limiting groups that have reacted, follows the model of Kamal and Sourour,
//
//	da/dt = (k1 + k2 a^M) (1-a)^N,  k = A exp(-Ea/(R T)),  a(0) = 0,
//
// in which k1 starts the reaction and k2 is its catalysis by what it makes. A2
// = 0 leaves a reaction of order N.
//
// With Diffusion the rates fall off as the mix turns glassy, so that a cold
// cure stalls. It and Glass are left out by their zero values.
//
// Range: A1 and A2 0, or 1e-30 1/s to 1e30 1/s, Ea1 and Ea2 0 to 400 kJ/mol, M and N 0 to 10,
// and a reaction that starts: A1 above 0, or M = 0 and A2 above 0. A method
// joins one [units.RangeError] for each bad field; one that goes along a history
// returns [ErrTooStiff] of a few in a million sets from all over that range, with
// A near 1e16 1/s or more.
// Accuracy: that of the arithmetic stands at each method; the model itself is
// good to a few percent up to vitrification for the mix and the temperatures
// that its figures were fitted to, and figures fitted hot do not hold on a floor.
//
// Source: Kamal and Sourour, from memory; Barral et al., J. Appl. Polym. Sci. 56
// (1995) 1029 for a cycloaliphatic epoxy-amine, its abstract seen.
type Kinetics struct {
	A1, A2   float64 // 1/s
	Ea1, Ea2 units.MolarEnergy
	M, N     float64

	Glass     Glass     // glass transition against conversion
	Diffusion Diffusion // nil, [ChernPoehlein], [WLF] or [FreeVolume]
}

// Validate returns an error unless k is in the range of [Kinetics].
func (k Kinetics) Validate() error { return k.check("cure.Kinetics") }

func (k Kinetics) check(fn string) error {
	err := errors.Join(
		units.FromZero(fn, "A1", k.A1, 1e30, "1/s"),
		units.FromZero(fn, "A2", k.A2, 1e30, "1/s"),
		units.FromZero(fn, "Ea1", float64(k.Ea1)/1e3, 400, "kJ/mol"),
		units.FromZero(fn, "Ea2", float64(k.Ea2)/1e3, 400, "kJ/mol"),
		units.FromZero(fn, "M", k.M, 10, ""),
		units.FromZero(fn, "N", k.N, 10, ""))
	for _, a := range [2]struct {
		name string
		v    float64
	}{{"A1", k.A1}, {"A2", k.A2}} {
		if a.v > 0 && a.v < 1e-30 {
			err = errors.Join(err, &units.RangeError{Func: fn, Arg: a.name, Got: a.v, Lo: 1e-30, Hi: 1e30, Unit: "1/s"})
		}
	}
	if err == nil && k.A1 == 0 && (k.M > 0 || k.A2 == 0) {
		err = &units.RangeError{Func: fn, Arg: "A1", Got: k.A1, Lo: 0, Hi: 1e30, Unit: "1/s", Above: true}
	}
	if k.Glass != (Glass{}) {
		err = errors.Join(err, k.Glass.check(fn))
	}
	switch k.Diffusion.(type) {
	case nil:
	default:
		err = errors.Join(err, fmt.Errorf("%w: %s: Diffusion = %T: want nil, ChernPoehlein, WLF or FreeVolume", units.ErrRange, fn, k.Diffusion))
	case ChernPoehlein, WLF, FreeVolume:
		err = errors.Join(err, k.Diffusion.check(fn))
		if k.Diffusion.needsGlass() && k.Glass == (Glass{}) {
			err = errors.Join(err, fmt.Errorf("%w: %s: Diffusion %T needs Glass: want its temperatures", units.ErrRange, fn, k.Diffusion))
		}
	}
	return err
}

// Rate returns da/dt at conversion a and temperature temp.
//
// Range: temp -60 °C to 600 °C, a 0 to 100 %. Accuracy: 1e-13 of the rate.
func (k Kinetics) Rate(temp units.Temperature, a units.Fraction) (units.Rate, error) {
	const fn = "cure.Kinetics.Rate"
	if err := errors.Join(k.check(fn), hotRange(fn, "temp", temp), units.FromZero(fn, "a", 100*float64(a), 100, "%")); err != nil {
		return units.Rate(math.NaN()), err
	}
	c := k.prepare()
	return units.Rate(c.rate(min(float64(a), 1), temp.Kelvin())), nil
}

// FastestRate returns the highest rate that the mix comes to at a constant
// temperature, and the conversion at which it does.
//
// Range: as [Kinetics.Rate]. Accuracy: 1e-9 of the rate where it has one
// maximum wider than 0.5 % of conversion, as with M up to 1.
func (k Kinetics) FastestRate(temp units.Temperature) (units.Rate, units.Fraction, error) {
	const fn = "cure.Kinetics.FastestRate"
	if err := errors.Join(k.check(fn), hotRange(fn, "temp", temp)); err != nil {
		return units.Rate(math.NaN()), units.Fraction(math.NaN()), err
	}
	c := k.prepare()
	a, r := c.fastest(temp.Kelvin())
	return units.Rate(r), units.Fraction(a), nil
}

// fastest finds the largest rate over 400 even conversions, then between its
// neighbours by golden section.
func (c *curing) fastest(t float64) (a, rate float64) {
	const n = 400
	best, top := 0, -1.0
	for i := range n + 1 {
		if r := c.rate(float64(i)/n, t); r > top {
			best, top = i, r
		}
	}
	lo, hi := float64(max(best-1, 0))/n, float64(min(best+1, n))/n
	const g = 0.6180339887498949 // (sqrt(5)-1)/2
	for range 60 {
		p, q := hi-g*(hi-lo), lo+g*(hi-lo)
		if c.rate(p, t) >= c.rate(q, t) {
			hi = q
		} else {
			lo = p
		}
	}
	if a = (lo + hi) / 2; c.rate(a, t) > top {
		return a, c.rate(a, t)
	}
	return float64(best) / n, top
}

func hotRange(fn, arg string, t units.Temperature) error {
	return units.InRange(fn, arg, t.Celsius(), -60, 600, "°C")
}

// curing is Kinetics worked out for many evaluations.
//
// It integrates u, the integral of da/(1-a)^N, instead of a: du/dt = k1 + k2 a^M
// does not fall to zero as the groups run out, so that the equation is never
// stiff however fast the reaction, and an order below 1, which ends the reaction
// at a finite time, needs no care.
type curing struct {
	a1, a2, e1, e2 float64 // e = Ea/R in K
	m, n           float64
	beyond         float64 // where a of order 0 ends
	plain          bool    // M = 1
	glass          Glass
	chern          *ChernPoehlein
	kd             limiter

	t0, slope float64 // temperature in K at time 0 of the piece; K/s
	k1, k2    float64 // at t0
}

// limiter is the rate constant of diffusion of the Rabinowitch forms.
type limiter interface {
	constant(t, tg float64) float64 // 1/s, of kelvin
}

func (k Kinetics) prepare() curing {
	c := curing{a1: k.A1, a2: k.A2, e1: float64(k.Ea1) / molarGas, e2: float64(k.Ea2) / molarGas, m: k.M, n: k.N, beyond: 1, plain: k.M == 1, glass: k.Glass}
	if k.Diffusion == nil {
		c.beyond = 2
	}
	switch d := k.Diffusion.(type) {
	case ChernPoehlein:
		c.chern = &d
	case limiter:
		c.kd = d
	}
	return c
}

// piece sets the temperature of a linear piece of a history.
func (c *curing) piece(t0, slope float64) {
	c.t0, c.slope = t0, slope
	c.k1, c.k2 = c.constants(t0)
}

func (c *curing) constants(t float64) (k1, k2 float64) {
	x := -1 / t
	k1 = c.a1 * math.Exp(c.e1*x)
	switch {
	case c.a2 == 0:
		return k1, 0
	case c.e1 == c.e2 && c.a1 > 0:
		return k1, k1 * (c.a2 / c.a1)
	}
	return k1, c.a2 * math.Exp(c.e2*x)
}

// speed is du/dt at conversion a and t kelvin, of k1 and k2 there.
func (c *curing) speed(a, t, k1, k2 float64) float64 {
	if c.kd != nil {
		kd := c.kd.constant(t, c.glass.tg(a))
		k1, k2 = inSeries(k1, kd), inSeries(k2, kd)
	}
	v := k1
	if k2 > 0 {
		switch {
		case c.plain:
			v += k2 * a
		case c.m == 0:
			v += k2
		default:
			v += k2 * math.Exp(c.m*math.Log(a)) // Pow takes three times as long; 0 at a = 0
		}
	}
	if c.chern != nil {
		v *= c.chern.factor(a, t)
	}
	return v
}

// inSeries is the rate constant of a step after another, 1/k = 1/k + 1/kd.
func inSeries(k, kd float64) float64 {
	if !(kd > 0) || k == 0 {
		return 0
	}
	return k / (1 + k/kd)
}

// rate is da/dt.
func (c *curing) rate(a, t float64) float64 {
	k1, k2 := c.constants(t)
	left := 1.0
	if c.n > 0 {
		left = math.Pow(1-a, c.n)
	}
	return c.speed(a, t, k1, k2) * left
}

// conversion returns a of u, and (1-a)^N, which is da/du. Of order 0 a goes on
// beyond 1, lest there be a kink at the end that the steps stumble over.
func (c *curing) conversion(u float64) (a, left float64) {
	switch c.n {
	case 2:
		b := 1 / (1 + u)
		if u > 1e150 {
			return 1, 0
		}
		return u * b, b * b
	case 1:
		a = -math.Expm1(-u)
		return a, 1 - a
	case 0:
		if u >= 1 {
			return min(u, c.beyond), 0
		}
		return u, 1
	}
	w := (c.n - 1) * u
	if w <= -1 { // an order below 1 comes to an end
		return 1, 0
	}
	l := math.Log1p(w) / (c.n - 1)
	return -math.Expm1(-l), math.Exp(-c.n * l)
}

// share is a of u alone.
func (c *curing) share(u float64) float64 {
	switch c.n {
	case 0, 1, 2:
	default:
		if w := (c.n - 1) * u; w > 0.1 { // no digits are lost
			return 1 - math.Exp(-math.Log(1+w)/(c.n-1))
		}
	}
	a, _ := c.conversion(u)
	return a
}

// extent is u of a; it is +Inf where the model does not come to 1.
func (c *curing) extent(a float64) float64 {
	switch {
	case c.n == 1:
		return -math.Log1p(-a)
	case a == 1 && c.n > 1:
		return math.Inf(1)
	}
	return math.Expm1(-(c.n-1)*math.Log1p(-a)) / (c.n - 1)
}
