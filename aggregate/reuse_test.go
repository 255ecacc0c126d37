package aggregate_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
)

func TestReuse(t *testing.T) {
	// 18 of 24 lb/yd2 held (M1): on three sections of 100 yd2 with all the loose grain thrown again, by hand:
	// 2400 bought, then 1800 twice, and 600 left over; with none thrown again 7200; with half 2400 + 2 x 2100 and 300 left.
	sections := []units.Area{100 * units.SquareYard, 100 * units.SquareYard, 100 * units.SquareYard}
	for _, tc := range []struct{ usable, bought, left float64 }{{1, 6000, 600}, {0, 7200, 0}, {.5, 6600, 300}} {
		r := aggregate.Reuse{Held: 18 * units.PoundPerSquareYard, Retention: .75, Usable: units.Fraction(tc.usable)}
		bought, left, err := r.Bought(sections)
		near(t, "bought", float64(bought/units.Pound), tc.bought, 1e-12, err, "by hand from NCHRP Synthesis 423's rates")
		if math.Abs(float64(left/units.Pound)-tc.left) > 1e-9 {
			t.Errorf("left %v lb, want %g (by hand)", float64(left/units.Pound), tc.left)
		}
	}
	// A small section after a large one needs no new grain, and the stock stays.
	r := aggregate.Reuse{Held: 1, Retention: .5, Usable: 1}
	bought, left, err := r.Bought([]units.Area{100, 10})
	near(t, "bought", float64(bought), 200, 1e-12, err, "by hand")
	near(t, "left", float64(left), 90, 1e-12, err, "by hand: 100 back, 20 thrown, 10 back")
	nan := math.NaN()
	for name, f := range map[string]func() (units.Mass, units.Mass, error){
		"no section": func() (units.Mass, units.Mass, error) { return r.Bought(nil) },
		"area":       func() (units.Mass, units.Mass, error) { return r.Bought([]units.Area{1, units.Area(nan)}) },
		"usable": func() (units.Mass, units.Mass, error) {
			return aggregate.Reuse{Held: 1, Retention: .5, Usable: 1.1}.Bought(sections)
		},
		"retention": func() (units.Mass, units.Mass, error) { return aggregate.Reuse{Held: 1}.Bought(sections) },
	} {
		if a, b, err := f(); !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(a)) || !math.IsNaN(float64(b)) {
			t.Errorf("%s: %v, %v, %v; want NaN and a range error", name, a, b, err)
		}
	}
}

func TestReuseBalances(t *testing.T) { // bought = held + discarded + left; re-use never buys more
	rapid.Check(t, func(t *rapid.T) {
		r := aggregate.Reuse{Held: units.Loading(rapid.Float64Range(0.1, 10).Draw(t, "held")), Retention: units.Fraction(rapid.Float64Range(0.05, 1).Draw(t, "retention")), Usable: units.Fraction(rapid.Float64Range(0, 1).Draw(t, "usable"))}
		var sections []units.Area
		total := 0.0
		for range rapid.IntRange(1, 6).Draw(t, "sections") {
			a := rapid.Float64Range(1, 500).Draw(t, "area")
			sections = append(sections, units.Area(a))
			total += a
		}
		bought, left, err := r.Bought(sections)
		if err != nil {
			t.Fatal(err)
		}
		held := float64(r.Held) * total
		discarded := held * (1/float64(r.Retention) - 1) * (1 - float64(r.Usable))
		if gap := float64(bought) - held - discarded - float64(left); math.Abs(gap) > 1e-11*float64(bought) || left < 0 {
			t.Fatalf("%g kg do not add up: bought %v, left %v", gap, bought, left)
		}
		if none := held / float64(r.Retention); float64(bought) > none*(1+1e-12) {
			t.Fatalf("bought %v with re-use, %g without", bought, none)
		}
	})
}

func BenchmarkReuse(b *testing.B) {
	b.ReportAllocs() // 0 allocs/op
	r, sections := aggregate.Reuse{Held: 1, Retention: .5, Usable: 1}, []units.Area{100, 10}
	for b.Loop() {
		r.Bought(sections)
	}
}
