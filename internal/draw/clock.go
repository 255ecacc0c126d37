package draw

import (
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// clock writes the time of day: "2:03 am" or "02:03"; whole hours of the US
// clock as "2 am", "noon", "midnight".
func clock(t time.Time, s units.System) string {
	if s == units.SI {
		return t.Format("15:04")
	}
	switch {
	case t.Minute() != 0:
		return t.Format("3:04 pm")
	case t.Hour() == 0:
		return "midnight"
	case t.Hour() == 12:
		return "noon"
	}
	return t.Format("3 pm")
}

// day writes the date with its weekday, short or in full.
func day(t time.Time, s units.System, full bool) string {
	switch {
	case full && s == units.US:
		return t.Format("Monday, January 2, 2006")
	case full:
		return t.Format("Monday 2 January 2006")
	case s == units.US:
		return t.Format("Mon, Jan 2")
	}
	return t.Format("Mon 2 Jan")
}

// hours returns the moments from one time to another at which the local clock
// shows a multiple of step minutes; days are counted from midnight, so that a
// change to summer time moves nothing.
func hours(from, to time.Time, step int) []time.Time {
	var out []time.Time
	y, m, d := from.Date()
	for k := -1; ; k++ {
		for minute := 0; minute < 24*60; minute += step {
			t := time.Date(y, m, d+k, 0, minute, 0, 0, from.Location())
			if t.After(to) {
				return out
			}
			if !t.Before(from) && (len(out) == 0 || t.After(out[len(out)-1])) {
				out = append(out, t)
			}
		}
	}
}

// A scale is an axis of values with its ticks.
type scale struct {
	lo, hi float64
	ticks  []float64
	digits int // decimals of the ticks
}

// newScale returns a scale over lo to hi with ticks 1, 2 or 5 times a power of
// ten apart, or 25, 250 ..., as close as least.
func newScale(lo, hi, least float64) scale {
	step := math.Pow(10, math.Floor(math.Log10(least)))
	for _, f := range []float64{1, 2, 2.5, 5, 10} {
		if f == 2.5 && step < 10 {
			continue // no more decimals than the others
		}
		if f*step >= least*(1-1e-9) {
			step *= f
			break
		}
	}
	s := scale{lo: lo, hi: hi, digits: max(0, int(math.Ceil(-math.Log10(step)-1e-9)))}
	for k := math.Ceil(lo/step - 1e-9); k*step <= hi+1e-9*step; k++ {
		s.ticks = append(s.ticks, k*step)
	}
	return s
}

// label writes a tick; from 10 000 on thousands are set apart by sep.
func (s scale) label(v float64, sep string) string {
	t := strconv.FormatFloat(v, 'f', s.digits, 64)
	if strings.Trim(t, "-0.") == "" {
		return "0"
	}
	whole, rest, _ := strings.Cut(t, ".")
	sign := ""
	if strings.HasPrefix(whole, "-") {
		sign, whole = "-", whole[1:]
	}
	for i := len(whole) - 3; i > 0 && len(whole) > 4; i -= 3 {
		whole = whole[:i] + sep + whole[i:]
	}
	if rest != "" {
		whole += "." + rest
	}
	return sign + whole
}
