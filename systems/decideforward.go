package systems

import (
	"maps"
	"slices"
	"sort"
	"time"
)

// A forward is the search forward over the steps of a floor that is coated in
// one section, for one heat and one start of the work.
//
// It goes through the steps in their order and keeps for each step the states
// that the work so far can end in. A step that is no coat goes on from a state
// in one way: as the planner places it. A coat goes on at once, as the planner
// places it, or held back until a time of the grid that is later than it is
// ready; and with each material. States that agree in all that later steps can
// see are one state, for the planner puts the later steps alike after them and
// finds the same of them.
//
// Of two ways to one state the second is left out if the first has not more
// findings to stop for, not a later hand-over of what is laid so far and not
// later starts in the order of the coats (and, for the goal fewest findings, not
// more to watch). That loses no best choice: whatever follows the second can
// follow the first, brings the same findings to both, and the whole is handed
// over at the later of what is so far and what follows, which is then no later
// for the first. And every goal grows with both: the findings to stop for
// count first; fuel and days that cost never fall as the hand-over comes later,
// nor does the number of the heat's findings that begin before it; materials
// and hands, as the goal least cost counts them, do not hang on when the coats
// are laid.
//
// Where all that later steps see of the floor is the coat just laid, a state's
// ways to lay it in the grid are not gone through one by one after the last
// window that it must meet has closed: they bring one finding for each window
// whenever they are, so that the best of all states is carried from one time of
// the grid to the next. So the work grows with the days as the grid does, and
// not as its square.
type forward struct {
	*problem
	heat, start int
	h           *heatWay
	planners    []*planner // by combo
	begun       []begunWork
	still       [][2]int // by combo: findings to stop for and to watch that hang on no time
	preps, seqs []sight
	kept        map[string]*cell // of the preparation
	grids       map[cellKey][]target
	laters      map[cellKey][]heldBack

	by   []*value // best by class
	than *value   // if not nil only what is better is looked for
}

// forward searches all of one heat and one start, and keeps in by what is better.
func (pr *problem) forward(heat, start int, by []*value) error {
	f := &forward{problem: pr, heat: heat, start: start, h: pr.heats[heat], by: by, kept: map[string]*cell{}, grids: map[cellKey][]target{}}
	held := pr.held(start)
	for i := range pr.combos {
		c := &pr.combos[i]
		q, w, err := pr.fresh(c, f.h, held)
		if err != nil {
			return err
		}
		if !pr.inOrder(&w) {
			return errTooLarge
		}
		stops, watches, err := pr.stillIn(c, q, heat)
		if err != nil {
			return err
		}
		f.planners, f.begun, f.still = append(f.planners, q), append(f.begun, w), append(f.still, [2]int{stops, watches})
	}
	f.preps, f.seqs = pr.sights(f.planners[0])
	for i := range f.seqs {
		if len(f.seqs[i].live) > maxLive {
			return errTooLarge
		}
	}
	first, dead, err := f.prepare()
	if err != nil {
		return err
	}
	if dead >= 0 && len(pr.j.Done) > 0 { // coats stand before a step that never is ready
		return errTooLarge
	}
	if dead >= 0 {
		return f.left(dead, 0, 0, len(pr.combos), first.labels)
	}
	return f.level(0, 0, len(pr.combos), []*state{first})
}

// stillIn is still in a way to heat, where all is placed.
func (pr *problem) stillIn(c *combo, q *planner, heat int) (stops, watches int, err error) {
	if heat == 0 && len(pr.j.Done) == 0 {
		return c.stops, c.watches, nil
	}
	return pr.still(c, q, len(pr.prep), len(pr.seq))
}

// fresh returns a planner for a combo in a heat, with nothing done yet
// but what was begun before now.
func (pr *problem) fresh(c *combo, h *heatWay, held map[string]time.Duration) (*planner, begunWork, error) {
	q := *c.p
	j := *c.p.j
	j.Site, j.Weather, j.held = h.job.Site, h.job.Weather, held
	q.j, q.sky, q.trace = &j, h.sky, j.Weather.SlabTrace()
	q.done, q.used = map[spot]placed{}, map[string]Limit{}
	o := *c.p.o
	o.Findings, o.Schedule = nil, nil
	q.o = &o
	w, err := pr.layPast(&q)
	return &q, w, err
}

// prepare places the preparation, which is the same for every combo. dead is
// the step of it that is never ready, or -1.
func (f *forward) prepare() (first *state, dead int, err error) {
	q := f.planners[0]
	w := &f.begun[0]
	first = &state{free: w.free}
	l := label{stops: int32(w.stops), watches: int32(w.watches)}
	for i := range f.preps {
		at := &f.preps[i]
		if d, ok := w.done[spot{at.id, 0}]; ok {
			c, err := f.h.cell(q, &f.g, at, 0, 0, d)
			if err != nil {
				return nil, 0, err
			}
			f.kept[at.id] = c
			f.add(&l, at, nil, c)
			if q.step(at.id).Does == Condition && c.d.never {
				l.watches++
			}
			continue
		}
		ready, _, ok := q.ready(at.id, 0, first.free)
		if !ok {
			l.stops++
			first.labels = []label{l}
			return first, i, nil
		}
		d, _, err := q.when(at.id, 0, 1, ready, "")
		if err != nil {
			return nil, 0, err
		}
		c, err := f.h.cell(q, &f.g, at, 0, 0, d)
		if err != nil {
			return nil, 0, err
		}
		f.kept[at.id] = c
		q.done[spot{at.id, 0}] = c.d
		f.add(&l, at, nil, c)
		if q.step(at.id).Does == Condition && c.d.never {
			l.watches++
		}
		first.free = q.freed(q.step(at.id), c.d, first.free)
	}
	for _, other := range f.planners[1:] {
		maps.Copy(other.done, q.done)
	}
	first.labels = []label{l}
	return first, -1, nil
}

// add puts a cell behind a label.
func (f *forward) add(l *label, at *sight, x *state, c *cell) {
	l.stops += int32(c.stops)
	l.watches += int32(c.watches)
	for _, w := range at.window {
		if _, _, missed := f.other(at, x, w).shut[w.event].after(c.d); missed {
			l.stops++
		}
	}
	for _, id := range at.waits {
		if o := f.kept[id]; o.d.never || c.d.start < o.d.end {
			l.watches++
		}
	}
	l.before = max(l.before, int32(c.before))
	l.hand = max(l.hand, c.hand)
}

// other returns the step whose window another must meet.
func (f *forward) other(at *sight, x *state, w window) *cell {
	if w.other < 0 {
		return f.kept[w.step]
	}
	return x.live[slices.Index(at.live, w.other)]
}

// level lays step k for the combos from lo to hi, which agree on all before it.
func (f *forward) level(k, lo, hi int, from []*state) error {
	if err := f.ctx.Err(); err != nil {
		return err
	}
	if f.clear && !slices.ContainsFunc(f.still[lo:hi], func(n [2]int) bool { return n[0] == 0 }) {
		return nil
	}
	if k == len(f.seqs) {
		return f.end(lo, from)
	}
	at := &f.seqs[k]
	if at.coat < 0 {
		to, err := f.lay(k, lo, hi, 0, from)
		if err != nil {
			return err
		}
		return f.level(k+1, lo, hi, to)
	}
	each := (hi - lo) / len(f.coats[at.coat].options)
	for option := range f.coats[at.coat].options {
		a := lo + option*each
		to, err := f.lay(k, a, a+each, option, from)
		if err != nil {
			return err
		}
		if err := f.level(k+1, a, a+each, to); err != nil {
			return err
		}
	}
	return nil
}

// lay returns the states after step k with an option.
func (f *forward) lay(k, lo, hi, option int, from []*state) ([]*state, error) {
	at, q := &f.seqs[k], f.planners[lo]
	s := q.step(at.id)
	var live []int // of the next step
	if k+1 < len(f.seqs) {
		live = f.seqs[k+1].live
	}
	alone := len(live) == 0 || len(live) == 1 && live[0] == k
	v := &level{f: f, places: map[stateKey]*state{}}
	after := func(x *state, c *cell) stateKey {
		key := stateKey{free: q.freed(s, c.d, x.free)}
		for i, other := range live {
			if other == k {
				key.live[i] = c
			} else {
				key.live[i] = x.live[slices.Index(at.live, other)]
			}
		}
		return key
	}
	var targets []target
	var soonest []time.Duration // by target: the least start of it and those after it
	fixed, begun := f.begun[lo].done[spot{at.id, 1}]
	if at.coat >= 0 && !begun && f.than == nil {
		var err error
		if targets, err = f.targets(q, at, option); err != nil {
			return nil, err
		}
		soonest = make([]time.Duration, len(targets))
		least := forever
		for i := len(targets) - 1; i >= 0; i-- {
			least = min(least, targets[i].c.d.start)
			soonest[i] = least
		}
	}
	tails := make([][]label, len(targets))
	var dead []label
	for n, x := range from {
		if n%64 == 0 {
			if err := f.ctx.Err(); err != nil {
				return nil, err
			}
		}
		for i, other := range at.live {
			q.done[spot{f.seq[other], 1}] = x.live[i].d
		}
		if begun {
			c, err := f.h.cell(q, &f.g, at, option, 1, fixed)
			if err != nil {
				return nil, err
			}
			key := after(x, c)
			key.free = x.free
			for _, l := range x.labels {
				f.add(&l, at, x, c)
				start := none
				if at.coat >= 0 {
					start = c.d.start
				}
				if err := v.put(key, l, start, none); err != nil {
					return nil, err
				}
			}
			continue
		}
		ready, _, ok := q.ready(at.id, 1, x.free)
		if !ok {
			for _, l := range x.labels {
				l.stops++
				dead = append(dead, l)
			}
			continue
		}
		d, _, err := q.when(at.id, 1, 1, ready, "")
		if err != nil {
			return nil, err
		}
		c, err := f.h.cell(q, &f.g, at, option, 1, d)
		if err != nil {
			return nil, err
		}
		key := after(x, c)
		for _, l := range x.labels {
			f.add(&l, at, x, c)
			start := none
			if at.coat >= 0 {
				start = c.d.start
			}
			if err := v.put(key, l, start, none); err != nil {
				return nil, err
			}
		}
		if at.coat >= 0 && f.than != nil {
			err := f.betters(q, at, option, x, ready, func(t target) error {
				key := after(x, t.c)
				for _, l := range x.labels {
					f.add(&l, at, x, t.c)
					if err := v.put(key, l, t.c.d.start, t.hold); err != nil {
						return err
					}
				}
				return nil
			})
			if err != nil {
				return nil, err
			}
			continue
		}
		if len(targets) == 0 {
			continue
		}
		// Of the grid, what is later than it is ready; up to where all windows have closed.
		first := sort.Search(len(targets), func(i int) bool { return targets[i].hold > ready })
		tail := len(targets)
		if alone {
			tail = f.closed(at, x, targets, soonest, first)
		}
		for _, t := range targets[first:tail] {
			key := after(x, t.c)
			for _, l := range x.labels {
				f.add(&l, at, x, t.c)
				if err := v.put(key, l, t.c.d.start, t.hold); err != nil {
					return nil, err
				}
			}
		}
		if tail < len(targets) {
			for _, l := range x.labels {
				l.stops += int32(len(at.window) - f.open(at, x))
				tails[tail] = f.keep(tails[tail], l, none, none)
			}
		}
	}
	if alone {
		var front []label
		for i, t := range targets {
			for _, l := range tails[i] {
				front = f.keep(front, l, none, none)
			}
			key := after(&state{}, t.c)
			for _, l := range front { // their windows are counted
				l.stops += int32(t.c.stops)
				l.watches += int32(t.c.watches)
				for _, id := range at.waits {
					if o := f.kept[id]; o.d.never || t.c.d.start < o.d.end {
						l.watches++
					}
				}
				l.before = max(l.before, int32(t.c.before))
				l.hand = max(l.hand, t.c.hand)
				if err := v.put(key, l, t.c.d.start, t.hold); err != nil {
					return nil, err
				}
			}
		}
	}
	if len(dead) > 0 && !f.clear {
		if err := f.left(len(f.preps), k, lo, hi, dead); err != nil {
			return nil, err
		}
	}
	return v.states, nil
}

// end values all ways to have laid everything.
func (f *forward) end(i int, from []*state) error {
	c := &f.combos[i]
	for _, x := range from {
		for _, l := range x.labels {
			v := value{hand: l.hand, stops: f.still[i][0] + int(l.stops), watches: f.still[i][1] + int(l.watches+l.before), combo: i, heat: f.heat, start: f.start, chain: l.chain}
			if l.hand == forever || len(c.p.needs) == 0 {
				v.rank, v.hand = 1, forever
			}
			if err := f.finishIn(&v, f.h); err != nil {
				return err
			}
			f.better(v)
		}
	}
	return nil
}

// left values the ways that cannot go on: so many steps of the preparation and
// of the coats are placed, and the next is never ready.
func (f *forward) left(prep, seq, lo, hi int, dead []label) error {
	for i := lo; i < hi; i++ {
		c := &f.combos[i]
		q, _, err := f.fresh(c, f.h, nil)
		if err != nil {
			return err
		}
		stops, watches, err := f.problem.still(c, q, prep, seq)
		if err != nil {
			return err
		}
		for _, at := range append(f.prep[prep:len(f.prep):len(f.prep)], f.seq[seq:]...) {
			if n := q.needs[at]; n != nil {
				if err := q.mixed(at, *n); err != nil {
					return err
				}
			}
		}
		more, watch := tally(q.o.Findings)
		for _, l := range dead {
			v := value{rank: 2, hand: forever, stops: stops + more + int(l.stops), watches: watches + watch + int(l.watches+l.before), combo: i, heat: f.heat, start: f.start, chain: l.chain}
			if err := f.finishIn(&v, f.h); err != nil {
				return err
			}
			f.better(v)
		}
	}
	return nil
}

// better keeps a value if it is the best of its class.
func (f *forward) better(v value) {
	if b := &f.by[f.class(&v)]; *b == nil || v.less(*b) {
		*b = &v
	}
}
