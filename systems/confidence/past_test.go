package confidence

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"github.com/tackfree/tackfree/systems"
)

func classOf(worth int64, mean, cv float64) (*systems.Scatter, spread) {
	s := &systems.Scatter{Shape: systems.Lognormal, Mean: 1, Spread: share01(cv), Worth: worth}
	return s, moments(mean, cv)
}

func quantile(s spread, p float64) float64 { return s.at(distuv.UnitNormal.Quantile(p)) }

// The sample alone (a class worth no job): the one-sided limit for the next job is
// m + t s sqrt(1 + 1/n). Five jobs with logarithms -0.1, 0, 0.05, 0.1, 0.2: mean
// 0.05, sum of squares about it 0.0225 + 0.0025 + 0 + 0.0025 + 0.0225 = 0.05,
// s = sqrt(0.05/4) = 0.11180; sqrt(1.2) = 1.09545; t(0.95, 4) = 2.132 (table of
// NIST/SEMATECH e-Handbook 1.3.6.7.2): 0.05 + 2.132 x 0.11180 x 1.09545 = 0.31111.
func TestSampleAlone(t *testing.T) {
	s, class := classOf(0, 1, 0.1)
	var jobs []float64
	for _, l := range []float64{-0.1, 0, 0.05, 0.1, 0.2} {
		jobs = append(jobs, math.Exp(l))
	}
	d, own := predicted(s, class, jobs)
	if got := math.Log(quantile(d, 0.95)); !own || math.Abs(got-0.31111) > 1e-4 { // the table has three decimals
		t.Errorf("95 %% limit of the logarithm %.5f, want 0.31111", got)
	}
	if got := math.Log(quantile(d, 0.05)); math.Abs(got-(0.1-0.31111)) > 1e-4 {
		t.Errorf("5 %% limit %.5f, want %.5f", got, 0.1-0.31111)
	}
	if _, own := predicted(s, class, jobs[:1]); own {
		t.Error("one job alone tells a scatter")
	}
}

// The class as a prior worth k = 4 jobs, two jobs of 110 % and 121 %, worked by
// hand. Class: mean of the logarithm 0, standard deviation 0.2, so that
// s0^2 = 0.04 x 2/5 = 0.016. The jobs' logarithms L = 0.0953102 and 2 L: m = 1.5 L
// = 0.1429653, (n - 1) s^2 = 0.5 L^2 = 0.0045420. kn = 6, mu = 2 m/6 = 0.0476551;
// 6 sn^2 = 4 x 0.016 + 0.0045420 + (8/6) m^2 = 0.064 + 0.0045420 + 0.0272521 =
// 0.0957941, sn^2 = 0.0159657; scale = sqrt(0.0159657 x 7/6) = 0.1364797.
// t(0.90, 6) = 1.440 (NIST/SEMATECH e-Handbook 1.3.6.7.2): 0.0476551 + 1.440 x
// 0.1364797 = 0.24419. Formulas: Gelman and others, Bayesian Data Analysis, from
// memory.
func TestClassAndJobs(t *testing.T) {
	s := &systems.Scatter{Worth: 4}
	d, own := predicted(s, lognormal{0, 0.2}, []float64{1.1, 1.21})
	if got := math.Log(quantile(d, 0.9)); !own || math.Abs(got-0.24419) > 1e-4 {
		t.Errorf("90 %% limit of the logarithm %.5f, want 0.24419", got)
	}
	if got := math.Log(quantile(d, 0.5)); math.Abs(got-0.0476551) > 1e-6 {
		t.Errorf("middle %.7f, want 0.0476551", got)
	}
}

// The spline of Student's t against gonum's own inverse, far into the tails. Source:
// gonum/stat/distuv.
func TestStudentTable(t *testing.T) {
	for _, free := range []float64{1, 2, 4, 7, 30} {
		s := newStudent(0, 1, free)
		if err := s.t.fill(); err != nil {
			t.Fatal(err)
		}
		exact := distuv.StudentsT{Sigma: 1, Nu: free}
		for z := -5.5; z < 5.5; z += 0.0173 {
			want := exact.Quantile(distuv.UnitNormal.CDF(z))
			if z > 0 {
				want = -exact.Quantile(distuv.UnitNormal.CDF(-z))
			}
			got := math.Log(s.at(z))
			if math.Abs(want) < 500 && math.Abs(got-want) > 1e-5*(1+math.Abs(want)) {
				t.Fatalf("%g degrees at %g: %.7f, want %.7f", free, z, got, want)
			}
		}
	}
}

// Limits and order: no job is the class; many jobs are what they say, whatever
// the class; a class worth very many is the class; jobs that agree with the class
// narrow it. Properties of conjugate inference.
func TestPastLimits(t *testing.T) {
	s, class := classOf(4, 1.05, 0.15)
	if d, own := predicted(s, class, nil); own || d != class {
		t.Error("without jobs the class does not stand")
	}
	r := make([]float64, 4000) // logarithms of mean 0.3 and standard deviation 0.05
	for i := range r {
		r[i] = math.Exp(0.3 + 0.05*distuv.UnitNormal.Quantile((float64(i)+0.5)/float64(len(r))))
	}
	d, _ := predicted(s, class, r)
	if got, want := math.Log(quantile(d, 0.9)), 0.3+0.05*1.28155; math.Abs(got-want) > 1e-3 {
		t.Errorf("4000 jobs: %.5f, want %.5f", got, want)
	}
	firm := *s
	firm.Worth = 1000
	d, _ = predicted(&firm, class, []float64{1.1}) // one far off would still widen it by a hundredth
	if got, want := quantile(d, 0.9), quantile(class, 0.9); math.Abs(got/want-1) > 2e-3 {
		t.Errorf("a class worth 1000 jobs: %.4f, want %.4f", got, want)
	}
	mu, _ := logMoments(class)
	width := quantile(class, 0.95) / quantile(class, 0.05)
	var jobs []float64
	for n := range 6 {
		jobs = append(jobs, math.Exp(mu))
		d, _ := predicted(s, class, jobs)
		w := quantile(d, 0.95) / quantile(d, 0.05)
		if !(w < width) {
			t.Errorf("job %d agrees with the class and widens it: %.4f after %.4f", n+1, w, width)
		}
		width = w
	}
	one, _ := predicted(s, class, []float64{1.4, 1.4})
	if got := quantile(one, 0.5); !(got > quantile(class, 0.5) && got < 1.4) {
		t.Errorf("two jobs at 140 %%: middle %.3f is not between the class and them", got)
	}
}
