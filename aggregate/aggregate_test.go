package aggregate_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
)

const gal100 = 231. / 14400 * units.Inch // film of 1 gal/100 ft2

var overlay = aggregate.Grain{Size: 2.28 * units.Millimetre, Density: 2.65 * units.KilogramPerLitre, Packing: 0.55}

func ExampleToRefusal() {
	bed, err := aggregate.ToRefusal(32*units.Mil, aggregate.Grain{Size: 0.6 * units.Millimetre, Density: 2.65 * units.KilogramPerLitre, Packing: 55 * units.Percent})
	fmt.Printf("%.2f lb/ft2, %.0f mil, %v\n", float64(bed.Held/units.PoundPerSquareFoot), float64(bed.Height/units.Mil), err)
	// Output: 0.54 lb/ft2, 71 mil, <nil>
}

func near(t *testing.T, what string, got, want, rel float64, err error, src string) {
	t.Helper()
	if err != nil || !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: got %.9g, %v; want %.9g within %g (%s)", what, got, err, want, rel, src)
	}
}

// The thick regime, grain small against the film.
func TestThickBed(t *testing.T) {
	const src = "film ladder: h = t/(1-phi), m = rho t phi/(1-phi), SG 2.65, computed"
	for _, tc := range []struct{ spread, phi, height, held float64 }{ // ft2/gal, mil, lb/ft2
		{160, .55, 22.28, .1689}, {100, .55, 35.65, .2703}, {50, .55, 71.30, .5406}, {40, .55, 89.12, .6757},
		{160, .60, 0, .2073}, {100, .60, 0, .3317}, {50, .60, 0, .6635}, {40, .60, 0, .8293},
	} {
		film := (units.Spread(tc.spread) * units.SquareFootPerGallon).Film()
		bed, err := aggregate.ToRefusal(film, aggregate.Grain{Size: 0.1 * units.Millimetre, Density: 2.65 * units.KilogramPerLitre, Packing: units.Fraction(tc.phi)})
		near(t, "held", float64(bed.Held/units.PoundPerSquareFoot), tc.held, 1e-3, err, src)
		if tc.height > 0 {
			near(t, "height", float64(bed.Height/units.Mil), tc.height, 1e-3, err, src)
		}
	}
}

// Public bridge-deck practice: NCHRP Synthesis 423 (2011) p. 36, and the rates
// of the AASHTO-AGC-ARTBA Task Force 34 guide specification (from memory).
func TestOverlayClosure(t *testing.T) {
	small := overlay
	small.Size = 0.5 * units.Millimetre // so that both courses are thick beds: the mass balance alone
	one, err := aggregate.ToRefusal(2.5*gal100, small)
	near(t, "course 1", float64(one.Held/units.PoundPerSquareYard), 6.082, 1e-3, err, "M5, computed")
	near(t, "bed 1", float64(one.Height/units.Mil), 89.1, 1e-3, err, "M5, computed")
	two, err := aggregate.ToRefusal(5*gal100, small)
	near(t, "course 2", float64(two.Held/units.PoundPerSquareYard), 12.163, 1e-3, err, "M5, computed")
	near(t, "bed 2", float64(two.Height/units.Mil), 178.2, 1e-3, err, "M5, computed")
	held := float64((one.Held + two.Held) / units.PoundPerSquareYard)
	near(t, "held of 24 lb/yd2", held, 18, 0.05, err, "NCHRP Synthesis 423 p. 36: 25 % resin by weight, so 18 of 24")
	near(t, "thickness", float64((one.Height+two.Height)/units.Inch), 0.25, 0.10, err, "NCHRP Synthesis 423 p. 36: about 0.25 in")
	film := 7.5 * gal100
	resin := float64(film) * 1080
	near(t, "resin by weight", resin/(resin+float64(one.Held+two.Held)), 0.2501, 1e-3, err, "M5, resin 1.08, computed")
	// With its real grain course 1 is one stone deep: the layer model agrees with the bed model.
	real, err := aggregate.ToRefusal(2.5*gal100, overlay)
	near(t, "one stone deep", float64(real.Held/units.PoundPerSquareYard), 6.09, 0.02, err, "aggregate notes 1.3: 6.09 by layers, 6.08 by bed")
}

func TestEmbedment(t *testing.T) {
	const src = "t/d = e - c(2e^2 - 4e^3/3), computed"
	for _, tc := range []struct{ c, e, t float64 }{
		{.547, .25, .19302}, {.547, .5, .31767}, {.547, .7, .41410}, {.547, .8, .47326}, {.547, 1, .63533},
		{.82, .25, .16458}, {.82, .5, .22667}, {.82, .7, .27141}, {.82, .8, .31019}, {.82, 1, .45333},
		{.547, .11289, .1}, {.547, .26196, .2}, {.547, .46110, .3}, {.547, .57080, .35}, {.82, .12266, .1}, {.82, .36635, .2}, {.82, .77755, .3},
	} {
		g := aggregate.Grain{Size: 1 * units.Millimetre, Density: 2650, Packing: 0.55, Coverage: units.Fraction(tc.c)}
		bed, err := aggregate.ToRefusal(units.Length(tc.t)*units.Millimetre*(1-1e-5), g)
		near(t, fmt.Sprint("embedment at ", tc.t), float64(bed.Embedment), tc.e, 3e-3, err, src) // the flat middle of the curve magnifies the print's 5 digits
	}
	// Layers of quartz, lb/ft2, SG 2.65: (2/3) c d rho, computed.
	for _, tc := range []struct{ d, c, held float64 }{{.6, .547, .11876}, {.6, .82, .17803}, {.85, .547, .16824}, {.85, .82, .25220}, {2, .547, .39585}, {2, .82, .59342}} {
		bed, err := aggregate.ToRefusal(units.Length(tc.d)*units.Millimetre/5, aggregate.Grain{Size: units.Length(tc.d) * units.Millimetre, Density: 2650, Packing: 0.55, Coverage: units.Fraction(tc.c)})
		near(t, "layer", float64(bed.Held/units.PoundPerSquareFoot), tc.held, 1e-4, err, "monolayer mass, computed")
	}
}

func TestLight(t *testing.T) {
	// Ohio DOT CMS 2010 512.05: 0.80 to 1.2 lb/yd2 on crack-fill resin is a light broadcast.
	g := aggregate.Grain{Size: 1.2 * units.Millimetre, Density: 2650, Packing: 0.55}
	for _, rate := range []units.Loading{0.8, 1.2} {
		bed, err := aggregate.Broadcast(rate*units.PoundPerSquareYard, 0.5*units.Millimetre, g)
		if err != nil || !bed.Light || bed.Held != rate*units.PoundPerSquareYard {
			t.Errorf("%v lb/yd2: %+v, %v; want a light broadcast that holds it all", float64(rate), bed, err)
		}
	}
	full, _ := aggregate.ToRefusal(0.3*units.Millimetre, g)
	bed, err := aggregate.Broadcast(10, 0.3*units.Millimetre, g)
	if err != nil || bed != full {
		t.Errorf("far too much grain: %+v, %v; want refusal %+v", bed, err, full)
	}
	thrown, back, err := aggregate.Thrown(18*units.PoundPerSquareYard, 75*units.Percent)
	near(t, "thrown", float64(thrown/units.PoundPerSquareYard), 24, 1e-12, err, "NCHRP Synthesis 423: 18 of 24 held")
	near(t, "vacuumed", float64(back/units.PoundPerSquareYard), 6, 1e-12, err, "24 - 18")
}

func TestMortar(t *testing.T) {
	for _, tc := range []struct {
		ratio, yield, density float64
		src                   string
	}{
		{5, 3.0755, 133.97, "UFGS 03930 ratio 5:1 by weight; 2.65 and 1.10, computed"}, {3, 2.2453, 122.34, "computed"}, {4, 2.6604, 129.06, "computed"}, {7, 3.9057, 140.66, "computed"},
	} {
		m := aggregate.Mortar{SandToResin: tc.ratio, SandDensity: 2650, ResinDensity: 1100, Bulk: 0.79}
		y, err := m.Yield()
		near(t, "yield", y, tc.yield, 1e-4, err, tc.src)
		d, err := m.Density()
		near(t, "density", float64(d/units.PoundPerCubicFoot), tc.density, 1e-4, err, tc.src)
	}
	// By volume, loose sand 1.60 (bulk .6038), resin 1.10: 3:1 has 6.29 % air if the bulk is kept, 4:1 14.62 %.
	for _, tc := range []struct{ parts, air float64 }{{2, 0}, {3, .0629}, {4, .1462}} {
		m := aggregate.Mortar{SandToResin: tc.parts * 1.6 / 1.1, SandDensity: 2650, ResinDensity: 1100, Bulk: 1.6 / 2.65}
		air, err := m.Air()
		near(t, "air", float64(air), tc.air, 1e-3, err, "void filling rule, computed")
	}
}

func TestBalances(t *testing.T) { // resin and grain fill the bed; more resin never holds less
	rapid.Check(t, func(t *rapid.T) {
		g := aggregate.Grain{Size: units.Length(rapid.Float64Range(1e-4, 5e-3).Draw(t, "d")), Density: 2650, Packing: units.Fraction(rapid.Float64Range(0.5, 0.64).Draw(t, "phi"))}
		film := units.Length(rapid.Float64Range(1e-6, 0.02).Draw(t, "film"))
		bed, err := aggregate.ToRefusal(film, g)
		if err != nil {
			t.Fatal(err)
		}
		grain := float64(bed.Held) / 2650
		if bed.Embedment < 1 { // one layer: voids below the peaks = resin + open
			if gap := float64(g.Size) - grain - float64(film+bed.Open); math.Abs(gap) > 1e-12 {
				t.Fatalf("layer does not balance by %g m: %+v", gap, bed)
			}
		} else if gap := float64(bed.Height) - grain - float64(film); math.Abs(gap) > 1e-9*float64(bed.Height) {
			t.Fatalf("bed does not balance by %g m: %+v", gap, bed)
		}
		k := 1 + rapid.Float64Range(0, 3).Draw(t, "more")
		if wetter, err := aggregate.ToRefusal(min(film*units.Length(k), 0.1), g); err != nil || float64(wetter.Held) < (1-1e-12)*float64(bed.Held) {
			t.Fatalf("more resin holds %v, less %v (%v)", wetter.Held, bed.Held, err)
		}
		thrown, back, err := aggregate.Thrown(bed.Held, 0.7)
		if err != nil || math.Abs(float64(thrown-back-bed.Held)) > 1e-12*float64(thrown) {
			t.Fatalf("thrown %v, back %v, held %v, %v", thrown, back, bed.Held, err)
		}
		if grout, err := bed.Grout(1e-4); err != nil || grout < 1e-4 {
			t.Fatalf("grout %v, %v", grout, err)
		}
	})
}

func TestRefusals(t *testing.T) {
	for _, film := range []units.Length{0, -1, 1, units.Length(math.NaN())} {
		if bed, err := aggregate.ToRefusal(film, overlay); !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(bed.Held)) {
			t.Errorf("film %v: %+v, %v; want NaN and a range error", float64(film), bed, err)
		}
	}
	if _, err := aggregate.ToRefusal(1e-4, aggregate.Grain{}); !errors.Is(err, units.ErrRange) {
		t.Errorf("no grain: %v", err)
	}
}

func FuzzToRefusal(f *testing.F) {
	f.Add(1e-3, 1e-3, 2650.0, 0.55, 0.82)
	f.Fuzz(func(t *testing.T, film, d, rho, phi, c float64) {
		bed, err := aggregate.ToRefusal(units.Length(film), aggregate.Grain{Size: units.Length(d), Density: units.Density(rho), Packing: units.Fraction(phi), Coverage: units.Fraction(c)})
		for _, v := range []float64{float64(bed.Held), float64(bed.Height), float64(bed.Open), float64(bed.Embedment)} {
			if (err == nil) == math.IsNaN(v) || err == nil && !(v >= 0 && v < 1e6) {
				t.Fatalf("%+v with %v", bed, err)
			}
		}
	})
}

func BenchmarkToRefusal(b *testing.B) {
	b.ReportAllocs() // 0 allocs/op
	for b.Loop() {
		aggregate.ToRefusal(2.5*gal100, overlay)
	}
}
