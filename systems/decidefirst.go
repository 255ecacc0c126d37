package systems

import (
	"maps"
	"math"
	"slices"
	"sort"
	"time"
)

// ofFirst returns the beginnings that may be better than best in a way to heat of the
// combos of which the first coat gives water and no other, and these.
//
// Once that coat is laid its space is known until the next is laid over it: it dries
// and the slab gives off its moisture as if nothing came over them. So the space of
// every plan that lays it then lies between that in which both end as soon as the
// next coat could be laid, and that in which they never do. For each time until
// which the first coat may be held back the search over spans goes on between these;
// later times than one whose bound by the branches (see branch: the floor is handed
// over no earlier the later the coat is held) is no better are left out.
func (pr *problem) ofFirst(heat int, best *value) (all []leaf, combos []int, err error) {
	k := slices.IndexFunc(pr.seq, func(id string) bool { return id == pr.coats[0].id })
	if k != 0 || !pr.ordered(heat) || len(pr.coats) < 2 {
		return nil, nil, nil
	}
	first, next := pr.coats[0].id, pr.coats[1].id
	only := func(i int) bool {
		p := pr.combos[i].p
		s, o := p.step(first), p.step(next)
		return p.gives(first) && !slices.ContainsFunc(pr.seq[1:], p.gives) && s.Only == "" && o.Only == ""
	}
	each := len(pr.combos) / len(pr.coats[0].options)
	for option := range pr.coats[0].options {
		lo, hi := option*each, (option+1)*each
		if !pr.combos[lo].p.gives(first) {
			continue
		}
		in := func(i int) bool { return lo <= i && i < hi && only(i) }
		n := len(combos)
		for i := lo; i < hi; i++ {
			if in(i) {
				combos = append(combos, i)
			}
		}
		if len(combos) == n {
			continue
		}
		for start := range pr.starts {
			if err := pr.ofFirstHeld(heat, start, best, combos[n:], in, &all); err != nil {
				return nil, nil, err
			}
		}
	}
	return all, combos, nil
}

// ofFirstHeld does so for the combos of one material for the first coat and one start.
func (pr *problem) ofFirstHeld(heat, start int, best *value, combos []int, in func(int) bool, all *[]leaf) error {
	b := &branch{problem: pr, slack: waterSlack}
	var buds []*bud
	for _, i := range combos {
		x, err := b.bud(choice{combo: i, heat: heat, start: start}, pr.held(start))
		if err != nil {
			return err
		}
		x.q.atBest()
		buds = append(buds, x)
	}
	_, ready, err := b.early(buds[0], nil, 0)
	if err != nil {
		return err
	}
	holds := []time.Duration{none}
	for _, hold := range pr.grid {
		if hold > ready { // it is ready no earlier in any space
			holds = append(holds, hold)
		}
	}
	v := &between{problem: pr, heat: heat, start: start, h: pr.heats[heat]}
	var failed error
	n := sort.Search(len(holds), func(i int) bool { // the first that cannot be better
		if failed != nil {
			return true
		}
		for _, x := range buds {
			hand, _, err := b.early(x, holds[i:i+1], -1)
			if err != nil {
				failed = err
				return true
			}
			if low := v.value(x.still[0], hand); low.better(best) {
				return false
			}
		}
		return true
	})
	if failed != nil {
		return failed
	}
	if pr.firsts += n; pr.firsts > mostFirsts {
		return errTooLarge
	}
	last := none // the start found last
	for _, hold := range holds[:n] {
		if last != none && hold <= last {
			continue // it is that start again
		}
		p, err := pr.alone(choice{combo: combos[0], heat: heat, start: start, holds: []time.Duration{hold}})
		if err != nil {
			return err
		}
		acts := p.coupling()
		d, ok := p.done[spot{pr.seq[0], 1}]
		switch {
		case !ok || d.start == last:
			continue
		case p.sky.from.key() != acts.key():
			return errTooLarge // it is not settled
		}
		last = d.start
		if err := pr.ofLaid(p, heat, start, hold, best, combos, in, all); err != nil {
			return err
		}
	}
	return nil
}

// mostFirsts is how many places of a first coat that gives water are looked at most.
const mostFirsts = 150

// alone plans the first coat of a choice with nothing after it.
func (pr *problem) alone(c choice) (*planner, error) {
	j := pr.job(c)
	j.Sections = 1
	j.skip = maps.Clone(j.skip)
	if j.skip == nil {
		j.skip = map[string]bool{}
	}
	for _, id := range pr.seq[1:] {
		j.skip[id] = true
	}
	p, err := couple(pr.ctx, &j, pr.air(c.heat, &j), maxRounds, false)
	if err != nil {
		return nil, err
	}
	first, was := pr.seq[0], pr.combos[c.combo].p
	if p.needs[first] == nil || !(math.Abs(float64(p.onFloor(first)/was.onFloor(first))-1) < 1e-9) || p.needs[first].Area != was.needs[first].Area {
		return nil, errTooLarge // what comes after it changes it
	}
	return p, nil
}

// ofLaid does so for one plan's place of the first coat.
func (pr *problem) ofLaid(p *planner, heat, start int, hold time.Duration, best *value, combos []int, in func(int) bool, all *[]leaf) error {
	first, next := pr.seq[0], pr.coats[1].id
	most := p.sky.from.coupling
	// When the next coat could be laid at the soonest, whichever it is: until it is
	// the space is this one.
	d := p.done[spot{first, 1}]
	soon := forever
	for _, i := range combos {
		q, _, err := pr.fresh(&pr.combos[i], pr.heats[heat], nil)
		if err != nil {
			return err
		}
		maps.Copy(q.done, p.done)
		at, _, ok := q.ready(next, 1, d.end)
		if !ok {
			at = d.end
		}
		soon = min(soon, max(d.end, at-waterSlack))
	}
	least := coupling{coats: slices.Clone(most.coats), emissions: slices.Clone(most.emissions)}
	for i := range least.coats {
		least.coats[i].Covered = max(soon, least.coats[i].At+time.Minute)
	}
	for i := range least.emissions {
		least.emissions[i].To = min(least.emissions[i].To, max(soon, least.emissions[i].From))
	}
	x, err := pr.spread(heat, least, most)
	if x == nil || err != nil {
		if err == nil {
			err = errTooLarge
		}
		return err
	}
	b, err := pr.newBetween(heat, start, best, x, in)
	if err != nil {
		return err
	}
	from, err := b.begin(p)
	if err != nil {
		return err
	}
	at := &b.seqs[0]
	option := pr.combos[combos[0]].pick[0]
	y, err := b.span(b.one, at, option, 1, d, d)
	if err != nil {
		return err
	}
	after := b.after(0, from, y)
	each := len(pr.combos) / len(pr.coats[0].options)
	return b.leaves(1, option*each, (option+1)*each, &after, []time.Duration{hold}, y.stops+b.missed(at, from, y.a), y.hand, all)
}
