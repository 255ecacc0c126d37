package learn

import (
	"math"
	"slices"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// responses are what a slab's surface and probe do under the air logged, for any
// film coefficient and conductivity near those asked for. In the temperatures at
// the start and of the ground the slab is linear, so that three forecasts tell
// all of them; in the logarithms of film and conductivity it is smooth, and is
// interpolated by cubics between forecasts on a grid, made where they are needed.
//
// Accuracy: 0.01 K, as the forecasts (TestResponses).
type responses struct {
	slab         climate.Slab
	air          climate.Trace
	span         time.Duration
	probe        units.Length
	at           []time.Duration // of the probe's readings, on the slab's clock
	start, deep  float64         // K, about which it is linear
	conductivity float64         // ln, about which its grid lies
	nodes        map[[2]int]*node
}

// A node is the slab at one film and conductivity.
type node struct{ surface, probe [3][]float64 } // as it is; for a kelvin of the start; for one of the ground

const (
	gridFilm = 0.2 // of ln film
	gridCond = 0.2
	nudge    = 10.0 // K, so large that the forecasts' errors do not count
)

func (r *responses) node(i, j int) (*node, error) {
	if n, ok := r.nodes[[2]int{i, j}]; ok {
		return n, nil
	}
	slab := r.slab
	slab.Film = units.FilmCoefficient(math.Exp(float64(i) * gridFilm))
	slab.Accuracy = 0.01
	slab.Layers = slices.Clone(slab.Layers)
	slab.Layers[0].Conductivity = units.Conductivity(math.Exp(r.conductivity + float64(j)*gridCond))
	n := &node{}
	cases := [3][2]float64{{0, 0}, {nudge, 0}, {0, nudge}}
	if r.deep == 0 {
		cases[2] = cases[0]
	}
	for c, by := range cases {
		if r.deep == 0 && c == 2 {
			n.surface[2], n.probe[2] = make([]float64, len(n.surface[0])), make([]float64, len(n.probe[0]))
			break
		}
		if r.deep != 0 {
			slab.Deep = units.Kelvin(r.deep + by[1])
		}
		profile, err := slab.Steady(units.Kelvin(r.start + by[0]))
		if err != nil {
			return nil, err
		}
		all, err := slab.ForecastFrom(profile, r.air, r.span, outputStep)
		if err != nil {
			return nil, err
		}
		line := make([]float64, len(all))
		for k := range all {
			line[k] = all[k].Temp.Kelvin()
		}
		probe, err := r.under(slab, profile)
		if err != nil {
			return nil, err
		}
		n.surface[c], n.probe[c] = line, probe
	}
	for c := 1; c < 3; c++ {
		if r.deep == 0 && c == 2 {
			break
		}
		for k := range n.surface[c] {
			n.surface[c][k] = (n.surface[c][k] - n.surface[0][k]) / nudge
		}
		for k := range n.probe[c] {
			n.probe[c][k] = (n.probe[c][k] - n.probe[0][k]) / nudge
		}
	}
	r.nodes[[2]int{i, j}] = n
	return n, nil
}

// under is what a probe reads, from reading to reading.
func (r *responses) under(slab climate.Slab, p climate.Profile) ([]float64, error) {
	out := make([]float64, len(r.at))
	now, i := time.Duration(0), 0
	for k, at := range r.at {
		if at > now {
			for i+1 < len(r.air) && r.air[i+1].At <= now {
				i++
			}
			var part climate.Trace
			for l := i; l < len(r.air) && (l == i || r.air[l-1].At < at); l++ {
				part = append(part, climate.Sample{At: r.air[l].At - now, Temp: r.air[l].Temp})
			}
			var err error
			if p, err = slab.ProfileFrom(p, part, at-now); err != nil {
				return nil, err
			}
			now = at
		}
		v, err := p.At(r.probe)
		if err != nil {
			return nil, err
		}
		out[k] = v.Kelvin()
	}
	return out, nil
}

// cubic returns the weights of four neighbours, the second of them at floor(x), by Lagrange.
func cubic(x float64) (i int, w [4]float64) {
	i = int(math.Floor(x))
	t := x - float64(i)
	return i, [4]float64{-t * (t - 1) * (t - 2) / 6, (t + 1) * (t - 1) * (t - 2) / 2, -(t + 1) * t * (t - 2) / 2, (t + 1) * t * (t - 1) / 6}
}

// of returns surface and probe for unknowns: ln film, ln conductivity, and the
// temperatures at the start and of the ground.
func (r *responses) of(film, cond, start, deep float64) (surface, probe []float64, err error) {
	i, wf := cubic(film / gridFilm)
	j, wc := cubic((cond - r.conductivity) / gridCond)
	if cond == r.conductivity {
		j, wc = 0, [4]float64{0, 1, 0, 0}
	}
	c := [3]float64{1, start - r.start, deep - r.deep}
	for a, fa := range wf {
		for b, fb := range wc {
			if fa*fb == 0 {
				continue
			}
			n, err := r.node(i+a-1, j+b-1)
			if err != nil {
				return nil, nil, err
			}
			if surface == nil {
				surface, probe = make([]float64, len(n.surface[0])), make([]float64, len(n.probe[0]))
			}
			for d := range c {
				q := fa * fb * c[d]
				for k, v := range n.surface[d] {
					surface[k] += q * v
				}
				for k, v := range n.probe[d] {
					probe[k] += q * v
				}
			}
		}
	}
	return surface, probe, nil
}
