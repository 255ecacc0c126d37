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
	a.BreaksFirst = a.first(from)
	a.steps(base.o, p.o)
	a.LastWork = shift(&base.o.End, &p.o.End)
	a.Foot, a.HandOver = shift(base.o.Foot, p.o.Foot), shift(base.o.Service, p.o.Service)
	if base.o.Heat != nil && p.o.Heat != nil {
		for i, h := range p.o.Heat.Heaters {
			if h.Fuel != "" {
				a.Fuel = append(a.Fuel, FuelChange{h.Name, base.o.Heat.Heaters[i].Burned, h.Burned, h.Empty})
			}
		}
	}
	units := map[string][3]int{} // 1 + place in Order before, place after, and the units
	for i, l := range base.o.Order {
		units[l.Material] = [3]int{i + 1, 0, l.Units}
	}
	for _, l := range p.o.Order {
		if was := units[l.Material]; was[2] != l.Units {
			a.Order = append(a.Order, OrderShift{l.Material, l.Unit, was[2], l.Units})
		}
		delete(units, l.Material)
	}
	for _, l := range base.o.Order {
		if _, ok := units[l.Material]; ok {
			a.Order = append(a.Order, OrderShift{l.Material, l.Unit, l.Units, 0})
		}
	}
	a.coats(p, from)
	return a
}

// A findingID tells findings of one thing from others.
type findingID struct {
	key, step, limit, event string
	section                 int
}

func identify(f *Finding) findingID { return findingID{f.Key, f.Step, f.Limit, f.Event, f.Section} }

// findings sorts the findings of two plans into those that come, go and move.
// Those of one thing that stand several times are taken in their order.
func (a *Answer) findings(was, now *Outcome) {
	left := map[findingID][]Finding{}
	for _, f := range was.Findings {
		id := identify(&f)
		left[id] = append(left[id], f)
	}
	for _, f := range now.Findings {
		id := identify(&f)
		old := left[id]
		if len(old) == 0 {
			a.Comes = append(a.Comes, f)
			continue
		}
		left[id] = old[1:]
		if !alike(&old[0], &f) {
			a.Moves = append(a.Moves, Moved{old[0], f})
		}
	}
	for _, f := range was.Findings {
		id := identify(&f)
		if old := left[id]; len(old) > 0 && alike(&old[0], &f) {
			a.Goes = append(a.Goes, f)
			left[id] = old[1:]
		}
	}
}

// alike reports whether two findings of one thing say the same to the minute.
func alike(a, b *Finding) bool {
	near := func(s, t *time.Time) bool {
		return (s == nil) == (t == nil) && (s == nil || s.Sub(*t).Abs() < time.Minute)
	}
	return a.Severity == b.Severity && near(a.When, b.When) && near(a.Until, b.Until) && a.Text == b.Text
}

// first returns what breaks first of what comes or comes earlier: of what stops
// the work, or else of what is to be watched.
func (a *Answer) first(from time.Time) *Break {
	all := slices.Clone(a.Comes)
	for _, m := range a.Moves {
		if m.Now.When != nil && m.Was.When != nil && m.Now.When.Before(m.Was.When.Add(-time.Minute)) {
			all = append(all, m.Now)
		}
	}
	all = slices.DeleteFunc(all, func(f Finding) bool { return f.Severity == Note })
	if len(all) == 0 {
		return nil
	}
	f := slices.MinFunc(all, soonest)
	return breakOf(&f, from)
}

// soonest orders findings by their gravity and then by their time; what has none
// comes last.
func soonest(x, y Finding) int {
	rank := map[Severity]int{Stop: 0, Watch: 1, Note: 2}
	far := time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)
	at := func(f Finding) time.Time {
		if f.When == nil {
			return far
		}
		return *f.When
	}
	return cmp.Or(cmp.Compare(rank[x.Severity], rank[y.Severity]), at(x).Compare(at(y)))
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
func (a *Answer) coats(p *planner, from time.Time) {
	for _, w := range p.o.Schedule {
		if w.Does != Coat {
			continue
		}
		at := spot{w.Step, w.Section}
		d, m := p.done[at], p.material(w.Step)
		c := CoatFate{Step: w.Step, Title: w.Title, Section: w.Section, Start: w.Start, Inside: true, WindowMet: true, Ready: true}
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
