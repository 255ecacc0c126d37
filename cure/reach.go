package cure

import (
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// ErrNotReached says that an event never comes along a history.
var ErrNotReached = errors.New("cure: the event is never reached along this history")

// farthest is how far a time may be from the origin of a trace's clock: 73
// years, so that differences of times cannot overflow.
const farthest = time.Duration(1 << 61)

// moment checks a time on a trace's clock.
func moment(fn, arg string, d time.Duration) error {
	return units.InRange(fn, arg, d.Hours(), -farthest.Hours(), farthest.Hours(), "h")
}

// Reach returns when the event of law comes along t if it begins at start:
// the moment, on t's clock, up to which the integral of dt/Time(T(t)) from
// start is 1. Past t's last sample the last temperature is held; compare the
// result with that sample to know whether it was.
//
// The error is [ErrNotReached] if the last temperature brings no more progress
// (or the event is later than a time.Duration can say), and the law's own where
// the history leaves its range.
//
// Accuracy: 1e-9 of the time for the laws of this package (each Arrhenius piece
// by its Taylor series, or by Gauss-Legendre where it is wide, between the kinks
// of law and trace); for other laws 1e-9 where they are smooth in temperature.
// Source: the equivalent-age integral of ASTM C1074, with the event as the age.
func Reach(law Law, t climate.Trace, start time.Duration) (time.Duration, error) {
	var w walk
	if err := w.begin(law, t); err != nil {
		return 0, err
	}
	if err := moment("cure.Reach", "start", start); err != nil {
		return 0, err
	}
	return w.reach(t, start, 1)
}

// begin checks t and takes law apart.
func (w *walk) begin(law Law, t climate.Trace) error {
	if err := t.Validate(); err != nil {
		return err
	}
	return w.take(law)
}

// reach returns when the integral from start is need.
func (w *walk) reach(t climate.Trace, start time.Duration, need float64) (time.Duration, error) {
	last := t[len(t)-1]
	sum, at, there := w.along(t, start, last.At, need)
	if there {
		return at, nil
	}
	if w.err != nil {
		return 0, w.err
	}
	at, ok := w.heldUntil(max(start, last.At), last.Temp.Kelvin(), need-sum)
	if w.err != nil {
		return 0, w.err
	}
	if !ok {
		return 0, ErrNotReached
	}
	return at, nil
}

// heldUntil returns when left is gone from now on with k kelvin held, if ever.
func (w *walk) heldUntil(now time.Duration, k, left float64) (at time.Duration, ok bool) {
	r := w.rate(k)
	more := left / r * 1e9
	if w.err != nil || r == 0 || !(float64(now)+more < math.MaxInt64) {
		return 0, false
	}
	return now + time.Duration(math.Round(more)), true
}

// Progress returns the integral of dt/Time(T(t)) along t: the share of the
// event's way that is gone between from and to; it may exceed 1.
//
// Accuracy and errors: as [Reach]; to before from is an error.
func Progress(law Law, t climate.Trace, from, to time.Duration) (units.Fraction, error) {
	var w walk
	if err := w.begin(law, t); err != nil {
		return units.Fraction(math.NaN()), err
	}
	if to < from || to-from < 0 {
		return units.Fraction(math.NaN()), fmt.Errorf("%w: cure.Progress: to = %v: want from = %v or later", units.ErrRange, to, from)
	}
	sum, _, _ := w.along(t, from, to, math.Inf(1))
	if w.err != nil {
		return units.Fraction(math.NaN()), w.err
	}
	if math.IsInf(sum, 1) {
		return units.Fraction(math.NaN()), fmt.Errorf("%w: cure.Progress: the event comes more often than a float64 can say", units.ErrRange)
	}
	return units.Fraction(sum), nil
}
