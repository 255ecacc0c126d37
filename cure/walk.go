package cure

import (
	"fmt"
	"math"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

var errNoLaw = fmt.Errorf("%w: cure: law = nil: want a law", units.ErrRange)

// A walk integrates a law's rate along linear pieces of temperature. The laws
// of this package are taken apart into lines once for a whole history; another
// law is asked for its times.
type walk struct {
	other Law // not one of this package's: asked

	n    int
	buf  [18]line
	more []line // beyond buf

	fn     string  // whose range it is
	lo, hi float64 // K; outside them is an error
	slack  float64 // K, by which they give way

	i   int // the line of the last step
	err error
}

// line returns line i.
func (w *walk) line(i int) *line {
	if i < len(w.buf) {
		return &w.buf[i]
	}
	return &w.more[i-len(w.buf)]
}

func (w *walk) add(l line) {
	if w.n < len(w.buf) {
		w.buf[w.n] = l
	} else {
		w.more = append(w.more, l)
	}
	w.n++
}

// top is where line i ends.
func (w *walk) top(i int) float64 {
	if i+1 < w.n {
		return w.line(i + 1).lo
	}
	return w.hi
}

// within sets the law's range in K. It gives way as [units.InRange] does.
func (w *walk) within(fn string, lo, hi float64) {
	s := 1e-9 * (hi - lo)
	w.fn, w.lo, w.hi, w.slack = fn, lo-s, hi+s, s
}

// The temperatures of any law, K: -60 °C to 150 °C.
const coldest, hottest = 273.15 - 60, 273.15 + 150

// take takes law apart.
func (w *walk) take(law Law) error {
	switch l := law.(type) {
	case nil:
		return errNoLaw
	case Table:
		if err := l.Validate(); err != nil {
			return err
		}
		o := l.ordered()
		w.within("cure.Table.Time", o[0].Temp.Kelvin(), o[len(o)-1].Temp.Kelvin())
		w.rows(o, w.lo)
	case bounded:
		if err := l.t.Validate(); err != nil {
			return err
		}
		w.within("cure.Law", coldest, hottest)
		w.bounded(l)
	case lineLaw:
		if l.err != nil {
			return l.err
		}
		w.within(l.fn, l.lo, l.hi)
		l.line.lo = w.lo
		w.add(l.line)
	case hansenPedersen:
		if l.err != nil {
			return l.err
		}
		cold, warm := l.lines()
		w.within("cure.HansenPedersen", cold.lo, 273.15+80)
		cold.lo = w.lo
		w.add(cold)
		w.add(warm)
	case binLaw:
		if err := l.bins.Validate(); err != nil {
			return err
		}
		w.within("cure.Law", coldest, hottest)
		w.binned(l)
	case limited:
		return w.limited(l)
	case Piecewise:
		return w.piecewise(l)
	default:
		w.within("cure.Law", 0, math.MaxFloat64)
		w.other = law
	}
	return nil
}

// rows adds the lines between the rows of an ordered table, the first from lo.
func (w *walk) rows(t Table, lo float64) {
	if len(t) == 1 {
		w.add(line{lo: lo, at: t[0].Temp.Kelvin(), a: -math.Log(t[0].Time.Seconds())})
		return
	}
	for i := range t[1:] {
		l := through(t[i], t[i+1])
		l.lo = t[i].Temp.Kelvin()
		if i == 0 {
			l.lo = lo
		}
		w.add(l)
	}
}

// through is the Arrhenius line through two rows.
func through(p, q Point) line {
	tp, tq := p.Temp.Kelvin(), q.Temp.Kelvin()
	return line{at: tp, a: -math.Log(p.Time.Seconds()), q: math.Log(q.Time.Seconds()/p.Time.Seconds()) * tq / (tq - tp)}
}

func (w *walk) bounded(b bounded) {
	const slack = 1e-9 // 140 °F is 60.00000000000006 °C in float64
	n := len(b.t)
	cold, hot := b.t[0], b.t[n-1]
	lo, hi := cold.Temp.Kelvin(), hot.Temp.Kelvin()
	flat := func(from float64, p Point) line {
		return line{lo: from, at: p.Temp.Kelvin(), a: -math.Log(p.Time.Seconds())}
	}
	if b.notBefore {
		w.add(line{lo: w.lo, at: lo, a: math.Inf(-1)})
		w.rows(b.t, lo-slack)
		w.add(flat(hi, hot))
		return
	}
	w.add(flat(w.lo, cold))
	w.rows(b.t, lo)
	end := flat(hi, hot)
	if n == 1 {
		end.c = math.Ln2 / 10
	} else if l := through(hot, b.t[n-2]); l.q < 0 {
		end.q = l.q
	}
	w.add(end)
}

// rate is 1/time in 1/s at k kelvin.
func (w *walk) rate(k float64) float64 {
	if w.other != nil {
		return w.ask(k)
	}
	if !(k >= w.lo && k <= w.hi) {
		return w.outside(k)
	}
	for w.i > 0 && k < w.line(w.i).lo {
		w.i--
	}
	for w.i < w.n-1 && k >= w.line(w.i+1).lo {
		w.i++
	}
	return math.Exp(w.line(w.i).ln(k))
}

func (w *walk) outside(k float64) float64 {
	w.err = &units.RangeError{Func: w.fn, Arg: "temp", Got: units.Kelvin(k).Celsius(),
		Lo: units.Kelvin(w.lo + w.slack).Celsius(), Hi: units.Kelvin(w.hi - w.slack).Celsius(), Unit: "°C"}
	return math.NaN()
}

func (w *walk) ask(k float64) float64 {
	d, err := w.other.Time(units.Kelvin(k))
	switch {
	case err != nil:
		w.err = err
		return math.NaN()
	case d == Never:
		return 0
	case d <= 0:
		w.err = fmt.Errorf("%w: cure.Reach: the law's time at %v is %v: want above zero", units.ErrRange, units.Kelvin(k), d)
		return math.NaN()
	}
	return 1 / d.Seconds()
}

// mean is the mean rate from a to b kelvin, on line i or of the other law.
func (w *walk) mean(i int, a, b float64) float64 {
	if w.other == nil {
		return w.line(i).mean(a, b)
	}
	sum := 0.0
	for _, g := range gauss {
		sum += g[1] * w.ask(a+(b-a)*g[0])
	}
	return sum
}

// widest is how many K a piece of another law may be wide.
const widest = 2.5

// segment integrates over one linear segment. If the integral reaches need
// inside it, x is the time in s from its beginning; otherwise x is -1.
func (w *walk) segment(a, b, dt, need float64) (sum, x float64) {
	if a == b {
		r := w.rate(a)
		if r*dt >= need && !math.IsInf(need, 1) {
			return need, min(dt, need/r)
		}
		return r * dt, -1
	}
	if l := w.line(w.i); w.n > 0 && min(a, b) > l.lo && max(a, b) < w.top(w.i) { // all on one line
		p := l.mean(a, b) * dt
		if p >= need && !math.IsInf(need, 1) {
			return need, w.cross(w.i, a, b, dt, need)
		}
		return p, -1
	}
	for k, done := a, 0.0; ; {
		i, end := 0, b
		if w.other != nil {
			end = k + math.Copysign(min(widest, math.Abs(b-k)), b-a)
			if math.Abs(b-end) < 1e-12*math.Abs(b) {
				end = b
			}
		} else if i, end = w.ahead(k, b); w.err != nil {
			return math.NaN(), -1
		}
		share := (end - k) / (b - a)
		p := w.mean(i, k, end) * share * dt
		if w.err != nil {
			return math.NaN(), -1
		}
		if p >= need-sum && !math.IsInf(need, 1) {
			return need, done + w.cross(i, k, end, share*dt, need-sum)
		}
		sum += p
		if end == b || math.IsInf(sum, 1) { // nor will more of it change that
			return sum, -1
		}
		k = end
		done = (k - a) / (b - a) * dt
	}
}

// ahead returns the line on which a way from k to b goes on, and where it
// leaves that line or ends.
func (w *walk) ahead(k, b float64) (i int, end float64) {
	i = w.i
	if b > k {
		if !(k >= w.lo && k < w.hi) {
			w.outside(b)
			return 0, b
		}
		for i > 0 && k < w.line(i).lo {
			i--
		}
		for i < w.n-1 && k >= w.line(i+1).lo {
			i++
		}
		end = min(b, w.top(i))
	} else {
		if !(k > w.lo && k <= w.hi) {
			w.outside(b)
			return 0, b
		}
		for i < w.n-1 && k > w.line(i+1).lo {
			i++
		}
		for i > 0 && k <= w.line(i).lo {
			i--
		}
		end = max(b, w.line(i).lo)
	}
	w.i = i
	return i, end
}

// cross returns after how many seconds of the smooth piece its integral is need.
func (w *walk) cross(i int, a, b, dt, need float64) float64 {
	lo, hi := 0.0, dt
	x := dt * min(1, need/(w.mean(i, a, b)*dt))
	for range 100 {
		k := a + (b-a)*x/dt
		f := w.mean(i, a, k)*x - need
		if f > 0 {
			hi = x
		} else {
			lo = x
		}
		if hi-lo < 1e-9 || math.Abs(f) < 1e-13*need { // 1 ns, or 1e-13 of the event
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

// along integrates along t from from until the integral is need, which it is
// at at; or, if it does not come to that by to, until to, and there is false.
func (w *walk) along(t climate.Trace, from, to time.Duration, need float64) (sum float64, at time.Duration, there bool) {
	for r := newRide(t, from, to); ; {
		if rest := r.whole(); w.n > 0 && len(rest) > 1 {
			p, n := w.line(w.i).gentle(rest, w.line(w.i).lo, w.top(w.i), need-sum)
			sum += p
			r.skip(n)
		}
		now, a, b, dt, ok := r.next()
		if !ok {
			return sum, to, false
		}
		p, x := w.segment(a, b, dt, need-sum)
		if w.err != nil {
			return math.NaN(), 0, false
		}
		if x >= 0 {
			return need, now + time.Duration(math.Round(x*1e9)), true
		}
		sum += p
	}
}
