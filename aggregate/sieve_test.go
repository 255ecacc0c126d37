package aggregate_test

import (
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
)

// rows reads a table of testdata; each row is a map from the header's names.
func rows(t *testing.T, name string, want int) []map[string]string {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, r := range all[1:] {
		m := map[string]string{}
		for i, h := range all[0] {
			m[h] = r[i]
		}
		out = append(out, m)
	}
	if len(out) != want {
		t.Fatalf("%s has %d rows, want %d", name, len(out), want)
	}
	return out
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func ExampleSieve() {
	s, ok := aggregate.FindSieve("#20")
	tol, _ := s.Tolerance()
	fmt.Printf("%s: %v ± %.0f um, %t\n", s.Name, s.Opening, float64(tol/units.Micrometre), ok)
	// Output: No. 20: 850 um ± 29 um, true
}

// Every row of testdata/sieves.csv: ASTM E11-01 Table 1, read down to 3.35 mm,
// finer from memory.
func TestSieves(t *testing.T) {
	all := aggregate.Sieves()
	printed, last := 0, 125.0
	for i, r := range rows(t, "sieves.csv", len(all)) {
		s := all[i]
		where := r["alternative_designation"] + ", " + r["how_known"]
		near(t, where, mm(s.Opening), number(t, r["opening_mm"]), 1e-12, nil, "opening as designated")
		near(t, where, float64(s.Inches/units.Inch), number(t, r["nominal_opening_in"]), 1e-12, nil, "inches as printed")
		// The inches are the opening rounded: the worst row is No. 325, 0.0017 in for 0.00177.
		near(t, where, float64(s.Inches), float64(s.Opening), 0.045, nil, "inches are rounded")
		if found, ok := aggregate.FindSieve(r["alternative_designation"]); !ok || found != s {
			t.Errorf("%s: found %+v, %t", where, found, ok)
		}
		if text := r["max_avg_opening_deviation_mm"]; text != "" {
			printed++
			tol, err := s.Tolerance()
			decimals := len(text) - strings.Index(text, ".") - 1
			// The print rounds 3.116 to 3.2 and 2.221 to 2.2: one unit of its last digit.
			if off := math.Abs(number(t, text) - mm(tol)); err != nil || off > math.Pow10(-decimals) {
				t.Errorf("%s: tolerance %v, %v; want %s mm within its last digit", where, tol, err, text)
			}
		}
		// Trap: until 1970 No. 20 was 841 um, No. 30 595, No. 40 420, No. 50 297, No. 100 149, No. 200 74.
		if old := r["pre_1970_opening_um"]; old != "" {
			v := number(t, old)
			if um := float64(s.Opening / units.Micrometre); um == v || math.Abs(um/v-1) > 0.03 {
				t.Errorf("%s: %g um; want today's opening, not %g um of before 1970", where, um, v)
			}
		}
		// Neighbours are 2^(1/4) apart within 3 %, but for five supplementary sizes.
		k := math.Round(4 * math.Log2(last/mm(s.Opening)))
		off := math.Abs(mm(s.Opening)*math.Pow(2, k/4)/last - 1)
		supplementary := strings.HasPrefix(r["series"], "E11")
		if (off < 0.03) == supplementary {
			t.Errorf("%s: %.3f off the fourth-root-of-2 series", where, off)
		}
		if !supplementary {
			last = mm(s.Opening)
		}
	}
	if printed != 23 {
		t.Errorf("saw %d printed tolerances, want 23", printed)
	}
	all[0] = aggregate.Sieve{} // the caller's own
	if aggregate.Sieves()[0].Name != "5 in." {
		t.Error("the table is shared")
	}
}

func TestSieveNames(t *testing.T) {
	for _, name := range []string{"No. 8", "no 8", "#8", "NO.8", " No 8 "} {
		if s, ok := aggregate.FindSieve(name); !ok || s.Opening != 2.36*units.Millimetre {
			t.Errorf("%q: %+v, %t", name, s, ok)
		}
	}
	for _, name := range []string{"", "8", "No. 7", "#", "3/7 in."} {
		if s, ok := aggregate.FindSieve(name); ok {
			t.Errorf("%q: %+v; want none", name, s)
		}
	}
	for _, d := range []units.Length{0, -1, 1, units.Length(math.NaN())} {
		if tol, err := (aggregate.Sieve{Opening: d}).Tolerance(); !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(tol)) {
			t.Errorf("%v: %v, %v; want NaN and a range error", float64(d), tol, err)
		}
	}
}

func mm(l units.Length) float64 { return float64(l / units.Millimetre) }

func BenchmarkTolerance(b *testing.B) {
	b.ReportAllocs() // 0 allocs/op
	s := aggregate.Sieve{Opening: 1e-3}
	for b.Loop() {
		s.Tolerance()
	}
}
