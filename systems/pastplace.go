package systems

import (
	"cmp"
	"math"
	"slices"
	"time"
)

// bySection reports whether a step is done section by section: the first coat
// and all after it.
func (p *planner) bySection(id string) bool {
	for _, other := range p.j.Recipe.order {
		if p.active(other) && p.step(other).Does == Coat {
			return true
		}
		if other == id {
			return false
		}
	}
	return false
}

// places lists the sections on which a step is done, from 1, or 0 alone for the
// whole floor.
func (p *planner) places(id string) []int {
	if !p.bySection(id) {
		return []int{0}
	}
	all := make([]int, max(1, p.o.Sections))
	for i := range all {
		all[i] = i + 1
	}
	return all
}

// sections returns n, or more if the job says that more were done.
func (p *planner) sections(n int) int {
	for id, w := range p.j.Done {
		if p.bySection(id) {
			for k := range w.Sections {
				n = max(n, k)
			}
		}
	}
	return n
}

// begun returns what the job says of a step on a section.
func (p *planner) begun(id string, section int) (DoneSpan, bool) {
	w, ok := p.j.Done[id]
	if !ok {
		return DoneSpan{}, false
	}
	if section == 0 { // the whole floor
		if w.Whole != nil {
			return *w.Whole, true
		}
		all := DoneSpan{Start: math.MaxInt64, End: new(time.Duration)}
		for _, x := range w.Sections {
			all.Start = min(all.Start, x.Start)
			switch {
			case x.End == nil:
				all.End = nil
			case all.End != nil && *x.End > *all.End:
				all.End = x.End
			}
		}
		return all, len(w.Sections) > 0
	}
	if w.Whole == nil {
		x, ok := w.Sections[section]
		return x, ok
	}
	x, n := *w.Whole, time.Duration(p.o.Sections)
	if x.End == nil { // it goes on: at least the first of them was begun
		return x, section == 1
	}
	all := *x.End - x.Start
	part := func(k int) time.Duration { // of a year in a thousand parts all*k would not fit
		return x.Start + all/n*time.Duration(k) + all%n*time.Duration(k)/n
	}
	end := part(section)
	return DoneSpan{part(section - 1), &end}, true
}

// anyBegun reports whether a step was begun on any section.
func (p *planner) anyBegun(id string) bool {
	_, ok := p.j.Done[id]
	return ok
}

// overtaken reports whether a condition lies in the past, though the job does
// not tell of it: work that waits for it, or a liquid that comes after it, was begun.
func (p *planner) overtaken(id string) bool {
	if p.step(id).Does != Condition {
		return false
	}
	if p.anyBegun(id) {
		return false
	}
	later := false
	for _, other := range p.j.Recipe.order {
		if later = later || other == id; later && p.anyBegun(other) && p.needs[other] != nil {
			return true
		}
		if p.anyBegun(other) && slices.ContainsFunc(p.after[other], func(l link) bool { return l.step == id }) {
			return true
		}
	}
	return false
}

// doneBefore returns when the work was done that the recipe has before a condition
// that lies in the past: from then on it was waited for, as in a plan from the start.
func (p *planner) doneBefore(id string, section int) (at time.Duration) {
	for _, other := range p.j.Recipe.order {
		if other == id {
			break
		}
		for _, on := range []int{0, section} {
			if d, ok := p.done[spot{other, on}]; ok && p.step(other).Does != Condition && p.anyBegun(other) {
				at = max(at, d.end)
			}
		}
	}
	return at
}

// placePast puts all that was begun at its real time, and returns when the crew
// is free of it.
func (p *planner) placePast(prep, coats []string) (free time.Duration, err error) {
	if len(p.j.Done) == 0 {
		return 0, nil
	}
	type piece struct {
		spot
		start time.Duration
	}
	var all []piece
	add := func(id string, section int) {
		if x, ok := p.begun(id, section); ok {
			all = append(all, piece{spot{id, section}, x.Start})
		} else if into := p.step(id).Into; into != "" { // a broadcast goes with its coat
			if x, ok := p.begun(into, section); ok {
				all = append(all, piece{spot{id, section}, x.Start})
			}
		}
	}
	for _, id := range prep {
		add(id, 0)
	}
	for section := range p.o.Sections {
		for _, id := range coats {
			add(id, section+1)
		}
	}
	slices.SortStableFunc(all, func(a, b piece) int { return cmp.Compare(a.start, b.start) })
	for _, x := range all {
		share := 1.0
		if x.section > 0 {
			share /= float64(p.o.Sections)
		}
		if _, _, err := p.place(x.step, x.section, share, 0); err != nil {
			return 0, err
		}
		free = max(free, p.done[x.spot].end)
	}
	return free, nil
}

// asDone returns when work went on that was begun. What goes on ends as it was
// planned from its start, or now where that is over.
func (p *planner) asDone(id string, s *Step, section int, x DoneSpan, work time.Duration) (start, end time.Duration) {
	if x.End != nil {
		return x.Start, *x.End
	}
	switch s.Does {
	case Coat:
		end = x.Start + work
	case Broadcast:
		end = p.done[spot{s.Into, section}].end + time.Duration(s.Lag.Q)
	case Condition:
		end = x.Start
	default:
		_, end = p.spread(x.Start, work)
	}
	if end < p.j.Now && s.Does != Condition {
		p.find(Finding{Key: "longer-than-planned", Severity: Watch, Step: id, Section: section, When: p.clock(end), Until: p.clock(p.j.Now), Owner: "this plan"})
	}
	return x.Start, max(end, p.j.Now)
}

// status says whether placed work is done or goes on; "" if it is not begun.
func (p *planner) status(id string, section int, d placed) string {
	x, ok := p.begun(id, section)
	if !ok {
		if into := p.step(id).Into; into != "" {
			x, ok = p.begun(into, section)
		}
	}
	switch {
	case !ok && p.overtaken(id) && (d.never || d.end > p.j.Now):
		return WorkRunning
	case !ok && p.overtaken(id):
		return WorkDone
	case !ok:
		return ""
	case x.End == nil || d.end > p.j.Now:
		return WorkRunning
	}
	return WorkDone
}

// worked returns how long a crew was at work from start to end: the shifts in
// it, or all of it where it was out of them.
func (p *planner) worked(start, end time.Duration) (sum time.Duration) {
	for at := start; at < end; {
		from, to := p.open(at)
		if from >= end {
			break
		}
		sum += min(to, end) - from
		at = to
	}
	if sum == 0 {
		sum = end - start
	}
	return sum
}

// crewDone returns how long the crew was at work at a step that is done. A coat and
// the grain that is thrown into it have one crew between them: each is taken to have
// gone on as much longer or shorter than planned as the two did together.
func (p *planner) crewDone(id string, section int, share float64, d placed) time.Duration {
	coat := id
	if p.step(id).Does == Broadcast {
		coat = p.step(id).Into
	}
	x, begun := p.begun(coat, section)
	planned := p.work(coat, section, share)
	if len(p.thrown[coat]) == 0 || !begun || x.End == nil || planned == 0 {
		return p.worked(d.start, d.end)
	}
	return time.Duration(float64(p.crewAt(id, section, share)) * (float64(p.worked(x.Start, *x.End)) / float64(planned)))
}

// unplaced returns the first work on a section from the i-th on that is not placed.
func (p *planner) unplaced(coats []string, section, i int) int {
	for i < len(coats) {
		if _, ok := p.done[spot{coats[i], section}]; !ok {
			break
		}
		i++
	}
	return i
}
