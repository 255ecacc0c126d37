package ode

import (
	"errors"
	"math"
	"testing"
)

// run solves to end and returns the solver; visit is called after every step.
func run(t *testing.T, n int, y Vec, tol, end float64, f func(t float64, y, dy *Vec), visit func(s *Solver)) *Solver {
	t.Helper()
	var s Solver
	s.Start(n, y, 1e-3, f, func(old, next, sc *Vec) {
		for i := range n {
			sc[i] = tol * max(1, math.Abs(old[i]), math.Abs(next[i]))
		}
	})
	for s.T < end {
		if err := s.Step(end); err != nil {
			t.Fatal(err)
		}
		if visit != nil {
			visit(&s)
		}
	}
	return &s
}

func oscillator(_ float64, y, dy *Vec) { dy[0], dy[1] = y[1], -y[0] }

// Source: closed forms. A circle over ten turns, and exp(t2): 100 times the tolerance of a
// step, 300 times within the steps.
func TestSolver(t *testing.T) {
	for _, tol := range []float64{1e-6, 1e-9, 1e-12} {
		dense := 0.0
		s := run(t, 2, Vec{1, 0}, tol, 20*math.Pi, oscillator, func(s *Solver) {
			from, _ := s.From()
			for i := range 11 {
				x := from + (s.T-from)*float64(i)/10
				y := s.At(x)
				dense = max(dense, math.Abs(y[0]-math.Cos(x)), math.Abs(y[1]+math.Sin(x)))
			}
		})
		if e := math.Hypot(s.Y[0]-1, s.Y[1]); e > 100*tol+1e-13 || dense > 300*tol+1e-13 {
			t.Errorf("circle at %g: off by %g at the end, %g within", tol, e, dense)
		}
		s = run(t, 1, Vec{1}, tol, 3, func(t float64, y, dy *Vec) { dy[0] = 2 * t * y[0] }, nil)
		if e := math.Abs(s.Y[0]/math.Exp(9) - 1); e > 100*tol {
			t.Errorf("exp(t2) at %g: off by %g", tol, e)
		}
		if s.T != 3 {
			t.Errorf("ends at %g", s.T)
		}
	}
}

// The order: half the step makes the error 2^8 times smaller. With steps of pi/4
// and pi/8 of a circle; the dense output is of order 7
// or more.
func TestSolverOrder(t *testing.T) {
	errs := func(h float64) (end, mid float64) {
		var s Solver
		s.Start(2, Vec{1, 0}, h, oscillator, func(_, _, sc *Vec) { sc[0], sc[1] = math.Inf(1), math.Inf(1) })
		s.Max = h
		for s.T < math.Pi-1e-9 {
			if err := s.Step(math.Pi); err != nil {
				t.Fatal(err)
			}
			from, _ := s.From()
			x := (from + s.T) / 2
			mid = max(mid, math.Abs(s.At(x)[0]-math.Cos(x)))
		}
		return math.Hypot(s.Y[0]+1, s.Y[1]), mid
	}
	a, am := errs(math.Pi / 4)
	b, bm := errs(math.Pi / 8)
	if p, q := math.Log2(a/b), math.Log2(am/bm); p < 7.5 || p > 9.5 || q < 6.5 || q > 9.5 {
		t.Errorf("order %.2f at the end (%g, %g), %.2f within (%g, %g): want 8 and 7 or more", p, a, b, q, am, bm)
	}
}

func TestSolverKink(t *testing.T) {
	// y' = 1, then 3 from t = 1: Restart sets the clock to 0 and takes the jump.
	rate := 1.0
	var s Solver
	s.Start(1, Vec{}, 0.1, func(_ float64, _, dy *Vec) { dy[0] = rate }, func(_, _, sc *Vec) { sc[0] = 1e-9 })
	for s.T < 1 {
		if err := s.Step(1); err != nil {
			t.Fatal(err)
		}
	}
	rate = 3
	s.Restart(true)
	if s.T != 0 || s.Slope()[0] != 3 {
		t.Errorf("restarted at %g with slope %g", s.T, s.Slope()[0])
	}
	for s.T < 2 {
		if err := s.Step(2); err != nil {
			t.Fatal(err)
		}
	}
	if math.Abs(s.Y[0]-7) > 1e-12 {
		t.Errorf("got %g; want 7", s.Y[0])
	}
	// Undo, and a shorter step instead.
	at, y := s.From()
	s.Undo()
	if s.T != at || s.Y != y {
		t.Errorf("undone to %g %v; want %g %v", s.T, s.Y, at, y)
	}
	half := (at + 2) / 2
	if err := s.Step(half); err != nil || s.T != half || math.Abs(s.Y[0]-(1+3*half)) > 1e-12 {
		t.Errorf("got %g at %g, %v; want %g", s.Y[0], s.T, err, 1+3*half)
	}
}

// A step taken back leaves the slope at its beginning.
func TestSolverUndo(t *testing.T) {
	loose := func(_, _, sc *Vec) { sc[0], sc[1] = 1e-12, 1e-12 }
	var s, want Solver
	s.Start(2, Vec{1, 0}, 0.3, oscillator, loose)
	want.Start(2, Vec{1, 0}, 0.3, oscillator, loose)
	for _, s := range []*Solver{&s, &want} {
		if err := s.Step(0.1); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Step(0.4); err != nil {
		t.Fatal(err)
	}
	s.Undo()
	if s.Slope() != want.Slope() {
		t.Errorf("slope %v after Undo; want %v", s.Slope(), want.Slope())
	}
	err1, err2 := s.Step(0.2), want.Step(0.2)
	if err1 != nil || err2 != nil || math.Abs(s.Y[0]-want.Y[0]) > 1e-14 || math.Abs(s.Y[0]-math.Cos(0.2)) > 1e-12 {
		t.Errorf("got %v, straight %v (%v, %v)", s.Y, want.Y, err1, err2)
	}
}

func TestSolverStates(t *testing.T) {
	wild := func(_ float64, _, dy *Vec) { dy[0] = math.NaN() }
	var s Solver
	s.Start(1, Vec{}, 1, wild, func(_, _, sc *Vec) { sc[0] = 1 })
	if err := s.Step(1); !errors.Is(err, ErrSteps) && !errors.Is(err, ErrSmall) || s.T != 0 {
		t.Errorf("NaN: got %v at %g", err, s.T)
	}
	// y' = y2 from 1 ends at t = 1.
	s.Start(1, Vec{1}, 0.1, func(_ float64, y, dy *Vec) { dy[0] = y[0] * y[0] }, func(_, next, sc *Vec) { sc[0] = 1e-9 * max(1, next[0]) })
	var err error
	for s.T < 2 && err == nil {
		err = s.Step(2)
	}
	if err == nil || s.T > 1+1e-6 {
		t.Errorf("past the pole: %g, %v", s.T, err)
	}
	s.Start(1, Vec{}, 0.1, func(_ float64, _, dy *Vec) { dy[0] = 1 }, func(_, _, sc *Vec) { sc[0] = 1 })
	s.Left = 0
	if err := s.Step(1); !errors.Is(err, ErrSteps) {
		t.Errorf("no steps left: got %v", err)
	}
}

func BenchmarkStep(b *testing.B) {
	b.ReportAllocs()
	var s Solver
	s.Start(2, Vec{1, 0}, 0.1, oscillator, func(_, _, sc *Vec) { sc[0], sc[1] = 1e-10, 1e-10 })
	for b.Loop() {
		s.Left = 10
		if err := s.Step(math.Inf(1)); err != nil {
			b.Fatal(err)
		}
	}
}
