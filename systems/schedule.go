package systems

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
)

// grain is the longest step in which the plan looks at the weather (see sky.next).
const grain = 15 * time.Minute

// placed is a step done on one section.
type placed struct {
	start, end time.Duration
	wet        time.Duration        // when the first spot of a coat is laid, after setting up
	never      bool                 // of a condition: its limits are not met in the weather given
	reach      map[string]eventTime // of a liquid; nil for other work
}

type eventTime struct {
	at    time.Duration
	never bool
}

// hands returns how many of the crew can work at a step at once.
func (p *planner) hands(s *Step) float64 {
	if s.Hands > 0 {
		return float64(min(int64(p.crew()), s.Hands))
	}
	return float64(p.crew())
}

// together returns how long a coat takes on a share of the floor, without its
// setup, with the broadcasts into it: they go on at the same time by the same
// crew, split so that the grain keeps up with the film.
func (p *planner) together(id string, share float64) time.Duration {
	longest := p.crewTime(id, share)
	sum := float64(longest) * p.hands(p.step(id)) // hand-hours
	for _, b := range p.thrown[id] {
		t := p.crewTime(b, share)
		longest = max(longest, t)
		sum += float64(t) * p.hands(p.step(b))
	}
	if t := sum / float64(p.crew()); t < math.MaxInt64 {
		return max(longest, time.Duration(t))
	}
	return math.MaxInt64 // as crewTime: the schedule refuses it
}

// crewTime returns how long the crew works at a step on a share of the floor,
// without its setup, if it has all its hands for it.
func (p *planner) crewTime(id string, share float64) time.Duration {
	s := p.step(id)
	hands := p.hands(s)
	area := func(a units.Area) time.Duration {
		if !(s.Rate.Q > 0) {
			return 0
		}
		return (s.Rate.Q * units.AreaRate(hands)).Time(a * units.Area(share))
	}
	pace := func(l units.Length) time.Duration {
		if !(s.Pace.Q > 0) {
			return 0
		}
		return (s.Pace.Q * units.Speed(hands)).Time(l * units.Length(share))
	}
	switch s.Does {
	case FillPatch:
		n := 0
		for _, w := range p.j.Patches {
			n += w.Count
		}
		return time.Duration(share * float64(n) * float64(s.Each.Q) / hands)
	case FillJoint, FillCrack:
		var l units.Length
		for _, w := range p.slots(s) {
			l += w.Length * units.Length(w.Count)
		}
		return pace(l)
	case Cove:
		return pace(p.baseLength)
	case Grind:
		return area(p.floor) * time.Duration(len(p.j.Grits))
	case Survey, Clean:
		return area(p.floor)
	case Condition:
		return 0
	}
	return area(p.area(s))
}

// midnight returns the start's time of day.
func (p *planner) midnight() time.Duration {
	h, m, s := p.j.Start.Clock()
	return time.Duration(h)*time.Hour + time.Duration(m)*time.Minute + time.Duration(s)*time.Second
}

const day = 24 * time.Hour

// open returns the first moment at or after t in a shift, and that shift's end.
func (p *planner) open(t time.Duration) (at, until time.Duration) {
	base := p.midnight()
	d := (t + base) / day
	if t+base < 0 {
		d--
	}
	if p.j.Crew.To > day { // the night shift that began the day before
		d--
	}
	for ; ; d++ {
		from, to := d*day+p.j.Crew.From-base, d*day+p.j.Crew.To-base
		if !slices.Contains(p.j.Crew.Rest, time.Weekday((int64(p.j.Start.Weekday())+int64(d)%7+7)%7)) && t < to {
			return max(t, from), to
		}
	}
}

// spread lays work that may be left overnight into shifts from t on.
func (p *planner) spread(t, work time.Duration) (start, end time.Duration) {
	start, until := p.open(t)
	for at := start; ; {
		if at+work <= until {
			return start, at + work
		}
		work -= until - at
		at, until = p.open(until)
	}
}

// begins returns when work on a step can start at or after t: in a shift, and
// for a coat in one with time for all of it (and for the broadcast into it),
// since a coat is not left half done. A coat longer than any shift starts with one.
func (p *planner) begins(id string, t, work time.Duration) time.Duration {
	at, until := p.open(t)
	if p.step(id).Does != Coat {
		return at
	}
	if whole := work + p.lags[id] + p.wetOn(id); at+whole > until {
		if whole > p.j.Crew.To-p.j.Crew.From && at == until-(p.j.Crew.To-p.j.Crew.From) {
			return at
		}
		at, _ = p.open(until)
	}
	return at
}

// wetOn returns how long the coat takes that is laid into a coat while that is
// wet: the shift needs time for both.
func (p *planner) wetOn(id string) time.Duration {
	for _, other := range p.wetInto[id] {
		if s := p.step(other); p.active(other) {
			return p.together(other, 1/float64(max(1, p.o.Sections))) + time.Duration(s.Setup.Q) + p.lags[other]
		}
	}
	return 0
}

// work returns how long a step takes on a section, for a coat with the
// broadcasts into it, with its setup, which comes once, on the first section.
func (p *planner) work(id string, section int, share float64) time.Duration {
	work := p.together(id, share)
	if section < 2 && work < 40*365*day {
		work += time.Duration(p.step(id).Setup.Q)
		for _, b := range p.thrown[id] {
			work += time.Duration(p.step(b).Setup.Q)
		}
	}
	return work
}

// crewAt returns how long the crew works at a step itself, with its setup.
func (p *planner) crewAt(id string, section int, share float64) time.Duration {
	crew := p.crewTime(id, share)
	if section < 2 {
		crew += time.Duration(p.step(id).Setup.Q)
	}
	return crew
}

// schedule puts every step in time: the preparation on the whole floor, the
// coats section by section, always taking next what can start first, or, one by
// one, each section to its end before the next is begun.
func (p *planner) schedule() error {
	if p.j.keep != nil {
		return p.asPlanned()
	}
	prep, coats, err := p.divide()
	if err != nil {
		return err
	}
	n := p.o.Sections
	free, err := p.placePast(prep, coats)
	if err != nil {
		return err
	}
	for _, id := range prep {
		if _, ok := p.done[spot{id, 0}]; ok {
			continue
		}
		next, ok, err := p.place(id, 0, 1, free)
		if err != nil {
			return err
		}
		if !ok {
			return p.finish(coats, nil)
		}
		if p.step(id).Does != Condition {
			free = next
		}
	}
	at := make([]int, n) // next coat of each section
	for {
		best, bestStart := -1, time.Duration(math.MaxInt64)
		var bestClose time.Duration // when the window that the best one must meet closes
		begun := false              // looked at a section that is not begun
		for s := range at {
			if at[s] = p.unplaced(coats, s+1, at[s]); at[s] == len(coats) || at[s] == 0 && begun { // sections not begun are alike: the first of them will do
				continue
			}
			begun = begun || at[s] == 0
			if p.oneByOne && s > 0 && at[s-1] < len(coats) {
				break
			}
			ready, _, ok := p.ready(coats[at[s]], s+1, free)
			if !ok {
				continue
			}
			p.asked = ready
			start := p.begins(coats[at[s]], ready, p.work(coats[at[s]], s+1, 1/float64(n)))
			shuts := p.shuts(coats[at[s]], s+1)
			const about = 90 * time.Minute // starts this near are the same to a crew: the window that closes first goes first
			if best < 0 || start < bestStart-about || start < bestStart+about && shuts < bestClose {
				best, bestStart, bestClose = s, start, shuts
			}
		}
		if best < 0 {
			return p.finish(coats, at)
		}
		next, ok, err := p.place(coats[at[best]], best+1, 1/float64(n), free)
		if err != nil {
			return err
		}
		if !ok {
			return p.finish(coats, at)
		}
		free = next
		at[best]++
		// A broadcast goes with its coat: same crew, same hour.
		for at[best] < len(coats) && p.step(coats[at[best]]).Does == Broadcast {
			if next, _, err = p.place(coats[at[best]], best+1, 1/float64(n), free); err != nil {
				return err
			}
			free = max(free, next)
			at[best]++
		}
	}
}

// divide parts the steps with work into the preparation, on the whole floor,
// and what is done section by section; and the floor into sections.
func (p *planner) divide() (prep, coats []string, err error) {
	for _, id := range p.j.Recipe.order {
		if !p.active(id) {
			continue
		}
		if len(coats) > 0 || p.step(id).Does == Coat {
			coats = append(coats, id)
		} else {
			prep = append(prep, id)
		}
	}
	n := p.j.Sections
	if n == 0 {
		n, p.asked = 1, forever // with the fewest hands
		shift := p.j.Crew.To - p.j.Crew.From
		var under time.Duration  // the coat below, where the next is laid into it wet: the same shift
		var before time.Duration // sweeping that comes before the coat: the same day, or the window closes
		for _, id := range coats {
			switch p.step(id).Does {
			case Sweep:
				before += p.crewTime(id, 1)
			case Coat:
				free := max(shift-time.Duration(p.step(id).Setup.Q)-p.lags[id], shift/4)
				both := before + p.together(id, 1)
				if p.step(id).Wet {
					both += under
				}
				n = max(n, int(math.Ceil(float64(both)/float64(free)-1e-9)))
				before, under = 0, p.together(id, 1)
			}
		}
		if n > mostSections {
			return nil, nil, fmt.Errorf("systems.Plan: the crew needs %d sections to coat the floor: want a larger crew or longer shifts (at most %d sections)", n, mostSections)
		}
	}
	p.o.Sections = p.sections(n)
	return prep, coats, nil
}

// shuts returns when the window closes in which a step on a section must start.
func (p *planner) shuts(id string, section int) time.Duration {
	shut := time.Duration(math.MaxInt64)
	for _, l := range p.before[id] {
		if d, ok := p.done[spot{l.step, section}]; ok {
			if e, ok := d.reach[l.event]; ok && !e.never {
				shut = min(shut, e.at)
			}
		}
	}
	return shut
}

// finish reports the times that matter at the end, or that a step never comes.
// at is nil if the preparation was not finished.
func (p *planner) finish(coats []string, at []int) error {
	for s, i := range at {
		if i == len(coats) {
			continue
		}
		if _, why, ok := p.ready(coats[i], s+1, 0); !ok { // the others wait for it
			p.find(Finding{Key: "never-ready", Severity: Stop, Step: coats[i], Section: s + 1, Limit: why})
		}
	}
	complete := at != nil
	for _, i := range at {
		complete = complete && i == len(coats)
	}
	if len(p.j.Done) > 0 { // what is done was put first
		slices.SortStableFunc(p.o.Schedule, func(a, b Work) int { return a.Start.Compare(b.Start) })
	}
	p.o.End = p.j.Start
	for _, d := range p.done {
		p.o.End = latest(p.o.End, p.j.Start.Add(d.end))
	}
	if !complete || len(p.needs) == 0 {
		return nil
	}
	p.o.Foot, p.o.FootHeld = p.whole(Foot)
	p.o.Service, p.o.ServiceHeld = p.whole(Service)
	return nil
}

// whole returns when all that was placed has reached an event, not before the
// last work ends, and whether that is beyond the last slab temperature given;
// nil if something never does, or its data sheet gives no time for it.
func (p *planner) whole(event string) (*time.Time, bool) {
	at := p.o.End.Sub(p.j.Start)
	for _, d := range p.done {
		if d.reach == nil {
			continue
		}
		e, ok := d.reach[event]
		if !ok || e.never {
			return nil, false
		}
		at = max(at, e.at)
	}
	return p.clock(at), at > p.trace[len(p.trace)-1].At
}

func latest(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// ready returns when the events that a step waits for have come, in words
// which of them was last, and false if one never comes.
func (p *planner) ready(id string, section int, free time.Duration) (time.Duration, string, bool) {
	overtaken := p.overtaken(id)
	if overtaken {
		free = p.doneBefore(id, section)
	}
	t, why := free, "the crew is free"
	if free == 0 {
		why = "start of the job"
	}
	if p.j.Now > t && !overtaken {
		t, why = p.j.Now, "now"
	}
	if held := p.j.held[id]; held > t {
		t, why = held, "held back until then by the job"
	}
	if held := p.j.order.heldUntil(id, section); held > t {
		t, why = held, "held until plan and forecast fit"
	}
	for _, l := range p.after[id] {
		of := spot{l.step, section}
		d, ok := p.done[of]
		if !ok {
			of.section = 0
			if d, ok = p.done[of]; !ok {
				return 0, fmt.Sprintf("%s is not planned", title(p.step(l.step), l.step)), false
			}
		}
		at, event := d.end, l.event
		if l.event == Done && d.never {
			return 0, fmt.Sprintf("%s is never done at these temperatures", title(p.step(l.step), l.step)), false
		}
		if l.event != Done {
			m := p.material(l.step)
			if event = m.nearest(l.event); event == "" {
				return 0, fmt.Sprintf("the data sheet %s@%s gives no time for %s, nor for a later event", m.ID, m.Version, l.event), false
			}
			e := d.reach[event]
			if e.never {
				e = p.cameBefore(id, of, event)
			}
			if e.never {
				return 0, fmt.Sprintf("%s never reaches %s at these temperatures", title(p.step(l.step), l.step), event), false
			}
			at = e.at
		}
		if at > t {
			t, why = at, fmt.Sprintf("%s: %s", title(p.step(l.step), l.step), event)
		}
	}
	return t, why, true
}

// place puts one step on one section in time and returns when the crew is free.
func (p *planner) place(id string, section int, share float64, free time.Duration) (time.Duration, bool, error) {
	if err := p.ctx.Err(); err != nil {
		return 0, false, err
	}
	s := p.step(id)
	_, begun := p.begun(id, section)
	ready, why, ok := p.ready(id, section, free)
	if !ok && !begun {
		p.find(Finding{Key: "never-ready", Severity: Stop, Step: id, Section: section, Limit: why})
		return 0, false, nil
	}
	d, why, err := p.when(id, section, share, ready, why)
	if err != nil {
		return 0, false, err
	}
	if err := p.noteHold(id, section, share, free, d); err != nil {
		return 0, false, err
	}
	if err := p.put(id, section, share, d, why); err != nil {
		return 0, false, err
	}
	return p.freed(s, d, free), true, nil
}

// cures reports whether a step places a liquid, whose events are followed.
func (p *planner) cures(id string) bool { return p.needs[id] != nil && p.step(id).Does != Broadcast }

// freed returns when the crew is free after a step that it could begin at free.
func (p *planner) freed(s *Step, d placed, free time.Duration) time.Duration {
	switch s.Does {
	case Condition:
		return free
	case Broadcast:
		return max(free, d.end)
	}
	return d.end
}

// when puts a step that is ready in time, without its events, and tells why
// then. It looks at nothing that is done but the coat of a broadcast.
func (p *planner) when(id string, section int, share float64, ready time.Duration, why string) (d placed, _ string, err error) {
	s := p.step(id)
	p.asked = ready
	work := p.work(id, section, share)
	if work > 40*365*day {
		return d, why, fmt.Errorf("systems.Plan: step %s would take the crew more than 40 years: want a larger crew or higher rates", id)
	}
	x, begun := p.begun(id, section)
	switch does := s.Does; {
	case begun:
		d.start, d.end = p.asDone(id, s, section, x, work)
		why = "as it was done"
	case does == Broadcast:
		into := p.done[spot{s.Into, section}]
		d.start = into.wet + time.Duration(s.Lag.Q)
		d.end = into.end + time.Duration(s.Lag.Q) // the coat's own time counts this work
		why = "follows " + title(p.step(s.Into), s.Into)
	case does == Condition:
		d.start, d.end, d.never, why = p.condition(s, ready, why)
	case does == Coat:
		d.start, d.end, why = p.coatTime(id, s, section, ready, work, why)
		if p.lacks(d.start) != p.lacks(ready) {
			p.asked = d.start
			work = p.work(id, section, share)
			d.start, d.end, why = p.coatTime(id, s, section, d.start, work, why)
		}
	default:
		d.start, d.end = p.fill(id, section, share, ready, work)
		if d.start > ready {
			why = "next shift (" + why + ")"
		}
	}
	if d.end > 50*365*day {
		return d, why, fmt.Errorf("systems.Plan: step %s would end after more than 50 years: want a larger crew or higher rates", id)
	}
	d.wet = p.firstSpot(id, s, section, share, d)
	return d, why, nil
}

// put writes a step that has its time into the schedule, with its events.
func (p *planner) put(id string, section int, share float64, d placed, why string) error {
	s := p.step(id)
	crew := p.crewAt(id, section, share)
	d.wet = p.firstSpot(id, s, section, share, d)
	status := p.status(id, section, d)
	if status == WorkDone && s.Does != Condition {
		crew = p.crewDone(id, section, share, d)
	}
	c := p.weather(d.start)
	w := Work{Step: id, Title: title(s, id), Does: s.Does, Section: section, Start: *p.clock(d.start), End: *p.clock(d.end), Crew: units.Span(crew.Round(time.Second)), Binding: why,
		Slab: units.Kelvin(c.slab), Air: units.Kelvin(c.air), RH: units.Fraction(c.rh), Margin: units.TempDelta(c.slab - c.dew), Needs: s.Needs, Leaves: s.Leaves, Checks: s.Checks, Status: status}
	if p.cures(id) {
		if err := p.events(id, &d, Events()); err != nil {
			return err
		}
		w.Events = p.lines(&d)
	}
	p.o.Schedule = append(p.o.Schedule, w)
	p.done[spot{id, section}] = d
	return nil
}

// firstSpot returns when the first spot of a step is laid: of a coat after
// setting up, which shrinks with the rest of work that went quicker than planned.
func (p *planner) firstSpot(id string, s *Step, section int, share float64, d placed) time.Duration {
	if s.Does != Coat {
		return d.start
	}
	work := p.work(id, section, share)
	setup := work - p.together(id, share)
	if _, begun := p.begun(id, section); begun && d.end-d.start < work {
		setup = time.Duration(float64(setup) * float64(d.end-d.start) / float64(work))
	}
	return d.start + setup
}

// condition waits until the slab is inside the step's limits, day or night.
func (p *planner) condition(s *Step, ready time.Duration, why string) (start, end time.Duration, never bool, _ string) {
	ok := func(t time.Duration) bool {
		k := p.j.Weather.Slab.At(t)
		return (s.Slab.LowText == "" || k >= s.Slab.Low.Kelvin()-1e-9) && (s.Slab.HighText == "" || k <= s.Slab.High.Kelvin()+1e-9)
	}
	for t := ready; ; t = p.next(t) {
		if ok(t) {
			return ready, t, false, why
		}
		if t > p.last {
			return ready, ready, true, why + "; the slab does not come to what the recipe asks in the temperatures given"
		}
	}
}

// coatTime finds the first start in a shift at which the coat may go down. If
// there is none in the temperatures given it takes the first shift, and the
// findings say what is wrong.
func (p *planner) coatTime(id string, s *Step, section int, ready, work time.Duration, why string) (start, end time.Duration, _ string) {
	m := p.material(id)
	fit := func(t time.Duration) time.Duration { return p.begins(id, t, work) }
	firstStart := fit(ready)
	if firstStart > ready {
		why = "next shift with time for it (" + why + ")"
	}
	if _, bad := p.blocked(m, firstStart, firstStart+work); !bad && p.counted(id, section, firstStart, work) {
		return firstStart, firstStart + work, why // it is in the weather already, and does not keep itself away
	}
	sky, whole := p.skyOf(id, firstStart+work+day)
	blocked := ""
	for t := firstStart; ; {
		x, bad := sky.blocked(m, t, t+work)
		if !whole && (bad && x.to == forever || t+work > sky.last) { // longer than it was followed
			sky, whole = p.skyOf(id, forever)
			t, blocked = firstStart, ""
			continue
		}
		if !bad {
			if blocked != "" {
				why = "waits: " + blocked + " before"
			}
			return t, t + work, why
		}
		blocked = limits[x.limit].words // the last of them is what it waits for
		if x.to == forever {
			return firstStart, firstStart + work, why
		}
		t = fit(minute(x.to))
	}
}

// minute returns the first whole minute of the job at or after t.
func minute(t time.Duration) time.Duration {
	if whole := t.Truncate(time.Minute); whole < t {
		return whole + time.Minute
	}
	return t
}

// events computes when a placed liquid reaches events of its data sheet.
func (p *planner) events(id string, d *placed, which []string) error {
	m := p.material(id)
	d.reach = make(map[string]eventTime, len(which))
	for _, event := range which {
		t, ok := m.Times[event]
		if !ok || event == PotLife {
			continue
		}
		from := d.end
		if isLatest(event) {
			from = d.wet
		}
		at, err := p.comes(t, isLatest(event), from)
		e := eventTime{at: at}
		if errors.Is(err, cure.ErrNotReached) {
			e = eventTime{never: true}
		} else if err != nil {
			return fmt.Errorf("systems.Plan: %s of step %s: %w", event, id, err)
		}
		d.reach[event] = e
	}
	return p.notWet(id, d)
}

// notWet holds what comes of a coat that is no longer wet back until it is tack-free,
// where that follows the humidity and the data sheet gives the other by the
// temperature alone: nobody walks on, grinds or loads a wet coat.
func (p *planner) notWet(id string, d *placed) error {
	t, ok := p.material(id).Times[TackFree]
	if !ok || t.Humid == nil {
		return nil
	}
	free, known := d.reach[TackFree]
	for _, event := range afterWet {
		e, ok := d.reach[event]
		if !ok || e.never {
			continue
		}
		if !known {
			at, err := p.comes(t, false, d.end)
			if err != nil && !errors.Is(err, cure.ErrNotReached) {
				return fmt.Errorf("systems.Plan: %s of step %s: %w", TackFree, id, err)
			}
			free, known = eventTime{at: at, never: err != nil}, true
		}
		if free.never {
			e = free
		} else {
			e.at = max(e.at, free.at)
		}
		d.reach[event] = e
	}
	return nil
}

// afterWet are the events that a wet coat cannot have come to.
var afterWet = []string{Grindable, Foot, Service}

// lines lists the events of a placed liquid for the schedule.
func (p *planner) lines(d *placed) (all []EventTime) {
	for _, event := range Events() {
		e, ok := d.reach[event]
		if !ok {
			continue
		}
		line := EventTime{Event: event}
		if !e.never {
			line.At, line.Held = p.clock(e.at), e.at > p.trace[len(p.trace)-1].At
		}
		all = append(all, line)
	}
	return all
}
