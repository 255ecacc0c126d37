package systems

import "slices"

// Done is what a recipe's after may name beside the events of a data sheet: the
// work of a step has ended or, of a condition, its limits have been met.
const Done = "done"

// A link is an event of another step that a step waits for, or must come before.
type link struct {
	step, event string
	passed      bool // taken over from a step that has no work on this job
}

// link works out what each step with work waits for, and which windows it must
// meet. Steps that are skipped or have no work pass what they wait for on to
// those that hang on them and to the next step, so that none of it is lost; and
// a coat always waits until what lies under it may be recoated.
func (p *planner) link() error {
	p.after, p.before = map[string][]link{}, map[string][]link{}
	var passed []link
	for i, id := range p.j.Recipe.order {
		s := p.step(id)
		var after []link
		p.through(id, func(s *Step) map[string]string { return s.After }, false, &after)
		if !p.active(id) {
			if s.Does != Condition { // nothing of the crew's work follows from it
				for _, l := range after {
					l.passed = true
					passed = append(passed, l)
				}
			}
			continue
		}
		if s.Does != Condition && s.Does != Broadcast { // a broadcast goes with its coat
			after, passed = append(after, passed...), nil
		}
		if s.Does == Coat && !s.Wet {
			after = append(after, p.under(i)...)
		}
		p.after[id] = unlike(after)
		var before []link
		p.through(id, func(s *Step) map[string]string { return s.Before }, false, &before)
		p.before[id] = unlike(before)
	}
	return nil
}

// through lists the links of a step; in place of one to a step without work
// those of that step.
func (p *planner) through(id string, of func(*Step) map[string]string, passed bool, out *[]link) {
	links := of(p.step(id))
	for _, other := range p.j.Recipe.order { // in order, so that the answer does not depend on the map
		event, ok := links[other]
		switch {
		case !ok:
		case p.active(other):
			*out = append(*out, link{other, event, passed})
		default:
			p.through(other, of, true, out)
		}
	}
}

// under lists what a coat, the i-th step, goes onto: the last coat before it,
// and the patches, joints, cracks and cove since, or on bare concrete all of
// them; likewise any coat since on the base alone.
func (p *planner) under(i int) []link {
	var all []link
	for _, id := range slices.Backward(p.j.Recipe.order[:i]) {
		if !p.active(id) {
			continue
		}
		switch p.step(id).Does {
		case Coat:
			all = append(all, link{id, RecoatEarliest, false})
			if p.step(id).Only == "" {
				return all
			} // the base's face alone: the floor's coat lies further down
		case FillPatch, FillJoint, FillCrack, Cove:
			all = append(all, link{id, RecoatEarliest, false})
		}
	}
	return all
}

// unlike leaves out links that stand twice; one of a step's own wins.
func unlike(all []link) []link {
	var out []link
	for _, l := range all {
		i := slices.IndexFunc(out, func(o link) bool { return o.step == l.step && o.event == l.event })
		if i < 0 {
			out = append(out, l)
		} else {
			out[i].passed = out[i].passed && l.passed
		}
	}
	return out
}

// nearest returns event if m's data sheet has it, or else the nearest one
// after it that it has, or "". What may be ground or is in full service is also
// hard enough to recoat and to walk on; what may be recoated is tack-free.
func (m *Material) nearest(event string) string {
	if _, ok := m.Times[event]; ok {
		return event
	}
	var later []string
	switch event {
	case TackFree:
		later = []string{RecoatEarliest, Foot, Grindable, Service}
	case RecoatEarliest, Foot:
		later = []string{Grindable, Service}
	case Grindable:
		later = []string{Service}
	}
	for _, other := range later {
		if _, ok := m.Times[other]; ok {
			return other
		}
	}
	return ""
}

// judgeSheets tells each time that the plan needs and a data sheet lacks.
func (p *planner) judgeSheets() {
	for _, id := range p.j.Recipe.order {
		if !p.placed(id) {
			continue
		}
		var told []link
		lacks := func(other, event string, severity Severity) {
			m := p.material(other)
			if m.nearest(event) == event || slices.Contains(told, link{m.ID, event, false}) {
				return
			}
			told = append(told, link{m.ID, event, false})
			p.find(Finding{Key: "no-time-given", Severity: severity, Step: id, Event: event, Instead: m.nearest(event), Owner: "data sheet", Limit: m.ID + "@" + m.Version})
		}
		s := p.step(id)
		for _, l := range p.after[id] {
			ground := l.event != Grindable || !l.passed // nobody grinds where the step that does has no work
			if l.event != Done && ground {
				lacks(l.step, l.event, Stop)
			}
		}
		for _, l := range p.before[id] {
			lacks(l.step, l.event, Stop)
		}
		if s.Does == Broadcast {
			lacks(s.Into, BroadcastLatest, Stop)
		} else if p.needs[id] != nil {
			lacks(id, TackFree, Stop)
			lacks(id, Foot, Watch)
			lacks(id, Service, Watch)
		}
	}
}

// placed reports whether a step is in the schedule.
func (p *planner) placed(id string) bool {
	for section := range p.o.Sections + 1 {
		if _, ok := p.done[spot{id, section}]; ok {
			return true
		}
	}
	return false
}
