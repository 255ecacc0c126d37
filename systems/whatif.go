package systems

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// A Difference is what disturbances do to a plan, answered in two ways: as
// planned, where the crew comes and starts when it was told to and only
// temperatures, cure and windows move; and re-planned, where the work is put in
// time anew. It marshals to JSON.
type Difference struct {
	Job       string    `json:"job"`
	Disturbed []string  `json:"disturbed"` // in plain words, SI; see Words
	From      time.Time `json:"from"`      // when the first of them begins
	AsPlanned Answer    `json:"as_planned"`
	Replanned Answer    `json:"re_planned"`
	Notes     []string  `json:"notes,omitempty"` // what a disturbance does not reach, and why

	Plan *Outcome `json:"-"` // undisturbed, as the answers without alternatives and sources

	job *Job
	by  []Disturbance
}

// An Answer is a disturbed plan against the undisturbed one.
type Answer struct {
	Comes       []Finding    `json:"comes"` // findings that the plan did not have
	Goes        []Finding    `json:"goes"`  // and that it had
	Moves       []Moved      `json:"moves"` // in both, at another time or of another size
	BreaksFirst *Break       `json:"breaks_first"`
	Coats       []CoatFate   `json:"coats"`
	Steps       []StepShift  `json:"steps"` // that are not as they were
	LastWork    Shift        `json:"last_work"`
	Foot        Shift        `json:"foot"`
	HandOver    Shift        `json:"hand_over"` // full service
	Fuel        []FuelChange `json:"fuel,omitempty"`
	Order       []OrderShift `json:"order,omitempty"` // lines whose units change

	Outcome *Outcome `json:"-"` // the disturbed plan, without alternatives and sources

	longer []Finding // of the space, from when the plan does not have it
}

// Moved is a finding before and after.
type Moved struct {
	Was Finding `json:"was"`
	Now Finding `json:"now"`
}

// A Shift is a time before and after; nil: never, or not planned.
type Shift struct {
	Was    *time.Time  `json:"was"`
	Now    *time.Time  `json:"now"`
	Later  *units.Span `json:"later,omitempty"` // by how much; nil unless both are there and it is
	Sooner *units.Span `json:"sooner,omitempty"`
}

// A StepShift is a step on a section before and after.
type StepShift struct {
	Step    string       `json:"step"`
	Title   string       `json:"title"`
	Section int          `json:"section"`
	Start   Shift        `json:"start"`
	End     Shift        `json:"end"`
	Events  []EventShift `json:"events,omitempty"` // that are not as they were
}

// An EventShift is an event before and after.
type EventShift struct {
	Event string `json:"event"`
	Shift
}

// A FuelChange is what a heater burns, or takes in, before and after.
type FuelChange struct {
	Heater     string       `json:"heater"`
	Fuel       string       `json:"fuel"` // in words; "" for electric, which burns nothing
	Was        units.Mass   `json:"was"`
	Now        units.Mass   `json:"now"`
	WasTakenIn units.Energy `json:"was_taken_in"` // on the higher heating value, or current
	NowTakenIn units.Energy `json:"now_taken_in"`
	Empty      []time.Time  `json:"empty,omitempty"` // when the tank runs dry
}

// An OrderShift is how many units are bought before and after.
type OrderShift struct {
	Material string `json:"material"`
	Unit     string `json:"unit"`
	Was      int    `json:"was"`
	Now      int    `json:"now"`
}

// A CoatFate is what becomes of a coat.
type CoatFate struct {
	Step        string      `json:"step"`
	Title       string      `json:"title"`
	Section     int         `json:"section"`
	Status      string      `json:"status,omitempty"` // WorkDone or WorkRunning, if it was begun before now
	Start       time.Time   `json:"start"`
	TackFree    *time.Time  `json:"tack_free"` // nil: never, along these temperatures
	Inside      bool        `json:"inside"`    // inside its limits from its start until tack-free
	WindowMet   bool        `json:"window_met"`
	Ready       bool        `json:"ready"`                 // what it waits for has come when it starts
	Breaks      *Break      `json:"breaks"`                // the first limit that is broken, of its own or its windows
	Chemistries []Chemistry `json:"chemistries"`           // from its start on; the first is the one planned; none of a coat that was begun
	NeverReady  string      `json:"never_ready,omitempty"` // what never comes that it waits for; no chemistry is looked at then
}

// WhatIf plans a job with one or more disturbances, which combine, and says what
// they change: which findings come and go, what breaks first, what of the coats
// still works and which of the recipe's other chemistries would still go down,
// and how far steps, hand-over and fuel move. Without any it compares the plan
// with itself.
//
// Both ways go through the same model as [Plan]. As planned means: each step
// begins when it does in the plan, or as much later as [StepLate] makes it, and
// takes as long as its crew needs; that it is not ready for then, or that the
// crew is still elsewhere, is a finding. Heat, doors, tanks and weather disturb
// the forecast of the space; what the job types in or logs wins over that as in
// the plan, and Notes says so.
//
// An error, over [units.ErrRange] where a disturbance does not fit the job,
// means that there is no answer.
func WhatIf(ctx context.Context, job Job, d ...Disturbance) (*Difference, error) {
	job.keep = nil
	base, err := settled(ctx, &job)
	if err != nil {
		return nil, err
	}
	s := &scene{j: job, base: base, late: map[string]time.Duration{}}
	out := &Difference{Job: job.Name, Plan: base.o, job: &job, by: d, Disturbed: []string{}, From: job.Start}
	var errs []error
	for i, x := range d {
		if x == nil {
			errs = append(errs, fmt.Errorf("%w: systems.WhatIf: disturbance %d is nil", units.ErrRange, i+1))
			continue
		}
		for _, f := range x.faults(&job) {
			errs = append(errs, fmt.Errorf("%w: systems.WhatIf: %T.%s: %s", units.ErrRange, x, f.field, f.problem))
		}
	}
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	if err := contradicts(&job, d); err != nil {
		return nil, err
	}
	if job.Now > 0 {
		s.notes = append(s.notes, "It is "+job.when(job.Now)+": what is before stays as it was.")
	}
	for i, x := range d {
		if err := x.apply(s); err != nil {
			return nil, err
		}
		out.Disturbed = append(out.Disturbed, x.words(&job, units.SI))
		if t := job.Start.Add(max(begins(x, base), job.Now)); i == 0 || t.Before(out.From) {
			out.From = t
		}
	}
	if err := errors.Join(s.weather(), s.drinks()); err != nil {
		return nil, err
	}
	s.heat()
	if len(s.site) > 0 {
		if s.j, err = s.j.elsewhere(func(x *Site) {
			x.Room.Heaters = slices.Clone(x.Room.Heaters)
			x.moments = slices.Clone(x.moments)
			for _, t := range s.moments { // what jumps moves fast at first
				for after := time.Duration(0); after <= time.Hour; after += 5 * time.Minute {
					x.moments = append(x.moments, t+after)
				}
			}
			for _, change := range s.site {
				change(x)
			}
		}); err != nil {
			return nil, fmt.Errorf("systems.WhatIf: %w", err)
		}
		s.given()
	}
	again, err := settled(ctx, &s.j)
	if err != nil {
		return nil, err
	}
	kj := s.j
	kj.keep, kj.held = &kept{base, s.late}, job.held
	same, err := settled(ctx, &kj)
	if err != nil {
		return nil, err
	}
	s.idle(d, same, again)
	out.Notes = s.notes
	out.AsPlanned, out.Replanned = same.differs(base, out.From), again.differs(base, out.From)
	return out, nil
}

// given notes which temperatures the forecast of the space does not move.
func (s *scene) given() {
	for _, x := range []struct {
		of   Series
		name string
	}{{s.j.given.Slab, "The slab's temperature"}, {s.j.given.Air, "The air's temperature"}, {s.j.given.RH, "The humidity"}} {
		if len(x.of) > 0 {
			s.notes = append(s.notes, x.name+" is typed in or logged and stays as it is.")
		}
	}
}

// idle notes hands that are missing only when nobody works any more.
func (s *scene) idle(d []Disturbance, plans ...*planner) {
	for _, x := range d {
		h, ok := x.(HandsShort)
		for _, p := range plans {
			ok = ok && h.From >= p.o.End.Sub(s.j.Start)
		}
		if ok {
			s.notes = append(s.notes, "Hands are missing only after the last work of the plan.")
		}
	}
}

// contradicts returns an error if two disturbances say otherwise of one thing.
func contradicts(j *Job, d []Disturbance) error {
	materials, tanks := map[string]OtherMaterial{}, map[int]SmallerTank{}
	for i, x := range d {
		switch x := x.(type) {
		case OtherMaterial:
			if was, ok := materials[x.Step]; ok && was != x {
				return fmt.Errorf("%w: systems.WhatIf: disturbance %d: OtherMaterial.Step: found %s again with another material: want one for a step", units.ErrRange, i+1, x.Step)
			}
			materials[x.Step] = x
		case SmallerTank:
			k, _ := x.heater(j)
			if was, ok := tanks[k]; ok && was.Tank != x.Tank {
				return fmt.Errorf("%w: systems.WhatIf: disturbance %d: SmallerTank.Tank: found %v after %v for the tank of %s: want one of them", units.ErrRange, i+1, x.Tank, was.Tank, j.Site.Heaters[k].Name)
			}
			tanks[k] = x
		}
	}
	return nil
}

// begins returns when a disturbance begins.
func begins(d Disturbance, base *planner) time.Duration {
	switch d := d.(type) {
	case HeatStops:
		return d.At
	case DoorOpen:
		return d.From
	case HandsShort:
		return d.From
	case NoRefill:
		first := forever
		i, _ := d.heater(base.j)
		for _, r := range base.j.Site.Room.Heaters[i].Refills {
			if base.j.toCome(r.At) && (d.At == nil || r.At == *d.At) {
				first = min(first, r.At)
			}
		}
		return max(first, 0)
	case StepLate:
		return base.first(d.Step)
	case OtherMaterial:
		return base.first(d.Step)
	}
	return 0
}

// first returns when a step first begins that is not begun yet, 0 if it is not planned.
func (p *planner) first(id string) time.Duration {
	t, ok := p.begin(id)
	if !ok {
		return 0
	}
	return t
}

// begin returns when a step first begins on a section on which it is not begun yet.
func (p *planner) begin(id string) (first time.Duration, ok bool) {
	first = forever
	for at, d := range p.done {
		if _, begun := p.begun(id, at.section); at.step == id && !begun {
			first, ok = min(first, d.start), true
		}
	}
	return first, ok
}

// settled makes a plan without its alternatives, sources and standing answer.
func settled(ctx context.Context, j *Job) (*planner, error) {
	p, err := run(ctx, j, nil)
	if err != nil {
		return nil, err
	}
	if err := p.heat(); err != nil {
		return nil, err
	}
	p.judgeFigures()
	p.markPast()
	p.rank()
	p.o.say()
	return p, nil
}
