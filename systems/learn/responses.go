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
// the start (of a steady profile, and what the days before had warmed it by) and of
// the ground the slab is linear, so that five forecasts tell all of them; in the
// logarithms of film and conductivity it is smooth, and is interpolated by cubics
// between forecasts on a grid, made where they are needed.
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

// A node is the slab at one film and conductivity: as it is, and what a kelvin more
// does of the start, of the ground, and of what it was warmed by before, as far down
// as each of reaches.
type node struct{ surface, probe [5][]float64 }

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
	for c, by := range [5][4]float64{{}, {nudge}, {0, nudge}, {0, 0, nudge}, {0, 0, 0, nudge}} {
		if r.deep == 0 && c == 2 { // no ground: nothing comes of it
			n.surface[c], n.probe[c] = n.surface[0], n.probe[0]
			continue
		}
		if r.deep != 0 {
			slab.Deep = units.Kelvin(r.deep + by[1])
		}
		profile, err := slab.Steady(units.Kelvin(r.start + by[0]))
		for d := range reaches {
			if err == nil {
				profile, err = warmed(profile, units.TempDelta(by[2+d]), reaches[d])
			}
		}
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
	for c := 1; c < len(n.surface); c++ {
		n.surface[c], n.probe[c] = slopeOf(n.surface[c], n.surface[0]), slopeOf(n.probe[c], n.probe[0])
	}
	r.nodes[[2]int{i, j}] = n
	return n, nil
}

// slopeOf is by how much a changes from b for each kelvin of a nudge.
func slopeOf(a, b []float64) []float64 {
	d := make([]float64, len(a))
	for k := range a {
		d[k] = (a[k] - b[k]) / nudge
	}
	return d
}

// reaches are how deep, to 1/e, what warmed or cooled a slab before its log begins has
// gone down, m: hours' and days', sqrt(a t) of concrete's a = 7e-7 m2/s and t of 2.5 h
// and 2 d. Between them the two tell a course of any age well enough (TestSlabStartsWarm).
var reaches = [2]float64{0.08, 0.35}

// leastDrive is what the air is off the surface at some time of a day, at least: where
// it happens to be as warm as the surface at the first reading, the slab need not be
// steady. Common practice, no source.
const leastDrive = 1.0 // K

// drive is how steep a slab may have been warmed by air that is so much off its
// surface, K/m: what comes through the film goes on below it,
// film (air - surface) = conductivity by / reach.
func drive(off float64, slab *climate.Slab) float64 {
	return max(math.Abs(off), leastDrive) * float64(slab.Film) / float64(slab.Layers[0].Conductivity)
}

// warmed is a profile with what the air of the days before put into it: by at the
// surface, falling off as exp(-depth/reach).
func warmed(p climate.Profile, by units.TempDelta, reach float64) (climate.Profile, error) {
	if by == 0 {
		return p, nil
	}
	bottom := float64(p[len(p)-1].Depth)
	var depths []float64
	for i := range 41 { // finer at the top: straight between them to 1 % of by
		depths = append(depths, min(bottom, 6*reach)*math.Pow(float64(i)/40, 2))
	}
	for _, d := range p {
		depths = append(depths, float64(d.Depth))
	}
	slices.Sort(depths)
	var out climate.Profile
	for _, x := range slices.Compact(depths) {
		t, err := p.At(units.Length(x))
		if err != nil {
			return nil, err
		}
		out = append(out, climate.Depth{Depth: units.Length(x), Temp: t.Add(by * units.TempDelta(math.Exp(-x/reach)))})
	}
	return out, nil
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

// of returns surface and probe for unknowns: ln film, ln conductivity, the
// temperatures at the start and of the ground, and by what it was warmed before.
func (r *responses) of(film, cond, start, deep float64, before [2]float64) (surface, probe []float64, err error) {
	i, wf := cubic(film / gridFilm)
	j, wc := cubic((cond - r.conductivity) / gridCond)
	if cond == r.conductivity {
		j, wc = 0, [4]float64{0, 1, 0, 0}
	}
	c := [5]float64{1, start - r.start, deep - r.deep, before[0], before[1]}
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
