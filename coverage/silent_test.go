package coverage_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// Whatever comes in, nothing panics, and a result without an error is a number
// from nothing up: no NaN, no infinity, no negative amount.
func TestNeverSilent(t *testing.T) {
	nasty := []float64{0, math.Copysign(0, -1), 5e-324, 1e-310, 1e-160, 1e-100, 1e-12, 1e-6, 1e-3, 0.5, 0.95, 1 - 1e-16, 1, 1 + 1e-10, 1 + 1e-9, 2, 3, 5, 20, 100, 1000, 2e4, 1e6, 1e8, 1e9, 1e12, 1e160, 1e300, math.MaxFloat64,
		-5e-324, -1e-12, -1, math.Inf(1), math.Inf(-1), math.NaN()}
	rapid.Check(t, func(t *rapid.T) {
		f := func() float64 {
			if rapid.Bool().Draw(t, "nasty") {
				return rapid.SampledFrom(nasty).Draw(t, "value")
			}
			return rapid.Float64Range(0, 2).Draw(t, "value")
		}
		l := func() units.Length { return units.Length(f()) }
		s := func() units.Fraction { return units.Fraction(f()) }
		n := func() int { return rapid.IntRange(-2, 12).Draw(t, "n") }
		check := func(what string, err error, v ...float64) {
			for _, x := range v {
				if err == nil && !(x >= 0 && x <= math.MaxFloat64) {
					t.Fatalf("%s: %v without an error", what, v)
				}
				if err != nil && !(math.IsNaN(x) || x == 0) {
					t.Fatalf("%s: %v beside %v", what, v, err)
				}
			}
		}
		one := func(what string, v float64, err error) { check(what, err, v) }
		length := func(what string) func(units.Length, error) {
			return func(v units.Length, err error) { one(what, float64(v), err) }
		}
		volume := func(what string) func(units.Volume, error) {
			return func(v units.Volume, err error) { one(what, float64(v), err) }
		}
		area := func(what string) func(units.Area, error) {
			return func(v units.Area, err error) { one(what, float64(v), err) }
		}
		density := func(what string) func(units.Density, error) {
			return func(v units.Density, err error) { one(what, float64(v), err) }
		}
		number := func(what string) func(float64, error) { return func(v float64, err error) { one(what, v, err) } }
		loss := coverage.Loss{Waste: s(), Profile: l(), Uptake: l()}
		volume("Need")(coverage.Need(units.Area(f()), l(), s(), loss))
		b, err := coverage.Achieved(units.Area(f()), units.Volume(f()), s(), loss)
		check("Achieved", err, float64(b.Spread), float64(b.Wet), float64(b.Dry))
		length("ProfileFill")(coverage.ProfileFill(l(), s()))
		length("SandPatch")(coverage.SandPatch(units.Volume(f()), l()))
		length("PoreUptake")(coverage.PoreUptake(s(), l()))
		length("MeasuredUptake")(coverage.MeasuredUptake(units.Volume(f()), units.Area(f()), s()))
		length("FloodingFilm")(coverage.FloodingFilm(l(), s(), s()))
		length("AimFor")(coverage.AimFor(l(), s(), s()))
		volume("Joint")(coverage.Joint{Length: l(), Width: l(), Depth: l()}.Fill())
		volume("VCut")(coverage.VCut{Length: l(), Width: l(), Depth: l()}.Fill())
		volume("SawCut")(coverage.SawCut{Length: l(), Width: l(), Depth: l(), Set: l(), Rod: l()}.Fill())
		volume("Bead")(coverage.Bead{Length: l(), Width: l(), Height: l()}.Fill())
		volume("Patch")(coverage.Patch{Area: units.Area(f()), Depth: l(), Crown: l()}.Ground())
		area("Steps")(coverage.Steps{Count: n(), Width: l(), Tread: l(), Riser: l(), Nosing: l(), StringerL: true}.Area())
		polygon := coverage.Polygon{{l(), l()}, {l(), l()}, {l(), l()}, {l(), l()}}
		area("Polygon")(polygon.Area())
		length("Polygon")(polygon.Perimeter())
		floor, err := coverage.TakeOff([]coverage.Line{{Shape: polygon, Count: n()}, {Shape: coverage.Circle{Diameter: l()}, Deduct: true}, {Shape: coverage.Rectangle{Length: l(), Width: l()}, Count: n()}})
		check("TakeOff", err, float64(floor.Area), float64(floor.Deducted), float64(floor.Edge))
		tell, err := coverage.Causes{Profile: l(), Uptake: l(), Texture: l(), Edge: l(), EdgeWidth: l(), EdgeExtra: l(), Faces: units.Area(f()), FaceFilm: l(), Tools: units.Volume(f()),
			Batch: units.Volume(f()), Residue: units.Volume(f()), Waste: s()}.Tell(units.Area(f()), l(), s())
		check("Tell", err, float64(tell.Film), float64(tell.Edges), float64(tell.Faces), float64(tell.Residue), float64(tell.Waste), float64(tell.Total), float64(tell.Batches))
		coats := []coverage.Coat{{Dry: l(), Solids: s(), Thinner: s(), Seals: s(), Crust: l(), Waste: s()}, {Dry: l(), Solids: s(), Thinner: s()}}
		needs, err := coverage.Layers(units.Area(f()), coverage.Surface{Profile: l(), Uptake: l()}, coats)
		for _, c := range needs {
			check("Layers", err, float64(c.Wet), float64(c.PerArea), float64(c.Order), float64(c.Thinner), float64(c.Built), float64(c.Spread), float64(c.Leaves.Profile), float64(c.Leaves.Uptake))
		}
		marks, err := coverage.Telegraph(l(), l(), coats)
		for _, m := range marks {
			check("Telegraph", err, float64(m.Relief))
		}
		readings := []units.Length{l(), l(), l(), l(), l(), l()}
		rule := coverage.Rule{PerSpot: n(), Low: s(), High: s(), Mean: s(), Most: l(), Below: s()}
		v, err := coverage.Judge(readings, l(), rule)
		check("Judge", err, float64(v.Mean), float64(v.Least), float64(v.Most), float64(v.Below))
		crew, err := coverage.Capability(readings, l())
		check("Capability", err, float64(crew.Mean), float64(crew.Scatter), float64(crew.Relative), float64(crew.Counted), float64(crew.Expected), float64(crew.Doubt))
		comb := coverage.Comb{Touched: l(), Clear: l()}
		low, high, err := comb.Dry(s(), s())
		check("Comb", err, float64(low), float64(high))
		answer, err := comb.Has(l())
		check("Has", err, float64(answer))
		mix := coverage.Mix{By: coverage.Basis(rapid.IntRange(0, 1).Draw(t, "basis")), Air: s(), Parts: []coverage.Part{{"A", f(), units.Density(1000 * f())}, {"B", f(), units.Density(1000 * f())}}}
		with, err := mix.With(coverage.Part{Name: "C", Ratio: f(), Density: units.Density(1000 * f())}, coverage.Basis(rapid.IntRange(0, 1).Draw(t, "by")))
		if err != nil {
			with = mix
		} else if _, err := with.Density(); err != nil {
			t.Fatalf("With made a mix that is refused: %v", err)
		}
		density("Density")(with.Density())
		number("Yield")(with.Yield())
		phr, err := with.PerHundred()
		check("PerHundred", err, phr...)
		formula := coverage.Formula{{"a", units.Mass(f()), units.Density(1000 * f()), coverage.Fate(rapid.IntRange(-1, 4).Draw(t, "fate"))}, {"b", units.Mass(f()), units.Density(1000 * f()), coverage.Stays}}
		c, err := formula.Composition()
		check("Composition", err, float64(c.Volume), float64(c.Mass), float64(c.Density), float64(c.VolumeSolids), float64(c.WeightSolids))
		voc := coverage.Volatiles{Volume: units.Volume(f()), Organic: units.Mass(f()), Water: units.Volume(f()), Exempt: units.Volume(f())}
		density("Actual")(voc.Actual())
		density("LessWater")(voc.LessWater())
		w, err := coverage.VolatilesByWeight(units.Volume(f()), units.Density(1000*f()), s(), s(), units.Density(1000*f()))
		check("VolatilesByWeight", err, float64(w.Volume), float64(w.Organic), float64(w.Water))
		number("BlendEquivalent")(coverage.BlendEquivalent([]coverage.Reactive{{f(), f()}, {f(), 0}}))
		number("AmineEquivalent")(coverage.AmineEquivalent(f(), n()))
		number("HardenerPerHundred")(coverage.HardenerPerHundred(f(), f()))
		number("IsocyanateEquivalent")(coverage.IsocyanateEquivalent(s()))
		number("PolyolEquivalent")(coverage.PolyolEquivalent(f()))
		number("IsocyanatePerHundred")(coverage.IsocyanatePerHundred(f(), f(), f()))
		cover, err := coverage.Cheapest([]units.Volume{units.Volume(f())}, []coverage.Size{{units.Volume(f()), f(), n()}}, rapid.Bool().Draw(t, "partial"))
		check("Cheapest", err, float64(cover.Volume), cover.Price, float64(cover.Left))
	})
}

// The formula calls allocate nothing. Left out: those that make a list (Layers,
// Telegraph, Split, With, PerHundred, Mix.Volatiles, Cheapest) or rules, and Capability.
func TestFormulasDoNotAllocate(t *testing.T) {
	mix, paint, l := twoToOne(), paint(), lines()
	readings := lengths([]float64{9, 10, 11, 12, 13, 14}, units.Mil)
	voc := coverage.Volatiles{Volume: 1, Organic: 100, Water: 0.2}
	blend := []coverage.Reactive{{80, 189}, {10, 0}}
	for name, f := range formulas() {
		if n := testing.AllocsPerRun(100, f); n != 0 {
			t.Errorf("%s: %v allocations", name, n)
		}
	}
	for name, f := range map[string]func(){
		"TakeOff":         func() { coverage.TakeOff(l) },
		"Judge":           func() { coverage.Judge(readings, 9*units.Mil, coverage.EightyTwenty()) },
		"Density":         func() { mix.Density() },
		"Yield":           func() { mix.Yield() },
		"Composition":     func() { paint.Composition() },
		"LessWater":       func() { voc.LessWater() },
		"Met":             func() { coverage.VOCLimit{Most: 100}.Met(voc) },
		"BlendEquivalent": func() { coverage.BlendEquivalent(blend) },
		"For":             func() { icri.For(5 * units.Mil) },
		"DryFilm":         func() { coverage.DryFilm(1e-4, 0.6, 0.1) },
		"SpreadRate":      func() { coverage.SpreadRate(1e-4, 0.6) },
		"Residual":        func() { coverage.Residual(1e-4, 0.6) },
		"Batches":         func() { coverage.Batches(0.1, 0.01) },
		"Fillet":          func() { coverage.CoveBase{10, 0.1, 0.02}.Fillet() },
		"FloorLost":       func() { coverage.CoveBase{10, 0.1, 0.02}.FloorLost() },
		"Polygon":         func() { l[0].Shape.Perimeter() },
		"Circle":          func() { coverage.Circle{0.5}.Perimeter() },
		"Rectangle":       func() { coverage.Rectangle{6, 4}.Perimeter() },
		"Edge":            func() { coverage.Steps{Count: 10, Width: 1, Tread: 0.28, Riser: 0.17}.Edge() },
		"Dry":             func() { coverage.Comb{Touched: 1e-4, Clear: 2e-4}.Dry(0.6, 0) },
		"Hardener":        func() { coverage.HardenerPerHundred(25, 189) },
		"Isocyanate":      func() { coverage.IsocyanateEquivalent(0.32) },
		"Polyol":          func() { coverage.PolyolEquivalent(56) },
		"PerHundred":      func() { coverage.IsocyanatePerHundred(131, 1000, 1.05) },
		"VolatilesOf":     func() { coverage.VolatilesOf(1, 100) },
		"ByWeight":        func() { coverage.VolatilesByWeight(1, 1200, 0.2, 0.5, 997) },
	} {
		if n := testing.AllocsPerRun(100, f); n != 0 {
			t.Errorf("%s: %v allocations", name, n)
		}
	}
}

func formulas() map[string]func() {
	return map[string]func(){
		"Achieved":        func() { coverage.Achieved(100, 0.05, 0.6, coverage.Loss{Waste: 0.05}) },
		"Tell":            func() { coverage.Causes{Batch: 0.01, Residue: 1e-4, Waste: 0.05}.Tell(100, 4e-4, 0.9) },
		"ProfileFill":     func() { coverage.ProfileFill(1e-4, 0.5) },
		"SandPatch":       func() { coverage.SandPatch(25e-6, 0.2) },
		"PoreUptake":      func() { coverage.PoreUptake(0.1, 1e-3) },
		"MeasuredUptake":  func() { coverage.MeasuredUptake(1e-4, 1, 1) },
		"FloodingFilm":    func() { coverage.FloodingFilm(1e-4, 0.5, 0.1) },
		"AimFor":          func() { coverage.AimFor(4e-4, 0.1, 0.1) },
		"VCut":            func() { coverage.VCut{Length: 10, Width: 0.01, Depth: 0.01}.Fill() },
		"SawCut":          func() { coverage.SawCut{Length: 10, Width: 0.01, Depth: 0.05, Set: 0.01, Rod: 0.012}.Fill() },
		"Bead":            func() { coverage.Bead{Length: 10, Width: 0.02, Height: 0.002}.Fill() },
		"Ground":          func() { coverage.Patch{Area: 1, Depth: 0.01, Crown: 0.001}.Ground() },
		"Steps":           func() { coverage.Steps{Count: 10, Width: 1, Tread: 0.28, Riser: 0.17}.Area() },
		"SpotSampling":    func() { coverage.SpotSampling(500) },
		"ReadingSampling": func() { coverage.ReadingSampling(500) },
		"Has":             func() { coverage.Comb{Touched: 1e-4, Clear: 2e-4}.Has(1.5e-4) },
		"AmineEquivalent": func() { coverage.AmineEquivalent(103, 5) },
	}
}

func BenchmarkMoreFormulas(b *testing.B) {
	for name, f := range formulas() {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs() // 0 allocs/op
			for b.Loop() {
				f()
			}
		})
	}
}
