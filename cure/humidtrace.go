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

// Steps of HumidityOver, in the logarithms of a saturation pressure (0.2 K at 10 °C)
// and of the vapour pressure. The humidity is a quotient of two of these, or, of
// fog, of two saturation pressures: straight over a step it is at most (2 dampStep)²/8
// of itself off, 0.9e-4.
const dampStep, vapourStep = 0.0135, 0.01

// HumidityOver returns the humidity over a film on floor in air: the vapour
// pressure of the air over what would saturate it at the floor's temperature,
// [climate.Air.SurfaceRH]. A data sheet's times are of a film as warm as its
// air; over a colder floor the same air is damper, and dries and cures a film as
// air would that is as damp and as cold. It is from the first reading of either
// to the last, with the other held.
//
// Range: floor -40 °C to 80 °C; above 1000 % is an error.
// Accuracy: between its readings, which stand at those of both histories and
// wherever a temperature has changed by some 0.2 K or the vapour by 1 %, or fog
// comes or goes, it is within 1e-4 of itself of air whose temperature and vapour
// pressure are linear between its readings, as those of [climate.Weather] are.
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
	var last film
	for i, at := range times {
		next, err := over(air, floor, at)
		if err != nil {
			return nil, err
		}
		if i > 0 {
			from, to := last, next
			for x := from.step(to, 0); x < 1-1e-9; x += from.step(to, x) {
				mid, err := over(air, floor, from.at+time.Duration(float64(at-from.at)*x))
				if err != nil {
					return nil, err
				}
				if mid.at <= last.at || mid.at >= at {
					continue
				}
				list = append(list, fogged(air, floor, last, mid)...)
				list, last = append(list, Damp{mid.at, mid.rh}), mid
			}
			list = append(list, fogged(air, floor, last, next)...)
		}
		list, last = append(list, Damp{at, next.rh}), next
	}
	return list, nil
}

// A film is a moment of what is over a film: the humidity, the vapour in Pa, what
// would saturate the air and the air on the floor, and whether the air is saturated.
type film struct {
	at         time.Duration
	rh         units.Fraction
	vapour     float64
	air, floor saturated
	fog        bool
}

// saturated is the logarithm of a saturation pressure, and its temperature in K.
type saturated struct{ ln, t float64 }

// apart is by how much ln of the pressure changes to b at its colder end's pace,
// which goes as 1/T².
func (a saturated) apart(b saturated) float64 {
	return math.Abs(a.ln-b.ln) * max(a.t, b.t) / min(a.t, b.t)
}

func over(air climate.Weather, floor climate.Trace, at time.Duration) (film, error) {
	a, _ := air.At(at)
	s, _ := floor.At(at)
	rh, err := a.SurfaceRH(s)
	if err == nil {
		err = checkDamp("cure.HumidityOver", "RH", rh)
	}
	if err != nil {
		return film{}, fmt.Errorf("at %v: %w", at, err)
	}
	p, err := a.VapourPressure()
	v := float64(p)
	return film{at, rh, v, saturated{math.Log(v / float64(a.RH)), a.Temp.Kelvin()}, saturated{math.Log(v / float64(rh)), s.Kelvin()}, a.RH >= 1}, err
}

// fogged returns the reading at which fog comes or goes between two moments, if it
// does: there the humidity has a kink.
func fogged(air climate.Weather, floor climate.Trace, a, b film) Humidity {
	if a.fog == b.fog {
		return nil
	}
	from, to := a.at, b.at
	for to-from > time.Second {
		mid := from + (to-from)/2
		if now, _ := air.At(mid); (now.RH >= 1) == a.fog {
			from = mid
		} else {
			to = mid
		}
	}
	kink, err := over(air, floor, from)
	if err != nil || from == a.at || to == b.at { // at a reading there is one already
		return nil
	}
	return Humidity{{kink.at, kink.rh}}
}

// step returns how much further, of the way from f to g, a step of HumidityOver
// from x on goes. Temperatures and vapour are linear along the way; the vapour
// changes most for itself where it is least.
func (f film) step(g film, x float64) float64 {
	n := math.Ceil(max(1, f.air.apart(g.air)/dampStep, f.floor.apart(g.floor)/dampStep))
	v, dv := f.vapour, g.vapour-f.vapour
	return min(1/n, vapourStep*(v+x*dv)/math.Abs(dv))
}
