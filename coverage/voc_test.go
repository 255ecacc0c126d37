package coverage_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

func TestVolatiles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) coverage.Formula {
			var f coverage.Formula
			for range rapid.IntRange(1, 5).Draw(t, name) {
				f = append(f, coverage.Ingredient{Name: name, Mass: units.Mass(rapid.Float64Range(0.1, 100).Draw(t, "mass")),
					Density: units.Density(rapid.Float64Range(700, 5000).Draw(t, "density")), Fate: coverage.Fate(rapid.IntRange(0, 3).Draw(t, "fate"))})
			}
			return append(f, coverage.Ingredient{Name: "resin", Mass: 1, Density: 1100})
		}
		f, g := draw("one"), draw("other")
		a, err1 := f.Composition()
		b, err2 := g.Composition()
		both, err3 := append(append(coverage.Formula{}, f...), g...).Composition()
		if err := errors.Join(err1, err2, err3); err != nil {
			t.Fatal(err)
		}
		// Formulas poured together are their sums.
		sum := a.Volatiles.Plus(b.Volatiles)
		for _, pair := range [][2]float64{{float64(a.Volume + b.Volume), float64(both.Volume)}, {float64(a.Mass + b.Mass), float64(both.Mass)},
			{float64(sum.Organic), float64(both.Volatiles.Organic)}, {float64(sum.Water), float64(both.Volatiles.Water)}, {float64(sum.Exempt), float64(both.Volatiles.Exempt)},
			{float64(a.VolumeSolids)*float64(a.Volume) + float64(b.VolumeSolids)*float64(b.Volume), float64(both.VolumeSolids) * float64(both.Volume)}} {
			if math.Abs(pair[0]-pair[1]) > 1e-12*math.Abs(pair[0]) {
				t.Fatalf("parts %v, together %v", pair[0], pair[1])
			}
		}
		actual, err1 := a.Volatiles.Actual()
		less, err2 := a.Volatiles.LessWater()
		if err1 != nil || err2 != nil || actual < 0 || less < actual*(1-1e-12) {
			t.Fatalf("actual %v, less water %v (%v, %v)", actual, less, err1, err2)
		}
		if a.Volatiles.Water+a.Volatiles.Exempt == 0 && less != actual {
			t.Fatalf("without water %v and %v differ", actual, less)
		}
	})
}

// The rule's own example as a formula with all four fates: 1 L with 300 g of
// water in 0.3 L, 100 g of exempt compounds in 0.126 L, 300 g of others.
func TestFates(t *testing.T) {
	const g, l = units.Gram, units.Litre
	f := coverage.Formula{
		{"water", 300 * g, 1000, coverage.Water}, {"exempt", 100 * g, (100 * g).PerVolume(0.126 * l), coverage.Exempt},
		{"solvent", 300 * g, 800, coverage.Solvent}, {"solids", (0.199 * l).Mass(1200), 1200, coverage.Stays},
	}
	c, err := f.Composition()
	near(t, "volume", float64(c.Volume/l), 1, 1e-12, err, "by hand: 0.3 + 0.126 + 0.375 + 0.199 L")
	near(t, "volume solids", float64(c.VolumeSolids), 0.199, 1e-12, err, "by hand")
	near(t, "weight solids", float64(c.WeightSolids), 0.2388/0.9388, 1e-12, err, "by hand")
	less, err := c.Volatiles.LessWater()
	near(t, "less water and exempts", float64(less), 522.648083624, exact, err, "40 CFR 59.104(a)(1), computed")
	actual, err := c.Volatiles.Actual()
	near(t, "actual", float64(actual), 300, 1e-12, err, "40 CFR 59.406(a)(2), from memory")
}

func TestVolatilesRefuse(t *testing.T) {
	nan := math.NaN()
	for name, v := range map[string]coverage.Volatiles{
		"nothing": {}, "organic": {Volume: 1, Organic: -1}, "too much": {Volume: 1, Organic: 30000}, "water": {Volume: 1, Water: 1.1}, "exempt": {Volume: 1, Exempt: units.Volume(nan)},
	} {
		refused(t, name, v.Actual)
		refused(t, name, v.LessWater)
		if ok, got, err := (coverage.VOCLimit{Most: 100}).Met(v); ok || !math.IsNaN(float64(got)) || !errors.Is(err, units.ErrRange) {
			t.Errorf("%s: %v %v %v; want a range error", name, ok, got, err)
		}
	}
	refused(t, "only water", coverage.Volatiles{Volume: 1, Organic: 1, Water: 0.5, Exempt: 0.5}.LessWater)
	if ok, _, err := (coverage.VOCLimit{Most: -1}).Met(coverage.Volatiles{Volume: 1}); ok || !errors.Is(err, units.ErrRange) {
		t.Errorf("limit below nothing: %v, %v", ok, err)
	}
	// A limit on the actual figure looks at that one: 300 g in 1 L, half of it water.
	half := coverage.Volatiles{Volume: units.Litre, Organic: 300 * units.Gram, Water: 0.5 * units.Litre}
	for actual, want := range map[bool]bool{true: true, false: false} {
		if ok, got, err := (coverage.VOCLimit{Most: 400, Actual: actual}).Met(half); ok != want || err != nil {
			t.Errorf("actual %v: met %v at %v, %v; want %v (300 and 600 g/L, by hand)", actual, ok, got, err, want)
		}
	}
	refused(t, "content", func() (units.Mass, error) { v, err := coverage.VolatilesOf(1, -1); return v.Organic, err })
	refused(t, "volume", func() (units.Mass, error) { v, err := coverage.VolatilesOf(-1, 1); return v.Organic, err })
	for name, s := range map[string][2]units.Fraction{"percent left out": {53, 20}, "more than all": {0.6, 0.5}, "NaN": {units.Fraction(nan), 0.2}} {
		refused(t, name, func() (units.Mass, error) {
			v, err := coverage.VolatilesByWeight(1, 1000, s[0], s[1], 998)
			return v.Organic, err
		})
	}
	refused(t, "water's density", func() (units.Mass, error) {
		v, err := coverage.VolatilesByWeight(1, 1000, 0.5, 0.2, 0.998)
		return v.Organic, err
	})
	for name, f := range map[string]coverage.Formula{"empty": nil, "massless": {{"a", 0, 1000, 0}}, "mass": {{"a", -1, 1000, 0}}, "density": {{"a", 1, 1, 0}}, "fate": {{"a", 1, 1000, 4}}, "NaN": {{"a", units.Mass(nan), 1000, 0}}} {
		c, err := f.Composition()
		if !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(c.VolumeSolids)) || !math.IsNaN(float64(c.Density)) || !math.IsNaN(float64(c.Volatiles.Organic)) {
			t.Errorf("%s: %+v, %v; want a range error and NaN", name, c, err)
		}
	}
}
