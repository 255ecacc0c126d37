package money

import "github.com/tackfree/tackfree/internal/minor"

// An Amount is a sum of money in minor units of a currency, exactly.
type Amount struct {
	Minor  int64
	Digits int // of the minor unit: 2 where a hundred make one
}

// String writes the amount with its digits and a point: "1234.50".
func (a Amount) String() string { return minor.Text(a.Minor, a.Digits) }

// MarshalText returns the text of String.
func (a Amount) MarshalText() ([]byte, error) { return []byte(a.String()), nil }

// ErrTooLarge says that a sum does not fit: more than 9.2e18 minor units.
var ErrTooLarge = minor.ErrTooLarge
