package systems

import (
	"slices"
	"time"
)

// A branch is the search over whole plans, for floors coated in several
// sections, where the planner itself says which section comes next, and for
// those with too many states. It tries the materials and the times until which
// the coats are held back: first none held back, then one coat, then two and so
// on, and leaves out whatever a bound shows to be no better than the best plan
// so far.
//
// The bound follows the first section alone, with the crew always there for it
// and every window open, and counts of the findings those that hang on no time.
// No plan hands the floor over earlier: that section's work begins no earlier
// than what it waits for; the events of a data sheet, integrals of a rate that
// is never below zero, come no earlier if their step ends no earlier; a shift,
// and the first time in it that is long enough, come no earlier for a later
// time; and the planner's first start that no spell of bad weather blocks is no
// more than a minute earlier (it tries whole minutes after a spell), which the
// bound gives away for each coat, as it gives the longest step between looks at
// the weather for each condition and a second for each event. Nor is the floor
// handed over before the crew has had the hours in its shifts that all the work
// on all sections takes.
type branch struct {
	*problem
	by      []*value // best by class
	best    *value
	only    func(*combo) bool // those that search looks at
	slack   time.Duration     // that the weather may differ from what is looked at
	open    *value            // the least bound of what was left out for want of nodes
	holding []time.Duration
	before  int // plans made by another search
}

func (b *branch) limit() int {
	if b.g.Nodes > 0 {
		return b.g.Nodes
	}
	return 2000
}

// A bud is a combo with a heat and a start of the work, not yet tried out.
type bud struct {
	c     choice
	q     *planner
	begun begunWork
	still [2]int // findings to stop for and to watch that hang on no time
	bound value
	done  bool
}

// search goes through all choices, or says what it left.
func (b *branch) search() error {
	var buds []*bud
	for heat := range b.heats {
		for start := range b.starts {
			held := b.held(start)
			for i := range b.combos {
				if err := b.ctx.Err(); err != nil {
					return err
				}
				if !b.only(&b.combos[i]) {
					continue
				}
				x, err := b.bud(choice{combo: i, heat: heat, start: start}, held)
				if err != nil {
					return err
				}
				if x.bound, err = b.bound(x, nil); err != nil {
					return err
				}
				buds = append(buds, x)
			}
		}
	}
	slices.SortStableFunc(buds, func(x, y *bud) int { return x.bound.compare(&y.bound) })
	none := make([]time.Duration, len(b.coats))
	for k := 0; k <= len(b.coats); k++ { // coats held back
		for _, x := range buds {
			if b.clear && b.best != nil && b.best.rank == 0 && b.best.stops == 0 {
				return nil
			}
			if x.done {
				continue
			}
			if b.best != nil && !x.bound.less(b.best) {
				x.done = true
				continue
			}
			for i := range none {
				none[i] = -1
			}
			b.holding = none
			if err := b.hold(x, 0, k); err == errTooLarge {
				for _, y := range buds { // what is left has no better bound than these
					if !y.done && (b.open == nil || y.bound.less(b.open)) {
						v := y.bound
						b.open = &v
					}
				}
				return nil
			} else if err != nil {
				return err
			}
		}
	}
	return nil
}

// bud makes one.
func (b *branch) bud(c choice, held map[string]time.Duration) (x *bud, err error) {
	x = &bud{c: c}
	if x.q, x.begun, err = b.fresh(&b.combos[c.combo], b.heats[c.heat], held); err != nil {
		return nil, err
	}
	x.still[0], x.still[1], err = b.stillIn(&b.combos[c.combo], x.q, c.heat)
	return x, err
}

// hold holds back n more coats, from the i-th on.
func (b *branch) hold(x *bud, i, n int) error {
	if n == 0 {
		return b.try(x)
	}
	if i+n > len(b.coats) {
		return nil
	}
	bound, err := b.bound(x, b.holding[:i])
	if err != nil {
		return err
	}
	if b.best != nil && !bound.less(b.best) {
		return nil
	}
	if err := b.hold(x, i+1, n); err != nil {
		return err
	}
	if b.coats[i].begun {
		return nil
	}
	at, err := b.ready(x, b.holding[:i], i)
	if err != nil {
		return err
	}
	for _, until := range b.grid {
		if until <= at { // it is not ready before in any section: not held back
			continue
		}
		b.holding[i] = until
		bound, err := b.bound(x, b.holding[:i+1])
		if err == nil && b.best != nil && !bound.less(b.best) {
			break // nor is one held back longer
		}
		if err == nil {
			err = b.hold(x, i+1, n-1)
		}
		if err != nil {
			return err
		}
	}
	b.holding[i] = none
	return nil
}

// try makes a plan.
func (b *branch) try(x *bud) error {
	if err := b.ctx.Err(); err != nil {
		return err
	}
	if b.nodes-b.before >= b.limit() {
		return errTooLarge
	}
	b.nodes++
	c := x.c
	c.holds = slices.Clone(b.holding)
	j := b.job(c)
	p, err := sections(b.ctx, &j, b.heats[c.heat].sky)
	if err != nil {
		return err
	}
	v, err := b.of(p, c, b.heats[c.heat])
	if err != nil {
		return err
	}
	if b.best == nil || v.less(b.best) {
		b.best = &v
	}
	if old := &b.by[b.class(&v)]; *old == nil || v.less(*old) {
		*old = &v
	}
	return nil
}

// bound returns a value that no choice is better than that begins with these
// holds and holds back the later coats as it likes.
func (b *branch) bound(x *bud, holds []time.Duration) (value, error) {
	hand, _, err := b.early(x, holds, -1)
	if err != nil {
		return value{}, err
	}
	v := value{hand: hand, combo: x.c.combo, heat: x.c.heat, start: x.c.start, stops: x.still[0], watches: x.still[1]}
	if hand == forever { // a step is never ready: what comes of that is not bounded further
		v.stops, v.watches = 0, 0
		v.rank = 1
	}
	return v, b.finish(&v)
}

// ready returns a time before which the i-th coat is not ready on any section.
// Where work was begun, another section than the first may be the furthest: of
// such floors only now is known.
func (b *branch) ready(x *bud, holds []time.Duration, i int) (time.Duration, error) {
	if len(b.j.Done) > 0 {
		return b.j.Now, nil
	}
	_, at, err := b.early(x, holds, i)
	return at, err
}

// early returns when the floor is handed over at the earliest, forever if it
// never can be, and when a coat is ready at the earliest.
func (b *branch) early(x *bud, holds []time.Duration, coat int) (hand, ready time.Duration, err error) {
	q := x.q
	at := map[string]placed{}
	event := func(id, event string, d placed) (time.Duration, error) {
		m := q.material(id)
		if event = m.nearest(event); event == "" {
			return forever, nil
		}
		y := placed{end: d.end, wet: d.wet}
		if err := q.events(id, &y, []string{event}); err != nil {
			return 0, err
		}
		if e := y.reach[event]; !e.never {
			return e.at - time.Second - b.slack, nil
		}
		return forever, nil
	}
	free := x.begun.free
	var whole time.Duration
	share := 1 / float64(b.sections)
	for i, id := range append(slices.Clone(b.prep), b.seq...) {
		section, part := 0, 1.0
		if i >= len(b.prep) {
			section, part = 1, share
		}
		if i == len(b.prep) {
			whole = free // then the crew begins the coats
		}
		s := q.step(id)
		if d, ok := x.begun.done[spot{id, section}]; ok {
			at[id], hand = d, max(hand, d.end)
			if e := d.reach[b.g.HandOver]; q.cures(id) && coat < 0 {
				if _, given := d.reach[b.g.HandOver]; !given || e.never {
					return forever, forever, nil
				}
				hand = max(hand, e.at-time.Second)
			}
			continue
		}
		from := max(free, q.j.Now)
		if q.overtaken(id) {
			from = q.doneBefore(id, section)
		}
		from = max(from, q.j.held[id])
		k := slices.IndexFunc(b.coats, func(c coatChoice) bool { return c.id == id })
		if k >= 0 && k < len(holds) {
			from = max(from, holds[k])
		}
		for _, l := range q.after[id] {
			d, ok := at[l.step]
			if !ok || l.event == Done && d.never {
				return forever, forever, nil
			}
			e := d.end
			if l.event != Done {
				if e, err = event(l.step, l.event, d); err != nil {
					return 0, 0, err
				}
			}
			if e == forever {
				return forever, forever, nil
			}
			from = max(from, e)
		}
		if k >= 0 && k == coat {
			return 0, from, nil
		}
		if s.Does == Broadcast {
			q.done[spot{s.Into, section}] = at[s.Into]
		}
		d, _, err := q.when(id, section, part, from, "")
		if err != nil {
			return 0, 0, err
		}
		give := time.Duration(0)
		switch {
		case s.Does == Coat:
			give = min(time.Minute+b.slack, d.start-q.begins(id, from, q.work(id, section, part)))
		case s.Does == Condition && !d.never:
			give = min(grain+b.slack, d.end-from)
			d.start += give // only its end is in doubt
		}
		d.start, d.wet, d.end = d.start-give, d.wet-give, d.end-give
		at[id] = d
		hand = max(hand, d.end)
		if q.cures(id) && coat < 0 { // a coat that never may be walked on holds no other back
			y := placed{end: d.end, wet: d.wet}
			if err := q.events(id, &y, []string{b.g.HandOver}); err != nil {
				return 0, 0, err
			}
			if e, ok := y.reach[b.g.HandOver]; !ok || e.never {
				return forever, forever, nil
			} else {
				hand = max(hand, e.at-time.Second-b.slack)
			}
		}
		free = q.freed(s, d, free)
	}
	return max(hand, b.crew(x, whole)), 0, nil
}

// crew returns when the crew is through with all sections at the earliest if it
// begins the coats at from. A coat longer than a shift goes on after it: such
// floors are not bounded so.
func (b *branch) crew(x *bud, from time.Duration) time.Duration {
	q := x.q
	var all time.Duration
	for _, id := range b.seq {
		s := q.step(id)
		if s.Does == Broadcast || s.Does == Condition {
			continue
		}
		for section := range b.sections {
			if _, ok := x.begun.done[spot{id, section + 1}]; ok {
				continue
			}
			work := q.work(id, section+1, 1/float64(b.sections))
			if s.Does == Coat && work > q.j.Crew.To-q.j.Crew.From || work > 365*day {
				return from
			}
			all += work
		}
	}
	_, end := q.spread(from, all)
	return end
}
