package coverage_test

import (
	"errors"
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

func ExampleNeed() {
	// 1250 ft2 at 16 mil, 100 % solids, 5 % of the order lost, 3-gal kits.
	need, err := coverage.Need(1250*units.SquareFoot, 16*units.Mil, 100*units.Percent, coverage.Loss{Waste: 5 * units.Percent})
	kits, _ := coverage.Kits(need, 3*units.Gallon)
	fmt.Printf("%.2f gal, %d kits, %v\n", float64(need/units.Gallon), kits, err)
	// Output: 13.12 gal, 5 kits, <nil>
}

func near(t *testing.T, what string, got, want, rel float64, err error, src string) {
	t.Helper()
	if err != nil || !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: got %.12g, %v; want %.12g within %g (%s)", what, got, err, want, rel, src)
	}
}

func TestFilms(t *testing.T) {
	const exact = 1e-9
	for _, tc := range []struct {
		dry, solids, thinner, wet float64 // mil, %
		src                       string
	}{
		{4, 65, 0, 6.15384615385, "Weaver, 'Ensure proper coating performance', prints 6.15"},
		{8.7, 58, 0, 15, "MIL-HDBK-1110 / UFC 3-190-06 par. 5.20.1.4 m)"},
		{5, 65, 10, 5 * 1.1 / 0.65, "Joseph Q&A Oct 2003: WFT = DFT(1+T)/VS"},
		{10, 100, 0, 10, "100 % solids do not shrink"},
	} {
		wet, err := coverage.WetFilm(units.Length(tc.dry)*units.Mil, units.Fraction(tc.solids)*units.Percent, units.Fraction(tc.thinner)*units.Percent)
		near(t, "wet", float64(wet/units.Mil), tc.wet, exact, err, tc.src)
		dry, err := coverage.DryFilm(units.Length(tc.wet)*units.Mil, units.Fraction(tc.solids)*units.Percent, units.Fraction(tc.thinner)*units.Percent)
		near(t, "dry", float64(dry/units.Mil), tc.dry, exact, err, tc.src)
	}
	for _, tc := range []struct {
		mil, solids, rate, tol float64
		src                    string
	}{
		{1, 100, 1604.16666667, exact, "231 in3, exact; literature prints 1604"},
		{50, 100, 32.0833333333, exact, "1604.1667/50"},
		{65, 100, 24.6794871795, exact, "1604.1667/65"},
		{250, 100, 6.41666666667, exact, "1/4 in topping, geometry"},
		{62.5, 100, 25.6666666667, exact, "1/16 in topping, geometry"},
		{2.5, 46, 294, 0.005, "two anonymous coatings, printed truncated"},
		{2.5, 56, 358, 0.005, "two anonymous coatings, printed truncated"},
		{13.3680555556, 100, 120, exact, "Ohio DOT CMS 2010 512.03: 120 ft2/gal"},
		{20, 100, 80.2, 0.001, "UFGS 03930: 0.5 mm (20 mil) prime, 80.2 ft2/gal"},
	} {
		s, err := coverage.SpreadRate(units.Length(tc.mil)*units.Mil, units.Fraction(tc.solids)*units.Percent)
		near(t, "spread", float64(s/units.SquareFootPerGallon), tc.rate, tc.tol, err, tc.src)
	}
	s, err := coverage.SpreadRate(125*units.Micrometre, 65*units.Percent)
	near(t, "m2/L", float64(s/units.SquareMetrePerLitre), 5.2, exact, err, "ISO 3233: 10 VS/DFT")
	// Joseph H1002: VS 52 %, TE 35 %, DFT 1.5 mil: 194.638888889 ft2/gal.
	need, err := coverage.Need(1*units.SquareFoot, 1.5*units.Mil, 52*units.Percent, coverage.Loss{Waste: 65 * units.Percent})
	near(t, "practical", 1/float64(need/units.Gallon), 194.638888889, exact, err, "Joseph, Q&A H1002 (2008), at 1604.1667")
	need, err = coverage.Need(1000*units.SquareFoot, 0, 1, coverage.Loss{Profile: 50 * units.Micrometre})
	near(t, "profile", float64(need/units.Gallon), 1.22711933736, exact, err, "saw-tooth profile of 100 um holds half its envelope")
	d, err := coverage.Residual(7*units.Mil, 52*units.Percent)
	near(t, "residual", float64(d/units.Mil), 7*0.48, exact, err, "d (1 - s); common practice, no source")
}

func TestJoints(t *testing.T) {
	// ft/gal = 231/(12 w d), inches; the table of trade sheets, geometry.
	for _, tc := range [][3]float64{{.125, .125, 1232}, {.125, .25, 616}, {.125, .5, 308}, {.125, 1, 154}, {.125, 1.5, 102.666666667}, {.125, 2, 77}, {.1875, .1875, 547.555555556},
		{.25, .25, 308}, {.25, .375, 205.333333333}, {.25, .5, 154}, {.25, 1, 77}, {.25, 2, 38.5}, {.375, .375, 136.888888889}, {.5, .5, 77}, {.5, 1, 38.5}, {1, 1, 19.25}} {
		v, err := coverage.Joint{Length: 1 * units.Foot, Width: units.Length(tc[0]) * units.Inch, Depth: units.Length(tc[1]) * units.Inch}.Fill()
		near(t, fmt.Sprint("joint ", tc[0], " x ", tc[1]), 1/float64(v/units.Gallon), tc[2], 1e-9, err, "19.25/(w d)")
	}
	// A crown of half a sphere: area pi, crown 1: 2 pi/3. A flat one: half the crown.
	v, err := coverage.Patch{Area: math.Pi, Depth: 0, Crown: 1}.Fill()
	near(t, "hemisphere", float64(v), 2*math.Pi/3, 1e-12, err, "volume of the half sphere")
	v, err = coverage.Patch{Area: 3.5 * units.SquareFoot, Depth: 0.75 * units.Inch, Crown: 0.0625 * units.Inch}.Fill()
	near(t, "patch", float64(v/units.CubicFoot), 3.5*(0.75+0.03125)/12, 1e-4, err, "by hand: flat cap")
	base := coverage.CoveBase{Length: 100 * units.Foot, Height: 4 * units.Inch, Radius: 1 * units.Inch}
	face, err := base.Face()
	near(t, "base", float64(face/units.SquareFoot), 100*(3+math.Pi/2)/12, 1e-12, err, "by hand")
	fill, err := base.Fillet()
	near(t, "fillet", float64(fill/units.CubicInch), 1200*(1-math.Pi/4), 1e-12, err, "by hand")
	lost, err := base.FloorLost()
	near(t, "lost", float64(lost/units.SquareFoot), 100./12, 1e-12, err, "by hand")
}

func TestMix(t *testing.T) {
	m := coverage.Mix{Parts: []coverage.Part{{"A", 2, 9.2 * units.PoundPerGallon}, {"B", 1, 8.1 * units.PoundPerGallon}}}
	d, err := m.Density()
	near(t, "density", float64(d/units.PoundPerGallon), 8.83333333333, 1e-9, err, "2:1 by volume, 9.2 and 8.1 lb/gal; mass balance")
	s, err := m.Split(3 * units.Gallon)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "A", float64(s[0].Volume/units.Gallon), 2, 1e-12, err, "2:1")
	near(t, "A:B by weight", float64(s[0].Mass)/float64(s[1].Mass), 2.27160493827, 1e-9, err, "mass balance")
	byMass := coverage.Mix{By: coverage.ByMass, Parts: []coverage.Part{{"A", 100, 9.2 * units.PoundPerGallon}, {"B", 44.0217391304, 8.1 * units.PoundPerGallon}}}
	s, err = byMass.Split(3 * units.Gallon)
	near(t, "same mix by mass", float64(s[0].Volume/units.Gallon), 2, 1e-9, err, "B per 100 A, mass balance")
}

func TestKitsAndBatches(t *testing.T) {
	for _, tc := range []struct {
		need, kit units.Volume
		want      int
	}{{13.1237183869 * units.Gallon, 3 * units.Gallon, 5}, {15 * units.Gallon, 3 * units.Gallon, 5}, {0, 3 * units.Gallon, 0}, {15.001 * units.Gallon, 3 * units.Gallon, 6}} {
		if n, err := coverage.Kits(tc.need, tc.kit); n != tc.want || err != nil {
			t.Errorf("%v of %v: %d, %v; want %d (arithmetic)", tc.need, tc.kit, n, err, tc.want)
		}
	}
	if n, err := coverage.Kits(378*units.Pound, 50*units.Pound); n != 8 || err != nil {
		t.Errorf("bags: %d, %v; want 8", n, err)
	}
	// 350 ft2/h for 20 minutes at 16.0417 mil: 1.1667 gal. Common practice, no source.
	v, err := coverage.LargestBatch(25*time.Minute, 5*time.Minute, 350*units.SquareFootPerHour, 16.0416666667*units.Mil)
	near(t, "batch", float64(v/units.Gallon), 350./3/100, 1e-9, err, "by hand")
	if _, err := coverage.LargestBatch(5*time.Minute, 5*time.Minute, 1, 1); !errors.Is(err, units.ErrRange) {
		t.Errorf("pot life as short as mixing: got %v", err)
	}
}

func TestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		area := units.Area(rapid.Float64Range(1e-6, 1e4).Draw(t, "area"))
		dry := units.Length(rapid.Float64Range(1e-6, 0.01).Draw(t, "dry"))
		solids := units.Fraction(rapid.Float64Range(0.05, 1).Draw(t, "solids"))
		more := units.Fraction(rapid.Float64Range(float64(solids), 1).Draw(t, "more solids"))
		loss := coverage.Loss{Waste: units.Fraction(rapid.Float64Range(0, 0.9).Draw(t, "waste")), Profile: units.Length(rapid.Float64Range(0, 0.001).Draw(t, "profile"))}
		a, err1 := coverage.Need(area, dry, solids, loss)
		b, err2 := coverage.Need(area, dry, more, loss)
		if err1 != nil || err2 != nil || b > a*(1+1e-12) {
			t.Fatalf("more solids need %v, fewer %v (%v, %v)", b, a, err1, err2)
		}
		half, _ := coverage.Need(area/2, dry, solids, loss)
		if math.Abs(float64(2*half-a)) > 1e-12*float64(a) {
			t.Fatalf("two halves need %v, the whole %v", 2*half, a)
		}
		kit := units.Volume(rapid.Float64Range(1e-4, 1).Draw(t, "kit"))
		n, err := coverage.Kits(a, kit)
		if got := units.Volume(n) * kit; err != nil || got < a*(1-2e-9) || got >= (a+kit)*(1+1e-12) {
			t.Fatalf("%d kits of %v for %v, %v", n, kit, a, err)
		}
	})
}

func FuzzFilm(f *testing.F) {
	f.Add(1e-4, 0.5, 0.1, 0.05)
	f.Fuzz(func(t *testing.T, dry, solids, thinner, waste float64) {
		wet, err := coverage.WetFilm(units.Length(dry), units.Fraction(solids), units.Fraction(thinner))
		if (err == nil) == math.IsNaN(float64(wet)) || math.IsInf(float64(wet), 0) {
			t.Fatalf("%v with %v", wet, err)
		}
		v, err := coverage.Need(10, units.Length(dry), units.Fraction(solids), coverage.Loss{Waste: units.Fraction(waste)})
		if (err == nil) == math.IsNaN(float64(v)) {
			t.Fatalf("%v with %v", v, err)
		}
	})
}

func BenchmarkNeed(b *testing.B) {
	b.ReportAllocs() // 0 allocs/op
	for b.Loop() {
		coverage.Need(100, 1e-4, 0.6, coverage.Loss{Waste: 0.05})
	}
}
