package systems

import (
	"slices"
	"time"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
)

// offPlan is by how much of the plan the kits used may differ without a word.
// Common practice, no source.
const offPlan = 0.1

// judgePast tells what was done before its turn, and where what was used is far
// from the take-off.
func (p *planner) judgePast() {
	for _, id := range p.j.Recipe.order {
		w, ok := p.j.Done[id]
		if !ok {
			continue
		}
		for section := range p.o.Sections + 1 {
			if d, ok := p.done[spot{id, section}]; ok {
				if _, ok := p.begun(id, section); ok {
					p.judgeTurn(id, section, d)
				}
			}
		}
		if n := p.needs[id]; n != nil && w.Kits != nil {
			p.judgeUsed(id, *w.Kits, n)
		}
	}
	for i := range p.o.Order {
		p.judgeRest(&p.o.Order[i])
	}
}

// parts returns of how many of how many parts of the floor a step is done, and on
// how many it was begun.
func (p *planner) parts(id string) (done, begun, of int) {
	on := p.places(id)
	for _, section := range on {
		if x, ok := p.begun(id, section); ok {
			begun++
			if x.End != nil {
				done++
			}
		}
	}
	return done, begun, len(on)
}

// takes returns what the first parts of a step take out of kits or bags, m3 or kg:
// of grain that is thrown again on the next section, the less.
func (p *planner) takes(id string, n *Need, parts, of int) float64 {
	if p.material(id).Kind == "liquid" {
		return float64(n.Gross) * float64(parts) / float64(of)
	}
	if parts == 0 || n.Bought >= n.Thrown || parts == of {
		return float64(n.Bought) * float64(parts) / float64(of)
	}
	areas := slices.Repeat([]units.Area{n.Area / units.Area(of)}, parts)
	bought, _, err := aggregate.Reuse{Held: n.Loading, Retention: units.Fraction(n.Held / n.Thrown), Usable: p.step(id).Usable.Q}.Bought(areas)
	if err != nil {
		return float64(n.Bought) * float64(parts) / float64(of)
	}
	return float64(bought)
}

// judgeTurn tells each event that a step begun should have waited for, and did not.
func (p *planner) judgeTurn(id string, section int, d placed) {
	for _, l := range p.after[id] {
		o, ok := p.done[spot{l.step, section}]
		if !ok {
			if o, ok = p.done[spot{l.step, 0}]; !ok || p.step(l.step).Does == Condition {
				continue // a condition not awaited has its own finding
			}
		}
		at, event, never, severity := o.end, l.event, false, Watch
		m := p.material(l.step)
		if l.event != Done {
			if event = m.nearest(l.event); event == "" {
				continue // its sheet gives no time: told by judgeSheets
			}
			e := o.reach[event]
			at, never, severity = e.at, e.never, Stop
		}
		if p.step(l.step).Does == Condition || !never && at <= d.start+time.Minute { // times are told to the minute
			continue
		}
		f := Finding{Key: "done-too-early", Severity: severity, Step: id, Section: section, When: p.clock(d.start), Owner: "recipe", Limit: title(p.step(l.step), l.step), Event: event}
		if m != nil && l.event != Done {
			f.Owner = "data sheet " + m.ID + "@" + m.Version
		}
		if !never {
			f.Until = p.clock(at)
		}
		p.find(f)
	}
}

// opened returns what is in a number of kits or bags of a step, m3 or kg.
func (p *planner) opened(id string, kits float64) float64 {
	m := p.material(id)
	if m.Kind == "liquid" {
		return float64(m.Kit.Q) * kits
	}
	return float64(m.Bag.Q) * kits
}

// amount is an amount of a material in a finding, of m3 or kg.
func (m *Material) amount(v float64) Amount {
	if m.Kind == "liquid" {
		return Amount{units.Volume(v)}
	}
	return Amount{units.Mass(v)}
}

// judgeUsed compares the kits used with what the take-off has for the parts that
// are done; those that were begun may have taken some too.
func (p *planner) judgeUsed(id string, kits float64, n *Need) {
	done, begun, of := p.parts(id)
	used, least, most := p.opened(id, kits), p.takes(id, n, done, of), p.takes(id, n, begun, of)
	if used >= least*(1-offPlan) && used <= most*(1+offPlan) {
		return
	}
	asked := most
	if used < least {
		asked = least
	}
	m := p.material(id)
	p.find(Finding{Key: "used-off-plan", Severity: Watch, Step: id, Found: m.amount(used), Asked: m.amount(asked), Owner: "this plan"})
}

// judgeRest tells where what is left of an order, by the kits told as used, does
// not do for what is still to come. What was done without a word of kits took what
// the take-off has.
func (p *planner) judgeRest(l *OrderLine) {
	var m *Material
	var used, rest float64
	told := false
	for _, id := range l.Steps {
		n, of := p.needs[id], p.material(id)
		if of.ID+"@"+of.Version != l.Material { // it is filler in the step
			m = p.materials[p.step(id).Sand]
			done, _, all := p.parts(id)
			took := float64(n.Sand) * float64(done) / float64(all)
			used, rest = used+took, rest+float64(n.Sand)-took
			continue
		}
		m = of
		done, begun, all := p.parts(id)
		whole, took := p.takes(id, n, all, all), p.takes(id, n, done, all)
		if w := p.j.Done[id]; w.Kits == nil {
			used, rest = used+took, rest+whole-took
		} else {
			told = true
			kits := p.opened(id, *w.Kits)
			used += kits
			if begun > done { // some of it may be in what goes on
				rest += max(0, whole-max(took, min(kits, p.takes(id, n, begun, all))))
			} else {
				rest += whole - took
			}
		}
	}
	if !told || m == nil {
		return
	}
	bought := float64(l.Mass + l.LeftMass)
	if m.Kind == "liquid" {
		bought = float64(l.Volume + l.LeftVolume)
	}
	if left := max(0, bought-used); left < rest*(1-1e-6) {
		p.find(Finding{Key: "rest-runs-short", Severity: Watch, Found: m.amount(left), Asked: m.amount(rest), Owner: "this plan", Limit: l.Name})
	}
}

// told returns the share of a step that is done of which the job tells what it
// took, and that. Kits told of work that goes on are so far only: they are not it.
func (j *Job) told(id string, m *Material, sections int) (units.Fraction, units.Quantity) {
	w, ok := j.Done[id]
	if !ok || w.Kits == nil {
		return 0, nil
	}
	share := units.Fraction(1)
	if w.Whole == nil {
		share = units.Fraction(len(w.Sections)) / units.Fraction(max(1, sections))
	} else if w.Whole.End == nil {
		return 0, nil
	}
	for _, x := range w.Sections {
		if x.End == nil {
			return 0, nil
		}
	}
	if m.Kind == "liquid" {
		return min(share, 1), m.Kit.Q * units.Volume(*w.Kits) // sections beyond the plan's are all of it
	}
	return min(share, 1), m.Bag.Q * units.Mass(*w.Kits)
}

// markPast marks the findings that are over: they stand as they are, and nothing
// can be done about them but to mend what they left.
func (p *planner) markPast() {
	if p.j.Now == 0 {
		return
	}
	p.o.Now = p.clock(p.j.Now)
	for i := range p.o.Findings {
		f := &p.o.Findings[i]
		if f.When == nil || f.When.After(*p.o.Now) {
			continue
		}
		until := f.Until
		if d, ok := p.done[spot{f.Step, f.Section}]; until == nil && ok {
			if p.status(f.Step, f.Section, d) != WorkDone {
				continue
			}
			at, never := d.end, false
			if d.reach != nil {
				e, given := d.reach[p.material(f.Step).nearest(TackFree)]
				at, never = max(at, e.at), e.never || !given
			}
			if !never {
				until = p.clock(at)
			}
		}
		if f.Key == "done-too-early" {
			until = f.When
		}
		f.Past = until != nil && !until.After(*p.o.Now)
	}
}
