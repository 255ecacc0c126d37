package deposit

import (
	"errors"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/stat"

	"github.com/tackfree/tackfree/data/units"
)

// mean returns the mean coverage of n runs and its standard error.
func mean(t *testing.T, n int, run func(seed uint64) (*Layer, error)) (m, se float64) {
	t.Helper()
	var c []float64
	for s := range n {
		l, err := run(uint64(s))
		if err != nil {
			t.Fatal(err)
		}
		sound(t, l)
		c = append(c, l.Coverage())
	}
	m, sd := stat.MeanStdDev(c, nil)
	return m, sd / math.Sqrt(float64(n))
}

// sound checks that no two grains overlap and that all lie on the floor.
func sound(t *testing.T, l *Layer) {
	t.Helper()
	for i, p := range l.Centres {
		if !(p.X >= 0 && p.X < l.Side && p.Y >= 0 && p.Y < l.Side) {
			t.Fatalf("grain %d at %v is off the floor", i, p)
		}
		l.cells[l.cell(p.Y)*l.m+l.cell(p.X)] = -1
		if k, d2 := l.nearest(p); k >= 0 && d2 < 1-1e-9 {
			t.Fatalf("grains %d and %d are %g apart", i, k, math.Sqrt(d2))
		}
		l.cells[l.cell(p.Y)*l.m+l.cell(p.X)] = int32(i)
	}
}

// The two coverages of package aggregate: each within three standard errors of
// eight runs, 0.0012 and 0.0015.
func TestSaturation(t *testing.T) {
	runs := 8
	if testing.Short() {
		runs = 4
	}
	m, se := mean(t, runs, func(s uint64) (*Layer, error) { return Jam(120, s) })
	if math.Abs(m-0.54707) > 3*0.00114/math.Sqrt(float64(runs)) || se > 0.001 {
		t.Errorf("jammed at %.5f ± %.5f; want 0.54707 (P06: Zhang and Torquato 2013, memory; .547 seen)", m, se)
	}
	m, se = mean(t, runs, func(s uint64) (*Layer, error) { return Roll(114, 8, s) })
	if math.Abs(m-0.61048) > 3*0.00143/math.Sqrt(float64(runs)) || se > 0.001 {
		t.Errorf("rolled to %.5f ± %.5f; want 0.61048 (P07: Choi, Talbot, Tarjus and Viot 1993, memory)", m, se)
	}
}

// How the floor fills with the floors' worth of grain thrown. From the notes'
// own simulations (box 400 d, 8 seeds, s.e. 1e-4), within 0.002: three standard
// errors of four runs at side 120. The rows of 1024 and 2048 floors' worth,
// .5388 and .5411, take too long for a test; Jam goes all the way.
func TestKinetics(t *testing.T) {
	for _, tc := range []struct{ tau, want float64 }{{.0625, .0554}, {.125, .0997}, {.25, .1655}, {1, .3251}, {2, .3884}, {4, .4337}, {16, .4882}, {64, .5162}} {
		if testing.Short() && tc.tau > 4 {
			continue
		}
		m, _ := mean(t, 4, func(s uint64) (*Layer, error) { return Stick(120, tc.tau, s) })
		if math.Abs(m-tc.want) > 0.002 {
			t.Errorf("stuck, tau %g: %.4f, want %g", tc.tau, m, tc.want)
		}
	}
	// Short times: d theta/d tau = 1 - 4 theta + 3.307973 theta^2 + 1.406876 theta^3, Schaaf and Talbot (as noted).
	for _, tc := range []struct{ tau, want float64 }{{.0625, .05551}, {.125, .09976}, {.25, .16551}} {
		theta, n := 0.0, 20000
		rate := func(x float64) float64 { return 1 - 4*x + 6*math.Sqrt(3)/math.Pi*x*x + 1.406876*x*x*x }
		for range n { // midpoint rule
			h := tc.tau / float64(n)
			theta += h * rate(theta+h/2*rate(theta))
		}
		m, _ := mean(t, 4, func(s uint64) (*Layer, error) { return Stick(120, tc.tau, s) })
		if math.Abs(theta-tc.want) > 1e-5 || math.Abs(m-theta) > 0.002 {
			t.Errorf("series at tau %g: %.5f, want %g; simulated %.4f", tc.tau, theta, tc.want, m)
		}
	}
	for _, tc := range []struct{ tau, want float64 }{{.25, .2433}, {.5, .4293}, {2, .6089}, {8, .6105}} {
		if testing.Short() && tc.tau > 2 {
			continue
		}
		m, _ := mean(t, 4, func(s uint64) (*Layer, error) { return Roll(120, tc.tau, s) })
		if math.Abs(m-tc.want) > 0.002 {
			t.Errorf("rolled, tau %g: %.4f, want %g", tc.tau, m, tc.want)
		}
	}
}

func TestSeeds(t *testing.T) {
	for name, run := range map[string]func(seed uint64) (*Layer, error){
		"stick": func(s uint64) (*Layer, error) { return Stick(20, 3, s) }, "jam": func(s uint64) (*Layer, error) { return Jam(20, s) }, "roll": func(s uint64) (*Layer, error) { return Roll(20, 3, s) },
	} {
		a, _ := run(1)
		b, _ := run(1)
		c, _ := run(2)
		if !slices.Equal(a.Centres, b.Centres) || slices.Equal(a.Centres, c.Centres) {
			t.Errorf("%s: want the same grains for the same seed only", name)
		}
	}
}

func TestJamIsFull(t *testing.T) { // no point of a fine grid has room for a grain
	l, err := Jam(20, 3)
	if err != nil {
		t.Fatal(err)
	}
	for i := range 1000 {
		for k := range 1000 {
			if at, _ := l.nearest(r2.Vec{X: float64(i) * 0.02, Y: float64(k) * 0.02}); at < 0 {
				t.Fatalf("room at %d, %d", i, k)
			}
		}
	}
}

func TestRange(t *testing.T) {
	nan := math.NaN()
	for _, side := range []float64{0, -1, 4, 3000, nan, math.Inf(1)} {
		_, err1 := Stick(side, 1, 1)
		_, err2 := Jam(side, 1)
		_, err3 := Roll(side, 1, 1)
		for _, err := range []error{err1, err2, err3} {
			if !errors.Is(err, units.ErrRange) {
				t.Errorf("side %g: %v; want a range error", side, err)
			}
		}
	}
	for _, tau := range []float64{-1e-9, nan, 1e6} {
		_, err1 := Stick(10, tau, 1)
		_, err2 := Roll(10, tau, 1)
		if !errors.Is(err1, units.ErrRange) || !errors.Is(err2, units.ErrRange) {
			t.Errorf("tau %g: %v, %v; want range errors", tau, err1, err2)
		}
	}
}

// 10 000 grains that lie: at most 200 ms of one processor each.
func BenchmarkJam(b *testing.B) {
	for b.Loop() {
		l, _ := Jam(120, 1)
		b.ReportMetric(float64(len(l.Centres)), "grains")
	}
}

func BenchmarkRoll(b *testing.B) {
	for b.Loop() {
		l, _ := Roll(114, 8, 1)
		b.ReportMetric(float64(len(l.Centres)), "grains")
	}
}
