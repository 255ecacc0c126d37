package units

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// A Quantity is any type of this package that has a unit.
type Quantity interface {
	fmt.Stringer
	quantity() (*kind, float64)
}

// Compare returns -1, 0 or 1 as a is below, equal to or above b, which must be
// of one kind; of two kinds, and beside NaN, it returns 0.
func Compare(a, b Quantity) int {
	ka, x := a.quantity()
	kb, y := b.quantity()
	switch {
	case ka != kb:
		return 0
	case x < y:
		return -1
	case x > y:
		return 1
	}
	return 0
}

// A System says in whose units to show quantities to people.
type System int

// Systems of units.
const (
	US System = iota // US customary: mil, ft2, gal, lb, °F
	SI               // metric: mm, m2, L, kg, °C
)

// String returns "us" or "si".
func (s System) String() string {
	if s == SI {
		return "si"
	}
	return "us"
}

// MarshalText returns the text of String.
func (s System) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads "us" or "si".
func (s *System) UnmarshalText(text []byte) error {
	switch string(text) {
	case "us":
		*s = US
	case "si":
		*s = SI
	default:
		return fmt.Errorf("%q is not a system of units: want us or si", text)
	}
	return nil
}

// Format returns q for people, in the units of s, rounded to the digits that
// the trade works with: "10 mil", "1250 ft2", "50.2 °F".
// The result is for reading; it does not read back as the same value.
// Temperatures show one decimal, fractions and the rest about three digits;
// whole numbers are never rounded below their units.
func Format(q Quantity, s System) string {
	k, v := q.quantity()
	if t, ok := q.(Temperature); ok {
		if s == SI {
			return decimals(t.Celsius(), 1) + " °C"
		}
		return decimals(t.Fahrenheit(), 1) + " °F"
	}
	if d, ok := q.(Span); ok {
		return d.forPeople()
	}
	scales := k.si
	if s == US {
		scales = k.us
	}
	c := scales[len(scales)-1]
	for _, one := range scales {
		if math.Abs(v) >= one.from*(1-1e-9) {
			c = one
			break
		}
	}
	y, _ := k.find(c.name)
	x := v / y.factor
	if y.exp != 0 {
		x /= math.Pow10(y.exp)
	}
	return digits(x, c.digits) + " " + c.name
}

// digits writes x with n significant digits, but never rounds away whole units.
func digits(x float64, n int) string {
	if x == 0 {
		return "0"
	}
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return strconv.FormatFloat(x, 'g', -1, 64)
	}
	whole := int(math.Floor(math.Log10(math.Abs(x)))) + 1
	return decimals(x, min(max(n-whole, 0), 12))
}

// decimals writes x with at most n decimals and no trailing zeros.
func decimals(x float64, n int) string {
	t := strconv.FormatFloat(x, 'f', n, 64)
	if strings.Contains(t, ".") {
		t = strings.TrimRight(strings.TrimRight(t, "0"), ".")
	}
	if t == "-0" {
		return "0"
	}
	return t
}
