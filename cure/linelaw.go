package cure

import (
	"math"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// A lineLaw is a law of one line between lo and hi kelvin, or the error which
// whatever made it has.
type lineLaw struct {
	fn     string
	lo, hi float64
	line   line
	err    error
}

// Time returns the event's time.
func (l lineLaw) Time(temp units.Temperature) (time.Duration, error) {
	if l.err != nil {
		return 0, l.err
	}
	if err := celsius(l.fn, "temp", temp, l.lo, l.hi); err != nil {
		return 0, err
	}
	return max(1, duration(math.Exp(-l.line.ln(temp.Kelvin())))), nil
}

// celsius checks a temperature against limits in K; it speaks of °C.
func celsius(fn, arg string, t units.Temperature, lo, hi float64) error {
	return units.InRange(fn, arg, t.Celsius(), units.Kelvin(lo).Celsius(), units.Kelvin(hi).Celsius(), "°C")
}
