package coverage

import (
	"errors"
	"fmt"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// A Reactive is an ingredient of a blend with its equivalent weight.
type Reactive struct {
	Parts      float64 // by mass, 0 to 1e6
	Equivalent float64 // g per equivalent, 1 to 1e5; 0 for an inert ingredient
}

// BlendEquivalent returns the equivalent weight of a blend, in g per
// equivalent: total parts/sum(parts/equivalent). Fillers and diluents that do
// not react raise it.
//
// Range: at least one reactive ingredient with parts above 0.
// Accuracy: exact arithmetic. Source: definition of the equivalent weight.
func BlendEquivalent(blend []Reactive) (float64, error) {
	const fn = "coverage.BlendEquivalent"
	var total, equivalents float64
	for i, r := range blend {
		if r.check(fn, "") != nil { // the number only for the error: no allocation when all is good
			return math.NaN(), r.check(fn, fmt.Sprintf(" of ingredient %d", i+1))
		}
		total += r.Parts
		if r.Equivalent > 0 {
			equivalents += r.Parts / r.Equivalent
		}
	}
	if equivalents < 1e-100 {
		return math.NaN(), fmt.Errorf("%s: nothing reacts: want an ingredient with an equivalent weight: %w", fn, units.ErrRange)
	}
	return total / equivalents, nil
}

func (r Reactive) check(fn, of string) error {
	err := units.FromZero(fn, "Parts"+of, r.Parts, 1e6, "parts")
	if r.Equivalent != 0 {
		err = errors.Join(err, equivalent(fn, "Equivalent"+of, r.Equivalent))
	}
	return err
}

func equivalent(fn, arg string, v float64) error { return units.InRange(fn, arg, v, 1, 1e5, "g/eq") }

// AmineEquivalent returns the equivalent weight of an amine hardener per active
// hydrogen, molar mass/hydrogens, in g per equivalent.
//
// Range: molar 10 to 1e5 g/mol, hydrogens 1 to 1000.
// Accuracy: exact arithmetic. Source: Handbook of Adhesive Technology, chapter on hardeners.
func AmineEquivalent(molar float64, hydrogens int) (float64, error) {
	const fn = "coverage.AmineEquivalent"
	if err := errors.Join(units.InRange(fn, "molar", molar, 10, 1e5, "g/mol"), units.InRange(fn, "hydrogens", float64(hydrogens), 1, 1000, "an amine")); err != nil {
		return math.NaN(), err
	}
	return molar / float64(hydrogens), nil
}

// HardenerPerHundred returns the parts of hardener by mass for a hundred of
// resin (phr) that react with all of it: 100 hardener/resin equivalents.
//
// Range: both 1 to 1e5 g per equivalent.
// Accuracy: exact arithmetic; suppliers may ask for other than equal equivalents.
// Source: Handbook of Adhesive Technology, chapter on hardeners.
func HardenerPerHundred(hardener, resin float64) (float64, error) {
	const fn = "coverage.HardenerPerHundred"
	if err := errors.Join(equivalent(fn, "hardener", hardener), equivalent(fn, "resin", resin)); err != nil {
		return math.NaN(), err
	}
	return 100 * hardener / resin, nil
}

// IsocyanateEquivalent returns the equivalent weight of an isocyanate from its
// NCO content by mass, 42.02/nco, in g per equivalent. Some texts use 42.00.
//
// Range: nco 1 to 60 %.
// Accuracy: exact arithmetic. Source: polyurethane trade association's technical library, 4202/%NCO.
func IsocyanateEquivalent(nco units.Fraction) (float64, error) {
	if err := units.InRange("coverage.IsocyanateEquivalent", "nco", percent(nco), 1, 60, "%"); err != nil {
		return math.NaN(), err
	}
	return 42.02 / float64(nco), nil
}

// PolyolEquivalent returns the equivalent weight of a polyol from its OH
// number in mg KOH/g, 56100/number, in g per equivalent.
//
// Range: number 1 to 2000 mg KOH/g.
// Accuracy: exact arithmetic. Source: see [IsocyanateEquivalent].
func PolyolEquivalent(number float64) (float64, error) {
	if err := units.InRange("coverage.PolyolEquivalent", "number", number, 1, 2000, "mg KOH/g"); err != nil {
		return math.NaN(), err
	}
	return 56100 / number, nil
}

// IsocyanatePerHundred returns the parts of isocyanate by mass for a hundred of
// polyol at an index, the isocyanate groups for each OH group:
// 100 index isocyanate/polyol equivalents.
//
// Range: equivalents 1 to 1e5 g, index 0.5 to 5.
// Accuracy: exact arithmetic. Source: see [IsocyanateEquivalent].
func IsocyanatePerHundred(isocyanate, polyol, index float64) (float64, error) {
	const fn = "coverage.IsocyanatePerHundred"
	err := errors.Join(equivalent(fn, "isocyanate", isocyanate), equivalent(fn, "polyol", polyol), units.InRange(fn, "index", index, 0.5, 5, "NCO to OH"))
	if err != nil {
		return math.NaN(), err
	}
	return 100 * index * isocyanate / polyol, nil
}
