package climate

import (
	"math"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// evaporating is what the coats give off at some surface, air and humidity, and
// how that changes.
type evaporating struct {
	temp, hum           float64   // surface, K; kg/kg
	flow, byTemp, byHum float64   // kg/s; more per K; less per kg/kg
	most                float64   // flow with which a coat gives all it has within the step
	part                []float64 // of flow, by coat, 1/m2
}

// put sets the rates of a stage for a flow.
func (e *evaporating) put(s *rates, flow float64) {
	s.dried, s.dry = flow, (flow+s.emitted)*latent
	for i := range s.coat {
		s.coat[i] = 0
		if flow != 0 {
			s.coat[i] = e.part[i] * flow
		}
	}
}

// evaporation returns what the coats give off, for steps of h. It is good until
// it is asked again.
func (r *roomRun) evaporation(surface, w, h float64) (e evaporating) {
	e.temp, e.hum = surface, w
	first := 0
	for first < len(r.coats) && !r.gives(first) {
		first++
	}
	if first == len(r.coats) {
		return e
	}
	e.part = r.part
	clear(e.part)
	p := float64(r.room.Pressure)
	if p == 0 {
		p = 101325
	}
	pv := w * p / (epsilon + w)
	l, _ := lnWater(surface)
	saturated := math.Exp(l)
	wet := evaporates(saturated, pv, p, 1) // for 1 W/(m2 K): it goes with the convection
	if wet <= 0 {
		return e // what condenses does not go back into the coat
	}
	byTemp := (evaporation(surface+0.1, pv, p, 1) - wet) / 0.1
	byHum := (wet - evaporates(saturated, pv+1, p, 1)) * (p * epsilon / ((epsilon + w) * (epsilon + w)))
	for i := first; i < len(r.coats); i++ {
		d, c := &r.coats[i], &r.room.Coats[i]
		if !r.gives(i) {
			continue
		}
		hc := float64(d.Convection)
		k := wet * hc
		share := 1.0
		if left := r.left[i] / float64(d.Water); left < float64(d.Critical) {
			share = left / float64(d.Critical)
		}
		area := float64(c.Area)
		if k*share > r.left[i]/h { // the last of it
			e.part[i] = r.left[i] / h
			e.flow += e.part[i] * area
			continue
		}
		e.part[i] = k * share
		e.flow += e.part[i] * area
		e.byTemp += area * share * hc * byTemp
		e.byHum += area * share * hc * byHum
	}
	if e.flow > 0 {
		e.most = math.Inf(1)
		for i := range e.part {
			if e.part[i] > 0 {
				e.most = min(e.most, e.flow*max(1, r.left[i]/(h*e.part[i])))
			}
			e.part[i] /= e.flow
		}
	}
	return e
}

// gives reports whether a coat is laid, not covered, and has water left that
// counts: a millionth of it stays in it for good.
func (r *roomRun) gives(i int) bool {
	c := &r.room.Coats[i]
	return c.At <= r.now && (c.Covered == 0 || c.Covered > r.now) && r.left[i] > 1e-6*float64(c.Water)
}

// emitting returns what the slab gives off now, kg/s.
func (r *roomRun) emitting() (flow float64) {
	for i := range r.room.Emissions {
		if e := &r.room.Emissions[i]; e.From <= r.now && e.To > r.now {
			flow += float64(e.Flux) * float64(e.Area)
		}
	}
	return flow
}

// dries takes what the coats gave in a step of h, and tells which of them are
// dry now.
func (r *roomRun) dries(s *[3]rates, h float64) {
	for k := range r.coats {
		d, was := &r.coats[k], r.left[k]
		gave := h * (weight*(s[0].coat[k]+s[1].coat[k]) + diag*s[2].coat[k])
		if gave == 0 {
			continue
		}
		r.left[k] = max(0, was-gave)
		if dry := float64(d.Left * units.Fraction(d.Water)); was > dry && r.left[k] <= dry {
			at := r.now + time.Duration(h*1e9*min(1, (was-dry)/gave))
			r.out.Events = append(r.out.Events, Event{At: at, What: CoatDry, Coat: k})
			r.out.Coats[k].Dry, r.out.Coats[k].IsDry = at, true
		}
	}
}

// wet returns the longest step for what dries now, at most most: the shorter the
// more it cools the slab.
func (r *roomRun) wet(most float64) float64 {
	const brisk = 5 // W/m2 that dries in steps of wetStep: a fifth in the slope is 0.1 K at a film of 10 W/(m2 K)
	q := latent * float64(r.was.Evaporation) / r.area
	if !(q > 0) {
		return most
	}
	return min(max(wetStep, wetStep*brisk/q), most)
}
