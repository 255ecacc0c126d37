package systems

import (
	"cmp"
	"slices"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// A HeatLoss is a plan's standing answer to: what if the heat stops at the worst
// hour? The crew keeps to the schedule, and the heat stops for good when a coat
// has just gone down.
//
// Why then. A stop before that is seen: nobody lays a coat in a room whose heat
// has failed, and while it goes down the crew stands in it. A later stop is
// milder: with the heat off, air and slab obey linear equations whose heat flows
// rise with the temperatures they come from, so that of two histories under one
// weather the one that is not warmer anywhere at a moment never becomes warmer.
// A room whose heat stopped earlier is such a one; so at every hour afterwards it
// is at most as warm, the coat has cured less and is tack-free later, and each
// limit of cold is broken no later on the clock. With vented or electric heat and
// no coat that dries the water in the air is the same either way, so that the
// same holds of humidity and margin; an unvented heater that stops also stops
// giving its water, and a cold coat dries more slowly: there it is an
// observation, not a proof (TestWorstStop scans all hours).
//
// What a later stop can have is less notice: the air of a cold night falls faster
// than that of the afternoon. So each coat also has its shortest notice over stops
// at every hour until it is tack-free.
//
// The water of coats is that of the plan, also of those that the crew lays after
// the stop, at their hours. What may follow is looked for in the space as the steps
// before it leave it: what it would cover dries on, and its own water comes with it
// to the hour at which it would really go down.
//
// A limit that the plan itself breaks by then, or within a quarter of an hour, is
// not the stop's doing and not counted.
//
// Of a job that says what time it is now, the heat stops now at the earliest: a
// coat that lies there wet by then is looked at from now on, one that is tack-free
// no more. The forecast goes on from what was read.
//
// There is none where nothing follows from the heat: a job without [room] or
// without heaters, or one that types in or logs the temperature of slab or air.
type HeatLoss struct {
	Coats []HeatLossCoat `json:"coats"` // each section of each coat that goes down within the forecast, in the order of the schedule
	Worst *HeatLossCoat  `json:"worst"` // the one with the shortest notice; nil if none breaks a limit
	Text  string         `json:"text"`  // SI; see Sentence

	start time.Time
}

// A HeatLossCoat is a coat when the heat stops as it has just gone down.
type HeatLossCoat struct {
	Step      string      `json:"step"`
	Title     string      `json:"title"`
	Section   int         `json:"section"`
	Stop      time.Time   `json:"stop"`      // the coat's last spot is down, or it is now
	Planned   *time.Time  `json:"planned"`   // tack-free in the plan; nil: never
	TackFree  *time.Time  `json:"tack_free"` // with the stop; nil: never, along these temperatures
	Breaks    *Break      `json:"breaks"`    // the first limit that the stop breaks before then; nil: none
	Notice    *Notice     `json:"notice"`    // the shortest; nil where nothing breaks
	Next      string      `json:"next,omitempty"`
	NextReady *time.Time  `json:"next_ready,omitempty"` // the next coat may follow, along the cold slab
	MayFollow []Chemistry `json:"may_follow,omitempty"` // what of the next coat would go down from then on
}

// A Notice is how long one has to bring heat back after a stop, until a limit breaks.
type Notice struct {
	Stop time.Time  `json:"stop"`
	Time units.Span `json:"time"`
}

// lossAhead is how far ahead of a stop the standing answer looks: every lossStep,
// for the air falls fast at first.
const (
	lossAhead = 48 * time.Hour
	lossStep  = 5 * time.Minute
	lossSlab  = 0.02 // K: as the plan's own slab is thinned
)

// standing works out the standing answer. It goes through the forecast once and
// branches off at each stop; the cost is linear in coats and sections.
func (p *planner) standing() error {
	s := p.j.Site
	if s == nil || len(s.Heaters) == 0 || len(p.j.given.Slab) > 0 || len(p.j.given.Air) > 0 {
		return nil
	}
	var coats []*lossCoat
	type stop struct {
		at   time.Duration
		of   *lossCoat
		main bool
	}
	var stops []stop
	for _, w := range p.o.Schedule {
		at := spot{w.Step, w.Section}
		d := p.done[at]
		if w.Does != Coat || d.end < 0 || d.end >= s.Span {
			continue
		}
		c := &lossCoat{p: p, at: at, d: d, m: p.material(w.Step), stop: max(d.end, p.j.Now)}
		c.out = HeatLossCoat{Step: w.Step, Title: w.Title, Section: w.Section, Stop: *p.clock(c.stop)}
		last := s.Span
		if e, ok := d.reach[c.m.nearest(TackFree)]; ok && !e.never {
			if c.stop > d.end && e.at <= c.stop {
				continue
			}
			c.out.Planned = p.clock(e.at)
			last = min(last, e.at)
		}
		coats = append(coats, c)
		if c.stop >= s.Span {
			continue
		}
		stops = append(stops, stop{c.stop, c, true})
		for t := c.stop + time.Hour; t < last; t += time.Hour {
			stops = append(stops, stop{t, c, false})
		}
	}
	if len(coats) == 0 {
		return nil
	}
	slices.SortStableFunc(stops, func(a, b stop) int { return cmp.Compare(a.at, b.at) })
	room, outdoors, from := s.goingOn()
	times := make([]time.Duration, len(stops))
	for i, x := range stops {
		times[i] = x.at - from
	}
	was := -1
	var failed error
	end := func(i int) {
		if i >= 0 && stops[i].main && failed == nil {
			failed = stops[i].of.answer()
		}
	}
	room.Slab.Accuracy = max(room.Slab.Accuracy, lossSlab)
	err := room.AfterStops(outdoors, times, lossAhead, lossStep, roomStep, func(i int, state *climate.RoomState) bool {
		x := *state
		x.At += from
		if i != was {
			end(was)
			was = i
			if failed = cmp.Or(failed, p.ctx.Err()); failed == nil {
				stops[i].of.begin()
			}
		}
		return failed == nil && x.At <= s.Span && stops[i].of.look(&x, stops[i].at, stops[i].main)
	})
	end(was)
	if err = cmp.Or(err, failed); err != nil {
		return err
	}
	h := &HeatLoss{start: p.j.Start}
	for _, c := range coats {
		h.Coats = append(h.Coats, c.out)
	}
	for i := range h.Coats {
		if c := &h.Coats[i]; c.Notice != nil && (h.Worst == nil || c.Notice.Time < h.Worst.Notice.Time) {
			h.Worst = c
		}
	}
	h.Text = h.Sentence(units.SI)
	p.o.HeatLoss = h
	return nil
}

// A lossCoat is a coat being looked at.
type lossCoat struct {
	p   *planner
	at  spot
	d   placed
	m   *Material
	w   Weather // since the stop
	out HeatLossCoat

	stop time.Duration // as it has just gone down, or now

	before [len(limits)]bool // broken now, and not by the stop's doing
}

func (c *lossCoat) begin() { c.w = Weather{} }

// look takes a state after a stop and reports whether the next is wanted.
func (c *lossCoat) look(x *climate.RoomState, stop time.Duration, main bool) bool {
	if n := len(c.w.Slab); !main && (c.out.Notice == nil || n > 0 && c.w.Slab[n-1].At-stop >= c.out.Notice.Time.Duration()) {
		return false // a stop later than one that breaks nothing, or no shorter notice
	}
	c.w.add(x, c.p.j.given.RH)
	if main { // the last coat only until it is tack-free
		since := x.At - stop
		return c.next() != "" || since == 0 || since%(3*time.Hour) != 0 || !c.tackBefore(stop, x.At)
	}
	p := c.p
	at, ok := c.breaks(x.At, stop)
	if !ok {
		return true
	}
	if notice := at - stop; notice < c.out.Notice.Time.Duration() && !c.tackBefore(stop, at) {
		c.out.Notice = &Notice{*p.clock(stop), units.Span(notice.Round(time.Second))}
	}
	return false
}

// add appends a state of a space, with the humidity as it is typed if it is.
func (w *Weather) add(x *climate.RoomState, typed Series) {
	w.Slab = append(w.Slab, Reading{x.At, x.Surface.Kelvin()})
	w.Air = append(w.Air, Reading{x.At, x.Air.Kelvin()})
	rh := float64(min(max(x.RH, 0.01), 1))
	if len(typed) > 0 {
		rh = typed.At(x.At)
	}
	w.RH = append(w.RH, Reading{x.At, rh})
}

// goingOn returns the room that a forecast goes on from, of a job with a past that
// from now on, the weather on its clock, and where that begins on the job's.
func (s *Site) goingOn() (climate.Room, climate.Weather, time.Duration) {
	if s.last != nil {
		return s.last.room, s.last.out, s.last.from
	}
	return s.Room, s.Outdoors, 0
}

// breaks returns when a limit broke since the last state but one, if one did that
// would not be broken then, nor a grain later, with the heat on.
func (c *lossCoat) breaks(now, stop time.Duration) (time.Duration, bool) {
	p, first := c.p, forever
	for limit, by := range p.broken(c.m, p.cold(c.w, now)) {
		if now == stop || by == 0 {
			c.before[limit] = by != 0
		}
		if by == 0 || c.before[limit] {
			continue
		}
		a, at := c.w.Slab[len(c.w.Slab)-2].At, now
		for at-a > time.Second {
			mid := a + (at-a)/2
			if p.broken(c.m, p.cold(c.w, mid))[limit] == 0 {
				a = mid
			} else {
				at = mid
			}
		}
		if p.broken(c.m, p.weather(at))[limit] != 0 || p.broken(c.m, p.weather(at+grain))[limit] != 0 {
			c.before[limit] = true
			continue
		}
		first = min(first, at)
	}
	return first, first < forever
}

// cold returns the weather after a stop at a moment.
func (p *planner) cold(w Weather, t time.Duration) conditions {
	s := sky{given: &w}
	return s.weather(t)
}

// tackBefore reports whether the coat is tack-free by a moment after a stop.
func (c *lossCoat) tackBefore(stop, at time.Duration) bool {
	t, ok := c.m.Times[c.m.nearest(TackFree)]
	if !ok {
		return false
	}
	w := c.through(stop, c.w)
	free, err := bareSky(&w, c.p.margin).comes(t, false, c.d.end)
	return err == nil && free <= at
}

// through returns the weather from when the coat has gone down: as planned until
// a stop, and w after it.
func (c *lossCoat) through(stop time.Duration, w Weather) Weather {
	if stop <= c.d.end {
		return w
	}
	before := func(plan, since Series) (all Series) {
		for _, r := range plan {
			if r.At > c.d.end && r.At < stop {
				all = append(all, r)
			}
		}
		return append(append(Series{{c.d.end, plan.At(c.d.end)}}, all...), since...)
	}
	given := c.p.given
	return Weather{before(given.Slab, w.Slab), before(given.Air, w.Air), before(given.RH, w.RH)}
}

// answer works out what the stop does to the coat that has just gone down, and
// what of the next would go down.
func (c *lossCoat) answer() error {
	p := c.p
	if len(c.w.Slab) == 0 {
		return nil
	}
	w := c.through(c.stop, c.w)
	o := outlook{sky: newSky(&w, p.margin), p: p}
	free, ok := o.tackFree(c.m, c.d.end)
	if ok {
		c.out.TackFree = p.clock(free)
	} else {
		free = o.last
	}
	if b, any := o.earliest(c.m, p.sky, c.stop, free); any {
		b.Step, b.Section = c.at.step, c.at.section
		b.After = units.Span(b.At.Sub(c.out.Stop))
		f := b.finding()
		b.Text = f.Sentence(units.SI)
		c.out.Breaks = &b
		c.out.Notice = &Notice{c.out.Stop, b.After}
	}
	return c.follow(&o)
}

// follow looks at the next coat on this section: when what it waits for has
// come along the cold slab, and what of it would go down then.
func (c *lossCoat) follow(o *outlook) error {
	p := c.p
	if c.out.Next = c.next(); c.out.Next == "" {
		return nil
	}
	switch w, other, err := c.upTo(c.out.Next, nil); {
	case err != nil:
		return err
	case other:
		w = c.through(c.stop, w)
		o = &outlook{sky: newSky(&w, p.margin), p: p}
	}
	var failed error
	o.with = func(wet *climate.WetCoat) *sky {
		w, _, err := c.upTo(c.out.Next, wet)
		if failed = cmp.Or(failed, err); err != nil {
			return o.sky
		}
		w = c.through(c.stop, w)
		return newSky(&w, p.margin)
	}
	order := p.j.Recipe.order
	i, next := slices.Index(order, c.at.step), slices.Index(order, c.out.Next)
	ready := c.stop
	for _, id := range order[i+1 : next+1] {
		for _, l := range p.after[id] {
			if l.step != c.at.step || l.event == Done {
				continue
			}
			t, ok := c.m.Times[c.m.nearest(l.event)]
			if !ok {
				return nil
			}
			at, err := o.comes(t, false, c.d.end)
			if err != nil {
				return nil // never, in the cold
			}
			ready = max(ready, at)
		}
	}
	c.out.NextReady = p.clock(ready)
	c.out.MayFollow = o.chemistries(c.out.Next, c.at.section, ready)
	return failed
}

// upTo follows the space after the stop as the steps before one leave it: without
// what that and those after it lay, cover or close from then on, but with wet if it
// is not nil. It is no other than the plan's after the stop if there is nothing of that.
func (c *lossCoat) upTo(next string, wet *climate.WetCoat) (w Weather, other bool, err error) {
	s, order := c.p.j.Site, c.p.j.Recipe.order
	room, outdoors, from := s.goingOn()
	before := func(step string) bool { return slices.Index(order, step) < slices.Index(order, next) }
	var coats []climate.WetCoat
	for i, x := range s.coupling.coats {
		y := room.Coats[i]
		switch {
		case x.At > c.stop && !before(x.step):
			other = true
			continue
		case x.Covered > c.stop && !before(x.by):
			other, y.Covered = true, 0
		}
		coats = append(coats, y)
	}
	emissions := slices.Clone(room.Emissions)
	for i, x := range s.coupling.emissions {
		if x.To > c.stop && x.by != "" && !before(x.by) {
			other, emissions[i].To = true, s.Span-from
		}
	}
	if wet != nil {
		own := *wet
		own.At -= from
		other, coats = true, append(coats, own)
	}
	if !other {
		return c.w, false, nil
	}
	room.Coats, room.Emissions = coats, emissions
	room.Slab.Accuracy = max(room.Slab.Accuracy, lossSlab)
	err = room.AfterStops(outdoors, []time.Duration{c.stop - from}, lossAhead, lossStep, roomStep, func(_ int, state *climate.RoomState) bool {
		x := *state
		x.At += from
		if x.At > s.Span {
			return false
		}
		w.add(&x, c.p.j.given.RH)
		return true
	})
	return w, true, err
}

// next returns the coat that lies on this one, or "".
func (c *lossCoat) next() string {
	p := c.p
	after := false
	for _, id := range p.j.Recipe.order {
		if after && p.active(id) && p.step(id).Does == Coat {
			return id
		}
		after = after || id == c.at.step
	}
	return ""
}
