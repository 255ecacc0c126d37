package cure

import (
	"errors"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// A MixRatio holds the equivalents of the two parts of an epoxy: EEW is the mass
// of resin that holds one mole of epoxide, AHEW the mass of hardener that holds
// one mole of amine hydrogen, both as on a data sheet: 190 * units.Gram.
//
// Range: EEW 50 g to 10 kg, AHEW 10 g to 10 kg.
type MixRatio struct {
	EEW, AHEW units.Mass // per mole of groups
}

func (m MixRatio) check(fn string) error {
	return errors.Join(units.InRange(fn, "EEW", float64(m.EEW)*1e3, 50, 10e3, "g"), units.InRange(fn, "AHEW", float64(m.AHEW)*1e3, 10, 10e3, "g"))
}

func ratioRange(fn string, ratio units.Fraction) error {
	return units.InRange(fn, "ratio", float64(ratio), 0.01, 100, "")
}

// Hardener returns the mass of hardener for a mass of resin, with ratio amine
// hydrogens for an epoxide: 1 is the right mix. A hundred times it is phr.
//
// Range: ratio 0.01 to 100. Accuracy: 1e-15.
// Source: the balance of groups, AHEW/EEW.
func (m MixRatio) Hardener(ratio units.Fraction) (units.Fraction, error) {
	const fn = "cure.MixRatio.Hardener"
	if err := errors.Join(m.check(fn), ratioRange(fn, ratio)); err != nil {
		return units.Fraction(math.NaN()), err
	}
	return ratio * units.Fraction(m.AHEW/m.EEW), nil
}

// Ratio returns the amine hydrogens for an epoxide of a batch that was weighed
// as resin and hardener, each 1 mg to 1000 t. The inverse of [MixRatio.Hardener].
func (m MixRatio) Ratio(resin, hardener units.Mass) (units.Fraction, error) {
	const fn = "cure.MixRatio.Ratio"
	if err := errors.Join(m.check(fn), massRange(fn, "resin", resin), massRange(fn, "hardener", hardener)); err != nil {
		return units.Fraction(math.NaN()), err
	}
	return units.Fraction(float64(hardener) / float64(m.AHEW) / (float64(resin) / float64(m.EEW))), nil
}

func massRange(fn, arg string, m units.Mass) error {
	if m >= 1e-6 && m <= 1e6 {
		return nil
	}
	return &units.RangeError{Func: fn, Arg: arg, Got: float64(m), Lo: 1e-6, Hi: 1e6, Unit: "kg"}
}

// Heat returns the heat that a mass of mix gives off when the groups in the
// minority have all reacted; perEpoxide is the heat of one mole of epoxide with
// amine, near 100 kJ/mol (98 to 111). What the excess of epoxide does later by
// itself is left out.
//
// Range: perEpoxide 0 to 500 kJ/mol, ratio 0.01 to 100. Accuracy: 1e-15.
// Source: min(1, ratio) H/(EEW + ratio AHEW); the heat from memory of
// Rozenberg 1986 and Horie et al. 1970.
func (m MixRatio) Heat(perEpoxide units.MolarEnergy, ratio units.Fraction) (units.SpecificEnergy, error) {
	const fn = "cure.MixRatio.Heat"
	if err := errors.Join(m.check(fn), ratioRange(fn, ratio), units.FromZero(fn, "perEpoxide", float64(perEpoxide)/1e3, 500, "kJ/mol")); err != nil {
		return units.SpecificEnergy(math.NaN()), err
	}
	r := float64(ratio)
	return units.SpecificEnergy(min(1, r) * float64(perEpoxide) / (float64(m.EEW) + r*float64(m.AHEW))), nil
}

// OffRatio says what a wrong mix comes to.
type OffRatio struct {
	Epoxide, Amine units.Fraction // the most of each that can react
	Excess         units.Fraction // mass of the part in excess that stays unbound, of the mix
	Gels           bool           // whether it makes a network at all
	Gel            units.Fraction // conversion of the epoxide at the gel point; NaN if it does not gel
}

// OffRatio returns what a mix of ratio amine hydrogens for an epoxide comes to,
// of molecules as g. Excess takes every group in excess as a free molecule: an
// upper bound, for most hang on the network by another group.
//
// Range: ratio 0.01 to 100. Accuracy: 1e-14.
// Source: the balance of groups; [Gel.Point].
func (m MixRatio) OffRatio(g Gel, ratio units.Fraction) (OffRatio, error) {
	const fn = "cure.MixRatio.OffRatio"
	nan := units.Fraction(math.NaN())
	if err := errors.Join(m.check(fn), g.check(fn), ratioRange(fn, ratio)); err != nil {
		return OffRatio{Epoxide: nan, Amine: nan, Excess: nan, Gel: nan}, err
	}
	r := float64(ratio)
	o := OffRatio{Epoxide: units.Fraction(min(1, r)), Amine: units.Fraction(min(1, 1/r))}
	free := (1 - min(1, r)) * float64(m.EEW)
	if r > 1 {
		free = (r - 1) * float64(m.AHEW)
	}
	o.Excess = units.Fraction(free / (float64(m.EEW) + r*float64(m.AHEW)))
	gel, _, err := g.Point(ratio)
	o.Gels, o.Gel = err == nil, gel // a mix that does not gel is a result
	return o, nil
}

// Filled returns the heat and the specific heat of a mix of which the share
// filler by mass is sand or another powder that does not react, of specific heat
// inert, near 800 J/(kg K).
//
// Range: heat 0 to 1 MJ/kg, specific heats 100 to 10 000 J/(kg K), filler 0 to
// 99 %. Accuracy: 1e-15. Source: the balance of heat.
func Filled(heat units.SpecificEnergy, specific units.SpecificHeat, filler units.Fraction, inert units.SpecificHeat) (units.SpecificEnergy, units.SpecificHeat, error) {
	const fn = "cure.Filled"
	if err := errors.Join(heatRange(fn, heat), specificRange(fn, "specific", specific), units.FromZero(fn, "filler", 100*float64(filler), 99, "%"), specificRange(fn, "inert", inert)); err != nil {
		return units.SpecificEnergy(math.NaN()), units.SpecificHeat(math.NaN()), err
	}
	f := float64(filler)
	return units.SpecificEnergy((1 - f) * float64(heat)), units.SpecificHeat((1-f)*float64(specific) + f*float64(inert)), nil
}

// AdiabaticRise returns by how much a mix warms up if all of heat stays in it.
//
// Range: as [Filled]. Accuracy: 1e-15; the specific heat of a mix rises by some
// 0.2 % per K, so that the real rise from room temperature is up to a quarter
// less. Source: the balance of heat, H/cp.
func AdiabaticRise(heat units.SpecificEnergy, specific units.SpecificHeat) (units.TempDelta, error) {
	const fn = "cure.AdiabaticRise"
	if err := errors.Join(heatRange(fn, heat), specificRange(fn, "specific", specific)); err != nil {
		return units.TempDelta(math.NaN()), err
	}
	return units.TempDelta(float64(heat) / float64(specific)), nil
}

func heatRange(fn string, h units.SpecificEnergy) error {
	return units.FromZero(fn, "heat", float64(h)/1e3, 1e3, "kJ/kg")
}

func specificRange(fn, arg string, c units.SpecificHeat) error {
	return units.InRange(fn, arg, float64(c), 100, 10e3, "J/(kg K)")
}
