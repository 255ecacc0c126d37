package systems

import (
	"math"
	"sort"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// A Break is the moment from which a limit is broken, or something else stops
// the work.
type Break struct {
	Key     string     `json:"key"` // of the finding
	Step    string     `json:"step,omitempty"`
	Section int        `json:"section,omitempty"`
	At      time.Time  `json:"at"`
	After   units.Span `json:"after"`            // since what disturbs the plan begins; 0 if it comes before
	Found   Amount     `json:"found"`            // at its worst, or of the event that is missed
	Asked   Amount     `json:"asked"`            //
	By      Amount     `json:"by"`               // how far beyond the limit at its worst; how late
	Worst   *time.Time `json:"worst,omitempty"`  // when it is as Found says
	Anyway  *time.Time `json:"anyway,omitempty"` // when the undisturbed plan breaks the same limit
	Owner   string     `json:"owner,omitempty"`
	Limit   string     `json:"limit,omitempty"`
	Text    string     `json:"text"` // the finding's sentence, in SI

	early time.Duration // by how much it comes before what disturbs the plan
}

// A Chemistry is a material that the recipe lets a step take, and whether and
// until when it would go down.
type Chemistry struct {
	Option   string     `json:"option,omitempty"` // of the recipe; "" is the one that the plan takes
	Material string     `json:"material"`         // id@version
	Name     string     `json:"name"`
	Goes     bool       `json:"goes"`            // from From on it stays inside its limits until it is tack-free
	From     *time.Time `json:"from,omitempty"`  // the first such start in a shift
	Until    *time.Time `json:"until,omitempty"` // the last start, day or night, of the same good spell; nil with Goes: as long as the temperatures are given
	Held     bool       `json:"held,omitempty"`  // from From on it is tack-free only beyond the last temperatures given, which are held
	Why      string     `json:"why,omitempty"`   // what is against an earlier start, in words
}

// An outlook is a plan's crew and steps in some weather.
type outlook struct {
	*sky
	p   *planner
	own *sky // the plan's, with all that it lays; nil for another weather than the plan's

	with func(*climate.WetCoat) *sky // it with a coat that dries in it; nil: that is not known
}

// outlook returns that in which a step's start is looked for: as [planner.coatTime]
// does, in the space as the steps before it leave it.
func (p *planner) outlook(id string) outlook {
	s, _ := p.skyOf(id, forever)
	return outlook{sky: s, p: p, own: p.sky}
}

// tackFree returns when m is tack-free that went down at a time. A data sheet
// that gives no time for it, nor for a later event, leaves it open: until the
// last reading.
func (s *sky) tackFree(m *Material, down time.Duration) (time.Duration, bool) {
	t, ok := m.Times[m.nearest(TackFree)]
	if !ok {
		return max(down, s.last), true
	}
	at, err := s.comes(t, false, down)
	return at, err == nil
}

// chemistries says of each material that the recipe lets a step take whether it
// would go down from a time on.
func (o *outlook) chemistries(id string, section int, from time.Duration) []Chemistry {
	s := o.p.step(id)
	out := []Chemistry{o.chemistry(id, section, s.Material, from)}
	for _, name := range sortedKeys(s.Options) {
		opt := s.Options[name]
		if opt.Material == s.Material {
			continue
		}
		c := o.chemistry(id, section, opt.Material, from)
		c.Option = name
		out = append(out, c)
	}
	return out
}

// chemistry looks for the first start in a shift from which a material stays
// inside its limits while it goes down and until it is tack-free, and how long
// later starts do too. It looks no further than the temperatures given. The coat's
// own water is counted at the start that would do, where the outlook can follow it, or
// else, with its closing of the floor, at the start that the plan has; at others they
// are not known.
func (o *outlook) chemistry(id string, section int, material string, from time.Duration) Chemistry {
	p := o.p
	m := p.materials[material]
	c := Chemistry{Material: m.ID + "@" + m.Version, Name: m.Name}
	share := 1.0
	if section > 0 {
		share /= float64(max(1, p.o.Sections))
	}
	p.asked = from
	work := p.work(id, section, share)
	for t := p.begins(id, from, work); ; {
		if t > o.last {
			if c.Why == "" {
				c.Why = "no shift with time for it in the temperatures looked at"
			}
			return c
		}
		in := o.sky
		if o.own != nil && m == p.material(id) && p.counted(id, section, t, work) {
			in = o.own
		}
		free, ok := in.tackFree(m, t+work)
		if !ok {
			if c.Why == "" {
				c.Why = "it does not become tack-free"
			}
			return c
		}
		x, bad := in.blocked(m, t, free)
		if bad && in != o.sky {
			own := x
			if x, bad = o.blocked(m, t, free); !bad { // no later start would be free of it
				c.Why = limits[own.limit].words + ", by its own water"
				return c
			}
		}
		if wet := o.wets(id, section, m, t, work); !bad && wet != nil {
			in := o.with(wet)
			if free, ok = in.tackFree(m, t+work); !ok {
				c.Why = "it does not become tack-free, by its own water"
				return c
			}
			if x, bad := in.blocked(m, t, free); bad {
				c.Why = limits[x.limit].words + ", by its own water"
				return c
			}
		}
		if !bad {
			c.Goes, c.From, c.Held = true, p.clock(t), free > o.last
			if y, ok := o.upcoming(m, free); ok {
				c.Until = p.clock(o.lastStart(m, t, y.from, work))
			}
			return c
		}
		if c.Why == "" {
			c.Why = limits[x.limit].words
		}
		if x.to == forever {
			return c
		}
		// A later start is tack-free later, so that nothing before this spell's end will do.
		t = p.begins(id, minute(x.to), work)
	}
}

// wets returns what a material that starts at a time gives to the air, or nil if it
// gives none, or that cannot be followed. Of another material than the plan's the
// amount goes by the wet films.
func (o *outlook) wets(id string, section int, m *Material, start, work time.Duration) *climate.WetCoat {
	p := o.p
	n, s := p.needs[id], p.step(id)
	if o.with == nil || n == nil || !m.Water.Given() || section == 0 {
		return nil
	}
	film := func(m *Material, dry units.Length) float64 { return float64(dry) / float64(m.Solids.Q) }
	dry := s.Film.Q
	for _, opt := range s.Options {
		if p.materials[opt.Material] == m && opt.Film.Given() && m != p.material(id) {
			dry = opt.Film.Q
		}
	}
	area := min(n.Area, p.j.Site.Room.Floor)
	volume := float64(p.onFloor(id)) * film(m, dry) / film(p.material(id), s.Film.Q)
	water := (units.Volume(volume) * units.Volume(m.Water.Q)).Mass(waterDensity)
	wet := start + work - p.together(id, 1/float64(p.o.Sections))
	c := &climate.WetCoat{At: placed{wet: wet, end: start + work}.laid(), Area: area / units.Area(p.o.Sections)}
	c.Water, c.Convection = units.Loading(float64(water)/float64(area)), p.j.Site.convection()
	if !(c.Area > 0 && c.Water >= 1e-3 && c.Water <= 5) { // what a forecast takes: see [climate.Drying]
		return nil
	}
	return c
}

// upcoming returns the first spell of m that begins at or after a time.
func (o *outlook) upcoming(m *Material, t time.Duration) (spell, bool) {
	all := o.of(m)
	i := sort.Search(len(all), func(i int) bool { return all[i].from >= t })
	if i == len(all) {
		return spell{}, false
	}
	return all[i], true
}

// lastStart returns the last whole minute from good on, from which m is tack-free
// by bad: it comes later the later it went down.
func (o *outlook) lastStart(m *Material, good, bad, work time.Duration) time.Duration {
	n := sort.Search(int((bad-good)/time.Minute)+1, func(i int) bool {
		free, ok := o.tackFree(m, good+time.Duration(i)*time.Minute+work)
		return !ok || free > bad
	})
	return good + time.Duration(max(n-1, 0))*time.Minute
}

// earliest returns the first break of m's limits from down until free, which the
// plan itself, whose sky is was, does not break then or within a grain after.
func (o *outlook) earliest(m *Material, was *sky, down, free time.Duration) (Break, bool) {
	best := Break{}
	first := forever
	for x := range o.against(m, down, free) {
		at := max(down, x.from)
		var anyway *time.Time
		for y := range was.against(m, at, free) {
			if y.limit != x.limit {
				continue
			}
			if y.from <= at+grain && y.to > at {
				if y.to == forever || y.to > min(x.to, free) {
					at = forever
					break
				}
				at = y.to
			} else if y.from > at {
				anyway = o.p.clock(y.from)
				break
			}
		}
		if at >= first || at > min(x.to, free) {
			continue
		}
		is, worst, _, ok := o.cut(m, x, at, free)
		if !ok {
			continue
		}
		first = is.from
		found, asked := o.amounts(m, x.limit, o.weather(worst))
		best = Break{Key: limits[x.limit].key + "-before-tack-free", At: *o.p.clock(is.from), Found: Amount{found}, Asked: Amount{asked}, By: beyond(found, asked), Worst: o.p.clock(worst),
			Anyway: anyway, Owner: "data sheet", Limit: m.ID + "@" + m.Version}
		if limits[x.limit].key == "dew-point-margin" {
			best.Owner, best.Limit = o.p.j.Margin.Owner, o.p.j.Margin.ID
		}
	}
	return best, first < forever
}

// beyond returns how far found is from asked, if both are of one kind.
func beyond(found, asked units.Quantity) Amount {
	switch f := found.(type) {
	case units.Temperature:
		if a, ok := asked.(units.Temperature); ok {
			return Amount{units.TempDelta(math.Abs(float64(f.Sub(a))))}
		}
	case units.TempDelta:
		if a, ok := asked.(units.TempDelta); ok {
			return Amount{units.TempDelta(math.Abs(float64(f - a)))}
		}
	case units.Fraction:
		if a, ok := asked.(units.Fraction); ok {
			return Amount{units.Fraction(math.Abs(float64(f - a)))}
		}
	case units.Span:
		if a, ok := asked.(units.Span); ok {
			return Amount{max(f-a, a-f)}
		}
	case units.Length:
		if a, ok := asked.(units.Length); ok {
			return Amount{units.Length(math.Abs(float64(f - a)))}
		}
	}
	return Amount{}
}

// finding returns the break as the finding that it is.
func (b *Break) finding() Finding {
	return Finding{Key: b.Key, Severity: Stop, Step: b.Step, Section: b.Section, When: &b.At, Found: b.Found, Asked: b.Asked, Owner: b.Owner, Limit: b.Limit}
}
