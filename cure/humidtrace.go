package cure

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// A Damp is a relative humidity at a time.
type Damp struct {
	At time.Duration
	RH units.Fraction
}

// A Humidity is a history of the relative humidity over a film, at the film's
// temperature: linear between its readings, held past its ends. [HumidityOver]
// makes it from the air and a floor that is colder or warmer than that.
type Humidity []Damp

// Validate returns an error unless h has at least one reading, its times rise and
// are within 73 years of 0, and its humidities are 0 to 1000 %: above 100 % water
// condenses on the film, of which no [HumidTable] tells.
func (h Humidity) Validate() error {
	const fn = "cure.Humidity"
	if len(h) == 0 {
		return fmt.Errorf("%w: %s: no readings: want at least one", units.ErrRange, fn)
	}
	for i, d := range h {
		if err := checkDamp(fn, "RH", d.RH); err != nil {
			return fmt.Errorf("reading %d: %w", i, err)
		}
		if d.At < -farthest || d.At > farthest {
			return fmt.Errorf("%w: %s: reading %d at %v: want within 73 years of 0", units.ErrRange, fn, i, d.At)
		}
		if i > 0 && d.At <= h[i-1].At {
			return fmt.Errorf("%w: %s: reading %d at %v is not after the one before, at %v: want rising times", units.ErrRange, fn, i, d.At, h[i-1].At)
		}
	}
	return nil
}

func checkDamp(fn, arg string, rh units.Fraction) error {
	return units.FromZero(fn, arg, 100*float64(rh), 1000, "%")
}

// At returns the humidity at a time. The history must be valid; of an empty one
// it returns an error.
func (h Humidity) At(at time.Duration) (units.Fraction, error) {
	if len(h) == 0 {
		return units.Fraction(math.NaN()), h.Validate()
	}
	return h.at(at), nil
}

func (h Humidity) at(at time.Duration) units.Fraction {
	i := sort.Search(len(h), func(i int) bool { return h[i].At > at })
	switch {
	case i == 0:
		return h[0].RH
	case i == len(h):
		return h[i-1].RH
	}
	a, b := h[i-1], h[i]
	return a.RH + (b.RH-a.RH)*units.Fraction(float64(at-a.At)/float64(b.At-a.At))
}

// Steps of HumidityOver: K, and share of the vapour pressure.
const dampStep, vapourStep = 0.2, 0.01

// HumidityOver returns the humidity over a film on floor in air: the vapour
// pressure of the air over what would saturate it at the floor's temperature,
// [climate.Air.SurfaceRH]. A data sheet's times are of a film as warm as its
// air; over a colder floor the same air is damper, and dries and cures a film as
// air would that is as damp and as cold. It is from the first reading of either
// to the last, with the other held.
//
// Range: floor -40 °C to 80 °C; above 1000 % is an error.
// Accuracy: between its readings, which stand at those of both histories and
// wherever a temperature has changed by 0.2 K or the vapour by 1 %, it is within
// 1e-4 of itself of air whose temperature and vapour pressure are linear between
// its readings, as those of [climate.Weather] are.
func HumidityOver(air climate.Weather, floor climate.Trace) (Humidity, error) {
	if err := air.Validate(); err != nil {
		return nil, err
	}
	if err := floor.Validate(); err != nil {
		return nil, err
	}
	var times []time.Duration
	for _, r := range air {
		times = append(times, r.At)
	}
	for _, s := range floor {
		times = append(times, s.At)
	}
	slices.Sort(times)
	times = slices.Compact(times)
	var list Humidity
	add := func(at time.Duration) (climate.Air, units.Temperature, error) {
		a, _ := air.At(at)
		s, _ := floor.At(at)
		rh, err := a.SurfaceRH(s)
		if err == nil {
			err = checkDamp("cure.HumidityOver", "RH", rh)
		}
		if err != nil {
			return a, s, fmt.Errorf("at %v: %w", at, err)
		}
		list = append(list, Damp{at, rh})
		return a, s, nil
	}
	var lastAir climate.Air
	var lastFloor units.Temperature
	for i, at := range times {
		a, _ := air.At(at)
		s, _ := floor.At(at)
		if i > 0 {
			from := times[i-1]
			vapour := math.Log(float64(a.RH/lastAir.RH)) + 0.07*float64(a.Temp.Sub(lastAir.Temp)) // 7 % per K or less
			n := max(1, math.Ceil(max(math.Abs(float64(a.Temp.Sub(lastAir.Temp)))/dampStep,
				math.Abs(float64(s.Sub(lastFloor)))/dampStep, math.Abs(vapour)/vapourStep)))
			for k := 1.0; k < n; k++ {
				mid := from + time.Duration(float64(at-from)*(k/n))
				if mid <= list[len(list)-1].At || mid >= at {
					continue
				}
				if _, _, err := add(mid); err != nil {
					return nil, err
				}
			}
		}
		var err error
		if lastAir, lastFloor, err = add(at); err != nil {
			return nil, err
		}
	}
	return list, nil
}
