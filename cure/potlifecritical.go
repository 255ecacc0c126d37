package cure

import (
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/root"
)

// A Form is the form of a mass that conducts its heat to its surface.
type Form int

// Forms, and what [Mix.CriticalSize] measures of each.
const (
	Slab     Form = iota + 1 // half its depth, both faces cooled; all of it on an insulating floor
	Cylinder                 // radius of a long one
	Sphere                   // radius
)

// Critical values of the Frank-Kamenetskii parameter. Of the slab the largest of
// 2 acosh²(exp(t/2)) exp(-t) over t, of the cylinder exact, of the sphere by the
// Lane-Emden equation with exp(-w). Source: Frank-Kamenetskii, Diffusion and Heat
// Transfer in Chemical Kinetics, from memory; slab and sphere computed.
const (
	criticalSlab     = 0.87845767978129
	criticalCylinder = 2.0
	criticalSphere   = 3.32199212
)

// SelfHeating returns R T²/Ea: by so much warmer a reaction goes e times as fast.
// A mass that stays cooler than that above its surroundings does not run away.
//
// Range: temp -60 °C to 600 °C, ea 1 to 400 kJ/mol. Accuracy: 1e-15.
// Source: Semenov, from memory.
func SelfHeating(temp units.Temperature, ea units.MolarEnergy) (units.TempDelta, error) {
	const fn = "cure.SelfHeating"
	if err := errors.Join(hotRange(fn, "temp", temp), units.InRange(fn, "ea", float64(ea)/1e3, 1, 400, "kJ/mol")); err != nil {
		return units.TempDelta(math.NaN()), err
	}
	t := temp.Kelvin()
	return units.TempDelta(molarGas * t * t / float64(ea)), nil
}

// heating is the highest rate da/dt at t kelvin and R T²/Ea of it there.
func (m Mix) heating(t float64) (rate, scale float64) {
	c := m.Kinetics.prepare()
	a, rate := c.fastest(t)
	const d = 0.01 // K; the error of the difference is of the order d2/T2
	slope := math.Log(c.rate(a, t+d)/c.rate(a, t-d)) / (2 * d)
	return rate, 1 / slope
}

// CriticalSize returns the size above which a mass of mix at temp, its surface held
// there, runs away: sqrt(delta k R T²/(Ea q)), with q the heat made at the fastest
// rate at temp. It takes no account of what has reacted by then, so that a real mass
// may be larger: a size on the safe side.
//
// Range: temp -60 °C to 100 °C. Accuracy: 1e-6 of the formula.
//
// Source: Frank-Kamenetskii, Diffusion and Heat Transfer in Chemical Kinetics,
// from memory.
func (m Mix) CriticalSize(f Form, temp units.Temperature) (units.Length, error) {
	const fn = "cure.Mix.CriticalSize"
	err := errors.Join(m.check(fn), ambientRange(fn, "temp", temp))
	if f < Slab || f > Sphere {
		err = errors.Join(err, fmt.Errorf("%w: %s: form = %d: want Slab, Cylinder or Sphere", units.ErrRange, fn, f))
	}
	if err != nil {
		return units.Length(math.NaN()), err
	}
	delta := [...]float64{Slab: criticalSlab, Cylinder: criticalCylinder, Sphere: criticalSphere}[f]
	rate, scale := m.heating(temp.Kelvin())
	size := math.Sqrt(delta * float64(m.Conductivity) * scale / (float64(m.Density) * float64(m.Heat) * rate))
	if math.IsNaN(size) || math.IsInf(size, 0) {
		return units.Length(math.NaN()), ErrNotReached
	}
	return units.Length(size), nil
}

// CriticalCooling returns the time constant of cooling above which a mass of mix
// runs away in surroundings at temp: Semenov's (H/cp) rate Cooling = R T²/(e Ea),
// at the fastest rate at temp. As [Mix.CriticalSize] it is on the safe side.
//
// The error is [ErrNotReached] if no Cooling up to a year is that slow.
//
// Range: temp -60 °C to 100 °C. Accuracy: 1e-6 of the formula.
// Source: Semenov, from memory.
func (m Mix) CriticalCooling(temp units.Temperature) (time.Duration, error) {
	const fn = "cure.Mix.CriticalCooling"
	if err := errors.Join(m.check(fn), ambientRange(fn, "temp", temp)); err != nil {
		return 0, err
	}
	s := m.criticalCooling(temp.Kelvin())
	if !(s < year.Seconds()) {
		return 0, ErrNotReached
	}
	return fromSeconds(s), nil
}

func (m Mix) criticalCooling(t float64) float64 {
	rate, scale := m.heating(t)
	return scale / (math.E * rate * float64(m.Heat) / float64(m.Specific))
}

// CriticalMass returns the mass above which the mix in v runs away at temp, by
// [Mix.CriticalCooling]. A larger one gels and boils in the pail; a smaller one
// is not safe to stand about either, only slower.
//
// The error is [ErrNotReached] if no mass from 1 g to 1000 t does: as in a pail
// so narrow that its side keeps it cool, or a [Pool], which has one depth.
//
// Range: temp -60 °C to 100 °C. Accuracy: 1e-6 of the formula.
func (m Mix) CriticalMass(v Vessel, temp units.Temperature) (units.Mass, error) {
	const fn = "cure.Mix.CriticalMass"
	if err := errors.Join(m.check(fn), vesselRange(fn, v), ambientRange(fn, "temp", temp)); err != nil {
		return units.Mass(math.NaN()), err
	}
	tau := m.criticalCooling(temp.Kelvin())
	f := func(x float64) float64 { return math.Log(m.cooling(v, math.Exp(x)) / tau) }
	lo, hi := math.Log(1e-3), math.Log(1e6)
	if !(f(lo) < 0) || !(f(hi) > 0) {
		return units.Mass(math.NaN()), ErrNotReached
	}
	x, err := root.Brent(f, lo, hi, 1e-10)
	return units.Mass(math.Exp(x)), err
}

// InductionTime returns how long a mass at temp that loses no heat takes to run
// away if its rate is that of its start at all conversions, cp R T²/(H Ea rate): of a
// mix that is fastest at its start, a first look.
//
// The error is [ErrNotReached] if that is more than a year.
//
// Range: temp -60 °C to 100 °C. Accuracy: 1e-6 of the formula.
// Source: Semenov; Frank-Kamenetskii, from memory.
func (m Mix) InductionTime(temp units.Temperature) (time.Duration, error) {
	const fn = "cure.Mix.InductionTime"
	if err := errors.Join(m.check(fn), ambientRange(fn, "temp", temp)); err != nil {
		return 0, err
	}
	c := m.Kinetics.prepare()
	t := temp.Kelvin()
	const d = 0.01
	rate := c.rate(0, t)
	s := float64(m.Specific) / float64(m.Heat) / rate * 2 * d / math.Log(c.rate(0, t+d)/c.rate(0, t-d))
	if !(s < year.Seconds()) {
		return 0, ErrNotReached
	}
	return fromSeconds(s), nil
}

// SlabCentre returns by how much the middle of a slab is warmer than its faces,
// in units of [SelfHeating], at delta of the critical value of the slab (1 is
// critical): the lower root of 2 acosh²(exp(t/2)) exp(-t) = 0.878 delta.
//
// Range: delta 0 to 100 %. Accuracy: 1e-9 up to 99 %.
// Source: Frank-Kamenetskii, the closed form of the slab, from memory.
func SlabCentre(delta units.Fraction) (units.Fraction, error) {
	const fn = "cure.SlabCentre"
	if err := units.FromZero(fn, "delta", 100*float64(delta), 100, "%"); err != nil {
		return units.Fraction(math.NaN()), err
	}
	const top = 1.18684216615 // t at which the left side is largest
	f := func(t float64) float64 {
		a := math.Acosh(math.Exp(t / 2))
		return 2*a*a*math.Exp(-t) - criticalSlab*float64(delta)
	}
	if delta >= 1 || f(top) <= 0 { // within rounding
		return top, nil
	}
	x, err := root.Brent(f, 0, top, 1e-14)
	return units.Fraction(x), err
}
