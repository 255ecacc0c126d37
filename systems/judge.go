package systems

import (
	"fmt"
	"math"
	"slices"
	"strings"
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

// judgeReadings tells where the plan leans on weather that was not given: each
// series is held before its first reading and after its last one. The slab's is
// looked at until the last event comes, those of the air until the last liquid
// is tack-free.
func (p *planner) judgeReadings() {
	first := time.Duration(math.MaxInt64)
	var cured, wet time.Duration // when the last event comes; when the last liquid is tack-free
	var never bool
	for at, d := range p.done {
		if p.needs[at.step] == nil && p.step(at.step).Does != Condition {
			continue
		}
		first, wet = min(first, d.start), max(wet, d.end)
		for event, e := range d.reach {
			never = never || e.never
			if cured = max(cured, e.at); event == TackFree {
				wet = max(wet, e.at)
			}
		}
	}
	cured = max(cured, wet)
	for _, s := range []struct {
		name   string
		of     Series
		logged Series
		to     time.Duration
	}{{"the slab's temperature", p.j.Weather.Slab, p.j.logged.Slab, cured}, {"the air's temperature", p.j.Weather.Air, p.j.logged.Air, wet}, {"the humidity", p.j.Weather.RH, p.j.logged.RH, wet}} {
		p.judgeGaps(s.name, s.logged, first, s.to)
		if from := s.of[0].At; from > first {
			p.find(Finding{Key: "weather-before-first-reading", Severity: Watch, When: p.clock(first), Until: p.clock(min(from, s.to)), Owner: "this plan", Limit: s.name})
		}
		if end := s.of[len(s.of)-1].At; s.to > end || never {
			f := Finding{Key: "weather-held", Severity: Note, When: p.clock(end), Owner: "this plan", Limit: s.name}
			if !never {
				f.Until = p.clock(s.to)
			}
			p.find(f)
		}
	}
}

// logGap is how long a logger may be silent without a word: a quarter of a day, in
// which a straight line can miss most of a night. Common practice, no source.
const logGap = 6 * time.Hour

// judgeGaps tells the longest time from one moment to another in which a logger
// read nothing, between two readings.
func (p *planner) judgeGaps(name string, of Series, from, to time.Duration) {
	longest := 0
	for i := 1; i < len(of); i++ {
		if of[i].At <= from || of[i-1].At >= to {
			continue
		}
		if gap := of[i].At - of[i-1].At; gap > logGap && (longest == 0 || gap > of[longest].At-of[longest-1].At) {
			longest = i
		}
	}
	if longest > 0 {
		p.find(Finding{Key: "gap-in-log", Severity: Watch, When: p.clock(of[longest-1].At), Until: p.clock(of[longest].At), Owner: "this plan", Limit: name})
	}
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

// judgeWeather checks the limits of the material and the margin while it is
// placed and until it is tack-free.
func (p *planner) judgeWeather(id string, s *Step, section int, d placed) {
	m := p.material(id)
	until := d.end
	tack, ok := d.reach[m.nearest(TackFree)]
	switch {
	case !ok: // nothing says when damp and cold no longer harm it
		until = max(d.end, p.last)
	case tack.never:
		p.find(Finding{Key: "never-cures", Severity: Stop, Step: id, Section: section, When: p.clock(d.end), Owner: "data sheet", Limit: m.ID + "@" + m.Version})
		until = max(d.end, p.last)
	default:
		until = tack.at
	}
	while, rest := p.shifts(s, d, until)
	for _, part := range []struct {
		times []times
		after string
	}{{while, ""}, {rest, "-before-tack-free"}} {
		for x := range p.against(m, d.start, until) {
			f := Finding{Key: limits[x.limit].key + part.after, Severity: Stop, Step: id, Section: section, Owner: "data sheet", Limit: m.ID + "@" + m.Version}
			if f.Key == "dew-point-margin"+part.after {
				f.Owner, f.Limit = p.j.Margin.Owner, p.j.Margin.ID
			}
			worst := math.Inf(-1)
			for _, w := range part.times {
				is, at, by, ok := p.cut(m, x, w.from, w.to)
				if !ok {
					continue
				}
				if f.When == nil {
					f.When = p.clock(is.from)
				}
				f.Until = p.clock(is.to)
				if !(by <= worst) {
					found, asked := p.amounts(m, x.limit, p.weather(at))
					worst, f.Found, f.Asked, f.Worst = by, Amount{found}, Amount{asked}, p.clock(at)
				}
			}
			if f.When != nil {
				p.find(f)
			}
		}
	}
	if p.j.Margin.Rising && s.Does == Coat {
		now, next := p.j.Weather.Slab.At(d.start), p.j.Weather.Slab.At(d.start+time.Hour)
		if next < now-0.05 {
			p.find(Finding{Key: "slab-falling", Severity: Watch, Step: id, Section: section, When: p.clock(d.start), Found: Amount{units.TempDelta(next - now)}, Owner: p.j.Margin.Owner, Limit: p.j.Margin.ID})
		}
	}
	if t, ok := m.Times[TackFree]; ok && len(t.Table) > 0 {
		if from, k, ok := p.j.Weather.Slab.below(t.Table[0].Temp.Kelvin()-1e-6, d.start, until); ok {
			p.find(Finding{Key: "colder-than-data-sheet", Severity: Watch, Step: id, Section: section, When: p.clock(from), Found: Amount{units.Kelvin(k)}, Asked: Amount{t.Table[0].Temp}, Owner: "data sheet", Limit: m.ID + "@" + m.Version})
		}
	}
}

// times are from a moment to another.
type times struct{ from, to time.Duration }

// shifts parts the time from the start of a step until it is tack-free into
// that in which the crew places it and the rest: work that is not a coat is
// left at the end of a shift, and taken up in the next.
func (p *planner) shifts(s *Step, d placed, until time.Duration) (while, rest []times) {
	for at := d.start; ; {
		end := d.end
		if s.Does != Coat {
			_, shut := p.open(at)
			end = min(end, shut)
		}
		while = append(while, times{at, end})
		if end == d.end {
			break
		}
		at, _ = p.open(end)
		rest = append(rest, times{end, at})
	}
	if until > d.end {
		rest = append(rest, times{d.end, until})
	}
	return while, rest
}

// judgeWindow checks that the step comes before the windows of the coats under
// it close. The crew works in the same order each time: the first spot laid is
// the first to be covered, and the last one the last.
func (p *planner) judgeWindow(id string, s *Step, section int, d placed) {
	missed := func(key, other, event string) {
		if latest, by, ok := p.closed(other, event, section, d); ok {
			m := p.material(other)
			p.find(Finding{Key: key, Severity: Stop, Step: id, Section: section, When: p.clock(latest), Until: p.clock(by), Owner: "data sheet", Limit: m.ID + "@" + m.Version})
		}
	}
	for _, l := range p.before[id] {
		if s.Wet && l.event == TackFree {
			missed("no-longer-wet", l.step, l.event)
			continue
		}
		missed("window-missed", l.step, l.event)
	}
	if s.Does == Broadcast {
		missed("broadcast-too-late", s.Into, BroadcastLatest)
	}
}

// closed reports whether d comes after the window of another step closes: when
// it closes, and when the part of d that it is closed to comes.
func (p *planner) closed(other, event string, section int, d placed) (latest, by time.Duration, missed bool) {
	o, ok := p.done[spot{other, section}]
	if !ok {
		o, ok = p.done[spot{other, 0}]
	}
	if !ok {
		return 0, 0, false
	}
	return p.closing(other, event, o).after(d)
}

// A closing is when a window closes on the first spot of a coat and on the last
// one; forever if it does not.
type closing struct{ wet, end time.Duration }

// closing returns when the window of a placed step closes.
func (p *planner) closing(id, event string, d placed) closing {
	c := closing{forever, forever}
	t, given := p.material(id).Times[event]
	if !given {
		return c
	}
	if at, err := p.comes(t, true, d.wet); err == nil {
		c.wet = at
	}
	if at, err := p.comes(t, true, d.end); err == nil {
		c.end = at
	}
	return c
}

// after reports whether d comes after the window closes: when it does, and when
// the part of d that it is closed to comes.
func (c closing) after(d placed) (latest, by time.Duration, missed bool) {
	if d.wet > c.wet {
		return c.wet, d.wet, true
	}
	return c.end, d.end, d.end > c.end
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

// judgeConditions tells conditions that are not met in the weather given, and
// liquids placed before one is: only a recipe whose step waits for its Done
// keeps them back.
func (p *planner) judgeConditions() {
	for i, id := range p.j.Recipe.order {
		d, ok := p.done[spot{id, 0}]
		s := p.step(id)
		if !ok || s.Does != Condition {
			continue
		}
		f := Finding{Key: "condition-not-met", Severity: Watch, Step: id, When: p.clock(d.start), Owner: "recipe", Limit: strings.TrimPrefix(s.Slab.text(), "from ")}
		if d.never {
			p.find(f)
		}
		for _, other := range p.j.Recipe.order[i+1:] {
			if p.needs[other] == nil || p.step(other).Does == Broadcast {
				continue
			}
			first := time.Duration(math.MaxInt64)
			for section := range p.o.Sections + 1 {
				if o, ok := p.done[spot{other, section}]; ok {
					first = min(first, o.start)
				}
			}
			if first < math.MaxInt64 && (d.never || first < d.end) {
				f.Key, f.Step, f.When, f.Until = "condition-not-awaited", other, p.clock(first), nil
				if !d.never {
					f.Until = p.clock(d.end)
				}
				p.find(f)
				break // those after it are later
			}
		}
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
