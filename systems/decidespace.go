package systems

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"
)

// A problem is one question to decide: the job, the goal, and all there is to
// choose from.
type problem struct {
	ctx context.Context
	j   *Job
	g   Goal

	heats  []*heatWay
	starts []time.Duration
	leads  []string // what the start of the work holds back
	coats  []coatChoice
	combos []combo
	grid   []time.Duration // times until which a coat may be held back, rising

	prep, seq []string
	sections  int

	states, nodes int // looked at so far

	missing []string // prices not given, of the goal least cost

	airs map[int]*sky // by way to heat: where a plan in step with its space begins

	kinder, harsher, tops map[string]*Material // as of extremes
	stills                map[int][]int        // by way to heat: of combos the findings to stop for that hang on no time

	firsts int // places of a first coat that gives water looked at so far

	clear bool // look only for a plan without a Stop
}

// A coatChoice is a coat with the materials allowed for it, in the order of the
// recipe: the job's own, then its options by name.
type coatChoice struct {
	id      string
	options []coatOption
	begun   bool // on all sections: nothing of it is decided
}

type coatOption struct {
	name string // [OwnMaterial] or the option's
	step Step
}

// A combo is one material for every coat, taken off and judged as far as that
// does not hang on when the coats are laid.
type combo struct {
	pick           []int // by coat, of its options
	p              *planner
	taken          [2]int // findings to stop for and to watch of the take-off
	stops, watches int    // with those of the floor, if all is placed
	cost           int64
	low            int64 // that the cost of a plan with all its lines is not below
	lines          []CostLine
	wet            bool // its coats, or the slab, give water to the space's air
}

// none is a coat that is not held back.
const none = time.Duration(-1)

// newProblem gathers what there is to choose from.
func newProblem(ctx context.Context, j *Job, g Goal) (*problem, error) {
	pr := &problem{ctx: ctx, j: j, g: g}
	var err error
	if pr.heats, err = heats(ctx, j, &g); err != nil {
		return nil, err
	}
	base, err := begin(ctx, j, pr.heats[0].sky, false)
	if err != nil {
		return nil, err
	}
	if err := base.geometry(); err != nil {
		return nil, err
	}
	if pr.prep, pr.seq, err = base.divide(); err != nil {
		return nil, err
	}
	pr.sections = base.o.Sections
	for _, id := range append(slices.Clone(pr.prep), pr.seq...) {
		pr.leads = append(pr.leads, id)
		if base.step(id).Does != Condition {
			break
		}
	}
	n := 1
	for _, id := range pr.seq {
		s := base.step(id)
		if s.Does != Coat {
			continue
		}
		c := coatChoice{id: id}
		for section := range pr.sections {
			_, begun := base.begun(id, section+1)
			c.begun = begun && (section == 0 || c.begun)
		}
		if base.anyBegun(id) {
			c.options = []coatOption{{OwnMaterial, *s}}
			pr.coats = append(pr.coats, c)
			continue
		}
		allowed := func(name string) bool { return g.Materials[id] == nil || slices.Contains(g.Materials[id], name) }
		if allowed(OwnMaterial) {
			c.options = append(c.options, coatOption{OwnMaterial, *s})
		}
		for _, name := range slices.Sorted(maps.Keys(s.Options)) {
			switch {
			case !allowed(name):
			case s.has(s.Options[name]): // it is the job's own
				if !allowed(OwnMaterial) {
					c.options = append(c.options, coatOption{name, *s})
				}
			default:
				c.options = append(c.options, coatOption{name, s.with(s.Options[name])})
			}
		}
		if n *= len(c.options); n > maxCombos {
			return nil, fmt.Errorf("systems.Decide: materials: found more than %d ways to choose them: want fewer allowed by step", maxCombos)
		}
		pr.coats = append(pr.coats, c)
	}
	for i := range n {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		c := combo{pick: make([]int, len(pr.coats))}
		for k := len(pr.coats) - 1; k >= 0; k-- { // the first coat's changes last
			c.pick[k] = i % len(pr.coats[k].options)
			i /= len(pr.coats[k].options)
		}
		if err := pr.takeOff(&c); err != nil {
			return nil, err
		}
		pr.combos = append(pr.combos, c)
	}
	if g.For == LeastCost {
		if pr.missing = append(pr.missing, g.Prices.unpriced(j.Site)...); len(pr.missing) > 0 {
			return nil, fmt.Errorf("systems.Decide: prices: found none for %s: want them in [prices], or the materials left out of [decide.materials]", strings.Join(pr.missing, ", "))
		}
	}
	for at := g.Start.From; at <= g.Start.To; at += g.Start.Every {
		pr.starts = append(pr.starts, at)
	}
	pr.starts = startsFrom(pr.starts, j.Now)
	for at := time.Duration(0); at <= g.Horizon; at += g.Grid {
		if open, _ := base.open(at); open <= g.Horizon && (open > j.Now || j.Now == 0) && (len(pr.grid) == 0 || open > pr.grid[len(pr.grid)-1]) {
			pr.grid = append(pr.grid, open)
		}
	}
	return pr, nil
}

// takeOff works out a combo.
func (pr *problem) takeOff(c *combo) error {
	j := *pr.j
	j.Recipe.Steps = maps.Clone(j.Recipe.Steps)
	for k, coat := range pr.coats {
		j.Recipe.Steps[coat.id] = coat.options[c.pick[k]].step
	}
	p, err := begin(pr.ctx, &j, pr.heats[0].sky, false)
	if err != nil {
		return err
	}
	for _, stage := range []func() error{p.geometry, p.link, p.takeOff, p.order} {
		if err := stage(); err != nil {
			return err
		}
	}
	if _, _, err := p.divide(); err != nil {
		return err
	}
	c.p = p
	c.wet = p.wets()
	c.taken[0], c.taken[1] = tally(p.o.Findings)
	c.taken[1] += p.waterNotGiven()
	p.o.Findings = nil
	if c.stops, c.watches, err = pr.still(c, p, len(pr.prep), len(pr.seq)); err != nil {
		return err
	}
	if pr.g.For == LeastCost {
		var missing []string
		if len(j.Done) > 0 { // its hours are those really worked
			if p, _, err = pr.fresh(c, pr.heats[0], j.held); err != nil {
				return err
			}
		}
		if c.lines, missing, err = pr.g.Prices.fixed(p); err != nil {
			return err
		}
		for _, what := range missing {
			if !slices.Contains(pr.missing, what) {
				pr.missing = append(pr.missing, what)
			}
		}
		if c.cost, err = sum(c.lines); err != nil {
			return err
		}
		c.low = p.low(c.lines, c.cost)
	}
	return nil
}

// tally counts the findings to stop for and to watch.
func tally(all []Finding) (stops, watches int) {
	for _, f := range all {
		switch f.Severity {
		case Stop:
			stops++
		case Watch:
			watches++
		}
	}
	return stops, watches
}

// still counts the findings of a combo that do not hang on when its steps are
// done, where so many of the preparation and of the coats' steps are placed. q is
// the combo's planner in the heat asked, with what was begun.
func (pr *problem) still(c *combo, q *planner, prep, seq int) (stops, watches int, err error) {
	p := *q
	o := *p.o
	o.Findings = nil
	p.o, p.done = &o, maps.Clone(q.done)
	place := func(at spot) {
		if _, ok := p.done[at]; !ok {
			p.done[at] = placed{}
		}
	}
	for _, id := range pr.prep[:prep] {
		place(spot{id, 0})
	}
	for _, id := range pr.seq[:seq] {
		place(spot{id, 1})
	}
	for _, id := range p.j.Recipe.order {
		if p.active(id) && p.step(id).Does == Coat {
			p.judgeFilm(id)
		}
	}
	if err := p.judgeFloor(); err != nil {
		return 0, 0, err
	}
	p.judgeFigures()
	stops, watches = tally(p.o.Findings)
	return stops + c.taken[0], watches + c.taken[1], nil
}

// A choice is one way through a problem.
type choice struct {
	combo, heat, start int
	holds              []time.Duration // by coat; none: not held back by the decision
}

// job returns the job with a choice made.
func (pr *problem) job(c choice) Job {
	j := *pr.heats[c.heat].job
	j.Recipe.Steps = maps.Clone(pr.j.Recipe.Steps)
	for k, coat := range pr.coats {
		j.Recipe.Steps[coat.id] = coat.options[pr.combos[c.combo].pick[k]].step
	}
	j.held = pr.held(c.start)
	for k, hold := range c.holds {
		if id := pr.coats[k].id; hold > j.held[id] {
			j.held[id] = hold
		}
	}
	return j
}

// held returns what the job and the start of the work hold back.
func (pr *problem) held(start int) map[string]time.Duration {
	held := map[string]time.Duration{}
	maps.Copy(held, pr.j.held)
	for _, id := range pr.leads {
		if at := pr.starts[start]; at > held[id] {
			held[id] = at
		}
	}
	return held
}

// ways returns how many choices there are.
func (pr *problem) ways() float64 {
	n := float64(len(pr.combos)) * float64(len(pr.heats)) * float64(len(pr.starts))
	for _, c := range pr.coats {
		if !c.begun {
			n *= float64(len(pr.grid) + 1)
		}
	}
	return n
}
