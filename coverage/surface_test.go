package coverage_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

func TestSurface(t *testing.T) {
	const exact = 1e-12 // the same arithmetic
	d, err := coverage.SandPatch(25*units.Millilitre, 200*units.Millimetre)
	near(t, "sand patch", float64(d/units.Millimetre), 4*25e3/(math.Pi*200*200), exact, err, "ASTM E965: MTD = 4 V/(pi D^2), from memory; 0.796 mm by hand")
	near(t, "sand patch", float64(d/units.Millimetre), 0.796, 1e-3, err, "by hand, 3 digits")
	d, err = coverage.PoreUptake(12*units.Percent, 1*units.Millimetre)
	near(t, "pores", float64(d/units.Micrometre), 120, exact, err, "porosity x depth, by hand")
	d, err = coverage.MeasuredUptake(90*units.Millilitre, 1*units.SquareMetre, 50*units.Percent)
	near(t, "drunk", float64(d/units.Micrometre), 45, exact, err, "by hand: 90 mL over 1 m2 is 90 um")
	for name, f := range map[string]func() (units.Length, error){
		"height":     func() (units.Length, error) { return coverage.ProfileFill(-1e-9, 0.5) },
		"share":      func() (units.Length, error) { return coverage.ProfileFill(1e-4, 50) },
		"sand":       func() (units.Length, error) { return coverage.SandPatch(0, 0.2) },
		"no patch":   func() (units.Length, error) { return coverage.SandPatch(1e-5, 0) },
		"tiny patch": func() (units.Length, error) { return coverage.SandPatch(1e-5, 1e-3) },
		"porosity":   func() (units.Length, error) { return coverage.PoreUptake(0.6, 1e-3) },
		"depth":      func() (units.Length, error) { return coverage.PoreUptake(0.1, units.Length(math.NaN())) },
		"drunk":      func() (units.Length, error) { return coverage.MeasuredUptake(-1e-9, 1, 1) },
		"spot":       func() (units.Length, error) { return coverage.MeasuredUptake(1e-3, 0, 1) },
		"too much":   func() (units.Length, error) { return coverage.MeasuredUptake(1, 1, 1) },
	} {
		refused(t, name, f)
	}
}

// icri is ICRI 310.2R-2013's table (thickness bands seen, classes from memory).
var icri = coverage.ProfileBands{
	{0, 3 * units.Mil, 1, 2}, {4 * units.Mil, 10 * units.Mil, 1, 3}, {10 * units.Mil, 40 * units.Mil, 3, 5},
	{50 * units.Mil, units.Inch / 8, 4, 6}, {units.Inch / 8, units.Inch / 4, 5, 9}, {units.Inch / 4, 2 * units.Inch, 5, 10},
}

func TestProfileBands(t *testing.T) {
	const src = "ICRI 310.2R-2013, from memory; a film on or between two bands may take either"
	for _, tc := range []struct {
		mil         float64
		lo, hi      int
		bad         bool
		explanation string
	}{
		{0, 1, 2, false, "0-3 mil"}, {3, 1, 2, false, "0-3 mil"}, {3.5, 1, 3, false, "the gap 3-4 mil"}, {7, 1, 3, false, "4-10 mil"}, {10, 1, 5, false, "on two bands"},
		{20, 3, 5, false, "10-40 mil"}, {45, 3, 6, false, "the gap 40-50 mil"}, {60, 4, 6, false, "50 mil to 1/8 in"}, {187.5, 5, 9, false, "1/8 to 1/4 in"},
		{1000, 5, 10, false, "over 1/4 in"}, {2500, 0, 0, true, "thicker than the table"}, {-1, 0, 0, true, "no film"}, {math.NaN(), 0, 0, true, "NaN"},
	} {
		lo, hi, err := icri.For(units.Length(tc.mil) * units.Mil)
		if lo != tc.lo || hi != tc.hi || (err != nil) != tc.bad {
			t.Errorf("%g mil: %d to %d, %v; want %d to %d (%s; %s)", tc.mil, lo, hi, err, tc.lo, tc.hi, tc.explanation, src)
		}
	}
	for _, bad := range []coverage.ProfileBands{nil, {{2e-3, 1e-3, 1, 2}}, {{0, 1e-3, 2, 1}}, {{0, 1e-3, 0, 1}}, {{0, 2e-3, 1, 2}, {1e-3, 3e-3, 2, 3}}, {{0, 1e-3, 2, 4}, {1e-3, 2e-3, 1, 3}}, {{0, units.Length(math.NaN()), 1, 2}}} {
		if lo, hi, err := bad.For(1e-3); err == nil || lo != 0 || hi != 0 {
			t.Errorf("%v: %d to %d, %v; want an error", bad, lo, hi, err)
		}
	}
}

func TestAchieved(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { // what Need orders is what Achieved finds
		area := units.Area(rapid.Float64Range(1e-3, 1e5).Draw(t, "area"))
		dry := units.Length(rapid.Float64Range(1e-6, 0.01).Draw(t, "dry"))
		solids := units.Fraction(rapid.Float64Range(0.05, 1).Draw(t, "solids"))
		loss := drawLoss(t)
		used, err1 := coverage.Need(area, dry, solids, loss)
		b, err2 := coverage.Achieved(area, used, solids, loss)
		if err1 != nil || err2 != nil || math.Abs(float64(b.Dry-dry)) > 1e-12*float64(dry+loss.Profile+loss.Uptake) || math.Abs(float64(b.Wet*units.Length(solids)-dry)) > 1e-12*float64(dry+loss.Profile+loss.Uptake) {
			t.Fatalf("%v dry, found %+v (%v, %v)", dry, b, err1, err2)
		}
		if math.Abs(float64(b.Spread.Volume(area)-used)) > 1e-12*float64(used) {
			t.Fatalf("spread %v of %v over %v", b.Spread, used, area)
		}
	})
	for name, f := range map[string]func() (units.Length, error){
		"area": func() (units.Length, error) { b, err := coverage.Achieved(0, 1, 1, coverage.Loss{}); return b.Dry, err },
		"used": func() (units.Length, error) { b, err := coverage.Achieved(1, 0, 1, coverage.Loss{}); return b.Wet, err },
		"solids": func() (units.Length, error) {
			b, err := coverage.Achieved(1, 1, 1.2, coverage.Loss{})
			return b.Dry, err
		},
		"waste": func() (units.Length, error) {
			b, err := coverage.Achieved(1, 1, 1, coverage.Loss{Waste: 1})
			return b.Dry, err
		},
		"losses alone": func() (units.Length, error) {
			b, err := coverage.Achieved(1, 1e-4, 1, coverage.Loss{Uptake: 1.01e-4})
			return b.Dry, err
		},
	} {
		refused(t, name, f)
	}
}

func drawLoss(t *rapid.T) coverage.Loss {
	return coverage.Loss{Waste: units.Fraction(rapid.Float64Range(0, 0.9).Draw(t, "waste")),
		Profile: units.Length(rapid.Float64Range(0, 0.001).Draw(t, "profile")), Uptake: units.Length(rapid.Float64Range(0, 0.001).Draw(t, "uptake"))}
}
