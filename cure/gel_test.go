package cure_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
)

func ExampleGel_Point() {
	diamine := cure.Gel{Amine: 4, Epoxide: 2}
	for _, ratio := range []units.Fraction{1, 1.25} { // 1.25: a quarter too much hardener
		epoxide, amine, err := diamine.Point(ratio)
		fmt.Printf("%.1f %% of the epoxide, %.1f %% of the amine %v\n", 100*epoxide, 100*amine, err)
	}
	// Output:
	// 57.7 % of the epoxide, 57.7 % of the amine <nil>
	// 64.5 % of the epoxide, 51.6 % of the amine <nil>
}

func TestGelPoint(t *testing.T) {
	const exact, printed = 1e-9, 1e-6 // the digits given
	for _, tc := range []struct {
		amine, epoxide, ratio, e, a, tol float64
		src                              string
	}{
		{4, 2, 1, 0.577350269, 0.577350269, exact, "Flory-Stockmayer 1/sqrt(3), cure-notes.md 2.2"},
		{5, 2, 1, 0.5, 0.5, exact, "five hydrogens"},
		{2, 3, 1, 0.707106781, 0.707106781, exact, "isocyanate trimer and a bis-aspartate"},
		{4, 2, 0.8, 0.516398, 0.645497, printed, "off the ratio, cure-notes.md 2.2"},
		{4, 2, 1.1, 0.605530, 0.550482, printed, "off the ratio"},
		{4, 2, 1.25, 0.645497, 0.516398, printed, "off the ratio"},
	} {
		e, a, err := cure.Gel{Amine: tc.amine, Epoxide: tc.epoxide}.Point(units.Fraction(tc.ratio))
		if err != nil || math.Abs(float64(e)-tc.e) > tc.tol || math.Abs(float64(a)-tc.a) > tc.tol {
			t.Errorf("%g %g at %g: got %.9f %.9f, %v; want %.9f %.9f (%s)", tc.amine, tc.epoxide, tc.ratio, e, a, err, tc.e, tc.a, tc.src)
		}
	}
}

// At the limits one part is used up exactly at the gel point; beyond, never.
func TestGelRatios(t *testing.T) {
	g := cure.Gel{Amine: 4, Epoxide: 2}
	least, most, err := g.Ratios()
	if err != nil || math.Abs(float64(least)-1./3) > 1e-15 || most != 3 {
		t.Errorf("got %g to %g, %v; want 1/3 to 3", least, most, err)
	}
	for _, r := range []units.Fraction{least * (1 - 1e-9), most * (1 + 1e-9)} {
		if e, a, err := g.Point(r); !errors.Is(err, cure.ErrNotReached) || !math.IsNaN(float64(e)) || !math.IsNaN(float64(a)) {
			t.Errorf("at %g: got %g %g, %v", r, e, a, err)
		}
	}
	if e, a, err := g.Point(most * (1 - 1e-9)); err != nil || math.Abs(float64(e)-1) > 1e-8 || math.Abs(float64(a)-1./3) > 1e-8 {
		t.Errorf("got %g %g, %v", e, a, err)
	}
	if _, _, err := (cure.Gel{Amine: 1, Epoxide: 2}).Ratios(); !errors.Is(err, cure.ErrNotReached) {
		t.Errorf("chains: got %v", err)
	}
	if _, _, err := (cure.Gel{Amine: 1, Epoxide: 2}).Point(1); !errors.Is(err, cure.ErrNotReached) {
		t.Errorf("chains: got %v", err)
	}
	for _, bad := range []cure.Gel{{}, {4, math.NaN()}, {math.Inf(1), 2}} {
		if _, _, err := bad.Point(1); !errors.Is(err, units.ErrRange) {
			t.Errorf("%v: got %v", bad, err)
		}
		if _, _, err := bad.Ratios(); !errors.Is(err, units.ErrRange) {
			t.Errorf("%v: got %v", bad, err)
		}
	}
	if _, _, err := g.Point(units.Fraction(math.NaN())); !errors.Is(err, units.ErrRange) {
		t.Errorf("NaN: got %v", err)
	}
}

// More groups gel sooner; parts may change sides; both conversions consume the same.
func TestGelProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, g := rapid.Float64Range(2, 8).Draw(t, "f"), rapid.Float64Range(2.2, 8).Draw(t, "g")
		r := rapid.Float64Range(0.85, 1.17).Draw(t, "ratio")
		e, a, err := cure.Gel{Amine: f, Epoxide: g}.Point(units.Fraction(r))
		a2, e2, err2 := cure.Gel{Amine: g, Epoxide: f}.Point(units.Fraction(1 / r))
		e3, _, err3 := cure.Gel{Amine: f + 1, Epoxide: g}.Point(units.Fraction(r))
		if err != nil || err2 != nil || err3 != nil {
			t.Fatal(err, err2, err3)
		}
		if math.Abs(float64(e-e2)) > 1e-14 || math.Abs(float64(a-a2)) > 1e-14 || math.Abs(float64(e)-r*float64(a)) > 1e-14 || e3 >= e {
			t.Fatalf("%g %g, sides changed %g %g, more groups %g", e, a, e2, a2, e3)
		}
	})
}

// cure-notes.md section 2.5: K3 gels 2.25602 times as late at 10 °C as at 20 °C (5
// decimals); one activation energy of 55 or 60 kJ/mol says 2.218727 or 2.385436.
func TestGelTimes(t *testing.T) {
	gel := units.Fraction(1 / math.Sqrt(3))
	a, err1 := kineticSets["K3"].TimeTo(kineticTrace("iso10"), gel)
	b, err2 := kineticSets["K3"].TimeTo(kineticTrace("iso20"), gel)
	if got := a.Hours() / b.Hours(); err1 != nil || err2 != nil || math.Abs(got-2.25602) > 1e-5 {
		t.Errorf("got %.6f, %v %v; want 2.25602", got, err1, err2)
	}
}
