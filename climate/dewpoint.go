package climate

import (
	"errors"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// DewPoint returns the dew point of air at temperature air and relative
// humidity rh, over liquid water also below 0 °C.
//
// It inverts the Magnus form over liquid water, es(t) = A exp(B t / (C + t)).
//
// Range: air -45 °C to 60 °C, rh 1 % to 100 %. Outside it the result is NaN
// and the error joins one [units.RangeError] for each bad argument.
// Accuracy: within 0.06 K of the reference (see [Air.DewPoint]) where air and
// dew point are 0 °C to 50 °C; never above air.
//
// Source: WMO-No. 8 (2023) vol. I, annex 4.B; coefficients of Sonntag (1990).
func DewPoint(air units.Temperature, rh units.Fraction) (units.Temperature, error) {
	const b, c = 17.62, 243.12 // annex 4.B, over water; c in °C
	t, u := air.Celsius(), float64(rh)
	if err := errors.Join(units.InRange("climate.DewPoint", "air", t, -45, 60, "°C"),
		units.InRange("climate.DewPoint", "rh", 100*u, 1, 100, "%")); err != nil {
		return units.NaNTemperature(), err
	}
	g := math.Log(u) + b*t/(c+t)
	td := units.Celsius(c * g / (b - g))
	if air.Less(td) { // rounding must not lift it above air
		return air, nil
	}
	return td, nil
}

// Margin returns how far surface is above the dew point dew; it is negative
// where water condenses. Whether a margin is enough is a limit with an owner
// (3 K and 5 °F are not the same), which package systems reads from data.
//
// Range: both -60 °C to 80 °C.
func Margin(surface, dew units.Temperature) (units.TempDelta, error) {
	if err := errors.Join(units.InRange("climate.Margin", "surface", surface.Celsius(), -60, 80, "°C"),
		units.InRange("climate.Margin", "dew", dew.Celsius(), -60, 80, "°C")); err != nil {
		return units.TempDelta(math.NaN()), err
	}
	return surface.Sub(dew), nil
}
