package minor

import (
	"errors"
	"math"
	"math/big"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// halfAway rounds a rational half away from zero. From the definition of the rule,
// such as in EN 16931 for invoices, from memory.
func halfAway(r *big.Rat) *big.Int {
	two := new(big.Rat).Add(new(big.Rat).Mul(r, big.NewRat(2, 1)), big.NewRat(1, 1)) // 2 r + 1, from zero up
	return new(big.Int).Div(two.Num(), new(big.Int).Mul(two.Denom(), big.NewInt(2)))
}

// Products over a divisor are those of exact rationals, for all amounts there can
// be. Source: math/big.
func TestMulDivExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Int64Range(0, math.MaxInt64).Draw(t, "a"), rapid.Int64Range(0, math.MaxInt64).Draw(t, "b")
		if rapid.Bool().Draw(t, "small") {
			a, b = a%100000, b%1000000
		}
		c := rapid.OneOf(rapid.Just(int64(1000)), rapid.Int64Range(1, math.MaxInt64)).Draw(t, "c")
		want := halfAway(new(big.Rat).SetFrac(new(big.Int).Mul(big.NewInt(a), big.NewInt(b)), big.NewInt(c)))
		got, err := MulDiv(a, b, c)
		if !want.IsInt64() {
			if !errors.Is(err, ErrTooLarge) {
				t.Fatalf("%d x %d / %d: %d, %v; want too large", a, b, c, got, err)
			}
			return
		}
		if err != nil || got != want.Int64() {
			t.Fatalf("%d x %d / %d: %d, %v; want %s", a, b, c, got, err, want)
		}
	})
}

func TestAmounts(t *testing.T) {
	for _, tc := range []struct { // a b / c by hand, half away from zero
		a, b, c, want int64
	}{{1, 1, 2, 1}, {1, 1, 3, 0}, {2, 1, 3, 1}, {5, 1, 2, 3}, {3850, 48342, 1000, 186117}, {0, 7, 9, 0}, {1, 4999, 10000, 0}, {1, 5000, 10000, 1}} {
		if got, err := MulDiv(tc.a, tc.b, tc.c); err != nil || got != tc.want {
			t.Errorf("%d x %d / %d: %d, %v; want %d", tc.a, tc.b, tc.c, got, err, tc.want)
		}
	}
	type amount struct {
		minor  int64
		digits int
	}
	for a, want := range map[amount]string{{0, 2}: "0.00", {5, 2}: "0.05", {123450, 2}: "1234.50", {7, 0}: "7", {1, 4}: "0.0001", {-250, 2}: "-2.50", {math.MinInt64, 2}: "-92233720368547758.08"} {
		if got := Text(a.minor, a.digits); got != want {
			t.Errorf("%d with %d digits: %s, want %s", a.minor, a.digits, got, want)
		}
	}
	if _, err := Add(math.MaxInt64, 1); !errors.Is(err, ErrTooLarge) {
		t.Errorf("the largest and one: %v", err)
	}
	if sum, err := Add(math.MaxInt64-1, 1); err != nil || sum != math.MaxInt64 {
		t.Errorf("up to the largest: %d, %v", sum, err)
	}
	for q, want := range map[float64]int64{0: 0, 1.0005: 1001, 1.0004: 1000, 48.3416667: 48342} {
		if got, err := Thousandths(q); err != nil || got != want {
			t.Errorf("%g: %d thousandths, %v; want %d", q, got, err, want)
		}
	}
	for _, q := range []float64{-1, math.NaN(), math.Inf(1), 1e13} {
		if _, err := Thousandths(q); err == nil {
			t.Errorf("%g is taken", q)
		}
	}
	if _, err := MulDiv(-1, 1, 1); err == nil {
		t.Error("less than nothing is taken")
	}
}

// A number of a file is read as it is written, for all amounts of up to 15 digits:
// their decimals come back from float64. Source: IEEE 754, DBL_DIG = 15.
func TestDecimalAsWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		digits := rapid.IntRange(0, 4).Draw(t, "digits")
		n := rapid.Int64Range(0, Most).Draw(t, "minor units")
		text := Text(n, digits)
		v, err := strconv.ParseFloat(text, 64)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := Decimal(v, digits); err != nil || got != n {
			t.Fatalf("%s: %d, %v; want %d", text, got, err, n)
		}
		if got, err := Parse(text, digits); err != nil || got != n {
			t.Fatalf("%q: %d, %v; want %d", text, got, err, n)
		}
	})
	for _, v := range []float64{-1, 0.001, 1e11, math.NaN(), math.Inf(1), 0.30000000000000004} {
		if n, err := Decimal(v, 2); err == nil {
			t.Errorf("%v is %d minor units", v, n)
		}
	}
}
