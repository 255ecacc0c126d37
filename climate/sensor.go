package climate

import (
	"errors"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// Sensor holds how far off the readings may be, each as plus or minus of its
// own kind (two standard deviations if the maker says so; all alike).
type Sensor struct {
	Temp    units.TempDelta // of the air, 0 K to 10 K
	RH      units.Fraction  // in points: 3 % is 47 % to 53 % around 50 %; 0 % to 20 %
	Surface units.TempDelta // of the surface, 0 K to 10 K
}

func (s Sensor) check(fn string) error {
	return errors.Join(units.FromZero(fn, "Temp", float64(s.Temp), 10, "K"), units.FromZero(fn, "RH", 100*float64(s.RH), 20, "%"),
		units.FromZero(fn, "Surface", float64(s.Surface), 10, "K"))
}

// DewPoint returns the dew point of air over liquid water (see [Air.DewPoint])
// and how far off it may be by the sensor's Temp and RH.
//
// Model: first order, the two errors independent,
// d² = (∂Td/∂T dT)² + (∂Td/∂RH dRH)², with ∂Td/∂T = l'(T)/l'(Td) and
// ∂Td/∂RH = 1/(RH l'(Td)), l the logarithm of the saturation pressure.
// Accuracy: of first order; 10 % where dRH is below a third of RH.
// Source: JCGM 100:2008 (GUM) eq. 10.
func (s Sensor) DewPoint(air Air) (dew units.Temperature, within units.TempDelta, err error) {
	const fn = "climate.Sensor.DewPoint"
	t, rh, _, err := air.check(fn)
	if err := errors.Join(err, s.check(fn)); err != nil {
		return units.NaNTemperature(), units.TempDelta(math.NaN()), err
	}
	l, dl := lnWater(t)
	td, err := dewOf(fn, l+math.Log(rh))
	if err != nil {
		return units.NaNTemperature(), units.TempDelta(math.NaN()), err
	}
	_, dd := lnWater(td)
	return units.Kelvin(min(td, t)), units.TempDelta(math.Hypot(dl/dd*float64(s.Temp), float64(s.RH)/(rh*dd))), nil
}

// Margin returns how far surface is above the dew point of air, and how far off
// that may be by the sensor, the surface reading's error independent of the
// air's.
//
// Source: see [Sensor.DewPoint].
func (s Sensor) Margin(air Air, surface units.Temperature) (margin, within units.TempDelta, err error) {
	dew, d, err := s.DewPoint(air)
	if err != nil {
		return units.TempDelta(math.NaN()), d, err
	}
	if margin, err = Margin(surface, dew); err != nil {
		return margin, units.TempDelta(math.NaN()), err
	}
	return margin, units.TempDelta(math.Hypot(float64(d), float64(s.Surface))), nil
}
