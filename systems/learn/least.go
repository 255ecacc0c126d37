package learn

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// A fit is a problem of least squares in a few parameters, plain or with a loss
// that does not believe readings far off.
type fit struct {
	model     func(x, out []float64) error // what each reading should be
	read      []float64
	start     []float64
	step      []float64 // by which a parameter is moved for its slope
	low, high []float64
	plain     bool      // squares alone: nothing is weighed down
	least     float64   // scatter that readings have at least: what a sensor can show
	known     []float64 // what is known of a parameter beforehand, NaN if nothing
	within    []float64 // its standard deviation
	series    [][]int   // readings of one sensor in the order of time, for their autocorrelation; nil: none
	pairs     [][2]int  // readings of two sensors at one time, for what they share; nil: none
	alongside int       // sensors that have such
	blur      []float64 // standard deviations of the first parameters by what the model itself is off, none of the others
	shared    float64   // standard deviation of an error that all readings have alike, such as of a rounded log that drives the model
}

// unknown adds a parameter and returns its place: where its search begins, the step of
// its slope, its range, and what is known of it beforehand, NaN if nothing, with the
// standard deviation of that.
func (f *fit) unknown(start, step, low, high, known, within float64) int {
	f.start, f.step, f.low, f.high = append(slices.Clip(f.start), start), append(slices.Clip(f.step), step), append(slices.Clip(f.low), low), append(slices.Clip(f.high), high)
	f.known, f.within = append(slices.Clip(f.known), known), append(slices.Clip(f.within), within)
	return len(f.start) - 1
}

// A solved fit.
type solved struct {
	x, se  []float64
	off    []float64     // reading less model
	weight []float64     // 1 of a reading believed, 0 of one that is not
	scale  float64       // standard deviation of a reading believed
	cov    *mat.SymDense // of the parameters
	n      int           // readings with a weight above nothing
	eff    float64       // as many independent ones
	rho    float64       // autocorrelation of neighbours
	dof    float64       // eff less the parameters
	edge   []bool        // parameters that ran to the end of their range
}

// Constants of the losses, in standard deviations. Huber's is so small that it
// is nearly the sum of the deviations' sizes, which a good third of wild readings
// does not move; Tukey's is 95 % as sharp as squares for normal scatter. Source:
// Huber (1981) and Beaton and Tukey (1974), from memory.
const (
	huber = 0.2
	tukey = 4.685
)

// rounds are the most steps of a search.
const rounds = 2000

var errFew = errors.New("too few readings")

// solve finds the parameters: Gauss and Newton's steps damped as Levenberg and
// Marquardt have it, reweighted by Huber's loss and then by Tukey's, whose scale
// is the median of the absolute deviations after Huber's.
//
// Intervals: the covariance is s2 (J'J)^-1 with s2 = sum(psi^2)/(n - p) over the
// square of the mean of psi' (Huber 1981 ch. 7), which for squares is the usual
// one; readings that are wrong together, for a while (memory) or beside each other
// (alike), count as fewer, and Student's t has those less p degrees. What all are
// wrong by alike is added (share), and what the model is off by itself.
func (f *fit) solve() (*solved, error) {
	n, p := len(f.read), len(f.start)
	if n <= p {
		return nil, fmt.Errorf("%w: %d for %d unknowns", errFew, n, p)
	}
	s := &solved{x: slices.Clone(f.start), off: make([]float64, n), weight: make([]float64, n)}
	for i := range s.weight {
		s.weight[i] = 1
	}
	jac := mat.NewDense(n, p, nil)
	if err := f.residuals(s.x, s.off); err != nil {
		return nil, err
	}
	enough := 1e-3 // of a standard error
	if f.plain {
		enough = 1e-7
	}
	stages := []func(u float64) float64{func(u float64) float64 { return min(1, huber/math.Abs(u)) }, bisquare}
	if f.plain {
		stages = []func(u float64) float64{func(float64) float64 { return 1 }}
	}
	for stage, weigh := range stages {
		lambda := 1e-3
		for round := 0; ; round++ {
			if round == rounds {
				return nil, fmt.Errorf("no end after %d steps of the search", rounds)
			}
			if f.plain {
				s.scale = max(math.Sqrt(f.cost(s, s.x, s.off)/float64(n)), 1e-300)
			} else {
				if stage == 0 {
					s.scale = f.deviation(s.off)
				}
				for i, r := range s.off {
					s.weight[i] = weigh(r / s.scale)
				}
			}
			moved, err := f.advance(s, jac, &lambda)
			if err != nil {
				return nil, err
			}
			if moved < enough && round > 2 || moved == 0 || stage == 0 && !f.plain && moved < 0.03 { // the first stage gives the scale only
				break
			}
		}
	}
	return s, f.interval(s, jac)
}

func bisquare(u float64) float64 {
	if u = u / tukey; u*u >= 1 {
		return 0
	} else {
		return (1 - u*u) * (1 - u*u)
	}
}

func (f *fit) residuals(x, off []float64) error {
	if err := f.model(x, off); err != nil {
		return err
	}
	for i := range off {
		if off[i] = f.read[i] - off[i]; math.IsNaN(off[i]) {
			return fmt.Errorf("reading %d gives no number", i)
		}
	}
	return nil
}

// deviation returns the scale of residuals by the median of their sizes, not
// below what a sensor can show.
func (f *fit) deviation(off []float64) float64 {
	a := make([]float64, len(off))
	for i, r := range off {
		a[i] = math.Abs(r)
	}
	return max(median(a)/0.6744897501960817*math.Sqrt(float64(len(off))/float64(len(off)-len(f.start))), f.least, 1e-12)
}

// median returns the middle of a, which it sorts.
func median(a []float64) float64 {
	if len(a) == 0 {
		return math.NaN()
	}
	slices.Sort(a)
	n := len(a)
	return (a[(n-1)/2] + a[n/2]) / 2
}

// cost is what a step must lessen.
func (f *fit) cost(s *solved, x, off []float64) (sum float64) {
	for i, r := range off {
		sum += s.weight[i] * r * r
	}
	for k := range x {
		if d, ok := f.known1(k, x[k]); ok {
			sum += s.scale * s.scale * d * d
		}
	}
	return sum
}

// known1 is by how many standard deviations a parameter is off what was known.
func (f *fit) known1(k int, x float64) (float64, bool) {
	if f.known == nil || math.IsNaN(f.known[k]) || !(f.within[k] > 0) {
		return 0, false
	}
	return (x - f.known[k]) / f.within[k], true
}

// slopes fills the Jacobian by central differences, inside the ranges.
func (f *fit) slopes(x []float64, jac *mat.Dense) error {
	n := len(f.read)
	y := slices.Clone(x)
	a, b := make([]float64, n), make([]float64, n)
	for k := range x {
		up, down := min(x[k]+f.step[k], f.high[k]), max(x[k]-f.step[k], f.low[k])
		y[k] = up
		if err := f.model(y, a); err != nil {
			return err
		}
		y[k] = down
		if err := f.model(y, b); err != nil {
			return err
		}
		y[k] = x[k]
		for i := range a {
			jac.Set(i, k, (a[i]-b[i])/(up-down))
		}
	}
	return nil
}

// advance makes one step and returns how long it was, in standard errors or so.
func (f *fit) advance(s *solved, jac *mat.Dense, lambda *float64) (float64, error) {
	n, p := len(f.read), len(s.x)
	if err := f.slopes(s.x, jac); err != nil {
		return 0, err
	}
	a := mat.NewSymDense(p, nil)
	g := mat.NewVecDense(p, nil)
	for i := range n {
		w := s.weight[i]
		if w == 0 {
			continue
		}
		for k := range p {
			g.SetVec(k, g.AtVec(k)+w*jac.At(i, k)*s.off[i])
			for l := k; l < p; l++ {
				a.SetSym(k, l, a.At(k, l)+w*jac.At(i, k)*jac.At(i, l))
			}
		}
	}
	for k := range p {
		if d, ok := f.known1(k, s.x[k]); ok {
			q := s.scale / f.within[k]
			a.SetSym(k, k, a.At(k, k)+q*q)
			g.SetVec(k, g.AtVec(k)-q*s.scale*d)
		}
	}
	was := f.cost(s, s.x, s.off)
	x, off := make([]float64, p), make([]float64, n)
	for try := 0; try < 40; try++ {
		damped := mat.NewSymDense(p, nil)
		damped.CopySym(a)
		for k := range p {
			damped.SetSym(k, k, a.At(k, k)*(1+*lambda)+1e-300)
		}
		var chol mat.Cholesky
		d := mat.NewVecDense(p, nil)
		if !chol.Factorize(damped) || chol.SolveVecTo(d, g) != nil && *lambda < 1e-6 {
			*lambda = max(10**lambda, 1e-6)
			continue
		}
		for k := range x {
			x[k] = min(max(s.x[k]+d.AtVec(k), f.low[k]), f.high[k])
		}
		if err := f.residuals(x, off); err != nil || !(f.cost(s, x, off) <= was) {
			if *lambda *= 10; *lambda > 1e12 {
				return 0, nil
			}
			continue
		}
		moved := 0.0
		for k := range x {
			moved = max(moved, math.Abs(x[k]-s.x[k])*math.Sqrt(a.At(k, k))/s.scale)
		}
		copy(s.x, x)
		copy(s.off, off)
		*lambda = max(*lambda/10, 1e-12)
		return moved, nil
	}
	return 0, nil
}

// interval works out scale, covariance and what of the readings counts.
func (f *fit) interval(s *solved, jac *mat.Dense) error {
	n, p := len(f.read), len(s.x)
	if err := f.slopes(s.x, jac); err != nil {
		return err
	}
	sum, slope := 0.0, 0.0
	for i, r := range s.off {
		sum += s.weight[i] * r * s.weight[i] * r
		d := 1.0
		if !f.plain {
			u := r / s.scale / tukey
			if d = 0; u*u < 1 {
				d = (1 - u*u) * (1 - 5*u*u)
			}
		}
		slope += d / float64(n)
		if s.weight[i] > 0 {
			s.n++
		}
	}
	if s.n <= p || !(slope > 0.05) {
		return fmt.Errorf("%w: %d of %d are left to believe", errFew, s.n, n)
	}
	s2 := max(sum/float64(n-p)/(slope*slope), f.least*f.least)
	times, first := f.memory(s)
	s.rho = first
	s.eff = max(float64(s.n)/times/f.alike(s), float64(p)+1)
	s.dof = s.eff - float64(p)
	s2 *= float64(s.n) / s.eff
	a := mat.NewSymDense(p, nil)
	for i := range n {
		for k := range p {
			for l := k; l < p; l++ {
				a.SetSym(k, l, a.At(k, l)+jac.At(i, k)*jac.At(i, l)/max(s2, 1e-300))
			}
		}
	}
	for k := range p {
		if _, ok := f.known1(k, s.x[k]); ok {
			a.SetSym(k, k, a.At(k, k)+1/(f.within[k]*f.within[k]))
		}
		s.edge = append(s.edge, s.x[k] <= f.low[k] || s.x[k] >= f.high[k])
	}
	var chol mat.Cholesky
	if !chol.Factorize(a) {
		return errors.New("the readings do not tell the unknowns apart")
	}
	s.cov = mat.NewSymDense(p, nil)
	if err := chol.InverseTo(s.cov); err != nil && math.IsInf(chol.Cond(), 1) {
		return fmt.Errorf("the readings do not tell the unknowns apart: %w", err)
	}
	f.share(s, jac, s2)
	for k, sd := range f.blur {
		s.cov.SetSym(k, k, s.cov.At(k, k)+sd*sd)
	}
	s.se = make([]float64, p)
	for k := range p {
		s.se[k] = math.Sqrt(s.cov.At(k, k))
	}
	if !f.plain {
		s.scale = math.Sqrt(sum/float64(n-p)) / slope
	} else {
		s.scale = math.Sqrt(sum / float64(n-p))
	}
	return nil
}

// rho is Tukey's loss, at most 1.
func rho(u float64) float64 {
	if u = u / tukey; u*u >= 1 {
		return 1
	}
	v := 1 - u*u
	return 1 - v*v*v
}

// alike is by what the readings of sensors beside each other count less for being
// wrong together: 1 + (m - 1) r of m sensors with residuals correlated by r (the
// variance of a mean, Kish 1965, from memory).
func (f *fit) alike(s *solved) float64 {
	var a, b []float64
	for _, p := range f.pairs {
		if s.weight[p[0]] > 0 && s.weight[p[1]] > 0 {
			a, b = append(a, s.off[p[0]]), append(b, s.off[p[1]])
		}
	}
	if len(a) < 4 {
		return 1
	}
	if r := stat.Correlation(a, b, nil); r > 0 {
		return 1 + float64(f.alongside-1)*r
	}
	return 1
}

// share adds to the covariance what an error does that all readings have alike:
// the parameters move by (J'J)^-1 J'1 for each unit of it, which residuals do not show.
func (f *fit) share(s *solved, jac *mat.Dense, s2 float64) {
	if !(f.shared > 0) {
		return
	}
	n, p := jac.Dims()
	g, by := mat.NewVecDense(p, nil), mat.NewVecDense(p, nil)
	for i := range n {
		for k := range p {
			g.SetVec(k, g.AtVec(k)+jac.At(i, k)/s2)
		}
	}
	by.MulVec(s.cov, g)
	s.cov.SymRankOne(s.cov, f.shared*f.shared, by)
}

// memory is by how many times fewer the readings of a series count for being wrong
// for a while: 1 + 2 sum(r) of the autocorrelations up to the first that is not
// above zero, at least that of an AR(1) process with the first. Source: the initial
// positive sequence of Geyer (1992), from memory, lag by lag.
func (f *fit) memory(s *solved) (times, first float64) {
	times, longest := 1.0, 0
	for _, line := range f.series {
		longest = max(longest, len(line))
	}
	for lag := 1; lag <= longest/4; lag++ {
		var a, b []float64
		for _, line := range f.series {
			for i := lag; i < len(line); i++ {
				if x, y := line[i-lag], line[i]; s.weight[x] > 0 && s.weight[y] > 0 {
					a, b = append(a, s.off[x]), append(b, s.off[y])
				}
			}
		}
		if len(a) < 4 {
			break
		}
		r := stat.Correlation(a, b, nil)
		if !(r > 0) {
			break
		}
		if lag == 1 {
			first = min(r, 0.98)
		}
		times += 2 * r
	}
	return max(times, (1+first)/(1-first)), first
}

// t95 is Student's t of a 95 % interval.
func t95(dof float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: max(dof, 0.5)}.Quantile(0.975)
}
