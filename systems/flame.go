package systems

import (
	"slices"
	"time"

	"github.com/tackfree/tackfree/climate"
)

// vapours are the cautions of materials whose vapour burns, and how grave an open
// flame beside them is: methacrylate monomer lies along the floor and flashes
// below room temperature; solvent in a coat is less of it, and thins out sooner.
// Common practice; 29 CFR 1926.154 and the caution heater-burn say the same.
var vapours = map[string]Severity{"methacrylate": Stop, "solvent": Watch}

// judgeFlames tells of each step whose vapour burns while an unvented heater
// burns in the same space, from its first section's start until it is tack-free.
func (p *planner) judgeFlames() {
	for _, id := range p.j.Recipe.order {
		if !p.cures(id) {
			continue
		}
		var grave Severity
		for _, c := range p.material(id).Cautions {
			if s, ok := vapours[c]; ok && (grave == "" || graver(s, grave) < 0) {
				grave = s
			}
		}
		if grave == "" {
			continue
		}
		var first, last *time.Time
		flames := map[string]bool{}
		names := ""
		for i := range p.o.Schedule {
			w := &p.o.Schedule[i]
			if w.Step != id {
				continue
			}
			wet := p.j.Start.Add(p.j.Site.Span) // if it never comes to tack-free
			for _, e := range w.Events {
				if e.Event == TackFree && e.At != nil {
					wet = *e.At
				}
			}
			burning := false
			for k, h := range p.j.Site.Heaters {
				if !p.burns(k, w.Start.Sub(p.j.Start), wet.Sub(p.j.Start)) {
					continue
				}
				burning = true
				if !flames[h.Name] {
					if flames[h.Name] = true; names != "" {
						names += " and "
					}
					names += h.Name
				}
			}
			if burning {
				if start := w.Start; first == nil || start.Before(*first) {
					first = &start
				}
				if last == nil || wet.After(*last) {
					last = &wet
				}
			}
		}
		if first != nil {
			m := p.material(id)
			p.find(Finding{Key: "flame-in-vapour", Severity: grave, Step: id, When: first, Until: last, Owner: "data sheet, " + m.ID + "@" + m.Version, Limit: names})
		}
	}
}

// burns reports whether unvented heater k burns fuel between two times.
func (p *planner) burns(k int, from, to time.Duration) bool {
	h := &p.j.Site.Room.Heaters[k]
	if !h.Unvented {
		return false
	}
	states := p.j.Site.Forecast.States
	i, _ := slices.BinarySearchFunc(states, from, func(x climate.RoomState, t time.Duration) int { return int(min(max(x.At-t, -1), 1)) })
	for i = max(i, 1); i < len(states) && states[i-1].At < to; i++ {
		a, b := &states[i-1], &states[i]
		if h.Tank == 0 && len(h.Refills) == 0 { // from the main: what all heaters take in tells
			if b.Power > 0 {
				return true
			}
		} else if b.Fuel[k] < a.Fuel[k] {
			return true
		}
	}
	return false
}
