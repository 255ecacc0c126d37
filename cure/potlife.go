package cure

import (
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/ode"
	"github.com/tackfree/tackfree/internal/root"
)

// A Mix is a liquid that warms itself up as it cures.
//
// Range: as [Exotherm]; Heat above 0; Density 500 to 5000 kg/m3, Conductivity 0.05 to 10
// W/(m K), Workable 0.1 % to 99 %.
type Mix struct {
	Kinetics     Kinetics
	Heat         units.SpecificEnergy
	Specific     units.SpecificHeat
	Density      units.Density
	Conductivity units.Conductivity
	Workable     units.Fraction // conversion at which it can no longer be worked
}

func (m Mix) check(fn string) error {
	return errors.Join(m.Kinetics.check(fn), units.InRange(fn, "Heat", float64(m.Heat)/1e3, 1, 1e3, "kJ/kg"), specificRange(fn, "Specific", m.Specific),
		units.InRange(fn, "Density", float64(m.Density), 500, 5000, "kg/m3"),
		units.InRange(fn, "Conductivity", float64(m.Conductivity), 0.05, 10, "W/(m K)"),
		units.InRange(fn, "Workable", 100*float64(m.Workable), 0.1, 99, "%"))
}

// Exotherm returns the exotherm of mass in v. A mass that cools within 10 s is an
// error: it has its surroundings' temperature.
func (m Mix) Exotherm(v Vessel, mass units.Mass) (Exotherm, error) {
	tau, err := m.Cooling(v, mass)
	if err != nil {
		return Exotherm{}, err
	}
	e := Exotherm{m.Kinetics, m.Heat, m.Specific, tau}
	if err := e.check("cure.Mix.Exotherm"); err != nil {
		return Exotherm{}, err
	}
	return e, nil
}

// A PotLife tells the pot life of any mass at any temperature from what a data
// sheet says of one mass. [Mix.PotLife] makes it.
//
// The mix's kinetics give the form, and the sheet the scale: both rates are
// multiplied by one factor so that the sheet's mass in the sheet's vessel comes
// to Workable at the sheet's time. With several rows there is a factor for every
// temperature, so that between its rows the sheet's own mass has the sheet's own
// time ([Table.Time]); outside them the nearest row's factor holds, and the
// temperature dependence is that of the kinetics.
type PotLife struct {
	mix   Mix
	sheet Table // ordered
	v     Vessel
	mass  units.Mass
}

// PotLife returns the pot life of m by a data sheet whose times, of one row or
// more, are those of mass in v.
//
// Range: as [Mix]; mass 1 g to 1000 kg; times 1 min to 7 days at 0 °C to 60 °C.
// Accuracy: the sheet's own rows come back within 1e-6; of another mass, as good
// as the figures of the mix. The spread-out life of a coat ends by its film, not
// by its mass: see [PotLife.Spread].
//
// The error is [ErrTooStiff] where the sheet's time is that of a mass on the very
// brink of running away, which less than a billionth of the rate decides.
//
// Source: [Exotherm]; ASTM D2471-99 (its summary seen), by which gel time
// depends on the volume.
func (m Mix) PotLife(v Vessel, mass units.Mass, sheet Table) (PotLife, error) {
	const fn = "cure.Mix.PotLife"
	err := errors.Join(m.check(fn), vesselRange(fn, v), units.InRange(fn, "mass", float64(mass), 1e-3, 1e3, "kg"), sheet.Validate())
	for i, p := range sheet {
		if e := errors.Join(units.InRange(fn, "Temp", p.Temp.Celsius(), 0, 60, "°C"), units.InRange(fn, "Time", p.Time.Hours(), 1./60, 168, "h")); e != nil {
			err = errors.Join(err, fmt.Errorf("row %d: %w", i, e))
		}
	}
	if err != nil {
		return PotLife{}, err
	}
	p := PotLife{m, sheet.copied(), v, mass}
	for _, row := range p.sheet { // each must be possible
		if _, err := p.scaled(row.Temp); err != nil {
			return PotLife{}, err
		}
	}
	return p, nil
}

var errNoSheet = fmt.Errorf("%w: cure.PotLife: the zero value: want one made by Mix.PotLife", units.ErrRange)

// scaled is the mix with the sheet's scale at temp.
func (p PotLife) scaled(temp units.Temperature) (Mix, error) {
	first, last := p.sheet[0], p.sheet[len(p.sheet)-1]
	at, want := temp, time.Duration(0)
	switch {
	case !first.Temp.Less(temp):
		at, want = first.Temp, first.Time
	case !temp.Less(last.Temp):
		at, want = last.Temp, last.Time
	default:
		var err error
		if want, err = p.sheet.Time(temp); err != nil {
			return Mix{}, err
		}
	}
	with := func(x float64) Mix {
		m := p.mix
		m.Kinetics.A1 *= math.Exp(x)
		m.Kinetics.A2 *= math.Exp(x)
		return m
	}
	var failed error
	left := math.Inf(1) // of the best rate so far, which Brent returns
	f := func(x float64) float64 {
		m := with(x)
		life, err := m.life(p.v, p.mass, at, 4*want)
		switch {
		case errors.Is(err, ErrNotReached):
			return math.Log(8) // much too slow
		case err != nil:
			failed = err
			return math.NaN()
		}
		off := math.Log(life.Seconds() / want.Seconds())
		left = min(left, math.Abs(off))
		return off
	}
	// The mix that stays as warm as its air is later than one that warms itself, and
	// sooner than one that diffusion slows down.
	lo := math.Log(p.mix.isothermal(at) / want.Seconds())
	hi := lo
	if f(lo) > 0 {
		for range 60 {
			if lo, hi = hi, hi+1; f(hi) < 0 || failed != nil {
				break
			}
		}
	} else {
		for range 60 {
			if lo, hi = lo-1, lo; f(lo) > 0 || failed != nil {
				break
			}
		}
	}
	if failed != nil {
		return Mix{}, failed
	}
	x, err := root.Brent(f, lo, hi, 1e-10)
	if err == nil && left > 5e-7 { // where a little more rate makes it run away
		x, err = root.Brent(f, lo, hi, 1e-16)
	}
	if err == nil && left > 1e-6 {
		err = ErrTooStiff
	}
	if err != nil {
		return Mix{}, fmt.Errorf("cure.Mix.PotLife: no rate of this mix gives %v at %v: %w", want, at, err)
	}
	return with(x), nil
}

func (p PotLife) rangeOf(fn string, temp units.Temperature) error {
	if p.v == nil {
		return errNoSheet
	}
	return units.InRange(fn, "temp", temp.Celsius(), -20, 60, "°C")
}

// Life returns the pot life of mass in v, mixed at temp in air of temp.
//
// The error is [ErrNotReached] if it is more than 14 days.
//
// Range: mass 1 mg to 1000 t, temp -20 °C to 60 °C; a mass that cools within 10 s is
// taken as at temp throughout. Accuracy: see [Mix.PotLife].
func (p PotLife) Life(v Vessel, mass units.Mass, temp units.Temperature) (time.Duration, error) {
	const fn = "cure.PotLife.Life"
	if err := errors.Join(p.rangeOf(fn, temp), vesselRange(fn, v), massRange(fn, "mass", mass)); err != nil {
		return 0, err
	}
	m, err := p.scaled(temp)
	if err != nil {
		return 0, err
	}
	return m.life(v, mass, temp, longest)
}

// isothermal is about the time in s in which the chemistry alone, at temp
// throughout, comes to Workable: the integral of da/rate, over ln a.
func (m Mix) isothermal(temp units.Temperature) float64 {
	k := m.Kinetics
	k.Diffusion = nil
	c := k.prepare()
	const n, step = 400, 0.2 // to a share e^-80 of the way
	sum := 0.0
	for i := range n {
		a := float64(m.Workable) * math.Exp(-step*(float64(i)+0.5))
		sum += step * a / c.rate(a, temp.Kelvin())
	}
	return sum
}

// life is the pot life up to limit.
func (m Mix) life(v Vessel, mass units.Mass, temp units.Temperature, limit time.Duration) (time.Duration, error) {
	tau := m.cooling(v, float64(mass))
	e := Exotherm{m.Kinetics, m.Heat, m.Specific, fromSeconds(min(tau, 2*year.Seconds()))}
	if tau < 10 { // as thin as a film: it has the temperature of its surroundings
		e.Heat, e.Cooling = 0, 10*time.Second
	}
	b := newBurn(e, temp, temp)
	want := b.c.extent(float64(m.Workable))
	x, err := b.until(min(limit, longest).Seconds(), func(y *ode.Vec) float64 { return y[0] - want })
	d, err := wrapTime("cure.PotLife", x, err)
	if err != nil {
		return 0, err
	}
	return max(1, d), nil
}

// Spread returns how long the mix can be worked once it is poured out as pool on
// a floor at temp: the life of a batch that leaves the pail at once.
//
// Range and errors: as [PotLife.Life].
func (p PotLife) Spread(pool Pool, temp units.Temperature) (time.Duration, error) {
	const fn = "cure.PotLife.Spread"
	if err := errors.Join(p.rangeOf(fn, temp), pool.check(fn)); err != nil {
		return 0, err
	}
	m, err := p.scaled(temp)
	if err != nil {
		return 0, err
	}
	return m.life(pool, 1, temp, longest)
}

// LargestMass returns the most that may be mixed at once in v at temp if it is to
// stay workable for life.
//
// It is most if that much does, and the error is [ErrNotReached] if not even 1 g does.
//
// Range: as [PotLife.Life]; most 1 g to 1000 kg. Accuracy: 1e-6 of the mass.
func (p PotLife) LargestMass(v Vessel, temp units.Temperature, life time.Duration, most units.Mass) (units.Mass, error) {
	const fn = "cure.PotLife.LargestMass"
	nan := units.Mass(math.NaN())
	if err := errors.Join(p.rangeOf(fn, temp), vesselRange(fn, v), aboveRange(fn, "life", life.Hours(), 0, longest.Hours(), "h"), units.InRange(fn, "most", float64(most), 1e-3, 1e3, "kg")); err != nil {
		return nan, err
	}
	m, err := p.scaled(temp)
	if err != nil {
		return nan, err
	}
	var failed error
	f := func(x float64) float64 {
		got, err := m.life(v, units.Mass(math.Exp(x)), temp, 4*life)
		switch {
		case errors.Is(err, ErrNotReached):
			return math.Log(8)
		case err != nil:
			failed = err
			return math.NaN()
		}
		return math.Log(got.Seconds() / life.Seconds())
	}
	lo, hi := math.Log(1e-3), math.Log(float64(most))
	switch {
	case f(hi) >= 0:
		return most, failed
	case f(lo) < 0:
		return nan, errors.Join(failed, ErrNotReached)
	}
	x, err := root.Brent(f, lo, hi, 1e-8)
	if err = errors.Join(failed, err); err != nil {
		return nan, err
	}
	return units.Mass(math.Exp(x)), nil
}
