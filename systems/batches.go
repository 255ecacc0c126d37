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
		at, share := time.Duration(0), 1.0
		d, ok := p.done[spot{id, 0}]
		if !ok {
			d, ok = p.done[spot{id, 1}]
		}
		if ok {
			at = d.start
		}
		if s.Does == Coat {
			share = 1 / float64(p.o.Sections)
		}
		air := units.Kelvin(p.j.Weather.Air.At(at))
		pot, err := m.Times[PotLife].Table.NotAfter().Time(air)
		if err != nil {
			return fmt.Errorf("systems.Plan: pot life of step %s: %w", id, err)
		}
		b := &Batches{PotLife: units.Span(pot.Round(time.Second)), At: air, Ratio: m.Mix + " by " + m.MixBy, Binding: "need"}
		need := n.Gross * units.Volume(share) // a batch is for one section
		b.Largest = need
		if m.Vessel.Given() && m.Vessel.Q < b.Largest {
			b.Largest, b.Binding = m.Vessel.Q, "vessel"
		}
		if !m.Vessel.Given() && m.Kit.Q < b.Largest {
			b.Largest, b.Binding = m.Kit.Q, "kit"
		}
		mixing := m.Mixing.Q.Duration()
		switch work := p.crewTime(id, share); {
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
		each, err := batchesOf(need, b)
		if err != nil {
			return fmt.Errorf("systems.Plan: batches of step %s: %w", id, err)
		}
		b.N *= max(1, int(1/share+0.5))
		if b.Parts, err = parts(m, each); err != nil {
			return err
		}
		n.Batches = b
	}
	return nil
}

func batchesOf(need units.Volume, b *Batches) (units.Volume, error) {
	n, each, err := coverage.Batches(need, b.Largest)
	b.N, b.Each = n, each
	return each, err
}
