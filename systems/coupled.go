package systems

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// How a plan and its space act on each other.
//
// A waterborne coat gives its water to the space's air while it dries, and takes
// the heat for that from the slab; the bare slab gives off its own moisture, at
// the rate of the job's reading, until a coat closes it. Both change air and
// slab, these the schedule, and that the coats' times: [Plan] plans and forecasts
// in turn until the coats' times stay as they were.
//
//   - The water of a coat is what [Material].Water says of all that lies on the
//     floor: the film, and what profile, pores and voids took. It lies there from
//     the middle of the time in which its section is laid, to the minute; what is
//     on a base's face is counted as if on the floor.
//   - What is left in a coat when the next one is laid over it is closed in. So is
//     the slab's moisture below the first coat on the floor that is not
//     waterborne, or that the recipe says bars it: a resin film lets about a tenth
//     through of what a dish draws from concrete (common practice, no source),
//     which is counted as nothing.
//   - A dish's dry air draws more than a room's: the emission is on the safe side.
//     A humidity in the slab says nothing of how much comes out; none is counted.
//   - A coat's start is looked for in the space as the steps before it leave it:
//     no start would be free of its own water, and what it covers is still open
//     then. Limits are judged with all that is done.
//
// Slab, air and humidity that are typed in or logged stay as they are: of them
// the coupling changes nothing, only the forecast that the heat is judged by.
//
// The heat of reaction is left out: a body coat of 10 mil gives off 98 kJ/m2
// (350 kJ/kg), most of it in the 8 h to tack-free at 75 °F; that lifts the slab's
// surface by less than 0.3 K (TestExothermIsSmall), which is a tenth of the margin
// rule and on its safe side, and a data sheet's times were taken on films that
// warmed themselves alike.

// maxRounds is how often a plan is made anew in the forecast that it gives. One
// or two mostly do, since what a coat does to the space comes after its start. Of
// small rooms drawn at random 9 in 100 go round in a ring, all of them floors in
// several sections, where one's water turns away another's work: see settle.go.
const maxRounds = 8

// waterDensity is that of water at 20 °C, as [climate.WaterIn] has it.
const waterDensity units.Density = 998

// A coupling is what a plan does to its space.
type coupling struct {
	coats     []dryingCoat
	emissions []emission
}

// An emission is that of a part of the floor.
type emission struct {
	climate.Emission
	by string // the step that closes it
}

// A dryingCoat is a waterborne coat on one section.
type dryingCoat struct {
	climate.WetCoat
	spot
	by string // the step that covers it
}

func (c *coupling) empty() bool { return len(c.coats) == 0 && len(c.emissions) == 0 }

// key tells couplings apart.
func (c *coupling) key() string {
	var b strings.Builder
	for _, x := range c.coats {
		fmt.Fprintf(&b, "%s %d %d %d %v %v;", x.step, x.section, x.At, x.Covered, float64(x.Area), float64(x.Water))
	}
	for _, e := range c.emissions {
		fmt.Fprintf(&b, "%d %d %v %v;", e.From, e.To, float64(e.Area), float64(e.Flux))
	}
	return b.String()
}

// before returns what the steps do to the space that the recipe has before id;
// what one of the others covers or closes is open until the end.
func (c *coupling) before(id string, order []string, end time.Duration) (out coupling) {
	is := func(step string) bool { return slices.Index(order, step) < slices.Index(order, id) }
	for _, x := range c.coats {
		if !is(x.step) {
			continue
		}
		if !is(x.by) {
			x.Covered, x.by = 0, ""
		}
		out.coats = append(out.coats, x)
	}
	for _, e := range c.emissions {
		if !is(e.by) {
			e.To, e.by = end, ""
		}
		if k := len(out.emissions) - 1; k >= 0 && out.emissions[k].To == e.To {
			out.emissions[k].Area += e.Area
			continue
		}
		out.emissions = append(out.emissions, e)
	}
	return out
}

// A coupled is a space with what a plan does to it.
type coupled struct {
	coupling
	site    *Site
	weather Weather
	sky     *sky
	err     error // why the space cannot be followed with it
}

// spaces are the couplings of one space that were worked out, by key. They are
// for one call at a time, as [sky] is.
type spaces struct {
	site  *Site   // by itself
	given Weather // that wins over its forecast
	all   map[string]*coupled
	list  []*coupled // in the order in which they were worked out
}

// into returns the space with a coupling.
func (s *spaces) into(c coupling) *coupled { return s.until(c, s.site.Span) }

// until returns the space with a coupling, followed until then.
func (s *spaces) until(c coupling, span time.Duration) *coupled {
	key := c.key()
	if span = min(span, s.site.Span); span < s.site.Span {
		key += fmt.Sprint(" until ", span)
	}
	x, ok := s.all[key]
	if !ok {
		x = &coupled{coupling: c}
		if x.site, x.err = s.site.with(c, span, s.newest()); x.err == nil {
			x.weather = s.given.over(x.site.weather())
			x.sky = newSky(&x.weather, s.all[""].sky.margin)
			x.sky.spaces, x.sky.from = s, x
		}
		if s.all[key] = x; span == s.site.Span {
			s.list = append(s.list, x)
		}
	}
	return x
}

// newest returns the forecast of the coupling worked out last, with which the next
// has most in common, or nil.
func (s *spaces) newest() *climate.RoomForecast {
	for i := len(s.list) - 1; i > 0; i-- { // the first is the space by itself
		if s.list[i].err == nil {
			return s.list[i].site.Forecast
		}
	}
	return nil
}

// near returns the first space in which the same coats dry from the same times,
// whatever covers them or closes the floor, or nil.
func (s *spaces) near(c coupling) *coupled {
	for _, x := range s.list {
		if x.err == nil && (len(x.emissions) == 0) == (len(c.emissions) == 0) && slices.EqualFunc(x.coats, c.coats, func(a, b dryingCoat) bool {
			a.Covered, a.by, b.Covered, b.by = 0, "", 0, ""
			return a == b
		}) {
			return x
		}
	}
	return nil
}

// fit returns the space with a coupling, or with near the one that near has, if any.
func (s *spaces) fit(c coupling, near bool) *coupled {
	if near {
		if x := s.near(c); x != nil {
			return x
		}
	}
	return s.into(c)
}

// with returns the site with what a plan does to it, forecast until span. like is
// nil, or a forecast of the site with another coupling, of which it takes what both
// have in common.
func (s *Site) with(c coupling, span time.Duration, like *climate.RoomForecast) (*Site, error) {
	out := *s
	out.Span = span
	out.bare, out.coupling, out.costed = s, c, false
	out.Room.Coats = nil
	for _, x := range c.coats {
		out.Room.Coats = append(out.Room.Coats, x.WetCoat)
	}
	out.Room.Emissions = nil
	for _, x := range c.emissions {
		out.Room.Emissions = append(out.Room.Emissions, x.Emission)
	}
	if out.past != nil {
		if err := out.joinedForecast(); err != nil {
			return nil, err
		}
		return &out, out.Forecast.Airs().Validate()
	}
	var err error
	if like != nil && len(out.moments) == 0 {
		out.Forecast, err = like.With(out.Room.Coats, out.Room.Emissions, out.Span)
	} else {
		out.Forecast, err = out.Room.ForecastAt(out.Outdoors, out.Span, out.Steps, out.moments...)
	}
	if err != nil {
		return nil, err
	}
	return &out, out.Forecast.Airs().Validate()
}

// couple plans j and what that does to its space in turn, until the one is that
// of the other. above is nil, or a sky of an earlier run over the same space,
// from whose coupling it begins. After so many rounds, or in a ring, the order of
// its sections is held for as many times more (settle.go). With near a space of
// that sky will do in which the same coats dry from the same times.
func couple(ctx context.Context, j *Job, above *sky, rounds int, near bool) (*planner, error) {
	if j.Site == nil {
		return sections(ctx, j, above)
	}
	own := j.Site.bare != nil // the job of a coupled plan
	if own {
		b := *j
		b.Site = j.Site.bare
		j = &b
	}
	var now *coupled
	switch {
	case above != nil && above.spaces != nil && above.spaces.site == j.Site:
		now = above.from
	case own:
		now = &coupled{site: j.Site, weather: j.given.over(j.Site.weather())}
	default:
		now = &coupled{site: j.Site, weather: j.Weather}
	}
	seen := map[*coupled]bool{}
	for round := 0; ; round++ {
		seen[now] = true
		k := *j
		k.Site, k.Weather, k.order = now.site, now.weather, nil
		p, err := sections(ctx, &k, now.sky)
		if err != nil {
			return nil, err
		}
		if now.sky == nil { // the first of all
			now.sky = p.sky
			p.sky.spaces, p.sky.from = &spaces{j.Site, j.given, map[string]*coupled{"": now}, []*coupled{now}}, now
		}
		next := p.coupling()
		x := p.sky.spaces.fit(next, near)
		switch {
		case x == now: // the plan is that of its own forecast
		case x.err != nil:
			p.find(Finding{Key: "water-not-followed", Severity: Watch, Owner: "this plan", Limit: oneLine(x.err).Error()})
		case round == rounds || seen[x]: // from here on it goes round in a ring
			q, err := settle(ctx, j, p, rounds, near)
			if err != nil {
				return nil, err
			}
			if q != nil {
				p = q
				break
			}
			p.find(Finding{Key: "forecast-not-settled", Severity: Watch, Owner: "this plan", Found: Amount{units.Span(moved(now.coupling, next))}})
		default:
			now = x
			continue
		}
		if err := p.judgeWater(); err != nil {
			return nil, err
		}
		p.rank()
		return p, nil
	}
}

// moved returns by how much the times of two couplings differ at most, a day
// where they have other coats.
func moved(a, b coupling) time.Duration {
	if len(a.coats) != len(b.coats) || len(a.emissions) != len(b.emissions) {
		return day
	}
	var most time.Duration
	for i := range a.coats {
		most = max(most, (a.coats[i].At - b.coats[i].At).Abs(), (a.coats[i].Covered - b.coats[i].Covered).Abs())
	}
	for i := range a.emissions {
		most = max(most, (a.emissions[i].To - b.emissions[i].To).Abs())
	}
	return most
}

// coupling returns what the plan does to its space.
func (p *planner) coupling() coupling {
	var c coupling
	s := p.j.Site
	if s == nil {
		return c
	}
	room := &s.Room
	hc := s.convection()
	for _, id := range p.j.Recipe.order {
		if !p.gives(id) {
			continue
		}
		n := p.needs[id]
		area := min(n.Area, room.Floor) / units.Area(p.o.Sections)
		water := units.Loading(float64(p.water(id)) / float64(min(n.Area, room.Floor)))
		for section := 1; section <= p.o.Sections; section++ {
			d, ok := p.done[spot{id, section}]
			if !ok || !(area > 0) || d.laid() >= s.Span {
				continue
			}
			x := dryingCoat{WetCoat: climate.WetCoat{At: d.laid(), Area: area, Drying: climate.Drying{Water: water, Convection: hc}}, spot: spot{id, section}}
			x.Covered, x.by = p.covered(id, section)
			c.coats = append(c.coats, x)
		}
	}
	if e := p.j.Slab.Emission; e != nil && *e > 0 {
		for section := 1; section <= p.o.Sections; section++ {
			to, by := p.shutsFloor(section)
			if to >= s.Span {
				to, by = s.Span, ""
			}
			if k := len(c.emissions) - 1; k >= 0 && c.emissions[k].To == to && c.emissions[k].by == by {
				c.emissions[k].Area += room.Floor / units.Area(p.o.Sections)
				continue
			}
			c.emissions = append(c.emissions, emission{climate.Emission{To: to, Area: room.Floor / units.Area(p.o.Sections), Flux: *e}, by})
		}
		for i := range c.emissions { // sums of shares of the floor
			c.emissions[i].Area = min(c.emissions[i].Area, room.Floor)
		}
	}
	return c
}

// skyOf returns the weather in which a coat's start is looked for, to a moment or
// later, and whether it goes on to the end of what is known.
func (p *planner) skyOf(id string, to time.Duration) (_ *sky, whole bool) {
	if p.sky.from == nil || p.sky.from.empty() {
		return p.sky, true
	}
	all := p.sky.spaces
	c := p.laidBefore(p.sky.from.before(id, p.j.Recipe.order, all.site.Span))
	if c.key() == p.sky.from.key() {
		return p.sky, true
	}
	if to > all.site.Span-3*day { // not much is saved
		to = all.site.Span
	}
	to = (max(to, 0) + 2*day - 1).Truncate(2 * day)
	if x := all.until(c, to); x.err == nil {
		return x.sky, to >= all.site.Span
	}
	return p.sky, true
}

// counted reports whether the weather has a coat at a start already, or nothing
// of what it does to the space.
func (p *planner) counted(id string, section int, start, work time.Duration) bool {
	if p.sky.from == nil {
		return true
	}
	wet := start + work - p.together(id, 1/float64(p.o.Sections))
	at, open := placed{wet: wet, end: start + work}.laid(), true
	for _, c := range p.sky.from.coats {
		if c.spot == (spot{id, section}) {
			return c.At == at
		}
		if c.by == id && c.section == section {
			return c.Covered == at
		}
	}
	for _, e := range p.sky.from.emissions {
		if e.by == id {
			open = open && e.To == at
		}
	}
	return open
}

// laid returns the middle of the time in which a coat is laid, to the minute.
func (d placed) laid() time.Duration {
	return (d.wet + (d.end-d.wet)/2).Round(time.Minute)
}

// covered returns when the next coat is laid over a coat, and which; zero if none is.
func (p *planner) covered(id string, section int) (time.Duration, string) {
	s, above := p.step(id), false
	for _, other := range p.j.Recipe.order {
		o := p.step(other)
		switch {
		case other == id:
			above = true
			continue
		case !above || o.Does != Coat || !p.active(other), o.Only != s.Only && !(s.Only == "base" && o.Base):
			continue
		}
		if d, ok := p.done[spot{other, section}]; ok && d.laid() >= p.done[spot{id, section}].laid() { // one told as laid before it covers nothing of it
			return d.laid(), other
		}
	}
	return 0, ""
}

// shutsFloor returns when a section of the floor is closed to the slab's moisture,
// forever if it never is, and by which step.
func (p *planner) shutsFloor(section int) (at time.Duration, by string) {
	at = forever
	for _, id := range p.j.Recipe.order {
		if s := p.step(id); s.Does != Coat || s.Only != "" || !p.active(id) || p.waterborne(id) && !p.bars(id) {
			continue
		}
		if d, ok := p.done[spot{id, section}]; ok && d.laid() < at { // in another order only if told so
			at, by = d.laid(), id
		}
	}
	return at, by
}

// waterborne reports whether the liquid of a coat is one that dries.
func (p *planner) waterborne(id string) bool {
	m := p.material(id)
	return m.Water.Given() || strings.HasPrefix(m.Chemistry, "waterborne")
}

// gives reports whether a step lays a coat whose water is known.
func (p *planner) gives(id string) bool {
	return p.step(id).Does == Coat && p.active(id) && p.needs[id] != nil && p.material(id).Water.Given()
}

// onFloor returns how much of a step's liquid stays on the floor. What rollers and
// buckets keep does not dry there.
func (p *planner) onFloor(id string) units.Volume {
	n := p.needs[id]
	return n.Gross - n.Waste - n.Tools - n.Residue
}

// water returns what that holds.
func (p *planner) water(id string) units.Mass {
	return (p.onFloor(id) * units.Volume(p.material(id).Water.Q)).Mass(waterDensity)
}

// convection returns what of the floor's film coefficient is not radiation: of
// an emissivity of 0.9 near 15 °C.
func (s *Site) convection() units.FilmCoefficient {
	r, err := climate.Radiation(units.Celsius(15), 0.9)
	if err != nil {
		return units.FilmCoefficient(math.NaN())
	}
	return s.Room.Slab.Film - r
}
