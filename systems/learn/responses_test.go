package learn

import (
	"math"
	"testing"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// Between its grid points and off the temperatures it is linear about, the
// responses are the forecast's. Source: climate.Slab.ForecastFrom itself, whose
// Accuracy is 0.01 K here; twice that for two of them.
func TestResponses(t *testing.T) {
	air := airLog(heated, 48, 30)
	const probe = 0.1
	at := []time.Duration{5 * time.Hour, 20 * time.Hour, 47 * time.Hour}
	r := &responses{slab: testSlab(281), air: air, span: 48 * time.Hour, probe: probe, at: at, start: 279, deep: 281, conductivity: math.Log(1.4), nodes: map[[2]int]*node{}}
	for _, x := range [][6]float64{{8.3, 1.4, 279, 281}, {4.1, 1.4, 282.5, 277, 2, -1}, {14, 1.9, 276, 285, -3}, {6.7, 1.1, 280, 283, 0, 5}} {
		surface, under, err := r.of(math.Log(x[0]), math.Log(x[1]), x[2], x[3], [2]float64(x[4:]))
		if err != nil {
			t.Fatal(err)
		}
		s := testSlab(x[3])
		s.Film, s.Layers[0].Conductivity, s.Accuracy = units.FilmCoefficient(x[0]), units.Conductivity(x[1]), 0.002
		p, err := s.Steady(units.Kelvin(x[2]))
		if err != nil {
			t.Fatal(err)
		}
		for d, by := range x[4:] {
			if p, err = warmed(p, units.TempDelta(by), reaches[d]); err != nil {
				t.Fatal(err)
			}
		}
		want, err := s.ForecastFrom(p, air, 48*time.Hour, outputStep)
		if err != nil {
			t.Fatal(err)
		}
		for k := range want {
			if d := math.Abs(surface[k] - want[k].Temp.Kelvin()); d > 0.02 {
				t.Errorf("%v at %v: %.4f K off", x, want[k].At, d)
				break
			}
		}
		for k, when := range at {
			q, err := s.ProfileFrom(p, air, when)
			if err != nil {
				t.Fatal(err)
			}
			v, err := q.At(probe)
			if d := math.Abs(under[k] - v.Kelvin()); err != nil || d > 0.03 {
				t.Errorf("%v: probe at %v %.4f K off, %v", x, when, d, err)
			}
		}
	}
}
