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

// A sky is the weather of a job with what it does to the limits: worked out
// once and shared by a plan and its alternatives.
type sky struct {
	given  *Weather
	slab   climate.Trace
	last   time.Duration   // of any reading: after it the weather does not change
	nodes  []time.Duration // times of all readings, rising
	margin units.TempDelta

	samples []sample
	damp    cure.Humidity         // see overSlab
	over    Series                // the same
	spells  map[[2]string][]spell // by id and version of a material
	known   map[arrival]arrived   // events worked out; nil: none are kept

	spaces *spaces  // of a job with a [room]
	from   *coupled // of which this is the weather
}

// A sample is the weather at a time.
type sample struct {
	at time.Duration
	conditions
}

// newSky looks at the weather from the job's start to the last reading, at
// every reading and every grain between.
func newSky(w *Weather, margin units.TempDelta) *sky {
	s := bareSky(w, margin)
	s.known = map[arrival]arrived{}
	s.samples = make([]sample, 0, min(len(s.nodes)+int(s.last/grain)+2, 1024))
	for t := time.Duration(0); ; {
		now := s.weather(t)
		s.samples = append(s.samples, sample{t, now})
		if t >= s.last {
			return s
		}
		i, reading := slices.BinarySearch(s.nodes, t)
		if reading || t == 0 { // where nothing moves up to the next reading there is nothing to look at
			if reading {
				i++
			}
			if next := s.nodes[i]; w.Slab.At(next) == now.slab && w.Air.At(next) == now.air && w.RH.At(next) == now.rh {
				t = next
				continue
			}
		}
		t = min(s.next(t), s.last)
	}
}

// bareSky is a sky whose limits are not asked for.
func bareSky(w *Weather, margin units.TempDelta) *sky {
	s := &sky{given: w, slab: w.SlabTrace(), last: w.Last(), margin: margin, spells: map[[2]string][]spell{}}
	for _, series := range []Series{w.Slab, w.Air, w.RH} {
		for _, r := range series {
			s.nodes = append(s.nodes, r.At)
		}
	}
	slices.Sort(s.nodes)
	s.nodes = slices.Compact(s.nodes)
	return s
}

func (s *sky) weather(t time.Duration) conditions {
	c := conditions{s.given.Slab.At(t), s.given.Air.At(t), s.given.RH.At(t), math.NaN()}
	if dew, err := climate.DewPoint(units.Kelvin(c.air), units.Fraction(c.rh)); err == nil {
		c.dew = dew.Kelvin()
	}
	return c
}

// next returns the next moment at which to look at the weather: a grain later,
// or at a reading of slab, air or humidity if one comes sooner. Between them
// the three are linear, so that no dip of a reading is stepped over.
func (s *sky) next(t time.Duration) time.Duration {
	i, found := slices.BinarySearch(s.nodes, t)
	if found {
		i++
	}
	if i < len(s.nodes) && s.nodes[i] < t+grain {
		return s.nodes[i]
	}
	return t + grain
}

// between calls look for the weather at from, at every sample between, and at to.
func (s *sky) between(from, to time.Duration, look func(time.Duration, conditions)) {
	look(from, s.weather(from))
	for i := s.after(from); i < len(s.samples) && s.samples[i].at < to; i++ {
		look(s.samples[i].at, s.samples[i].conditions)
	}
	if to > from {
		look(to, s.weather(to))
	}
}

// limits are what the weather can break of a material's limits and the margin
// rule: the key of the finding and a few words for the schedule's reasons.
var limits = [...]struct{ key, words string }{
	{"slab-too-cold", "slab too cold"},
	{"slab-too-hot", "slab too hot"},
	{"air-too-cold", "air too cold"},
	{"air-too-hot", "air too hot"},
	{"air-too-damp", "air too damp"},
	{"air-too-dry", "air too dry"},
	{"dew-point-margin", "slab too close to the dew point"},
}

// excess is by how much each of limits is broken; zero where it is kept.
type excess [len(limits)]float64

// broken returns what of m's limits and the margin rule c breaks. Limits give
// way by a millionth of a kelvin and a billionth of the humidity, for 140 °F is
// 60.00000000000006 °C.
func (s *sky) broken(m *Material, c conditions) (by excess) {
	set := func(i int, given bool, over, slack float64) {
		if given && !(over <= slack) { // so that NaN is told
			by[i] = over
		}
	}
	const k, f = 1e-6, 1e-9
	set(0, m.Surface.LowText != "", m.Surface.Low.Kelvin()-c.slab, k)
	set(1, m.Surface.HighText != "", c.slab-m.Surface.High.Kelvin(), k)
	set(2, m.Air.LowText != "", m.Air.Low.Kelvin()-c.air, k)
	set(3, m.Air.HighText != "", c.air-m.Air.High.Kelvin(), k)
	set(4, m.Humidity.HighText != "", c.rh-float64(m.Humidity.High), f)
	set(5, m.Humidity.LowText != "", float64(m.Humidity.Low)-c.rh, f)
	set(6, true, float64(s.margin)-(c.slab-c.dew), k)
	return by
}

// amounts returns what c is against the i-th of limits, and what m asks there.
func (s *sky) amounts(m *Material, i int, c conditions) (found, asked units.Quantity) {
	switch i {
	case 0:
		return units.Kelvin(c.slab), m.Surface.Low
	case 1:
		return units.Kelvin(c.slab), m.Surface.High
	case 2:
		return units.Kelvin(c.air), m.Air.Low
	case 3:
		return units.Kelvin(c.air), m.Air.High
	case 4:
		return units.Fraction(c.rh), m.Humidity.High
	case 5:
		return units.Fraction(c.rh), m.Humidity.Low
	}
	return units.TempDelta(c.slab - c.dew), s.margin
}

// reach returns when an earliest event comes, counted from from.
func (s *sky) reach(t Times, from time.Duration) (time.Duration, bool) {
	at, err := s.comes(t, false, from)
	return at, err == nil
}
