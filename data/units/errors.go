package units

import (
	"errors"
	"fmt"
)

// ErrRange is what every [*RangeError] unwraps to.
var ErrRange = errors.New("out of range")

// ErrParse is what every [*ParseError] unwraps to.
var ErrParse = errors.New("not a quantity")

// A RangeError says that one argument of one function is outside the range in
// which its model holds. Got, Lo and Hi are in Unit.
type RangeError struct {
	Func, Arg   string  // "climate.DewPoint", "rh"
	Got, Lo, Hi float64 // in Unit
	Unit        string  // "°C", "mil", "%"
	Above       bool    // Lo itself is not allowed
}

// Unwrap returns [ErrRange].
func (e *RangeError) Unwrap() error { return ErrRange }

// Error names the function, the argument, what it was and what is allowed.
func (e *RangeError) Error() string {
	from := ""
	if e.Above {
		from = "above "
	}
	return fmt.Sprintf("%s: %s = %.9g %s: want %s%.9g to %.9g", e.Func, e.Arg, e.Got, e.Unit, from, e.Lo, e.Hi)
}

// InRange returns nil if lo <= v <= hi, and a [*RangeError] otherwise. NaN
// fails. The limits give way by a billionth of the span, since 140 °F is
// 60.00000000000006 °C in float64.
func InRange(fn, arg string, v, lo, hi float64, unit string) error {
	if s := 1e-9 * (hi - lo); v >= lo-s && v <= hi+s {
		return nil
	}
	return &RangeError{Func: fn, Arg: arg, Got: v, Lo: lo, Hi: hi, Unit: unit}
}

// FromZero is [InRange] with a lower end at 0 that does not give way: zero is
// the same in every unit, so that nothing below it is due to rounding, while a
// billionth of a wide span is a real amount.
func FromZero(fn, arg string, v, hi float64, unit string) error {
	if v < 0 {
		return &RangeError{Func: fn, Arg: arg, Got: v, Lo: 0, Hi: hi, Unit: unit}
	}
	return InRange(fn, arg, v, 0, hi, unit)
}
