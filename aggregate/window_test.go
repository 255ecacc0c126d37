package aggregate_test

import (
	"errors"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
)

func TestThrow(t *testing.T) {
	// 600 ft2/h spread, 400 ft2/h thrown, 10 min behind, 25 min open: 15 min lag at 1/400 - 1/600 h/ft2 = 3 s/ft2: 300 ft2. By hand.
	w := aggregate.Throw{Window: 25 * time.Minute, Lead: 10 * time.Minute, Spread: 600 * units.SquareFootPerHour, Thrower: 400 * units.SquareFootPerHour}
	a, err := w.Most()
	near(t, "most", float64(a/units.SquareFoot), 300, 1e-12, err, "by hand")
	age, err := w.Age(a)
	near(t, "age there", age.Minutes(), 25, 1e-9, err, "by hand")
	age, err = w.Age(0)
	near(t, "age at the start", age.Minutes(), 10, 1e-9, err, "the lead")
	w.Thrower = w.Spread
	if a, err := w.Most(); err != nil || !math.IsInf(float64(a), 1) {
		t.Errorf("throwing keeps up: %v, %v; want no bound", a, err)
	}
	w.Thrower = 1200 * units.SquareFootPerHour
	if age, err := w.Age(600 * units.SquareFoot); err != nil || age != 0 {
		t.Errorf("throwing overtakes: %v, %v; want 0", age, err)
	}
	for name, w := range map[string]aggregate.Throw{"none": {}, "lead": {Window: time.Minute, Lead: 2 * time.Minute, Spread: 1, Thrower: 1}, "pace": {Window: time.Minute, Spread: 1, Thrower: units.AreaRate(math.NaN())}} {
		a, err1 := w.Most()
		_, err2 := w.Age(1)
		if !errors.Is(err1, units.ErrRange) || !errors.Is(err2, units.ErrRange) || !math.IsNaN(float64(a)) {
			t.Errorf("%s: %v, %v, %v; want NaN and range errors", name, a, err1, err2)
		}
	}
	if _, err := w.Age(-1); !errors.Is(err, units.ErrRange) {
		t.Errorf("area -1: %v", err)
	}
	slow := aggregate.Throw{Window: time.Minute, Spread: 1, Thrower: 1e-8}
	if _, err := slow.Age(1e6); !errors.Is(err, units.ErrRange) {
		t.Errorf("millions of years: %v", err)
	}
	rapid.Check(t, func(t *rapid.T) { // within Most the film is never older than its window, beyond it always
		w := aggregate.Throw{Window: time.Duration(rapid.IntRange(1, 300).Draw(t, "min")) * time.Minute, Spread: units.AreaRate(rapid.Float64Range(0.001, 0.1).Draw(t, "spread"))}
		w.Thrower = w.Spread * units.AreaRate(rapid.Float64Range(0.1, 0.99).Draw(t, "slower"))
		w.Lead = time.Duration(rapid.Float64Range(0, 1).Draw(t, "lead") * float64(w.Window))
		most, err := w.Most()
		u := rapid.Float64Range(0, 2).Draw(t, "share")
		age, err2 := w.Age(most * units.Area(u))
		if err := errors.Join(err, err2); err != nil || u < 1-1e-6 && age > w.Window || u > 1+1e-6 && age < w.Window-time.Microsecond {
			t.Fatalf("%g of %v: age %v, window %v, %v", u, most, age, w.Window, err)
		}
	})
}

func BenchmarkThrow(b *testing.B) {
	b.ReportAllocs() // 0 allocs/op
	w := aggregate.Throw{Window: time.Hour, Spread: 0.02, Thrower: 0.01}
	for b.Loop() {
		w.Most()
	}
}
