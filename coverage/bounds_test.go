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

func ExampleBatches() {
	n, each, err := coverage.Batches(13.1237183869*units.Gallon, 1.5*units.Gallon)
	fmt.Printf("%d batches of %.3f gal, %v\n", n, float64(each/units.Gallon), err)
	// Output: 9 batches of 1.458 gal, <nil>
}

func ExampleMix_Split() {
	m := coverage.Mix{Parts: []coverage.Part{{"A", 2, 9.2 * units.PoundPerGallon}, {"B", 1, 8.1 * units.PoundPerGallon}}}
	shares, _ := m.Split(1.5 * units.Gallon)
	for _, s := range shares {
		fmt.Printf("%s %.2f gal, %.2f lb\n", s.Name, float64(s.Volume/units.Gallon), float64(s.Mass/units.Pound))
	}
	// Output:
	// A 1.00 gal, 9.20 lb
	// B 0.50 gal, 4.05 lb
}

// More outside values. exact: the same arithmetic in more digits; print: what the source rounds off.
func TestPublishedRates(t *testing.T) {
	const exact = 1e-9
	film := func(what string, rate, mil, tol float64, src string) {
		t.Helper()
		s, err := coverage.SpreadRate(units.Length(mil)*units.Mil, 1)
		near(t, what, float64(s/units.SquareFootPerGallon), rate, tol, err, src)
	}
	film("3/16 in", 8.55555555556, 187.5, exact, "geometry")
	film("1/8 in", 12.8333333333, 125, exact, "geometry")
	film("nonskid, low", 35, 45.8333333333, exact, "US Army TB 43-0144 app. D: 5 gal covers 175 ft2")
	film("nonskid, high", 40, 40.1041666667, exact, "US Army TB 43-0144 app. D: 5 gal covers 200 ft2")
	film("150 ft2/gal", 150, 10.6944444444, exact, "Ohio DOT CMS 2010 512.03 G.1")
	film("200 ft2/gal", 200, 8.02083333333, exact, "Ohio DOT CMS 2010 512.03 G.1")
	film("15 mil", 106.944444444, 15, exact, "MIL-HDBK-1110 par. 5.20.1.3, computed")
	film("bonding agent", 80, 20.0520833333, exact, "Concrete Construction Q&A: at most 80 ft2/gal")
	film("0.5 mm prime", 80.2083333333, 19.6850393701, 0.02, "UFGS 03930 prints 0.5 mm and 20 mil for one film")
	for _, tc := range []struct{ rate, metric, print float64 }{{120, 2.94508640965, 2.9}, {150, 3.68135801207, 3.6}, {200, 4.90847734942, 4.8}} {
		s := units.Spread(tc.rate) * units.SquareFootPerGallon
		got, err := coverage.SpreadRate(s.Film(), 1)
		near(t, "m2/L", float64(got/units.SquareMetrePerLitre), tc.metric, exact, err, "computed from the definitions")
		near(t, "m2/L as printed", float64(got/units.SquareMetrePerLitre), tc.print, 0.025, err, "Ohio DOT CMS 2010 512.03 G.1; prints 3.6 and 4.8 low")
	}
	// Thinner is a share of the liquid; a gallon of unthinned liquid covers what its solids do.
	wet, err := coverage.WetFilm(5*units.Mil, 65*units.Percent, 10*units.Percent)
	near(t, "thinned", float64(wet/units.Mil), 8.46153846154, exact, err, "WFT = DFT (1+T)/VS, computed")
	near(t, "per thinned gallon", float64(wet.Spread()/units.SquareFootPerGallon), 189.583333333, exact, err, "computed")
	s, err := coverage.SpreadRate(5*units.Mil, 65*units.Percent)
	near(t, "per unthinned gallon", float64(s/units.SquareFootPerGallon), 208.541666667, exact, err, "computed")
	// A loss of 30 % divides by 0.70; it does not multiply by 1.30.
	lossless, _ := coverage.Need(100*units.SquareFoot, 10*units.Mil, 1, coverage.Loss{})
	lossy, err := coverage.Need(100*units.SquareFoot, 10*units.Mil, 1, coverage.Loss{Waste: 30 * units.Percent})
	near(t, "loss", float64(lossy/lossless), 1.42857142857, exact, err, "Corrosionpedia 'Practical coverage': 100 ft2/gal less 30 % is 70")
	net, err := coverage.Need(1250*units.SquareFoot, 16*units.Mil, 1, coverage.Loss{})
	near(t, "net", float64(net/units.Gallon), 12.4675324675, exact, err, "arithmetic")
	order, err := coverage.Need(1250*units.SquareFoot, 16*units.Mil, 1, coverage.Loss{Waste: 5 * units.Percent})
	near(t, "order", float64(order/units.Gallon), 13.1237183869, exact, err, "arithmetic")
	joint, err := coverage.Joint{Length: 100 * units.Foot, Width: units.Inch / 8, Depth: 1.5 * units.Inch}.Fill()
	near(t, "100 ft of 1/8 x 1-1/2 in", float64(joint/units.Gallon), 0.974025974026, exact, err, "geometry")
	joint, err = coverage.Joint{Length: 1 * units.Metre, Width: 5 * units.Millimetre, Depth: 20 * units.Millimetre}.Fill()
	near(t, "m/L", 1e-3/float64(joint), 10, exact, err, "1000/(mm x mm)")
	patch, err := coverage.Patch{Area: 1 * units.SquareFoot, Depth: units.Inch / 4}.Fill()
	near(t, "1 ft2 at 1/4 in", float64(units.CubicFoot/patch), 48, exact, err, "geometry: 1 ft3 covers 48 ft2 at 1/4 in")
}

func TestMixByMass(t *testing.T) {
	m := coverage.Mix{By: coverage.ByMass, Parts: []coverage.Part{{"A", 100, 9.2 * units.PoundPerGallon}, {"B", 44.0217391304, 8.1 * units.PoundPerGallon}}}
	d, err := m.Density()
	near(t, "density", float64(d/units.PoundPerGallon), 8.83333333333, 1e-9, err, "the mix is 2:1 by volume; mass balance")
	for _, bad := range []coverage.Mix{
		{},
		{By: 2, Parts: m.Parts},
		{Parts: []coverage.Part{{"A", 0, 1000}}},
		{Parts: []coverage.Part{{"A", math.NaN(), 1000}}},
		{Parts: []coverage.Part{{"A", 1, 0}}},
		{By: coverage.ByMass, Parts: []coverage.Part{{"A", 1e-322, 1000}}}, // its volume is 0 in float64
	} {
		if d, err := bad.Density(); err == nil || !math.IsNaN(float64(d)) {
			t.Errorf("%+v: density %v, %v; want NaN and an error", bad, float64(d), err)
		}
		if s, err := bad.Split(1); err == nil || s != nil {
			t.Errorf("%+v: split %v, %v; want an error", bad, s, err)
		}
	}
}

// Amounts below nothing are refused however wide the range above, and so are
// divisors so small that the quotient overflows.
func TestRefused(t *testing.T) {
	nan := math.NaN()
	for name, f := range map[string]func() (float64, error){
		"kits, volume": func() (float64, error) {
			n, err := coverage.Kits(-10*units.Gallon, 3*units.Gallon)
			return float64(n), err
		},
		"kits, mass": func() (float64, error) {
			n, err := coverage.Kits(-500*units.Pound, 50*units.Pound)
			return float64(n), err
		},
		"no kit":        func() (float64, error) { n, err := coverage.Kits[units.Mass](1, 0); return float64(n), err },
		"too many kits": func() (float64, error) { n, err := coverage.Kits[units.Mass](1, 1e-10); return float64(n), err },
		"batches": func() (float64, error) {
			_, v, err := coverage.Batches(-10*units.Gallon, 3*units.Gallon)
			return float64(v), err
		},
		"need, area": func() (float64, error) {
			v, err := coverage.Need(-0.05, 1e-3, 1, coverage.Loss{})
			return float64(v), err
		},
		"need, all waste": func() (float64, error) {
			v, err := coverage.Need(1, 1e-3, 1, coverage.Loss{Waste: 1})
			return float64(v), err
		},
		"need, uptake": func() (float64, error) {
			v, err := coverage.Need(1, 1e-3, 1, coverage.Loss{Uptake: -1e-6})
			return float64(v), err
		},
		"need, tiny solids": func() (float64, error) {
			v, err := coverage.Need(1, 1e-3, 1e-320, coverage.Loss{})
			return float64(v), err
		},
		"wet, tiny solids": func() (float64, error) { v, err := coverage.WetFilm(0, 1e-310, 0); return float64(v), err },
		"wet, NaN": func() (float64, error) {
			v, err := coverage.WetFilm(1e-4, units.Fraction(nan), 0)
			return float64(v), err
		},
		"dry, NaN":          func() (float64, error) { v, err := coverage.DryFilm(units.Length(nan), 1, 0); return float64(v), err },
		"spread, tiny film": func() (float64, error) { v, err := coverage.SpreadRate(1e-320, 1); return float64(v), err },
		"spread, no film":   func() (float64, error) { v, err := coverage.SpreadRate(0, 1); return float64(v), err },
		"residual":          func() (float64, error) { v, err := coverage.Residual(-1e-9, 0.5); return float64(v), err },
		"joint":             func() (float64, error) { v, err := coverage.Joint{-0.0005, 0.01, 0.01}.Fill(); return float64(v), err },
		"patch": func() (float64, error) {
			v, err := coverage.Patch{Area: -0.0005, Depth: 0.01}.Fill()
			return float64(v), err
		},
		"face": func() (float64, error) { v, err := coverage.CoveBase{1, 0.1, 0.2}.Face(); return float64(v), err },
		"floor lost": func() (float64, error) {
			v, err := coverage.CoveBase{-0.0005, 0.1, 0.02}.FloorLost()
			return float64(v), err
		},
		"fillet":         func() (float64, error) { v, err := coverage.CoveBase{1, 0.1, -0.02}.Fillet(); return float64(v), err },
		"batch, no rate": func() (float64, error) { v, err := coverage.LargestBatch(time.Hour, 0, 0, 1); return float64(v), err },
		"batch, mixing": func() (float64, error) {
			v, err := coverage.LargestBatch(time.Hour, -time.Millisecond, 1, 1)
			return float64(v), err
		},
		"batch, pot": func() (float64, error) {
			v, err := coverage.LargestBatch(time.Hour, time.Hour+1, 1, 1)
			return float64(v), err
		},
	} {
		if v, err := f(); !errors.Is(err, units.ErrRange) || !(math.IsNaN(v) || v == 0) {
			t.Errorf("%s: %v, %v; want a range error and NaN (no kits)", name, v, err)
		}
	}
	m := coverage.Mix{Parts: []coverage.Part{{"A", 1, 1000}}}
	if s, err := m.Split(-0.5); !errors.Is(err, units.ErrRange) || s != nil {
		t.Errorf("split of a negative volume: %v, %v; want a range error", s, err)
	}
	// One error for one bad argument: a bad height says nothing about the radius.
	_, err := coverage.CoveBase{Length: 1, Height: units.Length(nan), Radius: 0.01}.Face()
	if joined, ok := err.(interface{ Unwrap() []error }); !ok || len(joined.Unwrap()) != 1 {
		t.Errorf("height NaN: %v; want one error", err)
	}
	// Nothing at all is no error.
	if n, each, err := coverage.Batches(0, 1); n != 0 || each != 0 || err != nil {
		t.Errorf("no need: %d batches of %v, %v", n, each, err)
	}
	if v, err := coverage.Need(0, 0, 1, coverage.Loss{}); v != 0 || err != nil {
		t.Errorf("no floor: %v, %v", v, err)
	}
}

func TestSplitsAndBatches(t *testing.T) { // shares and batches add up; a batch fits the pot
	rapid.Check(t, func(t *rapid.T) {
		m := coverage.Mix{By: coverage.Basis(rapid.IntRange(0, 1).Draw(t, "basis"))}
		for i := range rapid.IntRange(1, 4).Draw(t, "parts") {
			m.Parts = append(m.Parts, coverage.Part{Name: fmt.Sprint(i), Ratio: rapid.Float64Range(0.01, 100).Draw(t, "ratio"),
				Density: units.Density(rapid.Float64Range(700, 5000).Draw(t, "density"))})
		}
		total := units.Volume(rapid.Float64Range(1e-4, 10).Draw(t, "total"))
		shares, err1 := m.Split(total)
		density, err2 := m.Density()
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		var v units.Volume
		var kg units.Mass
		for i, s := range shares {
			v, kg = v+s.Volume, kg+s.Mass
			a, b := float64(s.Volume), float64(shares[0].Volume)
			if m.By == coverage.ByMass {
				a, b = float64(s.Mass), float64(shares[0].Mass)
			}
			if want := m.Parts[i].Ratio / m.Parts[0].Ratio; math.Abs(a/b-want) > 1e-12*want {
				t.Fatalf("part %d: ratio %v, want %v", i, a/b, want)
			}
		}
		if math.Abs(float64(v-total)) > 1e-12*float64(total) || math.Abs(float64(kg-total.Mass(density))) > 1e-12*float64(kg) {
			t.Fatalf("shares %v, %v of %v, %v", v, kg, total, total.Mass(density))
		}
		largest := units.Volume(rapid.Float64Range(1e-4, 1).Draw(t, "largest"))
		n, each, err := coverage.Batches(total, largest)
		if err != nil || n < 1 || each > largest*(1+2e-9) || math.Abs(float64(units.Volume(n)*each-total)) > 1e-12*float64(total) {
			t.Fatalf("%d batches of %v for %v, at most %v each, %v", n, each, total, largest, err)
		}
		if n > 1 && total <= largest*units.Volume(n-1) {
			t.Fatalf("%d batches where %d do", n, n-1)
		}
	})
}

func TestFilmRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		dry := units.Length(rapid.Float64Range(0, 0.01).Draw(t, "dry"))
		solids, thinner := units.Fraction(rapid.Float64Range(0.05, 1).Draw(t, "solids")), units.Fraction(rapid.Float64Range(0, 1).Draw(t, "thinner"))
		wet, err1 := coverage.WetFilm(dry, solids, thinner)
		back, err2 := coverage.DryFilm(wet, solids, thinner)
		if err1 != nil || err2 != nil || wet < dry || math.Abs(float64(back-dry)) > 1e-15+1e-12*float64(dry) {
			t.Fatalf("%v wet %v dry %v (%v, %v)", dry, wet, back, err1, err2)
		}
		// A crown adds at least half its height over the area, a flat cap just that.
		p := coverage.Patch{Area: units.Area(rapid.Float64Range(1e-3, 10).Draw(t, "area")), Depth: 0.01, Crown: units.Length(rapid.Float64Range(0, 0.02).Draw(t, "crown"))}
		v, err := p.Fill()
		if least := (p.Depth + p.Crown/2).Over(p.Area); err != nil || v < least*(1-1e-12) {
			t.Fatalf("%+v: %v, %v; want at least %v", p, v, err, least)
		}
	})
}

func BenchmarkFormulas(b *testing.B) {
	mix := coverage.Mix{Parts: []coverage.Part{{"A", 2, 1100}, {"B", 1, 970}}}
	for name, f := range map[string]func(){
		"WetFilm":      func() { coverage.WetFilm(1e-4, 0.6, 0.1) },
		"Patch":        func() { coverage.Patch{1, 0.01, 0.001}.Fill() },
		"Face":         func() { coverage.CoveBase{10, 0.1, 0.02}.Face() },
		"Kits":         func() { coverage.Kits[units.Volume](0.05, 0.01) },
		"LargestBatch": func() { coverage.LargestBatch(time.Hour, time.Minute, 0.01, 1e-3) },
		"Density":      func() { mix.Density() },
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs() // 0 allocs/op
			for b.Loop() {
				f()
			}
		})
	}
}
