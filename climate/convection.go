package climate

import (
	"errors"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// FloorConvection returns the convective part of a floor's film coefficient in
// still air: strong over a floor warmer than the air, weak over a colder one.
// With [Radiation] it makes a [Slab]'s Film.
//
// Model: 9.482 dT^(1/3)/6.283 W/(m2 K) over a warm floor, 1.810 dT^(1/3)/2.382
// over a cold one.
// Range: both -40 °C to 80 °C.
// Source: Walton (1983), as in the EnergyPlus engineering reference, inside heat
// balance, for a horizontal surface.
func FloorConvection(surface, air units.Temperature) (units.FilmCoefficient, error) {
	const fn = "climate.FloorConvection"
	if err := errors.Join(units.InRange(fn, "surface", surface.Celsius(), -40, 80, "°C"), units.InRange(fn, "air", air.Celsius(), -40, 80, "°C")); err != nil {
		return units.FilmCoefficient(math.NaN()), err
	}
	d := float64(surface.Sub(air))
	if d > 0 {
		return units.FilmCoefficient(9.482 * math.Cbrt(d) / (7.283 - 1)), nil
	}
	return units.FilmCoefficient(1.810 * math.Cbrt(-d) / (1.382 + 1)), nil
}

// ForcedConvection returns the mean convective coefficient of air blown along a
// floor over a length: a fan, an open door.
//
// Model: flat plate, laminar to Re = 500 000 and turbulent after it.
// Range: speed 0.05 m/s to 20 m/s, length 0.1 m to 100 m. Accuracy: 20 % for a
// smooth plate in a calm stream. Over a real floor, behind a sill or a fan, it is
// more: the evaporation of concrete in wind (Uno 1998) asks for 1.2 to 2.5 times
// as much, most in light wind, where this plate is laminar.
// Source: Incropera eqs. 7.30 and 7.38, air at 15 °C.
func ForcedConvection(speed units.Speed, length units.Length) (units.FilmCoefficient, error) {
	const fn = "climate.ForcedConvection"
	if err := errors.Join(units.InRange(fn, "speed", float64(speed), 0.05, 20, "m/s"), units.InRange(fn, "length", float64(length), 0.1, 100, "m")); err != nil {
		return units.FilmCoefficient(math.NaN()), err
	}
	const nu, k, pr, critical = 1.47e-5, 0.0253, 0.71, 5e5
	re := float64(speed) * float64(length) / nu
	n := 0.664 * math.Sqrt(re)
	if re > critical {
		n = 0.037*math.Pow(re, 0.8) - 871
	}
	return units.FilmCoefficient(n * math.Cbrt(pr) * k / float64(length)), nil
}

// Radiation returns the radiative part of a film coefficient, between a surface
// of some emissivity and surroundings both near temp: 4 e s T^3.
//
// Range: temp -40 °C to 80 °C, emissivity 0 to 1 (bare or coated concrete 0.9).
// Source: ISO 6946 annex C, eq. C.4 (from memory).
func Radiation(temp units.Temperature, emissivity units.Fraction) (units.FilmCoefficient, error) {
	const fn = "climate.Radiation"
	if err := errors.Join(units.InRange(fn, "temp", temp.Celsius(), -40, 80, "°C"), units.FromZero(fn, "emissivity", float64(emissivity), 1, "")); err != nil {
		return units.FilmCoefficient(math.NaN()), err
	}
	const sigma = 5.670374419e-8 // CODATA 2018, exact
	t := temp.Kelvin()
	return units.FilmCoefficient(4 * float64(emissivity) * sigma * t * t * t), nil
}
