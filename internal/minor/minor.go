// Package minor counts money in whole minor units of a currency, exactly:
// a price times a quantity is rounded half away from zero, the rule of invoices,
// and sums are sums of integers.
package minor

import (
	"errors"
	"fmt"
	"math"
	"math/bits"
	"strconv"
	"strings"
)

// ErrTooLarge says that a sum does not fit: more than 9.2e18 minor units.
var ErrTooLarge = errors.New("the amount is more than 9.2e18 minor units")

// MulDiv returns a b/c, rounded half away from zero, exactly: the product is
// kept in 128 bits.
//
// Range: a and b 0 and up, c above 0.
func MulDiv(a, b, c int64) (int64, error) {
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

// Add returns a + b of amounts from 0 up.
func Add(a, b int64) (int64, error) {
	if a > math.MaxInt64-b {
		return 0, ErrTooLarge
	}
	return a + b, nil
}

// Thousandths rounds a quantity, in the unit that its price is for, to three
// decimals, half away from zero: what a bill states, and what it is worked out
// from.
func Thousandths(q float64) (int64, error) {
	if !(q >= 0 && q <= 1e12) {
		return 0, fmt.Errorf("money: quantity %g: want 0 to 1e12 of the price's unit", q)
	}
	return int64(math.Round(q * 1000)), nil
}

// Text writes an amount with the digits of its minor unit and a point: "1234.50".
func Text(amount int64, digits int) string {
	s, sign := strconv.FormatInt(amount, 10), ""
	if s[0] == '-' {
		s, sign = s[1:], "-"
	}
	if digits <= 0 {
		return sign + s
	}
	if len(s) <= digits {
		s = strings.Repeat("0", digits-len(s)+1) + s
	}
	return sign + s[:len(s)-digits] + "." + s[len(s)-digits:]
}

// Most is the most minor units that a price may have.
const Most = 1_000_000_000_000

// Parse reads a decimal of a currency with so many digits behind the point into
// minor units, exactly. A sign, comma, blank or exponent, more digits than that, and
// more than [Most] are errors, which name what was found and what is allowed.
func Parse(text string, digits int) (int64, error) {
	want := "want digits, and behind a point at most " + strconv.Itoa(digits) + " more, such as 118.00"
	if digits == 0 {
		want = "want whole digits, such as 118"
	}
	whole, part, point := strings.Cut(text, ".")
	for _, s := range []string{whole, part} {
		if strings.Trim(s, "0123456789") != "" {
			return 0, fmt.Errorf("found amount %q: %s; no sign, comma, blank or exponent", text, want)
		}
	}
	if whole == "" || point && part == "" || len(part) > digits {
		return 0, fmt.Errorf("found amount %q: %s", text, want)
	}
	n, err := strconv.ParseInt(whole+part+strings.Repeat("0", digits-len(part)), 10, 64)
	if err != nil || n > Most {
		return 0, fmt.Errorf("found amount %q: want at most 10^12 of the smallest unit", text)
	}
	return n, nil
}

// Decimal is [Parse] of a number as it is written in the fewest digits that tell it
// from all others: a price of 195.05 in a file is 195.05, though no binary number is.
func Decimal(v float64, digits int) (int64, error) {
	return Parse(strconv.FormatFloat(v, 'f', -1, 64), digits)
}
