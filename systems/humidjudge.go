package systems

import (
	"fmt"
	"sort"
	"time"

	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
)

// judgeHumidity tells where the air, over the slab or of the bucket, is damper or
// drier than the columns of a liquid's times, on the side on which no progress is
// counted, or its pot life or window is not told: of each section the first such
// event.
func (p *planner) judgeHumidity() error {
	for _, id := range p.j.Recipe.order {
		if p.needs[id] == nil || p.step(id).Does == Broadcast {
			continue
		}
		for section := range p.o.Sections + 1 {
			d, ok := p.done[spot{id, section}]
			if !ok || d.reach == nil { // of a decision, where it is not known yet when
				continue
			}
			if err := p.judgeColumns(id, section, d); err != nil {
				return err
			}
		}
	}
	return nil
}

// judgeColumns is judgeHumidity of one section.
func (p *planner) judgeColumns(id string, section int, d placed) error {
	for _, event := range Events() {
		if p.material(id).Times[event].Humid == nil {
			continue
		}
		f, found, err := p.beyondColumns(id, event, d)
		if err != nil {
			return fmt.Errorf("systems.Plan: %s of step %s: %w", event, id, err)
		}
		if found {
			f.Section = section
			p.find(f)
			break
		}
	}
	return nil
}

// overHumidity reports whether any of a liquid's times are over humidity.
func (m *Material) overHumidity() bool {
	for _, t := range m.Times {
		if t.Humid != nil {
			return true
		}
	}
	return false
}

// beyondColumns looks from the work on a section until an event of times over
// humidity for air beyond their columns, on the side that matters.
func (p *planner) beyondColumns(id, event string, d placed) (f Finding, found bool, err error) {
	m := p.material(id)
	h := m.Times[event].Humid
	edge, damp := h.RH[0], false // on the dry side
	// Waterborne liquids are slower the damper it is, moisture-cured ones the drier.
	if (h.By == cure.Waterborne) != isLatest(event) {
		edge, damp = h.RH[len(h.RH)-1], true
	}
	from, to := d.end, max(d.end, p.last)
	if isLatest(event) {
		from = d.wet
	}
	if event == PotLife {
		from, to = d.start, d.end
	} else if e := d.reach[event]; !e.never {
		to = e.at
	}
	f = Finding{Key: "humidity-beyond-data-sheet", Severity: Watch, Step: id, Event: event, Owner: "data sheet", Limit: m.ID + "@" + m.Version, Asked: Amount{edge}}
	at := Series(nil)
	if event == PotLife {
		at = p.j.Weather.RH
	} else if at, err = p.seriesOverSlab(); err != nil {
		return f, false, err
	}
	b, found := at.beyond(float64(edge), damp, from, to)
	if !found {
		return f, false, nil
	}
	f.When, f.Until, f.Worst = p.clock(b.first), p.clock(b.last), p.clock(b.worst)
	c := p.weather(b.worst)
	rh := units.Fraction(c.rh)
	if event != PotLife {
		rh, err = c.overSlab()
	}
	f.Found = Amount{rh}
	return f, true, err
}

// seriesOverSlab is the humidity over the slab as a series.
func (s *sky) seriesOverSlab() (Series, error) {
	damp, err := s.overSlab()
	if err == nil && s.over == nil {
		for _, d := range damp {
			s.over = append(s.over, Reading{d.At, float64(d.RH)})
		}
	}
	return s.over, err
}

// beyondEdge says when a series is beyond an edge first, last and most.
type beyondEdge struct{ first, last, worst time.Duration }

// beyond looks whether s is above edge, or below it, between from and to, by more
// than a millionth, which is rounding.
func (s Series) beyond(edge float64, above bool, from, to time.Duration) (b beyondEdge, ok bool) {
	by := func(t time.Duration) float64 {
		if above {
			return s.At(t) - edge - 1e-6
		}
		return edge - s.At(t) - 1e-6
	}
	at, before, most := from, by(from), 0.0
	look := func(t time.Duration, v float64) {
		if v > most {
			b.worst, most = t, v
		}
	}
	if ok = before > 0; ok {
		b.first, b.last = from, from
		look(from, before)
	}
	for i := sort.Search(len(s), func(i int) bool { return s[i].At > from }); at < to; i++ {
		next := to
		if i < len(s) {
			next = min(to, s[i].At)
		}
		now := by(next)
		cross := next
		if (before > 0) != (now > 0) {
			cross = at + time.Duration(float64(next-at)*before/(before-now))
		}
		if now > 0 && !ok {
			b.first, ok = cross, true
		}
		switch {
		case now > 0:
			b.last = next
		case before > 0:
			b.last = cross
		}
		look(next, now)
		at, before = next, now
	}
	return b, ok
}
