package climate

import (
	"fmt"
	"math"
	"sort"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// A Reading is the air's state at a time: of a forecast, a station, a logger.
type Reading struct {
	At   time.Duration
	Temp units.Temperature // -40 °C to 60 °C
	RH   units.Fraction    // over water, 1 % to 100 %
}

// A Weather is a history of air: temperature and vapour pressure are linear
// between its readings and held past its ends. (Relative humidity is not linear
// then: it follows from the two.)
type Weather []Reading

// Validate returns an error unless w has at least one reading, its times rise
// and are within 73 years of 0, and its values are in range.
func (w Weather) Validate() error {
	if len(w) == 0 {
		return fmt.Errorf("%w: climate.Weather: no readings: want at least one", units.ErrRange)
	}
	for i, r := range w {
		if _, _, _, err := (Air{Temp: r.Temp, RH: r.RH}).check("climate.Weather"); err != nil {
			return fmt.Errorf("reading %d: %w", i, err)
		}
		if r.At < -farthest || r.At > farthest {
			return fmt.Errorf("%w: climate.Weather: reading %d at %v: want within 73 years of 0", units.ErrRange, i, r.At)
		}
		if i > 0 && r.At <= w[i-1].At {
			return fmt.Errorf("%w: climate.Weather: reading %d at %v is not after the one before, at %v: want rising times", units.ErrRange, i, r.At, w[i-1].At)
		}
	}
	return nil
}

// At returns the air at a time. Where the vapour between two readings near
// saturation is more than saturates the air, RH is 1: fog. The weather must be
// valid; of an empty one it returns an error.
func (w Weather) At(at time.Duration) (Air, error) {
	if len(w) == 0 {
		return nanAir(), w.Validate()
	}
	i := sort.Search(len(w), func(i int) bool { return w[i].At > at })
	switch {
	case i == 0:
		return Air{Temp: w[0].Temp, RH: w[0].RH}, nil
	case i == len(w):
		return Air{Temp: w[i-1].Temp, RH: w[i-1].RH}, nil
	}
	a, b := w[i-1], w[i]
	x := float64(at-a.At) / float64(b.At-a.At)
	e := vapour(a)*(1-x) + vapour(b)*x
	t := between(a.Temp, b.Temp, x)
	s, _ := liquid(t.Kelvin())
	// Saturation curves upward: between two readings near saturation the mean
	// vapour pressure can be above that of the mean temperature. It is fog then.
	return Air{Temp: t, RH: units.Fraction(min(max(e/s, 0.01), 1))}, nil
}

// vapour returns the vapour pressure of a reading, Pa.
func vapour(r Reading) float64 {
	l, _ := lnWater(r.Temp.Kelvin())
	return float64(r.RH) * math.Exp(l)
}

// Temps returns the temperatures of w.
func (w Weather) Temps() Trace {
	t := make(Trace, len(w))
	for i, r := range w {
		t[i] = Sample{r.At, r.Temp}
	}
	return t
}
