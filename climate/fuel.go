package climate

import (
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// A Fuel is what a heater burns, per mass of fuel. The zero Fuel stands for
// electricity.
type Fuel struct {
	HHV   units.SpecificEnergy // higher heating value: the water condensed; 5 MJ/kg to 150 MJ/kg
	LHV   units.SpecificEnergy // lower: the water stays vapour; at most HHV
	Water units.Fraction       // kg of water per kg burned, 0 to 9
	CO2   units.Fraction       // kg of carbon dioxide per kg burned, 0 to 4
}

// electric reports whether there is nothing to burn.
func (f Fuel) electric() bool { return f == Fuel{} }

func (f Fuel) check(fn string) error {
	if f.electric() {
		return nil
	}
	return errors.Join(units.InRange(fn, "HHV", float64(f.HHV)/1e6, 5, 150, "MJ/kg"), units.InRange(fn, "LHV", float64(f.LHV)/1e6, 4, float64(f.HHV)/1e6, "MJ/kg"),
		units.FromZero(fn, "Water", float64(f.Water), 9, "kg/kg"), units.FromZero(fn, "CO2", float64(f.CO2), 4, "kg/kg"))
}

// A Formula is a fuel's molecule, or the mean one of a mixture, by its atoms.
type Formula struct {
	Carbon, Hydrogen, Oxygen float64           // atoms: 0 to 100, hydrogen to 210, with carbon or hydrogen
	Formation                units.MolarEnergy // at 25 °C, as it is burned (gas or liquid): -5000 kJ/mol to 5000 kJ/mol; 0 for elements
}

// Atomic masses (g/mol) and enthalpies of formation at 25 °C (J/mol).
//
// Source: IUPAC abridged masses; CODATA Key Values (1989).
const (
	massC, massH, massO     = 12.011, 1.008, 15.999
	formCO2, formH2O, water = -393.51e3, -285.83e3, 44.004e3 // water: vaporisation at 25 °C
)

// Burned returns what complete combustion of f makes and the heat it gives.
//
// Model: CcHhOo + (c + h/4 - o/2) O2 = c CO2 + h/2 H2O, from 25 °C to 25 °C.
// Accuracy: propane 0.01 % (the enthalpies are exact to that); mixtures as well
// as their mean formula and Formation are known.
func (f Formula) Burned() (Fuel, error) {
	const fn = "climate.Formula.Burned"
	c, h, o := f.Carbon, f.Hydrogen, f.Oxygen
	if err := errors.Join(units.FromZero(fn, "Carbon", c, 100, "atoms"), units.FromZero(fn, "Hydrogen", h, 210, "atoms"), units.FromZero(fn, "Oxygen", o, 100, "atoms"),
		units.InRange(fn, "Formation", float64(f.Formation)/1e3, -5000, 5000, "kJ/mol")); err != nil {
		return nanFuel(), err
	}
	m := (c*massC + h*massH + o*massO) / 1e3
	high := float64(f.Formation) - c*formCO2 - h/2*formH2O
	low := high - h/2*water
	if !(c+h > 0) || c+h/4-o/2 <= 0 || low <= 0 {
		return nanFuel(), fmt.Errorf("%w: %s: C%g H%g O%g of %v does not burn", units.ErrRange, fn, c, h, o, f.Formation)
	}
	return Fuel{HHV: units.SpecificEnergy(high / m), LHV: units.SpecificEnergy(low / m),
		Water: units.Fraction(h / 2 * (2*massH + massO) / 1e3 / m), CO2: units.Fraction(c * (massC + 2*massO) / 1e3 / m)}, nil
}

// nanFuel stands beside an error, since the zero Fuel is electricity.
func nanFuel() Fuel {
	nan := math.NaN()
	return Fuel{units.SpecificEnergy(nan), units.SpecificEnergy(nan), units.Fraction(nan), units.Fraction(nan)}
}

// A Heater is one heater of a room, or several alike.
//
// Range: Max 1 W to 100 MW; Efficiency 5 % to 100 % (over 100 %: a heat pump,
// to 800 %, electric only); Tank and Refills to 1 000 000 kg.
type Heater struct {
	Fuel Fuel        // zero: electric
	Max  units.Power // the most it takes in, on the higher heating value

	// Efficiency is the share of what it takes in that warms the room's air.
	// Zero means all of it for an electric one, and the lower over the higher
	// heating value for an unvented one, which cannot be more; a vented one
	// must state it.
	Efficiency units.Fraction
	Unvented   bool // its water and carbon dioxide go into the room

	Tank    units.Mass // fuel at 0; zero with no Refills: from the main, without end
	Refills []Refill   // in the order of time
}

// A Refill adds fuel to a tank. What is refilled at or before the start is in
// the tank then.
type Refill struct {
	At  time.Duration
	Add units.Mass
}

// share returns the share of the input that warms the air.
func (h *Heater) share() float64 {
	if h.Efficiency != 0 {
		return float64(h.Efficiency)
	}
	if h.Unvented && !h.Fuel.electric() {
		return float64(h.Fuel.LHV / h.Fuel.HHV)
	}
	return 1
}

// endless reports whether the heater's fuel cannot run out.
func (h *Heater) endless() bool {
	return h.Fuel.electric() || h.Tank == 0 && len(h.Refills) == 0
}

func (h *Heater) check(fn string) error {
	err := errors.Join(h.Fuel.check(fn), units.InRange(fn, "Max", float64(h.Max), 1, 1e8, "W"), units.FromZero(fn, "Tank", float64(h.Tank), 1e6, "kg"))
	top := 1.0
	switch {
	case h.Fuel.electric():
		top = 8
		if h.Unvented {
			err = errors.Join(err, fmt.Errorf("%w: %s: an electric heater is Unvented: want false", units.ErrRange, fn))
		}
	case h.Unvented:
		top = float64(h.Fuel.LHV / h.Fuel.HHV)
	case h.Efficiency == 0:
		err = errors.Join(err, fmt.Errorf("%w: %s: Efficiency of a vented heater = 0: want 5 %% to 100 %%", units.ErrRange, fn))
	}
	if h.Efficiency != 0 {
		err = errors.Join(err, units.InRange(fn, "Efficiency", 100*float64(h.Efficiency), 5, 100*top, "%"))
	}
	if h.Fuel.electric() && (h.Tank != 0 || len(h.Refills) > 0) {
		err = errors.Join(err, fmt.Errorf("%w: %s: an electric heater has a Tank: want none", units.ErrRange, fn))
	}
	for i, r := range h.Refills {
		err = errors.Join(err, units.FromZero(fn, "Refills.Add", float64(r.Add), 1e6, "kg"))
		if math.Abs(float64(r.At)) > float64(farthest) || i > 0 && r.At < h.Refills[i-1].At {
			err = errors.Join(err, fmt.Errorf("%w: %s: Refills[%d].At = %v: want rising times within 73 years of 0", units.ErrRange, fn, i, r.At))
		}
	}
	return err
}
