package climate

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// Incropera table 5.1 and Cengel table 4-2 (printed to four digits, from
// memory), and the exact roots computed with SciPy: rows CE of conduction.csv.
func TestEigenvalues(t *testing.T) {
	f, err := os.Open("testdata/conduction.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	col := map[string]int{}
	for i, name := range all[0] {
		col[name] = i
	}
	n := 0
	for _, row := range all[1:] {
		if row[col["kind"]] != "eigen" {
			continue
		}
		n++
		_, text, _ := strings.Cut(row[col["extra_inputs"]], "=")
		bi, err := strconv.ParseFloat(strings.Fields(text)[0], 64)
		if err != nil {
			t.Fatal(row, err)
		}
		got := eigenvalue(bi, 1)
		if row[col["output"]] == "C1" {
			got = 4 * math.Sin(got) / (2*got + math.Sin(2*got))
		}
		for _, c := range []struct {
			key string
			tol float64
		}{{"published", 6e-5}, {"recomputed", 6e-6}} {
			want, err := strconv.ParseFloat(row[col[c.key]], 64)
			if err != nil || math.Abs(got-want) > c.tol {
				t.Errorf("%s Bi %v: %v, want %v ± %v (%s)", row[0], bi, got, want, c.tol, c.key)
			}
		}
	}
	if n != 40 {
		t.Errorf("%d rows, want 40", n)
	}
	for n := 1; n < 40; n++ {
		if z := eigenvalue(0.4, n); math.Abs(z*math.Tan(z)-0.4) > 1e-9 {
			t.Errorf("root %d: %v gives %v", n, z, z*math.Tan(z))
		}
	}
}
