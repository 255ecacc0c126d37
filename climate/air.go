package climate

import (
	"errors"
	"fmt"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// Air is a state of moist air. RH is relative to liquid water, also below
// 0 °C. A zero Pressure stands for 101 325 Pa.
//
// Range of all methods: Temp -40 °C to 60 °C, RH 1 % to 100 %, Pressure
// 50 kPa to 110 kPa. Outside it they return NaN and one [units.RangeError] for
// each bad field.
type Air struct {
	Temp     units.Temperature
	RH       units.Fraction
	Pressure units.Pressure
}

func (a Air) check(fn string) (t, rh, p float64, err error) {
	t, rh, p = a.Temp.Kelvin(), float64(a.RH), float64(a.Pressure)
	if p == 0 {
		p = 101325
	}
	return t, rh, p, errors.Join(units.InRange(fn, "Temp", a.Temp.Celsius(), -40, 60, "°C"),
		units.InRange(fn, "RH", 100*rh, 1, 100, "%"), units.InRange(fn, "Pressure", p/1000, 50, 110, "kPa"))
}

// liquid returns the saturation vapour pressure over liquid water and its
// derivative by temperature, in Pa and Pa/K, at t in K.
//
// Source: Hyland and Wexler (1983), as in ASHRAE Fundamentals 2017 ch. 1 eq. 6;
// below 0 °C its extrapolation, within 0.3 % of Murphy and Koop (2005) to -40 °C.
func liquid(t float64) (p, dp float64) {
	const c8, c9, c10, c11, c12, c13 = -5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 6.5459673
	l := c8/t + c9 + t*(c10+t*(c11+t*c12)) + c13*math.Log(t)
	p = math.Exp(l)
	return p, p * (-c8/(t*t) + c10 + t*(2*c11+t*3*c12) + c13/t)
}

// ice returns the same over ice.
//
// Source: as liquid, eq. 5.
func ice(t float64) (p, dp float64) {
	const c1, c2, c3, c4, c5, c6, c7 = -5.6745359e3, 6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13, 4.1635019
	l := c1/t + c2 + t*(c3+t*(c4+t*(c5+t*c6))) + c7*math.Log(t)
	p = math.Exp(l)
	return p, p * (-c1/(t*t) + c3 + t*(2*c4+t*(3*c5+t*4*c6)) + c7/t)
}

// invert finds the temperature at which sat is p, by Newton on ln sat(1/T),
// which is nearly straight.
func invert(fn string, sat func(float64) (float64, float64), p, t float64) (units.Temperature, error) {
	for range 50 {
		s, ds := sat(t)
		x := 1/t + math.Log(s/p)*s/(ds*t*t) // d ln s / d(1/T) = -T^2 s'/s
		if next := 1 / x; math.Abs(next-t) < 1e-9 {
			return units.Kelvin(next), nil
		} else {
			t = next
		}
	}
	return units.NaNTemperature(), fmt.Errorf("%s: no convergence for %g Pa, at %g K", fn, p, t)
}

// VapourPressure returns the partial pressure of the water vapour.
//
// Accuracy: 0.03 % of IAPWS above 0 °C. Source: see [Air.DewPoint].
func (a Air) VapourPressure() (units.Pressure, error) {
	t, rh, _, err := a.check("climate.Air.VapourPressure")
	if err != nil {
		return units.Pressure(math.NaN()), err
	}
	s, _ := liquid(t)
	return units.Pressure(rh * s), nil
}

// DewPoint returns the dew point over liquid water, also below 0 °C; for the
// temperature at which frost forms see [Air.FrostPoint]. It is never above Temp.
//
// Accuracy: 0.01 K against IAPWS above 0 °C.
// Source: Hyland and Wexler (1983), as in ASHRAE Fundamentals 2017 ch. 1, inverted.
func (a Air) DewPoint() (units.Temperature, error) {
	const fn = "climate.Air.DewPoint"
	t, rh, _, err := a.check(fn)
	if err != nil {
		return units.NaNTemperature(), err
	}
	s, _ := liquid(t)
	td, err := invert(fn, liquid, rh*s, t)
	if a.Temp.Less(td) { // rounding
		td = a.Temp
	}
	return td, err
}

// FrostPoint returns the temperature at which the vapour is saturated over
// ice. It is an error where that is above 0 °C: there is no frost then.
//
// Accuracy: 0.01 K against IAPWS down to -40 °C. Source: see [Air.DewPoint].
func (a Air) FrostPoint() (units.Temperature, error) {
	const fn = "climate.Air.FrostPoint"
	t, rh, _, err := a.check(fn)
	if err != nil {
		return units.NaNTemperature(), err
	}
	s, _ := liquid(t)
	tf, err := invert(fn, ice, rh*s, t)
	if err == nil && tf.Celsius() > 0.01 {
		return units.NaNTemperature(), fmt.Errorf("%s: the vapour condenses to water above 0 °C: no frost point", fn)
	}
	return tf, err
}

// HumidityRatio returns the mass of water vapour per mass of dry air, kg/kg.
//
// Accuracy: 0.5 % (the real-gas factor is left out).
// Source: ASHRAE Fundamentals 2017 ch. 1 eq. 20, W = 0.621945 pw/(p - pw).
func (a Air) HumidityRatio() (units.Fraction, error) {
	t, rh, p, err := a.check("climate.Air.HumidityRatio")
	if err != nil {
		return units.Fraction(math.NaN()), err
	}
	s, _ := liquid(t)
	return units.Fraction(0.621945 * rh * s / (p - rh*s)), nil
}

// Density returns the mass of moist air, dry air and vapour together, per volume.
//
// Source: ASHRAE Fundamentals 2017 ch. 1 eqs. 11 and 26, v = 0.287042 T (1 + 1.607858 W)/p.
func (a Air) Density() (units.Density, error) {
	t, rh, p, err := a.check("climate.Air.Density")
	if err != nil {
		return units.Density(math.NaN()), err
	}
	s, _ := liquid(t)
	w := 0.621945 * rh * s / (p - rh*s)
	return units.Density((1 + w) * p / (287.042 * t * (1 + 1.607858*w))), nil
}

// Enthalpy returns the enthalpy per mass of dry air, 0 at 0 °C dry.
//
// Source: ASHRAE Fundamentals 2017 ch. 1 eq. 30, h = 1.006 t + W (2501 + 1.86 t) kJ/kg.
func (a Air) Enthalpy() (units.SpecificEnergy, error) {
	w, err := a.HumidityRatio()
	t := a.Temp.Celsius()
	return units.SpecificEnergy(1e3 * (1.006*t + float64(w)*(2501+1.86*t))), err
}
