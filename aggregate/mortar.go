package aggregate

import (
	"errors"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// A Mortar is resin with sand. Where the resin does not fill the voids of the
// loose sand, the mortar is starved: it keeps the sand's bulk, with air in it.
type Mortar struct {
	SandToResin  float64        // by mass, 0 to 50
	SandDensity  units.Density  // of the grain
	ResinDensity units.Density  // mixed
	Bulk         units.Fraction // solids of the loose sand, 20 % to 80 %
}

func (m Mortar) volumes(fn string) (sand, bulk float64, err error) {
	err = errors.Join(units.FromZero(fn, "SandToResin", m.SandToResin, 50, "by mass"), units.InRange(fn, "SandDensity", float64(m.SandDensity), 100, 20000, "kg/m3"),
		units.InRange(fn, "ResinDensity", float64(m.ResinDensity), 100, 20000, "kg/m3"), units.InRange(fn, "Bulk", float64(m.Bulk/units.Percent), 20, 80, "%"))
	sand = m.SandToResin * float64(m.ResinDensity) / float64(m.SandDensity)
	return sand, sand / float64(m.Bulk), err
}

// Yield returns the volume of mortar per volume of resin: 1 + m rho_r/rho_s,
// or, starved, the bulk of the sand.
//
// Source: volume balance; UFGS 03930 par. 1.4.1 asks epoxy concrete for
// at least 5:1 by weight: a least amount of sand, no lean limit.
func (m Mortar) Yield() (float64, error) {
	sand, bulk, err := m.volumes("aggregate.Mortar.Yield")
	if err != nil {
		return math.NaN(), err
	}
	return math.Max(1+sand, bulk), nil
}

// Air returns the share of air in the mortar: 0 unless it is starved.
func (m Mortar) Air() (units.Fraction, error) {
	sand, bulk, err := m.volumes("aggregate.Mortar.Air")
	if err != nil {
		return units.Fraction(math.NaN()), err
	}
	return units.Fraction(math.Max(0, 1-(1+sand)/math.Max(bulk, 1e-300))), nil
}

// Density returns the density of the mortar, with its air if it is starved.
func (m Mortar) Density() (units.Density, error) {
	sand, bulk, err := m.volumes("aggregate.Mortar.Density")
	if err != nil {
		return units.Density(math.NaN()), err
	}
	return m.ResinDensity * units.Density((1+m.SandToResin)/math.Max(1+sand, bulk)), nil
}
