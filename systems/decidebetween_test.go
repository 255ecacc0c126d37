package systems

import (
	"context"
	"errors"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/climate"
)

// The space of every plan lies between the two that the bound with water is made
// of, and no plan is better than the bound of how it begins: random choices of small
// jobs in a space, planned in step with it. The jobs are our own; common practice, no
// source.
func TestPlansLieBetween(t *testing.T) {
	kinds := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		s := drawDamp(t)
		s.goal.For = rapid.SampledFrom([]string{Earliest, LeastFuel}).Draw(t, "for")
		_, j := s.read(t)
		g, err := s.goal.filled(&j)
		if err != nil {
			t.Fatal(err)
		}
		pr, err := newProblem(context.Background(), &j, g)
		if err != nil {
			t.Fatal(err)
		}
		if pr.sections > 1 {
			return
		}
		for heat := range pr.heats {
			x, err := pr.extremes(heat)
			if err != nil {
				t.Fatal(err)
			}
			worst := value{stops: 99, hand: forever - 1, goal: 1e30}
			var all []leaf
			known := map[int]string{}
			for _, of := range []struct {
				name string
				tell func(int, *value) ([]leaf, []int, error)
			}{{"of the slab", pr.ofSlab}, {"of the first coat", pr.ofFirst}} {
				leaves, combos, err := of.tell(heat, &worst)
				if errors.Is(err, errTooLarge) {
					kinds["too large"]++
					continue
				}
				if err != nil {
					t.Fatal(err)
				}
				all = append(all, leaves...)
				for _, i := range combos {
					known[i] = of.name
				}
			}
			if len(known) == 0 {
				kinds["nothing said"]++
				continue
			}
			for range 6 {
				combo := rapid.IntRange(0, len(pr.combos)-1).Draw(t, "combo")
				if known[combo] == "" {
					continue
				}
				var chain *laid
				var holds []time.Duration
				for range pr.coats {
					hold := rapid.SampledFrom(append([]time.Duration{none}, pr.grid...)).Draw(t, "hold")
					chain, holds = &laid{before: chain, hold: hold}, append(holds, hold)
				}
				v := &value{combo: combo, heat: heat, chain: chain}
				ch := choice{combo: combo, heat: heat, holds: holds}
				job := pr.job(ch)
				q, err := couple(pr.ctx, &job, pr.air(heat, &job), maxRounds, false)
				if err != nil {
					t.Fatal(err)
				}
				real, err := pr.weighing(v, ch, q)
				if err != nil {
					t.Fatal(err)
				}
				if known[combo] == "of the slab" {
					lies(t, q, x, s)
				}
				if real.real.rank > 0 {
					kinds["never over"]++
					continue
				}
				// the first holds of the grid that lead to one place stand for the others
				bound := (*value)(nil)
				for i := range all {
					l := &all[i]
					if l.lo <= combo && combo < l.hi && standsFor(l, holds) && (bound == nil || l.bound.better(bound)) {
						bound = &l.bound
					}
				}
				if bound == nil {
					t.Fatalf("no bound of %v, %+v\n%s\n%s", holds, real.real, s.recipe, s.job)
				}
				if real.real.better(bound) {
					t.Fatalf("%v: a plan, %+v, is better than its bound, %+v\n%s\n%s", holds, real.real, *bound, s.recipe, s.job)
				}
				kinds["bounded "+known[combo]]++
				if real.real.stops == bound.stops && real.real.hand-bound.hand < 15*time.Minute {
					kinds["within 15 min "+known[combo]]++
				}
				for _, e := range j.Site.Forecast.Events {
					if e.What == climate.TankEmpty {
						kinds["dry tank"]++
					}
				}
			}
		}
	})
	t.Logf("%v", kinds)
	for _, of := range []string{"of the slab", "of the first coat"} {
		if kinds["bounded "+of] < 20 || kinds["within 15 min "+of] == 0 || kinds["dry tank"] == 0 {
			t.Errorf("%v: want more", kinds)
		}
	}
}

// lies fails unless the space of a plan lies between two.
func lies(t *rapid.T, q *planner, x *extremes, s small) {
	for _, of := range []struct {
		name          string
		low, is, high Series
	}{{"slab", x.cold.given.Slab, q.j.Weather.Slab, x.warm.given.Slab}, {"air", x.cold.given.Air, q.j.Weather.Air, x.warm.given.Air}, {"rh", x.warm.given.RH, q.j.Weather.RH, x.cold.given.RH}} {
		for _, all := range []Series{of.low, of.is, of.high} {
			for _, r := range all {
				if is := of.is.At(r.At); is < of.low.At(r.At) || is > of.high.At(r.At) {
					t.Fatalf("%s at %v: %v, not from %v to %v\n%s\n%s", of.name, r.At, is, of.low.At(r.At), of.high.At(r.At), s.recipe, s.job)
				}
			}
		}
	}
	for at := time.Duration(0); at < q.last; at += 30 * time.Minute {
		lo, is, hi := x.cold.weather(at), q.weather(at), x.warm.weather(at)
		if m := is.slab - is.dew; m < lo.slab-lo.dew-extraMargin || m > hi.slab-hi.dew+extraMargin {
			t.Fatalf("margin at %v: %v, not from %v to %v\n%s\n%s", at, m, lo.slab-lo.dew, hi.slab-hi.dew, s.recipe, s.job)
		}
	}
}

// standsFor reports whether a leaf may stand for a choice: it holds its first coats back
// until the same times, or to earlier ones that lead to the same.
func standsFor(l *leaf, holds []time.Duration) bool {
	for k, hold := range l.holds {
		if hold > holds[k] {
			return false
		}
	}
	return true
}
