package coverage

import (
	"errors"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// A Built is what a coat came to, from the liquid used and the area done.
type Built struct {
	Spread units.Spread // area done per volume used: the practical spread
	Wet    units.Length // mean wet film above the peaks
	Dry    units.Length // mean dry film
}

// Achieved returns the spread and the mean films that used liquid came to over
// area, the inverse of [Need]: wet = used (1 - Waste)/area - Profile - Uptake,
// dry = wet solids. It tells the mean only; readings tell the scatter.
//
// Range: area above 0 to 1e8 m2, used above 0 to 1e6 m3, solids above 0 to
// 100 %, loss as its fields say; losses at most what was used.
// Accuracy: exact arithmetic. Source: volume balance; by mass, R. Joseph, Q&A
// Dec 2007: DFT = 1604 lb VS/(density area), with used = mass/density.
func Achieved(area units.Area, used units.Volume, solids units.Fraction, loss Loss) (Built, error) {
	const fn = "coverage.Achieved"
	bad := Built{units.Spread(math.NaN()), units.Length(math.NaN()), units.Length(math.NaN())}
	err := errors.Join(aboveZero(fn, "area", float64(area), float64(area), 1e8, "m2"), aboveZero(fn, "used", float64(used), float64(used), 1e6, "m3"),
		aboveZero(fn, "solids", float64(solids), percent(solids), 100, "%"), loss.check(fn))
	if err != nil {
		return bad, err
	}
	laid := used.PerArea(area) * units.Length(1-loss.Waste)
	lost := loss.Profile + loss.Uptake
	if laid < lost*(1-1e-9) { // less than the losses alone: one of the figures is wrong
		return bad, &units.RangeError{Func: fn, Arg: "loss.Profile + loss.Uptake", Got: mils(lost), Lo: 0, Hi: mils(laid), Unit: "mil"}
	}
	wet := max(laid-lost, 0) // rounding must not take it below nothing
	return Built{Spread: used.PerArea(area).Spread(), Wet: wet, Dry: wet * units.Length(solids)}, nil
}
