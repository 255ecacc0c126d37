package coverage_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

func TestCapability(t *testing.T) {
	const nm = units.Length(1e-9)
	c, err := coverage.Capability([]units.Length{10000001 * nm, 10000003 * nm, 10000002 * nm}, 10000002*nm)
	near(t, "mean", float64(c.Mean/nm), 10000002, 1e-13, err, "NIST StRD NumAcc1, from memory")
	near(t, "scatter", float64(c.Scatter/nm), 1, 1e-8, err, "NIST StRD NumAcc1, from memory; 1e-9 m in float64 near 0.01 m keeps 9 digits")
	near(t, "counted", float64(c.Counted), 1./3, 1e-12, err, "one of three is below")
	near(t, "expected", float64(c.Expected), 0.5, 1e-7, err, "the mean is nominal: half the floor is below")
	c, err = coverage.Capability(lengths([]float64{2, 4, 4, 4, 5, 5, 7, 9}, units.Mil), 3*units.Mil)
	near(t, "mean", float64(c.Mean/units.Mil), 5, 1e-12, err, "by hand")
	near(t, "scatter", float64(c.Scatter/units.Mil), math.Sqrt(32./7), 1e-12, err, "squares of the deviations 32, by hand")
	near(t, "relative", float64(c.Relative), math.Sqrt(32./7)/5, 1e-12, err, "by hand")
	near(t, "counted", float64(c.Counted), 1./8, 1e-12, err, "one of eight")
	near(t, "expected", float64(c.Expected), 0.1747674, 1e-3, err, "normal table at z = 0.935: 0.1749 by interpolation")
	near(t, "doubt", float64(c.Doubt/units.Mil), 2.365*math.Sqrt(32./7)/math.Sqrt(8), 1e-3, err, "t table, 7 degrees of freedom, 97.5 %: 2.365")
	even, err := coverage.Capability(lengths([]float64{9, 9}, units.Mil), 10*units.Mil)
	if err != nil || even.Expected != 1 || even.Counted != 1 || even.Scatter != 0 || even.Doubt != 0 {
		t.Errorf("an even film that is thin: %+v, %v", even, err)
	}
	even, err = coverage.Capability(lengths([]float64{10, 10}, units.Mil), 10*units.Mil)
	if err != nil || even.Expected != 0 || even.Counted != 0 {
		t.Errorf("an even film at nominal: %+v, %v", even, err)
	}
	for name, bad := range map[string][]units.Length{"none": nil, "one": {1e-4}, "NaN": {1e-4, units.Length(math.NaN())}, "negative": {1e-4, -1e-9}} {
		if c, err := coverage.Capability(bad, 1e-4); !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(c.Mean)) || !math.IsNaN(float64(c.Expected)) || c.N != 0 {
			t.Errorf("%s: %+v, %v; want a range error", name, c, err)
		}
	}
	refused(t, "nominal", func() (units.Length, error) {
		c, err := coverage.Capability([]units.Length{1, 1}, 0)
		return c.Mean, err
	})
}

func TestAimFor(t *testing.T) {
	l, err := coverage.AimFor(10*units.Mil, 0.2, 0.05)
	near(t, "aim", float64(l/units.Mil), 10/(1-1.6448536*0.2), 1e-7, err, "normal table: 5 % is at z = 1.6448536")
	l, err = coverage.AimFor(10*units.Mil, 0.15, 0.5)
	near(t, "half below", float64(l/units.Mil), 10, 1e-12, err, "half the floor below: the mean is nominal")
	refused(t, "scatter", func() (units.Length, error) { return coverage.AimFor(1e-4, 0.9, 0.01) })
	refused(t, "percent left out", func() (units.Length, error) { return coverage.AimFor(1e-4, 20, 0.01) })
	refused(t, "none below", func() (units.Length, error) { return coverage.AimFor(1e-4, 0.2, 0) })
	refused(t, "nominal", func() (units.Length, error) { return coverage.AimFor(units.Length(math.NaN()), 0.2, 0.1) })
	rapid.Check(t, func(t *rapid.T) { // a crew that lays what it aims for has that share below
		scatter := rapid.Float64Range(0.01, 0.25).Draw(t, "scatter")
		below := rapid.Float64Range(0.001, 0.5).Draw(t, "below")
		aim, err := coverage.AimFor(1e-3, units.Fraction(scatter), units.Fraction(below))
		if err != nil || aim < 1e-3 {
			t.Fatal(aim, err)
		}
		s := aim * units.Length(scatter) / math.Sqrt2 // two readings this far from the mean scatter by it
		c, err := coverage.Capability([]units.Length{aim - s, aim + s}, 1e-3)
		if err != nil || math.Abs(float64(c.Expected)-below) > 1e-9 {
			t.Fatalf("aims for %v below, has %+v, %v", below, c, err)
		}
	})
}
