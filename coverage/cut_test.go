package coverage_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

func TestCuts(t *testing.T) {
	const by = "by hand"
	v, err := coverage.VCut{Length: 10, Width: 0.02, Depth: 0.03}.Fill()
	near(t, "V", float64(v), 10*0.02*0.03/2, 1e-12, err, by)
	v, err = coverage.SawCut{Length: 1, Width: 0.01, Depth: 0.05, Set: 0.01, Rod: 0.01}.Fill()
	near(t, "rod as wide as the cut", float64(v), 0.01*0.01+0.01*0.005-math.Pi*0.005*0.005/2, 1e-12, err, "a half circle is missing from a rectangle")
	v, err = coverage.SawCut{Length: 1, Width: 0.003, Depth: 0.05}.Fill()
	near(t, "no rod", float64(v), 0.003*0.05, 1e-12, err, by)
	v, err = coverage.Bead{Length: 2, Width: 0.02, Height: 0.01}.Fill()
	near(t, "half circle", float64(v), 2*math.Pi*1e-4/2, 1e-12, err, by)
	v, err = coverage.Bead{Length: 1, Width: 0.1, Height: 1e-5}.Fill()
	near(t, "flat bead", float64(v), 0.1*1e-5*2/3, 1e-7, err, "a parabola holds 2/3")
	p := coverage.Patch{Area: math.Pi, Depth: 0.5, Crown: 1}
	v, err = p.Ground()
	near(t, "half sphere", float64(v), 2*math.Pi/3, 1e-12, err, by)
	for name, f := range map[string]func() (units.Volume, error){
		"V":          coverage.VCut{Length: -1e-9, Width: 1, Depth: 1}.Fill,
		"rod":        coverage.SawCut{Length: 1, Width: 0.01, Depth: 0.05, Set: 0.01, Rod: 0.009}.Fill,
		"rod set":    coverage.SawCut{Length: 1, Width: 0.01, Depth: 0.05, Set: 0.06, Rod: 0.02}.Fill,
		"arc":        coverage.SawCut{Length: 1, Width: 0.01, Depth: 0.05, Set: 0.049, Rod: 0.01}.Fill,
		"set, rod 0": coverage.SawCut{Length: 1, Width: 0.01, Depth: 0.05, Set: 0.01}.Fill,
		"depth":      coverage.SawCut{Length: 1, Width: 0.01, Depth: units.Length(math.NaN()), Set: 0.01, Rod: 0.02}.Fill,
		"bead":       coverage.Bead{Length: 1, Width: 0.02, Height: 0.011}.Fill,
		"bead width": coverage.Bead{Length: 1, Width: -0.02, Height: 0.001}.Fill,
		"ground":     coverage.Patch{Area: -1}.Ground,
	} {
		refused(t, name, f)
	}
}

func TestCutProperties(t *testing.T) { // the closed forms against integration of their sections
	rapid.Check(t, func(t *rapid.T) {
		w := rapid.Float64Range(0.002, 0.05).Draw(t, "width")
		r := w / 2 * (1 + math.Pow(10, rapid.Float64Range(-4, 3).Draw(t, "log of rod")))
		set := rapid.Float64Range(0, 0.02).Draw(t, "set")
		if 2*r > 5 {
			t.Skip()
		}
		v, err := coverage.SawCut{Length: 1, Width: units.Length(w), Depth: 1, Set: units.Length(set), Rod: units.Length(2 * r)}.Fill()
		end := math.Atan2(w/2, math.Sqrt((r-w/2)*(r+w/2))) // over the arc's angle, where the section is smooth
		corners := quad.Fixed(func(a float64) float64 { s := math.Sin(a / 2); return 2 * r * s * s * r * math.Cos(a) }, -end, end, 40, nil, 0)
		want := w*set + corners
		if err != nil || math.Abs(float64(v)-want) > 1e-11*want {
			t.Fatalf("%v, %v; want %v", v, err, want)
		}
		h := w / 2 * math.Pow(10, rapid.Float64Range(-5, 0).Draw(t, "log of height"))
		b, err := coverage.Bead{Length: 1, Width: units.Length(w), Height: units.Length(h)}.Fill()
		R := (w*w/4 + h*h) / (2 * h)
		half := 2 * math.Atan(2*h/w)
		want = quad.Fixed(func(a float64) float64 { // height above the chord, cos a - cos half
			return 2 * R * math.Sin((half+a)/2) * math.Sin((half-a)/2) * R * math.Cos(a)
		}, -half, half, 40, nil, 0)
		if err != nil || math.Abs(float64(b)-want) > 1e-11*want || float64(b) < w*h*2/3*(1-1e-12) {
			t.Fatalf("bead %v, %v; want %v", b, err, want)
		}
		box, err1 := coverage.Joint{Length: 1, Width: units.Length(w), Depth: units.Length(set)}.Fill()
		vee, err2 := coverage.VCut{Length: 1, Width: units.Length(w), Depth: units.Length(set)}.Fill()
		if err1 != nil || err2 != nil || math.Abs(float64(box-2*vee)) > 1e-15 {
			t.Fatalf("rectangle %v, V %v", box, vee)
		}
		p := coverage.Patch{Area: units.Area(w), Depth: units.Length(set), Crown: units.Length(h)}
		fill, err1 := p.Fill()
		ground, err2 := p.Ground()
		if flush := p.Depth.Over(p.Area); err1 != nil || err2 != nil || math.Abs(float64(fill-ground-flush)) > 1e-12*float64(fill) {
			t.Fatalf("filled %v, ground off %v, flush %v", fill, ground, flush)
		}
	})
}
