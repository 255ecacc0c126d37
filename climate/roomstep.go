package climate

import (
	"math"
)

// rates are the flows at one stage.
type rates struct {
	heat, burn, envelope, vent, deep, dry float64             // W
	water, vapour, dried, carbon, gas     float64             // kg/s: burned, vented, dried, CO2 burned, CO2 vented
	emitted                               float64             // kg/s, from the slab
	fuel, taken                           [maxHeaters]float64 // kg/s, W
	flux                                  float64             // W/m2 into the slab from the air
	coat                                  []float64
}

// can fills max with what each heater can give and returns the sum, W.
func (r *roomRun) can() float64 {
	sum := 0.0
	for i := range r.room.Heaters {
		h := &r.room.Heaters[i]
		r.max[i] = 0
		if h.endless() || r.fuel[i] > r.dregs[i] {
			r.max[i] = float64(h.Max) * h.share()
		}
		sum += r.max[i]
	}
	return sum
}

// astray reports whether a step has gone too far: to no water in the air, or to
// temperatures beyond what drives the room and what drying cools.
func (r *roomRun) astray() bool {
	const over, under = 1, 60 // K
	surface := r.air
	if r.area > 0 {
		surface = r.st.t[0]
	}
	lo, hi := min(r.air, surface), max(r.air, surface)
	return !(r.hum > 0 && lo > r.lo-under && hi < r.hi+over)
}

// others returns the heat that the air takes up now but for the heaters', W.
func (r *roomRun) others(in input) float64 { return -r.lost(in, r.air, r.st.t[0]) }

// lost returns the heat that air over a surface gives away, W.
func (r *roomRun) lost(in input, air, surface float64) float64 {
	w := (float64(r.room.Envelope) + r.mass*cpAir*in.n) * (air - in.temp)
	if r.area > 0 {
		w += r.area * r.col.h * (air - surface)
	}
	return w
}

// start returns the heat to the air at the start of a step: all that there is
// below what is set, what is lost there, none above.
func (r *roomRun) start(in input) float64 {
	can := r.can()
	switch {
	case in.set == 0 || r.air > in.set+atSet:
		return 0
	case r.air < in.set-atSet:
		return can
	}
	return min(max(-r.others(in), 0), can)
}

// reachable returns the longest step (s) in which the heat of the start lifts
// the air at most over what is set by beyond.
func (r *roomRun) reachable(in input) float64 {
	const beyond = 0.02 // K
	net := r.start(in) + r.others(in)
	if in.set == 0 || r.air >= in.set-atSet || net <= 0 {
		return math.Inf(1)
	}
	return r.heatCap * (in.set - r.air + beyond) / net
}

// stages advances the state by h and fills the rates at its three stages.
func (r *roomRun) stages(a, m, b input, h float64, s *[3]rates) {
	ca := r.heatCap / (diag * h) // W/K
	can := r.can()
	ua := float64(r.room.Envelope)
	var f *factor
	if r.area > 0 {
		f = r.slabRun.factor(h)
	}
	surface := func(t *[maxNodes]float64) float64 {
		if r.area > 0 {
			return t[0]
		}
		return r.air
	}

	emitted := r.emitting() // the same all the step: what begins or ends parts steps
	for i := range s {
		s[i].emitted, s[i].coat = emitted, r.coatRates[i]
	}

	// Start: all that is not heat is known; the heat follows from it.
	s0 := &s[0]
	ev := r.evaporation(surface(&r.st.t), r.hum, h)
	ev.put(s0, ev.flow)
	other := r.others(a)
	s0.heat = r.start(a)
	r.share(s0)
	r.flows(s0, a, ua, r.air, r.hum, r.co2, surface(&r.st.t), r.st.t[max(r.col.n-1, 0)])

	// solve finishes a stage from what it starts from: air, water and carbon
	// dioxide; s.water is the stage before's; up is what the slab was eliminated to.
	// ev is as it was there, from where the change of the drying with humidity and
	// surface is taken straight.
	solve := func(in input, ev *evaporating, up, base, hum, co2 float64, t *[maxNodes]float64, s *rates) (air, w, c float64) {
		k := 1 / (diag * h)
		flow, slope := ev.flow, 0.0
		if flow > 0 {
			w := (k*hum + in.n*in.hum + (s.water+emitted+ev.byHum*ev.hum+flow)/r.mass) / (k + in.n + ev.byHum/r.mass)
			flow = min(max(0, flow-ev.byHum*(w-ev.hum)), ev.most)
			slope = ev.byTemp * flow / ev.flow
		}
		for {
			d, n := ca+ua+r.mass*cpAir*in.n, ca*base+(ua+r.mass*cpAir*in.n)*in.temp
			top, inv, hA := 0.0, 0.0, r.area*r.col.h
			if r.area > 0 {
				cool := latent * slope / r.area
				top = up - latent*(flow+emitted)/r.area + cool*ev.temp
				inv = 1 / (1/f.inv[0] + cool)
				d += hA * (1 - r.col.h*inv)
				n += hA * top * inv
			}
			s.heat = 0
			if in.set != 0 {
				s.heat = min(max(in.set*d-n, 0), can)
			}
			air = (n + s.heat) / d
			if s.heat > 0 && s.heat < can {
				air = in.set
			}
			if r.area == 0 {
				break
			}
			v := (top + r.col.h*air) * inv
			more := flow + slope*(v-ev.temp)
			if slope == 0 || more >= 0 && more <= ev.most {
				flow = more
				r.col.down(f, &r.st, t, v)
				break
			}
			flow, slope = min(max(0, more), ev.most), 0 // cooled so far that nothing evaporates, or all there is
		}
		ev.put(s, flow)
		r.share(s)
		w = (k*hum + in.n*in.hum + (s.water+emitted+s.dried)/r.mass) / (k + in.n)
		c = (k*co2 + in.n*r.outsideCO2() + s.carbon/r.mass) / (k + in.n)
		r.flows(s, in, ua, air, w, c, surface(t), t[max(r.col.n-1, 0)])
		return air, w, c
	}

	// Middle.
	up := 0.0
	if r.area > 0 {
		up = r.col.first(f, &r.st, r.air, -s0.dry/r.area)
	}
	dh := diag * h
	net := s0.heat + other
	s[1].water = s0.water
	am, wm, cm := solve(m, &ev, up, r.air+dh*net/r.heatCap, r.hum+dh*(a.n*(a.hum-r.hum)+(s0.water+emitted+s0.dried)/r.mass), r.co2+dh*(a.n*(r.outsideCO2()-r.co2)+s0.carbon/r.mass), &r.st.a, &s[1])

	// End.
	if r.area > 0 {
		up = r.col.second(f, &r.st)
	}
	ev = r.evaporation(surface(&r.st.a), wm, h)
	s[2].water = s[1].water
	air, w, c := solve(b, &ev, up, r.air+blend*(am-r.air), r.hum+blend*(wm-r.hum), r.co2+blend*(cm-r.co2), &r.st.t, &s[2])
	r.turned = turn(r.air, am, air)
	if r.area > 0 {
		r.turned = max(r.turned, turn(r.saved.t[0], r.st.a[0], r.st.t[0]))
	}
	r.air, r.hum, r.co2 = air, w, c
}

// turn returns how far the middle of a step lies beside the straight line from its
// start to its end, in parts of straight.
func turn(a, m, b float64) float64 { return math.Abs(m-a-gamma*(b-a)) / straight }

func (r *roomRun) outsideCO2() float64 {
	if r.room.CO2 != 0 {
		return float64(r.room.CO2) * molarCO2 / molarDry
	}
	return 420e-6 * molarCO2 / molarDry
}

// share divides the heat among the heaters, the first first, and sets what they
// take in and give off.
func (r *roomRun) share(s *rates) {
	left := s.heat
	s.burn, s.water, s.carbon = 0, 0, 0
	for i := range r.room.Heaters {
		h := &r.room.Heaters[i]
		p := min(left, r.max[i])
		left -= p
		in := p / h.share()
		s.burn += in
		s.taken[i], s.fuel[i] = in, 0
		if !h.Fuel.electric() {
			s.fuel[i] = in / float64(h.Fuel.HHV)
		}
		if h.Unvented {
			s.water += s.fuel[i] * float64(h.Fuel.Water)
			s.carbon += s.fuel[i] * float64(h.Fuel.CO2)
		}
	}
}

// flows fills in the losses at a stage.
func (r *roomRun) flows(s *rates, in input, ua, air, w, c, surface, under float64) {
	s.envelope = ua * (air - in.temp)
	s.vent = r.mass * cpAir * in.n * (air - in.temp)
	s.vapour = r.mass * in.n * (w - in.hum)
	s.gas = r.mass * in.n * (c - r.outsideCO2())
	if r.area > 0 {
		s.flux = r.col.h * (air - surface)
		s.deep = r.area * r.col.g[r.col.n-1] * (under - r.col.deep)
	}
}
