package cure

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// Reach returns when the event of l comes along the film's temperature t and the
// humidity damp over it, if it begins at start: the moment, on the clock of both,
// up to which the integral of dt/Time(T(t), RH(t)) from start is 1. Temperature
// and relative humidity are each linear between their own readings, which need not
// be at the same times, and held past their ends; compare the result with those to
// know whether they were.
//
// The error is [ErrNotReached] if what is held brings no more progress (or the
// event is later than a time.Duration can say); where the histories leave the
// rows before that it is the law's, with the time.
//
// Accuracy: 1e-9 of the time: five-point Gauss-Legendre between the readings and
// the crossings of rows and columns.
// Source: the equivalent-age integral of ASTM C1074 with a rate that hangs on the
// humidity too; [HumidTable].
func (l HumidLaw) Reach(t climate.Trace, damp Humidity, start time.Duration) (time.Duration, error) {
	const fn = "cure.HumidLaw.Reach"
	if err := errors.Join(l.check(), t.Validate(), damp.Validate(), moment(fn, "start", start)); err != nil {
		return 0, err
	}
	end := max(start, t[len(t)-1].At, damp[len(damp)-1].At)
	sum, at, there, err := l.along(fn, t, damp, start, end, 1)
	if err != nil {
		return 0, fmt.Errorf("from %v on: %w", at, err)
	}
	if there {
		return at, nil
	}
	k, rh := t[len(t)-1].Temp.Kelvin(), float64(damp[len(damp)-1].RH)
	c, err := l.cell(fn, k, rh)
	if err != nil {
		return 0, fmt.Errorf("from %v on: %w", end, err)
	}
	if c.stopped {
		return 0, ErrNotReached
	}
	more := (1 - sum) / c.rate(k, rh) * 1e9
	if !(float64(end)+more < math.MaxInt64) {
		return 0, ErrNotReached
	}
	return end + time.Duration(math.Round(more)), nil
}

// Progress returns the share of the event's way that is gone between from and to
// along t and damp, as [HumidLaw.Reach] counts it; it may exceed 1.
//
// Accuracy and errors: as Reach; to before from is an error.
func (l HumidLaw) Progress(t climate.Trace, damp Humidity, from, to time.Duration) (units.Fraction, error) {
	const fn = "cure.HumidLaw.Progress"
	nan := units.Fraction(math.NaN())
	if err := errors.Join(l.check(), damp.Validate()); err != nil {
		return nan, err
	}
	if err := stretch(fn, t, from, to); err != nil {
		return nan, err
	}
	sum, at, _, err := l.along(fn, t, damp, from, to, math.Inf(1))
	if err != nil {
		return nan, fmt.Errorf("from %v on: %w", at, err)
	}
	return units.Fraction(sum), nil
}

// LatestStart returns the latest start with which the event of l is reached along
// t and damp by the time by: the inverse of [HumidLaw.Reach]. Before their first
// readings both are held.
//
// The error is [ErrNotReached] if no start within 73 years of 0 is early enough,
// and the law's own where the histories leave its rows, with the time before by.
//
// Accuracy: as Reach.
func (l HumidLaw) LatestStart(t climate.Trace, damp Humidity, by time.Duration) (time.Duration, error) {
	if err := errors.Join(l.check(), t.Validate(), damp.Validate(), moment("cure.HumidLaw.LatestStart", "by", by)); err != nil {
		return 0, err
	}
	back, wet := slices.Clone(t), slices.Clone(damp) // the same in a mirror
	slices.Reverse(back)
	slices.Reverse(wet)
	for i := range back {
		back[i].At = by - back[i].At
	}
	for i := range wet {
		wet[i].At = by - wet[i].At
	}
	// A history may reach back further than a start may be: to -73 years.
	end := max(0, min(by+farthest, max(back[len(back)-1].At, wet[len(wet)-1].At)))
	const fn = "cure.HumidLaw.LatestStart"
	sum, d, there, err := l.along(fn, back, wet, 0, end, 1)
	if err != nil {
		return 0, fmt.Errorf("up to %v: %w", by-d, err)
	}
	if there {
		return by - d, nil
	}
	here, _ := back.At(end)
	k, rh := here.Kelvin(), float64(wet.at(end))
	c, err := l.cell(fn, k, rh)
	if err != nil {
		return 0, fmt.Errorf("up to %v: %w", by-end, err)
	}
	if c.stopped {
		return 0, ErrNotReached
	}
	more := (1 - sum) / c.rate(k, rh) * 1e9
	if !(float64(by-end)-more >= -float64(farthest)) {
		return 0, ErrNotReached
	}
	return by - end - time.Duration(math.Round(more)), nil
}

// along integrates from from until the integral is need, which it is at at; or,
// if it does not come to that by to, until to, and there is false. Where the law
// ends it is an error, and at the time from which on.
func (l *HumidLaw) along(fn string, t climate.Trace, damp Humidity, from, to time.Duration, need float64) (sum float64, at time.Duration, there bool, err error) {
	i, _ := slices.BinarySearchFunc(t, from, func(s climate.Sample, d time.Duration) int { return after(s.At, d) })
	j, _ := slices.BinarySearchFunc(damp, from, func(s Damp, d time.Duration) int { return after(s.At, d) })
	here, _ := t.At(from)
	k0, rh0 := here.Kelvin(), float64(damp.at(from))
	var cuts []float64
	for now := from; now < to; {
		next := to
		if i < len(t) {
			next = min(next, t[i].At)
		}
		if j < len(damp) {
			next = min(next, damp[j].At)
		}
		temp, _ := t.At(next)
		k1, rh1 := temp.Kelvin(), float64(damp.at(next))
		w := way{now, float64(next-now) * 1e-9, k0, k1, rh0, rh1}
		cuts = l.cuts(cuts[:0], w)
		for n, x0 := range cuts[:len(cuts)-1] {
			x1 := cuts[n+1]
			mid := x0 + (x1-x0)/2
			c, err := l.cell(fn, w.kelvin(mid), w.damp(mid))
			if err != nil {
				return math.NaN(), w.time(x0), false, err
			}
			if c.stopped {
				continue
			}
			p, x := c.integrate(w, x0, x1, need-sum)
			if x >= 0 {
				return need, w.time(x), true, nil
			}
			sum += p
		}
		for ; i < len(t) && t[i].At <= next; i++ {
		}
		for ; j < len(damp) && damp[j].At <= next; j++ {
		}
		now, k0, rh0 = next, k1, rh1
	}
	return sum, to, false, nil
}

// after orders a before b where a is at b or earlier: a search finds the first
// that is later.
func after(a, b time.Duration) int {
	if a <= b {
		return -1
	}
	return 1
}

// A way is a stretch of time along which temperature and humidity are linear;
// x is 0 at its beginning and 1 at its end.
type way struct {
	from             time.Duration
	dt               float64 // s
	k0, k1, rh0, rh1 float64
}

func (w *way) kelvin(x float64) float64 { return w.k0 + (w.k1-w.k0)*x }
func (w *way) damp(x float64) float64   { return w.rh0 + (w.rh1-w.rh0)*x }
func (w *way) time(x float64) time.Duration {
	return w.from + time.Duration(math.Round(x*w.dt*1e9))
}

// cuts appends 0, where w crosses a row or a column, and 1, in order.
func (l *HumidLaw) cuts(list []float64, w way) []float64 {
	list = append(list, 0, 1)
	cut := func(v, from, to float64) {
		if x := (v - from) / (to - from); x > 0 && x < 1 {
			list = append(list, x)
		}
	}
	for _, k := range l.temps {
		cut(k, w.k0, w.k1)
	}
	for _, rh := range l.rh {
		cut(rh, w.rh0, w.rh1)
	}
	slices.Sort(list)
	return list
}

// integrate integrates from x0 to x1 of w, all in c. If the integral reaches need
// there, x is where; otherwise it is -1.
func (c *cell) integrate(w way, x0, x1, need float64) (sum, x float64) {
	n := c.pieces(w.kelvin(x0), w.kelvin(x1), w.damp(x0), w.damp(x1))
	for i := range int(n) {
		a, b := x0+(x1-x0)*(float64(i)/n), x0+(x1-x0)*(float64(i+1)/n)
		p := c.gauss(w, a, b)
		if p >= need-sum && !math.IsInf(need, 1) {
			return need, c.cross(w, a, b, need-sum)
		}
		sum += p
	}
	return sum, -1
}

// gauss integrates from x0 to x1 by the five-point rule.
func (c *cell) gauss(w way, x0, x1 float64) float64 {
	sum := 0.0
	for _, g := range gauss {
		x := x0 + (x1-x0)*g[0]
		sum += g[1] * c.rate(w.kelvin(x), w.damp(x))
	}
	return sum * (x1 - x0) * w.dt
}

// cross returns where the integral from x0 is need, which it is by x1.
func (c *cell) cross(w way, x0, x1, need float64) float64 {
	lo, hi := x0, x1
	x := x0 + (x1-x0)*min(1, need/c.gauss(w, x0, x1))
	for range 100 {
		f := c.gauss(w, x0, x) - need
		if f > 0 {
			hi = x
		} else {
			lo = x
		}
		if (hi-lo)*w.dt < 1e-9 || math.Abs(f) < 1e-13*need { // 1 ns, or 1e-13 of the event
			break
		}
		next := x - f/(c.rate(w.kelvin(x), w.damp(x))*w.dt)
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		x = next
	}
	return x
}
