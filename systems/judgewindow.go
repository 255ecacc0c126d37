package systems

import (
	"time"
)

// judgeWindow checks that the step comes before the windows of the coats under
// it close. The crew works in the same order each time: the first spot laid is
// the first to be covered, and the last one the last.
func (p *planner) judgeWindow(id string, s *Step, section int, d placed) {
	missed := func(key, other, event string) {
		if latest, by, ok := p.closed(other, event, section, d); ok {
			m := p.material(other)
			p.find(Finding{Key: key, Severity: Stop, Step: id, Section: section, When: p.clock(latest), Until: p.clock(by), Owner: "data sheet", Limit: m.ID + "@" + m.Version})
		}
	}
	for _, l := range p.before[id] {
		if s.Wet && l.event == TackFree {
			missed("no-longer-wet", l.step, l.event)
			continue
		}
		missed("window-missed", l.step, l.event)
	}
	if s.Does == Broadcast {
		missed("broadcast-too-late", s.Into, BroadcastLatest)
	}
}

// closed reports whether d comes after the window of another step closes: when
// it closes, and when the part of d that it is closed to comes.
func (p *planner) closed(other, event string, section int, d placed) (latest, by time.Duration, missed bool) {
	o, ok := p.done[spot{other, section}]
	if !ok {
		o, ok = p.done[spot{other, 0}]
	}
	if !ok {
		return 0, 0, false
	}
	return p.closing(other, event, o).after(d)
}

// A closing is when a window closes on the first spot of a coat and on the last
// one; forever if it does not.
type closing struct{ wet, end time.Duration }

// closing returns when the window of a placed step closes.
func (p *planner) closing(id, event string, d placed) closing {
	c := closing{forever, forever}
	t, given := p.material(id).Times[event]
	if !given {
		return c
	}
	if at, err := p.comes(t, true, d.wet); err == nil {
		c.wet = at
	}
	if at, err := p.comes(t, true, d.end); err == nil {
		c.end = at
	}
	return c
}

// after reports whether d comes after the window closes: when it does, and when
// the part of d that it is closed to comes.
func (c closing) after(d placed) (latest, by time.Duration, missed bool) {
	if d.wet > c.wet {
		return c.wet, d.wet, true
	}
	return c.end, d.end, d.end > c.end
}
