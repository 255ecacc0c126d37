package cure

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/ode"
	"github.com/tackfree/tackfree/internal/root"
)

// stepError is the share of the conversion, or of the temperature in K, that one
// step of the integration may be wrong by.
const stepError = 1e-12

// Convert returns the conversion at each of the times at, in any order, of a mix
// that begins to react at time 0 of t. Before the first sample of t its
// temperature holds, and past the last one that; compare a time with that sample
// to know whether it did.
//
// Range: k as [Kinetics], at from 0 to 73 years.
// Accuracy: 1e-9 of the conversion at 72 h of a floor's temperatures.
//
// Source: the model stands at [Kinetics]; integrated by DOP853 between the
// samples, with dense output.
func (k Kinetics) Convert(t climate.Trace, at []time.Duration) ([]units.Fraction, error) {
	const fn = "cure.Kinetics.Convert"
	err := errors.Join(k.check(fn), t.Validate())
	for i, d := range at {
		if d < 0 || d > farthestTime {
			err = errors.Join(err, fmt.Errorf("at[%d]: %w", i, &units.RangeError{Func: fn, Arg: "at", Got: d.Hours(), Lo: 0, Hi: farthestTime.Hours(), Unit: "h"}))
		}
	}
	if err != nil {
		return nil, err
	}
	out := make([]units.Fraction, len(at))
	var order []int
	if !slices.IsSorted(at) {
		order = make([]int, len(at))
		for i := range order {
			order[i] = i
		}
		slices.SortStableFunc(order, func(i, j int) int { return int(max(-1, min(1, at[i]-at[j]))) })
	}
	next := 0
	nth := func() int {
		if order != nil {
			return order[next]
		}
		return next
	}
	for ; next < len(at) && at[nth()] == 0; next++ { // a(0) = 0
	}
	if next == len(at) {
		return out, nil
	}
	last := at[len(at)-1]
	if order != nil {
		last = at[order[len(at)-1]]
	}
	m := newMarch(k, t)
	gone := 0.0
	for next < len(at) {
		if err := m.step(last); err != nil {
			return nil, fmt.Errorf("%s: %w", fn, err)
		}
		for ; next < len(at) && at[nth()] <= m.now; next++ {
			d := at[nth()]
			a, _ := m.c.conversion(m.at(d))
			gone = min(1, max(gone, a)) // rounding must not lift it out, nor let a stalled cure fall
			out[nth()] = units.Fraction(gone)
		}
	}
	return out, nil
}

// TimeTo returns when the conversion comes to a, on the clock of t; see
// [Kinetics.Convert]. The last temperature of t holds past its end: compare the
// result with the last sample to know whether it did.
//
// The error is [ErrNotReached] if that takes more than 73 years, or for ever.
//
// Range: k as [Kinetics], a 0 to 100 %.
// Accuracy: 1e-6 h, or the time that 1e-9 of the conversion takes if that is more.
func (k Kinetics) TimeTo(t climate.Trace, a units.Fraction) (time.Duration, error) {
	const fn = "cure.Kinetics.TimeTo"
	if err := errors.Join(k.check(fn), t.Validate(), units.FromZero(fn, "a", 100*float64(a), 100, "%")); err != nil {
		return 0, err
	}
	if a == 0 {
		return 0, nil
	}
	m := newMarch(k, t)
	want := m.c.extent(min(float64(a), 1))
	if math.IsInf(want, 1) {
		return 0, ErrNotReached
	}
	for m.now < farthestTime {
		if err := m.step(farthestTime); err != nil {
			return 0, fmt.Errorf("%s: %w", fn, err)
		}
		if m.s.Y[0] >= want {
			return m.locate(func(_, u float64) float64 { return u - want })
		}
	}
	return 0, ErrNotReached
}

// farthestTime is how far from 0 times may be, as in package climate: 73 years.
const farthestTime = time.Duration(1 << 61)

// A march integrates a cure along a trace, step by step. The solver's clock
// begins anew at each sample, so that far from 0 no digits are lost.
type march struct {
	s      ode.Solver
	c      curing
	t      climate.Trace
	i      int           // the next sample
	from   time.Duration // where the piece, and the solver's clock, begin
	now    time.Duration
	length float64 // of the piece in s
	kink   bool    // the rate is not smooth where Tg = T
}

func newMarch(k Kinetics, t climate.Trace) *march {
	m := &march{c: k.prepare(), t: t}
	_, m.kink = k.Diffusion.(WLF)
	for m.i < len(t) && t[m.i].At <= 0 {
		m.i++
	}
	m.piece()
	c := &m.c
	first, floor := c.start()
	m.s.Start(1, ode.Vec{}, min(first, 1e9), func(x float64, y, dy *ode.Vec) {
		a := c.share(max(y[0], 0))
		if c.slope == 0 {
			dy[0] = c.speed(a, c.t0, c.k1, c.k2)
			return
		}
		temp := c.t0 + c.slope*x
		k1, k2 := c.constants(temp)
		dy[0] = c.speed(a, temp, k1, k2)
	}, func(old, next, sc *ode.Vec) {
		sc[0] = c.tolerance(old[0], next[0], floor)
	})
	return m
}

// tolerance returns by how much a step from u to next may be wrong in u: by the
// error of the conversion, da = (1-a)^N du, at the step's beginning, where it is
// largest, for what lies within the step must be as good. Where nothing is left
// to react that would be anything at all, even a u that falls.
func (c *curing) tolerance(u, next, floor float64) float64 {
	_, left := c.conversion(max(u, 0))
	a, _ := c.conversion(max(next, 0))
	tol := (stepError*min(a, 1) + floor) / left
	if left < 1e-6 {
		tol = min(tol, 1e-3*u)
	}
	return tol
}

// start returns the first step to try, in s, and the error of a near 0 that is as
// good as none.
func (c *curing) start() (first, floor float64) {
	first, floor = 0.01/(c.k1+c.k2), 1e-300
	if c.m > 0 && c.m < 1 && c.a2 > 0 {
		// The rate is infinitely steep at a = 0. An error there of all of a shifts the
		// cure by the time a^(1-M)/k2: below floor that is less than a step's tolerance,
		// and the first steps are as short.
		first *= stepError
		floor = max(floor, math.Pow(stepError, 1/(1-c.m)))
	}
	return first, floor
}

// piece sets up the piece of the trace that begins at from.
func (m *march) piece() {
	here, _ := m.t.At(m.from)
	m.length = math.Inf(1)
	slope := 0.0
	if m.i < len(m.t) {
		m.length = (m.t[m.i].At - m.from).Seconds()
		slope = float64(m.t[m.i].Temp.Sub(here)) / m.length
	}
	if m.i == 0 { // before the first sample
		slope = 0
	}
	m.c.piece(here.Kelvin(), slope)
}

// step takes one step, not beyond the next sample nor last.
func (m *march) step(last time.Duration) error {
	if m.i < len(m.t) && m.now >= m.t[m.i].At {
		m.from = m.t[m.i].At
		m.i++
		m.piece()
		m.s.Restart(false)
	}
	err := m.stepOn(last)
	if errors.Is(err, ode.ErrSmall) && m.s.T > 0 {
		// So fast after so long that the clock cannot tell: begin it anew.
		m.from += fromSeconds(m.s.T)
		m.piece()
		m.s.Restart(false)
		err = m.stepOn(last)
	}
	return stiff(err)
}

// ErrTooStiff says that a reaction is so fast beside the diffusion that stops it,
// or beside the heat that it loses, that a million steps do not follow it: figures
// of no resin.
var ErrTooStiff = errors.New("cure: the reaction is too fast beside its diffusion or its cooling to be followed")

func stiff(err error) error {
	if errors.Is(err, ode.ErrSteps) {
		return fmt.Errorf("%w: %w", ErrTooStiff, err)
	}
	return err
}

func (m *march) stepOn(last time.Duration) error {
	end, stop := min(m.length, (last-m.from).Seconds()), last
	whole := end
	if m.i < len(m.t) {
		stop = min(stop, m.t[m.i].At)
	}
	side := m.side(m.s.T, m.s.Y[0])
	if err := m.s.Step(end); err != nil {
		return err
	}
	if m.kink && side*m.side(m.s.T, m.s.Y[0]) < 0 { // end the step at the kink instead
		from, _ := m.s.From()
		x, err := root.Brent(func(x float64) float64 { return m.side(x, m.s.At(x)[0]) }, from, m.s.T, 1e-9)
		if err != nil {
			return err
		}
		if m.s.Undo(); x > from && x < end {
			end = x
		}
		if err := m.s.Step(end); err != nil {
			return err
		}
	}
	if m.s.T == whole {
		m.now = stop
	} else {
		m.now = m.from + fromSeconds(m.s.T)
	}
	return nil
}

// side is how far the mix is from the kink of [WLF] at Tg = T, in K.
func (m *march) side(x, u float64) float64 {
	if !m.kink {
		return 0
	}
	a, _ := m.c.conversion(max(u, 0))
	return m.c.t0 + m.c.slope*x - m.c.glass.tg(a)
}

// at is u at d within the last step.
func (m *march) at(d time.Duration) float64 {
	if d == m.now {
		return m.s.Y[0]
	}
	from, _ := m.s.From()
	return m.s.At(min(max((d-m.from).Seconds(), from), m.s.T))[0]
}

// locate returns when f of the solver's clock and u turns from below zero to
// above within the last step.
func (m *march) locate(f func(x, u float64) float64) (time.Duration, error) {
	from, _ := m.s.From()
	return m.locateWithin(from, m.s.T, f)
}

func (m *march) locateWithin(from, to float64, f func(x, u float64) float64) (time.Duration, error) {
	x, err := root.Brent(func(x float64) float64 { return f(x, m.s.At(x)[0]) }, from, to, 1e-9)
	if errors.Is(err, root.ErrBracket) { // it is at the beginning within rounding
		x, err = from, nil
	}
	return min(m.now, m.from+fromSeconds(x)), err
}

// fromSeconds is for times within 73 years.
func fromSeconds(s float64) time.Duration { return time.Duration(math.Round(s * 1e9)) }
