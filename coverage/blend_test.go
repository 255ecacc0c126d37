package coverage_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

func ExampleMix_With() {
	// 10 % of thinner by volume into a 2:1 mix, then five of sand to one by mass.
	mix := coverage.Mix{Parts: []coverage.Part{{"A", 2, 1100}, {"B", 1, 970}}}
	thinned, err := mix.With(coverage.Part{Name: "thinner", Ratio: 0.1, Density: 870}, coverage.ByVolume)
	if err != nil {
		fmt.Println(err)
		return
	}
	mortar, err := thinned.With(coverage.Part{Name: "sand", Ratio: 5, Density: 2650}, coverage.ByMass)
	if err != nil {
		fmt.Println(err)
		return
	}
	shares, err := mortar.Split(10 * units.Litre)
	for _, s := range shares {
		fmt.Printf("%s %.2f L %.2f kg\n", s.Name, float64(s.Volume/units.Litre), float64(s.Mass))
	}
	fmt.Println(err)
	// Output:
	// A 2.05 L 2.25 kg
	// B 1.02 L 0.99 kg
	// thinner 0.31 L 0.27 kg
	// sand 6.62 L 17.55 kg
	// <nil>
}

func ExamplePatch_Fill() {
	// A hollow of 3.5 ft2 and 3/4 in, left 1/16 in proud, of 5:1 mortar: resin, sand, and what grinding takes off.
	p := coverage.Patch{Area: 3.5 * units.SquareFoot, Depth: 0.75 * units.Inch, Crown: 0.0625 * units.Inch}
	fill, err1 := p.Fill()
	ground, err2 := p.Ground()
	mortar, err3 := coverage.Mix{Parts: []coverage.Part{{"resin", 1, 1100}}}.With(coverage.Part{Name: "sand", Ratio: 5, Density: 2650}, coverage.ByMass)
	s, err4 := mortar.Split(fill)
	if err := errors.Join(err1, err2, err3, err4); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(units.Format(s[0].Volume, units.US), units.Format(s[1].Mass, units.US), units.Format(ground, units.US))
	// Output: 0.554 gal 25.4 lb 8.73 fl oz
}

// A mortar of 5:1 by weight, sand 2.65 and resin 1.10: 133.97 lb/ft3 and
// 3.0755 gal per gal of resin; 3:1, 4:1, 7:1 likewise. Computed by volume
// balance; the first lies in the range of UFGS 03930. Five digits are given.
func TestMortar(t *testing.T) {
	for _, tc := range []struct{ ratio, lbft3, yield, sand float64 }{{5, 133.97, 3.0755, .67485}, {3, 122.34, 2.2453, .55462}, {4, 129.06, 2.6604, .62411}, {7, 140.66, 3.9057, .74396}} {
		resin := coverage.Mix{Parts: []coverage.Part{{"resin", 1, 1100}}}
		m, err := resin.With(coverage.Part{Name: "sand", Ratio: tc.ratio, Density: 2650}, coverage.ByMass)
		near(t, "With", 1, 1, 0, err, "no error")
		d, err := m.Density()
		near(t, "density", float64(d/units.PoundPerCubicFoot), tc.lbft3, 5e-5, err, "volume balance, 5 digits")
		y, err := m.Yield()
		near(t, "yield", y, tc.yield, 5e-5, err, "volume balance, 5 digits")
		s, err := m.Split(1)
		near(t, "sand", float64(s[1].Volume), tc.sand, 5e-5, err, "volume balance, 5 digits")
		m.Air = 0.05 // air takes its share of the volume and has no mass
		airy, err := m.Density()
		near(t, "with air", float64(airy/d), 0.95, 1e-12, err, "by hand")
		y, err = m.Yield()
		near(t, "yield with air", y, tc.yield/0.95, 5e-5, err, "by hand")
	}
}

func drawMix(t *rapid.T) coverage.Mix {
	m := coverage.Mix{By: coverage.Basis(rapid.IntRange(0, 1).Draw(t, "basis")), Air: units.Fraction(rapid.Float64Range(0, 0.5).Draw(t, "air"))}
	for i := range rapid.IntRange(1, 4).Draw(t, "parts") {
		m.Parts = append(m.Parts, coverage.Part{Name: fmt.Sprint(i), Ratio: rapid.Float64Range(0.01, 100).Draw(t, "ratio"),
			Density: units.Density(rapid.Float64Range(700, 5000).Draw(t, "density"))})
	}
	return m
}

func TestMixBalance(t *testing.T) { // volume and mass are conserved however a part is stated
	rapid.Check(t, func(t *rapid.T) {
		m := drawMix(t)
		part := coverage.Part{Name: "more", Ratio: rapid.Float64Range(0.01, 10).Draw(t, "more"), Density: units.Density(rapid.Float64Range(700, 5000).Draw(t, "its density"))}
		by := coverage.Basis(rapid.IntRange(0, 1).Draw(t, "stated"))
		with, err1 := m.With(part, by)
		shares, err2 := with.Split(1)
		d, err3 := with.Density()
		if err := errors.Join(err1, err2, err3); err != nil {
			t.Fatal(err)
		}
		var v units.Volume
		var kg units.Mass
		for _, s := range shares {
			v, kg = v+s.Volume, kg+s.Mass
		}
		last := shares[len(shares)-1]
		ratio := float64(last.Volume / (v - last.Volume))
		if by == coverage.ByMass {
			ratio = float64(last.Mass / (kg - last.Mass))
		}
		if math.Abs(float64(v)+float64(m.Air)-1) > 1e-12 || math.Abs(float64(kg)-float64(d)) > 1e-12*float64(d) || math.Abs(ratio/part.Ratio-1) > 1e-10 {
			t.Fatalf("volume %v and air %v, mass %v of density %v, ratio %v for %v", v, m.Air, kg, d, ratio, part.Ratio)
		}
		phr, err := m.PerHundred()
		if err != nil || math.Abs(phr[0]-100) > 1e-12 {
			t.Fatal(phr, err)
		}
		again := coverage.Mix{By: coverage.ByMass, Air: m.Air}
		for i, p := range m.Parts {
			again.Parts = append(again.Parts, coverage.Part{Name: p.Name, Ratio: phr[i] / 100, Density: p.Density})
		}
		a, err1 := m.Density()
		b, err2 := again.Density()
		if err1 != nil || err2 != nil || math.Abs(float64(a-b)) > 1e-12*float64(a) {
			t.Fatalf("by phr %v, else %v (%v, %v)", b, a, err1, err2)
		}
	})
}

func TestBlendRefuses(t *testing.T) {
	m := twoToOne()
	nan := math.NaN()
	for name, bad := range map[string]coverage.Part{"none": {"x", 0, 1000}, "NaN": {"x", nan, 1000}, "no density": {"x", 1, 0}} {
		if got, err := m.With(bad, coverage.ByMass); err == nil || got.Parts != nil {
			t.Errorf("%s: %+v, %v; want an error", name, got, err)
		}
	}
	if got, err := m.With(coverage.Part{Name: "x", Ratio: 1, Density: 1000}, 7); err == nil || got.Parts != nil {
		t.Errorf("no basis: %+v, %v; want an error", got, err)
	}
	if got, err := m.With(coverage.Part{Name: "x", Ratio: 1e6, Density: 1000}, coverage.ByVolume); !errors.Is(err, units.ErrRange) || got.Parts != nil { // 3e6 in the ratio
		t.Errorf("extreme part: %+v, %v; want a range error", got, err)
	}
	m.Air = 0.6
	refused(t, "air, density", m.Density)
	refused(t, "air, yield", m.Yield)
	if got, err := m.PerHundred(); !errors.Is(err, units.ErrRange) || got != nil {
		t.Errorf("air: %v, %v; want a range error", got, err)
	}
	m.Air = 0
	for name, contents := range map[string][]units.Density{"too few": {1}, "negative": {1, -1}, "NaN": {1, units.Density(nan)}} {
		refused(t, name, func() (units.Mass, error) { v, err := m.Volatiles(1, contents); return v.Organic, err })
	}
}

func TestRatiosRefuse(t *testing.T) {
	nan := math.NaN()
	for name, f := range map[string]func() (float64, error){
		"blend, nothing":     func() (float64, error) { return coverage.BlendEquivalent(nil) },
		"blend, inert":       func() (float64, error) { return coverage.BlendEquivalent([]coverage.Reactive{{10, 0}}) },
		"blend, parts":       func() (float64, error) { return coverage.BlendEquivalent([]coverage.Reactive{{10, 200}, {-1, 0}}) },
		"blend, equivalent":  func() (float64, error) { return coverage.BlendEquivalent([]coverage.Reactive{{10, 0.2}}) },
		"amine, none active": func() (float64, error) { return coverage.AmineEquivalent(103, 0) },
		"amine, kg":          func() (float64, error) { return coverage.AmineEquivalent(0.103, 5) },
		"hardener":           func() (float64, error) { return coverage.HardenerPerHundred(nan, 200) },
		"resin":              func() (float64, error) { return coverage.HardenerPerHundred(20, 0) },
		"nco":                func() (float64, error) { return coverage.IsocyanateEquivalent(21.8) },
		"oh":                 func() (float64, error) { return coverage.PolyolEquivalent(0) },
		"index":              func() (float64, error) { return coverage.IsocyanatePerHundred(190, 400, 105) },
		"polyol":             func() (float64, error) { return coverage.IsocyanatePerHundred(190, nan, 1) },
	} {
		refused(t, name, f)
	}
}
