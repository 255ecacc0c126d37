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
		laid := "need - waste"
		in := []arg{of("need", at+"gross"), of("waste", at+"waste"), fromMaterial(m, "water", m.Water),
			{name: "density of water", value: waterDensity, origin: Origin{Basis: CommonPractice, Note: "at 20 °C"}}}
		for _, x := range []string{"tools", "residue"} {
			if _, ok := n[at+x]; ok {
				laid, in = laid+" - "+x, append(in, of(x, at+x))
			}
		}
		n[at+"water"] = note{name: "water in it", value: p.water(id), formula: "(" + laid + ") * water * density of water", in: in}
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
	if p.o.Heat != nil && p.o.Heat.Water != nil {
		p.noteDries(n, p.o.Heat.Water)
	}
}

// noteDries says where the water went.
func (p *planner) noteDries(n notes, w *HeatWater) {
	const balance, at = "water balance of the space through time (climate.Room)", "heat.water."
	in := p.site()
	var each []string
	var given []arg
	var closes []arg
	for i := range w.Each {
		x, at := &w.Each[i], fmt.Sprintf("%seach.%d.", at, i)
		work, all := workPath(&Work{Step: x.Step, Section: x.Section}), of("water in it", "steps."+x.Step+".water")
		p.noteSection(n, at+"section", x.Section)
		n.tell(at+"laid", x.Title+" is laid", x.Laid, "the middle of the work, to the minute", of("end of the work", work+"end"))
		n[at+"holds"] = note{name: "water in " + x.Title, value: x.Holds, formula: "water in it / sections", in: []arg{all, of("sections", "sections")}}
		n.tell(at+"left", "share left in "+x.Title, x.Left, "at the forecast's end, or when it is covered: "+balance, in...)
		if n[at+"given"] = (note{name: "given off by " + x.Title, value: x.Given, formula: "holds - left * holds", in: []arg{of("holds", at+"holds"), of("left", at+"left")}}); x.Given < 1e-5*x.Holds { // rounding would tell more
			n.tell(at+"given", "given off by "+x.Title, x.Given, "next to nothing: "+balance, in...)
		}
		if x.Dry != nil {
			n.tell(at+"dry", x.Title+" is dry", *x.Dry, "when 5 % of its water is left: "+balance, append([]arg{of("laid", at+"laid")}, in...)...)
		}
		if x.Covered != nil {
			cover := []arg{of("laid", at+"laid")}
			for _, d := range p.o.Schedule {
				if c := p.done[spot{d.Step, d.Section}]; d.Does == Coat && p.clock(c.laid()).Equal(*x.Covered) {
					cover = append(cover, of("end of "+d.Title, workPath(&d)+"end"))
				}
			}
			n.tell(at+"covered", x.Title+" is covered", *x.Covered, "the middle of the work of the next coat over it, to the minute", cover...)
		}
		name := fmt.Sprintf("given off by coat %d", i+1)
		each, given = append(each, name), append(given, of(name, at+"given"))
	}
	if len(each) > 0 {
		n[at+"coats"] = note{name: "given off by drying coats", value: w.Coats, formula: strings.Join(each, " + "), in: given}
	}
	n.tell(at+"burned", "from unvented heaters", w.Burned, balance, in...)
	n.tell(at+"vented", "gone with the air", w.Vented, balance, in...)
	n.tell(at+"in_the_air", "more in the air at the end", w.InTheAir, balance, in...)
	if w.Closed != nil {
		for _, e := range p.j.Site.coupling.emissions {
			for _, d := range p.o.Schedule {
				if c := p.done[spot{d.Step, d.Section}]; d.Step == e.by && c.laid() == e.To {
					closes = append(closes, of("end of "+d.Title, workPath(&d)+"end"))
				}
			}
		}
		if len(closes) == 0 {
			closes = in
		}
		n.tell(at+"closed", "floor closed to the slab's moisture", *w.Closed, "the middle of the work of the last section's first coat that is not waterborne, or bars it", closes...)
	}
}
