package aggregate

import (
	"errors"
	"math"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

const gravity = 9.80665 // m/s2, standard

// A Liquid is mixed resin that still flows, its viscosity as it is then: it
// rises as the resin cures, and falls with warmth.
type Liquid struct {
	Density   units.Density // 500 to 3000 kg/m3
	Viscosity float64       // Pa s, 0.0005 to 1000; 1 Pa s is 1000 cP
	Tension   float64       // of the surface, N/m, 0.001 to 0.1; resins about 0.035
	Angle     float64       // of contact with the grain, degrees, 0 to 89; not read by Sink
}

func (l Liquid) flows(fn string) error {
	return errors.Join(units.InRange(fn, "Density", float64(l.Density), 500, 3000, "kg/m3"), units.InRange(fn, "Viscosity", l.Viscosity, 0.0005, 1000, "Pa s"))
}

func (l Liquid) wets(fn string, pore units.Length) error {
	return errors.Join(l.flows(fn), units.InRange(fn, "Tension", l.Tension, 0.001, 0.1, "N/m"), units.FromZero(fn, "Angle", l.Angle, 89, "degrees"),
		units.InRange(fn, "pore", float64(pore/units.Micrometre), 0.1, 10000, "um"))
}

// Sink returns how fast one grain sinks in a film deeper than itself, in still
// liquid: Stokes, (rho_g - rho_l) g d^2/(18 eta). A grain lighter than the
// liquid has a negative speed: it floats.
//
// Range: as the fields say; Reynolds number up to 1.
// Accuracy: the formula to 1e-12; below a Reynolds number of 0.1 within 2 % for
// a lone sphere. Crowded grain falls several times more slowly.
// Source: Stokes 1851; against the constant K of ASTM D422 Table 3 (memory).
func (l Liquid) Sink(g Grain) (units.Speed, error) {
	const fn = "aggregate.Liquid.Sink"
	if err := errors.Join(l.flows(fn), g.check(fn)); err != nil {
		return nanOf[units.Speed](), err
	}
	d := float64(g.Size)
	v := float64(g.Density-l.Density) * gravity * d * d / (18 * l.Viscosity)
	if err := units.FromZero(fn, "Reynolds number", math.Abs(v)*d*float64(l.Density)/l.Viscosity, 1, "(Stokes)"); err != nil {
		return nanOf[units.Speed](), err
	}
	return units.Speed(v), nil
}

// Pore returns the hydraulic radius, as of a round pore, of the loose bed:
// eps d/(3 (1 - eps)) with eps its voids.
//
// Source: twice the void volume over the grain's surface.
func (g Grain) Pore() (units.Length, error) {
	if err := g.check("aggregate.Grain.Pore"); err != nil {
		return nanOf[units.Length](), err
	}
	return g.Size * units.Length((1-g.Packing)/(3*g.Packing)), nil
}

// Rise returns how high resin has climbed in pores of a radius after a time,
// the liquid's weight neglected: sqrt(gamma r cos(theta) t/(2 eta)). Keep it
// well below [Liquid.Highest].
//
// Range: after 0 to 30 d; pore 0.1 um to 10 mm.
// Source: Lucas 1918, Washburn 1921.
func (l Liquid) Rise(pore units.Length, after time.Duration) (units.Length, error) {
	const fn = "aggregate.Liquid.Rise"
	if err := errors.Join(l.wets(fn, pore), units.FromZero(fn, "after", after.Hours(), 720, "h")); err != nil {
		return nanOf[units.Length](), err
	}
	return units.Length(math.Sqrt(l.pull(pore) * after.Seconds() / (4 * l.Viscosity) * float64(pore) * float64(pore))), nil
}

// pull returns the capillary pressure 2 gamma cos(theta)/r, Pa.
func (l Liquid) pull(pore units.Length) float64 {
	return 2 * l.Tension * math.Cos(l.Angle*math.Pi/180) / float64(pore)
}

// RiseTime returns how long resin takes to climb to a height, by the same
// formula as [Liquid.Rise]. Seconds, in a broadcast of ordinary resin: there
// the resin's amount decides what is held, not its climbing.
//
// Range: height 0 to half of [Liquid.Highest], where the liquid's weight makes
// the true time 1.55 times this; pore as [Liquid.Rise].
func (l Liquid) RiseTime(pore, height units.Length) (time.Duration, error) {
	const fn = "aggregate.Liquid.RiseTime"
	if err := l.wets(fn, pore); err != nil {
		return 0, err
	}
	top := l.pull(pore) / (float64(l.Density) * gravity)
	if err := units.FromZero(fn, "height", mm(height), 500*top, "mm"); err != nil {
		return 0, err
	}
	h, r := float64(height), float64(pore)
	s := 4 * l.Viscosity * h * h / (l.pull(pore) * r * r)
	if err := units.FromZero(fn, "time", s/3600, 24*365*100, "h"); err != nil {
		return 0, err
	}
	return time.Duration(s * float64(time.Second)), nil
}

// Highest returns the height at which the liquid's weight stops the climb,
// 2 gamma cos(theta)/(rho g r).
//
// Source: Jurin 1718.
func (l Liquid) Highest(pore units.Length) (units.Length, error) {
	if err := l.wets("aggregate.Liquid.Highest", pore); err != nil {
		return nanOf[units.Length](), err
	}
	return units.Length(l.pull(pore) / (float64(l.Density) * gravity)), nil
}
