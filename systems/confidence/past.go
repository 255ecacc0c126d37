package confidence

import (
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"github.com/tackfree/tackfree/systems"
)

// student is a factor whose logarithm is Student's t about mu: what a normal one
// of unknown mean and scatter looks like from few jobs.
type student struct {
	mu, scale float64
	t         *table // of the upper half, the lower is its mirror
}

func newStudent(mu, scale, free float64) student {
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: free}
	return student{mu, scale, &table{q: func(z float64) float64 { return -t.Quantile(distuv.UnitNormal.CDF(-z)) }}}
}

func (s student) at(z float64) float64 {
	if z < 0 {
		return math.Exp(s.mu - s.scale*s.t.at(-z))
	}
	return math.Exp(s.mu + s.scale*s.t.at(z))
}

// predicted returns the distribution of the next job's factor from a class's own
// distribution and n past jobs: the normal model with conjugate (normal, scaled
// inverse chi-square) prior on the logarithm of the factor. The class, of mean
// mu0 and variance v0 of the logarithm, is a prior worth k jobs both for the mean
// and for the variance; with the jobs' mean m and sample variance s^2
//
//	s0^2 = v0 (k - 2)/(k + 1), kn = k + n, mu = (k mu0 + n m)/kn
//	kn sn^2 = k s0^2 + (n - 1) s^2 + (k n/kn) (m - mu0)^2
//
// and the next job is Student's t with kn degrees of freedom about mu, of scale
// sn sqrt(1 + 1/kn). Few jobs have wide tails: that counts the small sample. s0 is
// such that with n = 0 the next job's variance would be v0: the class says how
// jobs scatter, our not knowing a contractor's own mean in it, so that jobs which
// agree with it narrow it. A class worth no job drops out: then it is the
// prediction interval of the sample alone, t with n - 1 degrees, scale
// s sqrt(1 + 1/n), and wants two jobs at least.
//
// Without past jobs the class is taken as it stands, in its own shape.
//
// Source: Gelman and others, Bayesian Data Analysis, 3rd ed., section 3.3, from
// memory; the interval of the sample alone, ISO 16269-8, from memory.
func predicted(s *systems.Scatter, class spread, jobs []float64) (spread, bool) {
	n := float64(len(jobs))
	if n == 0 {
		return class, false
	}
	logs := make([]float64, len(jobs))
	for i, r := range jobs {
		logs[i] = math.Log(r)
	}
	m, v := stat.Mean(logs, nil), 0.0
	if n > 1 {
		v = stat.Variance(logs, nil)
	}
	mu, scale, free := 0.0, 0.0, 0.0
	if k := float64(s.Worth); k > 0 {
		mu0, s0 := logMoments(class)
		s0 *= math.Sqrt((k - 2) / (k + 1))
		mu = (k*mu0 + n*m) / (k + n)
		scale = math.Sqrt((k*s0*s0+(n-1)*v+k*n/(k+n)*(m-mu0)*(m-mu0))/(k+n)) * math.Sqrt(1+1/(k+n))
		free = k + n
	} else if n > 1 {
		mu, scale, free = m, math.Sqrt(v*(1+1/n)), n-1
	} else {
		return class, false
	}
	if scale == 0 {
		return always(math.Exp(mu)), true
	}
	return newStudent(mu, scale, free), true
}

// logMoments returns mean and standard deviation of the logarithm of a
// distribution, exact for lognormal ones, otherwise by the midpoint rule over
// 2000 equal shares: good to 1e-3 of the standard deviation.
func logMoments(s spread) (mu, sigma float64) {
	switch s := s.(type) {
	case lognormal:
		return s.mu, s.sigma
	case always:
		return math.Log(float64(s)), 0
	}
	if t, ok := s.(*table); ok {
		if err := t.fill(); err != nil { // then it is asked itself, slower
			t.spline = nil
		}
	}
	logs := make([]float64, 2000)
	for i := range logs {
		logs[i] = math.Log(s.at(distuv.UnitNormal.Quantile((float64(i) + 0.5) / float64(len(logs)))))
	}
	return stat.MeanStdDev(logs, nil)
}
