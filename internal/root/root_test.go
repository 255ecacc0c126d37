package root_test

import (
	"errors"
	"math"
	"testing"

	"github.com/tackfree/tackfree/internal/root"
)

// Roots in closed form; common practice, no source.
func TestBrent(t *testing.T) {
	for name, tc := range map[string]struct {
		f       func(float64) float64
		a, b, x float64
	}{
		"golden ratio":   {func(x float64) float64 { return x*x - x - 1 }, 0, 5, math.Phi},
		"Dottie number":  {func(x float64) float64 { return math.Cos(x) - x }, 0, 1, 0.7390851332151607},
		"flat start":     {func(x float64) float64 { return math.Pow(x-1, 9) }, -4, 3.7, 1},
		"step":           {func(x float64) float64 { return math.Copysign(1, x-0.3) }, -1, 1, 0.3},
		"exponential":    {func(x float64) float64 { return math.Exp(-x) - 1e-6 }, 0, 50, 6 * math.Ln10},
		"falling":        {func(x float64) float64 { return 2 - x }, 0, 10, 2},
		"root at an end": {func(x float64) float64 { return x }, 0, 10, 0},
	} {
		n := 0
		x, err := root.Brent(func(x float64) float64 { n++; return tc.f(x) }, tc.a, tc.b, 1e-12)
		tol := 2e-12
		if name == "flat start" {
			tol = 1e-4 // f itself is zero in float64 within 1e-36 of it
		}
		if err != nil || math.Abs(x-tc.x) > tol || n > 150 {
			t.Errorf("%s: %v after %d calls, %v; want %v", name, x, n, err, tc.x)
		}
	}
	if _, err := root.Brent(math.Exp, 0, 1, 1e-9); !errors.Is(err, root.ErrBracket) {
		t.Errorf("no crossing: %v", err)
	}
	if _, err := root.Brent(func(float64) float64 { return math.NaN() }, 0, 1, 1e-9); err == nil {
		t.Error("NaN without an error")
	}
	if _, err := root.Brent(func(x float64) float64 { return math.Sqrt(x-0.5) - 0.1 }, 0.5, 1, 1e-9); err != nil {
		t.Error(err)
	}
}
