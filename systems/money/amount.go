package money

import (
	"errors"
	"fmt"
	"math"
	"math/bits"
	"strconv"
	"strings"
)

// An Amount is a sum of money in minor units of a currency, exactly.
type Amount struct {
	Minor  int64
	Digits int // of the minor unit: 2 where a hundred make one
}

// String writes the amount with its digits and a point: "1234.50".
func (a Amount) String() string {
	s, sign := strconv.FormatInt(a.Minor, 10), ""
	if s[0] == '-' {
		s, sign = s[1:], "-"
	}
	if a.Digits <= 0 {
		return sign + s
	}
	if len(s) <= a.Digits {
		s = strings.Repeat("0", a.Digits-len(s)+1) + s
	}
	return sign + s[:len(s)-a.Digits] + "." + s[len(s)-a.Digits:]
}

// MarshalText returns the text of String.
func (a Amount) MarshalText() ([]byte, error) { return []byte(a.String()), nil }

// ErrTooLarge says that a sum does not fit: more than 9.2e18 minor units.
var ErrTooLarge = errors.New("the amount is more than 9.2e18 minor units")

// mulDiv returns a b/c, rounded half away from zero, exactly: the product is
// kept in 128 bits.
//
// Range: a and b 0 and up, c above 0.
func mulDiv(a, b, c int64) (int64, error) {
	if a < 0 || b < 0 || c <= 0 {
		return 0, fmt.Errorf("money: %d x %d / %d: want nothing below zero", a, b, c)
	}
	hi, lo := bits.Mul64(uint64(a), uint64(b))
	if hi >= uint64(c) {
		return 0, ErrTooLarge
	}
	q, r := bits.Div64(hi, lo, uint64(c))
	if r >= uint64(c)-r { // twice the rest is c or more
		q++
	}
	if q > math.MaxInt64 {
		return 0, ErrTooLarge
	}
	return int64(q), nil
}

// add returns a + b of amounts from 0 up.
func add(a, b int64) (int64, error) {
	if a > math.MaxInt64-b {
		return 0, ErrTooLarge
	}
	return a + b, nil
}

// thousandths rounds a quantity, in the unit that its price is for, to three
// decimals, half away from zero: what a bill states, and what it is worked out
// from.
func thousandths(q float64) (int64, error) {
	if !(q >= 0 && q <= 1e12) {
		return 0, fmt.Errorf("money: quantity %g: want 0 to 1e12 of the price's unit", q)
	}
	return int64(math.Round(q * 1000)), nil
}
