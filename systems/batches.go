package systems

import (
	"fmt"
	"time"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// batches says for every mixed liquid how to mix it: the largest batch that
// the crew can lay within the pot life at the air temperature of that hour and
// that the vessel holds, and the equal batches that cover the need, with what
// each leaves in its bucket. Kits that are mixed whole are batches themselves.
func (p *planner) batches() error {
	for _, id := range p.j.Recipe.order {
		n := p.needs[id]
		if n == nil || n.Gross == 0 {
			continue
		}
		if err := p.batch(id, n); err != nil {
			return err
		}
	}
	return nil
}

// batch says how to mix one step's liquid where it is placed, and sets what of
// its need follows from that.
func (p *planner) batch(id string, n *Need) error {
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
	kept := units.Volume(1 - s.Waste.Q)
	n.Tools = s.Tools.Q * units.Volume(sections)
	net := (n.Gross - n.Waste + n.Tools) * units.Volume(share) // a batch is for one section
	need := (net + s.Residue.Q) / kept                         // mixed in one
	b.Largest = need
	if m.Vessel.Given() && m.Vessel.Q < b.Largest {
		b.Largest, b.Binding = m.Vessel.Q, "vessel"
	}
	if !m.Vessel.Given() && m.Kit.Q < b.Largest {
		b.Largest, b.Binding = m.Kit.Q, "kit"
	}
	if amount := m.Times[PotLife].Amount; amount > 0 && b.Largest > amount*(1+1e-9) {
		if m.Reaction.Given() {
			life, err := m.potLifeOf(b.Largest, air, units.Fraction(p.j.Weather.RH.At(at)))
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
	if err := p.intoBatches(id, n, b, net, sections); err != nil {
		return fmt.Errorf("systems.Plan: batches of step %s: %w", id, err)
	}
	n.Batches = b
	return p.volatiles(id, n)
}

// intoBatches finds the fewest batches that lay net on every section, and with them
// what the step takes in all.
func (p *planner) intoBatches(id string, n *Need, b *Batches, net units.Volume, sections int) (err error) {
	m, s := p.material(id), p.step(id)
	kept, residue := units.Volume(1-s.Waste.Q), s.Residue.Q
	if m.Whole {
		whole := m.wholeKit(b.Largest)
		if whole > b.Largest*(1+1e-9) {
			p.find(Finding{Key: "kit-above-batch", Severity: Stop, Step: id, Found: Amount{whole}, Asked: Amount{b.Largest}, Owner: "data sheet", Limit: m.ID + "@" + m.Version})
		}
		b.Largest, b.Binding = whole, "whole kit"
	}
	if residue > 0 && !(residue < b.Largest*kept/2) { // each batch would stay in its bucket
		p.find(Finding{Key: "batch-stays-in-bucket", Severity: Stop, Step: id, Found: Amount{b.Largest}, Asked: Amount{residue}, Owner: "recipe", Limit: p.o.Recipe})
		residue = 0
	}
	if b.N, err = coverage.Kits(net, b.Largest*kept-residue); err != nil {
		return err
	}
	b.N *= sections
	n.Residue = residue * units.Volume(b.N)
	n.Gross = (net*units.Volume(sections) + n.Residue) / kept
	n.Waste = n.Gross * units.Volume(s.Waste.Q)
	n.Thinner = n.Gross * units.Volume(s.Thinner.Q)
	if n.Sand > 0 {
		f, err := p.filling(id, s)
		if err != nil {
			return err
		}
		n.Sand = f.sand(n.Gross)
	}
	if n.Wet > 0 {
		n.Spread = units.Spread(float64(n.Area) / float64(n.Gross))
	}
	if b.Each = n.Gross / units.Volume(b.N); m.Whole {
		b.Each = b.Largest
	}
	if b.Parts, err = parts(m, b.Each); err != nil {
		return err
	}
	return p.split(n, m)
}

// shortestPotLife returns the shortest pot life that a step meets on any
// section while it goes down, and when. A step that is not in the schedule is
// taken at the start of the job.
func (p *planner) shortestPotLife(id string, m *Material) (pot, at time.Duration, err error) {
	sheet := m.Times[PotLife]
	law := sheet.Table.NotAfter()
	look := func(t time.Duration) {
		if sheet.Humid != nil {
			table, e := sheet.at(units.Fraction(p.j.Weather.RH.At(t)))
			if e != nil {
				err = e
				return
			}
			law = table.NotAfter()
		}
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
