package systems

import (
	"fmt"
	"math"
	"time"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
)

// grain says of every broadcast how long its film takes grain, how much may be
// spread in one go, and what there is to buy where a section's loose grain is
// thrown on the next.
func (p *planner) grain() error {
	for _, id := range p.j.Recipe.order {
		if n := p.needs[id]; n != nil && p.step(id).Does == Broadcast {
			if err := p.throw(id, n); err != nil {
				return err
			}
		}
	}
	return nil
}

// throw says it of one broadcast.
func (p *planner) throw(id string, n *Need) error {
	s := p.step(id)
	if s.Usable.Given() {
		if err := p.reuse(n, s); err != nil {
			return fmt.Errorf("systems.Plan: grain of step %s: %w", id, err)
		}
	}
	n.Window = p.window(id, s)
	if n.Window == 0 {
		return nil
	}
	pace, ok := p.paces(id, s)
	if !ok {
		return nil
	}
	pace.Window = n.Window.Duration()
	pace.Lead = min(pace.Lead, pace.Window)
	most, err := pace.Most()
	if err != nil {
		return fmt.Errorf("systems.Plan: grain of step %s: %w", id, err)
	}
	if p.j.Crew.Hands < 2 { // in turn: the first spot waits until all is spread
		most = min(most, pace.Spread.For(pace.Window))
	}
	if math.IsInf(float64(most), 1) {
		return nil
	}
	n.AtOnce = most
	if section := n.Area / units.Area(p.o.Sections); p.j.Crew.Hands > 1 && most < section*(1-1e-9) {
		p.find(Finding{Key: "grain-falls-behind", Severity: Watch, Step: id, Found: Amount{most}, Asked: Amount{section}, Owner: "data sheet", Limit: p.material(s.Into).ID + "@" + p.material(s.Into).Version})
	}
	return nil
}

// reuse works out what to buy where grain is thrown again. Sections are alike.
func (p *planner) reuse(n *Need, s *Step) error {
	sections := make([]units.Area, p.o.Sections)
	for i := range sections {
		sections[i] = n.Area / units.Area(p.o.Sections)
	}
	if !(n.Thrown > 0) {
		return nil
	}
	var err error
	n.Bought, _, err = aggregate.Reuse{Held: n.Loading, Retention: units.Fraction(n.Held / n.Thrown), Usable: s.Usable.Q}.Bought(sections)
	return err
}

// window returns how long the film of a broadcast takes grain on the section
// where it gels soonest; 0 if its data sheet does not say, or the coat is not
// in the schedule.
func (p *planner) window(id string, s *Step) units.Span {
	t, ok := p.material(s.Into).Times[BroadcastLatest]
	if !ok {
		return 0
	}
	least := time.Duration(math.MaxInt64)
	for section := range p.o.Sections + 1 {
		d, ok := p.done[spot{s.Into, section}]
		if !ok {
			continue
		}
		for _, from := range []time.Duration{d.wet, d.end} {
			if latest, err := p.comes(t, true, from); err == nil {
				least = min(least, latest-from)
			}
		}
	}
	if least == math.MaxInt64 || least <= 0 || least > 7*day {
		return 0
	}
	return units.Span(least.Round(time.Second))
}

// paces returns how fast the crew spreads and throws, with as few throwing as
// keep up; with one pair of hands, which does both in turn, or where too few
// may throw, throwing falls behind. It is false where no rate is given.
func (p *planner) paces(id string, s *Step) (aggregate.Throw, bool) {
	into := p.step(s.Into)
	spread, throw, all := into.Rate.Q, s.Rate.Q, int(p.j.Crew.Hands)
	if !(spread > 0 && throw > 0) {
		return aggregate.Throw{}, false
	}
	w := aggregate.Throw{Lead: time.Duration(s.Lag.Q), Spread: spread * units.AreaRate(p.hands(into))}
	if all < 2 {
		w.Lead, w.Thrower = 0, 1/(1/spread+1/throw)
		return w, w.Spread <= 10 && w.Thrower <= 10
	}
	for k := 1; k <= min(all-1, int(p.hands(s))); k++ {
		w.Spread = spread * units.AreaRate(min(float64(all-k), p.hands(into)))
		w.Thrower = throw * units.AreaRate(k)
		if w.Thrower >= w.Spread {
			break
		}
	}
	return w, w.Spread <= 10 && w.Thrower <= 10
}
