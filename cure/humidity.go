package cure

import (
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// A Dependence says how an event's time hangs on the humidity of the air.
type Dependence int

// The dependences of a [HumidTable].
const (
	// MoistureCured: water from the air is what cures it (one-part polyurethane).
	// ln t is linear in ln RH, which at one temperature is ln of the vapour
	// pressure: exact where the time goes as a power of that pressure, -1 for the
	// front of a film that cures from its surface (Comyn, from memory).
	MoistureCured Dependence = iota + 1
	// Waterborne: water must leave it. ln t is linear in ln(1 - RH), which is that
	// of the pressure that drives the water out of a film at the air's temperature.
	Waterborne
)

// A HumidTable is one event's times over temperature and relative humidity, for
// materials that the air's water cures or holds up.
//
// Between its rows ln t is bilinear in 1/T and in ln RH or ln(1 - RH): see
// [Dependence]. The vapour pressure as the second axis was not taken: tables are
// printed in RH, its lines are no grid in the pressure, and since ln of the
// saturation pressure is nearly linear in 1/T the two agree (to 1 % in time over
// 30 K for a time that goes as 1/p).
//
// Outside its rows is an error. [HumidTable.Law] goes along a history.
type HumidTable struct {
	Temps []units.Temperature // rising
	RH    []units.Fraction    // rising; above 0 if MoistureCured, below 1 if Waterborne
	Times [][]time.Duration   // a row for each temperature, a column for each humidity
	By    Dependence
}

// Validate returns an error unless h is a whole table in range.
func (h HumidTable) Validate() error {
	const fn = "cure.HumidTable"
	bad := func(format string, args ...any) error {
		return fmt.Errorf("%w: %s: "+format, append([]any{units.ErrRange, fn}, args...)...)
	}
	if h.By != MoistureCured && h.By != Waterborne {
		return bad("By = %d: want MoistureCured or Waterborne", h.By)
	}
	if len(h.Temps) == 0 || len(h.RH) == 0 || len(h.Times) != len(h.Temps) {
		return bad("%d temperatures, %d humidities, %d rows of times: want at least one of each, and a row for each temperature", len(h.Temps), len(h.RH), len(h.Times))
	}
	lo, hi := 0.0, 100.0
	if h.By == MoistureCured {
		lo = 1
	} else {
		hi = 99
	}
	var err error
	for i, v := range h.RH {
		err = errors.Join(err, units.InRange(fn, "RH", 100*float64(v), lo, hi, "%"))
		if i > 0 && !(v > h.RH[i-1]) {
			err = errors.Join(err, bad("humidity %d is %v after %v: want rising humidities", i, v, h.RH[i-1]))
		}
	}
	for i, row := range h.Times {
		err = errors.Join(err, celsius(fn, "Temps", h.Temps[i], coldest, hottest))
		if i > 0 && !h.Temps[i-1].Less(h.Temps[i]) {
			err = errors.Join(err, bad("temperature %d is %v after %v: want rising temperatures", i, h.Temps[i], h.Temps[i-1]))
		}
		if len(row) != len(h.RH) {
			err = errors.Join(err, bad("row %d has %d times: want %d, one for each humidity", i, len(row), len(h.RH)))
		}
		for _, d := range row {
			err = errors.Join(err, checkTime(fn, "Times", d))
		}
	}
	return err
}

// At returns the table over temperature at one humidity, a law for [Reach] with
// all that a [Table] has; of a humidity that changes see [HumidLaw.Reach]. It is the same interpolation: in the order of the two
// axes a bilinear one does not differ.
func (h HumidTable) At(rh units.Fraction) (Table, error) {
	if err := h.Validate(); err != nil {
		return nil, err
	}
	n := len(h.RH)
	if err := units.InRange("cure.HumidTable.At", "rh", 100*float64(rh), 100*float64(h.RH[0]), 100*float64(h.RH[n-1]), "%"); err != nil {
		return nil, err
	}
	i := 1
	for i < n-1 && h.RH[i] < rh {
		i++
	}
	x := 0.0 // of the way from column i-1 to i
	if n == 1 {
		i = 0
	} else {
		a, b := h.axis(h.RH[i-1]), h.axis(h.RH[i])
		x = min(1, max(0, (h.axis(rh)-a)/(b-a))) // rh may be a rounding outside
	}
	t := make(Table, len(h.Temps))
	for j, row := range h.Times {
		p, q := row[max(0, i-1)], row[i]
		t[j] = Point{h.Temps[j], max(1, duration(p.Seconds()*math.Pow(q.Seconds()/p.Seconds(), x)))}
	}
	return t, nil
}

func (h HumidTable) axis(rh units.Fraction) float64 {
	if h.By == Waterborne {
		return math.Log1p(-float64(rh))
	}
	return math.Log(float64(rh))
}

// Time returns the event's time at temp and rh.
func (h HumidTable) Time(temp units.Temperature, rh units.Fraction) (time.Duration, error) {
	t, err := h.At(rh)
	if err != nil {
		return 0, err
	}
	return t.Time(temp)
}
