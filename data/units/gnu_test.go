package units

import (
	"bufio"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// Every symbol against GNU units 2.22, whose factors are those of NIST SP 811: testdata/gnu-units.tsv, written once by
// testdata/gnu-units.sh with the version that its first line names.
func TestAgainstGNUUnits(t *testing.T) {
	file, err := os.Open("testdata/gnu-units.tsv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	want := map[string]float64{}
	for s := bufio.NewScanner(file); s.Scan(); {
		f := strings.Split(s.Text(), "\t")
		if strings.HasPrefix(s.Text(), "#") || len(f) != 4 {
			continue
		}
		v, err := strconv.ParseFloat(f[3], 64)
		if err != nil {
			t.Fatal(s.Text(), err)
		}
		want[f[0]+"\t"+f[1]] = v
	}
	n := 0
	for _, k := range kinds() {
		for _, y := range k.symbols {
			n++
			v, ok := want[k.name+"\t"+y.name]
			if !ok {
				t.Errorf("%s %s: not in the table", k.name, y.name)
				continue
			}
			tol := 1e-12 // the table has 15 digits
			if y.name == "inHg" || y.name == "mmHg" {
				tol = 1e-6 // conventional columns of mercury, printed to 7 digits in SP 811
			}
			got, err := k.parse("1 " + y.name)
			if err != nil || math.Abs(got/v-1) > tol {
				t.Errorf("1 %s %s = %.15g, %v; GNU units says %.15g", y.name, k.name, got, err, v)
			}
			for _, a := range strings.Fields(y.also) {
				a = strings.ReplaceAll(a, "_", " ")
				if other, err := k.parse("1 " + a); err != nil || other != got {
					t.Errorf("1 %s = %v, %v; want %v as %s", a, other, err, got, y.name)
				}
			}
		}
		if y := k.symbols[0]; k.name != "fraction" && (y.exp != 0 || y.factor != 1) {
			t.Errorf("%s: the first symbol %s is not SI", k.name, y.name)
		}
	}
	if n < 120 {
		t.Errorf("only %d symbols", n)
	}
}
