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
	v := r.best
	if v == nil {
		return nil, errors.New("systems.Decide: nodes: found too few to make one plan: want more")
	}
	c := choice{combo: v.combo, heat: v.heat, start: v.start, holds: pr.holds(v.chain)}
	j := pr.job(c)
	p, err := sections(pr.ctx, &j, pr.heats[v.heat].sky)
	if err != nil {
		return nil, err
	}
	again, err := pr.of(p, c)
	if err != nil {
		return nil, err
	}
	if again.rank != v.rank || again.stops != v.stops || again.hand != v.hand || again.goal != v.goal || again.cost != v.cost {
		return nil, fmt.Errorf("systems.Decide: the search and the plan differ: hand-over %v and %v, stops %d and %d, goal %g and %g", v.hand, again.hand, v.stops, again.stops, v.goal, again.goal)
	}
	d := &Decision{
		Goal: pr.g.For, HandOver: pr.g.HandOver, Start: pr.j.Start.Add(pr.begins(v.start)), Heat: pr.heats[v.heat].HeatChoice,
		Ways: pr.ways(), Optimal: r.open == nil, Job: j,
	}
	if r.forward {
		d.States = pr.states
	} else {
		d.Plans = pr.nodes
	}
	if d.Score, err = pr.score(&again); err != nil {
		return nil, err
	}
	for i, x := range pr.siteHeaters(pr.heats[v.heat]) {
		mass, energy := pr.heats[v.heat].burned(i, v.hand)
		d.Burned = append(d.Burned, Burn{x.Name, x.Fuel.Name, mass, energy})
	}
	if pr.g.For == LeastCost {
		if d.Cost, err = pr.cost(&again); err != nil {
			return nil, err
		}
		d.prices = pr.g.Prices
		d.Currency, d.Digits = d.prices.Currency, d.prices.Digits
	}
	if r.open != nil {
		bound, err := pr.score(r.open)
		if err != nil {
			return nil, err
		}
		d.Bound, d.Gap = &bound, pr.gap(&again, r.open)
	}
	var chain []*laid
	for l := again.chain; l != nil; l = l.before {
		chain = append(chain, l)
	}
	slices.Reverse(chain)
	for k, coat := range pr.coats {
		o := coat.options[pr.combos[v.combo].pick[k]]
		m := j.materials[o.step.Material]
		x := CoatChoice{Step: coat.id, Title: title(&o.step, coat.id), Option: o.name, Material: m.ID + "@" + m.Version, Name: m.Name}
		if at := chain[k].start; at != forever {
			x.Start = p.clock(at)
		}
		if at := c.holds[k]; at != none {
			x.NotBefore = p.clock(at)
		}
		d.Coats = append(d.Coats, x)
	}
	d.Keys = pr.keys(c)
	if err := pr.others(d, r); err != nil {
		return nil, err
	}
	if d.Outcome, err = Plan(pr.ctx, j); err != nil {
		return nil, err
	}
	d.compare(&again)
	if pr.g.For == LeastCost {
		if err := pr.compareCost(d, v.combo); err != nil {
			return nil, err
		}
	}
	return d, nil
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

// cost lists what a value's plan costs.
func (pr *problem) cost(v *value) ([]CostLine, error) {
	until := v.hand
	if until == forever {
		until = pr.heats[v.heat].sky.last
	}
	running, err := pr.g.Prices.running(pr.combos[v.combo].p, pr.heats[v.heat], until)
	return append(slices.Clone(pr.combos[v.combo].lines), running...), err
}

// others tells the best plan with each other material, and with each heat.
func (pr *problem) others(d *Decision, r *result) error {
	if !r.forward {
		return nil
	}
	for k, coat := range pr.coats {
		for i, o := range coat.options {
			if i == pr.combos[r.best.combo].pick[k] {
				continue
			}
			var best *value
			for n, v := range r.by {
				if v != nil && pr.combos[n].pick[k] == i && (best == nil || v.less(best)) {
					best = v
				}
			}
			if best == nil {
				continue
			}
			s, err := pr.score(best)
			if err != nil {
				return err
			}
			d.Others = append(d.Others, Other{coat.id, o.name, pr.j.materials[o.step.Material].Name, s})
		}
	}
	if len(pr.heats) < 2 {
		return nil
	}
	for i, v := range r.byHeat {
		if v == nil {
			continue
		}
		s, err := pr.score(v)
		if err != nil {
			return err
		}
		d.Heats = append(d.Heats, HeatScore{pr.heats[i].HeatChoice, s})
	}
	return nil
}

// compare holds the plan against what the search took it for.
func (d *Decision) compare(v *value) {
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
	if hand != v.hand {
		was, is := "never", "never"
		if v.hand != forever {
			was = o.Start.Add(v.hand).Format(stamp)
		}
		if at != nil {
			is = at.Format(stamp)
		}
		d.Changed = append(d.Changed, fmt.Sprintf("with all that the plan counts the floor is handed over %s; the search took it for %s", is, was))
	}
	if stops != v.stops {
		d.Changed = append(d.Changed, fmt.Sprintf("with all that the plan counts there are %d findings to stop for; the search took them for %d", stops, v.stops))
	}
}

// compareCost holds what the plan's order costs against what the search took it
// for, which knows no batches yet.
func (pr *problem) compareCost(d *Decision, combo int) error {
	q := *pr.combos[combo].p
	q.o, q.needs = d.Outcome, map[string]*Need{}
	for i := range d.Outcome.TakeOff {
		n := &d.Outcome.TakeOff[i]
		q.needs[n.Step] = n
	}
	lines, _, err := pr.g.Prices.fixed(&q)
	if err != nil {
		return err
	}
	is, err := sum(lines)
	if err != nil {
		return err
	}
	if was := pr.combos[combo].cost; is != was {
		more, word := is-was, "more"
		if more < 0 {
			more, word = -more, "less"
		}
		d.Changed = append(d.Changed, fmt.Sprintf("with what its batches leave in their buckets the order costs %s %s than the search took it for", pr.g.Prices.money(more), word))
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
