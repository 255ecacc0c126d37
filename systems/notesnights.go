package systems

import (
	"fmt"
	"math"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// tell notes a figure that has words for a reason.
func (n notes) tell(path, name string, value any, formula string, in ...arg) {
	n[path] = note{name: name, value: value, formula: formula, in: in, told: true}
}

// weatherArgs are the plan's weather as inputs.
func (p *planner) weatherArgs() []arg {
	return []arg{p.readings("slab", p.j.Weather.Slab), p.readings("air", p.j.Weather.Air), p.readings("humidity", p.j.Weather.RH)}
}

// shiftArgs are the hours of a shift as inputs.
func (p *planner) shiftArgs() []arg {
	return []arg{fromJob("shift begins after midnight", units.Span(p.j.Crew.From)), fromJob("shift ends after midnight", units.Span(p.j.Crew.To))}
}

// noteSection notes the section that a figure's line is about.
func (p *planner) noteSection(n notes, path string, section int) {
	n.tell(path, "section", section, "the section that it is about; none of the whole floor", arg{name: "sections", value: p.o.Sections, origin: Origin{Basis: FromJob, Note: "given, or as many as the shifts need"}})
}

// eventArgs is the event of a piece of work that comes at a time, or, if none of
// the schedule's is told for then, what its events hang on.
func (p *planner) eventArgs(n notes, step string, section int, at time.Time) []arg {
	path := workPath(&Work{Step: step, Section: section})
	for _, w := range p.o.Schedule {
		if w.Step != step || w.Section != section {
			continue
		}
		for _, e := range w.Events {
			if e.At != nil && e.At.Equal(at) {
				return []arg{of(words(e.Event)+" of "+w.Title, path+e.Event)}
			}
		}
	}
	if _, ok := n[path+"end"]; ok {
		return append([]arg{of("end of the work", path+"end")}, p.readings("slab", p.j.Weather.Slab))
	}
	return p.weatherArgs()
}

// noteNights notes what lies there while nobody works, and what the weather does
// to it.
func (p *planner) noteNights(n notes) {
	for i := range p.o.Nights {
		x, at := &p.o.Nights[i], fmt.Sprintf("nights.%d.", i)
		from, until := p.shiftArgs(), p.shiftArgs()
		for k := range p.o.Schedule {
			w := &p.o.Schedule[k]
			if w.End.Equal(x.From) {
				from = append(from, of("end of "+w.Title, workPath(w)+"end"))
			}
			if w.Start.Equal(x.Until) {
				until = append(until, of("start of "+w.Title, workPath(w)+"start"))
			}
		}
		n.tell(at+"from", "night begins", x.From, "when the last work of a shift ends, or a shift's hours begin and nobody has work", from...)
		n.tell(at+"until", "night ends", x.Until, "when the next work begins, a shift's hours begin, or all is tack-free", until...)
		least := func(path, name string, value any, figure func(conditions) float64) {
			n[at+path] = note{name: name, value: value, formula: "the least from the night's beginning to its end, " + onLine, in: append([]arg{of("night begins", at+"from"), of("night ends", at+"until")}, p.weatherArgs()...), by: func(map[string]float64) (float64, error) {
				low := func(more time.Duration) float64 {
					low := math.Inf(1)
					p.between(x.From.Sub(p.j.Start)-more, x.Until.Sub(p.j.Start)+more, func(_ time.Duration, c conditions) { low = min(low, figure(c)) })
					return low
				}
				return min(max(si(value), low(time.Second)), low(-time.Second)), nil // the times are told to the second
			}}
		}
		least("lowest_slab", "lowest slab", x.LowestSlab, func(c conditions) float64 { return c.slab })
		least("lowest_air", "lowest air", x.LowestAir, func(c conditions) float64 { return c.air })
		least("margin", "least margin", x.Margin, func(c conditions) float64 { return c.slab - c.dew })
		n.tell(at+"lowest_slab_at", "when the slab is lowest", x.LowestSlabAt, "when it is the least of the night", of("lowest slab", at+"lowest_slab"))
		n.tell(at+"lowest_air_at", "when the air is lowest", x.LowestAirAt, "when it is the least of the night", of("lowest air", at+"lowest_air"))
		n.tell(at+"margin_at", "when the margin is least", x.MarginAt, "when it is the least of the night", of("least margin", at+"margin"))
		for k := range x.Lying {
			p.noteLying(n, fmt.Sprintf("%slying.%d.", at, k), &x.Lying[k])
		}
		for k := range x.Broken {
			p.noteBroken(n, fmt.Sprintf("%sbroken.%d.", at, k), &x.Broken[k])
		}
		for k := range x.Dry {
			p.noteDry(n, at, fmt.Sprintf("%sdry.%d.", at, k), x, &x.Dry[k])
		}
	}
}

func (p *planner) noteLying(n notes, at string, l *Lying) {
	p.noteSection(n, at+"section", l.Section)
	for _, e := range []struct {
		path, name string
		at         *time.Time
		why        string
	}{
		{"free", "tack-free", l.Free, "when it is tack-free, as in the schedule"},
		{"ready", "ready for " + l.Next, l.Ready, "when it has come to what the next work waits for, as in the schedule"},
		{"shuts", "window for " + l.Missed + " closes", l.Shuts, "when the last moment for the work that should meet it has come, as in the schedule"},
	} {
		if e.at != nil {
			n.tell(at+e.path, e.name+": "+l.Title, *e.at, e.why, p.eventArgs(n, l.Step, l.Section, *e.at)...)
		}
	}
	if l.Dry != nil {
		in := p.weatherArgs()
		for k, c := range p.o.Heat.Water.Each {
			if c.Step == l.Step && c.Section == l.Section && c.Dry != nil {
				in = []arg{of("dry", fmt.Sprintf("heat.water.each.%d.dry", k))}
			}
		}
		n.tell(at+"dry", "water out of "+l.Title, *l.Dry, "when the forecast of the space has the water out of it", in...)
	}
}

func (p *planner) noteBroken(n notes, at string, b *Broken) {
	p.noteSection(n, at+"section", b.Section)
	for path, t := range map[string]time.Time{"from": b.From, "until": b.Until, "worst": b.Worst} {
		n.tell(at+path, path, t, map[string]string{"from": "when it begins", "until": "when it ends, or the coat is tack-free", "worst": "when it is worst"}[path]+", along the weather of the night", p.weatherArgs()...)
	}
	f := Finding{Key: b.Key, Step: b.Step, Section: b.Section, When: &b.From, Until: &b.Until, Worst: &b.Worst, Found: b.Found, Asked: b.Asked, Owner: "data sheet"}
	if b.Key == "dew-point-margin" {
		f.Owner, f.Limit = p.j.Margin.Owner, p.j.Margin.ID
	}
	found, asked := p.noteFound(n, &f), p.noteAsked(n, &f)
	found.value, asked.value = b.Found.Q, b.Asked.Q
	n[at+"found"], n[at+"asked"] = found, asked
}

// noteDry notes from when to when a tank gives nothing in a night, whose notes
// begin with night.
func (p *planner) noteDry(n notes, night, at string, x *Night, d *TankDry) {
	from, until := of("night begins", night+"from"), of("night ends", night+"until")
	for i := range p.o.Heat.Heaters {
		u := &p.o.Heat.Heaters[i]
		if u.Name != d.Heater {
			continue
		}
		for k, t := range u.Empty {
			if t.Equal(d.From) {
				from = of("tank empty", fmt.Sprintf("heat.heaters.%d.empty.%d", i, k))
			}
		}
		for k, t := range u.Refilled {
			if t.Equal(d.Until) {
				until = of("tank refilled", fmt.Sprintf("heat.heaters.%d.refilled.%d", i, k))
			}
		}
	}
	n.tell(at+"from", d.Heater+" gives nothing from", d.From, "when its tank is empty, or the night begins", from)
	n.tell(at+"until", d.Heater+" gives nothing until", d.Until, "when its tank is refilled, or the night ends", until)
}
