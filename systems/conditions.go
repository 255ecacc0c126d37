package systems

import (
	"math"
	"slices"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
)

// conditions are the weather at one moment, in K and as a fraction.
type conditions struct{ slab, air, rh, dew float64 }

func (p *planner) weather(t time.Duration) conditions {
	c := conditions{p.j.Weather.Slab.At(t), p.j.Weather.Air.At(t), p.j.Weather.RH.At(t), math.NaN()}
	if dew, err := climate.DewPoint(units.Kelvin(c.air), units.Fraction(c.rh)); err == nil {
		c.dew = dew.Kelvin()
	}
	return c
}

// next returns the next moment at which to look at the weather: a grain later,
// or at a reading of slab, air or humidity if one comes sooner. Between them
// the three are linear, so that no dip of a reading is stepped over.
func (p *planner) next(t time.Duration) time.Duration {
	i, found := slices.BinarySearch(p.nodes, t)
	if found {
		i++
	}
	if i < len(p.nodes) && p.nodes[i] < t+grain {
		return p.nodes[i]
	}
	return t + grain
}

// A breach is one limit broken: by how much is for comparing breaches of one key.
type breach struct {
	key          string
	found, asked units.Quantity
	by           float64
	limit        string
	margin       bool
}

// breaches returns what of m's limits and the margin rule c breaks.
func (p *planner) breaches(m *Material, c conditions, out []breach) []breach {
	const slack = 1e-6 // K
	sheet := m.ID + "@" + m.Version
	temp := func(key string, l Limits[units.Temperature], k float64) {
		if l.LowText != "" && !(k >= l.Low.Kelvin()-slack) {
			out = append(out, breach{key + "-too-cold", units.Kelvin(k), l.Low, l.Low.Kelvin() - k, sheet, false})
		}
		if l.HighText != "" && !(k <= l.High.Kelvin()+slack) {
			out = append(out, breach{key + "-too-hot", units.Kelvin(k), l.High, k - l.High.Kelvin(), sheet, false})
		}
	}
	temp("slab", m.Surface, c.slab)
	temp("air", m.Air, c.air)
	if l := m.Humidity; l.HighText != "" && !(c.rh <= float64(l.High)+1e-9) {
		out = append(out, breach{"air-too-damp", units.Fraction(c.rh), l.High, c.rh - float64(l.High), sheet, false})
	}
	if l := m.Humidity; l.LowText != "" && !(c.rh >= float64(l.Low)-1e-9) {
		out = append(out, breach{"air-too-dry", units.Fraction(c.rh), l.Low, float64(l.Low) - c.rh, sheet, false})
	}
	if margin := c.slab - c.dew; !(margin >= float64(p.margin)-slack) {
		out = append(out, breach{"dew-point-margin", units.TempDelta(margin), p.margin, float64(p.margin) - margin, p.j.Margin.ID, true})
	}
	return out
}

// allowed says in words what keeps m from going down between from and to, or
// returns "" if nothing does.
func (p *planner) allowed(m *Material, from, to time.Duration) string {
	var buf [8]breach
	for t := from; ; t = p.next(t) {
		t = min(t, to)
		if b := p.breaches(m, p.weather(t), buf[:0]); len(b) > 0 {
			return b[0].words()
		}
		if t == to || t > p.last {
			return ""
		}
	}
}

// words says a breach briefly, for the schedule's reasons.
func (b breach) words() string {
	switch b.key {
	case "slab-too-cold":
		return "slab too cold"
	case "slab-too-hot":
		return "slab too hot"
	case "air-too-cold":
		return "air too cold"
	case "air-too-hot":
		return "air too hot"
	case "air-too-damp":
		return "air too damp"
	case "air-too-dry":
		return "air too dry"
	}
	return "slab too close to the dew point"
}

// reach returns when an earliest event of a table comes, counted from from.
func (p *planner) reach(table cure.Table, from time.Duration) (time.Duration, bool) {
	at, err := cure.Reach(table.NotBefore(), p.trace, from)
	return at, err == nil
}
