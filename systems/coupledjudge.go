package systems

import (
	"errors"
	"slices"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// judgeWater tells what the water of coats and slab does to the plan, and where
// it is not known.
func (p *planner) judgeWater() error {
	if p.j.Site == nil {
		return nil
	}
	for _, id := range p.j.Recipe.order {
		if p.lacksWater(id) {
			m := p.material(id)
			p.find(Finding{Key: "water-not-given", Severity: Watch, Step: id, Owner: "data sheet", Limit: m.ID + "@" + m.Version})
		}
	}
	forecast := len(p.j.given.Slab) == 0 || len(p.j.given.Air) == 0 || len(p.j.given.RH) == 0
	if p.j.Slab.Emission == nil && forecast && p.firstStep(Coat) != "" {
		p.find(Finding{Key: "slab-moisture-not-in-air", Severity: Note, Owner: "this plan"})
	}
	if err := p.judgeDrying(); err != nil {
		return err
	}
	return p.judgeDamp(forecast)
}

// lacksWater reports whether a step lays a waterborne coat whose water is not known.
func (p *planner) lacksWater(id string) bool {
	return p.step(id).Does == Coat && p.active(id) && p.waterborne(id) && !p.material(id).Water.Given()
}

// waterNotGiven counts those steps, where a space would follow it.
func (p *planner) waterNotGiven() (n int) {
	for _, id := range p.j.Recipe.order {
		if p.j.Site != nil && p.lacksWater(id) {
			n++
		}
	}
	return n
}

// firstStep returns the first step with work that does what, or "".
func (p *planner) firstStep(does string) string {
	for _, id := range p.j.Recipe.order {
		if p.step(id).Does == does && p.active(id) {
			return id
		}
	}
	return ""
}

// judgeDrying tells of coats that are still wet when their data sheet lets the
// next one on. How they dry follows from slab, air and humidity as the plan has
// them, as in the space's forecast.
func (p *planner) judgeDrying() error {
	coats := p.coupling().coats
	if len(coats) == 0 {
		return nil
	}
	air := p.airs()
	for _, c := range coats {
		m := p.material(c.step)
		e, ok := p.done[c.spot].reach[m.nearest(RecoatEarliest)]
		if !ok || e.never || e.at < c.At {
			continue
		}
		left, err := c.LeftAt(p.trace, air, c.At, e.at)
		if errors.Is(err, units.ErrRange) { // a slab too cold or too hot for a drying coat: other findings tell
			continue
		} else if err != nil {
			return err
		}
		if left <= dryShare*(1+1e-9) {
			continue
		}
		f := Finding{Key: "still-drying", Severity: Note, Step: c.step, Section: c.section, When: p.clock(e.at), Found: Amount{left}, Asked: Amount{dryShare}, Owner: "data sheet", Limit: m.ID + "@" + m.Version}
		dry, err := c.Reach(p.trace, air, c.At)
		switch {
		case err == nil:
			f.Until = p.clock(dry)
		case !errors.Is(err, climate.ErrNeverDry) && !errors.Is(err, units.ErrRange):
			return err
		}
		if c.Covered != 0 && (f.Until == nil || c.Covered < dry) { // the plan goes on while it is wet
			f.Severity = Watch
		}
		p.find(f)
	}
	return nil
}

// dryShare of its water left in a coat counts as dry: what [climate.Drying].Left
// is if it is not given.
const dryShare units.Fraction = 0.05

// airs returns the plan's air as package climate takes it.
func (p *planner) airs() climate.Weather {
	var at []time.Duration
	for _, s := range []Series{p.j.Weather.Air, p.j.Weather.RH} {
		for _, r := range s {
			at = append(at, r.At)
		}
	}
	slices.Sort(at)
	var w climate.Weather
	for _, t := range slices.Compact(at) {
		w = append(w, climate.Reading{At: t, Temp: units.Kelvin(p.j.Weather.Air.At(t)), RH: units.Fraction(p.j.Weather.RH.At(t))})
	}
	return w
}

// judgeDamp tells what the coats' water costs the slab's margin.
func (p *planner) judgeDamp(forecast bool) error {
	if p.sky.from == nil || len(p.sky.from.coats) == 0 || !forecast {
		return nil
	}
	from, to := p.j.Site.Span, time.Duration(0)
	for i, c := range p.sky.from.coats {
		from = min(from, max(c.At, 0))
		switch x := p.j.Site.Forecast.Coats[i]; {
		case x.IsDry:
			to = max(to, x.Dry)
		case c.Covered != 0:
			to = max(to, c.Covered)
		default:
			to = p.j.Site.Span
		}
	}
	to = min(to, p.j.Site.Span)
	with, at, err := p.j.Site.Forecast.LowestMargin(from, to)
	if err != nil || with >= p.margin {
		return nil // as it should be, or shorter than a step
	}
	bare, _ := p.skyOf(p.sky.from.coats[0].step, to) // as it is without them
	if bare.from == nil {
		return nil
	}
	without, _, err := bare.from.site.Forecast.LowestMargin(from, to)
	if err != nil {
		return err
	}
	if without-with > 0.5 {
		p.find(Finding{Key: "coats-damp-the-air", Severity: Watch, When: p.clock(at), Found: Amount{with}, Asked: Amount{without}, Owner: p.j.Margin.Owner, Limit: p.j.Margin.ID})
	}
	return nil
}
