package systems_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// Areas of each shape, by hand. Source: geometry, no other.
func TestAreaShapes(t *testing.T) {
	for _, tc := range []struct {
		shape             string
		floor, edge, face float64 // ft2, ft, ft2
	}{
		{`length = "40 ft"` + "\n" + `width = "20 ft"`, 800, 120, 0},
		{`diameter = "30 ft"`, math.Pi * 225, math.Pi * 30, 0},
		{`corners = ["0 ft, 0 ft", "20 ft, 0 ft", "20 ft, 12 ft", "14 ft, 12 ft", "14 ft, 17 ft", "0 ft, 17 ft"]`, 310, 74, 0},
		{`corners = ["0 m, 0 m", "0 m, 12.192 m", "12.192 m, 0 m"]`, 800, 40 * (2 + math.Sqrt2), 0},
		{"steps = 3\nwidth = \"5 ft\"\ntread = \"12 in\"\nriser = \"6 in\"\nnosing = \"1.2 in\"\nopen_sides = 2", 3 * (5*(1+0.5+0.2) + 2*0.25), 15, 0},
		{`area = "800 ft2"` + "\n" + `edge = "113 ft"` + "\n" + `faces = "7 ft2"`, 800, 113, 7},
		{`length = "40 ft"` + "\n" + `width = "20 ft"` + "\nless = \"9 ft2\"\nholes.plinth = { length = \"6 ft\", width = \"4 ft\", height = \"6 in\" }\nholes.columns = { diameter = \"1 ft\", count = 3, height = \"1 ft\" }",
			800 - 9 - 24 - 3*math.Pi/4, 120 + 20 + 3*math.Pi, 10 + 3*math.Pi},
	} {
		o := planOf(t, changed(t, `area = "800 ft2"`, tc.shape))
		near(t, tc.shape, float64(o.Floor/units.SquareFoot), tc.floor, 1e-12, "geometry")
		near(t, tc.shape+" edge", float64(o.Edge/units.Foot), tc.edge, 1e-12, "geometry")
		near(t, tc.shape+" faces", float64(o.Faces/units.SquareFoot), tc.face, 1e-12, "geometry")
		balance(t, o)
		explainAll(t, o)
	}
}

// Joints by hand, in inches. The saw cut: above a rod of 1/2 in in 3/8 in, its
// crown 3/4 in deep, w set + w r - (w/2) q - r^2 atan((w/2)/q), q = sqrt(r^2 - w^2/4);
// the bead of 1/2 in by 1/16 in is 2/3 w h (1 + (2h/w)^2/5 - (2h/w)^4/35). Source: geometry.
func TestJointForms(t *testing.T) {
	const ft = 12.0
	w, r := 0.375, 0.25
	q := math.Sqrt(r*r - w*w/4)
	saw := w*0.75 + w*r - w/2*q - r*r*math.Atan(w/2/q)
	x := 2 * 0.0625 / 0.5
	bead := 2. / 3 * 0.5 * 0.0625 * (1 + x*x/5 - x*x*x*x/35)
	for _, tc := range []struct {
		keys        string
		all, ground float64 // in3 a foot
	}{
		{`width = "0.375 in"` + "\n" + `depth = "1.25 in"`, ft * 0.375 * 1.25, 0},
		{`width = "0.375 in"` + "\n" + `depth = "1.25 in"` + "\nform = \"v\"", ft * 0.375 * 1.25 / 2, 0},
		{`width = "0.375 in"` + "\n" + `depth = "1.25 in"` + "\nrod = \"0.5 in\"\nset = \"0.75 in\"", ft * saw, 0},
		{`width = "0.375 in"` + "\n" + `depth = "1.25 in"` + "\nrod = \"0.5 in\"\nset = \"0.75 in\"\nover = \"0.0625 in\"\nlap = \"0.5 in\"", ft * (saw + bead), ft * bead},
	} {
		o := planOf(t, baseJob+"[joints.j]\nlength = \"28 ft\"\n"+tc.keys+"\ncount = 2\n")
		n := need(t, o, "joint")
		near(t, tc.keys, float64(n.Mortar/units.CubicInch), 2*28*tc.all, 2e-4, "geometry; the series to 1e-4")
		near(t, tc.keys+" ground", float64(n.Ground/units.CubicInch), 2*28*tc.ground, 1e-3, "geometry; the series")
		explainAll(t, o)
	}
	o := planOf(t, baseJob+"[patches.p]\narea = \"4 ft2\"\ndepth = \"0.5 in\"\ncrown = \"0.0625 in\"\ncount = 3\n")
	c, a := 0.0625, 576.0 // in
	near(t, "crowns", float64(need(t, o, "patch").Ground/units.CubicInch), 3*c*(3*a+math.Pi*c*c)/6, 1e-9, "spherical cap")
}

// What pores and texture take from the tests of them, by hand: 11.8 mL of water
// on 1 ft2, half of it for resin; 4 mil of which half is hollow; 25 mL of sand in
// a patch of 8 in (ASTM E965, from memory).
func TestSurfaceTests(t *testing.T) {
	o := planOf(t, changed(t, `uptake = "2 mil"`, `drank = { volume = "11.8 mL", area = "1 ft2", share = "50 %" }`, `profile = "2 mil"`, `texture = { height = "4 mil", share = "50 %" }`))
	n := need(t, o, "prime")
	near(t, "pores, L", float64(n.Uptake/units.Litre), 800*0.0118/2, 1e-9, "volume balance")
	near(t, "texture, gal", float64(n.Profile/units.Gallon), 800*2/1604.16666666667, 1e-9, "231 in3")
	explainAll(t, o)
	o = planOf(t, changed(t, `profile = "2 mil"`, `texture = { sand = "25 mL", diameter = "8 in" }`))
	near(t, "sand patch, L", float64(need(t, o, "prime").Profile), 800*0.09290304*4*25e-6/(math.Pi*0.2032*0.2032), 1e-9, "ASTM E965, from memory")
	explainAll(t, o)
}

// One thing wrong in a shape: the key and what is allowed. Common practice, no source.
func TestShapeErrors(t *testing.T) {
	c := builtin(t)
	for _, tc := range []struct{ old, new, key, want string }{
		{`area = "800 ft2"`, `corners = ["0 ft, 0 ft", "9 ft, 9 ft", "9 ft, 0 ft", "0 ft, 9 ft"]`, "areas.a.corners", "cross"},
		{`area = "800 ft2"`, `corners = ["0 ft, 0 ft", "9 ft; 9 ft", "9 ft, 0 ft"]`, "areas.a.corners", "corner 2"},
		{`area = "800 ft2"`, `diameter = "0 ft"`, "areas.a.diameter", "10 mm to 10 km"},
		{`area = "800 ft2"`, "length = \"9 ft\"\nwidth = \"9 ft\"\nholes.h = { length = \"9 ft\", width = \"9 ft\" }", "areas.a.holes", "less than the area"},
		{`area = "800 ft2"`, "length = \"9 ft\"\nwidth = \"9 ft\"\nholes.h = { area = \"9 ft2\", height = \"4 in\" }", "areas.a.holes.h.height", "sides are not known"},
		{`area = "800 ft2"`, "length = \"9 ft\"\nwidth = \"9 ft\"\nholes.h = { area = \"-9 ft2\" }", "areas.a.holes.h.area", "found -0.8361"}, // it would make the floor larger
		{`area = "800 ft2"`, `area = "-800 ft2"`, "areas.a.area", "found -74.3"},
		{`area = "800 ft2"`, "steps = 3\nwidth = \"5 ft\"", "areas.a", "tread and riser"},
		{`[crew]`, "[joints.j]\nlength = \"9 ft\"\nwidth = \"0.5 in\"\ndepth = \"1 in\"\nrod = \"0.375 in\"\nset = \"0.5 in\"\n[crew]", "joints.j.rod", "at least as wide"},
		{`[crew]`, "[joints.j]\nlength = \"9 ft\"\nwidth = \"0.5 in\"\ndepth = \"1 in\"\nrod = \"0.5 in\"\nset = \"0.9 in\"\n[crew]", "joints.j", "Set"},
		{`[crew]`, "[joints.j]\nlength = \"9 ft\"\nwidth = \"0.5 in\"\ndepth = \"1 in\"\nform = \"v\"\nrod = \"0.5 in\"\nset = \"0.5 in\"\n[crew]", "joints.j.rod", "in a V"},
		{`[crew]`, "[volatiles]\nmost = \"100 g/L\"\n[crew]", "volatiles.owner", "whose limit"},
		{`[crew]`, "[materials.epoxy-standard.kits.pail]\nprice = 195\n[crew]", "materials.epoxy-standard.kits", "a price: want it of all"},
		{`[crew]`, "[steps.prime]\nhangs = \"9 mm\"\n[crew]", "steps.prime.hangs", "hangs 0 mm to 5 mm"},
		{`[crew]`, "[steps.sweep]\nresidue = \"1 L\"\n[crew]", "steps.sweep.residue", "of what is mixed"},
		{`[crew]`, "[steps.prime]\ncut = \"1 mil\"\n[crew]", "steps.prime.cut", "strip"},
	} {
		_, err := systems.ReadJob(strings.NewReader(changed(t, tc.old, tc.new)), c)
		if err == nil || !strings.Contains(err.Error(), tc.key+":") || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s: %v; want %s, %q", tc.new, err, tc.key, tc.want)
		}
	}
}

// metricOf writes the lengths, areas and volumes of a job in other units.
func inches(t *rapid.T, si bool, l float64) string { // l in m
	if si {
		return fmt.Sprintf("%.17g m", l)
	}
	return fmt.Sprintf("%.17g in", l/0.0254)
}

// US and SI jobs agree to 1e-12; the parts of a split area add up; more solids
// never needs more wet film. Source: exact factors of NIST SP 811; volume balance.
func TestPlanProperties(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		length, width, joint, film, hole, uptake := f("length", 3, 60), f("width", 3, 40), f("joint", 1, 50), f("film", 150e-6, 400e-6), f("hole", 0.1, 1), f("uptake", 0, 200e-6)
		solids := f("solids", 0.6, 0.97)
		job := func(si bool, parts int, solids float64) string {
			text := strings.Replace(baseJob, "quartz-broadcast@1.1.0", "quartz-broadcast@1.2.0", 1)
			var b strings.Builder
			for i := range parts {
				fmt.Fprintf(&b, "[areas.a%d]\nlength = %q\nwidth = %q\nuptake = %q\nprofile = \"0 mm\"\nholes.h = { diameter = %q, height = %q }\n", i, inches(t, si, length), inches(t, si, width/float64(parts)), inches(t, si, uptake), inches(t, si, hole/math.Sqrt(float64(parts))), inches(t, si, 0.1))
			}
			fmt.Fprintf(&b, "[joints.j]\nlength = %q\nwidth = %q\ndepth = %q\nover = %q\n", inches(t, si, joint), inches(t, si, 0.008), inches(t, si, 0.03), inches(t, si, 0.001))
			fmt.Fprintf(&b, "[steps.body]\nfilm = %q\n[materials.epoxy-standard]\nsolids = \"%.17g %%\"\n[crew]\nsections = 1\n", inches(t, si, film), 100*solids)
			return strings.Replace(strings.Replace(text, "[areas.a]\narea = \"800 ft2\"\nuptake = \"2 mil\"\nprofile = \"2 mil\"\n", "", 1), "[crew]\n", b.String(), 1)
		}
		plan := func(text string) *systems.Outcome {
			j, err := systems.ReadJob(strings.NewReader(text), c)
			if err != nil {
				t.Fatalf("%v\n%s", err, text)
			}
			o, err := systems.Plan(context.Background(), j)
			if err != nil {
				t.Fatal(err)
			}
			balance(t, o)
			return o
		}
		us, si := plan(job(false, 1, solids)), plan(job(true, 1, solids))
		whole, split := us, plan(job(false, 2, solids))
		more := plan(job(false, 1, min(1, solids+f("more", 0, 0.03))))
		for i, n := range us.TakeOff {
			m, two := si.TakeOff[i], split.TakeOff[i]
			for _, x := range []struct {
				what string
				a, b float64
			}{{"wet", float64(n.Wet), float64(m.Wet)}, {"film", float64(n.Film), float64(m.Film)}, {"voids", float64(n.Voids), float64(m.Voids)}, {"uptake", float64(n.Uptake), float64(m.Uptake)},
				{"edges", float64(n.Edges), float64(m.Edges)}, {"faces", float64(n.Faces), float64(m.Faces)}, {"tools", float64(n.Tools), float64(m.Tools)}, {"residue", float64(n.Residue), float64(m.Residue)},
				{"fill", float64(n.Fill), float64(m.Fill)}, {"ground", float64(n.Ground), float64(m.Ground)}, {"gross", float64(n.Gross), float64(m.Gross)}, {"thrown", float64(n.Thrown), float64(m.Thrown)}} {
				if !(math.Abs(x.a-x.b) <= 1e-12*math.Max(math.Abs(x.a), math.Abs(x.b))) {
					t.Errorf("%s %s: US %.17g, SI %.17g", n.Step, x.what, x.a, x.b)
				}
			}
			for what, x := range map[string][2]float64{"film": {float64(n.Film), float64(two.Film)}, "voids": {float64(n.Voids), float64(two.Voids)}, "uptake": {float64(n.Uptake), float64(two.Uptake)}, "held": {float64(n.Held), float64(two.Held)}} {
				if !(math.Abs(x[0]-x[1]) <= 1e-12*math.Max(x[0], x[1])) {
					t.Errorf("%s %s: whole %g, in two parts %g", n.Step, what, x[0], x[1])
				}
			}
			if thin := more.TakeOff[i]; n.Wet > 0 && thin.Wet > n.Wet*(1+1e-12) {
				t.Errorf("%s: more solids, more wet film: %v after %v", n.Step, thin.Wet, n.Wet)
			}
		}
		if a, b := float64(whole.Floor), float64(split.Floor); math.Abs(a-b) > 1e-12*a {
			t.Errorf("floor %v, in two parts %v", a, b)
		}
		if _, err := json.Marshal(us); err != nil {
			t.Error(err)
		}
	})
}
