package systems

import (
	"errors"
	"fmt"
	"slices"
	"time"
)

// errNotTold is a beginning of which the search in its space says nothing.
var errNotTold = errors.New("systems.Decide: a beginning whose space does not settle")

// within searches all choices that begin as a leaf does, in the one space that they
// have, and returns the best of those better than best, nil if none is.
//
// What comes after the beginning gives no water, and neither covers nor closes what
// does: so the space is that of any one of these choices' plans, its beginning is laid
// as there, and the steps after it are placed by the planner in that space as it is,
// which is what the search forward does, exactly.
func (pr *problem) within(l *leaf, best *value, seen map[string]bool) (*value, error) {
	c := choice{combo: l.lo, heat: l.heat, start: l.start, holds: slices.Clone(l.holds)}
	for len(c.holds) < len(pr.coats) {
		c.holds = append(c.holds, none)
	}
	j := pr.job(c)
	p, err := couple(pr.ctx, &j, pr.air(l.heat, &j), maxRounds, false)
	if err != nil {
		return nil, err
	}
	if slices.ContainsFunc(p.o.Findings, func(f Finding) bool { return f.Key == "water-not-followed" || f.Key == "forecast-not-settled" }) {
		return nil, errNotTold
	}
	for _, id := range pr.prep {
		if _, ok := p.done[spot{id, 0}]; !ok {
			return nil, nil // it is never ready, and no choice is handed over
		}
	}
	for _, id := range pr.seq[:l.k] {
		if _, ok := p.done[spot{id, 1}]; !ok {
			return nil, nil
		}
	}
	key := fmt.Sprint(l.heat, l.start, l.lo, l.hi, " ", p.sky.from.key())
	for _, id := range pr.seq[:l.k] {
		key += fmt.Sprint(" ", p.done[spot{id, 1}].start)
	}
	if seen[key] {
		return nil, nil
	}
	seen[key] = true
	x, err := pr.heats[l.heat].with(pr.ctx, p)
	if err != nil {
		return nil, err
	}
	x.cells = map[cellKey]map[time.Duration]*cell{}
	sub := *pr
	f := &forward{problem: &sub, heat: l.heat, start: l.start, h: x, than: best, by: make([]*value, len(pr.combos)*len(pr.heats)), kept: map[string]*cell{}, laters: map[cellKey][]heldBack{}}
	sub.states = 0
	f.planners, f.begun, f.still = make([]*planner, len(pr.combos)), make([]begunWork, len(pr.combos)), make([][2]int, len(pr.combos))
	held := pr.held(l.start)
	for i := l.lo; i < l.hi; i++ {
		if f.planners[i], f.begun[i], err = pr.fresh(&pr.combos[i], x, j.held); err != nil {
			return nil, err
		}
		if f.still[i][0], f.still[i][1], err = pr.stillIn(&pr.combos[i], f.planners[i], l.heat); err != nil {
			return nil, err
		}
		f.planners[i].j.held = held // what goes on is held as the search holds it
	}
	if err := f.from(p, l); err != nil {
		return nil, err
	}
	pr.states += sub.states
	var found *value
	for _, v := range f.by {
		if v != nil && v.better(best) && (found == nil || v.less(found)) {
			found = v
		}
	}
	return found, nil
}

// from goes on after the beginning of a plan.
func (f *forward) from(p *planner, l *leaf) error {
	q := f.planners[l.lo]
	f.preps, f.seqs = f.sights(q)
	var way label
	var free time.Duration
	for i := range f.preps {
		at := &f.preps[i]
		c, err := f.h.cell(q, &f.g, at, 0, 0, p.done[spot{at.id, 0}])
		if err != nil {
			return err
		}
		f.kept[at.id] = c
		q.done[spot{at.id, 0}] = c.d
		f.add(&way, at, nil, c)
		if q.step(at.id).Does == Condition && c.d.never {
			way.watches++
		}
		free = q.freed(q.step(at.id), c.d, free)
	}
	var cells []*cell
	at := func(k int) *state { // as step k sees it
		x := &state{free: free}
		if k < len(f.seqs) {
			for i, other := range f.seqs[k].live {
				x.live[i] = cells[other]
			}
		}
		return x
	}
	coat := 0
	for k := range l.k {
		s := &f.seqs[k]
		option := 0
		if s.coat >= 0 {
			option = f.combos[l.lo].pick[s.coat]
		}
		c, err := f.h.cell(q, &f.g, s, option, 1, p.done[spot{s.id, 1}])
		if err != nil {
			return err
		}
		f.add(&way, s, at(k), c)
		if s.coat >= 0 {
			way.chain = &laid{before: way.chain, start: c.d.start, hold: l.holds[coat]}
			coat++
		}
		q.done[spot{s.id, 1}] = c.d
		free = q.freed(q.step(s.id), c.d, free)
		cells = append(cells, c)
	}
	for i := l.lo + 1; i < l.hi; i++ {
		for where, d := range q.done {
			f.planners[i].done[where] = d
		}
	}
	x := at(l.k)
	x.labels = []label{way}
	return f.level(l.k, l.lo, l.hi, []*state{x})
}

// idle reports whether nothing that goes on from a way can be better than the value
// that is asked for.
func (f *forward) idle(l *label) bool {
	if f.than == nil {
		return false
	}
	v := value{stops: int(l.stops), hand: l.hand}
	stops, _ := f.h.found(l.hand)
	v.stops += stops
	if f.g.For == LeastFuel {
		v.goal = float64(f.h.fuel(l.hand))
	}
	return !v.better(f.than)
}

// A heldBack is a coat held back, that may not be asked for.
type heldBack struct {
	hold time.Duration
	d    placed
	c    *cell
}

// betters calls put with where a coat may be laid in the grid after it is ready, as
// long as that may be better than the value asked for: no later time misses fewer
// windows, nor is over sooner.
func (f *forward) betters(q *planner, at *sight, option int, x *state, ready time.Duration, put func(target) error) error {
	key := at.key(q, option)
	all, ok := f.laters[key]
	if !ok {
		for _, hold := range f.grid {
			if hold <= q.j.held[at.id] {
				continue
			}
			if f.idle(&label{hand: hold}) {
				break
			}
			d, _, err := q.when(at.id, 1, 1, hold, "")
			if err != nil {
				return err
			}
			if n := len(all); n > 0 && all[n-1].d.start == d.start {
				all[n-1].hold = hold
				continue
			}
			all = append(all, heldBack{hold: hold, d: d})
		}
		f.laters[key] = all
	}
	for n := range all {
		t := &all[n]
		if t.hold <= ready {
			continue
		}
		missed := int32(0)
		for _, w := range at.window {
			if _, _, is := f.other(at, x, w).shut[w.event].after(t.d); is {
				missed++
			}
		}
		if !slices.ContainsFunc(x.labels, func(l label) bool {
			return !f.idle(&label{stops: l.stops + missed, hand: max(l.hand, t.d.end)})
		}) {
			return nil
		}
		if t.c == nil {
			var err error
			if t.c, err = f.h.cell(q, &f.g, at, option, 1, t.d); err != nil {
				return err
			}
		}
		if err := put(target{t.hold, t.c}); err != nil {
			return err
		}
	}
	return nil
}
