package coverage

import (
	"errors"
	"fmt"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// A Comb is a reading of a notched wet-film gauge: the highest tooth that the
// liquid touched and the next one that stayed clear. The film is between them.
type Comb struct {
	Touched units.Length // 0 where even the lowest tooth stayed clear
	Clear   units.Length
}

// An Answer is what a comb says of a film asked for.
type Answer int

// The answers of a comb.
const (
	Between Answer = iota // the film asked for is between the teeth: a finer comb may tell
	Enough                // the film is at least what is asked for
	Short                 // it is thinner
)

// String returns the answer in a word.
func (a Answer) String() string {
	switch a {
	case Between:
		return "between"
	case Enough:
		return "enough"
	case Short:
		return "short"
	}
	return fmt.Sprintf("Answer(%d)", int(a))
}

func (c Comb) check(fn string) error {
	touched := units.FromZero(fn, "Touched", mils(c.Touched), thickest, "mil")
	low := 0.0
	if touched == nil { // a bad tooth says nothing about the next
		low = mils(c.Touched)
	}
	err := units.InRange(fn, "Clear", mils(c.Clear), low, thickest, "mil")
	if err == nil && c.Clear <= c.Touched {
		err = &units.RangeError{Func: fn, Arg: "Clear", Got: mils(c.Clear), Lo: low, Hi: thickest, Unit: "mil", Above: true}
	}
	return errors.Join(touched, err)
}

// Dry returns between which films the coat will dry, by [DryFilm].
//
// Range: Touched 0 to 1 m, Clear above it; solids, thinner as [DryFilm].
// Accuracy: the step of the comb. Source: ASTM D4414 procedure A, from memory.
func (c Comb) Dry(solids, thinner units.Fraction) (low, high units.Length, err error) {
	const fn = "coverage.Comb.Dry"
	if err := errors.Join(c.check(fn), film(fn, "", 0, solids, thinner)); err != nil {
		return units.Length(math.NaN()), units.Length(math.NaN()), err
	}
	share := units.Length(solids / (1 + thinner))
	return c.Touched * share, c.Clear * share, nil
}

// Has tells whether the wet film is at least wet. A reading that cannot tell is
// [Between], never rounded to one side.
//
// Range: Touched 0 to 1 m, Clear above it; wet above 0 to 1 m. Source: see [Comb.Dry].
func (c Comb) Has(wet units.Length) (Answer, error) {
	const fn = "coverage.Comb.Has"
	if err := errors.Join(c.check(fn), aboveZero(fn, "wet", float64(wet), mils(wet), thickest, "mil")); err != nil {
		return Between, err
	}
	switch {
	case c.Touched >= wet*(1-1e-9):
		return Enough, nil
	case c.Clear <= wet*(1+1e-9):
		return Short, nil
	}
	return Between, nil
}
