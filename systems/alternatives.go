package systems

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/tackfree/tackfree/data/units"
)

// alternatives works out what else could be done about each coat: the other
// materials that the recipe offers, and, where the weather is against it, to
// wait or to warm.
func (p *planner) alternatives(ctx context.Context) error {
	for _, id := range p.j.Recipe.order {
		s := p.step(id)
		if !p.active(id) || s.Does != Coat {
			continue
		}
		for _, name := range slices.Sorted(maps.Keys(s.Options)) {
			a, err := p.other(ctx, id, s, s.Options[name])
			if err != nil {
				return err
			}
			p.o.Alternatives = append(p.o.Alternatives, a)
		}
		if section, ok := p.weatherStop(id); ok {
			p.o.Alternatives = append(p.o.Alternatives, p.wait(id, section), p.warm(id, section))
		}
	}
	return nil
}

// weatherStop returns the first section on which the weather is against the step.
func (p *planner) weatherStop(id string) (int, bool) {
	for _, f := range p.o.Findings {
		key := strings.TrimSuffix(f.Key, "-before-tack-free")
		if f.Step == id && f.Severity == Stop && (strings.HasPrefix(key, "slab-too-c") || strings.HasPrefix(key, "air-too") || key == "dew-point-margin" || key == "never-cures") {
			if _, ok := p.done[spot{id, f.Section}]; ok {
				return f.Section, true
			}
		}
	}
	return 0, false
}

// grave lists the findings that are more than notes, as "step key".
func (p *planner) grave() []string {
	var keys []string
	for _, f := range p.o.Findings {
		if f.Severity != Note {
			keys = append(keys, strings.TrimSpace(f.Step+" "+f.Key))
		}
	}
	slices.Sort(keys)
	return slices.Compact(keys)
}

// other plans the job again with another material for one step.
func (p *planner) other(ctx context.Context, id string, s *Step, o Option) (Alternative, error) {
	j := *p.j
	j.Recipe.Steps = maps.Clone(p.j.Recipe.Steps)
	changed := *s
	changed.Material = o.Material
	if o.Film.Given() {
		changed.Film = o.Film
	}
	j.Recipe.Steps[id] = changed
	a := Alternative{Step: id, Way: "material", What: j.materials[o.Material].Name, Why: o.Why}
	q, err := run(ctx, &j)
	if err != nil {
		return a, err
	}
	if d, ok := q.done[spot{id, 1}]; ok {
		a.Start = q.clock(d.start)
	}
	a.Service = q.o.Service
	now, then := p.grave(), q.grave()
	for _, k := range now {
		if !slices.Contains(then, k) {
			a.Clears = append(a.Clears, k)
		}
	}
	for _, k := range then {
		if !slices.Contains(now, k) {
			a.Brings = append(a.Brings, k)
		}
	}
	return a, nil
}

// wait looks for the first start in a shift, inside the temperatures given,
// from which the coat stays inside its limits until it is tack-free.
func (p *planner) wait(id string, section int) Alternative {
	d, m := p.done[spot{id, section}], p.material(id)
	a := Alternative{Step: id, Way: "wait", What: "no start inside the temperatures given keeps the limits until tack-free"}
	tack := m.Times[m.nearest(TackFree)].Table
	for t := d.start + grain; t <= p.last; t += grain {
		at, until := p.open(t)
		t = at
		end := at + d.end - d.start
		if end > until && d.end-d.start <= until-at {
			continue
		}
		if p.allowed(m, at, end) != "" {
			continue
		}
		free := end
		if len(tack) > 0 {
			var ok bool
			if free, ok = p.reach(tack, end); !ok {
				continue
			}
		}
		if free <= p.last && p.allowed(m, at, free) == "" {
			a.Start, a.What = p.clock(at), "start then: inside the limits until tack-free"
			return a
		}
	}
	return a
}

// warm says by how much the slab would have to be warmer at worst, from the
// start until tack-free, the air's moisture unchanged.
func (p *planner) warm(id string, section int) Alternative {
	d, m := p.done[spot{id, section}], p.material(id)
	until := d.end
	if e, ok := d.reach[m.nearest(TackFree)]; ok && !e.never {
		until = e.at
	}
	until = min(until, max(p.last, d.end))
	need, worst := 0.0, d.start
	for t := d.start; t <= until; t = p.next(t) {
		c := p.weather(t)
		by := float64(p.margin) - (c.slab - c.dew)
		if m.Surface.LowText != "" {
			by = max(by, m.Surface.Low.Kelvin()-c.slab)
		}
		if by > need {
			need, worst = by, t
		}
	}
	a := Alternative{Step: id, Way: "warm", Warmer: units.TempDelta(need), Start: p.clock(d.start)}
	if need == 0 {
		a.What = "a warmer slab alone does not help: the air is outside its limits"
		return a
	}
	a.What = fmt.Sprintf("hold the slab warmer than given, at worst at %s", p.clock(worst).Format("Mon 2 Jan 15:04"))
	a.Why = "with vented or electric heat: unvented heaters add water and raise the dew point"
	return a
}
