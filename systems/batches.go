package systems

import (
	"fmt"
	"time"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// batches says for every mixed liquid how to mix it: the largest batch that
// the crew can lay within the pot life at the air temperature of that hour and
// that the vessel holds, and the equal batches that cover the need.
func (p *planner) batches() error {
	for _, id := range p.j.Recipe.order {
		n := p.needs[id]
		if n == nil || n.Gross == 0 {
			continue
		}
		m, s := p.material(id), p.step(id)
		sections := 1
		if s.Does == Coat {
			sections = p.o.Sections
		}
		share := 1 / float64(sections)
		pot, at, err := p.shortestPotLife(id, m)
		if err != nil {
			return fmt.Errorf("systems.Plan: pot life of step %s: %w", id, err)
		}
		air := units.Kelvin(p.j.Weather.Air.At(at))
		b := &Batches{PotLife: units.Span(pot.Round(time.Second)), At: air, Ratio: m.Mix + " by " + m.MixBy, Binding: "need"}
		need := n.Gross * units.Volume(share) // a batch is for one section
		b.Largest = need
		if m.Vessel.Given() && m.Vessel.Q < b.Largest {
			b.Largest, b.Binding = m.Vessel.Q, "vessel"
		}
		if !m.Vessel.Given() && m.Kit.Q < b.Largest {
			b.Largest, b.Binding = m.Kit.Q, "kit"
		}
		if amount := m.Times[PotLife].Amount; amount > 0 && b.Largest > amount*(1+1e-9) {
			if m.Reaction.Given() {
				life, err := m.potLifeOf(b.Largest, air)
				if err != nil {
					return fmt.Errorf("systems.Plan: step %s: %w", id, err)
				}
				pot = min(pot, life)
				b.PotLife = units.Span(pot.Round(time.Second))
			} else {
				p.find(Finding{Key: "pot-life-of-less", Severity: Watch, Step: id, Found: Amount{b.Largest}, Asked: Amount{amount}, Owner: "data sheet", Limit: m.ID + "@" + m.Version})
			}
		}
		mixing := m.Mixing.Q.Duration()
		p.asked = at
		switch work := p.together(id, share); {
		case pot <= mixing:
			p.find(Finding{Key: "pot-life-too-short", Severity: Stop, Step: id, When: p.clock(at), Found: Amount{units.Span(pot.Round(time.Second))}, Asked: Amount{units.Span(mixing)}, Owner: "data sheet", Limit: m.ID + "@" + m.Version})
		case work > 0:
			// The crew lays need in work: as a rate of area at a film of one unit.
			pace := units.AreaRate(float64(need) / work.Seconds())
			largest, err := coverage.LargestBatch(pot, mixing, pace, 1*units.Metre)
			if err != nil {
				return fmt.Errorf("systems.Plan: batch of step %s: %w", id, err)
			}
			if largest < b.Largest {
				b.Largest, b.Binding = largest, "pot life"
			}
		}
		if b.N, b.Each, err = coverage.Batches(need, b.Largest); err != nil {
			return fmt.Errorf("systems.Plan: batches of step %s: %w", id, err)
		}
		b.N *= sections
		if b.Parts, err = parts(m, b.Each); err != nil {
			return err
		}
		n.Batches = b
	}
	return nil
}

// shortestPotLife returns the shortest pot life that a step meets on any
// section while it goes down, and when. A step that is not in the schedule is
// taken at the start of the job.
func (p *planner) shortestPotLife(id string, m *Material) (pot, at time.Duration, err error) {
	law := m.Times[PotLife].Table.NotAfter()
	look := func(t time.Duration) {
		d, e := law.Time(units.Kelvin(p.j.Weather.Air.At(t)))
		if e != nil {
			err = e
		} else if pot == 0 || d < pot {
			pot, at = d, t
		}
	}
	for section := range p.o.Sections + 1 {
		d, ok := p.done[spot{id, section}]
		if !ok {
			continue
		}
		for t := d.start; t < d.end; t = p.next(t) {
			look(t)
		}
		look(d.end)
	}
	if pot == 0 && err == nil {
		look(0)
	}
	return pot, at, err
}
