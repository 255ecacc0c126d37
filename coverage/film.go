package coverage

import (
	"errors"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// mil and percent are for error texts.
func mils(l units.Length) float64      { return float64(l / units.Mil) }
func percent(f units.Fraction) float64 { return float64(f / units.Percent) }

// thickest is the thickest film or lift that the functions here take: 1 m.
const thickest = 1e6 / 25.4 // mil

// WetFilm returns the wet film that dries to dry: dry (1 + thinner)/solids.
// solids is by volume of the unthinned liquid, thinner a share of its volume.
//
// Range: dry 0 to 1 m, solids above 0 to 100 %, thinner 0 to 100 %.
// Accuracy: exact arithmetic. Source: ASTM D2697 / ISO 3233 usage; MIL-HDBK-1110
// (UFC 3-190-06) par. 5.20.1.4 m).
func WetFilm(dry units.Length, solids, thinner units.Fraction) (units.Length, error) {
	if err := film("coverage.WetFilm", "dry", dry, solids, thinner); err != nil {
		return units.Length(math.NaN()), err
	}
	return dry * units.Length((1+thinner)/solids), nil
}

// DryFilm returns what a wet film dries to: wet solids/(1 + thinner).
//
// Range, accuracy, source: see [WetFilm].
func DryFilm(wet units.Length, solids, thinner units.Fraction) (units.Length, error) {
	if err := film("coverage.DryFilm", "wet", wet, solids, thinner); err != nil {
		return units.Length(math.NaN()), err
	}
	return wet * units.Length(solids/(1+thinner)), nil
}

func film(fn, arg string, l units.Length, solids, thinner units.Fraction) error {
	return errors.Join(units.FromZero(fn, arg, mils(l), thickest, "mil"),
		aboveZero(fn, "solids", float64(solids), percent(solids), 100, "%"),
		units.FromZero(fn, "thinner", percent(thinner), 100, "%"))
}

// aboveZero is InRange with an open lower end, for divisors: below 1e-100 a
// quotient may overflow.
func aboveZero(fn, arg string, si, v, hi float64, unit string) error {
	if si < 1e-100 {
		return &units.RangeError{Func: fn, Arg: arg, Got: v, Lo: 0, Hi: hi, Unit: unit, Above: true}
	}
	return units.InRange(fn, arg, v, 0, hi, unit)
}

// SpreadRate returns the theoretical spread: the area that a volume of liquid
// covers at dry film dry without any loss, solids/dry. 100 % solids at 1 mil
// is 1604 ft2/gal.
//
// Range: dry above 0 to 1 m, solids above 0 to 100 %.
// Accuracy: exact arithmetic. Source: see [WetFilm].
func SpreadRate(dry units.Length, solids units.Fraction) (units.Spread, error) {
	const fn = "coverage.SpreadRate"
	if err := errors.Join(aboveZero(fn, "dry", float64(dry), mils(dry), thickest, "mil"), aboveZero(fn, "solids", float64(solids), percent(solids), 100, "%")); err != nil {
		return units.Spread(math.NaN()), err
	}
	return units.Spread(float64(solids) / float64(dry)), nil
}

// A Loss is what a coat takes beyond its film. Profile and Uptake are volumes
// of liquid per area: what the texture of the surface holds below its peaks,
// and what the pores drink. Waste is the share of the order that never
// reaches the floor.
type Loss struct {
	Waste           units.Fraction // 0 to below 95 %
	Profile, Uptake units.Length   // 0 to 50 mm
}

func (l Loss) check(fn string) error {
	return errors.Join(units.FromZero(fn, "loss.Waste", percent(l.Waste), 95, "%"),
		units.FromZero(fn, "loss.Profile", mils(l.Profile), deepest, "mil"), units.FromZero(fn, "loss.Uptake", mils(l.Uptake), deepest, "mil"))
}

// Need returns the liquid to order for a dry film over area:
// area (dry/solids + Profile + Uptake)/(1 - Waste).
//
// Range: area 0 to 1e8 m2; dry, solids as [WetFilm]; loss as its fields say.
// Accuracy: exact arithmetic. Source: DOD coating practice (practical spread =
// theoretical less losses); the waste as a share of the order, common practice.
func Need(area units.Area, dry units.Length, solids units.Fraction, loss Loss) (units.Volume, error) {
	const fn = "coverage.Need"
	err := errors.Join(units.FromZero(fn, "area", float64(area), 1e8, "m2"), film(fn, "dry", dry, solids, 0), loss.check(fn))
	if err != nil {
		return units.Volume(math.NaN()), err
	}
	wet := dry / units.Length(solids)
	return (wet + loss.Profile + loss.Uptake).Over(area) / units.Volume(1-loss.Waste), nil
}

// Residual returns the relief that a levelled film of volume solids leaves
// over a scratch: scratch (1 - solids). The liquid levels flush and shrinks by
// its volatile share, deepest where it is deepest. A film thinner than the
// scratch leaves more.
//
// Range: scratch 0 to 1 m, solids above 0 to 100 %.
// Source: volume balance; common practice, no source.
func Residual(scratch units.Length, solids units.Fraction) (units.Length, error) {
	if err := film("coverage.Residual", "scratch", scratch, solids, 0); err != nil {
		return units.Length(math.NaN()), err
	}
	return scratch * units.Length(1-solids), nil
}
