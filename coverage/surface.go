package coverage

import (
	"errors"
	"fmt"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// deepest is the most volume per area that a surface may take: 50 mm.
const deepest = 50e3 / 25.4 // mil

// ProfileFill returns the volume per area that a texture of the given
// peak-to-valley height holds below its peaks: height share. A saw-tooth holds
// half its envelope; the share of a real one is between its measured volume
// and height. Take the height from a replica putty (ASTM D7682) or a depth
// micrometer (ASTM D8271): ICRI publishes chips of concrete surface profile,
// not heights, so that none are given here.
//
// Range: height 0 to 50 mm, share 0 to 100 %.
// Accuracy: exact arithmetic. Source: geometry.
func ProfileFill(height units.Length, share units.Fraction) (units.Length, error) {
	const fn = "coverage.ProfileFill"
	if err := errors.Join(units.FromZero(fn, "height", mils(height), deepest, "mil"), units.FromZero(fn, "share", percent(share), 100, "%")); err != nil {
		return units.Length(math.NaN()), err
	}
	return height * units.Length(share), nil
}

// SandPatch returns the mean texture depth of a surface on which a volume of
// fine sand, spread level with the peaks, makes a round patch of the given
// mean diameter: 4 V/(pi D^2). It is the profile's volume per area, and on a
// broadcast the texture that the next coat fills.
//
// Range: sand above 0 to 0.1 m3, diameter above 0 to 5 m, of a depth of at most 50 mm.
// Accuracy: exact arithmetic; the test itself repeats within a few per cent.
// Source: ASTM E965 volumetric technique, from memory.
func SandPatch(sand units.Volume, diameter units.Length) (units.Length, error) {
	const fn = "coverage.SandPatch"
	err := errors.Join(aboveZero(fn, "sand", float64(sand), float64(sand/units.Litre), 100, "L"),
		aboveZero(fn, "diameter", float64(diameter), float64(diameter), 5, "m"))
	if err != nil {
		return units.Length(math.NaN()), err
	}
	return taken(fn, sand.PerArea(units.Area(math.Pi/4)*diameter.Times(diameter)))
}

// PoreUptake returns the volume per area that the pores of a slab drink:
// porosity depth, with porosity the open share of the concrete's volume and
// depth how far the resin goes in. Both are measured on a core or assumed.
//
// Range: porosity 0 to 50 %, depth 0 to 50 mm. Source: volume balance.
func PoreUptake(porosity units.Fraction, depth units.Length) (units.Length, error) {
	const fn = "coverage.PoreUptake"
	if err := errors.Join(units.FromZero(fn, "porosity", percent(porosity), 50, "%"), units.FromZero(fn, "depth", mils(depth), deepest, "mil")); err != nil {
		return units.Length(math.NaN()), err
	}
	return depth * units.Length(porosity), nil
}

// MeasuredUptake returns the volume per area that a test spot drank, times the
// share of it that the resin will: 100 % for a test with the resin itself,
// less for one with water, which goes into finer pores.
//
// Range: drunk 0 to 1 m3, area above 0 to 1e4 m2, share 0 to 100 %, of a result of at most 50 mm.
// Source: volume balance; no public figure for the share of a water test was found.
func MeasuredUptake(drunk units.Volume, area units.Area, share units.Fraction) (units.Length, error) {
	const fn = "coverage.MeasuredUptake"
	err := errors.Join(units.FromZero(fn, "drunk", float64(drunk/units.Litre), 1000, "L"),
		aboveZero(fn, "area", float64(area), float64(area), 1e4, "m2"), units.FromZero(fn, "share", percent(share), 100, "%"))
	if err != nil {
		return units.Length(math.NaN()), err
	}
	return taken(fn, drunk.PerArea(area)*units.Length(share))
}

// taken refuses a volume per area that no surface takes.
func taken(fn string, l units.Length) (units.Length, error) {
	if err := units.FromZero(fn, "volume per area", mils(l), deepest, "mil"); err != nil {
		return units.Length(math.NaN()), err
	}
	return l, nil
}

// A ProfileBand says which classes of concrete surface profile suit films
// between From and To. Numbers are those of an owner's chips, of one edition.
type ProfileBand struct {
	From, To      units.Length // dry film
	Lowest, Rough int          // classes, the finest and the roughest that suit
}

// ProfileBands is one edition's table, thinnest film first.
type ProfileBands []ProfileBand

// For returns the classes that suit a film: of every band that holds it, the
// finest and the roughest. Bands may share an end and may leave gaps; a film
// in a gap takes what the bands on both sides allow.
//
// Range: film from the first band's From to the last one's To; bands in order.
// Source: the table's owner; ICRI 310.2R-2013 is one, and its bands differ from
// older ones: carry the edition.
func (b ProfileBands) For(film units.Length) (lowest, rough int, err error) {
	const fn = "coverage.ProfileBands.For"
	if len(b) == 0 {
		return 0, 0, fmt.Errorf("%s: no bands: want at least one: %w", fn, units.ErrRange)
	}
	for i, one := range b {
		if !(one.From >= 0 && one.From <= one.To && one.Lowest >= 1 && one.Lowest <= one.Rough) || i > 0 && !(one.From >= b[i-1].To && one.Lowest >= b[i-1].Lowest && one.Rough >= b[i-1].Rough) {
			return 0, 0, errors.Join(&units.RangeError{Func: fn, Arg: "From of a band", Got: mils(one.From), Lo: 0, Hi: mils(one.To), Unit: "mil"},
				errors.New(fn+": want bands from thin to thick and classes from fine to rough"))
		}
	}
	if err := units.InRange(fn, "film", mils(film), mils(b[0].From), mils(b[len(b)-1].To), "mil"); err != nil {
		return 0, 0, err
	}
	slack := 1e-9 * b[len(b)-1].To
	for i, one := range b {
		next := one.To
		if i+1 < len(b) {
			next = max(next, b[i+1].From-2*slack) // a gap belongs to both sides
		}
		before := one.From
		if i > 0 {
			before = min(before, b[i-1].To+2*slack)
		}
		if film < before-slack || film > next+slack {
			continue
		}
		if lowest == 0 {
			lowest = one.Lowest
		}
		rough = one.Rough
	}
	return lowest, rough, nil
}
