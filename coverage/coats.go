package coverage

import (
	"errors"
	"fmt"

	"github.com/tackfree/tackfree/data/units"
)

// A Surface is what a coat goes on: volumes per area that it takes there.
type Surface struct {
	Profile units.Length // below the peaks of its texture, 0 to 50 mm
	Uptake  units.Length // in its pores, 0 to 50 mm
}

// A Coat is one of several, the first at the bottom.
type Coat struct {
	Name    string
	Dry     units.Length   // above the peaks
	Solids  units.Fraction // by volume, unthinned
	Thinner units.Fraction // as a share of the liquid
	Seals   units.Fraction // share of the pores open to it that the next coat finds closed, 0 to 100 %
	Crust   units.Length   // texture that a broadcast into it leaves for the next coat, 0 to 50 mm
	Waste   units.Fraction // 0 to 95 %
}

// A CoatNeed is what one of several coats takes and leaves. Volumes per area
// are of the liquid before thinning.
type CoatNeed struct {
	On              Surface      // what the coat found
	Wet             units.Length // wet film above the peaks, as thinned
	Profile, Uptake units.Length // of the liquid, in the texture and the pores
	PerArea         units.Length // film, texture and pores
	Order           units.Volume // with waste
	Thinner         units.Volume // for all of it
	Built           units.Length // dry film above the slab's peaks up to here
	Leaves          Surface      // what the next coat finds
	Spread          units.Spread // area per volume ordered
}

// Layers returns what each of several coats takes over area. Every coat fills
// the texture it finds and levels; its volatile share leaves (1 - solids) of
// that texture to the next coat, beside the crust of its own broadcast. It
// drinks what pores it finds; the next coat finds the share that it did not
// seal. So a primer that seals 90 % saves the body coat nine tenths of what it
// would have drunk.
//
// Range: area above 0 to 1e8 m2; at least one coat; Dry, Solids, Thinner as
// [WetFilm], other fields as their comments say.
// Accuracy: exact arithmetic. The share that a coat seals is the user's, from
// a trial with water on the primed floor; no public figures were found.
// Source: volume balance.
func Layers(area units.Area, on Surface, coats []Coat) ([]CoatNeed, error) {
	const fn = "coverage.Layers"
	err := errors.Join(aboveZero(fn, "area", float64(area), float64(area), 1e8, "m2"),
		units.FromZero(fn, "on.Profile", mils(on.Profile), deepest, "mil"), units.FromZero(fn, "on.Uptake", mils(on.Uptake), deepest, "mil"))
	if err = errors.Join(err, checkCoats(fn, coats)); err != nil {
		return nil, err
	}
	needs := make([]CoatNeed, len(coats))
	var built units.Length
	for i, c := range coats {
		solids, thin := units.Length(c.Solids), units.Length(1+c.Thinner)
		// The texture and the pores are filled with thinned liquid.
		n := CoatNeed{On: on, Wet: c.Dry * thin / solids, Profile: on.Profile / thin, Uptake: on.Uptake / thin}
		n.PerArea = c.Dry/solids + n.Profile + n.Uptake
		n.Order = n.PerArea.Over(area) / units.Volume(1-c.Waste)
		n.Thinner = n.Order * units.Volume(c.Thinner)
		if n.Order > 1e-100 { // nothing is spread by a coat of nothing
			n.Spread = units.Spread(float64(area) / float64(n.Order))
		}
		built += c.Dry
		on = Surface{Profile: on.Profile*(1-solids/thin) + c.Crust, Uptake: on.Uptake * units.Length(1-c.Seals)}
		n.Built, n.Leaves = built, on
		needs[i] = n
	}
	return needs, nil
}

// checkCoats checks each of at least one.
func checkCoats(fn string, coats []Coat) (err error) {
	if len(coats) == 0 {
		err = fmt.Errorf("%s: no coats: want at least one: %w", fn, units.ErrRange)
	}
	for i, c := range coats {
		if bad := c.check(fn); bad != nil {
			err = errors.Join(err, fmt.Errorf("coat %d %q: %w", i+1, c.Name, bad))
		}
	}
	return err
}

func (c Coat) check(fn string) error {
	return errors.Join(film(fn, "Dry", c.Dry, c.Solids, c.Thinner), units.FromZero(fn, "Seals", percent(c.Seals), 100, "%"),
		units.FromZero(fn, "Crust", mils(c.Crust), deepest, "mil"), units.FromZero(fn, "Waste", percent(c.Waste), 95, "%"))
}
