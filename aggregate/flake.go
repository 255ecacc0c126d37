package aggregate

import (
	"errors"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// A Flake is a flat chip of paint or film, broadcast for looks. Its size does
// not matter here, only its thickness.
type Flake struct {
	Thickness units.Length  // 10 um to 2 mm
	Density   units.Density // of the chip itself, 100 to 20 000 kg/m3
}

func (f Flake) check(fn string) error {
	return errors.Join(units.InRange(fn, "Thickness", mm(f.Thickness), 0.01, 2, "mm"), grainDensity(fn, "Density", f.Density))
}

// Layer returns the loading of one closed layer, chip beside chip: rho t.
func (f Flake) Layer() (units.Loading, error) {
	if err := f.check("aggregate.Flake.Layer"); err != nil {
		return nanOf[units.Loading](), err
	}
	return units.Loading(float64(f.Density) * float64(f.Thickness)), nil
}

// Covers returns the area that a mass of flakes has on its faces, m/(rho t):
// what it would cover chip beside chip.
//
// Range: mass above 0 to 1e6 kg.
func (f Flake) Covers(mass units.Mass) (units.Area, error) {
	const fn = "aggregate.Flake.Covers"
	if err := errors.Join(f.check(fn), above(fn, "mass", float64(mass), 1e6, "kg")); err != nil {
		return nanOf[units.Area](), err
	}
	return units.Area(float64(mass) / (float64(f.Density) * float64(f.Thickness))), nil
}

// Hidden returns the share of the floor that flakes hide when they fall at
// random and overlap: 1 - exp(-n) with n layers' worth thrown. Half hidden takes
// 0.69 layers, 95 % takes 3: flake to refusal is several layers deep.
//
// Range: loading 0 to 100 kg/m2.
// Accuracy: exact for flat chips at random; a hand that throws evenly does better.
// Source: random overlapping figures (Boolean model), Hall, Introduction to the
// Theory of Coverage Processes (1988), from memory; the tests throw chips.
func (f Flake) Hidden(loading units.Loading) (units.Fraction, error) {
	const fn = "aggregate.Flake.Hidden"
	if err := errors.Join(f.check(fn), units.FromZero(fn, "loading", float64(loading), 100, "kg/m2")); err != nil {
		return nanOf[units.Fraction](), err
	}
	return units.Fraction(-math.Expm1(-float64(loading) / (float64(f.Density) * float64(f.Thickness)))), nil
}

// Loading returns what hides a share of the floor: the inverse of [Flake.Hidden].
//
// Range: hidden 0 to 99.999 %.
func (f Flake) Loading(hidden units.Fraction) (units.Loading, error) {
	const fn = "aggregate.Flake.Loading"
	if err := errors.Join(f.check(fn), units.FromZero(fn, "hidden", pct(hidden), 99.999, "%")); err != nil {
		return nanOf[units.Loading](), err
	}
	return units.Loading(-math.Log1p(-float64(hidden)) * float64(f.Density) * float64(f.Thickness)), nil
}

// Scrape returns what stays of a loading when a share of it, standing on edge,
// is scraped off, and what that takes away.
//
// Range: loading 0 to 100 kg/m2, scraped 0 to 100 %.
func (f Flake) Scrape(loading units.Loading, scraped units.Fraction) (left, off units.Loading, err error) {
	const fn = "aggregate.Flake.Scrape"
	if err := errors.Join(f.check(fn), units.FromZero(fn, "loading", float64(loading), 100, "kg/m2"), units.FromZero(fn, "scraped", pct(scraped), 100, "%")); err != nil {
		return nanOf[units.Loading](), nanOf[units.Loading](), err
	}
	off = loading * units.Loading(min(1, scraped))
	return loading - off, off, nil
}
