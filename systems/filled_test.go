package systems_test

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// near compares a figure with one worked out by hand.
func near(t *testing.T, what string, got, want, rel float64, src string) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: %.6g, want %.6g within %g (%s)", what, got, want, rel, src)
	}
}

func need(t *testing.T, o *systems.Outcome, step string) systems.Need {
	t.Helper()
	for _, n := range o.TakeOff {
		if n.Step == step {
			return n
		}
	}
	t.Fatalf("the take-off has no %s", step)
	return systems.Need{}
}

func adds(t *testing.T, o *systems.Outcome, step string) float64 {
	t.Helper()
	for _, l := range o.Build {
		if l.Step == step {
			return float64(l.Adds / units.Mil)
		}
	}
	t.Fatalf("the build-up has no %s", step)
	return 0
}

// A slurry of 125 mil on 800 ft2, 150 % of filler by mass, by hand: resin of
// (2 9.3 + 8.2)/3 lb/gal, quartz of 2.65 kg/L; yield 1 + 1.5 rho_r/rho_s.
func TestFilledCoat(t *testing.T) {
	const gal = 800 * 125 / 1604.16666667 // of slurry in place; 231 in3, 1604.17 ft2 mil/gal
	rho := (2*9.3 + 8.2) / 3              // lb/gal
	yield := 1 + 1.5*rho/(2.65*8.34540445)
	o := planOf(t, changed(t, `"quartz-broadcast@1.1.0"`, `"slurry-broadcast"`))
	n := need(t, o, "slurry")
	near(t, "resin", float64(n.Film/units.Gallon), gal/yield, 1e-6, "volume balance")
	near(t, "in place", float64(n.Mortar/units.Gallon), gal, 1e-6, "geometry")
	near(t, "filler", float64(n.Sand/units.Pound), 1.5*rho*gal/yield/0.95, 1e-6, "150 % of the resin with its waste of 5 %")
	if n.Wet != n.Dry {
		t.Errorf("wet %v, dry %v: nothing of it leaves", n.Wet, n.Dry)
	}
	// The grain: 0.6 lb/ft2 in 125 mil, d 0.6 mm, c 0.82: solid 1.1055 mm = 43.52 mil, open d (1/2 - c/3) = 5.354 mil.
	near(t, "grain and crust", adds(t, o, "throw"), 0.6*4.88242764/2650/25.4e-6+0.6/0.0254*(0.5-0.82/3), 1e-6, "volume balance; top layer half embedded")
	grout := need(t, o, "grout")
	near(t, "voids of the crust", float64(grout.Voids/units.Gallon), 800*0.6/0.0254*(0.5-0.82/3)/1604.16666667, 1e-6, "d (1/2 - c/3)")
	// Only the liquid shrinks: at 90 % solids a coat whose liquid is a share s of it loses s/10.
	o = planOf(t, changed(t, `"quartz-broadcast@1.1.0"`, `"methacrylate-broadcast"`))
	n = need(t, o, "body")
	share := float64(n.Film) / (float64(n.Wet) * float64(n.Area))
	near(t, "dry of wet", float64(n.Dry/n.Wet), 1-0.1*share, 1e-9, "volume balance")
	balance(t, o)
}

// More grain than the film could hold by the balance of its volume is told, and not counted.
func TestMoreGrainThanTheFilmHolds(t *testing.T) {
	text := changed(t, `"quartz-broadcast@1.1.0"`, `"slurry-broadcast"`)
	o := planOf(t, text+"[steps.throw]\ntakes = \"4 lb/ft2\"\n")
	if !has(o, "throw", "grain-not-held") {
		t.Error("4 lb/ft2 in 125 mil are not told")
	}
	near(t, "held", float64(need(t, o, "throw").Loading), 125*25.4e-6*2650*0.55/0.45, 1e-6, "rho t phi/(1 - phi)")
	if o := planOf(t, text); has(o, "throw", "grain-not-held") {
		t.Error("0.6 lb/ft2 are told")
	}
	o = planOf(t, text+"[steps.throw]\ntakes = \"0.05 lb/ft2\"\n")
	if n := need(t, o, "throw"); !n.Light {
		t.Error("0.05 lb/ft2 of 0.6 mm is less than half a layer: want it called light")
	}
}

// A mortar of 650 % by mass in a sand of 70 % solids is starved: yield is the
// sand's bulk, the rest is air, and 60 % of it is grouted. By hand.
func TestStarvedMortar(t *testing.T) {
	o := planOf(t, changed(t, `"quartz-broadcast@1.1.0"`, `"trowelled-mortar"`))
	rho := (2*9.4 + 8.2) / 3 / 8.34540445 // kg/L
	sand := 6.5 * rho / 2.65
	gal := 800 * 250 / 1604.16666667
	near(t, "resin", float64(need(t, o, "mortar").Film/units.Gallon), gal/(sand/0.7), 1e-6, "bulk of the sand")
	near(t, "grouted", float64(need(t, o, "grout").Voids/units.Gallon), 0.6*gal*(1-(1+sand)*0.7/sand), 1e-6, "60 % of the air")
	o = planOf(t, changed(t, `"quartz-broadcast@1.1.0"`, `"trowelled-mortar"`)+"[steps.mortar]\nratio = \"500 %\"\n")
	if v := need(t, o, "grout").Voids; v != 0 {
		t.Errorf("a mortar of 500 %% has no air, and its grout fills %v", v)
	}
}

// Flakes: 0.125 lb/ft2 of 1.6 kg/L are 15.02 mil of solid, 12.29 mil of voids at
// 55 %; 10 mil of base fill all but 2.29 of them. By hand.
func TestFlakes(t *testing.T) {
	solid := 0.125 * 4.88242764 / 1600 / 25.4e-6
	voids := solid/0.55 - solid
	text := changed(t, `"quartz-broadcast@1.1.0"`, `"flake-broadcast"`)
	o := planOf(t, text)
	near(t, "flakes over the base", adds(t, o, "throw"), solid+voids-10, 1e-6, "volume balance")
	near(t, "thrown", float64(need(t, o, "throw").Thrown/units.Pound), 800*0.125/0.8, 1e-6, "held over retention")
	near(t, "open", float64(need(t, o, "top").Voids/units.Gallon), 800*(voids-10)/1604.16666667/0.9, 1e-6, "volume balance, 90 % solids")
	// A film of more than the voids stands above the flakes.
	o = planOf(t, text+"[steps.base]\nfilm = \"20 mil\"\n")
	near(t, "drowned", adds(t, o, "throw"), solid, 1e-6, "flakes displace their own volume")
	if v := need(t, o, "top").Voids; v != 0 {
		t.Errorf("drowned flakes leave %v open", v)
	}
}

// By hand: a thickener adds the volume of its grain and no bulk.
func TestThickener(t *testing.T) {
	o := planOf(t, read(t, "vertical.toml"))
	n := need(t, o, "gel")
	rho := (2*9.4 + 8.3) / 3 / 8.34540445
	near(t, "resin", float64(n.Film/units.Gallon), 75*16/1604.16666667/(1+0.04*rho/2.2), 1e-6, "volume balance")
	near(t, "powder", float64(n.Sand/units.Pound), 0.04*rho*8.34540445*float64(n.Gross/units.Gallon), 1e-6, "4 % by mass")
	if o.Thickness != 0 || len(o.Build) != 0 {
		t.Errorf("the floor builds %v by coats on its base", o.Thickness)
	}
	if a := float64(n.Area / units.SquareFoot); math.Abs(a-75) > 1e-9 {
		t.Errorf("%g ft2, want the face of 150 ft by 6 in", a)
	}
}

// Cracks and joints are different work; each goes to the step that fills it.
func TestCracksAndJoints(t *testing.T) {
	o := planOf(t, read(t, "repair.toml"))
	near(t, "cracks", float64(need(t, o, "crack").Mortar/units.Gallon), 85*0.25*0.5/19.25, 1e-6, "ft w d/19.25 gal, inches")
	near(t, "joints", float64(need(t, o, "joint").Mortar/units.Gallon), 8*12*0.1875*2/19.25, 1e-6, "likewise")
	if o.Foot == nil || o.Service == nil || !o.Service.After(o.End.Add(-time.Minute)) {
		t.Errorf("foot %v, service %v: want both, of a job without coats too", o.Foot, o.Service)
	}
	o = planOf(t, baseJob+"[cracks.a]\nlength = \"9 ft\"\nwidth = \"0.25 in\"\ndepth = \"0.5 in\"\n")
	if len(found(o, "not-in-recipe")) != 1 {
		t.Error("cracks that the recipe has no step for are not told")
	}
}

// The mortar on a base's face is taken off beside that of its corner.
func TestFaceOfCove(t *testing.T) {
	text := read(t, "cove.toml")
	o := planOf(t, text)
	fillet := 96 * 12 * (1 - math.Pi/4) / 231 // gal
	face := 96 * (5 + math.Pi/2) / 12 * 187.5 / 1604.16666667
	near(t, "mortar", float64(need(t, o, "cove").Mortar/units.Gallon), fillet+face, 1e-6, "L R2 (1 - pi/4) + L (H - R + pi R/2) 3/16 in")
	o = planOf(t, text+"[steps.cove]\nface = \"0 mil\"\n")
	near(t, "corner alone", float64(need(t, o, "cove").Mortar/units.Gallon), fillet, 1e-6, "L R2 (1 - pi/4)")
}

// A coat laid into a wet one does not wait for its recoat time, comes in the
// same shift, and is told where it comes too late. Common practice, no source.
func TestWetIntoWet(t *testing.T) {
	text := changed(t, `"quartz-broadcast@1.1.0"`, `"trowelled-mortar"`)
	o := planOf(t, text)
	prime, mortar := one(t, o, "prime"), one(t, o, "mortar")
	if !mortar.Start.Equal(prime.End) {
		t.Errorf("primed until %v, mortar from %v: want one right after the other", prime.End, mortar.Start)
	}
	if has(o, "mortar", "no-longer-wet") {
		t.Error("the primer is told to be dry")
	}
	o = planOf(t, text+"[materials.epoxy-low-viscosity.times.tack-free]\n\"40 °F\" = \"2h\"\n\"75 °F\" = \"1h\"\n")
	if !has(o, "mortar", "no-longer-wet") {
		t.Error("a primer that is dry in an hour is not told")
	}
	// Section by section: primer and mortar of each in one shift.
	o = planOf(t, strings.Replace(text, "800 ft2", "6000 ft2", 1))
	if o.Sections < 2 {
		t.Fatalf("%d sections", o.Sections)
	}
	mortars := works(o, "mortar")
	for i, w := range works(o, "prime") {
		if w.Start.YearDay() != mortars[i].Start.YearDay() || mortars[i].Start.Before(w.End) {
			t.Errorf("section %d: primed %v to %v, mortar %v", i+1, w.Start, w.End, mortars[i].Start)
		}
	}
}

// A barrier stands for the coats above it; one that is too thin does not. The
// job names whose moisture limit applies.
func TestMoistureBarrier(t *testing.T) {
	text := changed(t, `"quartz-broadcast@1.1.0"`, `"moisture-primed-quartz"`, `"70 %"`, `"91 %"`)
	if o := planOf(t, text); len(found(o, "slab-too-wet")) != 0 {
		t.Errorf("91 %% under a barrier: %+v", found(o, "slab-too-wet"))
	}
	o := planOf(t, text+"[steps.barrier]\nfilm = \"8 mil\"\n")
	if !has(o, "body", "slab-too-wet") {
		t.Error("8 mil of a barrier of at least 12 are taken for one")
	}
	if o := planOf(t, text+"[steps.barrier]\nskip = true\n"); !has(o, "body", "slab-too-wet") {
		t.Error("a skipped barrier is taken for one")
	}
	o = planOf(t, changed(t, `emission = "3 lb/(1000 ft2 d)"`, `emission = "4 lb/(1000 ft2 d)"`)+"[limits]\nmoisture = \"moisture-f1869-3lb\"\n")
	if f := found(o, "slab-too-wet"); len(f) != 1 || f[0].Limit != "moisture-f1869-3lb" {
		t.Errorf("4 lb against the 3 lb that the job names: %+v", f)
	}
	o = planOf(t, changed(t, `emission = "3 lb/(1000 ft2 d)"`, `emission = "4 lb/(1000 ft2 d)"`)+"[limits]\nmoisture = \"moisture-f1869-5lb\"\n")
	if f := found(o, "slab-too-wet"); len(f) != 0 {
		t.Errorf("4 lb against the 5 lb that the job names: %+v", f)
	}
}

func TestStepErrors(t *testing.T) {
	const slurry, cove = "recipes/slurry-broadcast/1.0.0.toml", "recipes/cove-base/1.0.0.toml"
	for _, tc := range []struct{ file, old, new, want string }{
		{slurry, "takes = {", "keeps = {", "is a unit of loading"},
		{slurry, `takes = { value = "0.6 lb/ft2", low = "0.4 lb/ft2", high = "0.9 lb/ft2", basis = "common-practice" }`, "", "takes: not given"},
		{slurry, `ratio = { value = "150 %", low = "100 %", high = "200 %", basis = "common-practice" }`, "", "want how much filler"},
		{slurry, `sand = "slurry-filler"`, `sand = "epoxy-slurry"`, "found epoxy-slurry, a liquid: want an aggregate"},
		{cove, `only = "base"`, `only = "wall"`, "want base, of a coat"},
		{cove, `only = "base"`, "only = \"base\"\nfirst = true", "found first, base or fills"},
		{cove, `before = { prime = "tack-free" }`, "", "want a coat or cove with after"},
		{cove, `face = { value = "0.1875 in"`, `face = { value = "2 in"`, "outside its own range"},
		{"materials/flake-quarter-1.0.0.toml", `plate = { value = "5 mil", low = "4 mil", high = "6 mil", basis = "common-practice" }`, "", "beside refusal"},
		{"materials/fumed-silica-1.0.0.toml", `kind = "thickener"`, `kind = "powder"`, "want liquid, aggregate or thickener"},
		{"limits/temperatures-1.0.0.toml", `value = "40 °F"`, `value = "40 mil"`, "unit of length"},
	} {
		_, err := systems.Load(tree(t, tc.file, tc.old, tc.new))
		var f *systems.FileError
		if !errors.As(err, &f) || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s with %q:\n got %v\nwant %q", tc.file, tc.new, err, tc.want)
		}
	}
	for extra, want := range map[string]string{
		"[limits]\nmoisture = \"humidity-85\"\n":                              "not a limit of slab moisture",
		"[limits]\nmoisture = \"nobody\"\n":                                   "no limit",
		"[cracks.a]\nlength = \"1 ft\"\nwidth = \"0 in\"\ndepth = \"1 in\"\n": "cracks.a.width",
		"[steps.throw]\ntakes = \"0 lb/ft2\"\n":                               "want above 0 kg/m2",
		"[steps.body]\nface = \"1 mil\"\n":                                    "of a cove",
		"[materials.quartz-medium]\nplate = \"0.1 mm\"\n":                     "refusal",
		"[steps.throw]\nmaterial = \"fumed-silica\"\n":                        "want aggregate",
	} {
		_, err := systems.ReadJob(strings.NewReader(baseJob+extra), builtin(t))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v; want %q", extra, err, want)
		}
	}
}

// A coat on the base's face alone does not drink for the floor: where the
// floor's first coat is skipped, the next one on the floor does.
func TestWallDoesNotDrinkForTheFloor(t *testing.T) {
	const wall = "[steps.wall]\ndoes = \"coat\"\nmaterial = \"epoxy-standard\"\nfilm = \"8 mil\"\nonly = \"base\"\n\n[steps.prime]\n"
	c, err := systems.Load(tree(t, "recipes/quartz-broadcast/1.1.0.toml", "[steps.prime]\n", wall))
	if err != nil {
		t.Fatal(err)
	}
	text := changed(t, `uptake = "2 mil"`, "uptake = \"2 mil\"\nbase_length = \"50 ft\"\nbase_height = \"4 in\"")
	j, err := systems.ReadJob(strings.NewReader(text+"[steps.prime]\nskip = true\n"), c)
	if err != nil {
		t.Fatal(err)
	}
	o, err := systems.Plan(t.Context(), j)
	if err != nil {
		t.Fatal(err)
	}
	if w, b := need(t, o, "wall"), need(t, o, "body"); w.Uptake != 0 || w.Profile != 0 || !(b.Uptake > 0 && b.Profile > 0) {
		t.Errorf("the wall drinks %v and %v, the floor's body coat %v and %v", w.Uptake, w.Profile, b.Uptake, b.Profile)
	}
	near(t, "wall", float64(need(t, o, "wall").Film/units.Gallon), 50*4/12.*8/1604.16666667, 1e-6, "face of 50 ft by 4 in")
}
