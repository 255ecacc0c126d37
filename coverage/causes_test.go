package coverage_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/approx"
)

func ExampleCauses_Tell() {
	c := coverage.Causes{Profile: 2 * units.Mil, Tools: 1 * units.Quart, Batch: 3 * units.Gallon, Residue: 4 * units.FluidOunce, Waste: 5 * units.Percent}
	t, err := c.Tell(1250*units.SquareFoot, 16*units.Mil, 100*units.Percent)
	gal := func(v units.Volume) float64 { return float64(v / units.Gallon) }
	fmt.Printf("film %.2f, profile %.2f, tools %.2f, %d buckets %.2f, waste %.2f: %.2f gal, %v\n",
		gal(t.Film), gal(t.Profile), gal(t.Tools), t.Batches, gal(t.Residue), gal(t.Waste), gal(t.Total), err)
	// Output: film 12.47, profile 1.56, tools 0.25, 6 buckets 0.19, waste 0.76: 15.22 gal, <nil>
}

func drawCauses(t *rapid.T) coverage.Causes {
	f := func(hi float64, name string) float64 { return rapid.Float64Range(0, hi).Draw(t, name) }
	c := coverage.Causes{Profile: units.Length(f(1e-3, "profile")), Uptake: units.Length(f(1e-3, "uptake")), Texture: units.Length(f(1e-3, "texture")),
		Edge: units.Length(f(200, "edge")), EdgeWidth: units.Length(f(0.2, "edge width")), EdgeExtra: units.Length(f(1e-3, "edge extra")),
		Faces: units.Area(f(20, "faces")), FaceFilm: units.Length(f(1e-3, "face film")), Tools: units.Volume(f(0.01, "tools")), Waste: units.Fraction(f(0.9, "waste"))}
	if rapid.Bool().Draw(t, "batches") {
		c.Batch = units.Volume(rapid.Float64Range(0.001, 0.1).Draw(t, "batch"))
		c.Residue = c.Batch * units.Volume(1-c.Waste) * units.Volume(f(0.9, "residue"))
	}
	return c
}

func TestCausesBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCauses(t)
		area, dry, solids := units.Area(rapid.Float64Range(0.1, 1e3).Draw(t, "area")), units.Length(rapid.Float64Range(1e-6, 0.01).Draw(t, "dry")), units.Fraction(rapid.Float64Range(0.05, 1).Draw(t, "solids"))
		tell, err := c.Tell(area, dry, solids)
		if err != nil {
			t.Fatal(err)
		}
		sum := tell.Film + tell.Profile + tell.Uptake + tell.Texture + tell.Edges + tell.Faces + tell.Tools + tell.Residue + tell.Waste
		if math.Abs(float64(sum-tell.Total)) > 1e-12*float64(sum) {
			t.Fatalf("%v by cause, %v in all", sum, tell.Total)
		}
		if c.Batch > 0 {
			if least := tell.Total * (1 - 2e-9); units.Volume(tell.Batches)*c.Batch < least {
				t.Fatalf("%d batches do not hold %v", tell.Batches, tell.Total)
			}
			kept := units.Volume(1 - c.Waste)
			if n := units.Volume(tell.Batches - 1); n > 0 && n*c.Batch*kept >= (tell.Total-tell.Waste-tell.Residue+n*c.Residue)*(1+1e-9) {
				t.Fatalf("%d batches where one fewer lays it all", tell.Batches)
			}
		} else if tell.Batches != 1 {
			t.Fatalf("%d batches of one", tell.Batches)
		}
		// Without edges, faces, tools and buckets it is Need.
		c.Edge, c.Faces, c.Tools, c.Batch, c.Residue = 0, 0, 0, 0, 0
		short, err1 := c.Tell(area, dry, solids)
		need, err2 := coverage.Need(area, dry, solids, coverage.Loss{Waste: c.Waste, Profile: c.Profile, Uptake: c.Uptake + c.Texture})
		if err1 != nil || err2 != nil || math.Abs(float64(short.Total-need)) > 1e-12*float64(need) || short.Total > tell.Total*(1+1e-12) {
			t.Fatalf("%v, Need %v, with the rest %v (%v, %v)", short.Total, need, tell.Total, err1, err2)
		}
	})
	if tell, err := (coverage.Causes{Tools: 1, Residue: 1}).Tell(0, 1e-3, 1); err != nil || tell != (coverage.Tally{}) {
		t.Errorf("no floor: %+v, %v; want nothing, and dry tools", tell, err)
	}
	// By hand: 1 m2 at 1 mm of 50 %: 2 L; edges 10 m x 0.1 m x 0.1 mm: 0.1 L; faces 0.5 m2 at 0.2 mm of 50 %: 0.2 L.
	tell, err := coverage.Causes{Edge: 10, EdgeWidth: 0.1, EdgeExtra: 1e-4, Faces: 0.5, FaceFilm: 2e-4}.Tell(1, 1e-3, 0.5)
	near(t, "edges", float64(tell.Edges/units.Litre), 0.1, 1e-12, err, "by hand")
	near(t, "faces", float64(tell.Faces/units.Litre), 0.2, 1e-12, err, "by hand")
	near(t, "total", float64(tell.Total/units.Litre), 2.3, 1e-12, err, "by hand")
	nan := math.NaN()
	for name, bad := range map[string]coverage.Causes{
		"profile": {Profile: -1e-9}, "uptake": {Uptake: units.Length(nan)}, "texture": {Texture: 1}, "edge": {Edge: -1}, "width": {EdgeWidth: 2}, "extra": {EdgeExtra: -1},
		"faces": {Faces: -1}, "face film": {FaceFilm: 2}, "tools": {Tools: -1}, "batch": {Batch: -1}, "waste": {Waste: 1}, "residue": {Residue: -1},
		"bucket keeps all": {Batch: 1, Residue: 0.95, Waste: 0.05}, "too many": {Batch: 1e-12},
	} {
		tell, err := bad.Tell(10, 1e-3, 1)
		if !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(tell.Total)) || !math.IsNaN(float64(tell.Film)) || tell.Batches != 0 {
			t.Errorf("%s: %+v, %v; want a range error and NaN", name, tell, err)
		}
	}
	refused(t, "area", func() (units.Volume, error) { tell, err := coverage.Causes{}.Tell(-1, 1e-3, 1); return tell.Total, err })
	refused(t, "solids", func() (units.Volume, error) { tell, err := coverage.Causes{}.Tell(1, 1e-3, 0); return tell.Total, err })
}

// A job typed in US units and the same in SI agree to 1e-12.
func TestUnitsAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ft2, mil := rapid.Float64Range(1, 1e5).Draw(t, "ft2"), rapid.Float64Range(1, 200).Draw(t, "mil")
		us, err1 := coverage.Causes{Profile: 2 * units.Mil, Batch: 3 * units.Gallon, Residue: 1 * units.Pint, Waste: 5 * units.Percent}.Tell(units.Area(ft2)*units.SquareFoot, units.Length(mil)*units.Mil, 60*units.Percent)
		si, err2 := coverage.Causes{Profile: 50.8 * units.Micrometre, Batch: 3 * 3.785411784 * units.Litre, Residue: 0.473176473 * units.Litre, Waste: 0.05}.Tell(units.Area(ft2*0.09290304), units.Length(mil*25.4)*units.Micrometre, 0.6)
		if err1 != nil || err2 != nil || !cmp.Equal(us, si, approx.Quantity[units.Volume](0, 1e-12)) {
			t.Fatalf("%v (%v, %v)", cmp.Diff(us, si), err1, err2)
		}
	})
}
