package cure

import (
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// A Glass is the glass transition of a network against its conversion, after
// DiBenedetto,
//
//	Tg = Tg0 + (Tg1 - Tg0) L a / (1 - (1-L) a),
//
// with Tg0 Uncured, Tg1 Cured and L Lambda.
//
// Range: Uncured -150 °C to 100 °C, Cured above it and to 400 °C, Lambda 0.01 to 1.
// Accuracy: 1e-12 of the arithmetic; measured networks follow it within some 5 K.
//
// Source: DiBenedetto, in the form of Pascault and Williams, from memory.
type Glass struct {
	Uncured, Cured units.Temperature
	Lambda         float64
}

func (g Glass) check(fn string) error {
	return errors.Join(units.InRange(fn, "Glass.Uncured", g.Uncured.Celsius(), -150, 100, "°C"),
		aboveRange(fn, "Glass.Cured", g.Cured.Celsius(), g.Uncured.Celsius(), 400, "°C"),
		units.InRange(fn, "Glass.Lambda", g.Lambda, 0.01, 1, ""))
}

// aboveRange is units.InRange without the lower end.
func aboveRange(fn, arg string, v, lo, hi float64, unit string) error {
	if v > lo && v <= hi+1e-9*math.Abs(hi) {
		return nil
	}
	return &units.RangeError{Func: fn, Arg: arg, Got: v, Lo: lo, Hi: hi, Unit: unit, Above: true}
}

// Tg returns the glass transition at conversion a, 0 to 100 %.
func (g Glass) Tg(a units.Fraction) (units.Temperature, error) {
	const fn = "cure.Glass.Tg"
	if err := errors.Join(g.check(fn), units.FromZero(fn, "a", 100*float64(a), 100, "%")); err != nil {
		return units.NaNTemperature(), err
	}
	return units.Kelvin(g.tg(min(float64(a), 1))), nil
}

func (g Glass) tg(a float64) float64 {
	t0 := g.Uncured.Kelvin()
	return t0 + (g.Cured.Kelvin()-t0)*g.Lambda*a/(1-(1-g.Lambda)*a)
}

// Conversion returns the conversion at which the glass transition has come up
// to temp: about where a cure at that temperature stalls.
//
// The error is [ErrNotReached] for temp above Cured, where the network stays
// rubbery, and a [units.RangeError] for temp below Uncured, where the mix is
// glassy before it reacts.
func (g Glass) Conversion(temp units.Temperature) (units.Fraction, error) {
	const fn = "cure.Glass.Conversion"
	err := g.check(fn)
	if err == nil {
		if temp.Kelvin() > g.Cured.Kelvin()+1e-9 {
			if err = hotRange(fn, "temp", temp); err == nil {
				err = ErrNotReached
			}
		} else {
			err = units.InRange(fn, "temp", temp.Celsius(), g.Uncured.Celsius(), g.Cured.Celsius(), "°C")
		}
	}
	if err != nil {
		return units.Fraction(math.NaN()), err
	}
	x := float64(temp.Sub(g.Uncured)) / float64(g.Cured.Sub(g.Uncured))
	return units.Fraction(min(1, max(0, x/(g.Lambda+(1-g.Lambda)*x)))), nil // rounding at the ends
}

// Vitrify returns when the glass transition of the mix first comes up to its
// temperature along t, and the conversion then. From there on the cure is slow,
// whether the mix has gelled (see [Gel]) or not. It may leave the glass again if
// t warms up.
//
// The error is [ErrNotReached] if that is not within 73 years; the last
// temperature of t holds past its end.
//
// Range: k as [Kinetics], with Glass. Accuracy: as [Kinetics.TimeTo], if no two
// crossings lie within an eighth of one step of the integration.
func (k Kinetics) Vitrify(t climate.Trace) (time.Duration, units.Fraction, error) {
	const fn = "cure.Kinetics.Vitrify"
	nan := units.Fraction(math.NaN())
	if err := errors.Join(k.check(fn), t.Validate(), k.Glass.check(fn)); err != nil {
		return 0, nan, err
	}
	m := newMarch(k, t)
	past := func(x, u float64) float64 {
		a, _ := m.c.conversion(max(u, 0))
		return m.c.glass.tg(a) - m.c.t0 - m.c.slope*x
	}
	if past(0, 0) >= 0 {
		return 0, 0, nil
	}
	const parts = 8
	for m.now < farthestTime {
		if err := m.step(farthestTime); err != nil {
			return 0, nan, fmt.Errorf("%s: %w", fn, err)
		}
		from, _ := m.s.From()
		for i := range parts {
			to := m.s.T
			if i < parts-1 {
				to = from + (m.s.T-from)*float64(i+1)/parts
			} else if past(m.s.T, m.s.Y[0]) < 0 {
				break
			}
			if past(to, m.s.At(to)[0]) >= 0 {
				at, err := m.locateWithin(from+(m.s.T-from)*float64(i)/parts, to, past)
				if err != nil {
					return 0, nan, fmt.Errorf("%s: %w", fn, err)
				}
				a, _ := m.c.conversion(m.at(at))
				return at, units.Fraction(min(1, max(0, a))), nil
			}
		}
	}
	return 0, nan, ErrNotReached
}

// Stall returns the conversion at which a cure at constant temperature has
// slowed to the rate slow, such as 1 % per day: what a cold floor stays at until
// it is warmed up. It is 0 if the cure is slower than that at all times, and 1
// if it is faster up to the end.
//
// Range: k as [Kinetics], temp as [Kinetics.Rate], slow 1e-15 to 1 1/s.
// Accuracy: 1e-9.
func (k Kinetics) Stall(temp units.Temperature, slow units.Rate) (units.Fraction, error) {
	const fn = "cure.Kinetics.Stall"
	if err := errors.Join(k.check(fn), hotRange(fn, "temp", temp), units.InRange(fn, "slow", math.Log10(float64(slow)), -15, 0, "powers of ten of 1/s")); err != nil {
		return units.Fraction(math.NaN()), err
	}
	c := k.prepare()
	t := temp.Kelvin()
	lo, top := c.fastest(t)
	if top <= float64(slow) {
		return 0, nil
	}
	// Beyond the fastest the rate falls; the first crossing after it.
	const n = 400
	hi := 1.0
	for i := range n + 1 {
		if a := lo + (1-lo)*float64(i)/n; c.rate(a, t) < float64(slow) {
			hi = a
			break
		}
	}
	if c.rate(hi, t) >= float64(slow) {
		return 1, nil
	}
	for hi-lo > 1e-13 {
		if mid := (lo + hi) / 2; mid == lo || mid == hi {
			break
		} else if c.rate(mid, t) >= float64(slow) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return units.Fraction(hi), nil
}

// A Recovery says what a cold cure comes to, and what warming it up later brings.
type Recovery struct {
	Cold     units.Fraction // conversion at the end of the cold time
	Warmed   units.Fraction // and at the end of the warm time after it
	Straight units.Fraction // of a cure that had the warm temperature for the warm time alone
}

// WarmUp returns what a cure at cold for coldFor comes to, and at warm for
// warmFor after it. The model holds no memory but the conversion: what a real
// floor loses in the cold to blush or dust it does not know.
//
// Range: k as [Kinetics]; both times above 0, together 73 years at most; both
// temperatures as of a [climate.Trace]. Accuracy: as [Kinetics.Convert].
func (k Kinetics) WarmUp(cold units.Temperature, coldFor time.Duration, warm units.Temperature, warmFor time.Duration) (Recovery, error) {
	const fn = "cure.Kinetics.WarmUp"
	nan := units.Fraction(math.NaN())
	none := Recovery{nan, nan, nan}
	if err := errors.Join(aboveRange(fn, "coldFor", coldFor.Hours(), 0, farthestTime.Hours()/2, "h"), aboveRange(fn, "warmFor", warmFor.Hours(), 0, farthestTime.Hours()/2, "h")); err != nil {
		return none, err
	}
	// A trace cannot jump: 1 ns between the two.
	both, err := k.Convert(climate.Trace{{At: coldFor, Temp: cold}, {At: coldFor + 1, Temp: warm}}, []time.Duration{coldFor, coldFor + warmFor})
	if err != nil {
		return none, err
	}
	straight, err := k.Convert(climate.Trace{{Temp: warm}}, []time.Duration{warmFor})
	if err != nil {
		return none, err
	}
	return Recovery{both[0], both[1], straight[0]}, nil
}
