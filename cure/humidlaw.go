package cure

import (
	"errors"
	"fmt"
	"math"
	"sort"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// A HumidLaw gives the time of one event over temperature and humidity, and goes
// along histories of both. [HumidTable.Law], [HumidTable.NotBefore] and
// [HumidTable.NotAfter] make it; its zero value is no law.
type HumidLaw struct {
	by       Dependence
	edge     edge
	temps    []float64   // K
	rh       []float64   // as they stand
	ln       [][]float64 // of the times in s
	err      error
	complete bool
}

// An edge says what a law does beyond its rows.
type edge int

const (
	refuses   edge = iota
	notBefore      // where it is slower nothing proceeds; where faster, as at the edge
	notAfter       // where it is slower as at the edge; where faster is an error
)

// Law returns h as a law; outside its rows is an error. Of a table that is not
// valid the law's error is [HumidTable.Validate]'s.
func (h HumidTable) Law() HumidLaw { return h.law(refuses) }

// NotBefore returns the law by which to plan the earliest time of an event beyond
// the rows: where it would be slower than at the edge (colder, and drier if
// MoistureCured, damper if Waterborne) nothing proceeds; where faster, it takes
// no less than at the edge.
func (h HumidTable) NotBefore() HumidLaw { return h.law(notBefore) }

// NotAfter returns the law by which to plan the latest time of an event beyond
// the rows: where it would be slower than at the edge it takes no longer than
// there; where faster is an error, for the table does not say by how much.
func (h HumidTable) NotAfter() HumidLaw { return h.law(notAfter) }

func (h HumidTable) law(e edge) HumidLaw {
	if err := h.Validate(); err != nil {
		return HumidLaw{err: err}
	}
	l := HumidLaw{by: h.By, edge: e, complete: true}
	for i, t := range h.Temps {
		l.temps = append(l.temps, t.Kelvin())
		row := make([]float64, len(h.RH))
		for j, d := range h.Times[i] {
			row[j] = math.Log(d.Seconds())
		}
		l.ln = append(l.ln, row)
	}
	for _, v := range h.RH {
		l.rh = append(l.rh, float64(v))
	}
	return l
}

var errNoHumidLaw = fmt.Errorf("%w: cure.HumidLaw: the zero value: want one of a HumidTable", units.ErrRange)

func (l *HumidLaw) check() error {
	if l.err == nil && !l.complete {
		return errNoHumidLaw
	}
	return l.err
}

// Time returns the event's time at temp and rh; it may be [Never].
//
// Accuracy: 1e-12 of the interpolation that [HumidTable] states.
func (l HumidLaw) Time(temp units.Temperature, rh units.Fraction) (time.Duration, error) {
	if err := l.check(); err != nil {
		return 0, err
	}
	const fn = "cure.HumidLaw.Time"
	if err := errors.Join(celsius(fn, "temp", temp, coldest, hottest), checkDamp(fn, "rh", rh)); err != nil {
		return 0, err
	}
	c, err := l.cell(fn, temp.Kelvin(), float64(rh))
	if err != nil || c.stopped {
		if err == nil {
			return Never, nil
		}
		return 0, err
	}
	return max(1, duration(1/c.rate(temp.Kelvin(), float64(rh)))), nil
}

// slack is by how much a temperature in K and a humidity may be outside the rows,
// for floats of one temperature by two ways differ.
const slackT, slackRH = 1e-9, 1e-12

// place says whether v is beyond the rows of one axis, of which slowBelow says
// where it is slow, and whether nothing proceeds there.
func (l *HumidLaw) place(axis []float64, v, slack float64, slowBelow bool) (outside, stopped bool) {
	below, above := v < axis[0]-slack, v > axis[len(axis)-1]+slack
	if !below && !above {
		return v != v, false
	}
	slow := below == slowBelow
	switch l.edge {
	case notBefore:
		return false, slow
	case notAfter:
		return !slow, false
	}
	return true, false
}

// cell returns the four corners about a temperature and a humidity.
func (l *HumidLaw) cell(fn string, k, rh float64) (c cell, err error) {
	badT, stopT := l.place(l.temps, k, slackT, true)
	badRH, stopRH := l.place(l.rh, rh, slackRH, l.by == MoistureCured)
	if badT || badRH {
		n, m := len(l.temps), len(l.rh)
		if badT {
			err = &units.RangeError{Func: fn, Arg: "temp", Got: units.Kelvin(k).Celsius(), Lo: units.Kelvin(l.temps[0]).Celsius(), Hi: units.Kelvin(l.temps[n-1]).Celsius(), Unit: "°C"}
		}
		if badRH {
			err = errors.Join(err, &units.RangeError{Func: fn, Arg: "rh", Got: 100 * rh, Lo: 100 * l.rh[0], Hi: 100 * l.rh[m-1], Unit: "%"})
		}
		return cell{}, err
	}
	if stopT || stopRH {
		return cell{stopped: true}, nil
	}
	i, j := interval(l.temps, k), interval(l.rh, rh)
	i1, j1 := min(i+1, len(l.temps)-1), min(j+1, len(l.rh)-1)
	c = cell{by: l.by, t0: l.temps[i], t1: l.temps[i1], rh0: l.rh[j], rh1: l.rh[j1],
		l00: l.ln[i][j], l01: l.ln[i][j1], l10: l.ln[i1][j], l11: l.ln[i1][j1]}
	if i1 > i {
		c.x0, c.dx = 1/c.t0, 1/c.t1-1/c.t0
	}
	if j1 > j {
		c.y0 = c.axis(c.rh0)
		c.dy = c.axis(c.rh1) - c.y0
	}
	return c, nil
}

// interval returns i so that v lies between rows i and i+1, or in the outermost.
func interval(rows []float64, v float64) int {
	return max(0, min(sort.SearchFloat64s(rows, v)-1, len(rows)-2))
}

// A cell is what a HumidLaw is between two temperatures and two humidities; past
// them it is as at its edge. l01 is ln t at t0 and rh1.
type cell struct {
	by                 Dependence
	stopped            bool
	t0, t1, rh0, rh1   float64
	x0, dx, y0, dy     float64 // 1/T, and ln RH or ln(1 - RH); no widths of one row
	l00, l01, l10, l11 float64
}

// share is what the axis of humidity is the logarithm of.
func (c *cell) share(rh float64) float64 {
	if c.by == Waterborne {
		return 1 - rh
	}
	return rh
}

func (c *cell) axis(rh float64) float64 { return math.Log(c.share(rh)) }

// rate is 1/time in 1/s.
func (c *cell) rate(k, rh float64) float64 {
	u, v := 0.0, 0.0
	if c.dx != 0 {
		u = (1/min(max(k, c.t0), c.t1) - c.x0) / c.dx
	}
	if c.dy != 0 {
		v = (c.axis(min(max(rh, c.rh0), c.rh1)) - c.y0) / c.dy
	}
	return math.Exp(-((1-u)*((1-v)*c.l00+v*c.l01) + u*((1-v)*c.l10+v*c.l11)))
}

// pieces is how many even pieces of a way, along which k and rh are linear, the
// five-point rule takes to be good to 1e-12: ln rate changes by no more than
// [gentle] in one, T by no more than a tenth, RH or 1 - RH by no more than a fifth.
func (c *cell) pieces(k0, k1, rh0, rh1 float64) float64 {
	k0, k1 = min(max(k0, c.t0), c.t1), min(max(k1, c.t0), c.t1)
	rh0, rh1 = min(max(rh0, c.rh0), c.rh1), min(max(rh1, c.rh0), c.rh1)
	low := min(k0, k1)
	e := math.Abs(k1-k0) / low
	n := e / 0.1
	size := 0.0
	if c.dx != 0 {
		size = e / low / math.Abs(c.dx) * max(math.Abs(c.l10-c.l00), math.Abs(c.l11-c.l01))
	}
	if c.dy != 0 {
		s0, s1 := c.share(rh0), c.share(rh1)
		f := math.Abs(s1-s0) / min(s0, s1)
		n = max(n, f/0.2)
		size += f / math.Abs(c.dy) * max(math.Abs(c.l01-c.l00), math.Abs(c.l11-c.l10))
	}
	return max(1, math.Ceil(max(n, size/gentle)))
}
