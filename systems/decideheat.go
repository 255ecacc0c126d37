package systems

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"sort"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// A HeatChoice is the heat that a decision takes: names of the goal's lists, ""
// being what the job itself has.
type HeatChoice struct {
	Thermostat string `json:"thermostat,omitempty"`
	Refills    string `json:"refills,omitempty"`
	Heaters    string `json:"heaters,omitempty"`
}

// A heatWay is a job with one way to heat it, and what that does.
type heatWay struct {
	HeatChoice
	job *Job
	sky *sky

	mass   [][]units.Mass   // by heater, burned by each state of the forecast
	energy [][]units.Energy // likewise, taken in on the higher heating value
	finds  []heatFinding

	cells map[cellKey]map[time.Duration]*cell
}

type heatFinding struct {
	key      string
	severity Severity
	when     time.Duration
}

// heats returns the ways to heat the job, its own first, then by name.
func heats(ctx context.Context, j *Job, g *Goal) ([]*heatWay, error) {
	var all []*heatWay
	names := func(n int, keys func() []string) []string { return append([]string{""}, keys()...) }
	for _, thermostat := range names(len(g.Thermostats), func() []string { return slices.Sorted(maps.Keys(g.Thermostats)) }) {
		for _, refills := range names(len(g.Refills), func() []string { return slices.Sorted(maps.Keys(g.Refills)) }) {
			for _, heaters := range names(len(g.Heaters), func() []string { return slices.Sorted(maps.Keys(g.Heaters)) }) {
				if err := ctx.Err(); err != nil {
					return nil, err
				}
				h, err := newHeatWay(ctx, j, g, HeatChoice{thermostat, refills, heaters})
				if err != nil {
					return nil, err
				}
				all = append(all, h)
			}
		}
	}
	return all, nil
}

func newHeatWay(ctx context.Context, j *Job, g *Goal, c HeatChoice) (*heatWay, error) {
	h := &heatWay{HeatChoice: c, cells: map[cellKey]map[time.Duration]*cell{}}
	out := *j
	if c != (HeatChoice{}) {
		var err error
		if out, err = j.elsewhere(func(s *Site) { s.take(g, c, j.Now) }); err != nil {
			return nil, fmt.Errorf("systems.Decide: heat of %s: %w", c, oneLine(err))
		}
	}
	h.job = &out
	var margin units.TempDelta
	if err := margin.UnmarshalText([]byte(j.Margin.Value)); err != nil {
		return nil, fmt.Errorf("systems.Decide: margin rule %s: %w", j.Margin.ID, err)
	}
	h.sky = newSky(&out.Weather, margin)
	if out.Site == nil {
		return h, nil
	}
	if err := h.burn(); err != nil {
		return nil, err
	}
	return h, h.judge(ctx)
}

// String says the choice in a few words.
func (c HeatChoice) String() string {
	text := "the job's own heat"
	for i, x := range []struct{ what, name string }{{"thermostat", c.Thermostat}, {"refills", c.Refills}, {"heaters", c.Heaters}} {
		if x.name == "" {
			continue
		}
		if i == 0 || text == "the job's own heat" {
			text = x.what + " " + x.name
		} else {
			text += ", " + x.what + " " + x.name
		}
	}
	return text
}

// take changes the space as a choice says, from now on.
func (s *Site) take(g *Goal, c HeatChoice, now time.Duration) {
	r := &s.Room
	if c.Thermostat != "" {
		r.Thermostat = settingsFrom(r.Thermostat, g.Thermostats[c.Thermostat], now)
	}
	r.Heaters, s.Heaters = slices.Clone(r.Heaters), slices.Clone(s.Heaters)
	for i := range s.Heaters {
		h, x := &s.Heaters[i], &r.Heaters[i]
		if all, ok := g.Refills[c.Refills][h.Name]; ok {
			x.Refills = refillsFrom(x.Refills, all, now)
		}
		if change, ok := g.Heaters[c.Heaters][h.Name]; ok {
			if change.Count > 0 {
				x.Max *= units.Power(change.Count) / units.Power(h.Count)
				h.Count = change.Count
			}
			if change.Tank > 0 {
				x.Tank = change.Tank
			}
		}
	}
}

// burn adds up what each heater burns until each state of the forecast: of a
// tank what is gone from it, of a main and of current the forecast made again
// with a tank too large to empty, or the power less that of the fuels.
func (h *heatWay) burn() error {
	s := h.job.Site
	r := s.Room
	r.Heaters = slices.Clone(r.Heaters)
	main := false
	for i := range r.Heaters {
		if x := &r.Heaters[i]; s.Heaters[i].Fuel.ID != "" && x.Tank == 0 && len(x.Refills) == 0 {
			x.Tank, main = 1e6, true
		}
	}
	f := s.Forecast
	if main && s.past != nil {
		again := *s
		again.Room = r
		if err := again.joinedForecast(); err != nil {
			return err
		}
		f = again.Forecast
	} else if main {
		var err error
		if f, err = r.Forecast(s.Outdoors, s.Span, s.Steps); err != nil {
			return err
		}
	}
	n := len(f.States)
	left := make([]float64, n) // energy taken in that is not a fuel's, J
	for k := 1; k < n; k++ {
		a, b := &f.States[k-1], &f.States[k]
		left[k] = left[k-1] + float64(a.Power+b.Power)/2*(b.At-a.At).Seconds()
	}
	var current []int
	h.mass, h.energy = make([][]units.Mass, len(s.Heaters)), make([][]units.Energy, len(s.Heaters))
	for i, x := range s.Heaters {
		h.mass[i], h.energy[i] = make([]units.Mass, n), make([]units.Energy, n)
		if x.Fuel.ID == "" {
			current = append(current, i)
			continue
		}
		for k := range f.States {
			at := f.States[k].At
			in := r.Heaters[i].Tank
			for _, add := range r.Heaters[i].Refills {
				if add.At <= at {
					in += add.Add
				}
			}
			h.mass[i][k] = max(0, in-f.States[k].Fuel[i])
			if k > 0 { // rounding must not give fuel back
				h.mass[i][k] = max(h.mass[i][k], h.mass[i][k-1])
			}
			h.energy[i][k] = units.Energy(float64(h.mass[i][k]) * float64(x.Fuel.HHV.Q))
			left[k] -= float64(h.energy[i][k])
		}
	}
	for _, i := range current { // shared alike: the forecast does not tell them apart
		for k := range left {
			h.energy[i][k] = units.Energy(max(0, left[k]) / float64(len(current)))
			if k > 0 {
				h.energy[i][k] = max(h.energy[i][k], h.energy[i][k-1])
			}
		}
	}
	return nil
}

// judge gathers what the heat alone brings of findings, and when each begins.
func (h *heatWay) judge(ctx context.Context) error {
	p, err := begin(ctx, h.job, h.sky, false)
	if err != nil {
		return err
	}
	if err := p.heat(); err != nil {
		return err
	}
	for _, f := range p.o.Findings {
		x := heatFinding{key: f.Key, severity: f.Severity}
		if f.When != nil {
			x.when = f.When.Sub(h.job.Start)
		}
		h.finds = append(h.finds, x)
	}
	return nil
}

// found counts the heat's findings that begin before the floor is handed over.
// It never falls as that comes later.
func (h *heatWay) found(until time.Duration) (stops, watches int) {
	for _, f := range h.finds {
		switch {
		case f.when >= until:
		case f.severity == Stop:
			stops++
		case f.severity == Watch:
			watches++
		}
	}
	return stops, watches
}

// burned returns what a heater burns from the start until a time, linear
// between the quarter hours of the forecast. After the forecast's end it goes
// on as on its last day. It never falls as until comes later.
func (h *heatWay) burned(i int, until time.Duration) (units.Mass, units.Energy) {
	s := h.job.Site
	m, e := h.mass[i], h.energy[i]
	n := len(m)
	last := s.Forecast.States[n-1].At
	if until == forever {
		until = last
	}
	if until >= last {
		k := sort.Search(n, func(k int) bool { return s.Forecast.States[k].At >= last-day })
		if span := last - s.Forecast.States[k].At; span > 0 {
			x := float64(until-last) / float64(span)
			return m[n-1] + units.Mass(x)*(m[n-1]-m[k]), e[n-1] + units.Energy(x)*(e[n-1]-e[k])
		}
		return m[n-1], e[n-1]
	}
	k := sort.Search(n, func(k int) bool { return s.Forecast.States[k].At > until })
	if k == 0 {
		return 0, 0
	}
	a, b := s.Forecast.States[k-1].At, s.Forecast.States[k].At
	x := float64(until-a) / float64(b-a)
	return m[k-1] + units.Mass(x)*(m[k]-m[k-1]), e[k-1] + units.Energy(x)*(e[k]-e[k-1])
}

// fuel returns the energy that all heaters take in until a time.
func (h *heatWay) fuel(until time.Duration) (all units.Energy) {
	if h.job.Site == nil {
		return 0
	}
	for i := range h.energy {
		_, e := h.burned(i, until)
		all += e
	}
	return all
}

// lasting returns the fuel that a heater lacks to heat so much longer than until
// its tank is empty.
func (h *heatWay) lasting(i int, empty, longer time.Duration) (units.Mass, error) {
	s := h.job.Site
	r := s.Room
	r.Heaters = slices.Clone(r.Heaters)
	had := r.Heaters[i].Tank
	for _, x := range r.Heaters[i].Refills {
		if x.At < empty {
			had += x.Add
		}
	}
	r.Heaters[i].Tank, r.Heaters[i].Refills = 1e5, nil
	f, err := r.Forecast(s.Outdoors, min(empty+longer, s.Span), s.Steps)
	if err != nil {
		return 0, err
	}
	return max(0, f.Balance.Fuel[i]-had), nil
}

var errTooLarge = errors.New("systems.Decide: more states than allowed")
