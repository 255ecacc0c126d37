package systems

import (
	"fmt"
	"slices"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// judge looks at the finished plan for all that must not pass in silence.
func (p *planner) judge() error {
	for _, id := range p.j.Recipe.order {
		if !p.active(id) {
			continue
		}
		s := p.step(id)
		if s.Does == Coat {
			p.judgeFilm(id)
		}
		for section := range p.o.Sections + 1 {
			if err := p.ctx.Err(); err != nil {
				return err
			}
			d, ok := p.done[spot{id, section}]
			if !ok {
				continue
			}
			p.judgePlaced(id, s, section, d)
			p.judgeWindow(id, s, section, d)
		}
	}
	p.judgeConditions()
	if err := p.judgeFloor(); err != nil {
		return err
	}
	p.judgeReadings()
	return nil
}

// judgePlaced looks at one step where it is placed, whatever comes before it.
func (p *planner) judgePlaced(id string, s *Step, section int, d placed) {
	if p.cures(id) {
		p.judgeWeather(id, s, section, d)
	}
	p.asked = d.start
	if s.Does == Broadcast && section < 2 && p.crew() < 2 {
		p.find(Finding{Key: "one-pair-of-hands", Severity: Watch, Step: id, When: p.clock(d.start), Until: p.clock(d.end), Owner: "this plan"})
	}
	if s.Does == Coat && d.end-d.start > p.j.Crew.To-p.j.Crew.From {
		p.find(Finding{Key: "shift-too-short", Severity: Watch, Step: id, Section: section, When: p.clock(d.start), Found: Amount{units.Span((d.end - d.start).Round(time.Second))},
			Asked: Amount{units.Span(p.j.Crew.To - p.j.Crew.From)}, Owner: "the crew's hours"})
	}
}

// judgeFloor looks at what does not hang on when the steps are done, only on
// which of them are placed.
func (p *planner) judgeFloor() error {
	p.judgePast()
	p.judgeTanks()
	p.judgeRecipe()
	p.judgeSheets()
	if err := p.judgeHumidity(); err != nil {
		return err
	}
	p.judgeSlab()
	p.judgePatches()
	p.judgeJoints()
	p.judgeProfile()
	if err := p.judgeMarks(); err != nil {
		return err
	}
	b := p.j.Recipe.Build
	if (b.LowText != "" && p.o.Thickness < b.Low*(1-1e-9)) || (b.HighText != "" && p.o.Thickness > b.High*(1+1e-9)) {
		asked := b.Low
		if b.LowText == "" || p.o.Thickness > b.Low {
			asked = b.High
		}
		p.find(Finding{Key: "build-out-of-range", Severity: Watch, Found: Amount{p.o.Thickness}, Asked: Amount{asked}, Owner: "recipe", Limit: p.o.Recipe})
	}
	return nil
}

func (p *planner) judgeFilm(id string) {
	m, n := p.material(id), p.needs[id]
	switch f := m.Film; {
	case f.LowText != "" && n.Wet < f.Low*(1-1e-9):
		p.find(Finding{Key: "film-too-thin", Severity: Watch, Step: id, Found: Amount{n.Wet}, Asked: Amount{f.Low}, Owner: "data sheet", Limit: m.ID + "@" + m.Version})
	case f.HighText != "" && n.Wet > f.High*(1+1e-9):
		p.find(Finding{Key: "film-too-thick", Severity: Watch, Step: id, Found: Amount{n.Wet}, Asked: Amount{f.High}, Owner: "data sheet", Limit: m.ID + "@" + m.Version})
	}
	if s := p.step(id); s.Cut.Q > 0 && !slices.ContainsFunc(p.o.Findings, func(f Finding) bool { return f.Key == "edge-unmeasured" }) { // told once
		for _, a := range p.j.Areas {
			if !a.EdgeKnown {
				p.find(Finding{Key: "edge-unmeasured", Severity: Note, Step: id, Limit: a.Name, Owner: "this plan"})
			}
		}
	}
	if !p.drinks(id) {
		return
	}
	for _, a := range p.j.Areas {
		if !a.UptakeKnown {
			p.find(Finding{Key: "uptake-unmeasured", Severity: Watch, Step: id, Limit: a.Name, Owner: "this plan"})
		}
	}
}

// judgeSlab compares the slab's moisture with what each coat asks. A limit
// without a reading of its kind is told too: one reading does not answer another.
func (p *planner) judgeSlab() {
	for _, x := range []struct {
		n     int
		what  string
		owner string
	}{{p.j.Slab.Probes, "readings in the slab", "ASTM F2170"}, {p.j.Slab.Dishes, "dishes", "ASTM F1869"}} {
		wanted, err := climate.MoistureTests(p.floor)
		if err == nil && x.n > 0 && x.n < wanted {
			p.find(Finding{Key: "too-few-moisture-tests", Severity: Watch, Limit: fmt.Sprintf("%d %s, and the floor's area asks for %d", x.n, x.what, wanted), Owner: x.owner})
		}
	}
	asked, barred := map[string]bool{}, false
	for _, id := range p.j.Recipe.order {
		if !p.active(id) || p.step(id).Does != Coat {
			continue
		}
		if barred {
			break
		}
		barred = p.bars(id)
		which := p.material(id).Moisture
		if which != "" && p.j.Moisture != "" {
			which = p.j.Moisture
		}
		l, ok := p.limit(which)
		if !ok || asked[l.ID] {
			continue
		}
		asked[l.ID] = true
		f := Finding{Key: "slab-too-wet", Severity: Stop, Step: id, Owner: l.Owner, Limit: l.ID}
		var rh units.Fraction
		var emission units.MassFlux
		var found units.Quantity
		if rh.UnmarshalText([]byte(l.Value)) == nil {
			f.Asked = Amount{rh}
			if h := p.j.Slab.Humidity; h != nil {
				found = *h
			}
		} else if emission.UnmarshalText([]byte(l.Value)) == nil {
			f.Asked = Amount{emission}
			if e := p.j.Slab.Emission; e != nil {
				found = *e
			}
		}
		if found == nil {
			f.Key, f.Severity = "slab-moisture-unmeasured", Watch
			p.find(f)
		} else if f.Found = (Amount{found}); units.Compare(found, f.Asked.Q) > 0 {
			p.find(f)
		}
	}
}

// bars reports whether a coat keeps the slab's moisture from the coats above
// it: the recipe says so, and the film is as thick as its material asks.
func (p *planner) bars(id string) bool {
	return p.step(id).Bars && p.needs[id] != nil && p.needs[id].Wet >= p.material(id).Film.Low*(1-1e-9)
}

// judgeRecipe tells work of the job for which the recipe has no step. A step
// that the job skips was left out on purpose.
func (p *planner) judgeRecipe() {
	step := func(fits func(*Step) bool) bool {
		return slices.ContainsFunc(p.j.Recipe.order, func(id string) bool { return fits(p.step(id)) })
	}
	does := func(what string) bool { return step(func(s *Step) bool { return s.Does == what }) }
	// Grits are for the floor: a recipe of base or wall alone has it ground in another job.
	floors := step(func(s *Step) bool { return s.Does == Coat && s.Only == "" })
	for _, w := range []struct {
		what string
		lost bool
	}{
		{"patches", len(p.j.Patches) > 0 && !does(FillPatch)},
		{"joints", len(p.j.Joints) > 0 && !does(FillJoint)},
		{"cracks", len(p.j.Cracks) > 0 && !does(FillCrack)},
		{"a cove", p.fillet > 0 && !does(Cove)},
		{"a base to coat", p.face > 0 && !step(func(s *Step) bool { return s.Base || s.Only == "base" })},
		{"grits to grind with", len(p.j.Grits) > 0 && !does(Grind) && floors},
	} {
		if w.lost {
			p.find(Finding{Key: "not-in-recipe", Severity: Stop, Owner: "recipe", Limit: w.what})
		}
	}
	if len(p.j.Grits) > 0 && !does(Grind) && !floors {
		p.find(Finding{Key: "grits-not-used", Severity: Note, Owner: "recipe"})
	}
}

// judgePatches compares patch depths with the limit for one lift: that of epoxy
// concrete, or where the mix is richer than that and fast, its own.
func (p *planner) judgePatches() {
	for _, id := range p.j.Recipe.order {
		if p.step(id).Does != FillPatch || !p.active(id) {
			continue
		}
		limit := "patch-lift-1in"
		if p.rich(id) && p.fast(p.material(id)) {
			limit = "patch-lift-fast"
		}
		l, ok := p.limit(limit)
		var lift units.Length
		if !ok || lift.UnmarshalText([]byte(l.Value)) != nil {
			continue
		}
		for _, w := range p.j.Patches {
			if w.Depth > lift*(1+1e-9) {
				p.find(Finding{Key: "patch-too-deep", Severity: Watch, Step: id, Found: Amount{w.Depth}, Asked: Amount{lift}, Owner: l.Owner, Limit: w.Name})
			}
		}
	}
}

// rich reports whether a mortar has less than the 5 parts of sand to 1 of resin
// by weight that epoxy concrete has (UFGS 03930 par. 3.1.1).
func (p *planner) rich(id string) bool {
	n := p.needs[id]
	if n == nil {
		return false
	}
	var resin units.Mass
	for _, part := range n.Parts {
		resin += part.Mass
	}
	return n.Sand < 5*resin
}

// fast reports whether a liquid's pot life at 75 °F is at most a quarter of an
// hour, in the amount that its data sheet states; common practice, no source.
func (p *planner) fast(m *Material) bool {
	t, ok := m.Times[PotLife]
	if !ok {
		return false
	}
	d, err := t.Table.Time(units.Fahrenheit(75))
	return err == nil && d <= 15*time.Minute
}

// judgeJoints compares the slab's age, if it is given, with how old it should
// be before its joints are filled. Between the product minimum and the age that
// the concrete institute asks for it is a thing to watch.
func (p *planner) judgeJoints() {
	if !p.has(FillJoint) || p.j.Slab.Age == nil {
		return
	}
	for _, id := range []string{"joint-age-28d", "joint-age-90d"} {
		l, ok := p.limit(id)
		var asked units.Span
		if !ok || asked.UnmarshalText([]byte(l.Value)) != nil || *p.j.Slab.Age >= asked.Duration() {
			continue
		}
		p.find(Finding{Key: "joint-too-young", Severity: Watch, Found: Amount{units.Span(*p.j.Slab.Age)}, Asked: Amount{asked}, Owner: l.Owner, Limit: l.ID})
	}
}

// judgeMarks follows the scratch of the last grit through the coats up to the
// first broadcast, which hides it: what each leaves of it, and whether it may
// show through.
func (p *planner) judgeMarks() error {
	if len(p.j.Grits) == 0 || !p.j.Recipe.Relief.Given() {
		return nil
	}
	last, asked := p.j.Grits[len(p.j.Grits)-1], p.j.Recipe.Relief.Q
	scratch := p.j.catalog.grits[last].Scratch.Q
	var steps []string
	var coats []coverage.Coat
	for _, id := range p.j.Recipe.order {
		s := p.step(id)
		if !p.active(id) {
			continue
		}
		if s.Does == Broadcast {
			break
		}
		if s.Does == Coat && s.Only == "" {
			steps, coats = append(steps, id), append(coats, coverage.Coat{Name: id, Dry: s.Film.Q, Solids: p.material(id).Solids.Q, Thinner: s.Thinner.Q})
		}
	}
	if len(coats) == 0 {
		if scratch > asked*(1+1e-9) {
			p.find(Finding{Key: "scratch-telegraphs", Severity: Watch, Found: Amount{scratch}, Asked: Amount{asked}, Owner: "recipe", Limit: last})
		}
		return nil
	}
	marks, err := coverage.Telegraph(scratch, asked, coats)
	if err != nil {
		return err
	}
	for i, m := range marks {
		p.o.Marks = append(p.o.Marks, MarkLine{Step: steps[i], Relief: m.Relief, Flooded: m.Flooded, Shows: m.Shows})
	}
	switch end := marks[len(marks)-1]; {
	case end.Relief > asked*(1+1e-9):
		p.find(Finding{Key: "scratch-telegraphs", Severity: Watch, Step: steps[len(steps)-1], Found: Amount{end.Relief}, Asked: Amount{asked}, Owner: "recipe", Limit: last})
	case end.Shows:
		p.find(Finding{Key: "scratch-not-flooded", Severity: Watch, Step: steps[len(steps)-1], Found: Amount{scratch}, Asked: Amount{asked}, Owner: "recipe", Limit: last})
	}
	return nil
}
