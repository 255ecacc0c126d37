package cure

import (
	"fmt"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// A Piece is a law over a range of temperature.
type Piece struct {
	From, To units.Temperature
	Law      Law
}

// A Piecewise is a law put together from others, in rising order of
// temperature, each beginning where the one before ends: below 15 °C this
// activation energy, above it that. Where the times jump, the warmer piece's
// holds at the joint. Outside the pieces is an error.
type Piecewise []Piece

// Validate returns an error unless there is a piece, each is above the one
// before, and each one's law holds at both its ends.
func (p Piecewise) Validate() error {
	if len(p) == 0 {
		return fmt.Errorf("%w: cure.Piecewise: no pieces: want at least one", units.ErrRange)
	}
	for i, q := range p {
		if q.Law == nil {
			return fmt.Errorf("cure.Piecewise: piece %d: %w", i, errNoLaw)
		}
		if !q.From.Less(q.To) {
			return fmt.Errorf("%w: cure.Piecewise: piece %d is from %v to %v: want a range that rises", units.ErrRange, i, q.From, q.To)
		}
		if i > 0 && p[i-1].To != q.From {
			return fmt.Errorf("%w: cure.Piecewise: piece %d begins at %v: want %v, where the one before ends", units.ErrRange, i, q.From, p[i-1].To)
		}
		for _, end := range [2]units.Temperature{q.From, q.To} {
			if _, err := q.Law.Time(end); err != nil {
				return fmt.Errorf("cure.Piecewise: piece %d: %w", i, err)
			}
		}
	}
	return nil
}

// Time returns the event's time.
func (p Piecewise) Time(temp units.Temperature) (time.Duration, error) {
	if err := p.Validate(); err != nil {
		return 0, err
	}
	lo, hi := p[0].From, p[len(p)-1].To
	if err := celsius("cure.Piecewise", "temp", temp, lo.Kelvin(), hi.Kelvin()); err != nil {
		return 0, err
	}
	i := len(p) - 1
	for i > 0 && temp.Less(p[i].From) {
		i--
	}
	return p[i].Law.Time(temp)
}

func (w *walk) piecewise(p Piecewise) error {
	if err := p.Validate(); err != nil {
		return err
	}
	w.within("cure.Piecewise", p[0].From.Kelvin(), p[len(p)-1].To.Kelvin())
	for i, q := range p {
		var in walk
		if err := in.take(q.Law); err != nil {
			return err
		}
		if in.other != nil {
			w.other = p
			return nil
		}
		from, to := q.From.Kelvin(), q.To.Kelvin()
		for j := range in.n {
			l := *in.line(j)
			if l.lo >= to || j+1 < in.n && in.top(j) <= from {
				continue
			}
			if l.lo = max(l.lo, from); i == 0 && l.lo == from {
				l.lo = w.lo
			}
			w.add(l)
		}
	}
	return nil
}
