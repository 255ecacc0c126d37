package aggregate_test

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
)

func ExampleMix_CompressiblePacking() {
	// Two quartz gradings, a third of the finer, poured: what that makes of a 5:1 mortar's sand.
	mix := aggregate.Mix{{Size: 2 * units.Millimetre, Share: 0.67, Packing: 0.56}, {Size: 0.3 * units.Millimetre, Share: 0.33, Packing: 0.56}}
	phi, err := mix.CompressiblePacking(aggregate.Poured)
	one := aggregate.Mortar{SandToResin: 5, SandDensity: aggregate.Quartz, ResinDensity: 1100, Bulk: 0.56}
	two := one
	two.Bulk = phi
	a, _ := one.Air()
	b, _ := two.Air()
	fmt.Printf("%.0f %% solids, %v; air in the mortar %.0f %% with one grading, %.0f %% with two\n", 100*float64(phi), err, 100*float64(a), 100*float64(b))
	// Output: 66 % solids, <nil>; air in the mortar 17 % with one grading, 2 % with two
}

// Every row of testdata/packing.csv; a row this test does not know fails it.
func TestPackingTable(t *testing.T) {
	exact := map[string]units.Fraction{"P01": aggregate.HexagonDiscs, "P02": aggregate.SquareDiscs, "P04": aggregate.PlanCoverage, "P06": aggregate.Jamming, "P07": aggregate.RolledCoverage,
		"P10": aggregate.CubicSpheres, "P11": aggregate.BodySpheres, "P12": aggregate.CloseSpheres, "P13": aggregate.RandomClose, "P14": aggregate.RandomLoose, "P17": aggregate.CubicSpheres}
	inputs := regexp.MustCompile(`(\w+)=([0-9.]+)`)
	models := 0
	for _, r := range rows(t, "packing.csv", 216) {
		id, want, tol := r["id"], number(t, r["phi_solids"]), number(t, r["tolerance_abs"])
		src := id + " " + r["source"] + "; " + r["how_known"]
		e, err := aggregate.VoidRatio(units.Fraction(want))
		near(t, "void ratio", e, number(t, r["void_ratio"]), 1e-8, err, src+"; table has 10 digits")
		back, err := aggregate.Solids(e)
		near(t, "solids", float64(back), want, 1e-12, err, src)
		in := map[string]float64{}
		for _, p := range inputs.FindAllStringSubmatch(r["case"]+"; "+r["inputs"], -1) {
			in[p[1]] = number(t, strings.TrimRight(p[2], "."))
		}
		var got units.Fraction
		mix := func(ratio, coarse, fine float64) aggregate.Mix {
			return aggregate.Mix{{Size: 1e-3, Share: units.Fraction(1 - in["x_fines"]), Packing: units.Fraction(coarse)}, {Size: units.Length(ratio) * 1e-3, Share: units.Fraction(in["x_fines"]), Packing: units.Fraction(fine)}}
		}
		ratio := in["ratio"]
		switch {
		case exact[id] != 0:
			got = exact[id]
		case strings.HasPrefix(id, "P2"): // void ratios of soils: the identity above, and that the shapes lie inside them (below)
			got, err = aggregate.Solids(in["e"])
		case strings.HasPrefix(id, "P3"): // measured: the ideal bound must be above them by what real spheres fall short
			n := map[string]int{"P31": 1, "P32": 2}[id]
			if short := float64(ideal(n)) - want; short < -1e-9 || short > 0.05 {
				t.Errorf("%s: ideal filling is %g above McGeary's spheres; want 0 to 5 points", id, short)
			}
			continue
		case strings.HasPrefix(id, "P4"):
			got = ideal(int(id[2] - '0'))
		case strings.HasPrefix(id, "PF") && strings.HasSuffix(id, "o"):
			var c, f, x float64
			if _, err := fmt.Sscanf(r["inputs"], "coarse %f fine %f -> x_fines=%f", &c, &f, &x); err != nil {
				t.Fatal(err)
			}
			var at units.Fraction
			at, got, err = aggregate.BestFines(aggregate.Portion{Size: 1e-3, Packing: units.Fraction(c)}, aggregate.Portion{Size: 1e-5, Packing: units.Fraction(f)}, aggregate.Mix.IdealPacking)
			if math.Abs(float64(at)-x) > 6e-6 {
				t.Errorf("%s: best at %v, want %g as printed", id, float64(at), x)
			}
		case strings.HasPrefix(id, "PF"):
			got, err = mix(0.5, in["b_coarse"], in["b_fine"]).IdealPacking()
		case strings.HasPrefix(id, "PL"):
			beta := in["beta"]
			got, err = mix(in["coarse"], beta, beta).LinearPacking()
		case strings.HasPrefix(id, "PC"):
			got, err = mix(ratio, in["alpha_single"], in["alpha_single"]).CompressiblePacking(in["K"])
		case strings.HasPrefix(id, "PT"):
			got, err = mix(ratio, in["phi_coarse"], in["phi_fine"]).ToufarPacking()
		default:
			t.Fatalf("row %s is not tested", id)
		}
		if len(id) > 3 {
			models++
		}
		if err != nil || !(math.Abs(float64(got)-want) <= tol) {
			t.Errorf("%s: got %.10f, %v; want %g ± %g (%s)", id, float64(got), err, want, tol, src)
		}
	}
	if models < 180 {
		t.Errorf("only %d rows of models", models)
	}
}

// ideal nests n classes of spheres at .625, each in the voids of the coarser.
func ideal(n int) units.Fraction {
	var m aggregate.Mix
	voids, solids := 1.0, 1-math.Pow(0.375, float64(n))
	for i := range n {
		m = append(m, aggregate.Portion{Size: units.Length(0.1 / math.Pow(10, float64(i))), Share: units.Fraction(voids * 0.625 / solids), Packing: 0.625})
		voids *= 0.375
	}
	phi, err := m.IdealPacking()
	if err != nil {
		return units.Fraction(math.NaN())
	}
	return phi
}

func TestShapes(t *testing.T) {
	for s, want := range map[aggregate.Shape][2]float64{aggregate.Spheres: {.55, .58}, aggregate.Rounded: {1 - .45, 1 - .38}, aggregate.Angular: {1 - .50, 1 - .42}} {
		lo, hi, err := s.Loose()
		near(t, "least", float64(lo), want[0], 1e-12, err, "random loose 55-58 % seen; ASTM C1252 voids 38-45 %, 42-50 %, memory")
		near(t, "most", float64(hi), want[1], 1e-12, err, "as above")
		// Clean uniform sand lies between e = 1.0 and 0.40 (NAVFAC DM 7.01 Table 6, memory), and no poured grain reaches .7405.
		loosest, _ := aggregate.Solids(1.0)
		densest, _ := aggregate.Solids(0.40)
		if lo < loosest || hi > densest || hi >= aggregate.CloseSpheres {
			t.Errorf("%v: %v to %v; want within clean uniform sand's", s, lo, hi)
		}
	}
	if lo, hi, err := aggregate.Shape(7).Loose(); !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(lo+hi)) {
		t.Errorf("unknown shape: %v, %v, %v", lo, hi, err)
	}
	// An early random close packing of discs, .89 of the hexagonal one, seen: within the ± .02 of ours.
	if early := 0.89 * aggregate.HexagonDiscs; early < 0.8065 || early > 0.8075 || aggregate.PlanCoverage-early > 0.02 {
		t.Errorf("early %v beside %v", early, aggregate.PlanCoverage)
	}
	// Trap: Torquato's fit over dimensions, .202048/2^d + .973872 d/2^d, gives .5374 in the plane, 2 % off the disc's constant.
	fit := (0.202048 + 0.973872*2) / 4
	if math.Abs(fit-0.5374) > 1e-4 || math.Abs(fit-float64(aggregate.Jamming)) < 0.005 {
		t.Errorf("fit %g beside %v", fit, aggregate.Jamming)
	}
}

// Values of the models' notes that are not in the table, and where they end.
func TestPackingLimits(t *testing.T) {
	mix := func(x, ratio float64) aggregate.Mix {
		return aggregate.Mix{{Size: 1e-3, Share: units.Fraction(1 - x), Packing: .6}, {Size: units.Length(ratio) * 1e-3, Share: units.Fraction(x), Packing: .6}}
	}
	phi, err := mix(.35, .25).LinearPacking()
	near(t, "x .35", float64(phi), .72191, 2e-5, err, "linear packing, ratio .25, computed")
	phi, err = mix(.3, .01).LinearPacking()
	near(t, "ratio .01", float64(phi), .8216, 1e-4, err, "computed; Furnas .8333")
	// a, b at .5, .25, .1, from a packing jammed by the coarse and by the fine class.
	for _, tc := range []struct{ r, a, b float64 }{{.5, .71196, .64645}, {.25, .50428, .35048}, {.1, .31921, .14619}} {
		p, err := mix(.1, tc.r).LinearPacking() // 0.6/(1 - (1-a) 0.1)
		near(t, "a", 10*(0.6/float64(p)-1)+1, tc.a, 2e-5, err, "printed to 5 digits")
		p, err = mix(.9, tc.r).LinearPacking() // 0.6/(1 - (1 - .6 + .6 b (1 - 1/.6)) 0.1) = 0.6/(1 - .04 (1 - b))
		near(t, "b", 1-(1-0.6/float64(p))/0.04, tc.b, 5e-5, err, "printed to 5 digits")
	}
	rapid.Check(t, func(t *rapid.T) {
		var m aggregate.Mix
		left, n := 1.0, rapid.IntRange(1, 5).Draw(t, "classes")
		for i := range n {
			y := left * rapid.Float64Range(0, 1).Draw(t, "y")
			if i == n-1 {
				y = left
			}
			left -= y
			m = append(m, aggregate.Portion{Size: units.Length(rapid.Float64Range(1e-5, 1e-2).Draw(t, "d")), Share: units.Fraction(y), Packing: units.Fraction(rapid.Float64Range(0.5, 0.64).Draw(t, "phi"))})
		}
		lin, err1 := m.LinearPacking()
		top, err2 := m.IdealPacking()
		cpm, err3 := m.CompressiblePacking(aggregate.Poured)
		hard, err4 := m.CompressiblePacking(1e6)
		if err := errors.Join(err1, err2, err3, err4); err != nil {
			t.Fatal(err)
		}
		virtual := slices.Clone(m) // what the compressible model calls beta
		for i := range virtual {
			virtual[i].Packing *= 1 + 1/aggregate.Poured
		}
		gamma, err := virtual.LinearPacking()
		if err != nil || lin > top+1e-12 || cpm > gamma+1e-9 || math.Abs(float64(hard/lin)-1) > 1e-2 || hard > lin*(1+2e-6) {
			t.Fatalf("want compressible %v <= its linear %v; linear %v <= ideal %v, and at an endless index %v (%v)", cpm, gamma, lin, top, hard, err)
		}
		// Scaling: sizes in any unit. Order: any. Splitting a class in two changes nothing.
		twin := aggregate.Mix{}
		for i := len(m) - 1; i >= 0; i-- {
			p := m[i]
			p.Size *= 3
			p.Share *= 0.25
			twin = append(twin, p)
			p.Share *= 3
			twin = append(twin, p)
		}
		l2, err1 := twin.LinearPacking()
		c2, err2 := twin.CompressiblePacking(aggregate.Poured)
		if err := errors.Join(err1, err2); err != nil || math.Abs(float64(l2-lin)) > 1e-9 || math.Abs(float64(c2-cpm)) > 1e-9 {
			t.Fatalf("scaled and split: %v and %v, want %v and %v, %v", l2, c2, lin, cpm, err)
		}
		// One size only: its own packing at every share.
		for i := range m {
			m[i].Size, m[i].Packing = 1e-3, 0.6
		}
		one, err1 := m.LinearPacking()
		two, err2 := m.CompressiblePacking(aggregate.Rodded)
		if err := errors.Join(err1, err2); err != nil || math.Abs(float64(one)-0.6) > 1e-12 || math.Abs(float64(two)-0.6) > 1e-9 {
			t.Fatalf("one size: %v, %v, %v", one, two, err)
		}
		// Toufar agrees at both ends and with one size.
		x := rapid.Float64Range(0, 1).Draw(t, "x")
		if phi, err := mix(x, 1).ToufarPacking(); err != nil || math.Abs(float64(phi)-0.6) > 1e-12 {
			t.Fatalf("Toufar, one size: %v, %v", phi, err)
		}
	})
}

// Found by the property above: a trace of a class, at a high index, jams so
// close to its own packing that no number lies between.
func TestTraceOfAClass(t *testing.T) {
	const y = 9.313225746154785e-10
	l := 1 - y
	m := aggregate.Mix{{2.6702880859375e-05, y, .64}, {1e-2, units.Fraction(0.5 * l), .64}, {1e-2, units.Fraction(0.0625 * l), .64}, {2.86102294921875e-05, units.Fraction(0.6875 * 0.4375 * l), .5}, {1.52587890625e-05, units.Fraction(0.3125 * 0.4375 * l), .64}}
	lin, err1 := m.LinearPacking()
	hard, err2 := m.CompressiblePacking(1e6)
	near(t, "packing", float64(hard), float64(lin), 1e-5, errors.Join(err1, err2), "compressible at an endless index is linear")
}

func TestBestFines(t *testing.T) {
	c, f := aggregate.Portion{Size: 2e-3, Packing: .6}, aggregate.Portion{Size: 0.5e-3, Packing: .58}
	for name, model := range map[string]func(aggregate.Mix) (units.Fraction, error){
		"linear": aggregate.Mix.LinearPacking, "toufar": aggregate.Mix.ToufarPacking,
		"compressible": func(m aggregate.Mix) (units.Fraction, error) { return m.CompressiblePacking(aggregate.Poured) },
	} {
		x, phi, err := aggregate.BestFines(c, f, model)
		if err != nil || x < 0.2 || x > 0.5 {
			t.Fatalf("%s: %v, %v, %v", name, x, phi, err)
		}
		for i := range 1001 { // brute force
			y := units.Fraction(i) / 1000
			c.Share, f.Share = 1-y, y
			if p, err := model(aggregate.Mix{c, f}); err != nil || p > phi+1e-9 {
				t.Fatalf("%s: %v at %v is above the best %v at %v (%v)", name, p, y, phi, x, err)
			}
		}
	}
	if x, phi, err := aggregate.BestFines(c, aggregate.Portion{}, aggregate.Mix.LinearPacking); !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(x+phi)) {
		t.Errorf("no fines: %v, %v, %v", x, phi, err)
	}
}

func TestPackingRefusals(t *testing.T) {
	nan := units.Fraction(math.NaN())
	for name, m := range map[string]aggregate.Mix{"none": nil, "33": make(aggregate.Mix, 33), "sum": {{1e-3, .5, .6}}, "negative": {{1e-3, 1.2, .6}, {1e-4, -.2, .6}}, "size": {{0, 1, .6}}, "packing": {{1e-3, 1, .9}}, "NaN": {{1e-3, nan, .6}}} {
		a, err1 := m.IdealPacking()
		b, err2 := m.LinearPacking()
		c, err3 := m.CompressiblePacking(4.1)
		d, err4 := m.ToufarPacking()
		for _, err := range []error{err1, err2, err3, err4} {
			if !errors.Is(err, units.ErrRange) {
				t.Errorf("%s: %v; want a range error", name, err)
			}
		}
		for _, v := range []units.Fraction{a, b, c, d} {
			if !math.IsNaN(float64(v)) {
				t.Errorf("%s: %v beside an error; want NaN", name, v)
			}
		}
	}
	one := aggregate.Mix{{1e-3, 1, .6}}
	if v, err := one.ToufarPacking(); !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(v)) {
		t.Errorf("Toufar of one class: %v, %v", v, err)
	}
	for _, k := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if v, err := one.CompressiblePacking(k); !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(v)) {
			t.Errorf("index %v: %v, %v", k, v, err)
		}
	}
	for _, v := range []float64{-1, math.NaN(), 20} {
		s, err1 := aggregate.Solids(v)
		e, err2 := aggregate.VoidRatio(units.Fraction(v))
		if !errors.Is(err1, units.ErrRange) || !errors.Is(err2, units.ErrRange) || !math.IsNaN(float64(s)+e) {
			t.Errorf("%v: %v, %v, %v, %v", v, s, err1, e, err2)
		}
	}
}

func BenchmarkPacking(b *testing.B) {
	m := aggregate.Mix{{1e-3, .6, .6}, {2.5e-4, .4, .6}}
	for name, f := range map[string]func(){
		"Ideal": func() { m.IdealPacking() }, "Linear": func() { m.LinearPacking() }, "Compressible": func() { m.CompressiblePacking(4.1) }, "Toufar": func() { m.ToufarPacking() },
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs() // 0 allocs/op
			for b.Loop() {
				f()
			}
		})
	}
}
