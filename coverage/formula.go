package coverage

import (
	"errors"
	"fmt"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// A Fate is what becomes of an ingredient while the coat dries.
type Fate int

// The fates of an ingredient.
const (
	Stays   Fate = iota // resin, pigment, filler: part of the dry film
	Solvent             // evaporates, and counts as volatile organic compound
	Water               // evaporates
	Exempt              // evaporates; a compound that the rule in force exempts
)

// An Ingredient is one entry of a formula. A resin that comes in solvent is two.
type Ingredient struct {
	Name    string
	Mass    units.Mass    // 0 to 1e9 kg
	Density units.Density // 100 to 20 000 kg/m3
	Fate    Fate
}

// A Formula is what a coating is made of, as mixed and thinned.
type Formula []Ingredient

// A Composition is what a formula comes to. Volumes are added (ideal mixing, no air).
type Composition struct {
	Volume       units.Volume
	Mass         units.Mass
	Density      units.Density
	VolumeSolids units.Fraction // share of the volume that stays
	WeightSolids units.Fraction // share of the mass that stays
	Volatiles    Volatiles      // see [Volatiles.Actual], [Volatiles.LessWater]
}

// Composition returns volume, density, solids and volatiles of a formula.
//
// Range: at least one ingredient with mass; fields as their comments say.
// Accuracy: exact arithmetic. Volume solids found by drying (ASTM D2697) are
// higher by what the solvent swells and lower by what a reaction gives off.
// Source: mass balance; constants of the kind of ASTM D5201.
func (f Formula) Composition() (Composition, error) {
	const fn = "coverage.Formula.Composition"
	if err := f.check(fn); err != nil {
		nan := math.NaN()
		return Composition{units.Volume(nan), units.Mass(nan), units.Density(nan), units.Fraction(nan), units.Fraction(nan), noVolatiles()}, err
	}
	var c Composition
	var stays units.Volume
	var weight units.Mass
	for _, i := range f {
		v := i.Mass.Volume(i.Density)
		c.Volume += v
		c.Mass += i.Mass
		switch i.Fate {
		case Stays:
			stays += v
			weight += i.Mass
		case Solvent:
			c.Volatiles.Organic += i.Mass
		case Water:
			c.Volatiles.Water += v
		case Exempt:
			c.Volatiles.Exempt += v
		}
	}
	c.Volatiles.Volume = c.Volume
	c.Density = c.Mass.PerVolume(c.Volume)
	c.VolumeSolids, c.WeightSolids = units.Fraction(stays/c.Volume), units.Fraction(weight/c.Mass)
	return c, nil
}

func (f Formula) check(fn string) error {
	var errs []error
	var total units.Mass
	for _, i := range f {
		total += i.Mass
		if i.check(fn, "") != nil { // the name only for the error: no allocation when all is good
			errs = append(errs, i.check(fn, " of "+i.Name))
		}
	}
	if len(errs) == 0 && total < 1e-100 {
		return fmt.Errorf("%s: nothing in the formula: want mass: %w", fn, units.ErrRange)
	}
	return errors.Join(errs...)
}

func (i Ingredient) check(fn, of string) error {
	err := errors.Join(units.FromZero(fn, "Mass"+of, float64(i.Mass), 1e9, "kg"), units.InRange(fn, "Density"+of, float64(i.Density), 100, 20000, "kg/m3"))
	if i.Fate < Stays || i.Fate > Exempt {
		err = errors.Join(err, &units.RangeError{Func: fn, Arg: "Fate" + of, Got: float64(i.Fate), Lo: float64(Stays), Hi: float64(Exempt), Unit: "(Stays to Exempt)"})
	}
	return err
}
