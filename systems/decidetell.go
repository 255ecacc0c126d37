package systems

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// decision makes the plan of the best choice and tells of it.
func (pr *problem) decision(r *result) (*Decision, error) {
	if r.best == nil {
		return nil, errors.New("systems.Decide: nodes: found too few to make one plan: want more")
	}
	w, err := pr.weigh(r)
	if err != nil {
		return nil, err
	}
	v := w.best.found
	c := choice{combo: v.combo, heat: v.heat, start: v.start, holds: pr.holds(v.chain)}
	j := pr.job(c)
	p, err := sections(pr.ctx, &j, pr.heats[v.heat].sky)
	if err != nil {
		return nil, err
	}
	again, err := pr.of(p, c, pr.heats[v.heat])
	if err != nil {
		return nil, err
	}
	if again.rank != v.rank || again.stops != v.stops || again.hand != v.hand || again.goal != v.goal || again.cost != v.cost {
		return nil, fmt.Errorf("systems.Decide: the search and the plan differ: hand-over %v and %v, stops %d and %d, goal %g and %g", v.hand, again.hand, v.stops, again.stops, v.goal, again.goal)
	}
	if p, err = wholePlan(pr.ctx, &j); err != nil {
		return nil, err
	}
	real := &w.best.real
	d := &Decision{
		Goal: pr.g.For, HandOver: pr.g.HandOver, Start: pr.j.Start.Add(pr.begins(v.start)), Heat: pr.heats[v.heat].HeatChoice,
		Ways: pr.ways(), Optimal: w.open == nil, Searched: r.open == nil, Job: j, Outcome: p.o,
	}
	d.Spaces = w.spaces
	p.o.why, p.o.job = explainer(&j), p.j
	d.counts = slices.ContainsFunc(pr.combos, func(c combo) bool { return !c.wet }) && pr.g.For != LeastCost
	if r.forward {
		d.States = pr.states
	} else {
		d.Plans = pr.nodes
	}
	if d.Score, err = pr.weighedScore(w.best); err != nil {
		return nil, err
	}
	for i, x := range pr.siteHeaters(pr.heats[v.heat]) {
		mass, energy := w.best.air.burned(i, real.hand)
		d.Burned = append(d.Burned, Burn{x.Name, x.Fuel.Name, mass, energy})
	}
	if pr.g.For == LeastCost {
		d.Cost, d.prices = w.best.lines, pr.g.Prices
		d.Currency, d.Digits = d.prices.Currency, d.prices.Digits
	}
	if w.open != nil {
		bound, err := pr.score(w.open)
		if err != nil {
			return nil, err
		}
		if pr.g.For == LeastCost {
			bound.Cost = &w.open.cost
		}
		if bound.Fuel = nil; pr.g.For == LeastFuel {
			e := units.Energy(w.open.goal)
			bound.Fuel = &e
		}
		d.Bound, d.Gap, d.GapOfWater = &bound, pr.gap(real, w.open), w.wet
	}
	for _, x := range w.all {
		y := Weighed{HeatChoice: pr.heats[x.found.heat].HeatChoice, Start: pr.j.Start.Add(pr.begins(x.found.start)), Options: map[string]string{}}
		for k, coat := range pr.coats {
			y.Options[coat.id] = coat.options[pr.combos[x.found.combo].pick[k]].name
		}
		if y.Search, err = pr.score(x.found); err != nil {
			return nil, err
		}
		if y.Score, err = pr.weighedScore(x); err != nil {
			return nil, err
		}
		d.Weighed = append(d.Weighed, y)
	}
	for k, coat := range pr.coats {
		o := coat.options[pr.combos[v.combo].pick[k]]
		m := j.materials[o.step.Material]
		x := CoatChoice{Step: coat.id, Title: title(&o.step, coat.id), Option: o.name, Material: m.ID + "@" + m.Version, Name: m.Name}
		if at := p.earliest(coat.id); at != forever {
			x.Start = p.clock(at)
		}
		if at := c.holds[k]; at != none {
			x.NotBefore = p.clock(at)
		}
		d.Coats = append(d.Coats, x)
	}
	d.Keys = pr.keys(c)
	if err := pr.others(d, r, w); err != nil {
		return nil, err
	}
	if err := d.hold(real); err != nil {
		return nil, err
	}
	return d, pr.compare(d, v, real)
}

// begins returns when the work starts, not before: when the first of it was begun,
// where some was.
func (pr *problem) begins(start int) time.Duration {
	at := forever
	for _, w := range pr.j.Done {
		if w.Whole != nil {
			at = min(at, w.Whole.Start)
		}
		for _, x := range w.Sections {
			at = min(at, x.Start)
		}
	}
	if at < forever {
		return at
	}
	return max(pr.starts[start], pr.j.Now)
}

// score tells a value.
func (pr *problem) score(v *value) (Score, error) {
	s := Score{Whole: v.rank < 2, Stops: v.stops, Watches: v.watches}
	if v.hand != forever {
		at := pr.j.Start.Add(v.hand)
		s.HandOver = &at
	}
	h := pr.heats[v.heat]
	if h.job.Site != nil {
		e := h.fuel(v.hand)
		s.Fuel = &e
	}
	if pr.g.For == LeastCost {
		all, err := pr.cost(v)
		if err != nil {
			return s, err
		}
		cost, err := sum(all)
		if err != nil {
			return s, err
		}
		s.Cost = &cost
	}
	return s, nil
}

// cost lists what a value's plan costs, as far as the search counts it.
func (pr *problem) cost(v *value) ([]CostLine, error) {
	until := v.hand
	if until == forever {
		until = pr.heats[v.heat].sky.last
	}
	running, err := pr.g.Prices.running(pr.combos[v.combo].p, pr.heats[v.heat], until)
	return append(slices.Clone(pr.combos[v.combo].lines), running...), err
}

// weighedScore tells what a choice's plan gives.
func (pr *problem) weighedScore(x *weighing) (Score, error) {
	s, err := pr.score(&x.real)
	if err != nil {
		return s, err
	}
	if s.Fuel != nil {
		e := x.air.fuel(x.real.hand)
		s.Fuel = &e
	}
	if s.Cost != nil {
		s.Cost = &x.real.cost
	}
	return s, nil
}

// others tells the best plan with each other material, and with each heat.
func (pr *problem) others(d *Decision, r *result, w *weighed) error {
	if !r.forward {
		return nil
	}
	// best returns the score of the best of some classes, and whether it is the search's.
	best := func(of func(*value) bool) (*Score, bool, error) {
		k := -1
		for i, v := range w.known {
			if v != nil && of(v) && (k < 0 || v.less(w.known[k])) {
				k = i
			}
		}
		if k < 0 {
			return nil, false, nil
		}
		for _, x := range w.all {
			if w.known[k] == &x.real {
				s, err := pr.weighedScore(x)
				return &s, false, err
			}
		}
		s, err := pr.score(w.known[k])
		return &s, !w.sure[k], err
	}
	for k, coat := range pr.coats {
		for i, o := range coat.options {
			if i == pr.combos[w.best.real.combo].pick[k] {
				continue
			}
			s, estimate, err := best(func(v *value) bool { return pr.combos[v.combo].pick[k] == i })
			if err != nil {
				return err
			}
			if s != nil {
				d.Others = append(d.Others, Other{coat.id, o.name, pr.j.materials[o.step.Material].Name, *s, estimate})
			}
		}
	}
	if len(pr.heats) < 2 {
		return nil
	}
	for i, h := range pr.heats {
		s, estimate, err := best(func(v *value) bool { return v.heat == i })
		if err != nil {
			return err
		}
		if s != nil {
			d.Heats = append(d.Heats, HeatScore{h.HeatChoice, *s, estimate})
		}
	}
	return nil
}

// hold holds the plan against what the weighing took it for, and gathers the
// heat's findings after the hand-over.
func (d *Decision) hold(v *value) error {
	o := d.Outcome
	at := o.Foot
	if d.HandOver == Service {
		at = o.Service
	}
	hand := forever
	if at != nil {
		hand = at.Sub(o.Start)
	}
	stops := 0
	for _, f := range o.Findings {
		if f.Severity != Stop {
			continue
		}
		if heatKeys[f.Key] && f.When != nil && f.When.Sub(o.Start) >= hand {
			d.Uncounted = append(d.Uncounted, f)
			continue
		}
		stops++
	}
	if hand != v.hand || stops != v.stops {
		return fmt.Errorf("systems.Decide: the weighing and the plan differ: hand-over %v and %v, stops %d and %d", v.hand, hand, v.stops, stops)
	}
	return nil
}

// compare holds what the plan gives against what the search took it for.
func (pr *problem) compare(d *Decision, was, is *value) error {
	say := func(format string, args ...any) { d.Changed = append(d.Changed, fmt.Sprintf(format, args...)) }
	when := func(v *value) string {
		if v.hand == forever {
			return "never"
		}
		return d.Outcome.Start.Add(v.hand).Format(stamp)
	}
	if when(is) != when(was) {
		say("with all that the plan counts the floor is handed over %s; the search took it for %s", when(is), when(was))
	}
	if is.stops != was.stops {
		say("with all that the plan counts there are %d findings to stop for; the search took them for %d", is.stops, was.stops)
	}
	if pr.g.For == FewestFindings && is.watches != was.watches {
		say("with all that the plan counts there are %d findings to watch; the search took them for %d", is.watches, was.watches)
	}
	if pr.g.For == LeastCost && is.cost != was.cost {
		more, word := is.cost-was.cost, "more"
		if more < 0 {
			more, word = -more, "less"
		}
		say("with its batches, its days and the coats' water it costs %s %s than the search took it for", pr.g.Prices.money(more), word)
	}
	return nil
}

// heatKeys are the findings that judgeHeat makes.
var heatKeys = map[string]bool{"tank-runs-dry": true, "carbon-dioxide": true}

const stamp = "Mon 2 Jan 15:04"

// gap says in words how much better what was left out could be at most.
func (pr *problem) gap(v, open *value) string {
	switch {
	case open.rank < v.rank:
		return "another choice may hand the floor over"
	case open.stops < v.stops:
		return fmt.Sprintf("another choice may have as few as %d findings to stop for instead of %d", open.stops, v.stops)
	case open.goal < v.goal:
		switch pr.g.For {
		case LeastFuel:
			return fmt.Sprintf("another choice may burn at most %v less", units.Energy(v.goal-open.goal))
		case LeastCost:
			return "another choice may cost at most " + pr.g.Prices.money(v.cost-open.cost) + " less"
		}
		return fmt.Sprintf("another choice may have as few as %.0f findings to watch instead of %.0f", open.goal, v.goal)
	case open.hand < v.hand:
		return "another choice may hand over at most " + units.DurationText((v.hand - open.hand + time.Minute - 1).Truncate(time.Minute)) + " earlier"
	}
	return "another choice may be as good"
}
