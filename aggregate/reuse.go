package aggregate

import (
	"errors"

	"github.com/tackfree/tackfree/data/units"
)

// A Reuse is a broadcast section by section, in which what is vacuumed off one
// is thrown on the next.
type Reuse struct {
	Held      units.Loading  // 0 to 1000 kg/m2
	Retention units.Fraction // of what is thrown, 5 % to 100 %
	Usable    units.Fraction // of what is vacuumed, dry and clean enough to throw again; 0 to 100 %
}

// Bought returns the grain to buy for sections coated one after another, and
// what usable grain is left after the last. Grain vacuumed off a section is
// back before the next is thrown.
//
// Range: 1 to 1000 sections, each above 0 to 1e8 m2.
// Accuracy: bought = held + discarded + left, to 1e-12.
// Source: mass balance.
func (r Reuse) Bought(sections []units.Area) (bought, left units.Mass, err error) {
	const fn = "aggregate.Reuse.Bought"
	err = errors.Join(units.InRange(fn, "sections", float64(len(sections)), 1, 1000, "in number"), units.FromZero(fn, "Usable", pct(r.Usable), 100, "%"))
	for i, a := range sections {
		if e := above(fn, "area", float64(a), 1e8, "m2"); e != nil {
			err = errors.Join(err, numbered(e, i))
		}
	}
	thrown, back, e := Thrown(r.Held, r.Retention)
	if err = errors.Join(err, e); err != nil {
		return nanOf[units.Mass](), nanOf[units.Mass](), err
	}
	for _, a := range sections {
		need := thrown.Over(a)
		if need > left {
			bought += need - left
			left = need
		}
		left += back.Over(a)*units.Mass(r.Usable) - need
	}
	return bought, left, nil
}
