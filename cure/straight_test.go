package cure

import (
	"math"
	"testing"
)

// Norris of NIST's Statistical Reference Datasets, a straight line through 36
// observations: certified values (and the data) from memory. Tolerance 1e-9.
func TestStraightNIST(t *testing.T) {
	y := []float64{0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2}
	x := []float64{0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5}
	l := straight(x, y)
	for _, c := range []struct {
		name            string
		got, want, errs float64
	}{
		{"b0", l.y - l.slope*l.x, -0.262323073774029, 1e-9},
		{"b1", l.slope, 1.00211681802045, 1e-9},
		{"R2", l.r2, 0.999993745883712, 1e-12},
		{"standard error of b1", l.stdErr, 0.429796848199937e-3, 1e-9 * 4e-4},
		{"standard deviation about the line", l.scatter, 0.884796396144373, 1e-9},
	} {
		if math.Abs(c.got-c.want) > c.errs {
			t.Errorf("%s = %.15g, want %.15g", c.name, c.got, c.want)
		}
	}
}

// Student's t, 97.5 %: from memory of any table, to the digits given.
func TestStudent(t *testing.T) {
	for df, want := range map[int]float64{1: 12.7062047362, 2: 4.30265272975, 3: 3.18244630528, 5: 2.57058183564, 10: 2.22813885196, 30: 2.04227245630} {
		if got := student95(df); math.Abs(got-want) > 1e-9*want {
			t.Errorf("%d: %.12g, want %.12g", df, got, want)
		}
	}
}
