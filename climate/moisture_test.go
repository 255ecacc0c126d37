package climate_test

import (
	"errors"
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// ASTM F1869 (formula from memory): 4.2 g in 66.5 h on 0.500 ft2 are 6.68349
// lb/(1000 ft2 24 h), 32.6316 g/(m2 24 h), computed; 1e-9: the same equation; 2e-8:
// the second with a factor of eight digits.
func TestEmissionRate(t *testing.T) {
	const area = 0.5 * units.SquareFoot
	q, err := climate.EmissionRate(4.2*units.Gram, area, 66*time.Hour+30*time.Minute)
	if err != nil || math.Abs(float64(q/units.PoundPerThousandSquareFeetDay)/6.68348752729-1) > 1e-9 || math.Abs(float64(q/units.GramPerSquareMetreDay)/32.6316439675-1) > 2e-8 {
		t.Errorf("%v, %v; want 6.68349 lb/(1000 ft2 d), 32.6316 g/(m2 d)", q, err)
	}
	// MVER = 52.91 M/(A T), g, ft2, h: four printed digits.
	for _, h := range []float64{60, 66, 72} {
		q, err := climate.EmissionRate(3*units.Gram, area, time.Duration(h*3.6e12))
		if want := 52.91 * 3 / (0.5 * h); err != nil || math.Abs(float64(q/units.PoundPerThousandSquareFeetDay)/want-1) > 2e-4 {
			t.Errorf("%v h: %v, %v; want %v lb/(1000 ft2 d)", h, q, err, want)
		}
	}
	// The units: 1 lb/(1000 ft2 24 h) = 56.509579 ug/(s m2) = 4.8824276 g/(m2 24 h); 3 lb are 14.647, printed 15 (NACE 6/SSPC-SP 13, from memory).
	u := units.PoundPerThousandSquareFeetDay
	if math.Abs(float64(u)*1e9/56.509579-1) > 1e-6 || math.Abs(float64(u/units.GramPerSquareMetreDay)/4.8824276-1) > 1e-6 || math.Abs(float64(3*u/units.GramPerSquareMetreDay)/14.6472828-1) > 1e-6 {
		t.Errorf("1 lb/(1000 ft2 d) is %v", u)
	}
}

// Three in the first 1000 ft2, one in each further 1000 ft2 or part of it: ASTM
// F1869 and F2170 (from memory).
func TestMoistureTests(t *testing.T) {
	for _, tc := range []struct {
		feet float64
		want int
	}{{1e-3, 3}, {1, 3}, {999, 3}, {1000, 3}, {1000.01, 4}, {2000, 4}, {2001, 5}, {3000, 5}, {10000, 12}, {10001, 13}, {1e6, 1002}} {
		if n, err := climate.MoistureTests(units.Area(tc.feet) * units.SquareFoot); err != nil || n != tc.want {
			t.Errorf("%v ft2: %d, %v; want %d", tc.feet, n, err, tc.want)
		}
	}
	for n := 1; n < 3000; n++ { // whole thousands do not round up, also as square metres
		if got, err := climate.MoistureTests(units.Area(float64(n) * 92.90304)); err != nil || got != n+2 {
			t.Errorf("%d 000 ft2: %d, %v", n, got, err)
		}
	}
}

// ASTM F2170: 40 % where it dries from one side; 20 % where from two (from memory).
func TestProbeDepth(t *testing.T) {
	for _, tc := range []struct {
		in, want float64
		both     bool
	}{{0.1, 0.04, false}, {0.1, 0.02, true}, {4 * 0.0254, 1.6 * 0.0254, false}, {2, 0.8, false}, {0.02, 0.004, true}} {
		if d, err := climate.ProbeDepth(units.Length(tc.in), tc.both); err != nil || math.Abs(float64(d)-tc.want) > 1e-12 {
			t.Errorf("%v m, both sides %v: %v, %v; want %v m", tc.in, tc.both, d, err, tc.want)
		}
	}
}

// 75 % (a public specification of a resinous floor) and 80 % (NACE 6/SSPC-SP 13,
// from memory) as limits: the wettest reading decides, not the mean.
func TestJudgeHumidity(t *testing.T) {
	for _, tc := range []struct {
		readings  []units.Fraction
		limit     units.Fraction
		feet      float64
		wanted    int
		over      int
		high, avg float64
		pass      bool
	}{
		{[]units.Fraction{0.70, 0.72, 0.75}, 0.75, 900, 3, 0, 0.75, 0.7233333333333334, true},
		{[]units.Fraction{0.60, 0.60, 0.76}, 0.75, 900, 3, 1, 0.76, 0.6533333333333333, false},
		{[]units.Fraction{0.60, 0.60, 0.76}, 0.80, 900, 3, 0, 0.76, 0.6533333333333333, true},
		{[]units.Fraction{0.60, 0.60, 0.76}, 0.80, 1100, 4, 0, 0.76, 0.6533333333333333, false},
		{[]units.Fraction{0.9, 0.9, 0.9, 0.9}, 0.8, 1100, 4, 4, 0.9, 0.9, false},
		{[]units.Fraction{75 * units.Percent, 75 * units.Percent, 75 * units.Percent}, 0.75, 900, 3, 0, 0.75, 0.75, true},
	} {
		v, err := climate.JudgeHumidity(tc.readings, tc.limit, units.Area(tc.feet)*units.SquareFoot)
		if err != nil || v.Wanted != tc.wanted || v.Over != tc.over || v.Readings != len(tc.readings) || v.Pass != tc.pass || math.Abs(float64(v.Highest)-tc.high) > 1e-12 || math.Abs(float64(v.Mean)-tc.avg) > 1e-12 {
			t.Errorf("%v against %v: %+v, %v; want %+v", tc.readings, tc.limit, v, err, tc)
		}
	}
}

// 24 h in MIL-HDBK-1110 par. 9.6.7.5, 16 h in ASTM D4263: the same sheet passes one only.
func TestSheetTest(t *testing.T) {
	for _, tc := range []struct {
		exposed, asked time.Duration
		damp, want     bool
	}{{18 * time.Hour, 16 * time.Hour, false, true}, {18 * time.Hour, 24 * time.Hour, false, false}, {24 * time.Hour, 24 * time.Hour, false, true}, {48 * time.Hour, 24 * time.Hour, true, false}} {
		if pass, err := climate.SheetTest(tc.exposed, tc.asked, tc.damp); err != nil || pass != tc.want {
			t.Errorf("%+v: %v, %v", tc, pass, err)
		}
	}
}

func TestMoistureProperties(t *testing.T) { // scaling, order, and that the order of readings does not matter
	rapid.Check(t, func(t *rapid.T) {
		f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		g, a, h := f("gain", 0, 0.5), f("area", 0.002, 5), time.Duration(f("h", 60, 72)*3.6e12)
		q, err1 := climate.EmissionRate(units.Mass(g), units.Area(a), h)
		two, err2 := climate.EmissionRate(units.Mass(2*g), units.Area(a), h)
		half, err3 := climate.EmissionRate(units.Mass(g), units.Area(a/2), h)
		if err := errors.Join(err1, err2, err3); err != nil || math.Abs(float64(two-2*q)) > 1e-15 || math.Abs(float64(half-2*q)) > 1e-15 || math.Abs(float64(q)*a*h.Seconds()-g) > 1e-12 {
			t.Fatalf("%v, twice %v, on half %v, %v", q, two, half, err)
		}
		floor := units.Area(f("floor", 1e-3, 5e4))
		n, err1 := climate.MoistureTests(floor)
		m, err2 := climate.MoistureTests(floor + 1000*units.SquareFoot)
		if err := errors.Join(err1, err2); err != nil || n < 3 || m < n || m > n+1 {
			t.Fatalf("%v tests on %v, %v on more, %v", n, floor, m, err)
		}
		r := rapid.SliceOfN(rapid.Float64Range(0.01, 1), 1, 20).Draw(t, "readings")
		var in []units.Fraction
		for _, x := range r {
			in = append(in, units.Fraction(x))
		}
		limit := units.Fraction(f("limit", 0.01, 1))
		v, err1 := climate.JudgeHumidity(in, limit, floor)
		slices.Reverse(in)
		w, err2 := climate.JudgeHumidity(in, limit, floor)
		if err := errors.Join(err1, err2); err != nil || v.Highest != w.Highest || v.Over != w.Over || v.Pass != w.Pass || math.Abs(float64(v.Mean-w.Mean)) > 1e-12 || v.Mean > v.Highest*(1+1e-12) || (v.Over > 0) != (v.Highest > limit*(1+1e-9)) || v.Pass && (v.Over > 0 || v.Readings < v.Wanted) {
			t.Fatalf("%+v, reversed %+v, %v", v, w, err)
		}
	})
}

func TestMoistureRefusals(t *testing.T) {
	nan := math.NaN()
	f := units.Fraction(0.7)
	for name, err := range map[string]error{
		"gain below": second(climate.EmissionRate(-1e-9, 0.05, 66*time.Hour)), "gain NaN": second(climate.EmissionRate(units.Mass(nan), 0.05, 66*time.Hour)), "4 kg": second(climate.EmissionRate(4, 0.05, 66*time.Hour)),
		"area": second(climate.EmissionRate(0.004, 0, 66*time.Hour)), "area NaN": second(climate.EmissionRate(0.004, units.Area(nan), 66*time.Hour)),
		"too short": second(climate.EmissionRate(0.004, 0.05, 59*time.Hour)), "too long": second(climate.EmissionRate(0.004, 0.05, 73*time.Hour)),
		"no floor": second(climate.MoistureTests(0)), "floor NaN": second(climate.MoistureTests(units.Area(nan))), "floor below": second(climate.MoistureTests(-1)), "2 km2": second(climate.MoistureTests(2e6)),
		"thin": second(climate.ProbeDepth(0.019, false)), "thick": second(climate.ProbeDepth(2.1, true)), "thickness NaN": second(climate.ProbeDepth(units.Length(nan), true)),
		"no readings": second(climate.JudgeHumidity(nil, f, 10)), "Percent missed": second(climate.JudgeHumidity([]units.Fraction{75}, f, 10)), "limit": second(climate.JudgeHumidity([]units.Fraction{f}, 75, 10)),
		"reading NaN": second(climate.JudgeHumidity([]units.Fraction{f, units.Fraction(nan)}, f, 10)), "limit NaN": second(climate.JudgeHumidity([]units.Fraction{f}, units.Fraction(nan), 10)), "judge, floor": second(climate.JudgeHumidity([]units.Fraction{f}, f, 0)),
		"exposed": second(climate.SheetTest(0, 24*time.Hour, false)), "asked": second(climate.SheetTest(24*time.Hour, 0, false)), "15 days": second(climate.SheetTest(360*time.Hour, 24*time.Hour, false)), "before": second(climate.SheetTest(math.MinInt64, time.Hour, false)),
	} {
		if !errors.Is(err, units.ErrRange) {
			t.Errorf("%s: %v; want a range error", name, err)
		}
	}
	v, err := climate.JudgeHumidity([]units.Fraction{f, 75}, f, 10)
	if err == nil || v.Pass || !math.IsNaN(float64(v.Highest)) || !math.IsNaN(float64(v.Mean)) {
		t.Errorf("%+v beside %v; want NaN", v, err)
	}
	if q, err := climate.EmissionRate(0.004, 0, 66*time.Hour); err == nil || !math.IsNaN(float64(q)) {
		t.Errorf("%v beside %v; want NaN", q, err)
	}
}
