package systems

import (
	"cmp"
	"slices"
	"strings"
	"time"
)

// kept is a plan whose starts another one keeps: the crew comes when it was told
// to, whatever happened meanwhile.
type kept struct {
	base *planner
	late map[string]time.Duration // by step: how much later it starts than there
}

// A lack is of hands from a time on.
type lack struct {
	from  time.Duration
	hands int
}

// lacks returns how many hands are missing at a time.
func (p *planner) lacks(at time.Duration) int {
	n := 0
	for _, l := range p.j.lack {
		if at >= l.from {
			n += l.hands
		}
	}
	return n
}

// crew returns how many hands the crew has when it is asked.
func (p *planner) crew() int { return p.j.Crew.Hands - p.lacks(p.asked) }

// fill lays a step that may be left overnight into shifts from t on. Where hands
// are missing from some time on, each shift does the part that its hands can.
func (p *planner) fill(id string, section int, share float64, t, work time.Duration) (start, end time.Duration) {
	if len(p.j.lack) == 0 {
		return p.spread(t, work)
	}
	start, until := p.open(t)
	left := 1.0 // of the step
	for at := start; ; {
		p.asked = at
		whole := p.work(id, section, share)
		if need := time.Duration(left * float64(whole)); at+need <= until {
			return start, at + need
		}
		left -= float64(until-at) / float64(whole)
		at, until = p.open(until)
	}
}

// asPlanned puts every step at the start that it has in another plan, or as
// much later as it is late, and tells what is not ready for it then. A step
// takes as long as the crew that there is takes; it is not finished sooner than
// it can be, and what follows does not wait for it. What was begun before now
// stands as it was done.
func (p *planner) asPlanned() error {
	base := p.j.keep.base
	p.o.Sections = base.o.Sections
	for _, w := range base.o.Schedule {
		at := spot{w.Step, w.Section}
		s, was, why := p.step(w.Step), base.done[at], w.Binding
		share := 1.0
		if w.Section > 0 {
			share /= float64(p.o.Sections)
		}
		start := was.start
		x, begun := p.begun(w.Step, w.Section)
		late := p.j.keep.late[w.Step]
		if begun {
			late = 0
		} else if late > 0 {
			start, why = start+late, "late"
		}
		p.asked = start
		work := p.work(w.Step, w.Section, share)
		d := placed{}
		switch does := s.Does; {
		case begun:
			d.start, d.end = p.asDone(w.Step, s, w.Section, x, work)
		case does == Broadcast:
			into := p.done[spot{s.Into, w.Section}]
			d.start, d.end = into.wet+time.Duration(s.Lag.Q), into.end+time.Duration(s.Lag.Q)
		case does == Condition:
			why, _, _ = strings.Cut(why, "; ") // what became of it is said anew
			d.start, d.end, d.never, why = p.condition(s, start, why)
		case does == Coat:
			if late > 0 {
				start = p.begins(w.Step, start, work)
				p.asked = start
				work = p.work(w.Step, w.Section, share)
			}
			d.start, d.end = start, start+work
		default:
			d.start, d.end = p.fill(w.Step, w.Section, share, start, work)
		}
		p.asked = d.start
		d.wet = d.start
		if err := p.put(w.Step, w.Section, share, d, why); err != nil {
			return err
		}
	}
	whole := []int{}
	for _, f := range base.o.Findings {
		switch f.Key {
		case "never-ready":
			p.find(f)
			whole = nil
		case "order-of-sections-held", "held-for-own-water": // so are its starts
			p.find(f)
		}
	}
	if len(p.j.keep.late) > 0 {
		slices.SortStableFunc(p.o.Schedule, func(a, b Work) int { return a.Start.Compare(b.Start) })
	}
	p.judgeKept()
	return p.finish(nil, whole)
}

// judgeKept tells steps that start before what they wait for has come, or while
// the crew is still at another, and coats that outlast the shift; none of them
// is in a plan that waits.
func (p *planner) judgeKept() {
	type job struct {
		at spot
		d  placed
	}
	var jobs []job
	for _, w := range p.o.Schedule {
		if w.Does != Condition && w.Does != Broadcast {
			at := spot{w.Step, w.Section}
			jobs = append(jobs, job{at, p.done[at]})
		}
	}
	slices.SortStableFunc(jobs, func(a, b job) int { return cmp.Compare(a.d.start, b.d.start) })
	var busy time.Duration
	var with string
	for _, x := range jobs {
		id, d := x.at.step, x.d
		if _, begun := p.begun(id, x.at.section); begun { // see judgePast
			if d.end > busy {
				busy, with = d.end, p.title(id)
			}
			continue
		}
		ready, why, ok := p.ready(id, x.at.section, 0)
		f := Finding{Key: "not-ready", Severity: Stop, Step: id, Section: x.at.section, When: p.clock(d.start), Owner: "this plan", Limit: why}
		if !ok {
			p.find(f)
		} else if ready > d.start+time.Second {
			f.Until = p.clock(ready)
			p.find(f)
		}
		if busy > d.start+time.Second {
			p.find(Finding{Key: "crew-still-busy", Severity: Stop, Step: id, Section: x.at.section, When: p.clock(d.start), Until: p.clock(busy), Owner: "this plan", Limit: with})
		}
		if p.step(id).Does == Coat {
			if _, shut := p.open(d.start); d.end > shut+time.Second && d.end-d.start <= p.j.Crew.To-p.j.Crew.From {
				p.find(Finding{Key: "past-the-shift", Severity: Watch, Step: id, Section: x.at.section, When: p.clock(shut), Until: p.clock(d.end), Owner: "the crew's hours"})
			}
		}
		if d.end > busy {
			busy, with = d.end, p.title(id)
		}
	}
}

// title returns a step's title.
func (p *planner) title(id string) string { return title(p.step(id), id) }
