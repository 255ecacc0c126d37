package systems

import (
	"math"
	"strings"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// judgeReadings tells where the plan leans on weather that was not given: each
// series is held before its first reading and after its last one. The slab's is
// looked at until the last event comes, those of the air until the last liquid
// is tack-free.
func (p *planner) judgeReadings() {
	first := time.Duration(math.MaxInt64)
	var cured, wet time.Duration // when the last event comes; when the last liquid is tack-free
	var never bool
	for at, d := range p.done {
		if p.needs[at.step] == nil && p.step(at.step).Does != Condition {
			continue
		}
		first, wet = min(first, d.start), max(wet, d.end)
		for event, e := range d.reach {
			never = never || e.never
			if cured = max(cured, e.at); event == TackFree {
				wet = max(wet, e.at)
			}
		}
	}
	cured = max(cured, wet)
	for _, s := range []struct {
		name   string
		of     Series
		logged Series
		to     time.Duration
	}{{"the slab's temperature", p.j.Weather.Slab, p.j.logged.Slab, cured}, {"the air's temperature", p.j.Weather.Air, p.j.logged.Air, wet}, {"the humidity", p.j.Weather.RH, p.j.logged.RH, wet}} {
		p.judgeGaps(s.name, s.logged, first, s.to)
		if from := s.of[0].At; from > first {
			p.find(Finding{Key: "weather-before-first-reading", Severity: Watch, When: p.clock(first), Until: p.clock(min(from, s.to)), Owner: "this plan", Limit: s.name})
		}
		if end := s.of[len(s.of)-1].At; s.to > end || never {
			f := Finding{Key: "weather-held", Severity: Note, When: p.clock(end), Owner: "this plan", Limit: s.name}
			if !never {
				f.Until = p.clock(s.to)
			}
			p.find(f)
		}
	}
}

// logGap is how long a logger may be silent without a word: a quarter of a day, in
// which a straight line can miss most of a night. Common practice, no source.
const logGap = 6 * time.Hour

// judgeGaps tells the longest time from one moment to another in which a logger
// read nothing, between two readings.
func (p *planner) judgeGaps(name string, of Series, from, to time.Duration) {
	longest := 0
	for i := 1; i < len(of); i++ {
		if of[i].At <= from || of[i-1].At >= to {
			continue
		}
		if gap := of[i].At - of[i-1].At; gap > logGap && (longest == 0 || gap > of[longest].At-of[longest-1].At) {
			longest = i
		}
	}
	if longest > 0 {
		p.find(Finding{Key: "gap-in-log", Severity: Watch, When: p.clock(of[longest-1].At), Until: p.clock(of[longest].At), Owner: "this plan", Limit: name})
	}
}

// judgeWeather checks the limits of the material and the margin while it is
// placed and until it is tack-free.
func (p *planner) judgeWeather(id string, s *Step, section int, d placed) {
	m := p.material(id)
	var until time.Duration
	tack, ok := d.reach[m.nearest(TackFree)]
	switch {
	case !ok: // nothing says when damp and cold no longer harm it
		until = max(d.end, p.last)
	case tack.never:
		p.find(Finding{Key: "never-cures", Severity: Stop, Step: id, Section: section, When: p.clock(d.end), Owner: "data sheet", Limit: m.ID + "@" + m.Version})
		until = max(d.end, p.last)
	default:
		until = tack.at
	}
	while, rest := p.shifts(s, d, until)
	for _, part := range []struct {
		times []times
		after string
	}{{while, ""}, {rest, "-before-tack-free"}} {
		for x := range p.against(m, d.start, until) {
			f := Finding{Key: limits[x.limit].key + part.after, Severity: Stop, Step: id, Section: section, Owner: "data sheet", Limit: m.ID + "@" + m.Version}
			if f.Key == "dew-point-margin"+part.after {
				f.Owner, f.Limit = p.j.Margin.Owner, p.j.Margin.ID
			}
			worst := math.Inf(-1)
			for _, w := range part.times {
				is, at, by, ok := p.cut(m, x, w.from, w.to)
				if !ok {
					continue
				}
				if f.When == nil {
					f.When = p.clock(is.from)
				}
				f.Until = p.clock(is.to)
				if !(by <= worst) {
					found, asked := p.amounts(m, x.limit, p.weather(at))
					worst, f.Found, f.Asked, f.Worst = by, Amount{found}, Amount{asked}, p.clock(at)
				}
			}
			if f.When != nil {
				p.find(f)
			}
		}
	}
	if p.j.Margin.Rising && s.Does == Coat {
		now, next := p.j.Weather.Slab.At(d.start), p.j.Weather.Slab.At(d.start+time.Hour)
		if next < now-0.05 {
			p.find(Finding{Key: "slab-falling", Severity: Watch, Step: id, Section: section, When: p.clock(d.start), Found: Amount{units.TempDelta(next - now)}, Owner: p.j.Margin.Owner, Limit: p.j.Margin.ID})
		}
	}
	if t, ok := m.Times[TackFree]; ok && len(t.Table) > 0 {
		if from, k, ok := p.j.Weather.Slab.below(t.Table[0].Temp.Kelvin()-1e-6, d.start, until); ok {
			p.find(Finding{Key: "colder-than-data-sheet", Severity: Watch, Step: id, Section: section, When: p.clock(from), Found: Amount{units.Kelvin(k)}, Asked: Amount{t.Table[0].Temp}, Owner: "data sheet", Limit: m.ID + "@" + m.Version})
		}
	}
}

// times are from a moment to another.
type times struct{ from, to time.Duration }

// shifts parts the time from the start of a step until it is tack-free into
// that in which the crew places it and the rest: work that is not a coat is
// left at the end of a shift, and taken up in the next.
func (p *planner) shifts(s *Step, d placed, until time.Duration) (while, rest []times) {
	for at := d.start; ; {
		end := d.end
		if s.Does != Coat {
			_, shut := p.open(at)
			end = min(end, shut)
		}
		while = append(while, times{at, end})
		if end == d.end {
			break
		}
		at, _ = p.open(end)
		rest = append(rest, times{end, at})
	}
	if until > d.end {
		rest = append(rest, times{d.end, until})
	}
	return while, rest
}

// judgeConditions tells conditions that are not met in the weather given, and
// liquids placed before one is: only a recipe whose step waits for its Done
// keeps them back.
func (p *planner) judgeConditions() {
	for i, id := range p.j.Recipe.order {
		d, ok := p.done[spot{id, 0}]
		s := p.step(id)
		if !ok || s.Does != Condition {
			continue
		}
		f := Finding{Key: "condition-not-met", Severity: Watch, Step: id, When: p.clock(d.start), Owner: "recipe", Limit: strings.TrimPrefix(s.Slab.text(), "from ")}
		if d.never {
			p.find(f)
		}
		for _, other := range p.j.Recipe.order[i+1:] {
			if p.needs[other] == nil || p.step(other).Does == Broadcast {
				continue
			}
			first := time.Duration(math.MaxInt64)
			for section := range p.o.Sections + 1 {
				if o, ok := p.done[spot{other, section}]; ok {
					first = min(first, o.start)
				}
			}
			if first < math.MaxInt64 && (d.never || first < d.end) {
				f.Key, f.Step, f.When, f.Until = "condition-not-awaited", other, p.clock(first), nil
				if !d.never {
					f.Until = p.clock(d.end)
				}
				p.find(f)
				break // those after it are later
			}
		}
	}
}
