package aggregate_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
)

func TestGroutArea(t *testing.T) {
	// A crust open by 8.04 mil and a film of 8 mil above the peaks take 16.04 mil: 1 gal/100 ft2 (U1).
	bed := aggregate.Bed{Open: gal100 - 8*units.Mil}
	a, err := bed.GroutArea(1.5*units.Gallon, 8*units.Mil)
	near(t, "one kit", float64(a/units.SquareFoot), 150, 1e-12, err, "by hand; U1: 1 gal/100 ft2 = 16.0416667 mil")
	bed.Fill = 0.5
	second, err := bed.Grouted()
	near(t, "left open", float64(second.Open), float64(bed.Open)/2, 1e-12, err, "by hand")
	left, err := second.Grout(0)
	near(t, "second grout", float64(left), float64(bed.Open)/2, 1e-12, err, "by hand: all that is open")
	for name, f := range map[string]func() (float64, error){
		"no kit":   func() (float64, error) { a, err := bed.GroutArea(0, 0); return float64(a), err },
		"no grout": func() (float64, error) { a, err := aggregate.Bed{}.GroutArea(1, 0); return float64(a), err },
		"film NaN": func() (float64, error) {
			a, err := bed.GroutArea(1, units.Length(math.NaN()))
			return float64(a), err
		},
		"filled twice": func() (float64, error) {
			b, err := aggregate.Bed{Open: 1e-4, Fill: 1.5}.Grouted()
			return float64(b.Open), err
		},
	} {
		if v, err := f(); !errors.Is(err, units.ErrRange) || !math.IsNaN(v) {
			t.Errorf("%s: %v, %v; want NaN and a range error", name, v, err)
		}
	}
	rapid.Check(t, func(t *rapid.T) { // two grouts take what one takes; kits and areas split
		bed, err := aggregate.ToRefusal(units.Length(rapid.Float64Range(1e-5, 5e-3).Draw(t, "film")), overlay)
		if err != nil {
			t.Fatal(err)
		}
		all, err1 := bed.Grout(0)
		bed.Fill = units.Fraction(rapid.Float64Range(0.01, 1).Draw(t, "fill"))
		one, err2 := bed.Grout(0)
		rest, err3 := bed.Grouted()
		two, err4 := rest.Grout(0)
		if err := errors.Join(err1, err2, err3, err4); err != nil || math.Abs(float64(one+two-all)) > 1e-15 {
			t.Fatalf("%v and %v, at once %v, %v", one, two, all, err)
		}
		a, err1 := bed.GroutArea(1e-3, 1e-4)
		b, err2 := bed.GroutArea(3e-3, 1e-4)
		if err := errors.Join(err1, err2); err != nil || math.Abs(float64(b/a)-3) > 1e-12 {
			t.Fatalf("%v and %v, %v", a, b, err)
		}
	})
}

func BenchmarkGroutArea(b *testing.B) {
	b.ReportAllocs() // 0 allocs/op
	bed := aggregate.Bed{Open: 1e-4}
	for b.Loop() {
		bed.GroutArea(1e-3, 1e-4)
	}
}
