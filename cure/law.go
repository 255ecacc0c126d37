package cure

import (
	"errors"
	"fmt"
	"math"
	"sort"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// Never is the time of a [Law] at a temperature at which nothing proceeds.
const Never = time.Duration(math.MaxInt64)

// A Law gives the time of one event at a constant temperature, above zero; it
// may be [Never]. It must be continuous between the temperatures at which it
// is not smooth.
type Law interface {
	Time(units.Temperature) (time.Duration, error)
}

// A Point is one row of a data sheet: the event's time at a temperature.
type Point struct {
	Temp units.Temperature
	Time time.Duration
}

// A Table is one event's data-sheet times, in any order of temperature.
type Table []Point

// Validate returns an error unless t has at least one row, every temperature
// is -60 °C to 150 °C and stands once, and every time is above zero.
func (t Table) Validate() error {
	if len(t) == 0 {
		return fmt.Errorf("%w: cure.Table: no rows: want at least one", units.ErrRange)
	}
	for i, p := range t {
		if err := units.InRange("cure.Table", "Temp", p.Temp.Celsius(), -60, 150, "°C"); err != nil {
			return err
		}
		if p.Time <= 0 || p.Time == Never {
			return fmt.Errorf("%w: cure.Table: row %d at %v: time %v: want above zero", units.ErrRange, i, p.Temp, p.Time)
		}
	}
	o := t.ordered()
	for i := range o[1:] {
		if o[i].Temp == o[i+1].Temp {
			return fmt.Errorf("%w: cure.Table: two rows at %v: want one", units.ErrRange, o[i].Temp)
		}
	}
	return nil
}

// ordered returns t with rising temperatures; t itself if it has them.
func (t Table) ordered() Table {
	if len(t) < 2 {
		return t
	}
	for i := 1; i < len(t); i++ {
		if !t[i-1].Temp.Less(t[i].Temp) {
			c := append(Table(nil), t...)
			sort.Slice(c, func(i, j int) bool { return c[i].Temp.Less(c[j].Temp) })
			return c
		}
	}
	return t
}

// copied returns a copy of t with rising temperatures, so that a law does not
// change with the table it was made from.
func (t Table) copied() Table {
	o := t.ordered()
	if len(t) > 0 && &o[0] == &t[0] {
		return append(Table(nil), t...)
	}
	return o
}

// Time returns the event's time at temp: between rows ln t is linear in 1/T.
// Outside the rows it is an error; for planning beyond them see [Table.NotBefore]
// and [Table.NotAfter].
//
// Source: the Arrhenius form of ASTM C1074, between each pair of rows.
func (t Table) Time(temp units.Temperature) (time.Duration, error) {
	if err := t.Validate(); err != nil {
		return 0, err
	}
	o := t.ordered()
	lo, hi := o[0].Temp, o[len(o)-1].Temp
	if err := units.InRange("cure.Table.Time", "temp", temp.Celsius(), lo.Celsius(), hi.Celsius(), "°C"); err != nil {
		return 0, err
	}
	return duration(1 / o.rate(min(max(temp.Kelvin(), lo.Kelvin()), hi.Kelvin()))), nil
}

// rate is 1/time in 1/s at k kelvin, which lies within the rows of a valid,
// ordered table.
func (t Table) rate(k float64) float64 {
	i := 1
	for i < len(t)-1 && t[i].Temp.Kelvin() < k {
		i++
	}
	if len(t) == 1 {
		return 1 / t[0].Time.Seconds()
	}
	return between(t[i-1], t[i], k)
}

// between is the rate on the Arrhenius line through p and q.
func between(p, q Point, k float64) float64 {
	tp, tq := p.Temp.Kelvin(), q.Temp.Kelvin()
	x := (1/k - 1/tp) / (1/tq - 1/tp)
	return math.Exp(-x*math.Log(q.Time.Seconds()/p.Time.Seconds())) / p.Time.Seconds()
}

func duration(s float64) time.Duration {
	if !(s*1e9 < math.MaxInt64) {
		return Never
	}
	return time.Duration(math.Round(s * 1e9))
}

// NotBefore returns the law by which to plan the earliest time of an event
// beyond the rows: colder than the coldest row nothing proceeds, for the data
// sheet says nothing of it; hotter than the hottest row it takes no less than
// there. The event does not come sooner than it says.
func (t Table) NotBefore() Law { return bounded{t.copied(), true} }

// NotAfter returns the law by which to plan the latest time of an event
// (recoat window, pot life) beyond the rows: colder than the coldest row no
// longer than there; hotter than the hottest row shorter, by the Arrhenius line
// of the two hottest rows where that falls, or, with one row, halved for every
// 10 K (common practice, no source). The window is not open longer than it says.
func (t Table) NotAfter() Law { return bounded{t.copied(), false} }

type bounded struct {
	t         Table // ordered
	notBefore bool
}

// Time returns the event's time.
func (b bounded) Time(temp units.Temperature) (time.Duration, error) {
	if err := errors.Join(b.t.Validate(), units.InRange("cure.Law", "temp", temp.Celsius(), -60, 150, "°C")); err != nil {
		return 0, err
	}
	r := b.rate(temp.Kelvin())
	if r == 0 {
		return Never, nil
	}
	return max(1, duration(1/r)), nil
}

func (b bounded) rate(k float64) float64 {
	t, n := b.t, len(b.t)
	const slack = 1e-9 // 140 °F is 60.00000000000006 °C in float64
	switch lo, hi := t[0].Temp.Kelvin(), t[n-1].Temp.Kelvin(); {
	case k < lo-slack && b.notBefore:
		return 0
	case k < lo:
		return 1 / t[0].Time.Seconds()
	case k <= hi:
		return t.rate(k)
	case b.notBefore:
		return 1 / t[n-1].Time.Seconds()
	case n == 1:
		return math.Exp2((k-hi)/10) / t[0].Time.Seconds()
	default:
		return max(between(t[n-2], t[n-1], k), 1/t[n-1].Time.Seconds())
	}
}
