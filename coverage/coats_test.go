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

func ExampleLayers() {
	on := coverage.Surface{Profile: 2 * units.Mil, Uptake: 3 * units.Mil} // ground concrete
	needs, err := coverage.Layers(1250*units.SquareFoot, on, []coverage.Coat{
		{Name: "primer", Dry: 4 * units.Mil, Solids: 1, Seals: 0.9},
		{Name: "body", Dry: 16 * units.Mil, Solids: 1},
	})
	for i, name := range []string{"primer", "body"} {
		n := needs[i]
		fmt.Printf("%s: pores %s, %s; built %s\n", name, units.Format(n.Uptake, units.US), units.Format(n.Order, units.US), units.Format(n.Built, units.US))
	}
	fmt.Println(err)
	// Output:
	// primer: pores 3 mil, 7.01 gal; built 4 mil
	// body: pores 0.3 mil, 12.7 gal; built 20 mil
	// <nil>
}

func drawCoats(t *rapid.T) []coverage.Coat {
	var coats []coverage.Coat
	for i := range rapid.IntRange(1, 5).Draw(t, "coats") {
		f := func(lo, hi float64, name string) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		coats = append(coats, coverage.Coat{Name: fmt.Sprint(i), Dry: units.Length(f(0, 2e-3, "dry")), Solids: units.Fraction(f(0.05, 1, "solids")), Thinner: units.Fraction(f(0, 0.5, "thinner")),
			Seals: units.Fraction(f(0, 1, "seals")), Crust: units.Length(f(0, 1e-3, "crust")), Waste: units.Fraction(f(0, 0.5, "waste"))})
	}
	return coats
}

func TestLayersBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coats := drawCoats(t)
		area := units.Area(rapid.Float64Range(0.1, 1e4).Draw(t, "area"))
		on := coverage.Surface{Profile: units.Length(rapid.Float64Range(0, 1e-3).Draw(t, "profile")), Uptake: units.Length(rapid.Float64Range(0, 1e-3).Draw(t, "uptake"))}
		needs, err := coverage.Layers(area, on, coats)
		if err != nil || len(needs) != len(coats) {
			t.Fatal(needs, err)
		}
		found := on
		var built, texture, solid units.Length
		texture = on.Profile
		for i, n := range needs {
			c := coats[i]
			if n.On != found || n.Uptake > found.Uptake*(1+1e-12) || n.Leaves.Uptake > found.Uptake || math.Abs(float64(n.Leaves.Uptake-found.Uptake*units.Length(1-c.Seals))) > 1e-15 {
				t.Fatalf("coat %d found %+v, want %+v: %+v", i, n.On, found, n)
			}
			// One coat on what it found is Need, of liquid before thinning; the wet film is WetFilm.
			need, err1 := coverage.Need(area, c.Dry, c.Solids, coverage.Loss{Waste: c.Waste, Profile: n.Profile, Uptake: n.Uptake})
			wet, err2 := coverage.WetFilm(c.Dry, c.Solids, c.Thinner)
			if err1 != nil || err2 != nil || math.Abs(float64(n.Order-need)) > 1e-12*float64(need) || math.Abs(float64(n.Wet-wet)) > 1e-12*float64(wet) {
				t.Fatalf("coat %d orders %v, Need %v; wet %v, %v", i, n.Order, need, n.Wet, wet)
			}
			built += c.Dry
			solid += (n.PerArea - n.Uptake) * units.Length(c.Solids) // solids that stay above the pores
			texture += c.Crust
			found = n.Leaves
		}
		// Solids are the film and the texture filled: what was open less what still is.
		if filled := texture - found.Profile; math.Abs(float64(solid-built-filled)) > 1e-12*float64(solid+texture+on.Uptake) { // the pores were taken off a sum
			t.Fatalf("%v of solids, %v of film and %v of texture", solid, built, filled)
		}
		if n := needs[len(needs)-1]; math.Abs(float64(n.Built-built)) > 1e-12*float64(built) {
			t.Fatalf("built %v, want %v", n.Built, built)
		}
		// A better seal below never needs more above.
		coats[0].Seals = 1
		sealed, err := coverage.Layers(area, on, coats)
		for i := range sealed {
			if err != nil || sealed[i].Order > needs[i].Order*(1+1e-12) {
				t.Fatalf("sealed %v, less sealed %v (%v)", sealed[i].Order, needs[i].Order, err)
			}
		}
	})
}

func TestLayersRefuses(t *testing.T) {
	ok := []coverage.Coat{{Dry: 1e-4, Solids: 1}}
	for name, tc := range map[string]struct {
		area  units.Area
		on    coverage.Surface
		coats []coverage.Coat
	}{
		"area": {0, coverage.Surface{}, ok}, "profile": {1, coverage.Surface{Profile: -1}, ok}, "uptake": {1, coverage.Surface{Uptake: units.Length(math.NaN())}, ok}, "no coats": {1, coverage.Surface{}, nil},
		"solids": {1, coverage.Surface{}, []coverage.Coat{{Dry: 1e-4}}}, "seals": {1, coverage.Surface{}, []coverage.Coat{{Solids: 1, Seals: 90}}},
		"crust": {1, coverage.Surface{}, []coverage.Coat{{Solids: 1, Crust: -1}}}, "waste": {1, coverage.Surface{}, []coverage.Coat{{Solids: 1, Waste: 1}}},
	} {
		if n, err := coverage.Layers(tc.area, tc.on, tc.coats); !errors.Is(err, units.ErrRange) || n != nil {
			t.Errorf("%s: %+v, %v; want a range error", name, n, err)
		}
	}
	if n, err := coverage.Layers(1, coverage.Surface{}, []coverage.Coat{{Solids: 1}}); err != nil || n[0].Order != 0 || n[0].Spread != 0 {
		t.Errorf("a coat of nothing: %+v, %v", n, err)
	}
}

func TestTelegraph(t *testing.T) {
	const mil = units.Mil
	primer, body, seal := coverage.Coat{Dry: 4 * mil, Solids: 0.5}, coverage.Coat{Dry: 16 * mil, Solids: 1}, coverage.Coat{Dry: 3 * mil, Solids: 0.6, Thinner: 0.2}
	for _, tc := range []struct {
		what    string
		scratch float64
		coats   []coverage.Coat
		want    []coverage.Mark
	}{
		{"8 mil wet floods 7 and leaves half; 16 mil of 100 % solids leaves none", 7, []coverage.Coat{primer, body}, []coverage.Mark{{3.5 * mil, true, true}, {0, true, false}}},
		{"8 mil wet does not flood 10; the body floods all of it", 10, []coverage.Coat{primer, body}, []coverage.Mark{{5 * mil, false, true}, {0, true, false}}},
		{"6 mil wet of 50 % in 3 leaves half of it", 3, []coverage.Coat{seal}, []coverage.Mark{{1.5 * mil, true, true}}},
		{"6 mil wet in 20, twice: it may still be there", 20, []coverage.Coat{seal, seal}, []coverage.Mark{{10 * mil, false, true}, {5 * mil, false, true}}},
		{"0.5 mil is forgiven", 1, []coverage.Coat{seal}, []coverage.Mark{{0.5 * mil, true, false}}},
	} {
		marks, err := coverage.Telegraph(units.Length(tc.scratch)*mil, 0.5*mil, tc.coats)
		for i, m := range marks {
			w := tc.want[i]
			if math.Abs(float64(m.Relief-w.Relief)) > 1e-15 || m.Flooded != w.Flooded || m.Shows != w.Shows {
				t.Errorf("%s: coat %d %+v, want %+v (by hand)", tc.what, i+1, m, w)
			}
		}
		if err != nil || len(marks) != len(tc.want) {
			t.Errorf("%s: %v, %v", tc.what, marks, err)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		coats := drawCoats(t)
		scratch := units.Length(rapid.Float64Range(0, 1e-3).Draw(t, "scratch"))
		marks, err := coverage.Telegraph(scratch, 1e-5, coats)
		relief := scratch
		for i, m := range marks {
			if coats[i].Thinner == 0 { // each step is Residual
				want, err := coverage.Residual(relief, coats[i].Solids)
				if err != nil || math.Abs(float64(m.Relief-want)) > 1e-15 {
					t.Fatalf("coat %d leaves %v, Residual %v, %v", i, m.Relief, want, err)
				}
			}
			if m.Relief > relief || m.Relief > 1e-5*(1+1e-9) && !m.Shows {
				t.Fatalf("coat %d: %+v after %v", i, m, relief)
			}
			relief = m.Relief
			deep, err := coverage.FloodingFilm(scratch, coats[i].Solids, coats[i].Thinner)
			if err != nil || coats[i].Dry > deep*(1+1e-9) && !m.Flooded { // what floods the first depth floods what is left
				t.Fatalf("coat %d of %v is not said to flood %v: %+v, %v", i, coats[i].Dry, scratch, m, err)
			}
		}
		if err != nil {
			t.Fatal(err)
		}
	})
	for name, f := range map[string]func() ([]coverage.Mark, error){
		"scratch": func() ([]coverage.Mark, error) { return coverage.Telegraph(-1, 0, []coverage.Coat{body}) },
		"allowed": func() ([]coverage.Mark, error) {
			return coverage.Telegraph(0, units.Length(math.NaN()), []coverage.Coat{body})
		},
		"no coats": func() ([]coverage.Mark, error) { return coverage.Telegraph(0, 0, nil) },
		"solids":   func() ([]coverage.Mark, error) { return coverage.Telegraph(0, 0, []coverage.Coat{{Solids: 60}}) },
	} {
		if m, err := f(); !errors.Is(err, units.ErrRange) || m != nil {
			t.Errorf("%s: %v, %v; want a range error", name, m, err)
		}
	}
	refused(t, "flooding", func() (units.Length, error) { return coverage.FloodingFilm(-1, 1, 0) })
}
