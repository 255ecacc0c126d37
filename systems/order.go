package systems

import (
	"fmt"
	"slices"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// order adds the needs up by material and rounds them, last, to kits and bags.
func (p *planner) order() error {
	lines := map[string]*OrderLine{}
	var keys []string
	mats := map[string]*Material{}
	line := func(m *Material, id string) *OrderLine {
		key := m.ID + "@" + m.Version
		l := lines[key]
		if l == nil {
			l = &OrderLine{Material: key, Name: m.Name}
			lines[key] = l
			mats[key] = m
			keys = append(keys, key)
		}
		if !slices.Contains(l.Steps, id) {
			l.Steps = append(l.Steps, id)
		}
		return l
	}
	for _, id := range p.j.Recipe.order {
		n := p.needs[id]
		if n == nil {
			continue
		}
		l := line(p.material(id), id)
		l.Volume += n.Gross
		l.Mass += n.Bought
		if n.Sand > 0 {
			line(p.materials[p.step(id).Sand], id).Mass += n.Sand
		}
	}
	for _, key := range keys {
		l, m := lines[key], mats[key]
		var err error
		if m.Kind == "liquid" {
			err = p.cover(m, l)
		} else {
			l.Unit, l.UnitMass = "bag", m.Bag.Q
			if l.Units, err = coverage.Kits(l.Mass, m.Bag.Q); err == nil {
				l.LeftMass = max(0, m.Bag.Q*units.Mass(l.Units)-l.Mass)
			}
		}
		if err != nil {
			return fmt.Errorf("systems.Plan: order of %s: %w", key, err)
		}
		p.o.Order = append(p.o.Order, *l)
	}
	return nil
}
