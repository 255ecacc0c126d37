package cure

import (
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/ode"
	"github.com/tackfree/tackfree/internal/root"
)

// An Exotherm is a mass of mix that warms itself up, at one temperature
// throughout:
//
//	dT/dt = (H/cp) da/dt - (T - ambient)/Cooling,  da/dt by Kinetics.
//
// Cooling is the time in which a mass that does not react loses 1 - 1/e of its
// warmth, as [Vessel.Cooling] tells of its shape; with 0 no heat leaves.
//
// Range: Heat and Specific as [Filled]; Cooling 0, or 10 s to a year: a film
// that cools faster has its surroundings' temperature.
// Accuracy: that of the arithmetic stands at each method; of the model, the
// middle of a large mass is hotter than its mean.
//
// Source: Semenov's balance, from memory, with the depletion that he left out.
type Exotherm struct {
	Kinetics Kinetics
	Heat     units.SpecificEnergy // of the whole mass, if all of it reacts
	Specific units.SpecificHeat
	Cooling  time.Duration
}

const year = 365 * 24 * time.Hour

func (e Exotherm) check(fn string) error {
	err := errors.Join(e.Kinetics.check(fn), heatRange(fn, e.Heat), specificRange(fn, "Specific", e.Specific))
	if e.Cooling != 0 {
		err = errors.Join(err, units.InRange(fn, "Cooling", e.Cooling.Seconds(), 10, year.Seconds(), "s"))
	}
	return err
}

func ambientRange(fn, arg string, t units.Temperature) error {
	return units.InRange(fn, arg, t.Celsius(), -60, 100, "°C")
}

// longest is how far an exotherm is followed.
const longest = 14 * 24 * time.Hour

// A Peak is the hottest moment of a mass.
type Peak struct {
	At         time.Duration // since mixing; [Never] if no heat leaves
	Temp       units.Temperature
	Conversion units.Fraction
}

// A burn integrates an exotherm: unknowns u, see curing, and z = T - (H/cp) a in K,
// which only the loss of heat changes: smooth also where an order below 1 ends.
type burn struct {
	s       ode.Solver
	c       curing
	rise    float64 // H/cp in K
	t0, amb float64 // K
	tau     float64 // s; +Inf if no heat leaves
	base    float64 // s, at which the solver's clock began
}

// now is the time in s. The solver's own clock is finer: a step may be shorter than
// what now can tell.
func (b *burn) now() float64 { return b.base + b.s.T }

// step takes one step that ends at end at the latest.
func (b *burn) step(end float64) error {
	err := b.s.Step(end - b.base)
	if errors.Is(err, ode.ErrSmall) && b.s.T > 0 {
		// So fast after so long that the clock cannot tell: begin it anew.
		b.base += b.s.T
		b.s.Restart(false)
		err = b.s.Step(end - b.base)
	}
	return stiff(err)
}

func newBurn(e Exotherm, start, ambient units.Temperature) *burn {
	b := &burn{c: e.Kinetics.prepare(), rise: float64(e.Heat) / float64(e.Specific), t0: start.Kelvin(), amb: ambient.Kelvin(), tau: e.Cooling.Seconds()}
	if e.Cooling == 0 {
		b.tau = math.Inf(1)
	}
	b.c.piece(b.t0, 0)
	first, floor := b.c.start()
	c := &b.c
	b.s.Start(2, ode.Vec{0, b.t0}, min(first, b.tau/100, 1e6), b.slope, func(old, next, sc *ode.Vec) {
		sc[0] = c.tolerance(old[0], next[0], floor)
		sc[1] = stepError * 300
	})
	b.s.Max = 2 * b.tau
	return b
}

func (b *burn) slope(_ float64, y, dy *ode.Vec) {
	a, _ := b.c.conversion(max(y[0], 0))
	t := b.kelvin(y)
	k1, k2 := b.c.constants(t)
	dy[0] = b.c.speed(a, t, k1, k2)
	dy[1] = -(t - b.amb) / b.tau
}

// warming is dT/dt.
func (b *burn) warming(y *ode.Vec) float64 {
	var dy ode.Vec
	b.slope(0, y, &dy)
	_, left := b.c.conversion(max(y[0], 0))
	return dy[1] + b.rise*left*dy[0]
}

// kelvin is the temperature.
func (b *burn) kelvin(y *ode.Vec) float64 {
	t := y[1] + b.rise*b.conversion(y)
	return max(t, min(b.t0, b.amb)-1) // colder only in a step that will be refused
}

func (b *burn) conversion(y *ode.Vec) float64 {
	a, _ := b.c.conversion(max(y[0], 0))
	return min(1, max(0, a))
}

// until steps until f, of the unknowns, comes from below zero to above, and
// returns the time then, which may be a step later than limit; f rises with T or u.
func (b *burn) until(limit float64, f func(y *ode.Vec) float64) (float64, error) {
	if f(&b.s.Y) >= 0 {
		return 0, nil
	}
	rising := b.warming(&b.s.Y) > 0
	for b.now() < limit {
		if err := b.step(longest.Seconds()); err != nil {
			return 0, err
		}
		from, _ := b.s.From()
		if f(&b.s.Y) >= 0 {
			x, err := b.locate(from, b.s.T, f)
			return b.base + x, err
		}
		up := b.warming(&b.s.Y) > 0
		if rising && !up { // it may have been there in between
			x, err := b.peak()
			if err != nil {
				return 0, err
			}
			if y := b.s.At(x); f(&y) >= 0 {
				x, err := b.locate(from, x, f)
				return b.base + x, err
			}
		}
		rising = up
	}
	return 0, ErrNotReached
}

// peak returns when T turned from rising to falling in the last step, on the
// solver's clock.
func (b *burn) peak() (float64, error) {
	from, _ := b.s.From()
	return b.locate(from, b.s.T, func(y *ode.Vec) float64 { return -b.warming(y) })
}

// locate returns when f turns from below zero to above, on the solver's clock.
func (b *burn) locate(from, to float64, f func(y *ode.Vec) float64) (float64, error) {
	x, err := root.Brent(func(x float64) float64 { y := b.s.At(x); return f(&y) }, from, to, 1e-9)
	if errors.Is(err, root.ErrBracket) { // at the beginning within rounding
		return from, nil
	}
	return x, err
}

// TimeTo returns when the conversion comes to a, of a mass mixed at start in air
// of ambient: with the gel point its gel time, with what can still be worked
// its pot life.
//
// The error is [ErrNotReached] if that takes more than 14 days.
//
// Range: start and ambient -60 °C to 100 °C, a 0 to 100 %.
// Accuracy: 1e-6 of the time; less where a mass is on the brink of running away.
func (e Exotherm) TimeTo(start, ambient units.Temperature, a units.Fraction) (time.Duration, error) {
	const fn = "cure.Exotherm.TimeTo"
	if err := errors.Join(e.check(fn), ambientRange(fn, "start", start), ambientRange(fn, "ambient", ambient), units.FromZero(fn, "a", 100*float64(a), 100, "%")); err != nil {
		return 0, err
	}
	b := newBurn(e, start, ambient)
	want := b.c.extent(min(float64(a), 1))
	if math.IsInf(want, 1) {
		return 0, ErrNotReached
	}
	x, err := b.until(longest.Seconds(), func(y *ode.Vec) float64 { return y[0] - want })
	return wrapTime(fn, x, err)
}

// TimeToTemp returns when the mass first comes to temp, such as 60 °C; see
// [Exotherm.TimeTo]. It is 0 if start is as hot.
//
// Range: temp -60 °C to 600 °C.
func (e Exotherm) TimeToTemp(start, ambient, temp units.Temperature) (time.Duration, error) {
	const fn = "cure.Exotherm.TimeToTemp"
	if err := errors.Join(e.check(fn), ambientRange(fn, "start", start), ambientRange(fn, "ambient", ambient), hotRange(fn, "temp", temp)); err != nil {
		return 0, err
	}
	b := newBurn(e, start, ambient)
	if temp.Kelvin() > max(b.t0, b.amb)+b.rise { // more than all of its heat can
		return 0, ErrNotReached
	}
	x, err := b.until(longest.Seconds(), func(y *ode.Vec) float64 { return b.kelvin(y) - temp.Kelvin() })
	return wrapTime(fn, x, err)
}

func wrapTime(fn string, s float64, err error) (time.Duration, error) {
	if err != nil {
		if !errors.Is(err, ErrNotReached) {
			err = fmt.Errorf("%s: %w", fn, err)
		}
		return 0, err
	}
	return fromSeconds(s), nil
}

// Peak returns the hottest moment of a mass mixed at start in air of ambient. If
// no heat leaves, that is where the cure comes to in 73 years, at the time
// [Never]. If the mass only cools, it is its start.
//
// The error is [ErrNotReached] if the peak has not come within 14 days.
//
// Range: as [Exotherm.TimeTo]. Accuracy: 1e-6 of the temperature in °C, 1e-6 of
// the time.
func (e Exotherm) Peak(start, ambient units.Temperature) (Peak, error) {
	const fn = "cure.Exotherm.Peak"
	none := Peak{Temp: units.NaNTemperature(), Conversion: units.Fraction(math.NaN())}
	if err := errors.Join(e.check(fn), ambientRange(fn, "start", start), ambientRange(fn, "ambient", ambient)); err != nil {
		return none, err
	}
	b := newBurn(e, start, ambient)
	best := Peak{Temp: start}
	at := func(x float64) {
		y := b.s.At(x)
		if t := b.kelvin(&y); t > best.Temp.Kelvin() {
			best = Peak{fromSeconds(b.base + x), units.Kelvin(t), units.Fraction(b.conversion(&y))}
		}
	}
	rising := b.warming(&b.s.Y) > 0
	spent := math.NaN() // conversion from which on the rate falls to its end
	end := longest
	if math.IsInf(b.tau, 1) {
		end = farthestTime
	}
	for b.now() < end.Seconds() {
		if err := b.step(end.Seconds()); err != nil {
			return none, fmt.Errorf("%s: %w", fn, err)
		}
		up := b.warming(&b.s.Y) > 0
		if rising && !up {
			x, err := b.peak()
			if err != nil {
				return none, fmt.Errorf("%s: %w", fn, err)
			}
			at(x)
			spent = math.NaN()
		}
		rising = up
		if up || math.IsInf(b.tau, 1) {
			continue
		}
		// Falling, it rises again only if the rate does, and not above what heat is left for.
		a, t := b.conversion(&b.s.Y), b.kelvin(&b.s.Y)
		if max(t, b.amb)+b.rise*(1-a) <= best.Temp.Kelvin() {
			return best, nil
		}
		if math.IsNaN(spent) {
			spent = max(b.c.fallsFrom(t), b.c.fallsFrom(b.amb))
		}
		if a >= spent && t >= b.amb {
			return best, nil
		}
	}
	if math.IsInf(b.tau, 1) {
		at(b.s.T)
		best.At = Never
		return best, nil
	}
	return none, ErrNotReached
}

// fallsFrom returns a conversion, at most 1/200 late, from which on the rate at t
// in K falls to the end. The fastest one may come before: with an order N below 1
// the rate can fall from the start and rise again.
func (c *curing) fallsFrom(t float64) float64 {
	const n = 400
	later := c.rate(1, t)
	for i := n - 1; i >= 0; i-- {
		r := c.rate(float64(i)/n, t)
		if r < later {
			return float64(min(i+2, n)) / n
		}
		later = r
	}
	return 0
}

// A Moment is the state of a mass at one time.
type Moment struct {
	Temp       units.Temperature
	Conversion units.Fraction
}

// Run returns the state at each of the times at, rising and 0 to 14 days, of a
// mass mixed at start in air of ambient.
//
// Range and accuracy: as [Exotherm.TimeTo].
func (e Exotherm) Run(start, ambient units.Temperature, at []time.Duration) ([]Moment, error) {
	const fn = "cure.Exotherm.Run"
	err := errors.Join(e.check(fn), ambientRange(fn, "start", start), ambientRange(fn, "ambient", ambient))
	for i, d := range at {
		err = errors.Join(err, units.FromZero(fn, "at", d.Hours(), longest.Hours(), "h"))
		if i > 0 && d < at[i-1] {
			err = errors.Join(err, fmt.Errorf("%w: %s: at[%d] = %v after %v: want rising times", units.ErrRange, fn, i, d, at[i-1]))
		}
	}
	if err != nil {
		return nil, err
	}
	b := newBurn(e, start, ambient)
	out := make([]Moment, 0, len(at))
	for _, d := range at {
		x := d.Seconds()
		for b.now() < x {
			if err := b.step(at[len(at)-1].Seconds()); err != nil {
				return nil, fmt.Errorf("%s: %w", fn, err)
			}
		}
		from, _ := b.s.From()
		y := b.s.At(min(b.s.T, max(from, x-b.base)))
		out = append(out, Moment{units.Kelvin(b.kelvin(&y)), units.Fraction(b.conversion(&y))})
	}
	return out, nil
}
