package systems

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// Plans that go round in a ring with their forecasts.
//
// Of a floor in several sections two answers may turn each other away. Where the
// sections are worked on at once their water is in the air at once, windows are
// missed, and one by one looks better; one by one the water is gone, and at once
// looks better again. Or one section's water holds another's coat off, which is
// then laid where there is none. [Plan] and forecast in turn find neither an end.
//
// What is asked for is a plan that is that of the forecast it gives itself, and
// there mostly is one: with the order of the sections held, and a coat's start
// looked for in the air of those alone that have their time by then (laidBefore).
// Each order is planned by itself in the air that it makes, and of the two the
// better one is taken: that which misses fewer windows, then that with less to
// stop for, then the one that ends first. Of 1 200 small rooms drawn at random 112
// come here, and all of them find their plan so (TestCoupledSettles).
//
// A coat that is just recoatable before the cold stops it may be so in the air
// without the next coat and not with it: with the order held it is taken as the
// steps before the next one leave it (cameBefore).
//
// If an order still goes round, the earliest coat whose start differs along the
// ring is held to its latest start there. A hold only grows, to the next whole
// minute at least, so that it comes to an end; and so many plans are made at most.
// A coat so held may wait longer than it must, and the plan says for how long; its
// limits are kept as those of any other coat, though a window may close meanwhile.

// A heldOrder is the order in which sections are worked on, and from when coats may
// start, held while plan and space are brought to fit.
type heldOrder struct {
	oneByOne bool
	from     map[spot]time.Duration
}

// heldUntil returns from when a coat may start, zero if it is not held.
func (h *heldOrder) heldUntil(id string, section int) time.Duration {
	if h == nil {
		return 0
	}
	return h.from[spot{id, section}]
}

// A hold is a coat that waits longer than slab, air and the coats below ask.
type hold struct {
	spot
	could, start time.Duration
}

// A lap is a plan and the space that it was made in.
type lap struct {
	in *coupled
	p  *planner
}

// settle looks for a plan of j that is that of its own forecast where [couple]
// goes round in a ring; nil if there is none in so many rounds for each order. p
// is a plan of the ring.
func settle(ctx context.Context, j *Job, p *planner, rounds int, near bool) (best *planner, err error) {
	orders := []bool{false, true}
	if p.o.Sections == 1 {
		orders = orders[:1]
	}
	for _, oneByOne := range orders {
		q, err := settleOrder(ctx, j, p.sky.spaces, oneByOne, rounds, near)
		if err != nil {
			return nil, err
		}
		if q != nil && (best == nil || q.better(best)) {
			best = q
		}
	}
	if best == nil {
		return nil, nil
	}
	if best.o.Sections > 1 {
		f := Finding{Key: "order-of-sections-held", Severity: Note, Owner: "this plan", Limit: "at once"}
		if best.oneByOne {
			f.Limit = "one by one"
		}
		best.find(f)
	}
	for _, h := range best.holds {
		best.find(Finding{Key: "held-for-own-water", Severity: Note, Step: h.step, Section: h.section, When: best.clock(h.could), Until: best.clock(h.start),
			Found: Amount{units.Span((h.start - h.could).Round(time.Second))}, Owner: "this plan"})
	}
	return best, nil
}

// settleOrder does so for one order of the sections, from the space by itself on.
func settleOrder(ctx context.Context, j *Job, all *spaces, oneByOne bool, rounds int, near bool) (*planner, error) {
	held := &heldOrder{oneByOne: oneByOne}
	var laps []lap
	now := all.list[0]
	for range holdRounds * rounds {
		k := *j
		k.Site, k.Weather, k.order = now.site, now.weather, held
		p, err := runAs(ctx, &k, now.sky, oneByOne)
		if err != nil {
			return nil, err
		}
		next := p.coupling()
		x := all.fit(next, near)
		if x.err != nil {
			return nil, nil // it cannot be followed
		}
		if x == now {
			return p, nil
		}
		laps = append(laps, lap{now, p})
		if i := slices.IndexFunc(laps, func(l lap) bool { return l.in == x }); i >= 0 {
			if held = held.raised(laps[i:]); held == nil {
				return nil, nil
			}
			laps = nil
		}
		now = x
	}
	return nil, nil
}

// holdRounds times as many rounds are made for each order of the sections as [couple] makes.
const holdRounds = 4

// raised returns h with the earliest coat held whose start differs along a ring,
// to the whole minute, or nil if none does.
func (h *heldOrder) raised(ring []lap) *heldOrder {
	first, last := map[spot]time.Duration{}, map[spot]time.Duration{}
	p := ring[0].p
	for _, l := range ring {
		for at, d := range l.p.done {
			if _, begun := p.begun(at.step, at.section); begun || at.section == 0 || p.step(at.step).Does != Coat {
				continue
			}
			if _, ok := first[at]; !ok {
				first[at], last[at] = d.start, d.start
			}
			first[at], last[at] = min(first[at], d.start), max(last[at], d.start)
		}
	}
	maps.DeleteFunc(first, func(at spot, t time.Duration) bool { return last[at] == t })
	if len(first) == 0 {
		return nil
	}
	order := p.j.Recipe.order
	earliest := slices.MinFunc(slices.Collect(maps.Keys(first)), func(a, b spot) int {
		return cmp.Or(cmp.Compare(first[a], first[b]), cmp.Compare(slices.Index(order, a.step), slices.Index(order, b.step)), cmp.Compare(a.section, b.section))
	})
	out := &heldOrder{oneByOne: h.oneByOne, from: maps.Clone(h.from)}
	if out.from == nil {
		out.from = map[spot]time.Duration{}
	}
	out.from[earliest] = minute(last[earliest])
	return out
}

// laidBefore returns of c, with the order of the sections held, only the coats that
// have their time in this plan already: others are laid later, wherever the
// forecast still has them.
func (p *planner) laidBefore(c coupling) coupling {
	if p.j.order == nil {
		return c
	}
	c.coats = slices.DeleteFunc(c.coats, func(x dryingCoat) bool {
		_, ok := p.done[x.spot]
		return !ok
	})
	for i := range c.coats {
		x := &c.coats[i]
		if _, ok := p.done[spot{x.by, x.section}]; !ok {
			x.Covered, x.by = 0, ""
		}
	}
	return c
}

// cameBefore returns an event that a coat never comes to in this plan's air, as it
// comes with the order held in the air that the steps before id leave: a coat that
// is just recoatable when the cold stops it would else be turned away by the next
// one's own water, and that come back without it. The coat's line tells it so too.
func (p *planner) cameBefore(id string, of spot, event string) eventTime {
	if p.j.order == nil {
		return eventTime{never: true}
	}
	d := p.done[of]
	own := p.sky
	p.sky, _ = p.skyOf(id, forever)
	err := p.events(of.step, &d, Events())
	p.sky = own
	if err != nil || d.reach[event].never {
		return eventTime{never: true} // the error is that of the coat's own events
	}
	p.done[of] = d
	for i := range p.o.Schedule {
		if w := &p.o.Schedule[i]; w.Step == of.step && w.Section == of.section {
			w.Events = p.lines(&d)
		}
	}
	return d.reach[event]
}

// noteHold notes of a coat that was put at d and is held whether it could start sooner.
func (p *planner) noteHold(id string, section int, share float64, free time.Duration, d placed) error {
	if p.j.order.heldUntil(id, section) == 0 {
		return nil
	}
	k := *p.j
	k.order = nil
	with, asked := p.j, p.asked
	defer func() { p.j, p.asked = with, asked }()
	p.j = &k
	ready, why, ok := p.ready(id, section, free)
	if !ok {
		return nil
	}
	could, _, err := p.when(id, section, share, ready, why)
	if err == nil && d.start-could.start >= time.Minute {
		p.holds = append(p.holds, hold{spot{id, section}, could.start, d.start})
	}
	return err
}

// better tells whether a plan misses fewer windows than another, or as many and has
// less to stop for, or as much and ends sooner.
func (p *planner) better(q *planner) bool {
	a, _ := tally(p.o.Findings)
	b, _ := tally(q.o.Findings)
	return cmp.Or(cmp.Compare(p.missed(), q.missed()), cmp.Compare(a, b), p.o.End.Compare(q.o.End)) < 0
}
