package systems

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// alternatives works out what else could be done about each coat: the other
// materials that the recipe offers, and, where the weather is against it, to
// wait or to warm.
func (p *planner) alternatives(ctx context.Context) error {
	for _, id := range p.j.Recipe.order {
		s := p.step(id)
		if !p.active(id) || s.Does != Coat || p.anyBegun(id) {
			continue
		}
		for _, name := range slices.Sorted(maps.Keys(s.Options)) {
			if s.has(s.Options[name]) { // the job took it already
				continue
			}
			a, err := p.other(ctx, id, s, s.Options[name])
			if err != nil {
				return err
			}
			p.o.Alternatives = append(p.o.Alternatives, a)
		}
		if section, ok := p.weatherStop(id); ok {
			p.o.Alternatives = append(p.o.Alternatives, p.wait(id, section))
			if a, ok := p.warm(id, section); ok {
				p.o.Alternatives = append(p.o.Alternatives, a)
			}
		}
	}
	return nil
}

// weatherStop returns the first section on which the weather is against the step.
func (p *planner) weatherStop(id string) (int, bool) {
	for _, f := range p.o.Findings {
		if f.Step == id && f.Severity == Stop && (f.Key == "never-cures" || ofWeather(f.Key)) {
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

// with returns the step with an option's material.
func (s *Step) with(o Option) Step {
	changed := *s
	changed.Material = o.Material
	if o.Film.Given() {
		changed.Film = o.Film
	}
	return changed
}

// has reports whether the step is as the option would make it.
func (s *Step) has(o Option) bool {
	return o.Material == s.Material && (!o.Film.Given() || o.Film.Q == s.Film.Q)
}

// other plans the job again with another material for one step. The space is
// worked out anew if that changes which coats dry in it and when, and not for
// what closes the floor earlier or later.
func (p *planner) other(ctx context.Context, id string, s *Step, o Option) (Alternative, error) {
	j := *p.j
	changed := s.with(o)
	j.steps = maps.Clone(p.steps)
	j.steps[id] = &changed
	a := Alternative{Step: id, Way: "material", What: j.materials[o.Material].Name, Why: o.Why}
	q, err := couple(ctx, &j, p.sky, maxRounds, true)
	if err != nil {
		return a, err
	}
	m := q.material(id)
	p.otherFiles = append(append(p.otherFiles, m.file), m.bases...)
	for _, l := range q.used {
		p.otherFiles = append(p.otherFiles, l.file)
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

// wait looks for the first later start in a shift, inside the temperatures
// given, from which the coat stays inside its limits until it is tack-free, and
// for one at which the windows of the coats under it are still open.
func (p *planner) wait(id string, section int) Alternative {
	d, m, sky := p.done[spot{id, section}], p.material(id), p.sky
	a := Alternative{Step: id, Way: "wait", What: "no later start inside the temperatures given keeps the limits until tack-free"}
	work := d.end - d.start
	if own := p.sky.from != nil && p.gives(id); own { // its water comes with it to a later start
		if e := d.reach[m.nearest(TackFree)]; !e.never && e.at > d.start {
			near, _ := p.skyOf(id, e.at)
			if _, bad := near.blocked(m, d.start, e.at); !bad {
				a.What = "no later start is better: it is its own water that breaks the limits; open doors or run fans while it dries"
				return a
			}
		}
		sky, _ = p.skyOf(id, forever)
	}
	tack := m.Times[m.nearest(TackFree)]
	for t := p.begins(id, minute(d.start+1), work); t <= p.last; {
		free := t + work
		if len(tack.Table) > 0 {
			var ok bool
			if free, ok = sky.reach(tack, t+work); !ok {
				return a // nor from any later start
			}
		}
		if free > p.last {
			return a
		}
		if x, bad := sky.blocked(m, t, free); bad {
			// A later start is tack-free later, so that nothing before this spell's end will do.
			if x.to == forever {
				return a
			}
			t = p.begins(id, minute(x.to), work)
			continue
		}
		a.Start, a.What = p.clock(t), "start then: inside the limits until tack-free"
		if sky != p.sky && p.gives(id) {
			a.What += ", but for what its own water does to the air"
		}
		for _, l := range p.before[id] {
			if latest, _, missed := p.closed(l.step, l.event, section, placed{start: t, wet: t + d.wet - d.start, end: t + work}); missed {
				a.What = fmt.Sprintf("start then, and abrade first: inside the limits until tack-free, but the recoat window of %s closes %s", l.step, p.clock(latest).Format(stamp))
				return a
			}
		}
		return a
	}
	return a
}

// warm says by how much the slab would have to be warmer at worst, from the
// start until tack-free, the air unchanged, and what that leaves. It returns
// false where the slab is only too hot.
func (p *planner) warm(id string, section int) (Alternative, bool) {
	d, m := p.done[spot{id, section}], p.material(id)
	until := max(d.end, p.last) // if it is not tack-free before
	tack := m.nearest(TackFree)
	if e, ok := d.reach[tack]; ok && !e.never {
		until = e.at
	}
	low := math.Inf(-1) // of the slab, in K
	if m.Surface.LowText != "" {
		low = m.Surface.Low.Kelvin()
	}
	if rows := m.Times[tack].Table; len(rows) > 0 { // colder it does not cure
		low = max(low, rows[0].Temp.Kelvin())
	}
	need, worst := 0.0, d.start
	p.between(d.start, until, func(t time.Duration, c conditions) {
		if by := max(float64(p.margin)-(c.slab-c.dew), low-c.slab); by > need {
			need, worst = by, t
		}
	})
	var left []string
	p.between(d.start, until, func(_ time.Duration, c conditions) {
		c.slab += need
		for i, by := range p.broken(m, c) {
			if by != 0 && !slices.Contains(left, limits[i].words) {
				left = append(left, limits[i].words)
			}
		}
	})
	a := Alternative{Step: id, Way: "warm", Warmer: units.TempDelta(need), Start: p.clock(d.start), Leaves: left}
	if need == 0 {
		a.What = "a warmer slab alone does not help"
		return a, !slices.Equal(left, []string{limits[1].words})
	}
	a.What = fmt.Sprintf("hold the slab warmer than given, at worst at %s", p.clock(worst).Format(stamp))
	a.Why = "with vented or electric heat: unvented heaters add water and raise the dew point"
	return a, true
}
