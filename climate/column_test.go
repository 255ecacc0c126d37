package climate

import (
	"math"
	"testing"

	"github.com/tackfree/tackfree/data/units"
)

// fixed runs 3 m of concrete with n equal steps over 6 h after a
// change of the air from 5 to 20 °C within them, and returns the surface's
// temperature, the heat that came in and the heat now stored more.
func fixed(n int, first, growth float64) (surface, in, stored float64) {
	s := Slab{Layers: []Layer{{3, 1.4, 2300, 880}}, Film: 8, Deep: units.Celsius(5)}
	var c column
	var st state
	var f factor
	c.divide(&s, first, growth, nil)
	for i := range c.n {
		st.t[i] = 278.15
	}
	before := c.stored(&st.t)
	const span = 6 * 3600.0
	dt := span / float64(n)
	c.factorise(&f, dt)
	air := func(t float64) float64 { return 285.65 - 7.5*math.Cos(math.Pi*t/span) }
	deep := 0.0
	for i := range n {
		t := float64(i) * dt
		down := weight * c.g[c.n-1] * (st.t[c.n-1] - c.deep)
		in += c.step(&f, &st, air(t), air(t+gamma*dt), air(t+dt))
		down += weight*c.g[c.n-1]*(st.a[c.n-1]-c.deep) + diag*c.g[c.n-1]*(st.t[c.n-1]-c.deep)
		deep += down * dt
	}
	return st.t[0], in - deep, c.stored(&st.t) - before
}

// Source of the orders: Hosea and Shampine (1996), Patankar (1980). Halving the
// step quarters the error, in time and in space; the heat that came
// in is the heat that is stored.
func TestColumnOrder(t *testing.T) {
	ref, _, _ := fixed(3072, 0.001, 0.05)
	var last float64
	for i, n := range []int{12, 24, 48, 96} {
		v, in, stored := fixed(n, 0.001, 0.05)
		if math.Abs(in-stored) > 1e-9*math.Abs(in) {
			t.Errorf("%d steps: %v J/m2 came in, %v are stored", n, in, stored)
		}
		e := math.Abs(v - ref)
		if i > 0 && !(last/e > 3.4 && last/e < 4.6) {
			t.Errorf("%d steps: error %.3g K after %.3g K: ratio %.2f, want 4", n, e, last, last/e)
		}
		last = e
	}
	ref, _, _ = fixed(200, 0.002, 0.03)
	for i, k := range []float64{8, 4, 2} {
		v, _, _ := fixed(200, 0.002*k, 0.03*k)
		e := math.Abs(v - ref)
		// against a grid of 1: the errors are k^2 - 1 of its own
		if i > 0 {
			want := (k*k*4 - 1) / (k*k - 1)
			if !(last/e > 0.8*want && last/e < 1.2*want) {
				t.Errorf("grid of %v: error %.3g K after %.3g K: ratio %.2f, want %.2f", k, e, last, last/e, want)
			}
		}
		last = e
	}
}
