package climate

import (
	"fmt"
	"math"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// book adds a step of h to the balances and takes the fuel and the water.
func (r *roomRun) book(s *[3]rates, h float64) {
	b := &r.bal
	for i, w := range [3]float64{weight * h, weight * h, diag * h} {
		x := &s[i]
		b.Heat += units.Energy(w * x.heat)
		b.TakenIn += units.Energy(w * x.burn)
		b.Envelope += units.Energy(w * x.envelope)
		b.Ventilation += units.Energy(w * x.vent)
		b.Deep += units.Energy(w * x.deep)
		b.Evaporation += units.Energy(w * x.dry)
		b.Burned += units.Mass(w * x.water)
		b.Dried += units.Mass(w * x.dried)
		b.Emitted += units.Mass(w * x.emitted)
		b.Vented += units.Mass(w * x.vapour)
		b.Exhausted += units.Mass(w * x.carbon)
		for k := range r.room.Heaters {
			b.TakenBy[k] += units.Energy(w * x.taken[k])
			b.Fuel[k] += units.Mass(w * x.fuel[k])
			if !r.room.Heaters[k].endless() {
				r.fuel[k] = max(0, r.fuel[k]-w*x.fuel[k])
			}
		}
	}
	r.dries(s, h)
}

// state returns the room now.
func (r *roomRun) state(s *rates) (RoomState, error) {
	p := float64(r.room.Pressure)
	if p == 0 {
		p = 101325
	}
	l, _ := lnWater(r.air)
	e := r.hum * p / (epsilon + r.hum)
	le := math.Log(e)
	dew, err := dewOf("climate.Room.Forecast", le)
	if err != nil || math.IsNaN(dew) {
		return RoomState{}, fmt.Errorf("climate.Room.Forecast: no dew point at %v, humidity ratio %g", r.now, r.hum)
	}
	surface := r.air
	if r.area > 0 {
		surface = r.st.t[0]
	}
	st := RoomState{At: r.now, Air: units.Kelvin(r.air), Surface: units.Kelvin(surface), DewPoint: units.Kelvin(dew), RH: units.Fraction(math.Exp(le - l)), Margin: units.TempDelta(surface - dew),
		CO2: units.Fraction(r.co2 * molarDry / molarCO2)}
	for i := range r.room.Heaters {
		st.Fuel[i] = units.Mass(r.fuel[i])
	}
	if s != nil {
		st.Power, st.Heat, st.Evaporation = units.Power(s.burn), units.Power(s.heat), units.MassFlow(s.dried)
	}
	return st, nil
}

// put writes the state now.
func (r *roomRun) put() error {
	if r.now == 0 && len(r.out.States) == 0 {
		in := r.input(0)
		var s rates
		s.heat = r.start(in)
		r.share(&s)
		var err error
		if r.was, err = r.state(&s); err != nil {
			return err
		}
		r.held = r.holds(in, &s)
		if r.held == HeatersAtMaximum {
			r.out.Events = append(r.out.Events, Event{What: r.held})
		}
		r.watch(nil, &r.was, 0, 0)
	}
	r.was.At = r.now
	for i := range r.room.Heaters {
		r.was.Fuel[i] = units.Mass(r.fuel[i]) // with what was refilled just now
	}
	r.out.States = append(r.out.States, r.was)
	return nil
}

// holds says what the heaters do.
func (r *roomRun) holds(in input, s *rates) string {
	switch {
	case in.set == 0 || r.can() == 0:
		return ""
	case r.air < in.set-1e-6 && s.heat >= r.can()*(1-1e-12):
		return HeatersAtMaximum
	}
	return HeatersHold
}

// since returns after which part of a step of h, from input a to in, the heaters
// came to do what they do at its end: at once where something jumped, else where
// the air reached what is set, or its losses there the most that the heaters give.
func (r *roomRun) since(a, in input, h float64, held string) float64 {
	const near = 1e-6 // K, as in holds
	air, surface, set, can := r.was.Air.Kelvin(), r.was.Surface.Kelvin(), in.set, r.can()
	switch {
	case held == HeatersHold && air < set-near: // air + v0 t + (v1 - v0) t^2/(2 h) = set
		v0, v1 := h*(can-r.lost(a, air, surface))/r.heatCap, h*(can-r.lost(in, set, r.st.t[0]))/r.heatCap
		up, root := set-air, math.Sqrt(max(v0*v0+2*(v1-v0)*(set-air), 0))
		if v0+root <= 0 {
			return 1
		}
		return min(2*up/(v0+root), 1)
	case held == HeatersAtMaximum && air > set+near:
		return min((air-set)/(air-r.air), 1)
	case held == HeatersAtMaximum && air >= set-near:
		before, after := r.lost(a, set, surface), r.lost(in, set, r.st.t[0])
		if before < can && after > before {
			return min((can-before)/(after-before), 1)
		}
	}
	return 0
}

// tell looks for what happened in a step of h, from input a to in, that just ended.
func (r *roomRun) tell(a, in input, h float64, s *rates) error {
	from, end := r.now, r.now+time.Duration(h*1e9)
	st, err := r.state(s)
	if err != nil {
		return err
	}
	st.At = end
	held := r.holds(in, s)
	if held != r.held && held != "" && (r.held != "" || held == HeatersAtMaximum) {
		at := from + time.Duration(r.since(a, in, h, held)*float64(end-from))
		r.out.Events = append(r.out.Events, Event{At: at, What: held})
	}
	if held != r.held {
		r.held, r.stirred = held, end
	}
	r.watch(&r.was, &st, from, end)
	r.was = st
	return nil
}

// watch tells which limits were crossed between two states; without the first,
// which are broken in the second.
func (r *roomRun) watch(a, b *RoomState, from, end time.Duration) {
	start := a == nil
	if start {
		a = b
	}
	const hair = 1e-9 // K or of 1, which rounding is worth at least
	cross := func(v0, v1, limit, sign float64, broken, kept string) {
		limit += sign * hair
		was, is := sign*v0 > sign*limit, sign*v1 > sign*limit
		switch {
		case start && is:
			r.out.Events = append(r.out.Events, Event{At: end, What: broken})
		case !start && was != is:
			what := kept
			if is {
				what = broken
			}
			at := from + time.Duration((limit-v0)/(v1-v0)*float64(end-from))
			r.out.Events = append(r.out.Events, Event{At: at, What: what})
		}
	}
	const least, most = -1, 1
	w := r.room.Watch
	if r.area > 0 {
		cross(float64(a.Margin), float64(b.Margin), 0, least, Condensing, NotCondensing)
		if w.Margin > 0 {
			cross(float64(a.Margin), float64(b.Margin), float64(w.Margin), least, MarginBroken, MarginKept)
		}
		if k := w.Surface.Kelvin(); k != 0 {
			cross(a.Surface.Kelvin(), b.Surface.Kelvin(), k, least, SurfaceBelow, SurfaceAbove)
		}
	}
	if w.RH > 0 {
		cross(float64(a.RH), float64(b.RH), float64(w.RH), most, RHAbove, RHBelow)
	}
	if w.CO2 > 0 {
		cross(float64(a.CO2), float64(b.CO2), float64(w.CO2), most, CO2Above, CO2Below)
	}
}
