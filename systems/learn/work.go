package learn

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// A Used is liquid of a coat used on what was done of an area.
type Used struct {
	Step string
	Name string       // of the reading
	Of   string       // the area of the job; "": of all of them
	Area units.Area   // that the coat covers: floor, and the base's face where it goes up it
	Used units.Volume // as it comes in kits, without thinner and filler, with what stayed in tools and buckets
}

// A Wet is readings of a coat's wet film.
type Wet struct {
	Step     string
	Readings []units.Length
}

// A Grain is what was thrown of a broadcast and vacuumed back.
type Grain struct {
	Step, Name       string
	Thrown, Vacuumed units.Mass
}

// A Work is how long hands worked at a step.
type Work struct {
	Step, Name string
	Area       units.Area    // of steps with a rate
	Length     units.Length  // of joints and cove
	Count      int           // of patches
	Time       time.Duration // from beginning to end, without rests
	Setup      time.Duration // of it, before the work began
	Hands      int
	Passes     int // of grinding, the grit steps; 0: those of the job
}

// figures learns from work done. plan is the job's.
type works struct {
	j    *systems.Job
	plan *systems.Outcome
	r    *Result
	film units.Length // liquid in the film of the coat that is learned from, by area
}

func (w *works) need(id string) *systems.Need {
	for i := range w.plan.TakeOff {
		if w.plan.TakeOff[i].Step == id {
			return &w.plan.TakeOff[i]
		}
	}
	return nil
}

// flag tells the readings that fewOf left out, and what part of the middle of the
// others they are, if that is not nothing. by, where it is given, is what a mixed-up
// unit makes of a reading, such as 3.785 of gallons taken for litres.
func (w *works) flag(f few, name func(i int) string, by float64) {
	for k, i := range f.wild {
		x := Flag{Reading: name(i), Wrong: Wild, N: 1, Did: leftOut}
		if r := f.ratio[k]; !math.IsInf(r, 0) && !math.IsNaN(r) {
			x.By, x.Note = systems.Amount{Q: units.Fraction(r)}, "of the middle of the others"
		}
		if by > 0 && (math.Abs(f.ratio[k]/by-1) < 0.12 || math.Abs(f.ratio[k]*by-1) < 0.12) {
			x.Wrong = MixUp
		}
		w.r.Flags = append(w.r.Flags, x)
	}
}

// A figure that is so many times what the job has is told with a word, or not
// believed: units, areas and hands get mixed up more often than a job is off by
// that. Common practice, no source.
const (
	oddBy    = 3.0
	absurdBy = 20.0
)

// add puts a figure into the result and returns it; nil of one that is not believed.
func (w *works) add(f few, name string, was units.Quantity, of func(float64) units.Quantity, note string, key ...string) *Figure {
	beside := 0.0
	if key[0] == "areas" { // pores may drink nothing: judged with the film that they drink of
		beside = float64(w.film)
	}
	if f, ok := w.r.Figure(strings.Join(key, ".")); ok && !f.Beside {
		w.r.note("%s: learned of another step before: the readings of this one are left", name)
		return nil
	}
	now := f.mean + beside
	if f.log {
		now = math.Exp(f.mean)
	}
	word, believe := odd(now, plainOf(was)+beside)
	if !believe {
		w.r.note("%s: %s", name, word)
		return nil
	}
	note = join(note, word)
	lo, hi, ok := f.span()
	if ok && f.log && hi-lo > 2*math.Log(absurdBy) {
		ok, note = false, join(note, "the readings are so far apart that their interval says nothing")
	}
	x := Figure{Key: key, Name: name, Value: systems.Amount{Q: of(f.mean)}, Was: systems.Amount{Q: was}, N: f.n, Effective: float64(f.n), Basis: learned(f.n), Note: note}
	if ok {
		x.Low, x.High = systems.Amount{Q: of(lo)}, systems.Amount{Q: of(hi)}
	}
	w.r.Figures = append(w.r.Figures, x)
	return &w.r.Figures[len(w.r.Figures)-1]
}

// odd says a word of a figure that is many times what the job has, and whether it
// is believed for all that. Where the job has nothing there is nothing to say.
func odd(now, old float64) (word string, believe bool) {
	switch by := now / old; {
	case !(old > 0):
	case !(by < absurdBy && by > 1/absurdBy):
		return fmt.Sprintf("the readings would make it %.3g times what the job has: not believed; look at units, places, areas and hands", by), false
	case by > oddBy || by < 1/oddBy:
		return fmt.Sprintf("%.2g times what the job has: look at units, places, areas and hands", by), true
	}
	return "", true
}

// join puts two notes into one.
func join(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + "; " + b
}

// plainOf is a quantity that is learned as a number in its base unit, seconds of a
// time; 0 of none, and of a temperature, which is no multiple of another.
func plainOf(q units.Quantity) float64 {
	if x, ok := q.(units.Span); ok {
		return x.Duration().Seconds()
	}
	if v := reflect.ValueOf(q); v.IsValid() && v.CanFloat() {
		return v.Float()
	}
	return 0
}

// coat learns from the liquid used of one coat and its wet films: on bare
// concrete what the pores drink, on a coat the film, each of which is what the
// balance leaves. The film of a coat on concrete is that of the readings, or as
// planned where there are none: one equation does not tell two unknowns.
// Source: volume balance.
func (w *works) coat(id string, used []Used, wet []units.Length) {
	s := w.j.Recipe.Steps[id]
	n := w.need(id)
	if n == nil || !(n.Gross > 0 && n.Film > 0) {
		w.r.note("%s: the plan lays no such coat: its readings are left", id)
		return
	}
	b := &balance{w.j, w.plan, n, &s}
	bare := b.drinks()
	w.film = n.Film.PerArea(n.Area)
	film, read := few{mean: float64(n.Wet)}, false
	if len(wet) > 0 {
		if f, ok := w.films(id, wet, n, bare || len(used) == 0); ok {
			film, read = f, true
		}
	}
	if len(used) == 0 {
		return
	}
	name := func(of []Used) func(int) string { return func(i int) string { return called(id, of[i].Name, i) } }
	if !bare {
		f := w.onto(b, used, name(used)).times(0, 1/b.liquid())
		if read && film.n > 1 && !math.IsNaN(f.se) {
			if d := math.Abs(f.mean - film.mean); d > t95(min(f.dof, film.dof))*math.Hypot(f.se, film.se) && d > 0.15*film.mean {
				w.r.Flags = append(w.r.Flags, Flag{Reading: id + " kits and wet films", Wrong: Apart, By: systems.Amount{Q: units.Length(f.mean - film.mean)}, N: f.n + film.n, Did: "the kits count", Note: "look at the comb, the area and the kits"})
			}
		}
		if f.mean <= 0 {
			w.r.note("%s: less was used than all but the film takes: film, area or kits are wrong", id)
			return
		}
		w.add(f.times(0, float64(n.Dry/n.Wet)), "dry film laid, "+id, s.Film.Q, func(x float64) units.Quantity { return units.Length(x) }, b.taken(""), "steps", id, "film")
		return
	}
	byArea, order := map[string][]Used{}, []string{}
	for _, u := range used {
		if byArea[u.Of] == nil {
			order = append(order, u.Of)
		}
		byArea[u.Of] = append(byArea[u.Of], u)
	}
	for _, of := range order {
		if of == "" && len(order) > 1 {
			w.r.note("%s: %s of all areas together: left, for areas were read by themselves too", id, count(len(byArea[of]), "reading"))
			continue
		}
		f := w.onto(b, byArea[of], name(byArea[of]))
		p := b.at(of)
		note := "film by its readings"
		if !read {
			note = "film taken as planned, of which the interval does not know"
		} else if film.n == 1 {
			f.se = math.NaN()
		} else {
			f = f.plus(film.se*b.liquid(), film.dof)
		}
		// By the area of the floor, and with its thinner.
		f = f.times(film.mean*b.liquid()+p.profile/p.covers, b.thin()*p.covers/p.floor)
		if tiny := 1e-9 * float64(n.Wet); f.mean < 0 {
			_, hi, ok := f.span()
			if f.mean < -tiny && !(ok && hi > 0) {
				w.r.Flags = append(w.r.Flags, Flag{Reading: id + " used", Wrong: Wild, By: systems.Amount{Q: units.Length(f.mean)}, N: f.n, Did: leftOut, Note: "less was used than film and profile take: look at the area, the kits and the film"})
				continue
			}
			if f.mean < -tiny {
				note += "; the readings say a little less than nothing"
			}
		}
		share := func(systems.Area) float64 { return 1 }
		if len(p.areas) > 1 {
			if p.known && p.uptake > 0 {
				share = func(a systems.Area) float64 { return float64(a.Uptake) * p.floor / p.uptake }
				note += "; the readings tell all areas together, shared out as the job has them"
			} else {
				note += "; the readings tell all areas together, each has their mean"
			}
		}
		for _, a := range p.areas {
			var was units.Quantity
			if a.UptakeKnown {
				was = a.Uptake
			}
			w.add(f.times(0, share(a)), "what the pores drink, "+a.Name, was, func(x float64) units.Quantity { return units.Length(max(x, 0)) }, b.taken(note), "areas", a.Name, "uptake")
		}
	}
}

// mostDone is how much more than a coat covers may be told as done: areas are
// measured by tape.
const mostDone = 1.05

// onto is the liquid that went into film, profile and pores by the area covered,
// without the readings far off the others.
func (w *works) onto(b *balance, used []Used, name func(int) string) few {
	v, down, weight := make([]float64, len(used)), make([]float64, len(used)), make([]float64, len(used))
	done := map[string]float64{}
	for i, u := range used {
		at := b.at(u.Of)
		v[i], down[i], weight[i] = float64(u.Used.PerArea(u.Area)), b.down(u, at), float64(u.Area)
		if was := done[u.Of]; was <= mostDone*at.covers && was+weight[i] > mostDone*at.covers {
			w.r.note("%s: the readings are of more than the %.4g m2 that the coat covers there: was one booked twice?", b.n.Step, at.covers)
		}
		done[u.Of] += weight[i]
	}
	keep, wild, ratio := sift(v, kitsScatter)
	w.flag(few{wild: wild, ratio: ratio}, name, 3.785411784) // gallons for litres
	return average(pick(down, keep), pick(weight, keep))
}

// films learns mean, bias and scatter of a crew's wet films (coverage.Capability).
// apply says that the mean becomes the coat's film. It reports whether they are
// believed.
func (w *works) films(id string, wet []units.Length, n *systems.Need, apply bool) (few, bool) {
	v := make([]float64, len(wet))
	for i, x := range wet {
		v[i] = float64(x)
	}
	f := fewOf(v, nil, combScatter)
	w.flag(f, func(i int) string { return fmt.Sprintf("%s wet film %d", id, i+1) }, 25.4) // mil for 0.001 mm
	s := w.j.Recipe.Steps[id]
	dry := w.add(f.times(0, float64(n.Dry/n.Wet)), "dry film by the wet ones, "+id, s.Film.Q, func(x float64) units.Quantity { return units.Length(x) }, "", "steps", id, "film")
	if dry == nil {
		return f, false
	}
	dry.Beside = !apply
	var kept []units.Length
	for i, x := range wet {
		if !slices.Contains(f.wild, i) {
			kept = append(kept, x)
		}
	}
	if len(kept) > 1 {
		if c, err := coverage.Capability(kept, n.Wet); err == nil {
			spread := f
			spread.mean, spread.se = float64(c.Scatter), math.NaN()
			x := w.add(spread, "scatter of the wet film, "+id, nil, func(x float64) units.Quantity { return units.Length(x) }, fmt.Sprintf("standard deviation of a reading; %.0f %% of the readings are below the film planned, where scatter would put %.0f %%", 100*float64(c.Counted), 100*float64(c.Expected)), "films", id, "scatter")
			x.Beside = true
			// Of normal readings (n - 1) s2/sigma2 is a chi square: NIST/SEMATECH e-Handbook 1.3.5.8, from memory.
			d := float64(c.N - 1)
			chi := distuv.ChiSquared{K: d}
			x.Low, x.High = systems.Amount{Q: c.Scatter * units.Length(math.Sqrt(d/chi.Quantile(0.975)))}, systems.Amount{Q: c.Scatter * units.Length(math.Sqrt(d/chi.Quantile(0.025)))}
			w.add(f.times(float64(n.Wet), 1), "wet film over the film planned, "+id, nil, func(x float64) units.Quantity { return units.Length(x) }, "", "films", id, "bias").Beside = true
		}
	}
	return f, true
}

// grain learns the share of a broadcast that stays: 1 - vacuumed/thrown.
// Source: mass balance.
func (w *works) grain(id string, all []Grain) {
	v, weight := make([]float64, len(all)), make([]float64, len(all))
	for i, g := range all {
		v[i], weight[i] = 1-float64(g.Vacuumed)/float64(g.Thrown), float64(g.Thrown)
	}
	f := fewOf(v, weight, grainScatter)
	w.flag(f, func(i int) string { return called(id, all[i].Name, i) }, 0)
	var was units.Quantity
	s := w.j.Recipe.Steps[id]
	if s.Keeps.Given() {
		was = s.Keeps.Q
	} else if m, ok := w.j.MaterialOf(id); ok && m.Retention.Given() {
		was = m.Retention.Q
	}
	if !(f.mean >= 0.05 && f.mean <= 1) {
		w.r.note("%s: %.0f %% of the grain would stay: thrown or vacuumed is wrong", id, 100*f.mean)
		return
	}
	w.add(f, "share of the grain that stays, "+id, was, func(x float64) units.Quantity { return units.Fraction(min(max(x, 0), 1)) }, "", "steps", id, "keeps")
}
