package systems

import (
	"slices"
	"time"
)

// A cell is one step placed at one time: its events and what there is to find
// of it, worked out once by the planner's own rules.
type cell struct {
	d              placed
	stops, watches int
	hand           time.Duration // when it may be handed over, not before its work ends; forever if never
	before         int           // series of the weather whose first reading comes after it starts
	shut           []closing     // by events that later steps must come before; as sight.shuts
}

type cellKey struct {
	step   string
	option int
	gross  float64 // of the liquid, which the batches hang on
}

// A sight is what the search needs to know of a step's place among the others.
type sight struct {
	id     string
	coat   int      // of problem.coats; -1 for other work
	reach  []string // events of it that later steps wait for
	shuts  []string // events of it that later steps must come before
	window []window // that it must meet itself
	waits  []string // conditions of the preparation whose first liquid it is
	live   []int    // steps before it, of problem.seq, that it or later ones look at
}

// A window is an event of an earlier step that a step must come before.
type window struct {
	step  string
	event int // of the other's shuts
	other int // in problem.seq; -1: in the preparation
}

// sights looks at which steps see which. All planners of a problem agree on it:
// materials change no links.
func (pr *problem) sights(p *planner) (prep, seq []sight) {
	all := append(slices.Clone(pr.prep), pr.seq...)
	out := make([]sight, len(all))
	place := map[string]int{}
	for i, id := range all {
		place[id] = i
		out[i] = sight{id: id, coat: slices.IndexFunc(pr.coats, func(c coatChoice) bool { return c.id == id })}
	}
	put := func(list *[]string, event string) int {
		i := slices.Index(*list, event)
		if i < 0 {
			i = len(*list)
			*list = append(*list, event)
		}
		return i
	}
	last := make([]int, len(all)) // the last step that looks at it
	for i, id := range all {
		see := func(other string) int {
			k := place[other]
			last[k] = max(last[k], i)
			return k
		}
		meet := func(other, event string) {
			k := see(other)
			out[i].window = append(out[i].window, window{other, put(&out[k].shuts, event), k - len(pr.prep)})
		}
		for _, l := range p.after[id] {
			if k := see(l.step); l.event != Done {
				put(&out[k].reach, l.event)
			}
		}
		for _, l := range p.before[id] {
			meet(l.step, l.event)
		}
		if s := p.step(id); s.Does == Broadcast {
			meet(s.Into, BroadcastLatest)
		}
	}
	for _, id := range pr.prep { // as judgeConditions does
		if p.step(id).Does != Condition {
			continue
		}
		i := slices.Index(p.j.Recipe.order, id)
		for _, other := range p.j.Recipe.order[i+1:] {
			if p.cures(other) {
				k := place[other]
				out[k].waits = append(out[k].waits, id)
				break
			}
		}
	}
	n := len(pr.prep)
	for k := n; k < len(all); k++ {
		for i := n; i < k; i++ {
			if last[i] >= k {
				out[k].live = append(out[k].live, i-n)
			}
		}
	}
	return out[:n], out[n:]
}

// key tells apart what cells of the step hang on beside the time.
func (at *sight) key(q *planner, option int) cellKey {
	key := cellKey{step: at.id, option: option}
	if n := q.needs[at.id]; n != nil {
		key.gross = float64(n.Gross)
	}
	return key
}

// cell returns a step where it is placed, d being its times without events.
func (h *heatWay) cell(q *planner, g *Goal, at *sight, option, section int, d placed) (*cell, error) {
	n, key := q.needs[at.id], at.key(q, option)
	table := h.cells[key]
	if table == nil {
		table = map[time.Duration]*cell{}
		h.cells[key] = table
	}
	if c := table[d.start]; c != nil {
		return c, nil
	}
	s, m := q.step(at.id), q.material(at.id)
	c := &cell{hand: d.end}
	if q.cures(at.id) {
		which := []string{m.nearest(TackFree), g.HandOver}
		for _, event := range at.reach {
			which = append(which, m.nearest(event))
		}
		if err := q.events(at.id, &d, which); err != nil {
			return nil, err
		}
		if e, ok := d.reach[g.HandOver]; !ok || e.never {
			c.hand = forever
		} else {
			c.hand = max(c.hand, e.at)
		}
	}
	c.d = d
	for _, event := range at.shuts {
		c.shut = append(c.shut, q.closing(at.id, event, d))
	}
	q.done[spot{at.id, section}] = d
	q.o.Findings = q.o.Findings[:0]
	q.judgePlaced(at.id, s, section, d)
	if n != nil {
		if err := q.mixed(at.id, *n); err != nil {
			return nil, err
		}
	}
	if _, begun := q.begun(at.id, section); q.cures(at.id) && !begun && m.overHumidity() { // of what was begun, still counts it
		all := d
		if err := q.events(at.id, &all, Events()); err != nil {
			return nil, err
		}
		if err := q.judgeColumns(at.id, section, all); err != nil {
			return nil, err
		}
	}
	c.stops, c.watches = tally(q.o.Findings)
	if n != nil || s.Does == Condition { // as judgeReadings does
		for _, x := range []Series{q.j.Weather.Slab, q.j.Weather.Air, q.j.Weather.RH} {
			if x[0].At > d.start {
				c.before++
			}
		}
	}
	table[d.start] = c
	return c, nil
}

// mixed finds what Plan does of a step's batches, doses and grain where it is
// placed; n is a copy, for they are worked into it.
func (p *planner) mixed(id string, n Need) error {
	if p.step(id).Does == Broadcast {
		return p.throw(id, &n)
	}
	if n.Gross == 0 {
		return nil
	}
	if err := p.batch(id, &n); err != nil {
		return err
	}
	return p.dose(id, &n)
}
