package learn

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"gonum.org/v1/gonum/mat"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// A Slab is a slab with loggers on it.
type Slab struct {
	Slab    climate.Slab // what it is made of; Film and Deep are where the search begins
	Air     []Logger     // of the air over it, at least one
	Surface []Logger     // of its surface, at least one

	Ground      []Logger     // probes in the slab or below it, all at GroundDepth
	GroundDepth units.Length // below the surface

	// DeepWithin is how well Slab.Deep is known beforehand, one standard
	// deviation; zero: not at all. With one logger alone a constant offset of it
	// cannot be told from a colder ground without.
	DeepWithin units.TempDelta

	Conductivity bool // learn that of the top layer too
}

// Places of the unknowns.
const (
	xFilm  = iota // ln W/(m2 K)
	xStart        // surface at the start, K
	xFree         // the next ones
)

// Learn finds the film coefficient, the temperature of the ground where the slab
// has one (Deep not zero) and, where asked, the top layer's conductivity, from
// the readings of the surface under the air that was logged.
//
// Model: [climate.Slab.ForecastFrom], from a steady profile below the surface's
// temperature at the first reading, which is fitted too; least squares on all
// readings of all loggers with a loss that does not believe wild ones (see fit).
// Sensors are examined first by themselves, then by each other, and last by the
// model: an offset, a drift, a jump and a shifted clock are each tried as one
// more unknown, and taken where they explain far more than scatter does.
//
// Accuracy: the 95 % interval holds the truth in 90 % of cases or more where the
// slab is what its layers say (TestSlabRecovered), with loggers that round to 0.1 °C,
// 1 °F or 0.5 °C too, of which one in a hundred at most is flagged though it is good
// (TestRoundedLoggers); wrong layers it does not know of.
// Source: least squares; see fit for the interval.
func (s Slab) Learn() (*Result, error) {
	r := &Result{}
	air, err1 := sensors("air", s.Air)
	surface, err2 := sensors("surface", s.Surface)
	ground, err3 := sensors("ground", s.Ground)
	err := errors.Join(err1, err2, err3)
	if len(s.Air) == 0 || len(s.Surface) == 0 {
		err = errors.Join(err, fmt.Errorf("learn: %d loggers of the air and %d of the surface: want at least one of each", len(s.Air), len(s.Surface)))
	}
	if len(s.Ground) > 0 && s.GroundDepth <= 0 {
		err = errors.Join(err, errors.New("learn: a ground logger without its depth: want one below the surface"))
	}
	if _, e := s.Slab.Steady(units.Celsius(10)); e != nil {
		err = errors.Join(err, e)
	}
	if err != nil {
		return nil, err
	}
	r.Flags = s.screen(air, surface, ground)
	drive := merge(air)
	if drive != nil {
		drive.stretch(r, slices.Concat(surface, ground))
	}
	if drive == nil || len(believed(surface)) == 0 {
		r.note("film coefficient: no logger of the air or of the surface is left to believe")
		return r, nil
	}
	f := slabFit{Slab: s, air: drive, surface: believed(surface), ground: believed(ground)}
	f.prepare()
	best, err := f.solve()
	if err != nil {
		r.note("film coefficient: %v", err)
		return r, nil
	}
	best = f.examine(r, best)
	if s.Conductivity {
		best = f.conductivity(r, best)
	}
	f.report(r, best)
	return r, nil
}

// screen examines the sensors before any model.
func (s *Slab) screen(air, surface, ground []*sensor) (flags []Flag) {
	// What temperatures can be: the air's by what loggers of the surface say, and
	// the other way round.
	lo, hi := s.Slab.Deep.Kelvin(), s.Slab.Deep.Kelvin()
	if lo == 0 {
		lo, hi = 273.15, 293.15
	}
	for _, kind := range [][]*sensor{air, surface, ground} {
		for _, x := range kind {
			m := median(slices.Clone(x.v))
			if c := m - 273.15; c > -5 && c < 30 {
				lo, hi = min(lo, m), max(hi, m)
			}
		}
	}
	for _, kind := range [][]*sensor{air, surface, ground} {
		for _, x := range kind {
			if f, ok := x.mixUp(lo, hi); ok {
				flags = append(flags, f)
			}
		}
	}
	kinds := [][]*sensor{air, surface}
	for k, kind := range kinds {
		for i, x := range kind {
			likes, drives := slices.Delete(slices.Clone(kind), i, i+1), kinds[1-k]
			flags = append(flags, x.stuck(func(i, j int) bool { return x.cannotStay(i, j, likes, drives, k == 0) })...)
			x.out = len(x.at) < 3
		}
	}
	for _, kind := range kinds {
		flags = append(flags, compare(kind)...)
	}
	flags = append(flags, twins(air)...)
	return flags
}

// cannotStay reports whether a sensor that shows one value from reading i to j
// should have shown another: its likes moved, or the surface under the air went away
// from what the air is said to be, or the air over a surface moved by so much that no
// slab would stay. Each by more than what sensors round to: a thermostat holds the air,
// and a logger of whole or half degrees shows one value for hours. Common practice, no
// source.
func (x *sensor) cannotStay(i, j int, likes, others []*sensor, air bool) bool {
	from, to, grain := x.at[i], x.at[j], x.grain()
	for _, s := range likes {
		if s.moved(from, to) > max(1, 3*max(grain, s.grain())) {
			return true
		}
	}
	for _, s := range others {
		if air && s.leaves(x.v[i], from, to) > max(1.5, 3*s.grain()) {
			return true
		}
		if !air && s.moved(from, to) > max(4, 12*grain) {
			return true
		}
	}
	return false
}

// A slabFit is the slab's problem of least squares.
type slabFit struct {
	Slab
	air             *sensor
	surface, ground []*sensor
	fit
	zero  time.Duration // of the slab's clock
	span  time.Duration
	made  *responses
	deep  int // place of the ground's temperature, or -1
	cond  int // of the conductivity's logarithm, or -1
	extra int // of what is wrong with a sensor, or -1
	wrong string
	who   *sensor
	since time.Duration
	apart bool // two loggers of the surface do not agree
}

func (f *slabFit) prepare() {
	first, last := f.surface[0].at[0], f.surface[0].at[0]
	var at0 []float64
	for _, s := range append(slices.Clone(f.surface), f.ground...) {
		first, last = min(first, s.at[0]), max(last, s.at[len(s.at)-1])
	}
	first = max(first, min(f.air.at[0], last-1))
	f.zero, f.span = first, max(last-first, time.Minute)
	for _, s := range f.surface {
		s.keep(func(i int) bool { return s.at[i] >= first })
		if len(s.at) > 0 {
			n := min(3, len(s.v))
			at0 = append(at0, median(slices.Clone(s.v[:n])))
		}
	}
	for _, s := range f.ground {
		s.keep(func(i int) bool { return s.at[i] >= first })
	}
	f.surface, f.ground = believed(f.surface), believed(f.ground)
	f.unsure()
	f.fit = fit{least: sensorNoise}
	add := func(start, step, low, high float64) int {
		f.start, f.step, f.low, f.high = append(f.start, start), append(f.step, step), append(f.low, low), append(f.high, high)
		f.known, f.within = append(f.known, math.NaN()), append(f.within, 0)
		return len(f.start) - 1
	}
	add(math.Log(min(max(float64(f.Slab.Slab.Film), 1), 50)), 0.03, math.Log(0.3), math.Log(300))
	at := median(at0)
	if math.IsNaN(at) {
		at = f.air.v[0]
	}
	add(at, 0.2, at-15, at+15)
	f.deep, f.cond, f.extra = -1, -1, -1
	if d := f.Slab.Slab.Deep; d != (units.Temperature{}) {
		f.deep = add(d.Kelvin(), 0.5, 233.15, 333.15)
		if f.DeepWithin > 0 {
			f.known[f.deep], f.within[f.deep] = d.Kelvin(), float64(f.DeepWithin)
		}
	}
	f.made = &responses{slab: f.Slab.Slab, span: f.span + 9*time.Hour, probe: f.GroundDepth, start: at, deep: f.Slab.Slab.Deep.Kelvin(),
		conductivity: math.Log(float64(f.Slab.Slab.Layers[0].Conductivity)), nodes: map[[2]int]*node{}}
	for i, t := range f.air.at {
		f.made.air = append(f.made.air, climate.Sample{At: t - first, Temp: units.Kelvin(f.air.v[i])})
	}
	for _, s := range f.ground {
		for _, t := range s.at {
			f.made.at = append(f.made.at, t-first)
		}
	}
	for _, s := range append(slices.Clone(f.surface), f.ground...) {
		line := make([]int, len(s.at))
		for i, v := range s.v {
			line[i] = len(f.read)
			f.read = append(f.read, v)
		}
		f.series = append(f.series, line)
	}
	// Loggers of the surface lie under the same air: what is wrong in its log, they share.
	at2 := map[time.Duration]int{}
	n := 0
	for _, s := range f.surface {
		for _, t := range s.at {
			if other, ok := at2[t]; ok {
				f.pairs = append(f.pairs, [2]int{other, n})
			}
			at2[t] = n
			n++
		}
	}
	f.alongside = len(f.surface)
	f.shared = f.air.grain() / math.Sqrt(12)
	f.blur = []float64{0.01} // of the film: forecasts to 0.01 K, straight between ten minutes
	f.model = f.compute
}

// mostUnsure is by how much two neighbouring readings of the air may differ for
// the surface between them to be compared: nobody knows when the air changed.
const mostUnsure = 4.0 // K

// unsure leaves out the readings of the surface right after the air jumped
// between two of its own.
func (f *slabFit) unsure() {
	for _, s := range f.surface {
		s.keep(func(i int) bool {
			k := sort.Search(len(f.air.at), func(k int) bool { return f.air.at[k] >= s.at[i] })
			for ; k > 0 && k < len(f.air.at) && s.at[i]-f.air.at[k-1] < 2*time.Hour; k-- {
				if math.Abs(f.air.v[k]-f.air.v[k-1]) > mostUnsure {
					return false
				}
			}
			return true
		})
	}
}

// extend adds an unknown to the problem and returns its place.
func (f *slabFit) extend(start, step, low, high float64) int {
	f.start, f.step, f.low, f.high = append(slices.Clip(f.start), start), append(slices.Clip(f.step), step), append(slices.Clip(f.low), low), append(slices.Clip(f.high), high)
	f.known, f.within = append(slices.Clip(f.known), math.NaN()), append(slices.Clip(f.within), 0)
	return len(f.start) - 1
}

const outputStep = 10 * time.Minute

// compute is what each reading should be.
func (f *slabFit) compute(x, out []float64) error {
	cond, deep := f.made.conductivity, f.made.deep
	if f.cond >= 0 {
		cond = x[f.cond]
	}
	if f.deep >= 0 {
		deep = x[f.deep]
	}
	surface, probe, err := f.made.of(x[xFilm], cond, x[xStart], deep)
	if err != nil {
		return err
	}
	n := 0
	for _, s := range f.surface {
		for _, t := range s.at {
			v, k := f.fault(s, t, x)
			at := max(float64(t-f.zero+v)/float64(outputStep), 0)
			i := min(int(at), len(surface)-2)
			out[n] = surface[i] + (surface[i+1]-surface[i])*(at-float64(i)) + k
			n++
		}
	}
	i := 0
	for _, s := range f.ground {
		for _, t := range s.at {
			_, k := f.fault(s, t, x)
			out[n] = probe[i] + k
			n++
			i++
		}
	}
	return nil
}

// fault is what the trial says is wrong with a sensor: its clock's error, and by
// how much it reads too high.
func (f *slabFit) fault(s *sensor, t time.Duration, x []float64) (time.Duration, float64) {
	if f.extra < 0 || s != f.who {
		return 0, 0
	}
	switch by := x[f.extra]; f.wrong {
	case Offset:
		return 0, by
	case Drift:
		return 0, by * float64(t-f.zero) / float64(f.span)
	case Jump:
		if t >= f.since {
			return 0, by
		}
		return 0, 0
	case Shifted:
		return -time.Duration(by * float64(time.Hour)), 0 // a clock that is ahead shows what was before
	}
	return 0, 0
}

// A trial is a fit with one more unknown: what may be wrong with a sensor.
type trial struct {
	*slabFit
	*solved
}

// examine tries what may be wrong with each sensor that no others outvote.
func (f *slabFit) examine(r *Result, plain *solved) *solved {
	if len(f.surface) > 2 {
		f.wild(r, plain)
		return plain
	}
	var best *trial
	least := 0.0
	for _, s := range append(slices.Clone(f.surface), f.ground...) {
		for _, wrong := range []string{Offset, Drift, Jump, Shifted} {
			if wrong == Offset && !(len(f.surface) > 1 || f.DeepWithin > 0 || len(f.ground) > 0) {
				continue // it would pass for a colder ground
			}
			t, ok := f.try(s, wrong, plain)
			if !ok {
				continue
			}
			if gain := plain.lossAt(plain.scale) - t.solved.lossAt(plain.scale); best == nil || gain > least {
				best, least = t, gain
			}
		}
	}
	if best == nil {
		f.wild(r, plain)
		return plain
	}
	by, amount := best.x[best.extra], units.Quantity(units.TempDelta(best.x[best.extra]))
	if best.wrong == Shifted {
		amount = units.Span(time.Duration(by * float64(time.Hour)).Round(time.Minute))
	}
	s := best.who
	flag := s.flag(best.wrong, amount, 0, len(s.at)-1, len(s.at), allowedFor)
	if best.wrong == Jump {
		flag.From = best.since
	}
	switch {
	case len(f.surface) == 2 && best.wrong == Offset && !(f.DeepWithin > 0):
		flag.Wrong, flag.Note = Apart, "of two loggers nothing says which is wrong: put a third beside them"
		best.apart = true
	case len(f.surface) == 1 && s == f.surface[0]:
		flag.Note = "the air's logger may be wrong the other way instead"
		if best.wrong == Jump {
			flag.Note = ""
		}
	}
	r.Flags = append(r.Flags, flag)
	*f = *best.slabFit
	f.fit.model = f.compute
	f.wild(r, best.solved)
	return best.solved
}

// lossAt is the loss of the residuals, in a scale that two fits share.
func (s *solved) lossAt(scale float64) (sum float64) {
	for _, r := range s.off {
		sum += rho(r / scale)
	}
	return sum * float64(len(s.off)) / float64(len(s.off))
}

// try fits with one thing wrong with one sensor; false if it is not there: below
// its bound, or not explaining far more than scatter.
func (f *slabFit) try(s *sensor, wrong string, plain *solved) (*trial, bool) {
	g := *f
	g.who, g.wrong = s, wrong
	bound, step, wide := mostOffset, 0.2, 15.0
	switch wrong {
	case Drift:
		bound = mostDrift
	case Jump:
		bound = mostJump
		at, ok := f.breaks(s, plain)
		if !ok {
			return nil, false
		}
		g.since = at
	case Shifted:
		bound, step, wide = mostShift.Hours(), 0.1, 8
		if slices.Contains(f.ground, s) {
			return nil, false
		}
	}
	g.extra = g.extend(0, step, -wide, wide)
	g.model = g.compute
	starts := []float64{0}
	if wrong == Shifted {
		starts = []float64{0, 2, -2}
	}
	var best *solved
	copy(g.start, plain.x)
	for _, x0 := range starts {
		g.start = slices.Clone(g.start)
		g.start[g.extra] = x0
		if got, err := g.solve(); err == nil && (best == nil || got.lossAt(plain.scale) < best.lossAt(plain.scale)) {
			best = got
		}
	}
	if best == nil || math.Abs(best.x[g.extra]) < bound || math.Abs(best.x[g.extra]) < 5*best.se[g.extra] {
		return nil, false
	}
	// Far less is left: of the loss of what the plain fit leaves, in its own scale.
	return &trial{&g, best}, best.lossAt(plain.scale) < 0.75*plain.lossAt(plain.scale)
}

// breaks finds where a sensor's residuals jump most.
func (f *slabFit) breaks(s *sensor, plain *solved) (at time.Duration, ok bool) {
	n := 0
	for _, x := range append(slices.Clone(f.surface), f.ground...) {
		if x == s {
			break
		}
		n += len(x.at)
	}
	most := 0.0
	const side = 6
	for k := 3; k+3 <= len(s.at); k++ {
		a := median(slices.Clone(plain.off[n+max(0, k-side) : n+k]))
		b := median(slices.Clone(plain.off[n+k : n+min(len(s.at), k+side)]))
		if d := math.Abs(b - a); d > most {
			most, at = d, s.at[k]
		}
	}
	return at, most > mostJump/2
}

// wild tells the single readings that the loss does not believe.
func (f *slabFit) wild(r *Result, s *solved) {
	n := 0
	for _, x := range append(slices.Clone(f.surface), f.ground...) {
		first, last, k, worst := -1, 0, 0, 0.0
		for i := range x.at {
			if s.weight[n] == 0 && math.Abs(s.off[n]) > 0.5 {
				if first < 0 {
					first = i
				}
				last = i
				k++
				if math.Abs(s.off[n]) > math.Abs(worst) {
					worst = s.off[n]
				}
			}
			n++
		}
		if k > 0 {
			r.Flags = append(r.Flags, x.flag(Wild, units.TempDelta(worst), first, last, k, leftOut))
		}
	}
}

// conductivity adds the top layer's conductivity to the unknowns, where the
// readings tell it apart from the film.
func (f *slabFit) conductivity(r *Result, s *solved) *solved {
	g := *f
	k := math.Log(float64(f.Slab.Slab.Layers[0].Conductivity))
	g.cond = g.extend(k, 0.05, k-2, k+2)
	g.start = append(slices.Clone(s.x), k)
	g.model = g.compute
	got, err := g.solve()
	// Whether they can be told apart is judged at the layer's own conductivity too:
	// at what was found alone, those that scatter threw far off would pass.
	before := &solved{x: g.start, off: slices.Clone(s.off), weight: s.weight, scale: s.scale, edge: -1}
	if err == nil {
		err = g.interval(before, mat.NewDense(len(g.read), len(g.start), nil))
	}
	switch {
	case err != nil:
		r.note("conductivity: %v", err)
		return s
	case before.together(xFilm, g.cond) > mostAlike:
		r.note("conductivity: the readings do not tell it from the film coefficient (correlation %.3f, at most %.2f): that of the layer is kept", before.together(xFilm, g.cond), mostAlike)
		return s
	case got.edge == g.cond || !(t95(got.dof)*got.se[g.cond] <= 0.8) || got.together(xFilm, g.cond) > mostAlike:
		r.note("conductivity: the readings do not tell it from the film coefficient (correlation %.3f, at most %.2f): that of the layer is kept", got.together(xFilm, g.cond), mostAlike)
		return s
	}
	*f = g
	f.model = f.compute
	return got
}

// mostAlike is the correlation of two figures above which one of them is refused.
const mostAlike = 0.97

// together is the correlation of two unknowns, its size.
func (s *solved) together(a, b int) float64 {
	return math.Abs(s.cov.At(a, b)) / (s.se[a] * s.se[b])
}

// report puts the figures and the residuals into the result.
func (f *slabFit) report(r *Result, s *solved) {
	t := t95(s.dof)
	wide := func(k int, most float64) bool { return s.edge == k || !(t*s.se[k] <= most) }
	figure := func(name string, was units.Quantity, k int, of func(float64) units.Quantity, key ...string) {
		note, believe := "", true
		if k != f.deep { // a temperature is no multiple of another
			note, believe = odd(math.Exp(s.x[k]), plainOf(was))
		}
		if !believe {
			r.note("%s: %s", name, note)
			return
		}
		r.Figures = append(r.Figures, Figure{Key: key, Name: name, Value: systems.Amount{Q: of(s.x[k])}, Low: systems.Amount{Q: of(s.x[k] - t*s.se[k])}, High: systems.Amount{Q: of(s.x[k] + t*s.se[k])},
			Was: systems.Amount{Q: was}, N: s.n, Effective: s.eff, Basis: learned(s.n), Note: note})
	}
	switch {
	case wide(xFilm, 1):
		r.note("film coefficient: the readings do not tell it (its logarithm is known to %.2f): log days on which the air changes", t*s.se[xFilm])
	default:
		figure("film coefficient of the slab", f.Slab.Slab.Film, xFilm, func(x float64) units.Quantity { return units.FilmCoefficient(math.Exp(x)) }, "room", "slab", "film")
	}
	if f.deep >= 0 {
		switch {
		case wide(f.deep, 12):
			r.note("ground: the readings do not tell its temperature (to %.1f K): log for longer, or put a probe into the ground", t*s.se[f.deep])
		case f.apart:
			r.note("ground: of two loggers of the surface that do not agree nothing says which is wrong: that of the job is kept")
		default:
			figure("temperature of the ground", f.Slab.Slab.Deep, f.deep, func(x float64) units.Quantity { return units.Kelvin(x) }, "room", "slab", "deep")
		}
	}
	if f.cond >= 0 {
		figure("conductivity of the slab", f.Slab.Slab.Layers[0].Conductivity, f.cond, func(x float64) units.Quantity { return units.Conductivity(math.Exp(x)) }, "room", "slab", "conductivity")
	}
	n := 0
	for _, x := range append(slices.Clone(f.surface), f.ground...) {
		for _, at := range x.at {
			r.Residuals = append(r.Residuals, Residual{x.name, at, units.TempDelta(s.off[n]), units.Fraction(s.weight[n])})
			n++
		}
	}
}
