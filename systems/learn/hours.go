package learn

import (
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// mostEach is the most hours for a patch that are believed where the job has none to
// hold them against: twenty times as much still fits a Duration.
const mostEach = 400 * 24.0

// hours learns a crew's rate: done/(hours hands), on the scale of its logarithm,
// for hours scatter by factors. Source: common practice, no source.
func (w *works) hours(id string, all []Work) {
	s := w.j.Recipe.Steps[id]
	v := make([]float64, len(all))
	for i, x := range all {
		hand := (x.Time - x.Setup).Seconds() * float64(x.Hands)
		switch {
		case s.Does == systems.FillPatch:
			v[i] = math.Log(hand / float64(x.Count))
		case x.Length > 0:
			v[i] = math.Log(float64(x.Length) / hand)
		default:
			n := passes(w.j, &s)
			if x.Passes > 0 {
				n = x.Passes
			}
			v[i] = math.Log(float64(x.Area) * float64(n) / hand)
		}
	}
	f := fewLog(v)
	w.flag(f, func(i int) string { return called(id, all[i].Name, i) }, 0)
	note := ""
	if setup := s.Setup.Q.Duration(); setup > 0 && !slices.ContainsFunc(all, func(x Work) bool { return x.Setup > 0 }) {
		note = fmt.Sprintf("no setup told: it is in the time, and the plan adds %s of it", units.DurationText(setup))
	}
	switch each := math.Exp(f.mean) / 3600; {
	case s.Does == systems.FillPatch && each > mostEach:
		w.r.note("time for a patch, one hand, %s: the readings would make it %.3g hours: not believed; look at units, places, areas and hands", id, each)
	case s.Does == systems.FillPatch:
		w.add(f, "time for a patch, one hand, "+id, s.Each.Q, func(x float64) units.Quantity {
			return units.Span(time.Duration(math.Exp(x) * 1e9).Round(time.Second))
		}, note, "steps", id, "each")
	case all[0].Length > 0:
		w.add(f, "pace of a hand, "+id, s.Pace.Q, func(x float64) units.Quantity { return units.Speed(math.Exp(x)) }, note, "steps", id, "pace")
	default:
		w.add(f, "rate of a hand, "+id, s.Rate.Q, func(x float64) units.Quantity { return units.AreaRate(math.Exp(x)) }, note, "steps", id, "rate")
	}
}

// passes is how often a step goes over its area: grinding once for each grit.
func passes(j *systems.Job, s *systems.Step) int {
	if s.Does != systems.Grind {
		return 1
	}
	return max(1, len(j.Grits))
}

// fewLog is fewOf for logarithms: a step of 0.03 in them is one by 3 %.
func fewLog(v []float64) few {
	mid := median(slices.Clone(v))
	shifted := make([]float64, len(v))
	for i := range v {
		shifted[i] = v[i] - mid + 1 // the least deviation of fewOf is a part of the middle
	}
	f := fewOf(shifted, nil, hoursScatter)
	f.mean += mid - 1
	for k, i := range f.wild {
		f.ratio[k] = math.Exp(v[i] - mid)
	}
	f.log = true
	return f
}
