package systems

import (
	"maps"
	"sort"
	"time"
)

// A span is a step whose start is only known to lie between two times, for the
// space is only known to lie between two: what it brings at least, whichever start
// and whichever space it is.
type span struct {
	a, b  placed    // soonest, in the kindest space, and latest, in the harshest; b.start forever where nothing bounds it
	shut  []closing // the latest, as sight.shuts
	stops int       // for certain
	hand  time.Duration
}

type spanKey struct {
	cellKey
	start, latest time.Duration
}

// A between is the search over spans: what the plans of one way to heat and one
// start of the work can come to at best, whatever their water does.
type between struct {
	*problem
	*extremes
	heat, start int
	h           *heatWay
	only        func(combo int) bool // those that are looked at
	one         int                  // the first of them
	best        *value               // nothing else is looked at than what may be better
	kind, harsh []*planner
	preps, seqs []sight
	kept        map[string]*span // of the preparation
	spans       map[spanKey]*span
	held        map[cellKey][]choose
	known       map[pointKey][]ahead
	looked      int
}

// mostSpans is how many ways to lay a coat after others are looked at.
const mostSpans = 400_000

// piece is how finely a start that may be late is told apart.
const piece = 30 * time.Minute

// A choose is a coat held back until a time of the grid: how soon it may start then,
// and once that is asked for where.
type choose struct {
	hold time.Duration
	lo   placed
	at   []*span
}

// planners makes those of the combos that are looked at in both spaces.
func (b *between) planners() error {
	n := len(b.combos)
	b.kind, b.harsh, b.one = make([]*planner, n), make([]*planner, n), -1
	held := b.problem.held(b.start)
	if b.stills[b.heat] == nil {
		all := make([]int, n)
		for i := range b.combos {
			q, _, err := b.fresh(&b.combos[i], b.h, held)
			if err != nil {
				return err
			}
			if all[i], _, err = b.stillIn(&b.combos[i], q, b.heat); err != nil {
				return err
			}
		}
		if b.stills == nil {
			b.stills = map[int][]int{}
		}
		b.stills[b.heat] = all
	}
	for i := range b.combos {
		c := &b.combos[i]
		if !b.only(i) {
			continue
		}
		if b.one < 0 {
			b.one = i
		}
		for _, side := range []struct {
			to  []*planner
			sky *sky
			of  map[string]*Material
		}{{b.kind, b.warm, b.extremes.kinder}, {b.harsh, b.cold, b.extremes.harsher}} {
			q, _, err := b.fresh(c, b.h, held)
			if err != nil {
				return err
			}
			q.sky, q.trace, q.j.Weather, q.materials = side.sky, side.sky.slab, *side.sky.given, side.of
			side.to[i] = q
		}
		q := b.kind[i]
		q.steps = maps.Clone(q.steps)
		for id, s := range q.steps {
			if s.Does == Condition && s.Slab.HighText != "" {
				y := *s
				y.Slab.HighText = ""
				q.steps[id] = &y
			}
		}
	}
	return nil
}

// span returns a step between two times.
func (b *between) span(i int, at *sight, option, section int, soon, late placed) (*span, error) {
	q, r := b.kind[i], b.harsh[i]
	key := spanKey{at.key(q, option), soon.start, late.start}
	if x := b.spans[key]; x != nil {
		return x, nil
	}
	x := &span{a: soon, b: late, hand: soon.end}
	if q.cures(at.id) {
		m := b.j.materials[q.step(at.id).Material]
		which := []string{m.nearest(TackFree), b.g.HandOver}
		for _, event := range at.reach {
			which = append(which, m.nearest(event))
		}
		if err := q.events(at.id, &x.a, which); err != nil {
			return nil, err
		}
		if late.start != forever {
			if err := r.events(at.id, &x.b, which); err != nil {
				return nil, err
			}
		}
		if e, ok := x.a.reach[b.g.HandOver]; !ok || e.never {
			x.hand = forever
		} else {
			x.hand = max(x.hand, e.at-time.Second)
		}
		if at.coat >= 0 {
			x.stops = b.certain(q, at.id, x)
		}
	}
	for _, event := range at.shuts {
		c := closing{forever, forever}
		if at.coat >= 0 && late.start != forever && b.j.materials[q.step(at.id).Material].Times[event].Humid == nil {
			c = r.closing(at.id, event, x.b)
		}
		x.shut = append(x.shut, c)
	}
	b.spans[key] = x
	return x, nil
}

// certain counts the findings to stop for that a coat has wherever it starts in
// its span: never to cure, and each limit that is broken in the kindest space
// between its latest start and the soonest that it can be tack-free.
func (b *between) certain(q *planner, id string, x *span) (n int) {
	m := q.material(id)
	until := x.a.end
	switch tack, ok := x.a.reach[m.nearest(TackFree)]; {
	case !ok:
		until = max(until, q.last)
	case tack.never:
		n++
		until = max(until, q.last)
	default:
		until = tack.at - time.Second
	}
	if x.b.start >= until {
		return n
	}
	var broken [len(limits)]bool
	for s := range q.against(m, x.b.start, until) {
		if !broken[s.limit] && b.breaks(q.step(id).Material, s, x.b.start, until) {
			broken[s.limit] = true
			n++
		}
	}
	return n
}

// soonest returns the first place that the kindest space has for a step from ready on.
func (b *between) soonest(i int, at *sight, section int, ready time.Duration) (placed, error) {
	q := b.kind[i]
	d, _, err := q.when(at.id, section, 1, ready, "")
	if at.coat >= 0 && d.start > q.begins(at.id, ready, q.work(at.id, section, 1)) { // a plan looks at whole minutes after a spell
		d.start, d.wet, d.end = d.start-time.Minute, d.wet-time.Minute, d.end-time.Minute
	}
	return d, err
}

// latest returns a place from which on no plan puts a step that is ready by then:
// for a coat the first that is free, with a minute more, of all limits of the
// harshest space, and of heat and dry air in the kindest. What is free there is so
// in every plan's space, and a plan takes its first.
func (b *between) latest(i int, at *sight, section int, ready time.Duration) (placed, error) {
	r := b.harsh[i]
	if ready == forever {
		return placed{start: forever}, nil
	}
	if at.coat < 0 {
		d, _, err := r.when(at.id, section, 1, ready, "")
		if d.never {
			d = placed{start: forever}
		}
		return d, err
	}
	r.asked = ready
	work := r.work(at.id, section, 1) + time.Minute
	name := r.step(at.id).Material
	for t := r.begins(at.id, ready, work); ; {
		x, bad := b.cold.blocked(b.extremes.harsher[name], t, t+work)
		if !bad {
			x, bad = b.hot.blocked(b.extremes.tops[name], t, t+work)
		}
		if !bad {
			d := placed{start: t + time.Minute, end: t + work}
			d.wet = r.firstSpot(at.id, r.step(at.id), section, 1, d)
			return d, nil
		}
		if x.to == forever {
			return placed{start: forever}, nil
		}
		t = r.begins(at.id, minute(x.to), work)
	}
}

// places returns where a coat may start that is ready between two times.
func (b *between) places(i int, at *sight, option int, from, to time.Duration) (all []*span, err error) {
	lo, err := b.soonest(i, at, 1, from)
	if err != nil {
		return nil, err
	}
	hi, err := b.latest(i, at, 1, to)
	if err != nil {
		return nil, err
	}
	add := func(lo, hi placed) error {
		x, err := b.span(i, at, option, 1, lo, hi)
		if err == nil {
			all = append(all, x)
		}
		return err
	}
	q := b.kind[i]
	work := hi.end - hi.start
	if hi.start == forever {
		// Where nothing is free to the end of what is known a plan takes the first shift.
		first, last := placed{start: q.begins(at.id, from, lo.end-lo.start)}, placed{start: forever}
		if first.start < lo.start {
			first.end, first.wet = first.start+lo.end-lo.start, first.start+lo.wet-lo.start
			if to != forever {
				last.start = b.harsh[i].begins(at.id, to, lo.end-lo.start)
				last.end, last.wet = last.start+lo.end-lo.start, last.start+lo.wet-lo.start
			}
			if err := add(first, last); err != nil {
				return nil, err
			}
		}
		work = lo.end - lo.start
	}
	for hi.start-lo.start > piece {
		cut := (lo.start + piece).Truncate(piece)
		if cut >= b.warm.last {
			break
		}
		if cut >= hi.start {
			break
		}
		part := placed{start: cut, end: cut + work, wet: cut + lo.wet - lo.start}
		if err := add(lo, part); err != nil {
			return nil, err
		}
		if lo, err = b.soonest(i, at, 1, cut); err != nil {
			return nil, err
		}
		if lo.start > hi.start {
			return all, nil
		}
	}
	return all, add(lo, hi)
}

// choices lists by when a coat may be held back until a time of the grid.
func (b *between) choices(i int, at *sight, option int) ([]choose, error) {
	key := at.key(b.kind[i], option)
	if all, ok := b.held[key]; ok {
		return all, nil
	}
	var all []choose
	for _, hold := range b.grid {
		if hold <= b.kind[i].j.held[at.id] {
			continue
		}
		if b.idle(0, hold) {
			break
		}
		lo, err := b.soonest(i, at, 1, hold)
		if err != nil {
			return nil, err
		}
		all = append(all, choose{hold: hold, lo: lo})
	}
	b.held[key] = all
	return all, nil
}

// heldAfter returns the first of them held back until later than a time.
func heldAfter(all []choose, t time.Duration) []choose {
	return all[sort.Search(len(all), func(i int) bool { return all[i].hold > t }):]
}
