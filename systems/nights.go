package systems

import (
	"cmp"
	"slices"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// A Night is a time in which nobody works: from the last work of a shift to the
// first of the next, or, where no shift works for longer than a day, to the hour
// at which one would begin; and after the last work until all is tack-free.
type Night struct {
	From         time.Time         `json:"from"`
	Until        time.Time         `json:"until"`
	Lying        []Lying           `json:"lying"` // what is not ready for the next work when it begins
	LowestSlab   units.Temperature `json:"lowest_slab"`
	LowestSlabAt time.Time         `json:"lowest_slab_at"`
	LowestAir    units.Temperature `json:"lowest_air"`
	LowestAirAt  time.Time         `json:"lowest_air_at"`
	Margin       units.TempDelta   `json:"margin"` // the least of the slab above the dew point
	MarginAt     time.Time         `json:"margin_at"`
	Broken       []Broken          `json:"broken"` // limits of what lies wet
	Dry          []TankDry         `json:"dry,omitempty"`
}

// A Lying is a coat, patch, joint or cove that lies there at night.
type Lying struct {
	Step    string     `json:"step"`
	Title   string     `json:"title"`
	Section int        `json:"section"`
	Wet     bool       `json:"wet"`              // not tack-free when the night begins
	Free    *time.Time `json:"free"`             // when it is tack-free; nil: never, or no time for it is given
	Dry     *time.Time `json:"dry,omitempty"`    // when the water is out of a waterborne coat, if that is after the night begins
	Next    string     `json:"next,omitempty"`   // the step that waits for it
	Ready   *time.Time `json:"ready"`            // when that may begin, as far as it hangs on this; nil: never
	Shuts   *time.Time `json:"shuts"`            // when a window of it closes in this night before the step that should meet it has come
	Missed  string     `json:"missed,omitempty"` // that step
}

// A Broken is a limit of what lies wet that the weather breaks in a night.
type Broken struct {
	Key     string    `json:"key"` // as of a [Finding] while it is placed
	Step    string    `json:"step"`
	Title   string    `json:"title"`
	Section int       `json:"section"`
	From    time.Time `json:"from"`
	Until   time.Time `json:"until"`
	Worst   time.Time `json:"worst"`
	Found   Amount    `json:"found"`
	Asked   Amount    `json:"asked"`
}

// Words says in a few words what is broken: "air too cold".
func (b Broken) Words() string {
	for _, l := range limits {
		if l.key == b.Key {
			return l.words
		}
	}
	return b.Key
}

// A TankDry is a heater that gives nothing for part of a night.
type TankDry struct {
	Heater string    `json:"heater"`
	From   time.Time `json:"from"`
	Until  time.Time `json:"until"`
}

// nights tells what lies there while nobody works, and what the weather does to it.
func (p *planner) nights() {
	p.o.Nights = []Night{}
	for _, t := range p.idle() {
		p.o.Nights = append(p.o.Nights, p.night(t))
	}
}

// maxNights keeps a floor that never cures from a plan of a year of nights: it tells
// the first of them.
const maxNights = 60

// idle returns the times in which nobody works. Breaks within a shift are none.
func (p *planner) idle() []times {
	var work []times
	for _, w := range p.o.Schedule {
		if w.Does == Condition {
			continue
		}
		d := p.done[spot{w.Step, w.Section}]
		if w.Does == Coat || w.Does == Broadcast { // not left half done
			work = append(work, times{d.start, d.end})
			continue
		}
		while, _ := p.shifts(p.step(w.Step), d, d.end)
		work = append(work, while...)
	}
	slices.SortStableFunc(work, func(a, b times) int { return cmp.Compare(a.from, b.from) })
	var out []times
	// part adds a time without work, parted where a shift would begin, if it leaves
	// the shift in which it begins.
	part := func(from, to time.Duration) {
		for from < to && len(out) < maxNights {
			next := p.shift(from)
			if next > to {
				next = to
			}
			if to-next < time.Hour {
				next = to
			}
			out = append(out, times{from, next})
			from = next
		}
	}
	if len(work) == 0 {
		return nil
	}
	end, free := work[0].to, time.Duration(0)
	for _, w := range work {
		if w.from > end && p.shift(end-1) <= w.from {
			part(end, w.from)
		}
		end = max(end, w.to)
	}
	for at, d := range p.done {
		if p.needs[at.step] == nil || p.step(at.step).Does == Broadcast {
			continue
		}
		if e, ok := d.reach[p.material(at.step).nearest(TackFree)]; ok && !e.never {
			free = max(free, e.at)
		} else if ok {
			free = max(free, p.last)
		}
	}
	if free > end && p.shift(end-1) < free {
		part(end, free)
	}
	return out
}

// shift returns the first beginning of a shift's hours after t, of a day of rest too.
func (p *planner) shift(t time.Duration) time.Duration {
	base := p.midnight()
	at := (t+base)/day*day + p.j.Crew.From - base
	for at <= t {
		at += day
	}
	return at
}

func (p *planner) night(t times) Night {
	n := Night{From: *p.clock(t.from), Until: *p.clock(t.to), Lying: []Lying{}, Broken: []Broken{}}
	first := true
	p.between(t.from, t.to, func(at time.Duration, c conditions) {
		if slab := units.Kelvin(c.slab); first || slab.Less(n.LowestSlab) {
			n.LowestSlab, n.LowestSlabAt = slab, *p.clock(at)
		}
		if air := units.Kelvin(c.air); first || air.Less(n.LowestAir) {
			n.LowestAir, n.LowestAirAt = air, *p.clock(at)
		}
		if margin := units.TempDelta(c.slab - c.dew); first || margin < n.Margin {
			n.Margin, n.MarginAt = margin, *p.clock(at)
		}
		first = false
	})
	for _, w := range p.o.Schedule {
		d, ok := p.done[spot{w.Step, w.Section}]
		if !ok || d.reach == nil || d.end > t.from {
			continue
		}
		m := p.material(w.Step)
		free, wet := d.reach[m.nearest(TackFree)]
		l := Lying{Step: w.Step, Title: w.Title, Section: w.Section, Wet: wet && (free.never || free.at > t.from)}
		if wet && !free.never {
			l.Free = p.clock(free.at)
		}
		if p.j.Site != nil {
			for i, c := range p.j.Site.coupling.coats {
				if x := p.j.Site.Forecast.Coats[i]; c.spot == (spot{w.Step, w.Section}) && x.IsDry && x.Dry > t.from {
					l.Dry = p.clock(x.Dry)
				}
			}
		}
		p.awaited(&l, d, t)
		if !l.Wet && l.Next == "" && l.Shuts == nil {
			continue
		}
		n.Lying = append(n.Lying, l)
		if !l.Wet {
			continue
		}
		until := t.to
		if !free.never {
			until = min(until, free.at)
		}
		for x := range p.against(m, t.from, until) {
			is, at, by, ok := p.cut(m, x, t.from, until)
			if !ok || by == 0 {
				continue
			}
			b := Broken{Key: limits[x.limit].key, Step: w.Step, Title: w.Title, Section: w.Section, From: *p.clock(is.from), Until: *p.clock(is.to), Worst: *p.clock(at)}
			b.Found.Q, b.Asked.Q = p.amounts(m, x.limit, p.weather(at))
			n.Broken = append(n.Broken, b)
		}
	}
	if p.j.Site != nil {
		for _, x := range p.stretches(climate.TankEmpty, climate.TankRefilled, true) {
			if from, to := max(x.from, t.from), min(x.to, t.to); from < to {
				n.Dry = append(n.Dry, TankDry{p.j.Site.Heaters[x.heater].Name, *p.clock(from), *p.clock(to)})
			}
		}
	}
	return n
}

// awaited fills in which step waits for what lies there, and which comes too late.
func (p *planner) awaited(l *Lying, d placed, t times) {
	m := p.material(l.Step)
	for _, id := range p.j.Recipe.order {
		if !p.active(id) {
			continue
		}
		comes, planned := p.done[spot{id, l.Section}]
		if !planned {
			comes, planned = p.done[spot{id, 1}] // on what is done on the whole floor the first section comes first
		}
		if !planned {
			comes, planned = p.done[spot{id, 0}]
		}
		for _, x := range p.after[id] {
			event := m.nearest(x.event)
			if x.step != l.Step || x.event == Done || event == "" || l.Next != "" && l.Next != id || planned && comes.start <= t.from {
				continue
			}
			e := d.reach[event]
			switch {
			case !e.never && e.at <= t.from:
				continue
			case e.never:
				l.Ready = nil
			case l.Next == "" || l.Ready != nil && l.Ready.Before(*p.clock(e.at)): // of several events the last
				l.Ready = p.clock(e.at)
			}
			l.Next = id
		}
		for _, x := range p.before[id] {
			e, ok := d.reach[x.event]
			if x.step == l.Step && ok && !e.never && e.at > t.from && e.at <= t.to && !(planned && comes.start <= e.at) && l.Shuts == nil {
				l.Shuts, l.Missed = p.clock(e.at), id
			}
		}
	}
}
