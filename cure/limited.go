package cure

import (
	"math"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// AtLeast returns law with a floor: "not before 4 h, however warm". The floor is
// put on the scaled time; rows that stand on it are no part of a fit.
func AtLeast(law Law, floor time.Duration) Law {
	return limited{law, floor, true, checkTime("cure.AtLeast", "floor", floor)}
}

// AtMost returns law with a cap: "no later than 48 h, however cold". It is put on
// the scaled time; rows that stand on it are no part of a fit.
func AtMost(law Law, most time.Duration) Law {
	return limited{law, most, false, checkTime("cure.AtMost", "most", most)}
}

type limited struct {
	law   Law
	limit time.Duration
	floor bool
	err   error
}

// Time returns the event's time.
func (l limited) Time(temp units.Temperature) (time.Duration, error) {
	if l.err != nil {
		return 0, l.err
	}
	if l.law == nil {
		return 0, errNoLaw
	}
	d, err := l.law.Time(temp)
	switch {
	case err != nil:
		return 0, err
	case l.floor:
		return max(d, l.limit), nil
	}
	return min(d, l.limit), nil
}

// limited adds the lines of l, each cut where it crosses the limit.
func (w *walk) limited(l limited) error {
	if l.err != nil {
		return l.err
	}
	var in walk
	if err := in.take(l.law); err != nil {
		return err
	}
	w.fn, w.lo, w.hi, w.slack = in.fn, in.lo, in.hi, in.slack
	if in.other != nil {
		w.other = l
		return nil
	}
	limit := -math.Log(l.limit.Seconds())
	for i := range in.n {
		p, top := *in.line(i), in.top(i)
		cut := p.crossings(limit)
		from := p.lo
		for _, x := range [3]float64{cut[0], cut[1], top} {
			if !(x > from && x <= top) {
				continue
			}
			part := p
			part.lo = from
			if mid := p.ln(from + (x-from)/2); mid > limit == l.floor && mid != limit {
				part = line{lo: from, at: p.at, a: limit}
			}
			w.add(part)
			from = x
		}
	}
	return nil
}

// crossings returns the temperatures at which ln rate is y, in rising order;
// NaN where there is none.
func (l *line) crossings(y float64) [2]float64 {
	// c T² + (a - q - c at - y) T + q at = 0
	c, b, d := l.c, l.a-l.q-l.c*l.at-y, l.q*l.at
	none := math.NaN()
	if c == 0 {
		if b == 0 || d == 0 {
			return [2]float64{none, none}
		}
		return [2]float64{-d / b, none}
	}
	s := math.Sqrt(b*b - 4*c*d)
	if b < 0 {
		s = -s
	}
	x, z := -(b+s)/(2*c), -2*d/(b+s)
	return [2]float64{min(x, z), max(x, z)}
}
