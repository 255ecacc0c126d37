package systems

import (
	"slices"
	"time"
)

// A point is all that later steps can see of those before them, between the two spaces.
type point struct {
	soon, late time.Duration // when the crew is free
	live       [maxLive]*span
}

type pointKey struct {
	k, lo, hi int
	at        point
}

// An ahead is what the steps from a point on bring at least: findings to stop for,
// and when they are handed over.
type ahead struct {
	stops int
	hand  time.Duration
}

// A way is one way to lay the next step.
type way struct {
	lo, hi int // combos
	hold   time.Duration
	at     *span
	stops  int
	next   point
}

// newBetween prepares the search over spans of some combos.
func (pr *problem) newBetween(heat, start int, best *value, x *extremes, only func(combo int) bool) (*between, error) {
	b := &between{problem: pr, extremes: x, heat: heat, start: start, h: pr.heats[heat], best: best, only: only, kept: map[string]*span{}, spans: map[spanKey]*span{}, held: map[cellKey][]choose{}, known: map[pointKey][]ahead{}}
	if err := b.planners(); err != nil {
		return nil, err
	}
	b.preps, b.seqs = b.sights(b.kind[b.one])
	for i := range b.seqs {
		if len(b.seqs[i].live) > maxLive {
			return nil, errTooLarge
		}
	}
	return b, nil
}

// begin lays the preparation, where it may be or as a plan has it; nil if a step of
// it is never ready.
func (b *between) begin(p *planner) (first *point, err error) {
	first = &point{}
	for i := range b.preps {
		at := &b.preps[i]
		var x *span
		if p != nil {
			d := p.done[spot{at.id, 0}]
			x, err = b.span(b.one, at, 0, 0, d, d)
		} else {
			from, ok := b.ready(b.one, at, 0, first)
			if !ok {
				return nil, nil
			}
			x, err = b.place(b.one, at, 0, from)
		}
		if err != nil {
			return nil, err
		}
		b.kept[at.id] = x
		for j := range b.kind {
			if b.kind[j] != nil {
				b.kind[j].done[spot{at.id, 0}], b.harsh[j].done[spot{at.id, 0}] = x.a, x.b
			}
		}
		b.freed(at, x, first)
	}
	return first, nil
}

// freed moves on when the crew is free.
func (b *between) freed(at *sight, x *span, p *point) {
	q := b.kind[b.one]
	s := q.step(at.id)
	p.soon = q.freed(s, x.a, p.soon)
	switch {
	case s.Does == Condition:
	case x.b.start == forever:
		p.late = forever
	default:
		p.late = q.freed(s, x.b, p.late)
	}
}

// spanOf returns the span of a step that another looks at.
func (b *between) spanOf(at *sight, p *point, id string) *span {
	for j, k := range at.live {
		if b.seqs[k].id == id {
			return p.live[j]
		}
	}
	return b.kept[id]
}

// ready returns between which times a step is ready; false if it never is.
func (b *between) ready(i int, at *sight, section int, p *point) (from [2]time.Duration, ok bool) {
	q, r := b.kind[i], b.harsh[i]
	for j, k := range at.live {
		q.done[spot{b.seqs[k].id, section}], r.done[spot{b.seqs[k].id, section}] = p.live[j].a, p.live[j].b
	}
	if from[0], _, ok = q.ready(at.id, section, p.soon); !ok {
		return from, false
	}
	from[1] = p.late
	look := func(id string) {
		if x := b.spanOf(at, p, id); x == nil || x.b.start == forever {
			from[1] = forever
		}
	}
	for _, l := range r.after[at.id] {
		look(l.step)
	}
	if s := r.step(at.id); s.Does == Broadcast {
		look(s.Into)
	}
	if from[1] != forever {
		if from[1], _, ok = r.ready(at.id, section, p.late); !ok {
			from[1] = forever
		}
	}
	return from, true
}

// place puts a step that is no coat.
func (b *between) place(i int, at *sight, section int, from [2]time.Duration) (*span, error) {
	lo, err := b.soonest(i, at, section, from[0])
	if err != nil {
		return nil, err
	}
	hi, err := b.latest(i, at, section, from[1])
	if err != nil {
		return nil, err
	}
	if s := b.kind[i].step(at.id); s.Does == Condition { // they are looked at every grain
		lo.end -= min(grain, lo.end-lo.start)
		hi.end += grain
		if s = b.harsh[i].step(at.id); s.Slab.HighText != "" {
			hi = placed{start: forever}
		}
	}
	return b.span(i, at, 0, section, lo, hi)
}

// ways calls yield with each way to lay step k for the combos from lo to hi.
func (b *between) ways(k, lo, hi int, p *point, yield func(*way) error) error {
	at := &b.seqs[k]
	options, each := 1, hi-lo
	if at.coat >= 0 {
		options = len(b.coats[at.coat].options)
		each /= options
	}
	for option := range options {
		w := way{lo: lo + option*each, hold: none}
		w.hi = w.lo + each
		i := w.lo // the first of them that is looked at
		for i < w.hi && !b.only(i) {
			i++
		}
		if i == w.hi {
			continue
		}
		from, ok := b.ready(i, at, 1, p)
		if !ok {
			continue
		}
		put := func(x *span) error {
			b.looked++
			if b.looked%256 == 0 {
				if err := b.ctx.Err(); err != nil {
					return err
				}
			}
			if b.looked > mostSpans {
				return errTooLarge
			}
			w.at, w.stops = x, x.stops+b.missed(at, p, x.a)
			if b.idle(w.stops, x.hand) {
				return nil
			}
			w.next = b.after(k, p, x)
			return yield(&w)
		}
		if at.coat < 0 {
			x, err := b.place(i, at, 1, from)
			if err != nil {
				return err
			}
			if err := put(x); err != nil {
				return err
			}
			continue
		}
		all, err := b.places(i, at, option, from[0], from[1])
		if err != nil {
			return err
		}
		for _, x := range all {
			if err := put(x); err != nil {
				return err
			}
		}
		holds, err := b.choices(i, at, option)
		if err != nil {
			return err
		}
		last := (*span)(nil)
		later := heldAfter(holds, from[0])
		for n := range later {
			c := &later[n]
			if b.idle(b.missed(at, p, c.lo), c.lo.end) {
				break // and so is what is held back longer
			}
			w.hold = c.hold
			all := c.at
			if c.hold < from[1] {
				all, err = b.places(i, at, option, c.hold, from[1])
			} else if all == nil {
				all, err = b.places(i, at, option, c.hold, c.hold)
				c.at = all
			}
			if err != nil {
				return err
			}
			if len(all) == 1 && all[0] == last {
				continue // as from the time before
			}
			last = all[0]
			for _, x := range all {
				if err := put(x); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// missed counts the windows that a step misses for certain.
func (b *between) missed(at *sight, p *point, d placed) (n int) {
	for _, o := range at.window {
		if y := b.spanOf(at, p, o.step); y != nil {
			if _, _, missed := y.shut[o.event].after(d); missed {
				n++
			}
		}
	}
	return n
}

// after returns the point after step k.
func (b *between) after(k int, p *point, x *span) point {
	at, next := &b.seqs[k], point{soon: p.soon, late: p.late}
	b.freed(at, x, &next)
	if k+1 < len(b.seqs) {
		for j, other := range b.seqs[k+1].live {
			if other == k {
				next.live[j] = x
			} else {
				next.live[j] = p.live[slices.Index(at.live, other)]
			}
		}
	}
	return next
}

// value returns what so many findings and a hand-over come to at best.
func (b *between) value(stops int, hand time.Duration) value {
	v := value{stops: stops, hand: hand, heat: b.heat, start: b.start}
	if hand == forever {
		v.rank = 1
		return v
	}
	v.hand = hand.Truncate(time.Second)
	for _, f := range b.h.finds {
		if f.key == "tank-runs-dry" && f.when < hand-waterSlack {
			v.stops++
		}
	}
	if b.g.For == LeastFuel {
		v.goal = float64(b.h.fuel(min(hand, b.h.job.Site.Span))) * (1 - waterFuel)
	}
	return v
}

// idle reports whether nothing that has so much can be better than the best.
func (b *between) idle(stops int, hand time.Duration) bool {
	v := b.value(stops, hand)
	return !v.better(b.best)
}

// ahead returns what is to come from a point on at best, none where that is not
// better than the best.
func (b *between) ahead(k, lo, hi int, p *point) (all []ahead, err error) {
	if k == len(b.seqs) {
		return []ahead{{stops: b.stills[b.heat][lo]}}, nil
	}
	key := pointKey{k, lo, hi, *p}
	if all, ok := b.known[key]; ok {
		return all, nil
	}
	err = b.ways(k, lo, hi, p, func(w *way) error {
		stops, hand, w2 := w.stops, w.at.hand, *w
		rest, err := b.ahead(k+1, w2.lo, w2.hi, &w2.next)
		for _, x := range rest {
			x.stops, x.hand = x.stops+stops, max(x.hand, hand)
			if b.idle(x.stops, x.hand) || slices.ContainsFunc(all, func(y ahead) bool { return y.stops <= x.stops && y.hand <= x.hand }) {
				continue
			}
			all = append(slices.DeleteFunc(all, func(y ahead) bool { return x.stops <= y.stops && x.hand <= y.hand }), x)
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	b.known[key] = all
	return all, nil
}

// A leaf is the beginning of a choice after which nothing acts on the space: the
// coats up to the last that gives water or is laid over one that does, or closes the
// floor. All choices that begin so have one space.
type leaf struct {
	bound       value // what none of them is better than
	k, lo, hi   int   // steps laid, combos
	heat, start int
	holds       []time.Duration
}

// settled reports whether after k steps, for the combos from lo to hi, nothing acts on
// the space any more.
func (b *between) settled(k, lo, hi int) bool {
	q := b.combos[lo].p
	closed := b.j.Slab.Emission == nil || !(*b.j.Slab.Emission > 0)
	for n, id := range b.seq[:k] {
		s := q.step(id)
		if s.Does != Coat {
			continue
		}
		if s.Only == "" && (!q.waterborne(id) || q.bars(id)) {
			closed = true
		}
		if q.gives(id) && !slices.ContainsFunc(b.seq[n+1:k], func(other string) bool {
			o := q.step(other)
			return o.Does == Coat && (o.Only == s.Only || s.Only == "base" && o.Base)
		}) {
			return false
		}
	}
	for i := lo; i < hi && closed; i++ {
		closed = !slices.ContainsFunc(b.seq[k:], b.combos[i].p.gives)
	}
	return closed
}

// leaves gathers the beginnings that may be better than the best.
func (b *between) leaves(k, lo, hi int, p *point, holds []time.Duration, stops int, hand time.Duration, out *[]leaf) error {
	rest, err := b.ahead(k, lo, hi, p)
	if err != nil {
		return err
	}
	var bound *value
	for _, x := range rest {
		if v := b.value(stops+x.stops, max(hand, x.hand)); v.better(b.best) && (bound == nil || v.less(bound)) {
			bound = &v
		}
	}
	if bound == nil {
		return nil
	}
	if k == len(b.seqs) || b.settled(k, lo, hi) {
		bound.combo = lo
		*out = append(*out, leaf{*bound, k, lo, hi, b.heat, b.start, slices.Clone(holds)})
		if len(*out) > mostLeaves {
			return errTooLarge
		}
		return nil
	}
	return b.ways(k, lo, hi, p, func(w *way) error {
		next, all := *w, holds
		if b.seqs[k].coat >= 0 {
			all = append(holds[:len(holds):len(holds)], w.hold)
		}
		return b.leaves(k+1, next.lo, next.hi, &next.next, all, stops+next.stops, max(hand, next.at.hand), out)
	})
}

// mostLeaves is how many beginnings are told apart at most in one way to heat.
const mostLeaves = 5000
