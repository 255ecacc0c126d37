package cure

import (
	"errors"
	"fmt"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// A Gel says how many reactive groups the molecules of the two parts have: of
// a diepoxide and a diamine, Epoxide is 2 and Amine 4, the hydrogens on nitrogen.
// Another pair of groups, as isocyanate and aspartate, goes in their places.
//
// Range: both 1 to 100.
type Gel struct {
	Amine, Epoxide float64 // groups per molecule
}

func (g Gel) check(fn string) error {
	return errors.Join(units.InRange(fn, "Amine", g.Amine, 1, 100, "groups"), units.InRange(fn, "Epoxide", g.Epoxide, 1, 100, "groups"))
}

// Point returns the conversion of epoxide and of amine hydrogen at which the
// mix gels, with ratio amine hydrogens for an epoxide: 1 is the right mix,
// above 1 too much hardener. With groups of equal reactivity the gel point is
// where (f-1)(g-1) times the product of both conversions is 1,
//
//	a_epoxide = sqrt(ratio/((f-1)(g-1))),  a_amine = a_epoxide/ratio.
//
// The error is [ErrNotReached] if one part runs out before: the mix never gels.
//
// Range: ratio 0.01 to 100. Accuracy: 1e-14 of the formula; measured gel points
// of epoxy-amines lie 0 to 0.05 above it.
//
// Source: Flory and Stockmayer; Macosko and Miller for the wrong ratio; from memory.
func (g Gel) Point(ratio units.Fraction) (epoxide, amine units.Fraction, err error) {
	const fn = "cure.Gel.Point"
	nan := units.Fraction(math.NaN())
	r := float64(ratio)
	if err := errors.Join(g.check(fn), units.InRange(fn, "ratio", r, 0.01, 100, "")); err != nil {
		return nan, nan, err
	}
	e := math.Sqrt(r / ((g.Amine - 1) * (g.Epoxide - 1)))
	if a := e / r; e <= 1 && a <= 1 {
		return units.Fraction(e), units.Fraction(a), nil
	}
	return nan, nan, fmt.Errorf("%w: at a ratio of %.4g one part runs out before the gel point", ErrNotReached, r)
}

// Ratios returns the least and the most amine hydrogens for an epoxide with
// which the mix gels at all: 1/((f-1)(g-1)) and (f-1)(g-1), of a diepoxide and a
// diamine 1/3 and 3. The error is [ErrNotReached] if it gels at none.
func (g Gel) Ratios() (least, most units.Fraction, err error) {
	nan := units.Fraction(math.NaN())
	if err := g.check("cure.Gel.Ratios"); err != nil {
		return nan, nan, err
	}
	p := (g.Amine - 1) * (g.Epoxide - 1)
	if p < 1 {
		return nan, nan, fmt.Errorf("%w: molecules of %g and %g groups make no network", ErrNotReached, g.Amine, g.Epoxide)
	}
	return units.Fraction(1 / p), units.Fraction(p), nil
}
