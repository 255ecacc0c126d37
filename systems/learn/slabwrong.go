package learn

import (
	"math"
	"slices"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

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
			if gain := f.lossAt(plain.scale, plain) - t.lossAt(plain.scale, t.solved); best == nil || gain > least {
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

// lossAt is the loss of what a fit leaves in a scale that two fits share: of the
// residuals, and of the unknowns off what was known of them beforehand, as much as
// residuals near nothing count.
func (f *slabFit) lossAt(scale float64, s *solved) (sum float64) {
	for _, r := range s.off {
		sum += rho(r / scale)
	}
	for k, x := range s.x {
		if d, ok := f.known1(k, x); ok {
			sum += 3 * d * d / (tukey * tukey) // rho is 3 u2/tukey2 near 0
		}
	}
	return sum
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
	g.extra = g.unknown(0, step, -wide, wide, math.NaN(), 0)
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
		if got, err := g.solve(); err == nil && (best == nil || g.lossAt(plain.scale, got) < g.lossAt(plain.scale, best)) {
			best = got
		}
	}
	if best == nil || math.Abs(best.x[g.extra]) < bound || math.Abs(best.x[g.extra]) < 5*best.se[g.extra] {
		return nil, false
	}
	// Far less is left: of the loss of what the plain fit leaves, in its own scale.
	return &trial{&g, best}, g.lossAt(plain.scale, best) < 0.75*f.lossAt(plain.scale, plain)
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
