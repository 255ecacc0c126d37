package coverage

import (
	"errors"
	"fmt"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// A Basis says whether a mixing ratio is by volume or by mass.
type Basis int

// The bases of a mixing ratio.
const (
	ByVolume Basis = iota
	ByMass
)

// A Part is one component of a mix, with its number in the mixing ratio.
type Part struct {
	Name    string
	Ratio   float64       // above 0
	Density units.Density // 100 to 20 000 kg/m3
}

// A Mix is a liquid of two or more parts, or of one that needs no mixing.
type Mix struct {
	Parts []Part
	By    Basis
	Air   units.Fraction // share of the mix's volume that is air stirred in, 0 to 50 %
}

// A Share is the amount of one part.
type Share struct {
	Name   string
	Volume units.Volume
	Mass   units.Mass
}

func (p Part) check(fn, of string) error {
	return errors.Join(aboveZero(fn, "Ratio"+of, p.Ratio, p.Ratio, 1e6, "parts"),
		units.InRange(fn, "Density"+of, float64(p.Density), 100, 20000, "kg/m3"))
}

func (m Mix) check(fn string) error {
	if len(m.Parts) == 0 {
		return fmt.Errorf("%s: Parts: none: want at least one: %w", fn, units.ErrRange)
	}
	if m.By != ByVolume && m.By != ByMass {
		return fmt.Errorf("%s: By = %d: want ByVolume or ByMass: %w", fn, m.By, units.ErrRange)
	}
	var errs []error
	for _, p := range m.Parts {
		if p.check(fn, "") != nil { // the name only for the error: no allocation when all is good
			errs = append(errs, p.check(fn, " of "+p.Name))
		}
	}
	return errors.Join(errors.Join(errs...), units.FromZero(fn, "Air", percent(m.Air), 50, "%"))
}

// volume is the part's volume in a mix made to the numbers of the ratio.
func (m Mix) volume(p Part) float64 {
	if m.By == ByMass {
		return p.Ratio / float64(p.Density)
	}
	return p.Ratio
}

// Density returns the density of the mix, its parts' volumes added (ideal
// mixing) and Air on top. Without air the real one is a few tenths of a per
// cent higher.
//
// Source: mass balance.
func (m Mix) Density() (units.Density, error) {
	if err := m.check("coverage.Mix.Density"); err != nil {
		return units.Density(math.NaN()), err
	}
	v, mass := m.sums()
	return units.Density(mass / v * float64(1-m.Air)), nil
}

// Split returns how much of each part makes total, by volume and by mass; the
// air in it is no part.
//
// Range: total 0 to 1e9 m3.
func (m Mix) Split(total units.Volume) ([]Share, error) {
	const fn = "coverage.Mix.Split"
	if err := errors.Join(m.check(fn), units.FromZero(fn, "total", float64(total), 1e9, "m3")); err != nil {
		return nil, err
	}
	v, _ := m.sums()
	shares := make([]Share, len(m.Parts))
	for i, p := range m.Parts {
		part := total * units.Volume(m.volume(p)/v*float64(1-m.Air))
		shares[i] = Share{Name: p.Name, Volume: part, Mass: part.Mass(p.Density)}
	}
	return shares, nil
}
