package aggregate_test

import (
	"testing"
	"time"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
)

// The formula calls allocate nothing. Left out: those that make a list or a
// name (Blend, BlendTo, BlendWithin, Band's edges and Misses, FromRetained,
// Build, Sieves), and searches (BlendForFineness, BestFines). Common practice,
// no source.
func TestFormulasDoNotAllocate(t *testing.T) {
	grain := aggregate.Grain{Size: 0.6e-3, Density: 2650, Packing: 0.55}
	bed, err := aggregate.ToRefusal(0.3e-3, grain)
	if err != nil {
		t.Fatal(err)
	}
	sand := aggregate.Gradation{{2.36e-3, 1}, {1.18e-3, 0.8}, {0.6e-3, 0.5}, {0.3e-3, 0.2}, {0.15e-3, 0.02}}
	flake := aggregate.Flake{Thickness: 0.1e-3, Density: 1400}
	mortar := aggregate.Mortar{SandToResin: 5, SandDensity: 2650, ResinDensity: 1100, Bulk: 0.6}
	chips := aggregate.SealCoat{Median: 8e-3, Flakiness: 0.2, Loose: 1500, Grain: 2650, Wastage: 0.05, Traffic: 0.7, Residual: 0.7}
	board := aggregate.BoardTest{Loading: 10, Loose: 1500, Grain: 2650}
	resin := aggregate.Liquid{Density: 1100, Viscosity: 0.8, Tension: 0.035}
	throw := aggregate.Throw{Window: time.Hour, Lead: time.Minute, Spread: 0.02, Thrower: 0.01}
	mix := aggregate.Mix{{Size: 1e-3, Share: 0.7, Packing: 0.6}, {Size: 0.1e-3, Share: 0.3, Packing: 0.6}}
	sieve, _ := aggregate.FindSieve("No. 30")
	for name, f := range map[string]func() error{
		"ToRefusal":           func() error { _, err := aggregate.ToRefusal(1e-3, grain); return err },
		"Broadcast":           func() error { _, err := aggregate.Broadcast(0.5, 0.3e-3, grain); return err },
		"Thrown":              func() error { _, _, err := aggregate.Thrown(1, 0.7); return err },
		"Next":                func() error { _, err := bed.Next(1e-3, grain); return err },
		"Grout":               func() error { _, err := bed.Grout(0); return err },
		"Grouted":             func() error { _, err := bed.Grouted(); return err },
		"GroutArea":           func() error { _, err := bed.GroutArea(0.01, 1e-4); return err },
		"Peaks":               func() error { _ = bed.Peaks(); return nil },
		"Pore":                func() error { _, err := grain.Pore(); return err },
		"Bulk":                func() error { _, err := grain.Bulk(); return err },
		"RelativeDensity":     func() error { _, err := aggregate.RelativeDensity(2.65); return err },
		"BulkDensity":         func() error { _, err := aggregate.BulkDensity(15, 0.01); return err },
		"SurfaceDry":          func() error { _, err := aggregate.SurfaceDry(2600, 0.01); return err },
		"Voids":               func() error { _, err := aggregate.Voids(1500, 2650); return err },
		"Moisture":            func() error { _, err := aggregate.Moisture(1.02, 1); return err },
		"DryMass":             func() error { _, err := aggregate.DryMass(1.02, 0.02); return err },
		"VoidRatio":           func() error { _, err := aggregate.VoidRatio(0.6); return err },
		"Solids":              func() error { _, err := aggregate.Solids(0.7); return err },
		"Flake.Layer":         func() error { _, err := flake.Layer(); return err },
		"Flake.Covers":        func() error { _, err := flake.Covers(1); return err },
		"Flake.Hidden":        func() error { _, err := flake.Hidden(0.5); return err },
		"Flake.Loading":       func() error { _, err := flake.Loading(0.9); return err },
		"Flake.Scrape":        func() error { _, _, err := flake.Scrape(0.5, 0.1); return err },
		"Mortar.Yield":        func() error { _, err := mortar.Yield(); return err },
		"Mortar.Air":          func() error { _, err := mortar.Air(); return err },
		"Mortar.Density":      func() error { _, err := mortar.Density(); return err },
		"Mortar.Surplus":      func() error { _, err := mortar.Surplus(); return err },
		"Mortar.For":          func() error { _, _, err := mortar.For(0.01); return err },
		"Mortar.Run":          func() error { _, err := mortar.Run(0.001, 0.01, 0.02); return err },
		"MortarByVolume":      func() error { _, err := aggregate.MortarByVolume(3, 2650, 1100, 0.6); return err },
		"JustFilled":          func() error { _, err := aggregate.JustFilled(2650, 1100, 0.6); return err },
		"Size":                func() error { _, err := sand.Size(0.5); return err },
		"SizeLinear":          func() error { _, err := sand.SizeLinear(0.5); return err },
		"Through":             func() error { _, err := sand.Through(0.5e-3); return err },
		"FinenessModulus":     func() error { _, err := sand.FinenessModulus(); return err },
		"Uniformity":          func() error { _, err := sand.Uniformity(); return err },
		"Curvature":           func() error { _, err := sand.Curvature(); return err },
		"LargestStep":         func() error { _, err := sand.LargestStep(); return err },
		"SurfaceMean":         func() error { _, err := sand.SurfaceMean(0.05e-3); return err },
		"Surface":             func() error { _, err := sand.Surface(1, 2650, 0.05e-3); return err },
		"LeastDimension":      func() error { _, err := chips.LeastDimension(); return err },
		"SealCoat.Voids":      func() error { _, err := chips.Voids(); return err },
		"Chips":               func() error { _, err := chips.Chips(); return err },
		"Binder":              func() error { _, err := chips.Binder(); return err },
		"BoardTest.Depth":     func() error { _, err := board.Depth(); return err },
		"BoardTest.Binder":    func() error { _, err := board.Binder(0.5, 0.8, 0); return err },
		"ChipSpread":          func() error { _, err := aggregate.ChipSpread(0.7, 5e-3); return err },
		"Sink":                func() error { _, err := resin.Sink(grain); return err },
		"Rise":                func() error { _, err := resin.Rise(0.1e-3, time.Minute); return err },
		"RiseTime":            func() error { _, err := resin.RiseTime(0.1e-3, 1e-3); return err },
		"Highest":             func() error { _, err := resin.Highest(0.1e-3); return err },
		"Age":                 func() error { _, err := throw.Age(50); return err },
		"Most":                func() error { _, err := throw.Most(); return err },
		"IdealPacking":        func() error { _, err := mix.IdealPacking(); return err },
		"LinearPacking":       func() error { _, err := mix.LinearPacking(); return err },
		"CompressiblePacking": func() error { _, err := mix.CompressiblePacking(9); return err },
		"ToufarPacking":       func() error { _, err := mix.ToufarPacking(); return err },
		"Tolerance":           func() error { _, err := sieve.Tolerance(); return err },
		"Reuse": func() error {
			_, _, err := aggregate.Reuse{Held: 1, Retention: 0.7, Usable: 0.5}.Bought([]units.Area{10, 10})
			return err
		},
	} {
		if err := f(); err != nil { // an error would be what allocates
			t.Errorf("%s: %v", name, err)
		}
		if n := testing.AllocsPerRun(100, func() { f() }); n != 0 {
			t.Errorf("%s: %v allocations", name, n)
		}
	}
}
