package systems

import (
	"cmp"
	"math"
	"slices"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
)

// The two spaces between which that of every plan in one way to heat lies.
//
// Water that evaporates takes heat from the slab and goes into the air, and does
// nothing else. Slab, air, what is burned and what the tanks hold obey equations in
// which more heat taken from the slab leaves nothing warmer, nothing burned less and
// no tank fuller (heat flows rise with the temperatures they come from, a
// thermostat asks for more the colder it is; see [HeatLoss]), and in which more
// water given to the air leaves it at no time with less. What evaporates is asked
// for as a given history here, not as a law: so each space lies between that in
// which none does, the kindest, and that in which at each moment at least as much
// does as in any plan, the harshest:
//
//   - the slab gives off its moisture until the end, as if nothing closed it;
//   - every coat that gives water gives it from the earliest moment at which any
//     could be laid until the end, as fast as it would, quite wet, on the slab of the
//     kindest space into its air; a real one lies on a colder slab in damper air, is
//     not laid yet, or covered, or dry.
//
// Between them lie the slab, the air and the water in it, and so the relative
// humidity (more water in colder air), that over the slab, and the margin (a colder
// slab, a higher dew point). An unvented heater adds water as long as it burns: where
// its tank may run dry sooner, the air may then be drier than in the kindest space,
// so that of such nothing is said; nor where readings are typed in, which win over
// the forecast one by one, or where the job says what time it is now.
//
// A plan's readings are thinned (Site.weather), and a forecast's own steps differ
// with what happens in it: that is given away by the extra below.

// What a plan's readings may lie beyond the forecasts of the extremes.
const (
	extraSlab   = 0.04 // K
	extraAir    = 0.1  // K
	extraRH     = 0.005
	extraMargin = 0.1 // K
)

// extremes are the two spaces of a way to heat.
type extremes struct {
	warm, cold *sky // the kindest and the harshest
	hot, mild  *sky // the same, with no margin asked: for what heat and dry air break
	kinder     map[string]*Material
	harsher    map[string]*Material
	tops       map[string]*Material // of which only limits to heat and dry air are asked
}

// ordered reports whether more water leaves the space of a way to heat colder and
// damper, of all that the plan takes from it.
func (pr *problem) ordered(heat int) bool {
	s, given := pr.heats[heat].job.Site, pr.j.given
	return s != nil && s.past == nil && s.Room.Floor > 0 && pr.j.Now == 0 && len(pr.j.Done)+len(pr.j.lack)+len(given.Slab)+len(given.Air)+len(given.RH) == 0
}

// extremes returns the two spaces of all plans whose coats give no water, nil if
// nothing is said of the way to heat: the slab gives off nothing, or all the time.
func (pr *problem) extremes(heat int) (*extremes, error) {
	s, e := pr.heats[heat].job.Site, pr.j.Slab.Emission
	if !pr.ordered(heat) || e == nil || !(*e > 0) {
		return nil, nil
	}
	return pr.spread(heat, coupling{}, coupling{emissions: []emission{{Emission: climate.Emission{To: s.Span, Area: s.Room.Floor, Flux: *e}}}})
}

// spread returns the extremes of two couplings.
func (pr *problem) spread(heat int, least, most coupling) (*extremes, error) {
	h := pr.heats[heat]
	s := h.job.Site
	worst := pr.air(heat, h.job).spaces.into(most)
	if worst.err != nil {
		return nil, pr.ctx.Err() // too damp or too cold to follow: nothing is said
	}
	harsh := worst.site
	kind := s
	switch {
	case least.empty():
	case least.key() == most.key():
		kind = harsh
	default:
		var err error
		if kind, err = s.with(least, s.Span, s.Forecast); err != nil {
			return nil, pr.ctx.Err()
		}
	}
	for _, e := range harsh.Forecast.Events {
		if e.What == climate.TankEmpty && s.Room.Heaters[e.Heater].Unvented {
			return nil, nil
		}
	}
	if pr.kinder == nil {
		pr.kinder, pr.harsher, pr.tops = map[string]*Material{}, map[string]*Material{}, map[string]*Material{}
		for name, m := range pr.j.materials {
			top := *m
			top.Surface.LowText, top.Air.LowText, top.Humidity.HighText = "", "", ""
			pr.kinder[name], pr.harsher[name], pr.tops[name] = m.kinder(), m.harsher(), &top
		}
	}
	x := &extremes{kinder: pr.kinder, harsher: pr.harsher, tops: pr.tops}
	warm, cold := leaned(kind.weather(), 1), leaned(harsh.weather(), -1)
	x.warm = newSky(&warm, h.sky.margin-extraMargin)
	x.cold = newSky(&cold, h.sky.margin+extraMargin)
	x.hot, x.mild = x.warm.asking(-1e3), x.cold.asking(-1e3)
	for _, coat := range pr.coats {
		for _, o := range coat.options {
			x.block(o.step.Material)
		}
	}
	return x, nil
}

// block puts before the kindest space what keeps a coat from it in any: cold, damp
// and the margin as they are there, heat and dry air as in the harshest, where they
// are least.
func (x *extremes) block(name string) {
	m := x.kinder[name]
	all := append(slices.Clone(x.warm.of(m)), x.mild.of(x.tops[name])...)
	slices.SortStableFunc(all, func(a, b spell) int { return cmp.Compare(a.from, b.from) })
	for i := range all {
		all[i].latest = all[i].to
		if i > 0 {
			all[i].latest = max(all[i].to, all[i-1].latest)
		}
	}
	x.warm.spells[[2]string{m.ID, m.Version}] = all
}

// breaks reports whether a spell that is certain breaks its limit between two
// times for a minute at least.
func (x *extremes) breaks(name string, s spell, from, to time.Duration) bool {
	sky, m := x.warm, x.kinder[name]
	if limits[s.limit].key == "slab-too-hot" || limits[s.limit].key == "air-too-hot" || limits[s.limit].key == "air-too-dry" {
		sky, m = x.mild, x.tops[name]
	}
	is, _, _, ok := sky.cut(m, s, from, to)
	return ok && is.to-is.from >= time.Minute
}

// leaned returns a weather a little warmer and drier than it is, or colder and damper.
func leaned(w Weather, sign float64) Weather {
	add := func(s Series, by, lo, hi float64) Series {
		s = slices.Clone(s)
		for i := range s {
			s[i].V = min(max(s[i].V+sign*by, lo), hi)
		}
		return s
	}
	return Weather{add(w.Slab, extraSlab, 0, math.Inf(1)), add(w.Air, extraAir, 0, math.Inf(1)), add(w.RH, -extraRH, 0.01, 1)}
}

// asking returns a sky of the same weather that asks for another margin.
func (s *sky) asking(margin units.TempDelta) *sky {
	x := *s
	x.margin, x.spells = margin, map[[2]string][]spell{}
	return &x
}

// kinder returns the material so that for all that the search asks of it no plan
// does better than in the kindest space: no limit to heat or dry air, no event that
// takes longer where it is warmer or, if water must leave it, where it is drier;
// cured by moisture it is as quick as in the dampest air.
func (m *Material) kinder() *Material {
	x := *m
	x.Surface.HighText, x.Air.HighText, x.Humidity.LowText = "", "", ""
	x.Times = map[string]Times{}
	for event, t := range m.Times {
		if t.Humid == nil || t.Humid.By != cure.Waterborne || isLatest(event) {
			x.Times[event] = t.atBest(isLatest(event))
			continue
		}
		x.Times[event] = t.monotone(func(a, b time.Duration) time.Duration { return min(a, b) }, -1)
	}
	return &x
}

// harsher returns the material so that no plan does worse than in the harshest
// space; what is cured by moisture may never be.
func (m *Material) harsher() *Material {
	x := *m
	x.Surface.HighText, x.Air.HighText, x.Humidity.LowText = "", "", ""
	x.Times = map[string]Times{}
	byAir := func(t Times) bool { return t.Humid != nil && t.Humid.By != cure.Waterborne }
	for event, t := range m.Times {
		if byAir(t) || byAir(m.Times[TackFree]) && slices.Contains(afterWet, event) {
			x.Times[event] = Times{Table: cure.Table{{Temp: units.Celsius(90), Time: time.Hour}}}
			continue
		}
		x.Times[event] = t.monotone(func(a, b time.Duration) time.Duration { return max(a, b) }, 1)
	}
	return &x
}

// monotone returns times that are at no temperature longer than at a lower one, and
// over humidity at none shorter than in drier air: from the cold and damp end on the
// least of them so far (from -1), or from the other the most (from 1).
func (t Times) monotone(of func(a, b time.Duration) time.Duration, from int) Times {
	rows := slices.Clone(t.Table)
	n := len(rows)
	for k := 1; k < n; k++ {
		if from < 0 {
			rows[k].Time = of(rows[k].Time, rows[k-1].Time)
		} else {
			rows[n-1-k].Time = of(rows[n-1-k].Time, rows[n-k].Time)
		}
	}
	t.Table = rows
	if t.Humid == nil {
		return t
	}
	h := *t.Humid
	h.Times = nil
	for _, row := range t.Humid.Times {
		h.Times = append(h.Times, slices.Clone(row))
	}
	n, m := len(h.Times), len(h.RH)
	for a := range n {
		for b := range m {
			i, j, up, side := a, m-1-b, a-1, m-b // from the cold and damp end
			if from > 0 {
				i, j, up, side = n-1-a, b, n-a, b-1
			}
			if a > 0 {
				h.Times[i][j] = of(h.Times[i][j], h.Times[up][j])
			}
			if b > 0 {
				h.Times[i][j] = of(h.Times[i][j], h.Times[i][side])
			}
		}
	}
	t.Humid = &h
	return t
}
