package cure

import (
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// A Vessel is what a mixed mass stands in or lies as: [Pail] or [Pool].
type Vessel interface {
	check(fn string) error
	// cooling is the time constant in s of volume v in m3 of conductivity k and heat
	// capacity c in J/(m3 K).
	cooling(v, k, c float64) float64
}

// A Pail is an upright cylinder, filled as high as the volume asks.
//
// Range: Diameter 1 cm to 10 m, films 0 to 1000 W/(m2 K), not all 0.
type Pail struct {
	Diameter          units.Length
	Top, Side, Bottom units.FilmCoefficient // in air 5 to 10 W/(m2 K); 0 lets no heat out
}

// A Pool is the mix poured out on a floor, at one depth.
//
// Range: Depth 0.1 mm to 1 m, films 0 to 1000 W/(m2 K), not both 0.
type Pool struct {
	Depth       units.Length
	Top, Bottom units.FilmCoefficient
}

func filmRange(fn, arg string, h units.FilmCoefficient) error {
	return units.FromZero(fn, arg, float64(h), 1000, "W/(m2 K)")
}

func (p Pail) check(fn string) error {
	err := errors.Join(units.InRange(fn, "Pail.Diameter", float64(p.Diameter)*1e3, 10, 10e3, "mm"),
		filmRange(fn, "Pail.Top", p.Top), filmRange(fn, "Pail.Side", p.Side), filmRange(fn, "Pail.Bottom", p.Bottom))
	if err == nil && p.Top == 0 && p.Side == 0 && p.Bottom == 0 {
		err = &units.RangeError{Func: fn, Arg: "Pail.Side", Lo: 0, Hi: 1000, Unit: "W/(m2 K)", Above: true}
	}
	return err
}

func (p Pool) check(fn string) error {
	err := errors.Join(units.InRange(fn, "Pool.Depth", float64(p.Depth)*1e3, 0.1, 1e3, "mm"), filmRange(fn, "Pool.Top", p.Top), filmRange(fn, "Pool.Bottom", p.Bottom))
	if err == nil && p.Top == 0 && p.Bottom == 0 {
		err = &units.RangeError{Func: fn, Arg: "Pool.Top", Lo: 0, Hi: 1000, Unit: "W/(m2 K)", Above: true}
	}
	return err
}

// cooling adds the rates at which the cylinder loses heat around and along, which
// is exact for a body that is the product of two.
func (p Pail) cooling(v, k, c float64) float64 {
	r := float64(p.Diameter) / 2
	rate := 1 / slabCooling(v/(math.Pi*r*r), float64(p.Top), float64(p.Bottom), k, c)
	if h := float64(p.Side); h > 0 {
		rate += 1 / (c * r / 2 * (1/h + r/(4*k)))
	}
	return 1 / rate
}

func (p Pool) cooling(_, k, c float64) float64 {
	return slabCooling(float64(p.Depth), float64(p.Top), float64(p.Bottom), k, c)
}

// slabCooling is c d times the mean temperature of a slab of depth d for an even
// source of heat of 1 W/m3 over the source's q d: T = -x2/(2k) + B x + A, k B = h0 A
// at the top and k - fluxes balanced at the bottom.
func slabCooling(d, h0, h1, k, c float64) float64 {
	if h0 == 0 && h1 == 0 {
		return math.Inf(1)
	}
	a := (d + h1*d*d/(2*k)) / (h0 + h1 + h0*h1*d/k)
	return c * (a + h0*a/k*d/2 - d*d/(6*k))
}

// Cooling returns the time constant of mass in v, for [Exotherm].Cooling: its
// warmth over the heat that leaves it while it makes heat evenly, the resistance
// of the mix itself counted.
//
// Range: mass 1 mg to 1000 t.
// Accuracy: within 2 % of the slowest mode of cooling for a Biot number up to 1
// (half the depth, or the radius, times film over conductivity); up to a third
// quicker than it above, for heat that is made evenly.
//
// Source: steady conduction with an even source, Incropera, from memory.
func (m Mix) Cooling(v Vessel, mass units.Mass) (time.Duration, error) {
	const fn = "cure.Mix.Cooling"
	if err := errors.Join(m.check(fn), vesselRange(fn, v), massRange(fn, "mass", mass)); err != nil {
		return 0, err
	}
	s := m.cooling(v, float64(mass))
	if err := units.FromZero(fn, "Cooling", s, year.Seconds(), "s"); err != nil {
		return 0, err
	}
	return fromSeconds(s), nil
}

func (m Mix) cooling(v Vessel, mass float64) float64 {
	rho := float64(m.Density)
	return v.cooling(mass/rho, float64(m.Conductivity), rho*float64(m.Specific))
}

func vesselRange(fn string, v Vessel) error {
	switch v := v.(type) {
	case Pail:
		return v.check(fn)
	case Pool:
		return v.check(fn)
	}
	return fmt.Errorf("%w: %s: vessel: want a Pail or a Pool", units.ErrRange, fn)
}
