package systems

import (
	"errors"
	"slices"
	"strings"

	"github.com/tackfree/tackfree/internal/tomlfile"
)

func (p jobReader) overrides() error {
	var errs []error
	for _, id := range p.d.Under("materials") {
		errs = append(errs, p.override(id))
	}
	return tomlfile.Gather(errs...)
}

// override reads the job's own figures of a material over the catalog's.
func (p jobReader) override(id string) error {
	class, err := p.c.Material(id)
	if err != nil {
		return p.bad("materials/"+id, "%w", err)
	}
	m := class.clone()
	if err := p.d.Primitive(p.f.Materials[id], &m, "materials", id); err != nil {
		return err
	}
	if m.Kind != class.Kind || m.ID != class.ID || m.Version != class.Version || m.Extends != class.Extends || m.Sheet != class.Sheet {
		return p.bad("materials/"+id, "found another kind, id, version, extends or sheet: want figures only")
	}
	m.over(&class)
	if err := m.finish(p.d, []string{"materials", id}); err != nil {
		return err
	}
	var errs []error
	for _, x := range p.c.dangling(&m) {
		errs = append(errs, p.d.Errorf(append([]string{"materials", id}, strings.Split(x.key, ".")...), "%s", x.problem))
	}
	if err := tomlfile.Gather(errs...); err != nil {
		return err
	}
	p.j.overrides[id] = m
	return nil
}

func (p jobReader) steps() error {
	var errs []error
	for _, id := range p.d.Under("steps") {
		errs = append(errs, p.oneStep(id))
	}
	if err := errors.Join(errs...); err != nil {
		return err
	}
	if len(p.f.Steps) > 0 {
		if err := p.j.Recipe.check(p.d); err != nil {
			return err
		}
	}
	for _, id := range p.j.Recipe.order {
		s := p.j.Recipe.Steps[id]
		if (s.Into != "" && p.j.skip[s.Into] || s.Fills != "" && p.j.skip[s.Fills]) && !p.j.skip[id] {
			return p.bad("steps/"+id, "the step %s%s that it needs is skipped: want it skipped too", s.Into, s.Fills)
		}
	}
	return nil
}

func (p jobReader) oneStep(id string) error {
	f, at := p.f.Steps[id], "steps/"+id
	s, ok := p.j.Recipe.Steps[id]
	if !ok {
		return p.bad(at, "found step %q, which the recipe does not have: want %s", id, tomlfile.OneOf(id, p.j.Recipe.order))
	}
	if f.Skip {
		p.j.skip[id] = true
	}
	if f.Title != "" {
		s.Title = f.Title
	}
	if f.Material != "" {
		if err := p.otherMaterial(&s, f.Material, at+"/material"); err != nil {
			return err
		}
	}
	set(&s.Film, f.Film)
	set(&s.Share, f.Share)
	set(&s.Ratio, f.Ratio)
	set(&s.Waste, f.Waste)
	set(&s.Rate, f.Rate)
	set(&s.Pace, f.Pace)
	set(&s.Each, f.Each)
	set(&s.Setup, f.Setup)
	set(&s.Lag, f.Lag)
	set(&s.Keeps, f.Keeps)
	set(&s.Takes, f.Takes)
	set(&s.Face, f.Face)
	set(&s.Texture, f.Texture)
	set(&s.Thinner, f.Thinner)
	set(&s.Lets, f.Lets)
	set(&s.Cut, f.Cut)
	set(&s.Strip, f.Strip)
	set(&s.Hangs, f.Hangs)
	set(&s.Tools, f.Tools)
	set(&s.Residue, f.Residue)
	set(&s.Usable, f.Usable)
	if f.Hands != nil {
		s.Hands = *f.Hands
	}
	if f.NotBefore != "" {
		t, err := moment(f.NotBefore, p.j.Start)
		if err != nil {
			return p.bad(at+"/not_before", "%v", err)
		}
		if t < 0 {
			return p.bad(at+"/not_before", "found %q, which is before the start: want a time from the start on", f.NotBefore)
		}
		if s.Does == Broadcast {
			return p.bad(at+"/not_before", "found one for a broadcast, which goes with its coat: want it for %s", s.Into)
		}
		p.j.held[id] = t
	}
	if f.Method != "" {
		if methods := p.c.Methods(); !slices.Contains(methods, f.Method) {
			return p.bad(at+"/method", "found %q: want %s", f.Method, tomlfile.OneOf(f.Method, methods))
		}
		if s.Does != Coat {
			return p.bad(at+"/method", "found a method for a step that does %s: want it for coats only", s.Does)
		}
		p.j.methods[id] = f.Method
	}
	for _, o := range s.figures() {
		if problem := p.c.unsourced(o.Origin); problem != "" {
			return p.bad(at+"/"+o.where, "%s", problem)
		}
	}
	p.j.Recipe.Steps[id] = s
	if f.Film != nil && s.Does != Coat {
		return p.bad(at+"/film", "found a film for a step that does %s: want it for coats only", s.Does)
	}
	return nil
}

// otherMaterial lets a step take another material, named at a key.
func (p jobReader) otherMaterial(s *Step, name, at string) error {
	m, err := p.c.Material(name)
	if err != nil {
		return p.bad(at, "%w", err)
	}
	if s.Material == "" {
		return p.bad(at, "found %q: this step takes no material", name)
	}
	if old, err := p.c.Material(s.Material); err == nil && old.Kind != m.Kind {
		return p.bad(at, "found %q, which is %s: want %s", name, m.Kind, old.Kind)
	}
	s.Material = name
	return nil
}

func set[T any](to *T, from *T) {
	if from != nil {
		*to = *from
	}
}

// resolve finds the materials that the steps and their options name.
func (p jobReader) resolve() error {
	used, version := map[string]bool{}, map[string]string{} // by id
	find := func(name string) error {
		m, err := p.c.Material(name)
		if err != nil {
			return p.bad("recipe", "%w", err)
		}
		if o, ok := p.j.overrides[m.ID+"@"+m.Version]; ok {
			m, used[m.ID] = o, true
		} else if o, ok := p.j.overrides[m.ID]; ok && o.Version == m.Version {
			m, used[m.ID] = o, true
		}
		version[m.ID] = m.Version
		p.j.materials[name] = &m
		return nil
	}
	for _, id := range p.j.Recipe.order {
		s := p.j.Recipe.Steps[id]
		for _, name := range []string{s.Material, s.Sand} {
			if name != "" {
				if err := find(name); err != nil {
					return err
				}
			}
		}
		for _, o := range s.Options {
			if err := find(o.Material); err != nil {
				return err
			}
		}
	}
	for _, name := range p.d.Under("materials") { // figures for a version that no step takes would do nothing
		o := p.j.overrides[name]
		if v, ok := version[o.ID]; ok && !used[o.ID] {
			return p.bad("materials/"+name, "found figures for %s@%s, and the steps take %s@%s: want [materials.%q]", o.ID, o.Version, o.ID, v, o.ID+"@"+v)
		}
	}
	return nil
}
