package aggregate

import (
	"errors"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// MortarByVolume returns the mortar of so many volumes of loose sand to one of
// mixed resin.
//
// Range: parts 0 to 20; densities and bulk as [Mortar].
func MortarByVolume(parts float64, sand, resin units.Density, bulk units.Fraction) (Mortar, error) {
	const fn = "aggregate.MortarByVolume"
	m := Mortar{SandDensity: sand, ResinDensity: resin, Bulk: bulk}
	_, _, err := m.volumes(fn)
	if err := errors.Join(units.FromZero(fn, "parts", parts, 20, "volumes of sand to one of resin"), err); err != nil {
		return Mortar{SandToResin: math.NaN(), SandDensity: sand, ResinDensity: resin, Bulk: bulk}, err
	}
	m.SandToResin = parts * float64(bulk) * float64(sand) / float64(resin)
	_, _, err = m.volumes(fn)
	if err != nil {
		m.SandToResin = math.NaN()
	}
	return m, err
}

// JustFilled returns the mortar whose resin just fills the voids of the loose
// sand: 1/(1 - bulk) volumes of sand to one of resin. Leaner mortars hold air.
func JustFilled(sand, resin units.Density, bulk units.Fraction) (Mortar, error) {
	m := Mortar{SandDensity: sand, ResinDensity: resin, Bulk: bulk}
	if _, _, err := m.volumes("aggregate.JustFilled"); err != nil {
		m.SandToResin = math.NaN()
		return m, err
	}
	return MortarByVolume(1/(1-float64(bulk)), sand, resin, bulk)
}

// Surplus returns the resin beyond what fills the voids, as a share of all the
// resin: what lubricates. It is negative where the mortar is starved, by what
// is missing. A slurry that levels itself wants about half or more, a
// trowelled mortar a few percent (common practice, no source).
//
// Source: volume balance.
func (m Mortar) Surplus() (units.Fraction, error) {
	sand, bulk, err := m.volumes("aggregate.Mortar.Surplus")
	if err != nil {
		return nanOf[units.Fraction](), err
	}
	return units.Fraction(1 - (bulk - sand)), nil
}

// For returns the mixed resin and the sand for a volume of mortar: of a patch,
// a joint (package coverage has their volumes), a bed.
//
// Range: volume above 0 to 1000 m3.
// Source: volume balance.
func (m Mortar) For(volume units.Volume) (resin units.Volume, sand units.Mass, err error) {
	const fn = "aggregate.Mortar.For"
	s, bulk, err := m.volumes(fn)
	if err := errors.Join(err, above(fn, "volume", float64(volume), 1000, "m3")); err != nil {
		return nanOf[units.Volume](), nanOf[units.Mass](), err
	}
	resin = volume / units.Volume(math.Max(1+s, bulk))
	return resin, resin.Mass(m.ResinDensity) * units.Mass(m.SandToResin), nil
}

// Run returns how far a volume of mixed resin goes, with its sand, in a joint
// of a width and depth. Mortar with no sand is the resin alone.
//
// Range: resin above 0 to 10 m3; width and depth 0.1 mm to 1 m.
func (m Mortar) Run(resin units.Volume, width, depth units.Length) (units.Length, error) {
	const fn = "aggregate.Mortar.Run"
	s, bulk, err := m.volumes(fn)
	if err := errors.Join(err, above(fn, "resin", float64(resin), 10, "m3"), units.InRange(fn, "width", mm(width), 0.1, 1000, "mm"), units.InRange(fn, "depth", mm(depth), 0.1, 1000, "mm")); err != nil {
		return nanOf[units.Length](), err
	}
	return units.Length(float64(resin) * math.Max(1+s, bulk) / (float64(width) * float64(depth))), nil
}
