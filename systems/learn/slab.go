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

	// AtRest tells that nothing heated or cooled the slab in the days before the
	// first reading but weather that stayed alike: its profile is steady then. It
	// narrows what is learned, much so of a log that begins with the heat.
	AtRest bool

	Conductivity bool // learn that of the top layer too
}

// Places of the unknowns.
const (
	xFilm   = iota // ln W/(m2 K)
	xStart         // surface at the start, of a steady profile, K
	xBefore        // by how much more the days before had warmed it, K, as far down as reaches
)

// Learn finds the film coefficient, the temperature of the ground where the slab
// has one (Deep not zero) and, where asked, the top layer's conductivity, from
// the readings of the surface under the air that was logged.
//
// Model: [climate.Slab.ForecastFrom], from a steady profile below the surface's
// temperature at the first reading, which is fitted too, and, unless the slab is
// AtRest, from what the hours and the days before had warmed it by (reaches): these
// are fitted as well, and held to what an air can have done that is as far off the
// surface as at the first reading. Least squares on all readings of all loggers
// with a loss that does not believe wild ones (see fit).
// Sensors are examined first by themselves, then by each other, and last by the
// model: an offset, a drift, a jump and a shifted clock are each tried as one
// more unknown, and taken where they explain far more than scatter does.
//
// Accuracy: the 95 % interval holds the truth in 90 % of cases or more where the
// slab is what its layers say (TestSlabRecovered), of a log that begins while it is
// heated too (TestSlabStartsWarm), with loggers that round to 0.1 °C,
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
		drive.stretch(r, "the air", "the slab", slices.Concat(surface, ground))
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
	f.unknown(math.Log(min(max(float64(f.Slab.Slab.Film), 1), 50)), 0.03, math.Log(0.3), math.Log(300), math.NaN(), 0)
	at := median(at0)
	if math.IsNaN(at) {
		at = f.air.v[0]
	}
	f.unknown(at, 0.2, at-15, at+15, math.NaN(), 0)
	for i := 0; i < len(reaches) && !f.AtRest; i++ {
		f.unknown(0, 0.2, -20, 20, 0, drive(f.air.value(first)-at, &f.Slab.Slab)*reaches[i])
	}
	f.deep, f.cond, f.extra = -1, -1, -1
	if d := f.Slab.Slab.Deep; d != (units.Temperature{}) {
		known := math.NaN()
		if f.DeepWithin > 0 {
			known = d.Kelvin()
		}
		f.deep = f.unknown(d.Kelvin(), 0.5, 233.15, 333.15, known, float64(f.DeepWithin))
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
	f.pairs, f.alongside = beside(f.surface), len(f.surface)
	f.shared = f.air.alike() * f.air.grain() / math.Sqrt(12)
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
	var before [2]float64
	if !f.AtRest {
		before = [2]float64(x[xBefore:])
	}
	surface, probe, err := f.made.of(x[xFilm], cond, x[xStart], deep, before)
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

// conductivity adds the top layer's conductivity to the unknowns, where the
// readings tell it apart from the film.
func (f *slabFit) conductivity(r *Result, s *solved) *solved {
	g := *f
	k := math.Log(float64(f.Slab.Slab.Layers[0].Conductivity))
	g.cond = g.unknown(k, 0.05, k-2, k+2, math.NaN(), 0)
	g.start = append(slices.Clone(s.x), k)
	g.model = g.compute
	got, err := g.solve()
	// Whether they can be told apart is judged at the layer's own conductivity too:
	// at what was found alone, those that scatter threw far off would pass.
	before := &solved{x: g.start, off: slices.Clone(s.off), weight: s.weight, scale: s.scale}
	if err == nil {
		err = g.interval(before, mat.NewDense(len(g.read), len(g.start), nil))
	}
	if err != nil {
		r.note("conductivity: %v", err)
		return s
	}
	why := ""
	switch wide := t95(got.dof) * got.se[g.cond]; {
	case before.together(xFilm, g.cond) > mostAlike:
		why = alike(before.together(xFilm, g.cond))
	case got.together(xFilm, g.cond) > mostAlike:
		why = alike(got.together(xFilm, g.cond))
	case got.edge[g.cond]:
		why = "the search ran to the end of what it can be"
	case !(wide <= mostWide):
		why = fmt.Sprintf("its logarithm is known to %.2f, want %.1f", wide, mostWide)
	}
	if why != "" {
		r.note("conductivity: the readings do not tell it from the film coefficient (%s): that of the layer is kept", why)
		return s
	}
	*f = g
	f.model = f.compute
	return got
}

// mostAlike is the correlation of two figures above which one of them is refused,
// mostWide the half interval of the conductivity's logarithm. Common practice, no source.
const (
	mostAlike = 0.97
	mostWide  = 0.8
)

// alike says a correlation that is too high.
func alike(r float64) string { return fmt.Sprintf("correlation %.3f, at most %.2f", r, mostAlike) }

// together is the correlation of two unknowns, its size.
func (s *solved) together(a, b int) float64 {
	return math.Abs(s.cov.At(a, b)) / (s.se[a] * s.se[b])
}

// report puts the figures and the residuals into the result.
func (f *slabFit) report(r *Result, s *solved) {
	t := t95(s.dof)
	wide := func(k int, most float64) bool { return s.edge[k] || !(t*s.se[k] <= most) }
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
