package cure

import (
	"errors"
	"fmt"
	"math"
	"sort"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// An Arrival is when one of several events comes.
type Arrival struct {
	At    time.Duration // on the trace's clock; 0 if Never
	Never bool          // as [ErrNotReached]
	Held  bool          // later than the trace's last sample, whose temperature is held
}

// ReachAll returns when each event of laws comes along t if all begin at start,
// in one pass over t: tack-free, grindable, recoat earliest and latest, foot. Each is
// what [Reach] returns, but for the last digits, as the two add up in another
// order; an event that never comes is a result here. The error joins those of all
// laws, each with its place.
func ReachAll(laws []Law, t climate.Trace, start time.Duration) ([]Arrival, error) {
	if err := errors.Join(t.Validate(), moment("cure.ReachAll", "start", start)); err != nil {
		return nil, err
	}
	type course struct {
		walk
		sum  float64
		done bool
	}
	var err error
	all, list := make([]course, len(laws)), make([]Arrival, len(laws))
	for i, law := range laws {
		if bad := all[i].take(law); bad != nil {
			err = errors.Join(err, fmt.Errorf("law %d: %w", i, bad))
		}
	}
	if err != nil {
		return nil, err
	}
	last := t[len(t)-1]
	for r, left := newRide(t, start, last.At), len(laws); left > 0; {
		now, a, b, dt, ok := r.next()
		if !ok {
			break
		}
		for i := range all {
			c := &all[i]
			if c.done {
				continue
			}
			p, x := c.segment(a, b, dt, 1-c.sum)
			c.sum += p
			if c.done = x >= 0 || c.err != nil; !c.done {
				continue
			}
			left--
			list[i].At = now + time.Duration(math.Round(x*1e9))
		}
	}
	for i := range all {
		c := &all[i]
		if !c.done {
			at, ok := c.heldUntil(max(start, last.At), last.Temp.Kelvin(), 1-c.sum)
			list[i] = Arrival{At: at, Never: !ok, Held: ok && at > last.At}
		}
		if c.err != nil {
			err = errors.Join(err, fmt.Errorf("law %d: %w", i, c.err))
		}
	}
	if err != nil {
		return nil, err
	}
	return list, nil
}

// ProgressAt returns the progress of an event that begins at start at each of
// the times at, in one pass: the curve of a picture. The times must not fall and
// not be before start. Progress may exceed 1.
//
// Accuracy and errors: as [Progress].
func ProgressAt(law Law, t climate.Trace, start time.Duration, at []time.Duration) ([]units.Fraction, error) {
	var w walk
	if err := w.begin(law, t); err != nil {
		return nil, err
	}
	list := make([]units.Fraction, len(at))
	sum, from := 0.0, start
	for i, to := range at {
		if err := stretch("cure.ProgressAt", t[:1], from, to); err != nil {
			return nil, fmt.Errorf("time %d: %w", i, err)
		}
		p, _, _ := w.along(t, from, to, math.Inf(1))
		if w.err != nil {
			return nil, w.err
		}
		if sum += p; math.IsInf(sum, 1) {
			return nil, fmt.Errorf("%w: cure.ProgressAt: the event comes more often than a float64 can say", units.ErrRange)
		}
		list[i], from = units.Fraction(sum), to
	}
	return list, nil
}

// LatestStart returns the latest start with which the event of law is reached
// along t by the time by: the inverse of [Reach]. Before t's first sample its
// temperature is held; compare the result with that sample to know whether it was.
//
// The error is [ErrNotReached] if no start within 73 years of 0 is early
// enough, and the law's own where the history leaves its range.
//
// Accuracy: as [Reach].
func LatestStart(law Law, t climate.Trace, by time.Duration) (time.Duration, error) {
	var w walk
	if err := w.begin(law, t); err != nil {
		return 0, err
	}
	if err := moment("cure.LatestStart", "by", by); err != nil {
		return 0, err
	}
	sum, now := 0.0, by
	here, _ := t.At(by)
	k := here.Kelvin()
	for i := sort.Search(len(t), func(i int) bool { return t[i].At >= by }) - 1; i >= 0; i-- {
		b := t[i].Temp.Kelvin()
		p, x := w.segment(k, b, float64(now-t[i].At)*1e-9, 1-sum)
		if w.err != nil {
			return 0, w.err
		}
		if x >= 0 {
			return now - time.Duration(math.Round(x*1e9)), nil
		}
		sum += p
		now, k = t[i].At, b
	}
	r := w.rate(k)
	if w.err != nil {
		return 0, w.err
	}
	more := (1 - sum) / r * 1e9
	if r == 0 || !(float64(now)-more >= -float64(farthest)) {
		return 0, ErrNotReached
	}
	return now - time.Duration(math.Round(more)), nil
}

// UntilClosed returns how long after now a window closes that law gives the
// latest time of and that began at start; below zero it closed that long ago.
//
// The error is [ErrNotReached] if it does not close along t; now before
// start is an error.
//
// Accuracy and errors: as [Reach].
func UntilClosed(law Law, t climate.Trace, start, now time.Duration) (time.Duration, error) {
	if err := moment("cure.UntilClosed", "now", now); err != nil {
		return 0, err
	}
	if now < start {
		return 0, fmt.Errorf("%w: cure.UntilClosed: now = %v: want start = %v or later", units.ErrRange, now, start)
	}
	at, err := Reach(law, t, start)
	if err != nil {
		return 0, err
	}
	if now < 0 && at > math.MaxInt64+now {
		return 0, ErrNotReached // later than a time.Duration can say
	}
	return at - now, nil
}
