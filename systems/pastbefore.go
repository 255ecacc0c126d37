package systems

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"github.com/tackfree/tackfree/aggregate"
)

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
	if h := w.hours(p.j.Now); h*float64(p.j.Crew.Hands) > mostHandHours {
		return p.bad("done/"+id, "found %.6g hours of %d hands: want at most %.0f hand-hours of one step", h, p.j.Crew.Hands, mostHandHours)
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

// mostHandHours is the most hand-hours of one step that are done, as of a hundred hands
// day and night for a year: a Duration holds 2.5 million.
const mostHandHours = 1e6

// hours returns how long work went on, up to now.
func (w *DoneWork) hours(now time.Duration) (sum float64) {
	add := func(x DoneSpan) {
		end := now
		if x.End != nil {
			end = *x.End
		}
		sum += (end - x.Start).Hours()
	}
	if w.Whole != nil {
		add(*w.Whole)
	}
	for _, n := range slices.Sorted(maps.Keys(w.Sections)) { // a sum of floats hangs on its order
		add(w.Sections[n])
	}
	return sum
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
