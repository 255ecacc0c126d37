package systems

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// differs compares a plan with another.
func (p *planner) differs(base *planner, from time.Time) Answer {
	a := Answer{Outcome: p.o, Comes: []Finding{}, Goes: []Finding{}, Moves: []Moved{}, Coats: []CoatFate{}, Steps: []StepShift{}}
	a.findings(base.o, p.o)
	slices.SortStableFunc(a.Comes, soonest)
	slices.SortStableFunc(a.Goes, soonest)
	if a.BreaksFirst = a.first(from); a.BreaksFirst != nil && p.j.keep != nil && a.BreaksFirst.At.Before(from) {
		a.BreaksFirst.At, a.BreaksFirst.early = from, 0 // with the work as it was nothing does before: of a coat laid before then the finding tells when that was
	}
	a.steps(base.o, p.o)
	a.LastWork = shift(&base.o.End, &p.o.End)
	a.Foot, a.HandOver = shift(base.o.Foot, p.o.Foot), shift(base.o.Service, p.o.Service)
	if base.o.Heat != nil && p.o.Heat != nil {
		for i, h := range p.o.Heat.Heaters {
			was := &base.o.Heat.Heaters[i]
			a.Fuel = append(a.Fuel, FuelChange{h.Name, h.Fuel, was.Burned, h.Burned, was.TakenIn, h.TakenIn, h.Empty})
		}
	}
	was, now := map[string]int{}, map[string]int{} // units by material
	for _, l := range base.o.Order {
		was[l.Material] = l.Units
	}
	for _, l := range p.o.Order {
		now[l.Material] = l.Units
		if n := was[l.Material]; n != l.Units {
			a.Order = append(a.Order, OrderShift{l.Material, l.Unit, n, l.Units})
		}
	}
	for _, l := range base.o.Order {
		if _, ok := now[l.Material]; !ok {
			a.Order = append(a.Order, OrderShift{l.Material, l.Unit, l.Units, 0})
		}
	}
	a.coats(p, base, from)
	return a
}

// A findingID tells findings of one thing from others.
type findingID struct {
	key, step, limit, event string
	section                 int
}

func identify(f *Finding) findingID { return findingID{f.Key, f.Step, f.Limit, f.Event, f.Section} }

// findings sorts the findings of two plans into those that come, go and move.
// Of those of one thing that stand several times the ones that share the most
// time are taken together, and the rest in their order. What is left of them
// neither comes nor goes where the other plan has it all the while.
func (a *Answer) findings(was, now *Outcome) {
	news := map[findingID][]int{}
	for i := range now.Findings {
		id := identify(&now.Findings[i])
		news[id] = append(news[id], i)
	}
	olds := map[findingID][]int{}
	for i := range was.Findings {
		id := identify(&was.Findings[i])
		olds[id] = append(olds[id], i)
	}
	with := make([]int, len(now.Findings)) // 1 + the place of what it was
	gone := make([]bool, len(was.Findings))
	for i := range gone {
		gone[i] = true
	}
	for id, ns := range news {
		for _, fits := range []func(x, y *Finding) time.Duration{
			func(x, y *Finding) time.Duration {
				if alike(x, y) {
					return 1
				}
				return 0
			},
			shared,
			func(x, y *Finding) time.Duration { return 1 },
		} {
			for {
				var best time.Duration
				n, o := -1, -1
				for _, i := range ns {
					for _, k := range olds[id] {
						if by := fits(&was.Findings[k], &now.Findings[i]); with[i] == 0 && gone[k] && by > best {
							best, n, o = by, i, k
						}
					}
				}
				if n < 0 {
					break
				}
				with[n], gone[o] = o+1, false
			}
		}
	}
	for i, f := range now.Findings {
		id := identify(&f)
		if o := with[i]; o == 0 {
			if !slices.ContainsFunc(olds[id], func(k int) bool { return covers(&was.Findings[k], &f) }) {
				a.Comes = append(a.Comes, f)
			}
		} else if old := was.Findings[o-1]; !alike(&old, &f) {
			a.Moves = append(a.Moves, Moved{old, f})
		}
	}
	for k, f := range was.Findings {
		if gone[k] && !slices.ContainsFunc(news[identify(&f)], func(i int) bool { return covers(&now.Findings[i], &f) }) {
			a.Goes = append(a.Goes, f)
		}
	}
	a.lasts(was, olds)
}

// lasts notes what the space lacks when it does not in the plan, such as the heat
// of a tank that is not refilled: from the first such moment on, if it comes when
// the plan has been so before.
func (a *Answer) lasts(was *Outcome, olds map[findingID][]int) {
	for _, m := range a.Moves {
		f := m.Now
		if f.Step != "" || f.When == nil || f.Until == nil {
			continue
		}
		from, all := *f.When, olds[identify(&f)]
		for again := true; again; {
			again = false
			for _, k := range all {
				if o := &was.Findings[k]; o.When != nil && o.Until != nil && !o.When.After(from.Add(grain)) && o.Until.After(from) {
					from, again = *o.Until, true
				}
			}
		}
		if f.Until.Sub(from) > grain {
			f.When = &from
			a.longer = append(a.longer, f)
		}
	}
}

// shared returns for how long both findings are so.
func shared(x, y *Finding) time.Duration {
	if x.When == nil || y.When == nil || x.Until == nil || y.Until == nil {
		return 0
	}
	from, to := latest(*x.When, *y.When), *x.Until
	if y.Until.Before(to) {
		to = *y.Until
	}
	return to.Sub(from)
}

// covers reports whether x is so for all the time that y is, to the minute.
func covers(x, y *Finding) bool {
	return x.Severity == y.Severity && x.When != nil && y.When != nil && x.Until != nil && y.Until != nil && x.When.Sub(*y.When) < time.Minute && y.Until.Sub(*x.Until) < time.Minute
}

// alike reports whether two findings of one thing say the same to the minute.
func alike(a, b *Finding) bool {
	near := func(s, t *time.Time) bool {
		return (s == nil) == (t == nil) && (s == nil || s.Sub(*t).Abs() < time.Minute)
	}
	return a.Severity == b.Severity && near(a.When, b.When) && near(a.Until, b.Until) && a.Text == b.Text
}

// first returns what breaks first of what comes, is graver, or comes earlier by
// more than a quarter of an hour, and of what the space lacks for longer: of what
// stops the work, or else of what is to be watched. What is told of one worst
// moment of the space does not come earlier because that moment does.
func (a *Answer) first(from time.Time) *Break {
	type candidate struct {
		Finding
		anyway *time.Time
	}
	var all []candidate
	for _, f := range slices.Concat(a.Comes, a.longer) {
		all = append(all, candidate{f, nil})
	}
	for _, m := range a.Moves {
		if graver(m.Now.Severity, m.Was.Severity) < 0 {
			all = append(all, candidate{m.Now, nil})
		} else if m.Now.Step != "" && m.Now.When != nil && m.Was.When != nil && m.Was.When.Sub(*m.Now.When) > grain {
			all = append(all, candidate{m.Now, m.Was.When})
		}
	}
	all = slices.DeleteFunc(all, func(c candidate) bool { return c.Severity == Note })
	if len(all) == 0 {
		return nil
	}
	c := slices.MinFunc(all, func(x, y candidate) int { return soonest(x.Finding, y.Finding) })
	b := breakOf(&c.Finding, from)
	b.Anyway = c.anyway
	return b
}

// soonest orders findings by their gravity and then by their time; what has none
// comes last.
func soonest(x, y Finding) int {
	far := time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)
	at := func(f Finding) time.Time {
		if f.When == nil {
			return far
		}
		return *f.When
	}
	return cmp.Or(graver(x.Severity, y.Severity), at(x).Compare(at(y)))
}

// breakOf returns a finding as what breaks.
func breakOf(f *Finding, from time.Time) *Break {
	b := &Break{Key: f.Key, Step: f.Step, Section: f.Section, Found: f.Found, Asked: f.Asked, Worst: f.Worst, Owner: f.Owner, Limit: f.Limit, Text: f.Text}
	if b.At = from; f.When != nil {
		b.At = *f.When
	}
	if after := b.At.Sub(from); after >= 0 {
		b.After = units.Span(after)
	} else {
		b.early = -after
	}
	if b.By = beyond(f.Found.Q, f.Asked.Q); b.By.Q == nil && f.When != nil && f.Until != nil && f.Until.After(*f.When) && f.Found.Q == nil {
		b.By = Amount{units.Span(f.Until.Sub(*f.When).Round(time.Second))}
	}
	return b
}

func shift(was, now *time.Time) Shift {
	s := Shift{Was: was, Now: now}
	if was != nil && now != nil {
		if by := units.Span(now.Sub(*was)); by > 0 {
			s.Later = &by
		} else if by = -by; by > 0 {
			s.Sooner = &by
		}
	}
	return s
}

// moved reports whether a shift is of half a minute or more.
func (s *Shift) moved() bool {
	return (s.Was == nil) != (s.Now == nil) || s.Was != nil && s.Now.Sub(*s.Was).Abs() >= 30*time.Second
}

// steps lists the steps that are not as they were.
func (a *Answer) steps(was, now *Outcome) {
	type at struct {
		step    string
		section int
	}
	find := func(o *Outcome) map[at]*Work {
		m := map[at]*Work{}
		for i := range o.Schedule {
			w := &o.Schedule[i]
			m[at{w.Step, w.Section}] = w
		}
		return m
	}
	olds, news := find(was), find(now)
	compare := func(w, x *Work) {
		s := StepShift{}
		var before, after []EventTime
		if w != nil {
			s.Step, s.Title, s.Section, s.Start.Was, s.End.Was, before = w.Step, w.Title, w.Section, &w.Start, &w.End, w.Events
		}
		if x != nil {
			s.Step, s.Title, s.Section, s.Start.Now, s.End.Now, after = x.Step, x.Title, x.Section, &x.Start, &x.End, x.Events
		}
		s.Start, s.End = shift(s.Start.Was, s.Start.Now), shift(s.End.Was, s.End.Now)
		for _, event := range Events() {
			is := func(e EventTime) bool { return e.Event == event }
			i, k := slices.IndexFunc(before, is), slices.IndexFunc(after, is)
			e := EventShift{Event: event}
			if i >= 0 {
				e.Was = before[i].At
			}
			if k >= 0 {
				e.Now = after[k].At
			}
			if e.Shift = shift(e.Was, e.Now); e.moved() {
				s.Events = append(s.Events, e)
			}
		}
		if s.Start.moved() || s.End.moved() || len(s.Events) > 0 {
			a.Steps = append(a.Steps, s)
		}
	}
	for i := range now.Schedule {
		x := &now.Schedule[i]
		compare(olds[at{x.Step, x.Section}], x)
	}
	for i := range was.Schedule {
		if w := &was.Schedule[i]; news[at{w.Step, w.Section}] == nil {
			compare(w, nil)
		}
	}
}

// coats says what becomes of each coat.
func (a *Answer) coats(p, base *planner, from time.Time) {
	for _, w := range p.o.Schedule {
		if w.Does != Coat {
			continue
		}
		at := spot{w.Step, w.Section}
		d, m := p.done[at], p.material(w.Step)
		c := CoatFate{Step: w.Step, Title: w.Title, Section: w.Section, Start: w.Start, Status: w.Status, Inside: true, WindowMet: true, Ready: true, Chemistries: []Chemistry{}}
		if e, ok := d.reach[m.nearest(TackFree)]; ok && !e.never {
			c.TackFree = p.clock(e.at)
		}
		var broken []Finding
		for _, f := range p.o.Findings {
			if f.Step != w.Step || f.Section != w.Section || f.Severity != Stop {
				continue
			}
			switch {
			case f.Key == "window-missed" || f.Key == "no-longer-wet":
				c.WindowMet = false
			case f.Key == "not-ready":
				c.Ready = false
			case f.Key == "never-cures" || ofWeather(f.Key):
				c.Inside = false
			default:
				continue
			}
			broken = append(broken, f)
		}
		if len(broken) > 0 {
			f := slices.MinFunc(broken, func(x, y Finding) int { return x.When.Compare(*y.When) })
			c.Breaks = breakOf(&f, from)
			for _, g := range base.o.Findings {
				if identify(&g) == identify(&f) && g.Severity == Stop && (c.Breaks.Anyway == nil || g.When.Before(*c.Breaks.Anyway)) {
					c.Breaks.Anyway = g.When
				}
			}
		}
		if w.Status != "" { // it lies there
			a.Coats = append(a.Coats, c)
			continue
		}
		ready, why, ok := p.ready(w.Step, w.Section, 0)
		if o := p.outlook(w.Step); ok {
			c.Chemistries = o.chemistries(w.Step, w.Section, max(ready, d.start))
		} else {
			c.NeverReady = why
		}
		a.Coats = append(a.Coats, c)
	}
}

// ofWeather reports whether a finding's key is of a limit that weather breaks.
func ofWeather(key string) bool {
	for _, l := range limits {
		if key == l.key || key == l.key+"-before-tack-free" {
			return true
		}
	}
	return false
}

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
