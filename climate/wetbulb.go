package climate

import (
	"errors"
	"fmt"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// WetBulb returns the thermodynamic wet-bulb temperature: that of air brought
// to saturation by water evaporating into it. Below 0 °C the bulb carries ice,
// and the result is the ice-bulb temperature; where both a water-covered bulb
// above 0 °C and an ice-covered one satisfy the equation, it is the water's.
// Air that is supersaturated over ice (below 0 °C near 100 % over water) takes
// nothing from the ice: the result is then Temp.
//
// Accuracy: 0.001 K as an inversion of the equation, 0.02 K against IAPWS
// enthalpies; never below the dew point, never above Temp.
// Source: ASHRAE Fundamentals 2017 ch. 1 eqs. 33 (water) and 35 (ice), solved
// by Halley's method.
func (a Air) WetBulb() (units.Temperature, error) {
	const fn = "climate.Air.WetBulb"
	t, rh, p, err := a.check(fn)
	if err != nil {
		return units.NaNTemperature(), err
	}
	s, ds := liquid(t)
	w, e := ratio(rh*s, p), rh*s
	sat, c1, c2, c3 := liquid, 2501e3, 2326.0, 4186.0
	x := t - 273.15 // from above: the equation is convex
	if balance(611.213, c1, c2, c3, t-273.15, 0, w, p) > 0 {
		sat, c1, c2, c3 = ice, 2830e3, 240.0, 2100.0
		x = min(x, 0)
		if s, ds = ice(x + 273.15); t < 273.16 && e >= s {
			return a.Temp, nil
		}
	}
	for range 30 {
		g := balance(s, c1, c2, c3, t-273.15, x, w, p)
		q := epsilon / (p - s)
		dg := (c1-c2*x)*q*p*ds/(p-s) - c2*q*s + 1006 + c3*w
		ddg := c1 * q * p * ds * ds / (s * (p - s)) * (1 + 2*s/(p-s)) // s'' is nearly s'^2/s
		step := g / (dg - 0.5*g*ddg/dg)
		x -= step
		if math.Abs(step) < 0.02 { // what is left is below 1e-6 K
			return units.Kelvin(min(x+273.15, t)), nil // rounding must not lift it above air
		}
		s, ds = sat(x + 273.15)
	}
	return units.NaNTemperature(), fmt.Errorf("%s: no convergence at %g °C, %g %%", fn, t-273.15, 100*rh)
}

// epsilon is the ratio of the molar masses of water and dry air.
//
// Source: ASHRAE Fundamentals 2017 ch. 1 eq. 20.
const epsilon = 0.621945

// ratio returns the humidity ratio of vapour pressure e in air at p.
func ratio(e, p float64) float64 { return epsilon * e / (p - e) }

// balance is what is left of the wet-bulb equation at x °C, where the
// saturation pressure is s: zero at the wet bulb, positive above it.
func balance(s, c1, c2, c3, t, x, w, p float64) float64 {
	return (c1-c2*x)*ratio(s, p) - 1006*(t-x) - w*(c1+1860*t-c3*x)
}

// FromWetBulb returns the air of temperature temp and wet-bulb temperature wet
// at pressure p (0: 101 325 Pa): the reading of a sling psychrometer, whose
// well-blown bulb is within about 0.1 K of the thermodynamic wet bulb. Below
// 0 °C the bulb must carry ice.
//
// Range: that of [Air] for the result; wet not above temp.
// Source: ASHRAE Fundamentals 2017 ch. 1 eqs. 33 and 35.
func FromWetBulb(temp, wet units.Temperature, p units.Pressure) (Air, error) {
	const fn = "climate.FromWetBulb"
	a := Air{Temp: temp, RH: 1, Pressure: p}
	t, _, pa, err := a.check(fn)
	if err != nil {
		return nanAir(), err
	}
	c1, c2, c3, sat := 2501e3, 2326.0, 4186.0, liquid
	x := wet.Celsius()
	if x < 0 {
		c1, c2, c3, sat = 2830e3, 240.0, 2100.0, ice
	}
	lo := lowestWet(t, pa)
	if err := units.InRange(fn, "wet", x, lo, temp.Celsius(), "°C"); err != nil {
		return nanAir(), err
	}
	s, _ := sat(x + 273.15)
	w := ((c1-c2*x)*ratio(s, pa) - 1006*(t-273.15-x)) / (c1 + 1860*(t-273.15) - c3*x)
	full, _ := liquid(t)
	const far = 2e-6 // of saturation: what the wet bulb's accuracy leaves at the ends
	dry, wettest := ratio(0.01*full, pa), ratio(full, pa)
	if w > dry-far*wettest && w < wettest*(1+far) {
		w = min(max(w, dry), wettest)
	}
	return fromRatio(fn, temp, w, p)
}

// lowestWet returns the wet bulb in °C of the driest air that [Air] takes.
func lowestWet(t, p float64) float64 {
	wet, err := Air{Temp: units.Kelvin(t), RH: 0.01, Pressure: units.Pressure(p)}.WetBulb()
	if err != nil {
		return math.NaN()
	}
	return wet.Celsius()
}

// FromDewPoint returns the air of temperature temp whose dew point over liquid
// water is dew, at pressure p (0: 101 325 Pa). For a frost point see
// [FromFrostPoint].
//
// Range: that of [Air] for the result; dew not above temp.
func FromDewPoint(temp, dew units.Temperature, p units.Pressure) (Air, error) {
	return fromPoint("climate.FromDewPoint", "dew", temp, dew, p, lnWater)
}

// FromFrostPoint is [FromDewPoint] with the frost point over ice, at most 0 °C.
func FromFrostPoint(temp, frost units.Temperature, p units.Pressure) (Air, error) {
	if err := units.InRange("climate.FromFrostPoint", "frost", frost.Celsius(), -100, 0.01, "°C"); err != nil {
		return nanAir(), err
	}
	return fromPoint("climate.FromFrostPoint", "frost", temp, frost, p, lnIce)
}

func fromPoint(fn, arg string, temp, dew units.Temperature, p units.Pressure, sat func(float64) (float64, float64)) (Air, error) {
	a := Air{Temp: temp, RH: 1, Pressure: p}
	t, _, _, err := a.check(fn)
	if err != nil {
		return nanAir(), err
	}
	l, _ := lnWater(t)
	low, err := dewOf(fn, l+math.Log(0.01))
	if err != nil {
		return nanAir(), err
	}
	if err := units.InRange(fn, arg, dew.Celsius(), low-273.15, temp.Celsius(), "°C"); err != nil {
		return nanAir(), err
	}
	d, _ := sat(dew.Kelvin())
	a.RH = units.Fraction(math.Exp(d - l))
	a.RH = min(max(a.RH, 0.01), 1) // at the ends of what InRange lets pass
	return a, nil
}

// FromHumidityRatio returns the air of temperature temp that carries w of water
// vapour per mass of dry air (kg/kg), at pressure p (0: 101 325 Pa).
//
// Range: that of [Air] for the result.
func FromHumidityRatio(temp units.Temperature, w units.Fraction, p units.Pressure) (Air, error) {
	return fromRatio("climate.FromHumidityRatio", temp, float64(w), p)
}

func fromRatio(fn string, temp units.Temperature, w float64, p units.Pressure) (Air, error) {
	a := Air{Temp: temp, RH: 1, Pressure: p}
	t, _, pa, err := a.check(fn)
	if err != nil {
		return nanAir(), err
	}
	s, _ := liquid(t)
	if err := units.InRange(fn, "humidity ratio", 1e3*w, 1e3*ratio(0.01*s, pa), 1e3*ratio(s, pa), "g/kg"); err != nil {
		return nanAir(), err
	}
	a.RH = units.Fraction(min(max(w*pa/(epsilon+w)/s, 0.01), 1)) // rounding at the ends
	return a, nil
}

func nanAir() Air {
	nan := math.NaN()
	return Air{Temp: units.NaNTemperature(), RH: units.Fraction(nan), Pressure: units.Pressure(nan)}
}

// PressureAt returns the pressure of the standard atmosphere at an altitude.
//
// Range: -500 m to 5000 m. The weather moves it by 3 % either way.
// Source: ASHRAE Fundamentals 2017 ch. 1 eq. 3.
func PressureAt(altitude units.Length) (units.Pressure, error) {
	if err := units.InRange("climate.PressureAt", "altitude", float64(altitude), -500, 5000, "m"); err != nil {
		return units.Pressure(math.NaN()), err
	}
	return units.Pressure(101325 * math.Pow(1-2.25577e-5*float64(altitude), 5.2559)), nil
}

// SurfaceRH returns the relative humidity of the air a at a surface: its vapour
// over what would saturate it (over liquid water) at the surface's temperature.
// Above 100 % water condenses on it.
//
// Range: surface -40 °C to 80 °C; that of [Air].
func (a Air) SurfaceRH(surface units.Temperature) (units.Fraction, error) {
	const fn = "climate.Air.SurfaceRH"
	t, rh, _, err := a.check(fn)
	if err := errors.Join(err, units.InRange(fn, "surface", surface.Celsius(), -40, 80, "°C")); err != nil {
		return units.Fraction(math.NaN()), err
	}
	l, _ := lnWater(t)
	s, _ := lnWater(surface.Kelvin())
	return units.Fraction(rh * math.Exp(l-s)), nil
}
