package cure

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// A Bin is one row of a table that is printed by ranges of temperature: "60 to
// 64 °F: 4 h". A zero Lo or Hi is an open end ("85 °F and above").
type Bin struct {
	Lo, Hi units.Temperature
	Time   time.Duration
}

// Bins is one event's binned table, in rising order of temperature.
type Bins []Bin

// Validate returns an error unless there is a bin, each lies above the one
// before (or begins where that ends), only the outer ends are open, each
// temperature is -60 °C to 150 °C and each time above zero.
func (b Bins) Validate() error {
	if len(b) == 0 {
		return fmt.Errorf("%w: cure.Bins: no bins: want at least one", units.ErrRange)
	}
	for i, x := range b {
		err := checkTime("cure.Bins", "Time", x.Time)
		if i > 0 || !x.Lo.IsZero() {
			err = errors.Join(err, celsius("cure.Bins", "Lo", x.Lo, coldest, hottest))
		}
		if i < len(b)-1 || !x.Hi.IsZero() {
			err = errors.Join(err, celsius("cure.Bins", "Hi", x.Hi, coldest, hottest))
		}
		if err != nil {
			return fmt.Errorf("bin %d: %w", i, err)
		}
		if !x.Lo.IsZero() && !x.Hi.IsZero() && !x.Lo.Less(x.Hi) {
			return fmt.Errorf("%w: cure.Bins: bin %d is from %v to %v: want a range that rises", units.ErrRange, i, x.Lo, x.Hi)
		}
		if i > 0 && x.Lo.Less(b[i-1].Hi) {
			return fmt.Errorf("%w: cure.Bins: bin %d begins at %v: want %v or above, where the one before ends", units.ErrRange, i, x.Lo, b[i-1].Hi)
		}
	}
	return nil
}

// Table returns the bins as rows at the middle of each. A bin with an open end
// has no middle: it is left out. (To give it one, as a width like the others',
// makes 69 kJ/mol of the 62 of a published table.)
func (b Bins) Table() (Table, error) {
	if err := b.Validate(); err != nil {
		return nil, err
	}
	var t Table
	for _, x := range b {
		if !x.Lo.IsZero() && !x.Hi.IsZero() {
			t = append(t, Point{x.Lo.Add(x.Hi.Sub(x.Lo) / 2), x.Time})
		}
	}
	if len(t) == 0 {
		return nil, fmt.Errorf("%w: cure.Bins: every bin has an open end: want one with a middle", units.ErrRange)
	}
	return t, nil
}

// NotBefore returns the law of the earliest time as the table prints it, in
// steps: between two bins ("64", "65 °F") the longer time of the two; colder
// than a closed coldest bin nothing proceeds; hotter than a closed hottest bin it
// takes no less than there.
func (b Bins) NotBefore() Law { return binLaw{slices.Clone(b), true} }

// NotAfter returns the law of the latest time as the table prints it, in steps:
// between two bins the shorter time of the two; colder than a closed coldest
// bin no longer than there; hotter than a closed hottest bin half as long for
// every 10 K (common practice, no source).
func (b Bins) NotAfter() Law { return binLaw{slices.Clone(b), false} }

type binLaw struct {
	bins      Bins
	notBefore bool
}

// Time returns the event's time.
func (l binLaw) Time(temp units.Temperature) (time.Duration, error) {
	var w walk
	if err := w.take(l); err != nil {
		return 0, err
	}
	r := w.rate(temp.Kelvin())
	if w.err != nil {
		return 0, w.err
	}
	return max(1, duration(1/r)), nil
}

func (w *walk) binned(l binLaw) {
	const slack = 1e-9 // K: bins are printed with both their ends
	rate := func(d time.Duration) float64 { return -math.Log(d.Seconds()) }
	n := len(l.bins)
	first, last := l.bins[0], l.bins[n-1]
	from := w.lo
	if !first.Lo.IsZero() {
		a := math.Inf(-1)
		if !l.notBefore {
			a = rate(first.Time)
		}
		w.add(line{lo: from, at: ref20, a: a})
		from = first.Lo.Kelvin() - slack
	}
	for i, x := range l.bins {
		w.add(line{lo: from, at: ref20, a: rate(x.Time)})
		if i == n-1 {
			break
		}
		next := l.bins[i+1]
		end, begin := x.Hi.Kelvin()+slack, next.Lo.Kelvin()-slack
		switch longer := x.Time > next.Time; {
		case begin > end: // a gap
			gap := min(x.Time, next.Time)
			if l.notBefore {
				gap = max(x.Time, next.Time)
			}
			w.add(line{lo: end, at: ref20, a: rate(gap)})
			from = begin
		case longer == l.notBefore:
			from = end
		default:
			from = begin
		}
	}
	if hi := last.Hi.Kelvin(); !last.Hi.IsZero() && !l.notBefore {
		w.add(line{lo: hi + slack, at: hi, a: rate(last.Time), c: math.Ln2 / 10})
	}
}
