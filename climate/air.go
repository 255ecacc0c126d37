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
	if t >= 233.15 && t <= 333.15 && rh >= 0.01 && rh <= 1 && p >= 50e3 && p <= 110e3 {
		return t, rh, p, nil
	}
	return t, rh, p, errors.Join(units.InRange(fn, "Temp", a.Temp.Celsius(), -40, 60, "°C"),
		units.InRange(fn, "RH", 100*rh, 1, 100, "%"), units.InRange(fn, "Pressure", p/1000, 50, 110, "kPa"))
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
	l, _ := lnWater(t)
	td, err := dewOf(fn, l+math.Log(rh))
	return units.Kelvin(min(td, t)), err // rounding must not lift it above air
}

// lnTriple is the logarithm of the vapour pressure at the triple point, in Pa.
//
// Source: IAPWS SR1-86, 611.657 Pa at 273.16 K.
const lnTriple = 6.416171

// FrostPoint returns the temperature at which the vapour is saturated over
// ice. It is a [units.RangeError] where that is above 0 °C: there is no frost then.
//
// Accuracy: 0.01 K against IAPWS down to -40 °C. Source: see [Air.DewPoint].
func (a Air) FrostPoint() (units.Temperature, error) {
	const fn = "climate.Air.FrostPoint"
	t, rh, _, err := a.check(fn)
	if err != nil {
		return units.NaNTemperature(), err
	}
	l, _ := lnWater(t)
	l += math.Log(rh)
	if l > lnTriple {
		return units.NaNTemperature(), fmt.Errorf("there is no frost above 0 °C: %w", &units.RangeError{Func: fn, Arg: "vapour pressure", Got: math.Exp(l), Lo: 0, Hi: math.Exp(lnTriple), Unit: "Pa", Above: true})
	}
	tf, err := frostOf(fn, l)
	return units.Kelvin(tf), err
}

// HumidityRatio returns the mass of water vapour per mass of dry air, kg/kg.
//
// Accuracy: 0.3 % of IAPWS for an ideal mixture; the real-gas factor, left out,
// is worth 0.5 %.
// Source: ASHRAE Fundamentals 2017 ch. 1 eq. 20, W = 0.621945 pw/(p - pw).
func (a Air) HumidityRatio() (units.Fraction, error) {
	t, rh, p, err := a.check("climate.Air.HumidityRatio")
	if err != nil {
		return units.Fraction(math.NaN()), err
	}
	s, _ := liquid(t)
	return units.Fraction(ratio(rh*s, p)), nil
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
	w := ratio(rh*s, p)
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
