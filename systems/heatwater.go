package systems

import (
	"fmt"
	"strings"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// A HeatWater is the water that the work gave to the space, over the forecast:
// Coats + Slab + Burned = Vented + InTheAir.
type HeatWater struct {
	Coats    units.Mass  `json:"coats"`      // given off by drying coats
	Slab     units.Mass  `json:"slab"`       // given off by the bare slab
	Burned   units.Mass  `json:"burned"`     // from unvented heaters
	Vented   units.Mass  `json:"vented"`     // gone with the air, more than came with it
	InTheAir units.Mass  `json:"in_the_air"` // at the end more than at the start
	Closed   *time.Time  `json:"closed"`     // when all of the floor is closed to the slab's moisture; nil: never, or none is counted
	Each     []CoatDries `json:"each"`
}

// A CoatDries is how a waterborne coat dries on a section.
type CoatDries struct {
	Step    string         `json:"step"`
	Title   string         `json:"title"`
	Section int            `json:"section"`
	Laid    time.Time      `json:"laid"` // the middle of the work
	Holds   units.Mass     `json:"holds"`
	Given   units.Mass     `json:"given"`
	Left    units.Fraction `json:"left"`    // of its water, at the forecast's end or when it is covered
	Dry     *time.Time     `json:"dry"`     // nil: not before that
	Covered *time.Time     `json:"covered"` // by the next coat
}

// heatWater reports what water the plan gives to its space; nil if it gives none.
func (p *planner) heatWater() *HeatWater {
	s := p.j.Site
	if s.coupling.empty() {
		return nil
	}
	b := s.Forecast.Balance
	w := &HeatWater{Coats: b.Dried, Slab: b.Emitted, Burned: b.Burned, Vented: b.Vented, InTheAir: b.InTheAir, Each: []CoatDries{}}
	var closed time.Duration
	for _, e := range s.coupling.emissions {
		closed = max(closed, e.To)
	}
	if closed > 0 && closed < s.Span {
		w.Closed = p.clock(closed)
	}
	for i, c := range s.coupling.coats {
		x := s.Forecast.Coats[i]
		d := CoatDries{Step: c.step, Title: title(p.step(c.step), c.step), Section: c.section, Laid: *p.clock(c.At), Holds: c.Water.Over(c.Area), Given: x.Given, Left: units.Fraction(x.Left / c.Water)}
		if x.IsDry {
			d.Dry = p.clock(x.Dry)
		}
		if c.Covered != 0 {
			d.Covered = p.clock(c.Covered)
		}
		w.Each = append(w.Each, d)
	}
	return w
}

// noteWater says what the coats hold and what the slab gives off.
func (p *planner) noteWater(n notes) {
	if p.j.Site == nil {
		return
	}
	for _, id := range p.j.Recipe.order {
		if !p.gives(id) {
			continue
		}
		m, at := p.material(id), "steps."+id+"."
		n[at+"water"] = note{name: "water in it", value: p.water(id), formula: "(need - waste) * water * density of water", in: []arg{
			of("need", at+"gross"), of("waste", at+"waste"), fromMaterial(m, "water", m.Water),
			{name: "density of water", value: waterDensity, origin: Origin{Basis: CommonPractice, Note: "at 20 °C"}}}}
	}
	if e := p.j.Site.coupling.emissions; len(e) > 0 {
		var terms []string
		in := []arg{fromJob("emission", *p.j.Slab.Emission)}
		for i := range e {
			bare, open := fmt.Sprintf("bare floor %d", i+1), fmt.Sprintf("time until it is closed %d", i+1)
			terms = append(terms, "emission * "+bare+" * "+open)
			in = append(in, fromJob(bare, e[i].Area), arg{name: open, value: units.Span(e[i].To), origin: Origin{Basis: CommonPractice, Note: "the first coat on it that is not waterborne, or bars"}})
		}
		n["heat.water.slab"] = note{name: "given off by the slab", value: p.j.Site.Forecast.Balance.Emitted, formula: strings.Join(terms, " + "), in: in}
	}
}
