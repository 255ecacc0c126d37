package aggregate

import (
	"errors"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// SurfaceMean returns d32, the size of the one grain whose surface for its
// volume is that of the whole gradation: spheres, and within each fraction as
// much mass in each step of the logarithm, ln(b/a)/(1/a - 1/b).
//
// The coarsest sieve must pass all. What passes the finest one is spread the
// same way down to finest, the smallest grain in it; finest may be 0 only where
// the finest sieve passes nothing. Dust decides the surface: do not guess finest.
//
// Range: finest 0, or 1 um to the finest opening.
// Accuracy: the equation to 1e-12.
// Source: integral of 1/d over the fraction.
func (g Gradation) SurfaceMean(finest units.Length) (units.Length, error) {
	return g.surfaceMean("aggregate.Gradation.SurfaceMean", finest)
}

func (g Gradation) surfaceMean(fn string, finest units.Length) (units.Length, error) {
	if err := g.check(fn); err != nil {
		return nanOf[units.Length](), err
	}
	n := len(g)
	_, top := g.at(0)
	a, foot := g.at(n - 1)
	var err error
	if top < 1-1e-9 {
		err = &units.RangeError{Func: fn, Arg: "Share of the coarsest sieve", Got: top * 100, Lo: 100, Hi: 100, Unit: "%"}
	}
	if finest != 0 || foot > 0 {
		err = errors.Join(err, units.InRange(fn, "finest", mm(finest), 0.001, a*1e3, "mm"))
	}
	if err != nil {
		return nanOf[units.Length](), err
	}
	inverse := 0.0 // mean of 1/d by mass
	add := func(a, b, share float64) {
		if share > 0 {
			inverse += share / b * perLog((b-a)/a)
		}
	}
	for i := 1; i < n; i++ {
		b, hi := g.at(i - 1)
		a, lo := g.at(i)
		add(a, b, hi-lo)
	}
	if foot > 0 {
		add(float64(finest), a, foot)
	}
	return units.Length(1 / inverse), nil
}

// perLog is r/ln(1+r), 1 at 0.
func perLog(r float64) float64 {
	if r == 0 {
		return 1
	}
	return r / math.Log1p(r)
}

// Surface returns the surface of the grains in a mass, as spheres:
// 6 m/(rho d32). Crushed grain has more, by a factor of its shape (not here).
//
// Range: mass above 0 to 1e6 kg, density 100 to 20 000 kg/m3, finest as
// [Gradation.SurfaceMean].
// Accuracy: the equation to 1e-12.
func (g Gradation) Surface(mass units.Mass, density units.Density, finest units.Length) (units.Area, error) {
	const fn = "aggregate.Gradation.Surface"
	d, err := g.surfaceMean(fn, finest)
	if err := errors.Join(err, above(fn, "mass", float64(mass), 1e6, "kg"), grainDensity(fn, "density", density)); err != nil {
		return nanOf[units.Area](), err
	}
	return units.Area(6 * float64(mass) / (float64(density) * float64(d))), nil
}

// surfaceFactors are m2/kg for the share that passes each opening in mm; the
// first is for all of the grain. UFC 3-250-03 Table C-1.
var surfaceFactors = [...]struct{ opening, factor float64 }{
	{0, 0.409}, {4.75, 0.409}, {2.36, 0.819}, {1.18, 1.639}, {0.6, 2.867}, {0.3, 6.144}, {0.15, 12.289}, {0.075, 32.771},
}

// FactorSurface returns the surface of the grains in a mass by the surface-area
// factors of asphalt design, fitted to natural aggregate of density 2.65 with
// what dust there is under 75 um.
//
// Range: mass above 0 to 1e6 kg; the sieves from 4.75 mm to 75 um lie within those of g.
// Accuracy: the printed US factors (2 2 4 8 14 30 60 160 ft2/lb) give the same within 0.1 %.
// Source: UFC 3-250-03 Table C-1; method of the Asphalt Institute's MS-2 from memory.
func (g Gradation) FactorSurface(mass units.Mass) (units.Area, error) {
	const fn = "aggregate.Gradation.FactorSurface"
	if err := errors.Join(g.check(fn), above(fn, "mass", float64(mass), 1e6, "kg")); err != nil {
		return nanOf[units.Area](), err
	}
	sum := surfaceFactors[0].factor
	for _, f := range surfaceFactors[1:] {
		s, ok := g.through(f.opening / 1e3)
		if !ok {
			hi, _ := g.at(0)
			lo, _ := g.at(len(g) - 1)
			return nanOf[units.Area](), &units.RangeError{Func: fn, Arg: "opening of the factors' sieve", Got: f.opening, Lo: lo * 1e3, Hi: hi * 1e3, Unit: "mm"}
		}
		sum += f.factor * s
	}
	return units.Area(sum * float64(mass)), nil
}
