package cure

import (
	"errors"
	"math"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// NurseSaul returns the temperature-time factor of t between from and to: the
// integral of the temperature above datum. Time below datum counts 0 and takes
// nothing away, also where a ramp crosses it. (A ramp from -8 °C to 12 °C in 20 h
// above a datum of 0 °C is 72 K h; programs that subtract print 40.)
//
// Past its ends t is held.
//
// Range: datum -60 °C to 100 °C; from and to within 73 years of 0, to not before from.
// Accuracy: exact but for rounding.
// Source: ASTM C1074, temperature-time factor, M = Σ (Ta - T0) Δt.
func NurseSaul(datum units.Temperature, t climate.Trace, from, to time.Duration) (units.TempTime, error) {
	const fn = "cure.NurseSaul"
	nan := units.TempTime(math.NaN())
	if err := errors.Join(units.InRange(fn, "datum", datum.Celsius(), -60, 100, "°C"), stretch(fn, t, from, to)); err != nil {
		return nan, err
	}
	sum, d := 0.0, datum.Kelvin()
	for r := newRide(t, from, to); ; {
		_, a, b, dt, ok := r.next()
		if !ok {
			return units.TempTime(sum), nil
		}
		switch lo, hi := min(a, b)-d, max(a, b)-d; {
		case lo >= 0:
			sum += (lo + hi) / 2 * dt
		case hi > 0:
			sum += hi / 2 * dt * (hi / (hi - lo))
		}
	}
}
