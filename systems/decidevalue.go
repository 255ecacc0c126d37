package systems

import (
	"fmt"
	"slices"
	"time"

	"github.com/tackfree/tackfree/internal/minor"
)

// A value is how good a choice is, the first field that differs deciding.
type value struct {
	rank    int // 0: handed over; 1: all is placed, but it never is; 2: not all is placed
	stops   int
	goal    float64       // least fuel in J, least cost in minor units, fewest findings to watch; earliest: 0
	cost    int64         // of the goal least cost: goal, exactly
	hand    time.Duration // over, to the second; forever if it never is
	watches int           // counted for the goal fewest findings alone

	combo, heat, start int
	chain              *laid
}

// A laid is a coat with when it starts, and those before it.
type laid struct {
	before      *laid
	start, hold time.Duration
}

// compareChains orders starts, the first coat's first. Both are of one length.
func compareChains(a, b *laid) int {
	if a == b || a == nil || b == nil {
		return 0
	}
	if c := compareChains(a.before, b.before); c != 0 {
		return c
	}
	switch {
	case a.start < b.start:
		return -1
	case a.start > b.start:
		return 1
	}
	return 0
}

// less reports whether a is better than b.
func (a *value) less(b *value) bool {
	switch {
	case a.rank != b.rank:
		return a.rank < b.rank
	case a.stops != b.stops:
		return a.stops < b.stops
	case a.cost != b.cost:
		return a.cost < b.cost
	case a.goal != b.goal:
		return a.goal < b.goal
	case a.hand != b.hand:
		return a.hand < b.hand
	case a.combo != b.combo:
		return a.combo < b.combo
	case a.heat != b.heat:
		return a.heat < b.heat
	case a.start != b.start:
		return a.start < b.start
	}
	return compareChains(a.chain, b.chain) < 0
}

// compare orders values, the better first.
func (a *value) compare(b *value) int {
	switch {
	case a.less(b):
		return -1
	case b.less(a):
		return 1
	}
	return 0
}

// better reports whether a is better than b in what counts: of two that are not,
// either way, the first in the order of the choices is taken.
func (a *value) better(b *value) bool {
	x, y := *a, *b
	x.combo, x.heat, x.start, x.chain = y.combo, y.heat, y.start, y.chain
	return x.less(&y)
}

// class numbers the combos in all ways to heat.
func (pr *problem) class(v *value) int { return v.combo*len(pr.heats) + v.heat }

// finish fills in what of a value follows from when the floor is handed over:
// the heat's findings until then, and the goal. stops and watches are those of
// the steps and the floor.
func (pr *problem) finish(v *value) error { return pr.finishIn(v, pr.heats[v.heat]) }

// finishIn does so in a way to heat.
func (pr *problem) finishIn(v *value, h *heatWay) error {
	if v.hand != forever {
		v.hand = v.hand.Round(time.Second) // as a plan tells it
	}
	stops, watches := h.found(v.hand)
	v.stops += stops
	v.watches += watches
	switch pr.g.For {
	case LeastFuel:
		v.goal = float64(h.fuel(v.hand))
	case LeastCost:
		until := v.hand
		if until == forever {
			until = h.sky.last
		}
		lines, err := pr.g.Prices.running(pr.combos[v.combo].p, h, until)
		if err != nil {
			return err
		}
		cost, err := sum(lines)
		if err == nil {
			cost, err = minor.Add(cost, pr.combos[v.combo].cost)
		}
		if err != nil {
			return fmt.Errorf("systems.Decide: prices: %w", err)
		}
		v.goal, v.cost = float64(cost), cost
	case FewestFindings:
		v.goal = float64(v.watches)
	}
	return nil
}

// of returns the value of a plan that was made in a way to heat, its space as the
// forecast of that has it.
func (pr *problem) of(p *planner, c choice, h *heatWay) (value, error) {
	p.judgeFigures()
	v := value{hand: forever, combo: c.combo, heat: c.heat, start: c.start}
	v.stops, v.watches = tally(p.o.Findings)
	if h == pr.heats[c.heat] { // what a plan in step with its space finds too
		v.watches += p.waterNotGiven()
	}
	at := p.o.Foot
	if pr.g.HandOver == Service {
		at = p.o.Service
	}
	switch {
	case at != nil:
		v.hand = at.Sub(p.o.Start)
	case slices.ContainsFunc(p.o.Findings, func(f Finding) bool { return f.Key == "never-ready" }):
		v.rank = 2
	default:
		v.rank = 1
	}
	var chain *laid
	for k := range pr.coats {
		x := &laid{before: chain, start: p.earliest(pr.coats[k].id), hold: none}
		if c.holds != nil {
			x.hold = c.holds[k]
		}
		chain = x
	}
	v.chain = chain
	return v, pr.finishIn(&v, h)
}

// holds returns the times until which a chain's coats are held back.
func (pr *problem) holds(chain *laid) []time.Duration {
	out := make([]time.Duration, len(pr.coats))
	for i := range out {
		out[i] = none
	}
	n := 0
	for l := chain; l != nil; l = l.before {
		n++
	}
	for l := chain; l != nil; l = l.before {
		n--
		out[n] = l.hold
	}
	return out
}
