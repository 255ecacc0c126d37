package cure

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// A whole history of small steps in one go, against the closed form of each of its
// pieces by the exponential integral (Abramowitz and Stegun 5.1.22, from memory): the stated 1e-10
// and, of narrow pieces, what the closed form itself loses in the difference of two
// near values. It stops where a piece leaves the line or the sum comes to need.
func TestGentleAgainstExponentialIntegral(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := rapid.Float64Range(1000, 12000).Draw(t, "Ea/R")
		l := line{at: 293.15, q: -q / 293.15}
		tr := climate.Trace{{Temp: units.Celsius(rapid.Float64Range(-10, 40).Draw(t, "°C"))}}
		want, tol := 0.0, 0.0
		for i := range 40 {
			a := tr[i].Temp.Kelvin()
			widest := 0.9 * min(series*a*a/q, 0.01*a)
			b := a + rapid.Float64Range(0.1, 1).Draw(t, "of the widest")*widest*float64(1-2*rapid.IntRange(0, 1).Draw(t, "down"))
			dt := time.Duration(rapid.IntRange(1, 3600).Draw(t, "s")) * time.Second
			tr = append(tr, climate.Sample{At: tr[i].At + dt, Temp: units.Kelvin(b)})
			mean := closed(q, 293.15, a, b)
			want += mean * dt.Seconds()
			tol += (1e-10 + 1e-15*a*a/q/math.Abs(b-a)*max(1, q/a)) * mean * dt.Seconds()
		}
		sum, n := l.gentle(tr, 100, 600, math.Inf(1))
		if n != 40 || !(math.Abs(sum-want) < tol) {
			t.Fatalf("%.15g of %d pieces, want %.15g ± %.1g of 40", sum, n, want, tol)
		}
		half, n := l.gentle(tr, 100, 600, want/2)
		if next, _ := l.gentle(tr[:n+2], 100, 600, math.Inf(1)); !(half < want/2 && next >= want/2) {
			t.Fatalf("stops after %d at %.15g, and would after the next at %.15g; want %.15g between them", n, half, next, want/2)
		}
		edge := tr[20].Temp.Kelvin()
		for _, ends := range [2][2]float64{{edge, 600}, {100, edge}} {
			if _, n := l.gentle(tr, ends[0], ends[1], math.Inf(1)); n >= 20 {
				t.Fatalf("goes on to %d, where its line ends at or before 20", n)
			}
		}
	})
}

// The series of e^d against math.Exp: 5e-16, two roundings and Exp's own.
// Common practice, no source.
func TestExpNearNought(t *testing.T) {
	for d := -near; d <= near; d += 1e-5 {
		if got, want := exp(d), math.Exp(d); math.Abs(got/want-1) > 5e-16 {
			t.Fatalf("e^%v = %.17g, want %.17g", d, got, want)
		}
	}
}
