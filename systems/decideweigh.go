package systems

import (
	"context"
	"fmt"
	"slices"

	"github.com/tackfree/tackfree/internal/minor"
)

// How choices are weighed after the search.
//
// The search looks at the job in the space's forecast by itself, as if neither
// coats nor slab gave it any water, and for least cost at what hangs on the
// materials and the hand-over alone. A choice that gives no water (a dry one) has
// just that plan, so that the search is exact for it, but for the rest of its
// bill. What it takes a waterborne choice for is no bound on its plan, neither
// way: damp air lets a moisture-cured coat above it cure sooner, and a slab
// cooled by what dries keeps recoat windows open longer
// (TestWaterMayHelp). So after the search its best choice of each class, that is
// with each combo of materials in each way to heat, is planned anew in step with
// its space, with its whole bill, in the order of what the search took it for;
// and the best is taken by what these plans give, by the goal's own order. That
// is a bounded number of plans, and what is left is held against bounds that
// water and bills do keep: lowest for the choices that give water (and where it can
// say more, prove: see decideextremes.go), and for the
// whole bill what the search took as its part. Where no bound is better than
// the choice it is proved, and else the decision says by how much another could
// be at most.

// mostWeighed is how many choices are planned anew at most, for a decision and for
// each size of a relaxation, which is content with the first without a Stop.
const mostWeighed = 8

// A weighing is a choice as its plan gives it.
type weighing struct {
	found *value // by the search
	real  value
	air   *heatWay   // its space, with its water
	lines []CostLine // of least cost, all
}

func (x *weighing) clear() bool { return x.real.rank == 0 && x.real.stops == 0 }

// A weighed is what weighing came to.
type weighed struct {
	best   *weighing
	all    []*weighing // planned anew, in their order
	open   *value      // the least bound that is better than the best, or nil
	wet    bool        // it is of a choice that gives water
	spaces int         // beginnings that were searched in their spaces
	// what is known of the best of each class, and whether by its plan
	known []*value
	sure  []bool
}

// weigh plans choices anew and takes the best, and looks for the bound of those
// that were not. Where only a plan without a Stop is looked for it ends with one.
func (pr *problem) weigh(r *result) (*weighed, error) {
	w := &weighed{known: slices.Clone(r.by), sure: make([]bool, len(r.by))}
	var order []*value
	for i, v := range r.by {
		if v == nil {
			continue
		}
		w.sure[i] = pr.exact(v)
		order = append(order, v)
	}
	slices.SortFunc(order, (*value).compare)
	take := func(x *weighing) {
		if w.best == nil || x.real.less(&w.best.real) {
			w.best = x
		}
	}
	for _, v := range order { // the first that is known without being planned anew
		if pr.exact(v) {
			take(&weighing{found: v, real: *v, air: pr.heats[v.heat]})
			break
		}
	}
	lows := make([]*value, len(r.by))
	low := func(v *value) (_ *value, err error) {
		i := pr.class(v)
		if lows[i] == nil {
			lows[i], err = pr.lowest(r, v.combo, v.heat)
		}
		return lows[i], err
	}
	for _, v := range order {
		if len(w.all) == mostWeighed || pr.clear && w.best != nil && w.best.clear() {
			break
		}
		if pr.exact(v) {
			continue
		}
		if w.best != nil && !pr.clear {
			b, err := low(v)
			if err != nil {
				return nil, err
			}
			if !b.better(&w.best.real) {
				continue
			}
		}
		x, err := pr.planned(v)
		if err != nil {
			return nil, err
		}
		w.all = append(w.all, x)
		i := pr.class(v)
		w.known[i], w.sure[i] = &x.real, true
		take(x)
	}
	if w.best == nil || pr.clear {
		return w, nil
	}
	told, err := pr.prove(r, w, take)
	if err != nil {
		return nil, err
	}
	put := func(b *value, wet bool) {
		if b.better(&w.best.real) && (w.open == nil || b.less(w.open)) {
			w.open, w.wet = b, wet
		}
	}
	if r.dryOpen != nil {
		b := *r.dryOpen
		pr.lower(&b, pr.slackest())
		put(&b, false)
	}
	if told != nil {
		for i := range told.open {
			put(&told.open[i], true)
		}
	}
	for combo := range pr.combos {
		if err := pr.ctx.Err(); err != nil {
			return nil, err
		}
		for heat := range pr.heats {
			wet := pr.combos[combo].wet
			if !wet && pr.g.For != LeastCost || told != nil && told.of(combo, heat) {
				continue
			}
			b, err := low(&value{combo: combo, heat: heat})
			if err != nil {
				return nil, err
			}
			put(b, wet)
		}
	}
	return w, nil
}

// exact reports whether the plan of a choice is what the search took it for.
func (pr *problem) exact(v *value) bool { return !pr.combos[v.combo].wet && pr.g.For != LeastCost }

// lower takes off what of a cost the search counts is no bound.
func (pr *problem) lower(v *value, by int64) {
	if pr.g.For == LeastCost {
		v.cost -= by
		v.goal = float64(v.cost)
	}
}

// slackest returns the most that is taken off of any combo.
func (pr *problem) slackest() (most int64) {
	for i := range pr.combos {
		most = max(most, pr.combos[i].cost-pr.combos[i].low)
	}
	return most
}

// planned makes the plan of a choice in step with its space, and its bill.
func (pr *problem) planned(v *value) (*weighing, error) {
	c := choice{combo: v.combo, heat: v.heat, start: v.start, holds: pr.holds(v.chain)}
	j := pr.job(c)
	p, err := couple(pr.ctx, &j, pr.air(v.heat, &j), maxRounds, false)
	if err != nil {
		return nil, err
	}
	return pr.weighing(v, c, p)
}

// weighing tells what a choice's plan gives.
func (pr *problem) weighing(v *value, c choice, p *planner) (x *weighing, err error) {
	x = &weighing{found: v}
	if x.air, err = pr.heats[c.heat].with(pr.ctx, p); err != nil {
		return nil, err
	}
	if x.real, err = pr.of(p, c, x.air); err != nil {
		return nil, err
	}
	if pr.g.For != LeastCost {
		return x, nil
	}
	if x.lines, err = pr.g.Prices.billed(p, x.real.rank < 2); err != nil {
		return nil, err
	}
	until := x.real.hand
	if until == forever {
		until = pr.heats[c.heat].sky.last
	}
	running, err := pr.g.Prices.running(p, x.air, until)
	if err != nil {
		return nil, err
	}
	x.lines = append(x.lines, running...)
	if x.real.cost, err = sum(x.lines); err != nil {
		return nil, err
	}
	x.real.goal = float64(x.real.cost)
	return x, nil
}

// air returns where a plan in step with its space begins: the sky of a way to
// heat, worked out once.
func (pr *problem) air(heat int, j *Job) *sky {
	h := pr.heats[heat]
	if h.job.Site == nil {
		return h.sky
	}
	if s := pr.airs[heat]; s != nil {
		return s
	}
	s := *h.sky
	s.from = &coupled{site: j.Site, weather: j.Weather, sky: &s}
	s.spaces = &spaces{j.Site, j.given, map[string]*coupled{"": s.from}, []*coupled{s.from}}
	if pr.airs == nil {
		pr.airs = map[int]*sky{}
	}
	pr.airs[heat] = &s
	return &s
}

// with returns the way to heat with what a plan does to its space.
func (h *heatWay) with(ctx context.Context, p *planner) (*heatWay, error) {
	if p.j.Site == nil || p.j.Site == h.job.Site {
		x := *h
		return &x, nil
	}
	x := &heatWay{HeatChoice: h.HeatChoice, job: p.j, sky: p.sky}
	if err := x.burn(); err != nil {
		return nil, err
	}
	return x, x.judge(ctx)
}

// lowest returns a value that no plan of a class is better than, whatever its
// water does and with its whole bill.
//
// Of a combo that gives no water it is what the search found of the class, or,
// where that went over plans and left some out, of all. A combo that gives water
// only takes heat from slab and air, where it evaporates, and only adds water to
// the air: so slab and air are at no time warmer than without it, the air not
// drier, the heaters have burned no less, and their tanks run dry no later (slab
// and air obey equations whose heat flows rise with the temperatures they come
// from: see [HeatLoss]). So what the search over plans takes as its bound (the
// first section alone, every window open, no findings but those that hang on no
// time; see branch) is one for these plans too, in the space without water and
// with materials that it could not help: that are not held back by heat or dry
// air, that are never quicker in the cold, and, if they cure by moisture, as quick
// as in the dampest air. Tanks that run dry by then count. What the forecast's
// own steps may differ by is given away at each event (waterSlack). Where a job
// says what time it is now, its forecast goes on from what was read, water and
// all: of such a job nothing is bounded.
func (pr *problem) lowest(r *result, combo, heat int) (*value, error) {
	c := &pr.combos[combo]
	if !c.wet {
		if r.forward {
			b := *r.by[combo*len(pr.heats)+heat]
			pr.lower(&b, c.cost-c.low)
			return &b, nil
		}
		b := *r.best
		b.combo, b.heat = combo, heat
		pr.lower(&b, pr.slackest())
		return &b, nil
	}
	v := &value{combo: combo, heat: heat}
	if slices.ContainsFunc(pr.coats, func(x coatChoice) bool { return !x.begun }) { // else it may be over before now
		v.hand = pr.j.Now
	}
	if pr.j.Now > 0 || len(pr.j.Done) > 0 {
		return v, nil
	}
	b := &branch{problem: pr, slack: waterSlack}
	q, begun, err := pr.fresh(c, pr.heats[heat], pr.held(0))
	if err != nil {
		return nil, err
	}
	still, watches, err := pr.stillIn(c, q, heat)
	if err != nil {
		return nil, err
	}
	q.atBest()
	x := &bud{c: choice{combo: combo, heat: heat}, q: q, begun: begun}
	if v.hand, _, err = b.early(x, nil, -1); err != nil {
		return nil, err
	}
	h := pr.heats[heat]
	if v.hand == forever {
		v.rank = 1
	} else {
		v.stops, v.watches = still, watches
		for _, f := range h.finds {
			if f.key == "tank-runs-dry" && f.when < v.hand-waterSlack {
				v.stops++
			}
		}
	}
	until := h.sky.last // beyond it is burned what the last day does, less if a tank is dry then
	if h.job.Site != nil {
		until = min(v.hand, h.job.Site.Span)
	}
	switch pr.g.For {
	case LeastFuel:
		v.goal = float64(h.fuel(until)) * (1 - waterFuel)
	case LeastCost:
		running, err := pr.g.Prices.running(q, h, until)
		if err == nil {
			v.cost, err = sum(running)
		}
		if err == nil {
			v.cost, err = minor.Add(v.cost-int64(float64(v.cost)*waterFuel)-1, c.low)
		}
		if err != nil {
			return nil, fmt.Errorf("systems.Decide: prices: %w", err)
		}
		v.goal = float64(v.cost)
	case FewestFindings:
		v.goal = float64(v.watches)
	}
	return v, nil
}
