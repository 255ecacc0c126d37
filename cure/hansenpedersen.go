package cure

import (
	"errors"
	"math"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// HansenPedersen returns the law of hydraulic cement, for patches and screeds
// that a resin must wait for: an event which takes at20 at 20 °C. Its
// activation energy is 33.5 kJ/mol from 20 °C on and 1.47 kJ/mol more for each
// kelvin below, all to the reference of 20 °C:
//
//	t(T) = at20 exp(E(T)/R (1/T - 1/293.15 K))
//
// Range: -10 °C to 80 °C.
// Source: Freiesleben Hansen and Pedersen, Nordisk Betong 1977, from memory.
func HansenPedersen(at20 time.Duration) Law {
	return hansenPedersen{at20, checkTime("cure.HansenPedersen", "at20", at20)}
}

type hansenPedersen struct {
	at20 time.Duration
	err  error
}

const ref20 = 293.15 // K

func (p hansenPedersen) lines() (cold, warm line) {
	const e, more = 33500 / arrheniusR, 1470 / arrheniusR // K, and K per K
	warm = line{lo: ref20, at: ref20, a: -math.Log(p.at20.Seconds()), q: -e / ref20}
	// (e + more (ref - T)) (1/T - 1/ref) = (e + more ref) (1/T - 1/ref) + more (T - ref)/ref
	cold = line{lo: 273.15 - 10, at: ref20, a: warm.a, q: -(e + more*ref20) / ref20, c: -more / ref20}
	return cold, warm
}

// Time returns the event's time.
func (p hansenPedersen) Time(temp units.Temperature) (time.Duration, error) {
	if err := errors.Join(p.err, units.InRange("cure.HansenPedersen", "temp", temp.Celsius(), -10, 80, "°C")); err != nil {
		return 0, err
	}
	cold, warm := p.lines()
	if temp.Kelvin() < ref20 {
		warm = cold
	}
	return max(1, duration(math.Exp(-warm.ln(temp.Kelvin())))), nil
}
