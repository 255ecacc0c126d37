package cure

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// e1 is e^x E1(x) by its continued fraction, x > 2: Abramowitz and Stegun 5.1.22, from memory.
func e1(x float64) float64 {
	f := 0.0
	for n := 200.0; n >= 1; n-- {
		f = n / (1 + n/(x+f))
	}
	return 1 / (x + f)
}

// closed is the mean of exp(-q (1/T - 1/at)) from a to b by the exponential
// integral: F(T) = T e^(-q/T) - q E1(q/T).
func closed(q, at, a, b float64) float64 {
	f := func(k float64) float64 { return math.Exp(q/at-q/k) * (k - q*e1(q/k)) }
	return (f(b) - f(a)) / (b - a)
}

// The mean against the closed form, over all widths: EquivalentAge's stated
// 1e-10, plus what the closed form loses itself in the difference of two near values.
func TestMeanAgainstExponentialIntegral(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := rapid.Float64Range(1000, 60000).Draw(t, "Ea/R")
		a := rapid.Float64Range(-60, 100).Draw(t, "°C") + 273.15
		w := math.Pow(10, rapid.Float64Range(-3, 2.2).Draw(t, "log10 K"))
		b := min(273.15+150, a+w)
		l := line{at: 293.15, q: -q / 293.15}
		want := closed(q, 293.15, a, b)
		tol := 1e-10 + 1e-15*a*a/q/(b-a)*max(1, q/a)
		for _, got := range []float64{l.mean(a, b), l.mean(b, a)} {
			if !(math.Abs(got/want-1) < tol) {
				t.Fatalf("%.15g, want %.15g ± %.1g", got, want, tol)
			}
		}
	})
}

// With both an Arrhenius and an exponential part, against Simpson's rule in 2000
// steps, itself good to 1e-12 here.
func TestMeanOfBoth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := line{at: 293.15, a: -3, q: -rapid.Float64Range(0, 40).Draw(t, "q"), c: rapid.Float64Range(-0.5, 0.5).Draw(t, "c")}
		a := rapid.Float64Range(-10, 60).Draw(t, "°C") + 273.15
		b := a + math.Pow(10, rapid.Float64Range(-4, 1).Draw(t, "log10 K"))
		const n = 2000
		sum := math.Exp(l.ln(a)) + math.Exp(l.ln(b))
		for i := 1; i < n; i++ {
			sum += float64(2+2*(i%2)) * math.Exp(l.ln(a+(b-a)*float64(i)/n))
		}
		if got, want := l.mean(a, b), sum/(3*n); !(math.Abs(got/want-1) < 1e-10) {
			t.Fatalf("%.15g, want %.15g", got, want)
		}
	})
}

// The five nodes and weights integrate powers up to the ninth exactly, and no
// other five do (Gauss): the digits are right to 1e-14.
func TestGauss(t *testing.T) {
	for power := range 10 {
		sum := 0.0
		for _, g := range gauss {
			sum += g[1] * math.Pow(g[0], float64(power))
		}
		if want := 1 / float64(power+1); math.Abs(sum-want) > 1e-14 {
			t.Errorf("x^%d: %.17g, want %.17g", power, sum, want)
		}
	}
}
