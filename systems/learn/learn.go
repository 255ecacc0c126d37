package learn

import (
	"context"
	"errors"
	"slices"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// Readings are all that was read on a site. Read one from a file with [Read].
type Readings struct {
	Slab  *Slab // nil: no loggers on the slab
	Room  *Room // nil: none of the weather outdoors
	Used  []Used
	Wet   []Wet
	Grain []Grain
	Work  []Work
}

// Learn learns all that readings teach of a job. What they do not tell is in the
// result's notes, sensors that are not believed in its flags; an error means that
// they are no readings of this job. It plans the job once.
//
// The order of readings of a kind does not matter but for rounding.
func Learn(ctx context.Context, j systems.Job, r Readings) (*Result, error) {
	if err := r.check(&j); err != nil {
		return nil, err
	}
	out := &Result{}
	if r.Slab != nil {
		got, err := r.Slab.Learn()
		if err != nil {
			return nil, err
		}
		out.join(got)
	}
	if r.Room != nil {
		m := *r.Room
		if f, ok := out.Figure("room.slab.film"); ok { // what the slab taught goes into the room
			m.Room.Slab.Film, _ = f.Value.Q.(units.FilmCoefficient)
		}
		if f, ok := out.Figure("room.slab.deep"); ok {
			m.Room.Slab.Deep, _ = f.Value.Q.(units.Temperature)
		}
		if f, ok := out.Figure("room.slab.conductivity"); ok {
			m.Room.Slab.Layers = slices.Clone(m.Room.Slab.Layers)
			m.Room.Slab.Layers[0].Conductivity, _ = f.Value.Q.(units.Conductivity)
		}
		got, err := m.Learn()
		if err != nil {
			return nil, err
		}
		out.join(got)
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if len(r.Used)+len(r.Wet)+len(r.Grain)+len(r.Work) == 0 {
		out.fits(&j)
		return out, nil
	}
	plan, err := systems.Plan(ctx, j)
	if err != nil {
		return nil, err
	}
	w := &works{j: &j, plan: plan, r: out}
	for _, id := range j.Recipe.Order() {
		used := ofStep(r.Used, func(u *Used) bool { return u.Step == id })
		var wet []units.Length
		for _, f := range ofStep(r.Wet, func(f *Wet) bool { return f.Step == id }) {
			wet = append(wet, f.Readings...)
		}
		if len(used)+len(wet) > 0 {
			w.coat(id, used, wet)
		}
		if grain := ofStep(r.Grain, func(g *Grain) bool { return g.Step == id }); len(grain) > 0 {
			w.grain(id, grain)
		}
		if work := ofStep(r.Work, func(x *Work) bool { return x.Step == id }); len(work) > 0 {
			w.hours(id, work)
		}
	}
	out.fits(&j)
	return out, nil
}

// fits leaves beside, with a note, what a job cannot have: a figure out of the
// range of its key. A job that was not read from a text has nothing to put it in;
// a text that nothing can be put into is for Apply to tell.
func (r *Result) fits(j *systems.Job) {
	if _, _, err := j.Revise(); err != nil {
		return
	}
	if _, _, err := r.Apply(*j); err == nil {
		return
	}
	for i := range r.Figures {
		f := &r.Figures[i]
		if f.Beside {
			continue
		}
		var of *systems.FileError
		if _, _, err := (&Result{Figures: []Figure{*f}}).Apply(*j); errors.As(err, &of) {
			f.Beside = true
			r.note("%s: not believed: %s", f.Name, of.Problem)
		}
	}
}

func ofStep[T any](all []T, is func(*T) bool) (out []T) {
	for i := range all {
		if is(&all[i]) {
			out = append(out, all[i])
		}
	}
	return out
}
