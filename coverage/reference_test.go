package coverage_test

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/tackfree/tackfree/data/units"
)

// testdata/reference.csv holds outside values, a row each: the value in 12
// digits (the same equation computed elsewhere), what the source prints and
// within how much that is right (its rounding), a printed value that is wrong
// and must not come out, the source and how it is known. "memory" is from
// memory of the source.
//
// Left out: dilution air and slab moisture, which package climate computes;
// the drying of fresh concrete, which no coat meets; and facts that are limits
// and not arithmetic (surface temperature, moisture, age, bond, joints,
// safety), which are data with their owners.
//
// exact is the tolerance of the computed value, as the table gives 12 digits;
// the column rel is for rows that give fewer (8 or 9).
const exact = 1e-11

// refused checks that f gives a range error, with NaN or nothing beside it.
func refused[Q ~float64](t *testing.T, what string, f func() (Q, error)) {
	t.Helper()
	if v, err := f(); !errors.Is(err, units.ErrRange) || !(math.IsNaN(float64(v)) || v == 0) {
		t.Errorf("%s: %v, %v; want a range error and NaN or nothing", what, float64(v), err)
	}
}

// A value computes one row: its key is "id what unit".
type value func() (float64, error)

// of is a value that cannot fail.
func of(v float64) value { return func() (float64, error) { return v, nil } }

// in is a quantity in a unit.
func in[Q ~float64](unit Q, f func() (Q, error)) value {
	return func() (float64, error) { v, err := f(); return float64(v / unit), err }
}

// computed are all rows, by part of the table.
var computed = []map[string]value{films(), conversions(), readings(), mixes(), emissions()}

func TestReference(t *testing.T) {
	file, err := os.Open("testdata/reference.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]value{}
	for _, part := range computed {
		for k, v := range part {
			if all[k] != nil {
				t.Errorf("%s: computed twice", k)
			}
			all[k] = v
		}
	}
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	n := 0
	for _, r := range rows[1:] {
		key, from := r[0]+" "+r[1]+" "+r[4], r[9]+"; "+r[10]+"; "+r[11]
		f := all[key]
		if f == nil {
			t.Errorf("no test for row %q", key)
			continue
		}
		delete(all, key)
		n++
		got, err := f()
		rel := exact
		if r[5] != "" {
			rel = number(r[5])
		}
		near(t, key, got, number(r[3]), rel, err, from)
		if r[6] != "" && !(math.Abs(got-number(r[6])) <= number(r[7])) {
			t.Errorf("%s: got %g; printed %s within %s (%s)", key, got, r[6], r[7], from)
		}
		if r[8] != "" && math.Abs(got/number(r[8])-1) < 1e-3 {
			t.Errorf("%s: got %g, the misprint %s (%s)", key, got, r[8], from)
		}
	}
	for k := range all {
		t.Errorf("%s: computed, but no row asks for it", k)
	}
	if n < 183 {
		t.Errorf("only %d rows", n)
	}
}
