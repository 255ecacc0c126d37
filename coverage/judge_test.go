package coverage_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/approx"
)

func ExampleJudge() {
	readings := []units.Length{9 * units.Mil, 10 * units.Mil, 11 * units.Mil, 7 * units.Mil}
	v, err := coverage.Judge(readings, 10*units.Mil, coverage.EightyOfNominal())
	fmt.Println(v.Pass, err)
	for _, b := range v.Breaches {
		fmt.Println(b.Clause, units.Format(b.Film, units.US), "limit", units.Format(b.Limit, units.US))
	}
	// Output:
	// false <nil>
	// spot-too-thin 7 mil limit 8 mil
	// mean-too-thin 9.25 mil limit 10 mil
}

// Which clause breaks, by hand from the rules' texts.
func TestBreaches(t *testing.T) {
	const mil = units.Mil
	level3, err := coverage.SpotLevel(3, 12*mil)
	if err != nil {
		t.Fatal(err)
	}
	bounded := coverage.EightyTwenty()
	bounded.High, bounded.Most = 2, 10*mil // no reading above 20 mil, as a maker may ask
	for _, tc := range []struct {
		what     string
		readings []float64
		target   float64
		rule     coverage.Rule
		want     []coverage.Clause
	}{
		{"one spot of three readings: the thinnest reading does not count alone", []float64{5, 9, 10}, 8, level3, nil},
		{"spot of 15 mil is above 1.2 x 12, and so is the mean", []float64{15, 15, 15}, 8, level3, []coverage.Clause{coverage.SpotTooThick, coverage.MeanTooThick}},
		{"mean below 8", []float64{7, 7, 7}, 8, level3, []coverage.Clause{coverage.MeanTooThin}},
		{"one in five below is 20 %, not fewer", []float64{12, 12, 12, 12, 9}, 10, coverage.EightyTwenty(), []coverage.Clause{coverage.TooManyBelow}},
		{"one in six below", []float64{12, 12, 12, 12, 12, 9}, 10, coverage.EightyTwenty(), nil},
		{"above the maximum", []float64{21, 12}, 10, bounded, []coverage.Clause{coverage.SpotTooThick, coverage.MeanTooThick}},
		{"one in ten below is allowed", []float64{10, 10, 10, 10, 10, 10, 10, 10, 10, 9}, 10, coverage.NinetyTen(), nil},
		{"two in eleven below", []float64{10, 10, 10, 10, 10, 10, 10, 10, 10, 9, 9}, 10, coverage.NinetyTen(), []coverage.Clause{coverage.TooManyBelow}},
		{"many below, none under 80 %, mean at it", []float64{8, 8, 14}, 10, coverage.EightyOfNominal(), nil},
		{"the zero rule", []float64{10, 9.99}, 10, coverage.Rule{}, []coverage.Clause{coverage.TooManyBelow}},
		{"none below passes a rule of fewer than nothing", []float64{10}, 10, coverage.Rule{Fewer: true}, nil},
	} {
		v, err := coverage.Judge(lengths(tc.readings, mil), units.Length(tc.target)*mil, tc.rule)
		var got []coverage.Clause
		for _, b := range v.Breaches {
			got = append(got, b.Clause)
		}
		if err != nil || !slices.Equal(got, tc.want) || v.Pass != (len(tc.want) == 0) {
			t.Errorf("%s: %v pass %v, %v; want %v", tc.what, got, v.Pass, err, tc.want)
		}
	}
}

// The limits of the levels, a hair inside and outside of each: SSPC-PA 2 table
// 1, level 3 seen, the others from memory. The range is 8 to 12 mil; the other
// spots keep the mean in it.
func TestSpotLevels(t *testing.T) {
	for level, limit := range map[int][2]float64{1: {8, 12}, 2: {8, 14.4}, 3: {6.4, 14.4}, 4: {6.4, 18}, 5: {6.4, math.Inf(1)}} {
		rule, err := coverage.SpotLevel(level, 12*units.Mil)
		if err != nil {
			t.Fatal(err)
		}
		rule.PerSpot = 1
		for spot, want := range map[float64]bool{limit[0] - 1e-6: false, limit[0]: true, limit[1]: true, limit[1] + 1e-6: false, 30: level == 5} {
			if math.IsInf(spot, 1) {
				continue
			}
			all := append(slices.Repeat([]float64{9}, 20), spot)
			if v, err := coverage.Judge(lengths(all, units.Mil), 8*units.Mil, rule); err != nil || v.Pass != want {
				t.Errorf("level %d, spot of %v mil: %+v, %v; want %v", level, spot, v, err, want)
			}
		}
	}
	// The mean may be anything above at level 5, and not above the range at the others.
	for level := 1; level <= 5; level++ {
		rule, err := coverage.SpotLevel(level, 12*units.Mil)
		if err != nil {
			t.Fatal(err)
		}
		if v, err := coverage.Judge(lengths([]float64{12.001, 12.001, 12.001}, units.Mil), 8*units.Mil, rule); err != nil || v.Pass != (level == 5) {
			t.Errorf("level %d, mean of 12.001 mil: %+v, %v", level, v, err)
		}
	}
}

// Bounds give way by rounding and no more, in whatever unit they were typed.
func TestBoundsGiveWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom([]units.Length{units.Mil, units.Micrometre, units.Millimetre}).Draw(t, "unit")
		target := rapid.Float64Range(1, 20).Draw(t, "target")
		for _, tc := range []struct {
			reading float64
			rule    coverage.Rule
			want    bool
		}{
			{target * 0.8, coverage.Rule{Low: 0.8, Below: 1}, true}, {target * 0.8 * (1 - 1e-8), coverage.Rule{Low: 0.8, Below: 1}, false},
			{target * 1.2, coverage.Rule{High: 0.8, Most: units.Length(target*1.5) * unit}, true}, {target * 1.2 * (1 + 1e-8), coverage.Rule{High: 0.8, Most: units.Length(target*1.5) * unit}, false},
			{target * 1.3, coverage.Rule{Mean: 1.3}, true}, {target * 1.3 * (1 - 1e-8), coverage.Rule{Mean: 1.3}, false},
			{target * 1.3, coverage.Rule{Most: units.Length(target*1.3) * unit}, true}, {target * 1.3 * (1 + 1e-8), coverage.Rule{Most: units.Length(target*1.3) * unit}, false},
			{target * 3 / 3, coverage.Rule{}, true}, {target * (1 - 1e-8), coverage.Rule{}, false},
		} {
			third := []units.Length{units.Length(tc.reading*0.7) * unit, units.Length(tc.reading*1.1) * unit, units.Length(tc.reading*1.2) * unit}
			tc.rule.PerSpot = 3
			if v, err := coverage.Judge(third, units.Length(target)*unit, tc.rule); err != nil || v.Pass != tc.want {
				t.Fatalf("%v of %v by %+v: %+v, %v; want %v", tc.reading, target, tc.rule, v, err, tc.want)
			}
		}
	})
}

func lengths(v []float64, unit units.Length) []units.Length {
	l := make([]units.Length, len(v))
	for i, x := range v {
		l[i] = units.Length(x) * unit
	}
	return l
}

func drawReadings(t *rapid.T, least int) []units.Length {
	return lengths(rapid.SliceOfN(rapid.Float64Range(0, 30), least, 24).Draw(t, "readings, mil"), units.Mil)
}

func TestJudgeProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		readings := drawReadings(t, 3)
		readings = readings[:len(readings)/3*3]
		target, most := 8*units.Mil, 12*units.Mil
		var passed bool
		for level := 1; level <= 5; level++ { // what a strict level passes, a looser one does
			rule, err := coverage.SpotLevel(level, most)
			if err != nil {
				t.Fatal(err)
			}
			v, err := coverage.Judge(readings, target, rule)
			if err != nil || passed && !v.Pass {
				t.Fatalf("level %d fails where %d passes: %+v, %v", level, level-1, v, err)
			}
			passed = v.Pass
		}
		for _, rule := range []coverage.Rule{coverage.EightyTwenty(), coverage.EightyOfNominal(), coverage.NinetyTen(), {}} {
			v, err1 := coverage.Judge(readings, target, rule)
			if err1 != nil || v.Least > v.Mean*(1+1e-12) || v.Mean > v.Most*(1+1e-12) || v.Below < 0 || v.Below > 1 || v.Spots != len(readings) {
				t.Fatalf("%+v, %v", v, err1)
			}
			back := slices.Clone(readings) // the order of single readings is nothing
			slices.Reverse(back)
			b, err2 := coverage.Judge(back, target, rule)
			if err2 != nil || !cmp.Equal(v, b, approx.Quantity[units.Length](0, 1e-12), approx.Quantity[units.Fraction](0, 1e-12)) {
				t.Fatalf("order matters: %v", cmp.Diff(v, b))
			}
			twice, err3 := coverage.Judge(append(back, readings...), target, rule) // nor is counting all twice
			if err3 != nil || twice.Pass != v.Pass {
				t.Fatalf("twice: %+v, once %+v", twice, v)
			}
			for i := range back {
				back[i] += units.Mil // no rule here bounds the film above
			}
			if thicker, err := coverage.Judge(back, target, rule); err != nil || v.Pass && !thicker.Pass {
				t.Fatalf("thicker fails: %+v, %v", thicker, err)
			}
		}
	})
}

func TestJudgeRefuses(t *testing.T) {
	const mil = units.Mil
	nan := math.NaN()
	ok := []units.Length{10 * mil}
	for name, tc := range map[string]struct {
		readings []units.Length
		target   units.Length
		rule     coverage.Rule
	}{
		"none":             {nil, 10 * mil, coverage.Rule{}},
		"half a spot":      {ok, 10 * mil, coverage.Rule{PerSpot: 3}},
		"NaN":              {[]units.Length{units.Length(nan)}, 10 * mil, coverage.Rule{}},
		"below nothing":    {[]units.Length{-1e-12}, 10 * mil, coverage.Rule{}},
		"mil forgotten":    {[]units.Length{10}, 10 * mil, coverage.Rule{}},
		"no target":        {ok, 0, coverage.Rule{}},
		"target NaN":       {ok, units.Length(nan), coverage.Rule{}},
		"Percent left out": {ok, 10 * mil, coverage.Rule{Low: 80}},
		"below, NaN":       {ok, 10 * mil, coverage.Rule{Below: units.Fraction(nan)}},
		"high, no top":     {ok, 10 * mil, coverage.Rule{High: 1.2}},
		"top under target": {ok, 10 * mil, coverage.Rule{Most: 9 * mil}},
		"asks nothing":     {ok, 10 * mil, coverage.Rule{Below: 1}},
		"negative spot":    {ok, 10 * mil, coverage.Rule{PerSpot: -1}},
	} {
		v, err := coverage.Judge(tc.readings, tc.target, tc.rule)
		if !errors.Is(err, units.ErrRange) || v.Pass || !math.IsNaN(float64(v.Mean)) || !math.IsNaN(float64(v.Least)) || !math.IsNaN(float64(v.Most)) || !math.IsNaN(float64(v.Below)) {
			t.Errorf("%s: %+v, %v; want a range error and NaN", name, v, err)
		}
	}
	for level, most := range map[int]units.Length{0: 12 * mil, 6: 12 * mil, 3: 0} {
		if r, err := coverage.SpotLevel(level, most); !errors.Is(err, units.ErrRange) || r != (coverage.Rule{}) {
			t.Errorf("level %d to %v: %+v, %v; want a range error", level, most, r, err)
		}
	}
}

func TestSamplingGrows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := units.Area(rapid.Float64Range(1e-3, 1e5).Draw(t, "area"))
		b := a + units.Area(rapid.Float64Range(0, 1e4).Draw(t, "more"))
		for name, f := range map[string]func(units.Area) (coverage.Sampling, error){"spots": coverage.SpotSampling, "readings": coverage.ReadingSampling} {
			small, err1 := f(a)
			large, err2 := f(b)
			if err1 != nil || err2 != nil || small.Readings < 5 || large.Readings < small.Readings || large.Repeats < small.Repeats || small.Repeats > small.Readings {
				t.Fatalf("%s: %+v on %v, %+v on %v (%v, %v)", name, small, a, large, b, err1, err2)
			}
		}
	})
	for _, bad := range []units.Area{0, -1, 1e9, units.Area(math.NaN())} {
		for name, f := range map[string]func(units.Area) (coverage.Sampling, error){"spots": coverage.SpotSampling, "readings": coverage.ReadingSampling} {
			if s, err := f(bad); !errors.Is(err, units.ErrRange) || s != (coverage.Sampling{}) {
				t.Errorf("%s on %v: %+v, %v; want a range error", name, bad, s, err)
			}
		}
	}
}

func TestComb(t *testing.T) {
	c := coverage.Comb{Touched: 12 * units.Mil, Clear: 14 * units.Mil}
	low, high, err := c.Dry(0.5, 0.25)
	near(t, "low", float64(low/units.Mil), 4.8, 1e-12, err, "12 x 0.5/1.25, by hand")
	near(t, "high", float64(high/units.Mil), 5.6, 1e-12, err, "14 x 0.5/1.25, by hand")
	for _, tc := range []struct {
		mil  float64
		want coverage.Answer
		word string
	}{{11, coverage.Enough, "enough"}, {12, coverage.Enough, "enough"}, {13, coverage.Between, "between"}, {14, coverage.Short, "short"}, {15, coverage.Short, "short"}} {
		if got, err := c.Has(units.Length(tc.mil) * units.Mil); got != tc.want || got.String() != tc.word || err != nil {
			t.Errorf("%g mil: %v, %v; want %s (the film is at least the touched tooth and under the clear one)", tc.mil, got, err, tc.word)
		}
	}
	for name, bad := range map[string]coverage.Comb{"same tooth": {1e-4, 1e-4}, "turned": {2e-4, 1e-4}, "negative": {-1e-9, 1e-4}, "NaN": {0, units.Length(math.NaN())}, "thick": {0, 2}} {
		refused(t, name, func() (units.Length, error) { low, high, err := bad.Dry(1, 0); return low + high, err })
		refused(t, name, func() (units.Length, error) { a, err := bad.Has(1e-4); return units.Length(a), err })
	}
	refused(t, "solids", func() (units.Length, error) { low, high, err := c.Dry(0, 0); return low + high, err })
	refused(t, "wet", func() (units.Length, error) { a, err := c.Has(0); return units.Length(a), err })
	if got := coverage.Answer(9).String(); got != "Answer(9)" {
		t.Errorf("an answer that is none: %s", got)
	}
}
