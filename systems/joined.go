package systems

import (
	"cmp"
	"slices"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// A sitePast is what was read in a space up to now. Where a job says what time
// it is now, readings that end by then are joined with the forecast: the past is
// theirs, and the forecast starts anew from the state that they end in. Without
// now, and where readings reach beyond it, they stand for the whole time.
type sitePast struct {
	now  time.Duration
	read Weather             // the series that end by now; the others are empty
	left map[int]*units.Mass // by heater: what was read in its tank now
}

// known says whether anything was read: if not, the forecast from the start goes on.
func (t *sitePast) known() bool {
	return len(t.read.Slab) > 0 || len(t.read.Air) > 0 || len(t.read.RH) > 0 || len(t.left) > 0
}

// last is the time of the last reading, or 0.
func (t *sitePast) last() (at time.Duration) {
	for _, s := range []Series{t.read.Slab, t.read.Air, t.read.RH} {
		if len(s) > 0 {
			at = max(at, s[len(s)-1].At)
		}
	}
	return at
}

// split takes the series that end by now out of the job's own, for the site to
// join with its forecast. A logger cannot have read what is to come.
func (p jobReader) split() error {
	if p.j.Now == 0 || p.j.Site == nil {
		return nil
	}
	t := &sitePast{now: p.j.Now, left: map[int]*units.Mass{}}
	g := &p.j.given
	for _, x := range []struct {
		name      string
		to, given *Series
		logged    bool
	}{{"slab", &t.read.Slab, &g.Slab, len(p.j.logged.Slab) > 0}, {"air", &t.read.Air, &g.Air, len(p.j.logged.Air) > 0}, {"rh", &t.read.RH, &g.RH, len(p.j.logged.RH) > 0}} {
		n := len(*x.given)
		if n == 0 {
			continue
		}
		if (*x.given)[n-1].At > p.j.Now {
			if x.logged {
				return p.bad("temperatures", "found a reading of %s logged after now: want now at the last reading or later, or the readings to come typed in [temperatures.%s]", x.name, x.name)
			}
			continue // typed beyond now: they stand for the whole time
		}
		*x.to, *x.given = *x.given, nil
	}
	for i, h := range p.j.Site.Heaters {
		if left := p.f.Room.Heaters[h.Name].Left; left != nil {
			t.left[i] = left
		}
	}
	if t.known() {
		p.j.Site.past = t
	}
	if err := p.j.Site.forecast(); err != nil {
		return p.bad("room", "%w", oneLine(err))
	}
	return nil
}

// A leg is a part of the forecast, from one moment to another, on the job's clock.
type leg struct {
	from, to time.Duration
	room     climate.Room // on a clock that starts at from
	out      climate.Weather
	before   [4]units.Mass // fuel burned in the legs before
	*climate.RoomForecast
}

// shifted puts the room on a clock that starts at a moment of the job, 0 or later.
// What happens by a later one has happened: refills up to it are in the tank.
func shifted(r climate.Room, by time.Duration) climate.Room {
	r.Thermostat, r.Openings, r.Heaters, r.Coats = slices.Clone(r.Thermostat), slices.Clone(r.Openings), slices.Clone(r.Heaters), slices.Clone(r.Coats)
	r.Emissions = slices.Clone(r.Emissions)
	if r.MassAt == (units.Temperature{}) {
		r.MassAt = r.Air
	}
	for i := range r.Thermostat {
		r.Thermostat[i].At -= by
	}
	for i := range r.Openings {
		r.Openings[i].From -= by
		r.Openings[i].To -= by
	}
	for i := range r.Heaters {
		var to []climate.Refill
		for _, f := range r.Heaters[i].Refills {
			if f.At > by || by == 0 { // a forecast from the start fills in itself what came by then
				to = append(to, climate.Refill{At: f.At - by, Add: f.Add})
			}
		}
		r.Heaters[i].Refills = to
	}
	for i := range r.Coats {
		c := &r.Coats[i]
		c.At -= by
		if c.Covered == 0 {
			continue
		}
		if c.Covered -= by; c.Covered == 0 { // zero would be never
			c.Covered = -1
			c.At = min(c.At, -1)
		}
	}
	for i := range r.Emissions {
		r.Emissions[i].From -= by
		r.Emissions[i].To -= by
	}
	return r
}

// run forecasts a leg, with states at the moments too that it has, and puts its
// times on the job's clock.
func (l *leg) run(outdoors climate.Weather, step time.Duration, moments []time.Duration) (err error) {
	l.out = slices.Clone(outdoors)
	for i := range l.out {
		l.out[i].At -= l.from
	}
	var also []time.Duration
	for _, at := range moments {
		if at > l.from && at < l.to {
			also = append(also, at-l.from)
		}
	}
	if l.RoomForecast, err = l.room.ForecastAt(l.out, l.to-l.from, step, also...); err != nil {
		return err
	}
	for i := range l.States {
		l.States[i].At += l.from
	}
	for i := range l.Events {
		l.Events[i].At += l.from
	}
	for i := range l.Coats {
		if l.Coats[i].IsDry {
			l.Coats[i].Dry += l.from
		}
	}
	return nil
}

// held is so high a film coefficient, W/(m2 K), that a slab's surface follows
// what it is driven by to 0.005 K at 50 W/m2 of heat.
const held = 1e4

// profile returns the slab's temperatures over depth at a moment: driven from a
// steady start along the surface's temperatures up to then, or, where only the
// air's were read, along those.
func (s *Site) profile(at time.Duration, surface, air Series) (climate.Profile, error) {
	slab, by := s.Room.Slab, surface
	start := s.Room.Surface
	if start == (units.Temperature{}) {
		start = s.Room.Air
	}
	if len(surface) == 0 {
		by = air
	} else {
		slab.Film = held
		start = units.Kelvin(surface[0].V)
	}
	from := min(0, by[0].At) // a logger that was there before the job tells more of the depth
	trace := make(climate.Trace, 0, len(by))
	for _, r := range by {
		if r.At <= at {
			trace = append(trace, climate.Sample{At: r.At - from, Temp: units.Kelvin(r.V)})
		}
	}
	steady, err := slab.Steady(start)
	if err != nil || at <= from || len(trace) == 0 {
		return steady, err
	}
	return slab.ProfileFrom(steady, trace, at-from)
}

// joinedForecast forecasts a space with a past: from the start to the last
// reading as planned, which gives what was not read, then from the state read,
// and from now on with what was read in the tanks. Legs begin on the grid of
// Steps, at most one of them before the last reading and before now.
//
// Carbon dioxide starts anew at that outdoors with each leg. A coat laid before a
// leg goes on with the water that the legs before left in it; in the time of the
// readings that is what the forecast up to them took out of it, since no reading
// tells. The balances add up those of the legs; where a reading lifts or lowers the
// state between two legs that is in none of them.
func (s *Site) joinedForecast() error {
	t := s.past
	grid := func(at time.Duration) time.Duration { return min(max(at, 0), s.Span-s.Steps).Truncate(s.Steps) }
	marks := []time.Duration{0}
	for _, at := range []time.Duration{grid(t.last()), grid(t.now)} {
		if at > marks[len(marks)-1] {
			marks = append(marks, at)
		}
	}
	f := &climate.RoomForecast{Coats: make([]climate.CoatWater, len(s.Room.Coats))}
	for i, c := range s.Room.Coats {
		f.Coats[i].Left = c.Water
	}
	var last leg
	for i, from := range marks {
		to := s.Span
		if i+1 < len(marks) {
			to = marks[i+1]
		}
		l := leg{from: from, to: to, room: shifted(s.Room, from), before: f.Balance.Fuel}
		if err := s.carry(&l, f, &last, from == marks[len(marks)-1]); err != nil {
			return err
		}
		if err := l.run(s.Outdoors, s.Steps, s.moments); err != nil {
			return err
		}
		s.overwrite(l.States)
		if n := len(f.States); n > 0 {
			f.States = f.States[:n-1] // the leg begins with the same moment
		}
		f.States = append(f.States, l.States...)
		if from >= grid(t.last()) { // what a run up to the readings tells did not happen so
			f.Events = append(f.Events, l.Events...)
		}
		if from == marks[len(marks)-1] {
			s.weighedTanks(f, l.room.Heaters)
			l.before = f.Balance.Fuel
		}
		add(&f.Balance, &l.Balance)
		for k, x := range l.Coats {
			was := &f.Coats[k]
			was.Given, was.Left = was.Given+x.Given, x.Left
			if x.IsDry {
				was.Dry, was.IsDry = x.Dry, true
			}
		}
		last = l
	}
	slices.SortStableFunc(f.Events, func(a, b climate.Event) int { return cmp.Compare(a.At, b.At) })
	dry := map[int]bool{}
	f.Events = slices.DeleteFunc(f.Events, func(e climate.Event) bool { // a leg that begins with a dry tank tells it again
		was := dry[e.Heater]
		if e.What == climate.TankEmpty || e.What == climate.TankRefilled {
			dry[e.Heater] = e.What == climate.TankEmpty
		}
		return e.What == climate.TankEmpty && was
	})
	s.Forecast, s.last = f, &last
	return nil
}

// weighedTanks puts what tanks that were read now have burned before in the place of
// what the forecast took them to: what was filled in, less what the last leg begins with.
func (s *Site) weighedTanks(f *climate.RoomForecast, now []climate.Heater) {
	for i := range s.Room.Heaters { // in their order, on which a sum of floats hangs
		if s.past.left[i] == nil {
			continue
		}
		h := &s.Room.Heaters[i]
		in := h.Tank - now[i].Tank
		for _, x := range h.Refills {
			in += x.Add
		}
		for _, x := range now[i].Refills {
			in -= x.Add
		}
		in = max(in, 0)
		more := units.Energy(float64(in-f.Balance.Fuel[i]) * float64(s.Heaters[i].Fuel.HHV.Q))
		f.Balance.TakenIn, f.Balance.TakenBy[i] = f.Balance.TakenIn+more, f.Balance.TakenBy[i]+more
		f.Balance.Fuel[i] = in
	}
}

// joinedCosts is costs of a joined forecast: what heat of another kind would do
// from the last leg on.
func (s *Site) joinedCosts() error {
	f, last := s.Forecast, s.last
	s.wouldUse = f.Balance.Fuel
	if slices.ContainsFunc(f.Events, func(e climate.Event) bool { return e.What == climate.TankEmpty }) {
		more, err := last.room.FuelFor(last.out, last.to-last.from)
		if err != nil {
			return err
		}
		s.wouldUse = last.before
		for k := range more {
			s.wouldUse[k] += more[k]
		}
	}
	s.vented = nil
	if slices.ContainsFunc(s.Room.Heaters, func(h climate.Heater) bool { return h.Unvented }) {
		_, vented, err := last.room.UnventedCost(last.out, last.to-last.from)
		if err != nil {
			return err
		}
		if last.from > 0 {
			past, _, err := f.LowestMargin(0, last.from)
			if err != nil {
				return err
			}
			vented = min(vented, past)
		}
		s.vented = &vented
	}
	return nil
}

// emptyTank is what a forecast takes for an empty tank, where zero would be one
// that never runs dry.
const emptyTank = 1e-9 * units.Kilogram

// carry starts a leg in the state that was read, and what was not read as the
// forecast up to then left it.
func (s *Site) carry(l *leg, before *climate.RoomForecast, last *leg, now bool) error {
	r, t := &l.room, s.past
	if l.from == 0 {
		if len(t.read.Slab) > 0 && t.read.Slab[0].At <= 0 {
			r.Surface = units.Kelvin(t.read.Slab.At(0))
		}
		if len(t.read.Air) > 0 && t.read.Air[0].At <= 0 {
			r.Air = units.Kelvin(t.read.Air.At(0))
		}
		if len(t.read.RH) > 0 && t.read.RH[0].At <= 0 {
			r.RH = units.Fraction(t.read.RH.At(0))
		}
	} else {
		was := before.States[len(before.States)-1]
		r.Air, r.RH = was.Air, min(max(was.RH, 0.01), 1)
		var err error
		if r.Profile, err = s.depth(l.from, before, last); err != nil {
			return err
		}
		for i := range r.Heaters {
			if h := &s.Room.Heaters[i]; h.Tank > 0 || len(h.Refills) > 0 {
				r.Heaters[i].Tank = max(was.Fuel[i], emptyTank)
			}
		}
		dried(r.Coats, before.Coats)
	}
	if now {
		for i, left := range t.left {
			h, tank := &r.Heaters[i], *left
			by := func(x climate.Refill) bool { return l.from+x.At <= t.now }
			for _, x := range h.Refills { // the leg fills in again what came since its grid's moment
				if by(x) {
					tank -= x.Add
				}
			}
			if tank < 0 { // less is left than came since: it is in what was read
				h.Refills, tank = slices.DeleteFunc(h.Refills, by), *left
			}
			h.Tank = max(tank, emptyTank)
		}
	}
	return nil
}

// depth returns the slab's temperatures over depth at the beginning of a leg: those
// that the leg before ended with, or, where that did not go by the slab or the air as
// they were read, those that the readings drive it to.
func (s *Site) depth(from time.Duration, before *climate.RoomForecast, last *leg) (climate.Profile, error) {
	t := s.past
	by := t.read.Slab
	if len(by) == 0 {
		by = t.read.Air
	}
	if len(by) == 0 || last.from > 0 && last.from >= by[len(by)-1].At {
		return last.Profile, nil
	}
	w := Weather{Slab: make(Series, len(before.States)), Air: make(Series, len(before.States))}
	for i := range before.States {
		x := &before.States[i]
		w.Slab[i], w.Air[i] = Reading{x.At, x.Surface.Kelvin()}, Reading{x.At, x.Air.Kelvin()}
	}
	w = t.join(w) // with every reading, also from before the start
	if len(t.read.Slab) == 0 {
		w.Slab = nil
	}
	return s.profile(from, w.Slab, w.Air)
}

// dried takes the water that the legs before left in them for that of the coats
// laid before a leg.
func dried(coats []climate.WetCoat, were []climate.CoatWater) {
	for i := range coats {
		if c := &coats[i]; c.At < 0 {
			c.Gone = min(max(1-units.Fraction(were[i].Left/c.Water), 0), 1) // rounding
		}
	}
}

// overwrite puts what was read in the place of the forecast, up to the last
// reading of each.
func (s *Site) overwrite(states []climate.RoomState) {
	for i := range states {
		x, read := &states[i], false
		has := func(of Series) bool { return len(of) > 0 && x.At >= of[0].At && x.At <= of[len(of)-1].At }
		if t := s.past.read.Slab; has(t) {
			x.Surface, read = units.Kelvin(t.At(x.At)), true
		}
		if t := s.past.read.Air; has(t) {
			x.Air, read = units.Kelvin(t.At(x.At)), true
		}
		if t := s.past.read.RH; has(t) {
			x.RH, read = units.Fraction(t.At(x.At)), true
		}
		if !read {
			continue
		}
		if dew, err := climate.DewPoint(x.Air, min(max(x.RH, 0.01), 1)); err == nil {
			x.DewPoint = dew
			x.Margin = x.Surface.Sub(dew)
		}
	}
}

func add(to, b *climate.Balance) {
	to.Heat += b.Heat
	to.Envelope += b.Envelope
	to.Ventilation += b.Ventilation
	to.Deep += b.Deep
	to.Evaporation += b.Evaporation
	to.Stored += b.Stored
	to.Burned += b.Burned
	to.Dried += b.Dried
	to.Emitted += b.Emitted
	to.Vented += b.Vented
	to.InTheAir += b.InTheAir
	to.TakenIn += b.TakenIn
	to.Exhausted += b.Exhausted
	for i := range to.Fuel {
		to.Fuel[i] += b.Fuel[i]
		to.TakenBy[i] += b.TakenBy[i]
	}
}

// join returns w with what was read in its place, up to the last reading of each.
func (t *sitePast) join(w Weather) Weather {
	for _, x := range []struct{ to, read *Series }{{&w.Slab, &t.read.Slab}, {&w.Air, &t.read.Air}, {&w.RH, &t.read.RH}} {
		n := len(*x.read)
		if n == 0 {
			continue
		}
		from, to := (*x.read)[0].At, (*x.read)[n-1].At
		var out Series
		for _, r := range *x.to {
			if r.At < from-roomStep/2 { // forecast before the logger was there
				out = append(out, r)
			}
		}
		out = append(out, *x.read...)
		for _, r := range *x.to {
			if r.At > to {
				out = append(out, r)
			}
		}
		*x.to = out
	}
	return w
}

// judgeTanks tells the tanks that nobody read, where the past is told.
func (p *planner) judgeTanks() {
	s := p.j.Site
	if p.j.Now == 0 || s == nil {
		return
	}
	for i, h := range s.Heaters {
		if s.Room.Heaters[i].Tank == 0 && len(s.Room.Heaters[i].Refills) == 0 {
			continue
		}
		if s.past != nil && s.past.left[i] != nil {
			continue
		}
		p.find(Finding{Key: "tank-not-read", Severity: Watch, Found: Amount{s.Forecast.States[s.stateAt(p.j.Now)].Fuel[i]}, Owner: "this plan", Limit: h.Name})
	}
}
