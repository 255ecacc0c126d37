package climate

import (
	"math"
)

// evaporating is what the coats give off at some surface, air and humidity, and
// how that changes.
type evaporating struct {
	temp, hum           float64           // surface, K; kg/kg
	flow, byTemp, byHum float64           // kg/s; more per K; less per kg/kg
	most                float64           // flow with which a coat gives all it has within the step
	part                [maxCoats]float64 // of flow, by coat, 1/m2
}

// put sets the rates of a stage for a flow.
func (e *evaporating) put(s *rates, flow float64) {
	s.dried, s.dry = flow, flow*latent
	if flow == 0 {
		return // s begins with nothing from any coat
	}
	s.coat = e.part
	for i := range s.coat {
		s.coat[i] *= flow
	}
}

// evaporation returns what the coats give off, for steps of h.
func (r *roomRun) evaporation(surface, w, h float64) (e evaporating) {
	e.temp, e.hum = surface, w
	if len(r.room.Coats) == 0 {
		return e
	}
	p := float64(r.room.Pressure)
	if p == 0 {
		p = 101325
	}
	pv := w * p / (epsilon + w)
	for i := range r.room.Coats {
		c := &r.room.Coats[i]
		if c.At > r.now || r.left[i] <= 0 {
			continue
		}
		d, _ := c.Drying.check("") // its zeros
		hc := float64(d.Convection)
		k := evaporation(surface, pv, p, hc)
		if k <= 0 {
			continue // what condenses does not go back into the coat
		}
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
		e.byTemp += area * share * (evaporation(surface+0.1, pv, p, hc) - k) / 0.1
		e.byHum += area * share * (k - evaporation(surface, pv+1, p, hc)) * (p * epsilon / ((epsilon + w) * (epsilon + w)))
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
