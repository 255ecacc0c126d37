package climate

import "math"

// maxNodes bounds the grid of a column, so that its arrays need no heap.
const maxNodes = 192

// A column is the grid of a slab: node 0 at the surface, control volumes half
// way to the neighbours, so that the temperatures of the surface and of the
// layers' interfaces are nodes themselves.
type column struct {
	n      int               // unknown temperatures
	x      [maxNodes]float64 // depth, m
	scaled [maxNodes]float64 // depth over sqrt(diffusivity), s^(1/2)
	cap    [maxNodes]float64 // heat capacity, J/(m2 K)
	g      [maxNodes]float64 // conductance to the next node, W/(m2 K); of the last to deep, or 0
	h      float64           // film, W/(m2 K)
	deep   float64           // K
	last   float64           // depth of the underside, m
	up     float64           // the same over sqrt(diffusivity), s^(1/2)
	below  bool              // fine at the underside too, for a jump there
}

// divide fills the grid: the first step is first (m) in the top layer, and each
// is longer by about growth than the one above, in depths scaled by
// sqrt(diffusivity), in which heat travels alike in every layer. Depths in cut
// become nodes.
func (c *column) divide(s *Slab, first, growth float64, cut []float64) {
	r := math.Sqrt(s.Layers[0].diffusivity())
	for ; ; growth, first = growth*1.25, first*1.25 { // coarser until it fits
		if c.fill(s, first/r, growth, cut) {
			return
		}
	}
}

func (c *column) fill(s *Slab, first, growth float64, cut []float64) bool {
	n, top, scaled := 0, 0.0, 0.0
	c.x[0], c.scaled[0], c.cap[0] = 0, 0, 0
	c.up = 0
	for _, l := range s.Layers {
		c.up += float64(l.Thickness) / math.Sqrt(l.diffusivity())
	}
	// The distance from where cells are smallest: the surface, or the underside where
	// a jump of its own comes from; that has half its way to become smooth.
	near := func(scaled float64) float64 {
		if c.below {
			return min(scaled, c.up-scaled+0.1*c.up)
		}
		return scaled
	}
	middle := 0.55 * c.up
	for _, l := range s.Layers {
		k, vol, root := float64(l.Conductivity), float64(l.Density)*float64(l.HeatCapacity), math.Sqrt(l.diffusivity())
		from := top
		top += float64(l.Thickness)
		for from < top {
			to := top
			if m := from + (middle-scaled)*root; c.below && m > from*(1+1e-12)+1e-12 && m < to-1e-12 {
				to = m // from there on the cells get smaller
			}
			for _, d := range cut {
				if d > from*(1+1e-12)+1e-12 && d < to-1e-12 {
					to = d
				}
			}
			// d(scaled)/d(node) = first + growth*scaled
			a := first + growth*near(scaled)
			b := first + growth*near(scaled+(to-from)/root)
			m := int(math.Ceil(math.Abs(math.Log(b/a))/math.Log1p(growth) - 1e-9))
			m = max(m, 2)
			if n+m >= maxNodes {
				return false
			}
			q := math.Pow(b/a, 1/float64(m))
			prev, pow := from, 1.0
			for i := 1; i <= m; i++ {
				pow *= q
				x := from + (to-from)*(pow-1)/(b/a-1)
				if i == m {
					x = to
				}
				dx := x - prev
				c.cap[n] += vol * dx / 2
				c.g[n] = k / dx
				n++
				c.x[n], c.scaled[n], c.cap[n], c.g[n] = x, scaled+(x-from)/root, vol*dx/2, 0
				prev = x
			}
			scaled += (to - from) / root
			from = to
		}
	}
	c.n, c.last = n+1, top
	c.h, c.deep = float64(s.Film), s.Deep.Kelvin()
	if c.deep != 0 { // the underside is held: no unknown
		c.n = n
	}
	return true
}

// A factor is what solving for one length of step needs.
type factor struct {
	dt         float64
	sc, inv, w [maxNodes]float64
}

// The method is TR-BDF2 as a diagonally implicit Runge-Kutta scheme of second
// order, L-stable, with one matrix for both stages.
//
// Source: Bank and others (1985); Hosea and Shampine (1996), gamma = 2 - sqrt 2.
const (
	gamma  = 2 - math.Sqrt2   // where the first stage ends
	diag   = 1 - math.Sqrt2/2 // weight of the stage solved for, gamma/2
	weight = math.Sqrt2 / 4   // weight of the two before it
	blend  = weight / diag    // 1 + sqrt 2/2... of the first stage's change in the second
)

// factorise prepares steps of dt: (C/(diag dt) + K), eliminated from below, so
// that the surface comes last and air that is not known can be put in there.
func (c *column) factorise(f *factor, dt float64) {
	f.dt = dt
	s := 1 / (diag * dt)
	n := c.n
	for i := n - 1; i >= 0; i-- {
		f.sc[i] = s * c.cap[i]
		d := f.sc[i] + c.g[i]
		if i > 0 {
			d += c.g[i-1]
		} else {
			d += c.h
		}
		if i < n-1 {
			f.w[i] = c.g[i] * f.inv[i+1]
			d -= c.g[i] * f.w[i]
		}
		f.inv[i] = 1 / d
	}
}

// A state is what a column carries along in time.
type state struct {
	t, a, b [maxNodes]float64 // temperatures; those of the first stage; scratch
}

// first eliminates the first stage, of which the right-hand side is sc T + K T but
// for the air's part at the surface, from below. q is a heat flux into the surface
// beside the film's (evaporation takes it away). The surface's temperature is then
// (top + h air) inv[0], top being what first returns.
func (c *column) first(f *factor, s *state, air, q float64) float64 {
	n := c.n
	t, b, sc, w, g := s.t[:n], s.b[:n], f.sc[:n], f.w[:n], c.g[:n]
	below := g[n-1] * (t[n-1] - c.deep) // out of node i, downward
	v := g[n-1] * c.deep
	for i := n - 1; i > 0; i-- {
		above := g[i-1] * (t[i-1] - t[i])
		v += sc[i]*t[i] + above - below
		b[i] = v
		v *= w[i-1]
		below = above
	}
	above := c.h * (air - t[0])
	above += q
	v += sc[0]*t[0] + above - below
	b[0] = v
	return v
}

// second eliminates the second stage as first does the first.
func (c *column) second(f *factor, s *state) float64 {
	n := c.n
	t, a, b, sc, w := s.t[:n], s.a[:n], s.b[:n], f.sc[:n], f.w[:n]
	v := c.g[n-1] * c.deep
	for i := n - 1; ; i-- {
		v += sc[i] * (t[i] + blend*(a[i]-t[i]))
		b[i] = v
		if i == 0 {
			return v
		}
		v *= w[i-1]
	}
}

// down puts the temperatures into t, from the surface's.
func (c *column) down(f *factor, s *state, t *[maxNodes]float64, surface float64) {
	n := c.n
	b, w, inv := s.b[:n], f.w[:n], f.inv[:n]
	to := t[:n]
	v := surface
	to[0] = v
	for i := 1; i < n; i++ {
		v = b[i]*inv[i] + w[i-1]*v
		to[i] = v
	}
}

// step advances s by f.dt under air that goes from a0 by am (at gamma) to a1
// (K), and returns the heat that came in through the film, J/m2.
func (c *column) step(f *factor, s *state, a0, am, a1 float64) float64 {
	q := weight * (a0 - s.t[0])
	c.down(f, s, &s.a, (c.first(f, s, a0, 0)+c.h*am)*f.inv[0])
	q += weight * (am - s.a[0])
	c.down(f, s, &s.t, (c.second(f, s)+c.h*a1)*f.inv[0])
	q += diag * (a1 - s.t[0])
	return q * c.h * f.dt
}

// stored returns the heat in the column above 0 K, J/m2.
func (c *column) stored(t *[maxNodes]float64) float64 {
	sum := 0.0
	for i := range c.n {
		sum += c.cap[i] * t[i]
	}
	return sum
}
