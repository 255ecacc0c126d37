package coverage

import (
	"errors"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// A Mark is what a coat leaves of a scratch.
type Mark struct {
	Relief  units.Length // depth that is left: [Residual]
	Flooded bool         // the wet film was at least as deep as the scratch it met
	Shows   bool         // it may telegraph: what may be left, where films did not flood, is above what the user allows
}

// Telegraph returns what each coat of several leaves of a scratch, the first
// at the bottom, and whether it may show. A coat levels flush over the relief
// it finds and shrinks by its volatile share, so that a coat of 100 % solids
// hides any scratch that it floods. A film thinner than the relief may follow
// it: Flooded is false, Relief is the least that can be left, and the mark is
// said to show until a later coat floods what the unflooded one may have left,
// all it met.
//
// allowed is the relief that the user's floor and light forgive; no public
// figure was found. Opacity is left out: there is no source for it here.
//
// Range: scratch 0 to 1 m, allowed 0 to 1 m, at least one coat, coats as
// [Layers] takes them.
// Accuracy: exact arithmetic for coats that level; stiff ones leave more.
// Source: volume balance; common practice, no source.
func Telegraph(scratch, allowed units.Length, coats []Coat) ([]Mark, error) {
	const fn = "coverage.Telegraph"
	err := errors.Join(units.FromZero(fn, "scratch", mils(scratch), thickest, "mil"), units.FromZero(fn, "allowed", mils(allowed), thickest, "mil"))
	if err = errors.Join(err, checkCoats(fn, coats)); err != nil {
		return nil, err
	}
	marks := make([]Mark, len(coats))
	least, most := scratch, scratch // relief between a coat that levels and one that follows
	for i, c := range coats {
		share := units.Length(c.Solids / (1 + c.Thinner))
		m := Mark{Flooded: c.Dry/share >= most*(1-1e-9)}
		m.Relief = least * (1 - share)
		least = m.Relief
		if m.Flooded {
			most *= 1 - share
		}
		m.Shows = most > allowed*(1+1e-9)
		marks[i] = m
	}
	return marks, nil
}

// FloodingFilm returns the dry film of the coat that floods a scratch: its wet
// film is as deep as the scratch, scratch solids/(1 + thinner).
//
// Range, source: see [WetFilm].
func FloodingFilm(scratch units.Length, solids, thinner units.Fraction) (units.Length, error) {
	if err := film("coverage.FloodingFilm", "scratch", scratch, solids, thinner); err != nil {
		return units.Length(math.NaN()), err
	}
	return scratch * units.Length(solids/(1+thinner)), nil
}
