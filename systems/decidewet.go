package systems

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"github.com/tackfree/tackfree/cure"
)

// What two forecasts of one space may differ by for the steps that they take: of
// when something happens, and of what is burned.
const (
	waterSlack = 2 * time.Minute
	waterFuel  = 0.002
)

// wets reports whether the plan gives water to its space: a coat that dries, or
// the slab.
func (p *planner) wets() bool {
	if p.j.Site == nil {
		return false
	}
	if e := p.j.Slab.Emission; e != nil && *e > 0 {
		return true
	}
	return slices.ContainsFunc(p.j.Recipe.order, p.gives)
}

// atBest puts the planner's materials and limits so that no water could help
// them: see lowest.
func (p *planner) atBest() {
	p.materials = maps.Clone(p.materials)
	for name, m := range p.materials {
		x := *m
		x.Surface.HighText, x.Air.HighText, x.Humidity.LowText = "", "", ""
		x.Times = map[string]Times{}
		for event, t := range m.Times {
			x.Times[event] = t.atBest(isLatest(event))
		}
		p.materials[name] = &x
	}
	p.steps = maps.Clone(p.steps)
	for id, s := range p.steps {
		if s.Slab.HighText != "" {
			y := *s
			y.Slab.HighText = ""
			p.steps[id] = &y
		}
	}
	s := *p.sky // whose limits are other ones
	s.spells = map[[2]string][]spell{}
	p.sky = &s
}

// atBest returns times that are at no temperature longer than at a lower one, and
// over humidity those of the column that is the quickest.
func (t Times) atBest(latest bool) Times {
	rows := slices.Clone(t.Table)
	if t.Humid != nil {
		h := *t.Humid
		if latest {
			h = widened(t.Humid)
		}
		rows = nil
		for i, temp := range h.Temps {
			rows = append(rows, cure.Point{Temp: temp, Time: slices.Min(h.Times[i])})
		}
	}
	slices.SortFunc(rows, func(a, b cure.Point) int { return cmp.Compare(a.Temp.Kelvin(), b.Temp.Kelvin()) })
	for i := 1; i < len(rows); i++ {
		rows[i].Time = min(rows[i].Time, rows[i-1].Time)
	}
	t.Table, t.Humid = rows, nil
	return t
}
