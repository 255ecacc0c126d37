package systems

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/tackfree/tackfree/data/units"
)

func (d HandsShort) faults(j *Job) []fault {
	var f []fault
	if d.Hands < 1 || d.Hands >= j.Crew.Hands {
		f = append(f, fault{"Hands", fmt.Sprintf("found %d: want 1 to %d, fewer than the crew has", d.Hands, j.Crew.Hands-1)})
		if j.Crew.Hands < 2 {
			f[0].problem = fmt.Sprintf("found %d for a crew of one: want a crew of two or more", d.Hands)
		}
	}
	if d.From < 0 || d.From > farthest {
		f = append(f, fault{"From", fmt.Sprintf("found %s: want a time from the start on, within 400 days", hours(d.From))})
	}
	return f
}

func (d HandsShort) apply(s *scene) error {
	s.j.lack = append(slices.Clone(s.j.lack), lack{max(d.From, s.j.Now), d.Hands})
	short := 0
	for _, l := range s.j.lack {
		short += l.hands
	}
	if short >= s.j.Crew.Hands {
		return fmt.Errorf("%w: systems.WhatIf: %d hands missing together: want fewer than the crew's %d", units.ErrRange, short, s.j.Crew.Hands)
	}
	return nil
}

func (d HandsShort) words(j *Job, _ units.System) string {
	hands := "one hand"
	if d.Hands > 1 {
		hands = fmt.Sprintf("%d hands", d.Hands)
	}
	if d.From == 0 && j.Now > 0 {
		return "the crew is " + hands + " short from now on"
	}
	if d.From == 0 {
		return "the crew is " + hands + " short throughout"
	}
	return fmt.Sprintf("the crew is %s short from %s on", hands, j.when(d.From))
}

// known says what is wrong with a step that a job must plan.
func (j *Job) known(id string) []fault {
	if s, ok := j.Recipe.Steps[id]; !ok {
		return []fault{{"Step", fmt.Sprintf("found step %q, which the recipe does not have: want one of %s", id, strings.Join(j.Recipe.order, ", "))}}
	} else if j.skip[id] {
		return []fault{{"Step", fmt.Sprintf("found %s, which the job skips: want a step with work", id)}}
	} else if s.Does == Broadcast {
		return []fault{{"Step", fmt.Sprintf("found %s, a broadcast, which goes with its coat: want %s", id, s.Into)}}
	} else if s.Does == Condition {
		return []fault{{"Step", fmt.Sprintf("found %s, which waits for the slab and is no work: want a step of the crew's", id)}}
	}
	return nil
}

func (d StepLate) faults(j *Job) []fault {
	if f := j.known(d.Step); f != nil {
		return f
	}
	switch w := j.Done[d.Step]; {
	case w.Whole != nil && w.Whole.End != nil:
		return []fault{{"Step", fmt.Sprintf("found %s, which was done %s: want a step that is not done", d.Step, j.when(w.Whole.Start))}}
	case (d.By == 0) == (d.Until == 0):
		return []fault{{"By", "found both a delay and a time, or neither: want one of them, above 0h"}}
	case d.By < 0 || d.By > farthest:
		return []fault{{"By", fmt.Sprintf("found %s: want above 0h, within 400 days", hours(d.By))}}
	case d.Until < 0 || d.Until > farthest:
		return []fault{{"Until", fmt.Sprintf("found %s: want a time after the start, within 400 days", hours(d.Until))}}
	}
	return nil
}

func (d StepLate) apply(s *scene) error {
	first, ok := s.base.begin(d.Step)
	if _, begun := s.j.Done[d.Step]; !ok && begun {
		return fmt.Errorf("%w: systems.WhatIf: StepLate.Step: found %s, which was begun: want a step that is not begun", units.ErrRange, d.Step)
	} else if !ok {
		return fmt.Errorf("%w: systems.WhatIf: step %s cannot be late: it is not in the plan", units.ErrRange, d.Step)
	}
	by := d.By
	if d.Until > 0 {
		if by = d.Until - first; by <= 0 {
			s.notes = append(s.notes, fmt.Sprintf("%s begins %s in the plan, which is not before then.", s.base.title(d.Step), s.j.when(first)))
			return nil
		}
	}
	s.late[d.Step] = max(s.late[d.Step], by)
	s.j.held = maps.Clone(s.j.held)
	s.j.held[d.Step] = max(s.j.held[d.Step], first+by)
	return nil
}

func (d StepLate) words(j *Job, _ units.System) string {
	if d.Until > 0 {
		return fmt.Sprintf("%s begins not before %s", d.Step, j.when(d.Until))
	}
	return fmt.Sprintf("%s begins %s late", d.Step, hours(d.By))
}

func (d OtherMaterial) faults(j *Job) []fault {
	s, ok := j.Recipe.Steps[d.Step]
	_, begun := j.Done[d.Step]
	switch {
	case !ok || j.skip[d.Step]:
		return j.known(d.Step)
	case begun:
		return []fault{{"Step", fmt.Sprintf("found %s, which was begun before now: want a step that is not begun", d.Step)}}
	case s.Material == "":
		return []fault{{"Step", fmt.Sprintf("found %s, which takes no material: want a step that does", d.Step)}}
	case (d.Option == "") == (d.Material == ""):
		return []fault{{"Option", "found an option and a material, or neither: want one of them"}}
	}
	if d.Option != "" {
		if _, ok := s.Options[d.Option]; !ok {
			want := "a material, for the recipe offers none for this step"
			if len(s.Options) > 0 {
				want = strings.Join(slices.Sorted(maps.Keys(s.Options)), " or ")
			}
			return []fault{{"Option", fmt.Sprintf("found %q: want %s", d.Option, want)}}
		}
		return nil
	}
	m, err := j.catalog.Material(d.Material)
	if err != nil {
		return []fault{{"Material", oneLine(err).Error()}}
	}
	if was := j.materials[s.Material]; was.Kind != m.Kind {
		return []fault{{"Material", fmt.Sprintf("found %q, which is %s: want %s", d.Material, m.Kind, was.Kind)}}
	}
	return nil
}

func (d OtherMaterial) apply(s *scene) error {
	s.j.Recipe.Steps = maps.Clone(s.j.Recipe.Steps)
	x := s.j.Recipe.Steps[d.Step]
	if d.Option != "" {
		o := x.Options[d.Option]
		if x.Material = o.Material; o.Film.Given() {
			x.Film = o.Film
		}
		s.j.Recipe.Steps[d.Step] = x
		return nil
	}
	x.Material = d.Material
	s.j.Recipe.Steps[d.Step] = x
	if _, ok := s.j.materials[d.Material]; !ok {
		m, err := s.j.catalog.Material(d.Material)
		if err != nil {
			return err
		}
		s.j.materials = maps.Clone(s.j.materials)
		s.j.materials[d.Material] = &m
	}
	return nil
}

func (d OtherMaterial) words(j *Job, _ units.System) string {
	name := d.Material
	if d.Option != "" {
		name = j.Recipe.Steps[d.Step].Options[d.Option].Material
	}
	if m, ok := j.materials[name]; ok {
		name = m.Name
	} else if m, err := j.catalog.Material(name); err == nil {
		name = m.Name
	}
	return d.Step + " is " + name
}

func (d MoreUptake) faults(j *Job) []fault {
	if !(d.Times > 0 && d.Times <= 20) {
		return []fault{{"Times", fmt.Sprintf("found %g: want above 0 to 20", d.Times)}}
	}
	for _, a := range j.Areas {
		if a.Uptake > 0 {
			return nil
		}
	}
	return []fault{{"Times", "found one for areas that drink nothing: want an uptake, or porosity and penetration"}}
}

func (d MoreUptake) apply(s *scene) error {
	s.uptake = cmp.Or(s.uptake, 1) * d.Times
	return nil
}

// drinks multiplies what the concrete drinks.
func (s *scene) drinks() error {
	if s.uptake == 0 {
		return nil
	}
	var drank []string
	for _, id := range s.j.Recipe.order {
		if n := s.base.needs[id]; n != nil && n.Uptake > 0 {
			if _, begun := s.j.Done[id]; !begun {
				drank = nil
				break
			}
			drank = append(drank, id)
		}
	}
	if len(drank) > 0 {
		return fmt.Errorf("%w: systems.WhatIf: MoreUptake: found one, and %s was begun before now: want it before the concrete drinks", units.ErrRange, strings.Join(drank, " and "))
	}
	s.j.Areas = slices.Clone(s.j.Areas)
	for i := range s.j.Areas {
		a := &s.j.Areas[i]
		if a.Uptake *= units.Length(s.uptake); a.Uptake > 0.005*(1+1e-9) {
			return fmt.Errorf("%w: systems.WhatIf: MoreUptake.Times = %g makes the uptake of %s %v: want at most 5 mm", units.ErrRange, s.uptake, a.Name, a.Uptake)
		}
		a.uptakeAs = arg{} // it is no longer as it was given
	}
	return nil
}

func (d MoreUptake) words(*Job, units.System) string {
	return fmt.Sprintf("the concrete drinks %g times as much as measured", d.Times)
}
