package systems

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"time"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/tomlfile"
)

// A DoneWork is what the job says of a step that was begun before now. Of work
// on the whole floor it has one stretch, Whole, or several Sections; of coats
// and what comes after the first of them each section has its own. A coat done
// as a whole on a floor of several sections counts as done on them one after the
// other, in even parts of its time.
type DoneWork struct {
	Whole    *DoneSpan
	Sections map[int]DoneSpan // by section, from 1
	Material string           // really used, if not the one planned; "" if it was that
	Kits     *float64         // opened, of a broadcast bags, as many as its material's Kit or Bag is; nil if not told
}

// A DoneSpan is from when to when work went on.
type DoneSpan struct {
	Start time.Duration
	End   *time.Duration // nil: it was begun and goes on
}

// What the job says of a piece of work of the plan.
const (
	WorkDone    = "done"
	WorkRunning = "running" // begun before now, and not ended then
)

type doneSpanFile struct {
	Start string `toml:"start"`
	End   string `toml:"end"`
}

type doneFile struct {
	Start    string                  `toml:"start"`
	End      string                  `toml:"end"`
	Material string                  `toml:"material"`
	Kits     *float64                `toml:"kits"`
	Sections map[string]doneSpanFile `toml:"sections"`
}

// now reads the moment up to which the past is known.
func (p jobReader) now() error {
	if p.f.Now == "" {
		if len(p.f.Done) > 0 {
			return p.bad("done", "found work done without now: want now, the moment up to which it is told, such as \"30h\"")
		}
		return nil
	}
	t, err := moment(p.f.Now, p.j.Start)
	if err != nil {
		return p.bad("now", "%v", err)
	}
	if t < 0 {
		return p.bad("now", "found %q, which is before the start: want a time from the start on", p.f.Now)
	}
	p.j.Now = t
	return nil
}

// done reads what is done, before the materials are resolved.
func (p jobReader) done() error {
	var errs []error
	p.j.Done = map[string]DoneWork{}
	for _, id := range p.d.Under("done") {
		w, err := p.doneStep(id)
		errs = append(errs, err)
		p.j.Done[id] = w
	}
	return errors.Join(errs...)
}

func (p jobReader) doneStep(id string) (w DoneWork, err error) {
	f, at := p.f.Done[id], "done/"+id
	s, ok := p.j.Recipe.Steps[id]
	switch {
	case !ok:
		return w, p.bad(at, "found step %q, which the recipe does not have: want %s", id, tomlfile.OneOf(id, p.j.Recipe.order))
	case p.j.skip[id]:
		return w, p.bad(at, "found step %q, which the job skips: want it done or skipped", id)
	case len(f.Sections) > 0 && (f.Start != "" || f.End != ""):
		return w, p.bad(at, "found start or end beside sections: want one of them")
	case len(f.Sections) == 0:
		x, err := p.doneSpan(doneSpanFile{f.Start, f.End}, at)
		if err != nil {
			return w, err
		}
		w.Whole = &x
	}
	for _, key := range p.d.Under("done", id, "sections") {
		n, err := strconv.Atoi(key)
		if most := p.j.Sections; err != nil || n < 1 || n > 1000 || most > 0 && n > most {
			if most == 0 {
				most = 1000
			}
			return w, p.d.Errorf([]string{"done", id, "sections", key}, "found section %q: want 1 to %d", key, most)
		}
		x, err := p.doneSpan(f.Sections[key], at+"/sections/"+key)
		if err != nil {
			return w, err
		}
		if w.Sections == nil {
			w.Sections = map[int]DoneSpan{}
		}
		w.Sections[n] = x
	}
	if f.Material != "" {
		if err := p.otherMaterial(&s, f.Material, at+"/material"); err != nil {
			return w, err
		}
		w.Material = f.Material
		p.j.Recipe.Steps[id] = s
	}
	if f.Kits != nil {
		if s.Material == "" {
			return w, p.bad(at+"/kits", "found kits of a step that takes no material: want none")
		}
		if !(*f.Kits > 0 && *f.Kits <= 1e5) {
			return w, p.bad(at+"/kits", "found %v: want above 0 to 100000, parts of one as 3.5", *f.Kits)
		}
		w.Kits = f.Kits
	}
	return w, nil
}

func (p jobReader) doneSpan(f doneSpanFile, at string) (x DoneSpan, err error) {
	if f.Start == "" {
		return x, p.bad(at, "found no start: want when it was begun, since the start of the job or with offset")
	}
	if x.Start, err = moment(f.Start, p.j.Start); err != nil {
		return x, p.bad(at+"/start", "%v", err)
	}
	if x.Start < 0 || x.Start > p.j.Now {
		return x, p.bad(at+"/start", "found %q: want a time from the job's start up to now", f.Start)
	}
	if f.End == "" {
		return x, nil
	}
	end, err := moment(f.End, p.j.Start)
	if err != nil {
		return x, p.bad(at+"/end", "%v", err)
	}
	if end < x.Start {
		return x, p.bad(at+"/end", "found %q, which is before its start %q: want a later time", f.End, f.Start)
	}
	if end > p.j.Now {
		return x, p.bad(at+"/end", "found %q, which is after now: want a time up to now, or none of work that goes on", f.End)
	}
	x.End = &end
	return x, nil
}

// before looks whether what is done can have been done: the step has work on this
// job, and what it waits for was begun before it. It needs the whole job.
func (p jobReader) before() error {
	if len(p.j.Done) == 0 {
		return nil
	}
	q := &planner{j: p.j, o: &Outcome{}, needs: map[string]*Need{}, beds: map[string]aggregate.Bed{}, used: map[string]Limit{}}
	if err := q.index(); err != nil {
		return nil // the plan says so
	}
	if err := errors.Join(q.geometry(), q.link()); err != nil {
		return nil // the plan says so
	}
	if _, _, err := q.divide(); err != nil {
		return nil // the plan says so
	}
	var errs []error
	for _, id := range p.j.Recipe.order {
		if w, ok := p.j.Done[id]; ok {
			errs = append(errs, p.beforeStep(q, id, w))
		}
	}
	return errors.Join(errs...)
}

// beforeStep looks whether one step can have been done, with a planner that knows
// links and sections.
func (p jobReader) beforeStep(q *planner, id string, w DoneWork) error {
	if !q.active(id) {
		return p.bad("done/"+id, "found %s done, and the job has no work for it", id)
	}
	if into := q.step(id).Into; into != "" {
		if _, ok := p.j.Done[into]; !ok {
			return p.bad("done/"+id, "found %s done without the coat it falls into: want [done.%s] too", id, into)
		}
		return nil
	}
	if n := len(w.Sections); n > 0 && !q.bySection(id) {
		last := slices.Max(slices.Collect(maps.Keys(w.Sections)))
		if all, _ := q.begun(id, 0); last > n || all.End != nil && n < q.o.Sections {
			return p.bad("done/"+id+"/sections", "found %d of %d sections, of work that the plan does on the whole floor: want all of them, or its start and no end while it goes on", n, max(last, q.o.Sections))
		}
	}
	missing := func(other string, section int) string { // "" if it was begun there
		if !q.bySection(other) {
			section = 0
		}
		if _, ok := q.begun(other, section); ok {
			return ""
		}
		if _, ok := p.j.Done[other]; ok && section > 0 {
			return fmt.Sprintf("[done.%s.sections.%d]", other, section)
		}
		return fmt.Sprintf("[done.%s]", other)
	}
	for _, section := range q.places(id) {
		if _, ok := q.begun(id, section); !ok {
			continue
		}
		for _, l := range q.after[id] {
			other := l.step
			switch s := q.step(other); s.Does {
			case Condition:
				continue
			case Broadcast:
				other = s.Into
			}
			if where := missing(other, section); where != "" {
				return p.bad("done/"+id, "found %s done and not %s, which it waits for: want %s too, or the step skipped", id, other, where)
			}
		}
		for _, other := range q.undone(id) {
			if where := missing(other, section); where != "" {
				return p.bad("done/"+id, "found %s done and not %s, which comes before it and cannot be done after it: want %s too, or the step skipped", id, other, where)
			}
		}
	}
	return nil
}

// undone lists the steps that cannot be done any more once a step is: of a coat
// on the floor all the work on what lies under it, of cleaning the grinding.
func (p *planner) undone(id string) (all []string) {
	for _, other := range p.j.Recipe.order {
		if other == id {
			break
		}
		if !p.active(other) {
			continue
		}
		switch s, o := p.step(id), p.step(other); o.Does {
		case Grind:
			if s.Does == Clean {
				all = append(all, other)
				continue
			}
			fallthrough
		case Survey, FillPatch, FillJoint, FillCrack, Clean, Sweep:
			if s.Does == Coat && s.Only == "" {
				all = append(all, other)
			}
		}
	}
	return all
}

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
