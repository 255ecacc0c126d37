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

// ErrNotReached says that an event never comes along a history.
var ErrNotReached = errors.New("cure: the event is never reached along this history")

// Reach returns when the event of law comes along t if it begins at start:
// the moment, on t's clock, up to which the integral of dt/Time(T(t)) from
// start is 1. Past t's last sample the last temperature is held; compare the
// result with that sample to know whether it was.
//
// The error is [ErrNotReached] if the last temperature brings no more progress
// (or the event is later than a time.Duration can say), and the law's own where
// the history leaves its range.
//
// Accuracy: 1e-9 of the time for laws made from a [Table] (Gauss-Legendre
// between the kinks of table and trace); for other laws 1e-9 where they are
// smooth in temperature.
// Source: the equivalent-age integral of ASTM C1074, with the event as the age.
func Reach(law Law, t climate.Trace, start time.Duration) (time.Duration, error) {
	w, err := newWalk(law, t)
	if err != nil {
		return 0, err
	}
	const farthest = time.Duration(1 << 61)
	if start < -farthest || start > farthest {
		return 0, fmt.Errorf("cure.Reach: start = %v: want within 73 years of 0", start)
	}
	left := 1.0
	at := start
	for i := range t {
		if t[i].At <= at {
			continue
		}
		from, _ := t.At(at)
		dt := (t[i].At - at).Seconds()
		p, x := w.segment(from.Kelvin(), t[i].Temp.Kelvin(), dt, left)
		if w.err != nil {
			return 0, w.err
		}
		if x >= 0 {
			return at + time.Duration(math.Round(x*1e9)), nil
		}
		left -= p
		at = t[i].At
	}
	r := w.rate(t[len(t)-1].Temp.Kelvin())
	if w.err != nil {
		return 0, w.err
	}
	more := left / r * 1e9
	if r == 0 || !(float64(at)+more < math.MaxInt64) {
		return 0, ErrNotReached
	}
	return at + time.Duration(math.Round(more)), nil
}

// Progress returns the integral of dt/Time(T(t)) along t: the share of the
// event's way that is gone between from and to; it may exceed 1.
//
// Accuracy and errors: as [Reach]; to before from is an error.
func Progress(law Law, t climate.Trace, from, to time.Duration) (units.Fraction, error) {
	w, err := newWalk(law, t)
	if err != nil {
		return units.Fraction(math.NaN()), err
	}
	if to < from || to-from < 0 {
		return units.Fraction(math.NaN()), fmt.Errorf("cure.Progress: to = %v: want from = %v or later", to, from)
	}
	sum, at := 0.0, from
	for i := 0; i <= len(t) && at < to; i++ {
		next := to
		if i < len(t) {
			if t[i].At <= at {
				continue
			}
			next = min(to, t[i].At)
		}
		a, _ := t.At(at)
		b, _ := t.At(next)
		p, _ := w.segment(a.Kelvin(), b.Kelvin(), (next - at).Seconds(), math.Inf(1))
		sum += p
		at = next
	}
	if w.err != nil {
		return units.Fraction(math.NaN()), w.err
	}
	if math.IsInf(sum, 1) {
		return units.Fraction(math.NaN()), errors.New("cure.Progress: the event comes more often than a float64 can say")
	}
	return units.Fraction(sum), nil
}

// A walk integrates a law's rate along linear pieces of temperature.
type walk struct {
	law    Law
	table  Table   // ordered, of a Table; nil otherwise
	bound  bounded // of a bounded law, if table is its
	strict bool    // outside the table's rows is an error
	err    error

	// Between rows i and i+1 of a table of up to len(line)+1 rows the rate is
	// exp(line[i][0] + line[i][1]/T): worked out once for the whole history.
	line [16][2]float64

	steep bool // some line changes the rate by more than gentle over a widest piece
}

// slope is b of the Arrhenius line through p and q, rate = exp(a + b/T).
func slope(p, q Point) float64 {
	return -math.Log(q.Time.Seconds()/p.Time.Seconds()) / (1/q.Temp.Kelvin() - 1/p.Temp.Kelvin())
}

// lines works the table's Arrhenius lines out.
func (w *walk) lines() {
	for i := 0; i+1 < len(w.table); i++ {
		if t := w.table[i].Temp.Kelvin(); math.Abs(slope(w.table[i], w.table[i+1]))*widest > gentle*t*t {
			w.steep = true
		}
	}
	for i := range min(len(w.table)-1, len(w.line)) {
		p, q := w.table[i], w.table[i+1]
		tp := p.Temp.Kelvin()
		b := slope(p, q)
		w.line[i] = [2]float64{-math.Log(p.Time.Seconds()) - b/tp, b}
	}
}

// inside is the table's rate at k, which lies within its rows.
func (w *walk) inside(k float64) float64 {
	if n := len(w.table); n < 2 || n > len(w.line)+1 {
		return w.table.rate(k)
	}
	i := 0
	for i < len(w.table)-2 && w.table[i+1].Temp.Kelvin() < k {
		i++
	}
	return math.Exp(w.line[i][0] + w.line[i][1]/k)
}

func newWalk(law Law, t climate.Trace) (walk, error) {
	w := walk{law: law}
	if err := t.Validate(); err != nil {
		return w, err
	}
	switch l := law.(type) {
	case nil:
		return w, errors.New("cure.Reach: law = nil: want a law")
	case Table:
		if err := l.Validate(); err != nil {
			return w, err
		}
		w.table, w.strict = l.ordered(), true
		w.lines()
	case bounded:
		if err := l.t.Validate(); err != nil {
			return w, err
		}
		w.table, w.bound = l.t, l
		w.lines()
	}
	return w, nil
}

// rate is 1/time in 1/s at k kelvin.
func (w *walk) rate(k float64) float64 {
	if w.table != nil && !w.strict {
		if k >= w.table[0].Temp.Kelvin() && k <= w.table[len(w.table)-1].Temp.Kelvin() {
			return w.inside(k)
		}
		return w.bound.rate(k)
	}
	if w.strict {
		lo, hi := w.table[0].Temp, w.table[len(w.table)-1].Temp
		if err := units.InRange("cure.Table.Time", "temp", units.Kelvin(k).Celsius(), lo.Celsius(), hi.Celsius(), "°C"); err != nil {
			w.err = err
			return math.NaN()
		}
		return w.inside(min(max(k, lo.Kelvin()), hi.Kelvin()))
	}
	d, err := w.law.Time(units.Kelvin(k))
	switch {
	case err != nil:
		w.err = err
		return math.NaN()
	case d == Never:
		return 0
	case d <= 0:
		w.err = fmt.Errorf("cure.Reach: the law's time at %v is %v: want above zero", units.Kelvin(k), d)
		return math.NaN()
	}
	return 1 / d.Seconds()
}

// gauss are the nodes and weights of the five-point Gauss-Legendre rule on
// [0, 1]. Source: Abramowitz and Stegun table 25.4.
var gauss = [5][2]float64{
	{0.046910077030668, 0.118463442528095}, {0.230765344947158, 0.239314335249683}, {0.5, 0.284444444444444},
	{0.769234655052842, 0.239314335249683}, {0.953089922969332, 0.118463442528095},
}

// piece integrates the rate over dt seconds from a to b kelvin, where it is smooth.
func (w *walk) piece(a, b, dt float64) float64 {
	if a == b {
		return w.rate(a) * dt
	}
	sum := 0.0
	for _, g := range gauss {
		sum += g[1] * w.rate(a+(b-a)*g[0])
	}
	return sum * dt
}

// A piece may be widest K wide, and change the logarithm of a table's rate by
// gentle: the rule is then good to (5!)^4 / (11 (10!)^3) = 4e-13.
const widest, gentle = 2.5, 1.0

// ease returns how much of a piece from a to b, which no row of the table
// parts, is gentle: 1 if all of it is.
func (w *walk) ease(a, b float64) float64 {
	n := len(w.table)
	if n < 2 {
		return 1
	}
	mid := (a + b) / 2
	i := min(n-1, max(1, sort.Search(n, func(i int) bool { return w.table[i].Temp.Kelvin() >= mid })))
	if mid < w.table[0].Temp.Kelvin() || mid > w.table[n-1].Temp.Kelvin() && w.bound.notBefore {
		return 1 // constant there
	}
	return min(1, gentle/math.Abs(slope(w.table[i-1], w.table[i])*(1/b-1/a)))
}

// segment integrates over one linear segment. If the integral reaches need
// inside it, x is the time in s from its beginning; otherwise x is -1.
func (w *walk) segment(a, b, dt, need float64) (sum, x float64) {
	done := 0.0 // share of the segment
	for done < 1 {
		k := a + (b-a)*done
		stop := 1.0
		if a != b {
			stop = min(1, done+widest/math.Abs(b-a))
			for _, p := range w.table { // stop at the next kink
				if at := (p.Temp.Kelvin() - a) / (b - a); at > done+1e-12 && at < stop {
					stop = at
				}
			}
		}
		if w.steep && stop > done {
			stop = done + (stop-done)*w.ease(k, a+(b-a)*stop)
		}
		if stop == done { // less than a share of a float64
			stop = math.Nextafter(done, 2)
		}
		end := a + (b-a)*stop
		p := w.piece(k, end, (stop-done)*dt)
		if w.err != nil {
			return math.NaN(), -1
		}
		if p >= need-sum {
			return need, done*dt + w.cross(k, end, (stop-done)*dt, need-sum)
		}
		sum += p
		if math.IsInf(sum, 1) { // nor will more of it change that
			break
		}
		done = stop
	}
	return sum, -1
}

// cross returns after how many seconds of the smooth piece its integral is need.
func (w *walk) cross(a, b, dt, need float64) float64 {
	lo, hi := 0.0, dt
	x := dt * min(1, need/w.piece(a, b, dt))
	for range 100 {
		k := a + (b-a)*x/dt
		f := w.piece(a, k, x) - need
		if f > 0 {
			hi = x
		} else {
			lo = x
		}
		if hi-lo < 1e-9 || math.Abs(f) < 1e-13 { // 1 ns, or 1e-13 of the event
			break
		}
		next := x - f/w.rate(k)
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		x = next
	}
	return x
}
