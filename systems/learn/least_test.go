package learn

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat"
)

func unbounded(p int) (low, high []float64) {
	for range p {
		low, high = append(low, -1e12), append(high, 1e12)
	}
	return low, high
}

// NIST StRD, nonlinear regression, MGH10: certified values and standard
// deviations as they stand in cure-notes.md of the project's check values (N1,
// seen in stored copies of the NIST file), from the second start.
func TestStRD(t *testing.T) {
	y := []float64{34780, 28610, 23650, 19630, 16370, 13720, 11540, 9744, 8261, 7030, 6005, 5147, 4427, 3820, 3307, 2872}
	low, high := unbounded(3)
	f := fit{read: y, start: []float64{0.02, 4000, 250}, step: []float64{1e-7, 0.01, 0.001}, low: low, high: high, plain: true,
		model: func(b, out []float64) error {
			for i := range out {
				out[i] = b[0] * math.Exp(b[1]/(50+5*float64(i)+b[2]))
			}
			return nil
		}}
	s, err := f.solve()
	if err != nil {
		t.Fatal(err)
	}
	for k, want := range [][2]float64{{5.6096364710e-03, 1.5687892471e-04}, {6.1813463463e+03, 2.3309021107e+01}, {3.4522363462e+02, 7.8486103508e-01}} {
		if math.Abs(s.x[k]/want[0]-1) > 1e-6 || math.Abs(s.se[k]/want[1]-1) > 1e-5 {
			t.Errorf("b%d = %.10g (%.10g), certified %.10g (%.10g)", k+1, s.x[k], s.se[k], want[0], want[1])
		}
	}
	if want := 2.6009740065; math.Abs(s.scale/want-1) > 1e-6 {
		t.Errorf("residual standard deviation %.10g, certified %.10g", s.scale, want)
	}
}

// A straight line: as gonum's regression, with the usual standard errors.
// Source: gonum/stat LinearRegression; standard error of a slope, s/sqrt(Sxx).
func TestLine(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	n := 40
	x, y := make([]float64, n), make([]float64, n)
	for i := range x {
		x[i] = float64(i) / 3
		y[i] = 2 - 0.7*x[i] + r.NormFloat64()
	}
	low, high := unbounded(2)
	f := fit{read: y, start: []float64{0, 0}, step: []float64{1, 1}, low: low, high: high, plain: true,
		model: func(b, out []float64) error {
			for i := range out {
				out[i] = b[0] + b[1]*x[i]
			}
			return nil
		}}
	s, err := f.solve()
	if err != nil {
		t.Fatal(err)
	}
	a, b := stat.LinearRegression(x, y, nil, false)
	rss, sxx, mx := 0.0, 0.0, stat.Mean(x, nil)
	for i := range x {
		rss += math.Pow(y[i]-a-b*x[i], 2)
		sxx += (x[i] - mx) * (x[i] - mx)
	}
	s2 := rss / float64(n-2)
	for _, c := range [][2]float64{{s.x[0], a}, {s.x[1], b}, {s.se[1], math.Sqrt(s2 / sxx)}, {s.se[0], math.Sqrt(s2 * (1/float64(n) + mx*mx/sxx))}} {
		if math.Abs(c[0]/c[1]-1) > 1e-8 {
			t.Errorf("got %.12g, want %.12g", c[0], c[1])
		}
	}
	// A third of the readings 50 off: the robust line stays, and gives them nothing.
	for i := range y {
		if i%3 == 0 {
			y[i] += 50
		}
	}
	f.plain = false
	s, err = f.solve()
	if err != nil || math.Abs(s.x[1]-b) > 0.15 || math.Abs(s.x[0]-a) > 1 {
		t.Errorf("with a third of wild readings: %v, %v; want %g, %g", s.x, err, a, b)
	}
	for i := range y {
		if (s.weight[i] == 0) != (i%3 == 0) {
			t.Errorf("reading %d has the weight %g", i, s.weight[i])
		}
	}
}

// The 95 % interval of a robust line holds the truth in 95 % of 2000 seeds, with
// normal scatter and with neighbours correlated. Source: binomial scatter of the
// count, 0.5 %; that n (1-r)/(1+r) is an estimate costs some cover.
func TestIntervalCovers(t *testing.T) {
	for _, rho := range []float64{0, 0.6} {
		held := 0
		const runs, n = 2000, 80
		for seed := range runs {
			r := rand.New(rand.NewPCG(uint64(seed), 7))
			y, series := make([]float64, n), make([]int, n)
			e := r.NormFloat64()
			for i := range y {
				e = rho*e + math.Sqrt(1-rho*rho)*r.NormFloat64()
				y[i], series[i] = 3+0.05*float64(i)+e, i
			}
			low, high := unbounded(2)
			f := fit{read: y, start: []float64{0, 0}, step: []float64{1, 1}, low: low, high: high, series: [][]int{series},
				model: func(b, out []float64) error {
					for i := range out {
						out[i] = b[0] + b[1]*float64(i)
					}
					return nil
				}}
			s, err := f.solve()
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(s.x[1]-0.05) <= t95(s.dof)*s.se[1] {
				held++
			}
		}
		share := float64(held) / runs
		t.Logf("rho %g: %.3f", rho, share)
		if share < 0.90 || share > 0.98 {
			t.Errorf("with neighbours correlated by %g the interval holds in %.3f", rho, share)
		}
	}
}

// Every parameter that runs to the end of its range is told, not one of them alone.
// Source: the line's own figures, 3 and 2, beyond both ranges.
func TestEdges(t *testing.T) {
	y := make([]float64, 20)
	for i := range y {
		y[i] = 3 + 2*float64(i) + 0.1*math.Sin(float64(7*i))
	}
	f := fit{read: y, start: []float64{0.5, 0.5}, step: []float64{0.1, 0.1}, low: []float64{0, 0}, high: []float64{1, 1}, plain: true,
		model: func(b, out []float64) error {
			for i := range out {
				out[i] = b[0] + b[1]*float64(i)
			}
			return nil
		}}
	s, err := f.solve()
	if err != nil || !s.edge[0] || !s.edge[1] {
		t.Errorf("%+v, %v", s, err)
	}
}
