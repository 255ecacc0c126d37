package systems_test

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/report"
)

var update = flag.Bool("update", false, "write the golden files anew")

// loaded is the built-in catalog, read once: it is read-only.
var loaded = sync.OnceValues(systems.Builtin)

func builtin(t rapid.TB) *systems.Catalog {
	t.Helper()
	c, err := loaded()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func planOf(t *testing.T, text string) *systems.Outcome {
	t.Helper()
	return planWith(t, builtin(t), text)
}

func planWith(t *testing.T, c *systems.Catalog, text string) *systems.Outcome {
	t.Helper()
	j, err := systems.ReadJob(strings.NewReader(text), c)
	if err != nil {
		t.Fatal(err)
	}
	o, err := systems.Plan(context.Background(), j)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

func read(t testing.TB, name string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// The plans of the job files, read and judged by hand; vestibule.md works one
// of them out on paper. They are not a source: they show what a change changes.
func TestGoldenPlans(t *testing.T) {
	jobs := map[string]string{"demo": string(systems.DemoJob())}
	for _, name := range []string{"overlay", "two-rooms", "warehouse", "vestibule", "metric", "every-finding", "typed",
		"roll-coat", "double-quartz", "flake", "slurry", "mortar", "urethane-cement", "moisture-primed", "cove", "repair", "vertical", "methacrylate"} {
		jobs[name] = read(t, name+".toml")
	}
	for name, text := range jobs {
		t.Run(name, func(t *testing.T) {
			o := planOf(t, text)
			balance(t, o)
			for _, sys := range []units.System{units.US, units.SI} {
				if (sys == units.SI) != (name == "metric") {
					continue
				}
				var b bytes.Buffer
				if err := report.Write(&b, o, sys); err != nil {
					t.Fatal(err)
				}
				file := filepath.Join("testdata", name+".golden")
				if *update {
					if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
						t.Fatal(err)
					}
				}
				want, err := os.ReadFile(file)
				if err != nil {
					t.Fatal(err)
				}
				if d := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(b.String(), "\n")); d != "" {
					t.Errorf("the plan differs from %s (-want +got):\n%s", file, d)
				}
			}
		})
	}
}

// Public bridge-deck practice, through the whole plan: NCHRP Synthesis 423
// (2011) p. 36 and the Task Force 34 guide specification (from memory).
func TestOverlayAgainstPractice(t *testing.T) {
	o := planOf(t, read(t, "overlay.toml"))
	var held, resin, gallons float64
	for _, n := range o.TakeOff {
		held += float64(n.Held / units.Pound)
		gallons += float64((n.Film + n.Voids) / units.Gallon)
		for _, p := range n.Parts { // on the deck: what is wasted is no part of the overlay
			resin += float64(p.Mass/units.Pound) * float64(1-n.Waste/max(n.Gross, 1e-300))
		}
	}
	check := func(what string, got, want, tol float64, src string) {
		t.Helper()
		if !(math.Abs(got-want) <= tol) {
			t.Errorf("%s: %.4g, want %.4g ± %.2g (%s)", what, got, want, tol, src)
		}
	}
	check("binder gal/100 ft2", gallons/9, 7.5, 0.01*7.5, "TF 34: 2.5 and 5.0 gal/100 ft2; 1 %: course 2 also fills what course 1 left open")
	check("held lb/yd2", held/100, 18, 0.05*18, "NCHRP 423 p. 36: 18 of 24")
	check("resin by weight %", 100*resin/(resin+held), 25, 1, "NCHRP 423 p. 36: about 25 %")
	check("thickness in", float64(o.Thickness/units.Inch), 0.25, 0.025, "NCHRP 423 p. 36: about 0.25 in")
	for _, bin := range []struct{ f, hours float64 }{{62, 4}, {67, 3}, {72, 2.5}, {77, 2}, {82, 1.5}} {
		text := strings.ReplaceAll(read(t, "overlay.toml"), "72 °F", fmt.Sprintf("%g °F", bin.f))
		for _, w := range planOf(t, text).Schedule {
			for _, e := range w.Events {
				if w.Step == "course-1" && e.Event == systems.RecoatEarliest {
					check(fmt.Sprintf("next course at %g °F, h", bin.f), e.At.Sub(w.End).Hours(), bin.hours, 0.12*bin.hours, "OV1, TF 34 guide specification, from memory")
				}
			}
		}
	}
}

// balance checks that nothing is lost in a plan.
func balance(t rapid.TB, o *systems.Outcome) {
	t.Helper()
	total := map[string]units.Volume{}
	mass := map[string]units.Mass{}
	for _, n := range o.TakeOff {
		parts := n.Film + n.Voids + n.Texture + n.Profile + n.Uptake + n.Edges + n.Faces + n.Fill + n.Tools + n.Residue + n.Waste
		if math.Abs(float64(parts-n.Gross)) > 1e-9*float64(n.Gross) {
			t.Errorf("%s: gross %v is not the sum of its causes %v", n.Step, n.Gross, parts)
		}
		if math.Abs(float64(n.Thrown-n.Held-n.Vacuumed)) > 1e-9*float64(n.Thrown) {
			t.Errorf("%s: thrown %v, held %v, vacuumed %v", n.Step, n.Thrown, n.Held, n.Vacuumed)
		}
		var split units.Volume
		for _, p := range n.Parts {
			split += p.Volume
		}
		if math.Abs(float64(split-n.Gross)) > 1e-9*float64(n.Gross) {
			t.Errorf("%s: parts %v of gross %v", n.Step, split, n.Gross)
		}
		for _, v := range []float64{float64(n.Film), float64(n.Voids), float64(n.Waste), float64(n.Held), float64(n.Vacuumed), float64(n.Sand)} {
			if !(v >= 0) {
				t.Errorf("%s: a negative amount: %+v", n.Step, n)
			}
		}
		if b := n.Batches; b != nil && b.Binding == "whole kit" {
			if mixed := b.Each * units.Volume(b.N); mixed < n.Gross*(1-1e-9) || mixed-n.Gross >= b.Each*units.Volume(max(1, o.Sections)) {
				t.Errorf("%s: %d whole kits of %v for %v", n.Step, b.N, b.Each, n.Gross)
			}
		} else if b != nil && math.Abs(float64(b.Each)*float64(b.N)-float64(n.Gross)) > 1e-6*float64(n.Gross) {
			t.Errorf("%s: %d batches of %v are not %v", n.Step, b.N, b.Each, n.Gross)
		}
		total[n.Material] += n.Gross
		mass[n.Material] += n.Bought
		if n.Bought > n.Thrown*(1+1e-9) || n.Bought < n.Held*(1-1e-9) {
			t.Errorf("%s: held %v, bought %v, thrown %v", n.Step, n.Held, n.Bought, n.Thrown)
		}
	}
	for _, l := range o.Order {
		if l.UnitVolume > 0 {
			var bought units.Volume
			var whole bool
			for _, k := range l.Kits {
				bought += k.Volume * units.Volume(k.N)
			}
			for _, n := range o.TakeOff {
				whole = whole || n.Material == l.Material && n.Batches != nil && n.Batches.Binding == "whole kit"
			}
			if math.Abs(float64(bought-l.Volume-l.LeftVolume)) > 2e-9*float64(bought) {
				t.Errorf("%s: bought %v, needed %v, left %v", l.Material, bought, l.Volume, l.LeftVolume)
			}
			if math.Abs(float64(l.Volume-total[l.Material])) > 1e-9*float64(l.Volume) || bought < l.Volume*(1-2e-9) || !whole && bought-l.Volume >= l.UnitVolume*(1+1e-9) {
				t.Errorf("%s: %d kits of %v for %v (needs %v)", l.Material, l.Units, l.UnitVolume, l.Volume, total[l.Material])
			}
			continue
		}
		bought := l.UnitMass * units.Mass(l.Units)
		if l.Mass < mass[l.Material]*(1-1e-9) || bought < l.Mass*(1-2e-9) || bought-l.Mass >= l.UnitMass*(1+1e-9) {
			t.Errorf("%s: %d bags of %v for %v", l.Material, l.Units, l.UnitMass, l.Mass)
		}
	}
	last := map[int]time.Time{}
	for _, w := range o.Schedule {
		if w.End.Before(w.Start) || w.Start.Before(o.Start) {
			t.Errorf("%s: from %v to %v in a job from %v", w.Step, w.Start, w.End, o.Start)
		}
		if w.Does == systems.Coat && w.Start.Before(last[w.Section]) {
			t.Errorf("%s: section %d starts before the step under it ends", w.Step, w.Section)
		}
		if w.Does == systems.Coat {
			last[w.Section] = w.End
		}
	}
}

// randomJob draws a job that has all there can be.
func randomJob(t *rapid.T) string {
	f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	var b strings.Builder
	fmt.Fprintf(&b, "name = \"drawn\"\nrecipe = %q\nstart = \"2026-03-03T07:00:00Z\"\n", rapid.SampledFrom([]string{"quartz-broadcast", "quartz-broadcast@1.1.0", "two-course-overlay", "urethane-cement-broadcast"}).Draw(t, "recipe"))
	for i := range rapid.IntRange(1, 3).Draw(t, "areas") {
		shape := fmt.Sprintf("area = \"%g m2\"", f("area", 5, 1000))
		switch rapid.IntRange(0, 3).Draw(t, "shape") {
		case 1:
			shape = fmt.Sprintf("diameter = \"%g m\"\nfaces = \"%g m2\"", f("diameter", 3, 30), f("faces", 0, 5))
		case 2:
			shape = fmt.Sprintf("corners = [\"0 m, 0 m\", \"%g m, 1 m\", \"0 m, %g m\"]\nholes.h = { length = \"0.3 m\", width = \"0.2 m\", height = \"%g m\", count = 2 }", f("x", 5, 60), f("y", 5, 60), f("height", 0, 2))
		case 3:
			shape = fmt.Sprintf("steps = %d\nwidth = \"%g m\"\ntread = \"0.3 m\"\nriser = \"0.17 m\"", rapid.IntRange(20, 200).Draw(t, "steps"), f("stair", 1, 4))
		}
		fmt.Fprintf(&b, "[areas.a%d]\n%s\nuptake = \"%g um\"\nprofile = \"%g um\"\n", i, shape, f("uptake", 0, 300), f("profile", 0, 300))
		if rapid.Bool().Draw(t, "base") {
			fmt.Fprintf(&b, "base_length = \"%g m\"\nbase_height = \"100 mm\"\nbase_radius = \"%g mm\"\n", f("base", 1, 40), f("radius", 1, 40))
		}
	}
	if rapid.Bool().Draw(t, "patches") {
		fmt.Fprintf(&b, "[patches.p]\narea = \"%g m2\"\ndepth = \"%g mm\"\ncrown = \"%g mm\"\ncount = %d\n", f("patch", 0.01, 1), f("depth", 1, 60), f("crown", 0, 5), rapid.IntRange(1, 4).Draw(t, "count"))
	}
	if rapid.Bool().Draw(t, "joints") {
		fmt.Fprintf(&b, "[joints.j]\nlength = \"%g m\"\nwidth = \"%g mm\"\ndepth = \"%g mm\"\n", f("joint", 0.5, 80), f("width", 2, 20), f("jdepth", 5, 60))
		if rapid.Bool().Draw(t, "over") {
			fmt.Fprintf(&b, "over = \"%g mm\"\nform = %q\n", f("bead", 0, 1), rapid.SampledFrom([]string{"square", "v"}).Draw(t, "form"))
		}
	}
	if rapid.Bool().Draw(t, "limit") {
		fmt.Fprintf(&b, "[volatiles]\nmost = \"%g g/L\"\nowner = \"drawn\"\n", f("voc", 0, 400))
	}
	fmt.Fprintf(&b, "[grind]\ngrits = [\"30\", \"60\"]\n[crew]\nhands = %d\nfrom = \"07:00\"\nto = \"%02d:00\"\n", rapid.IntRange(1, 12).Draw(t, "hands"), rapid.IntRange(10, 22).Draw(t, "to"))
	for _, s := range []string{"slab", "air"} {
		fmt.Fprintf(&b, "[temperatures.%s]\n", s)
		for i := range rapid.IntRange(1, 8).Draw(t, s) {
			fmt.Fprintf(&b, "\"%dh\" = \"%g °C\"\n", 12*i, f(s, -5, 38))
		}
	}
	fmt.Fprintf(&b, "[temperatures.rh]\n\"0h\" = \"%g %%\"\n\"48h\" = \"%g %%\"\n", f("rh", 20, 100), f("rh2", 20, 100))
	return b.String()
}

func TestPlansBalance(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		text := randomJob(t)
		j, err := systems.ReadJob(strings.NewReader(text), c)
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		o, err := systems.Plan(context.Background(), j)
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		balance(t, o)
		var b bytes.Buffer
		if err := report.Write(&b, o, units.US); err != nil || strings.Contains(b.String(), "NaN") || strings.Contains(b.String(), "Inf") {
			t.Fatalf("report: %v\n%s", err, b.String())
		}
	})
}

// broken says whether a job's text is refused as it should be.
func broken(t rapid.TB, c *systems.Catalog, text string) {
	t.Helper()
	j, err := systems.ReadJob(strings.NewReader(text), c)
	if err == nil {
		if _, err = systems.Plan(context.Background(), j); err == nil {
			return // still a good job
		}
		if !strings.HasPrefix(err.Error(), "systems.Plan: ") {
			t.Errorf("the plan's error does not say where: %v", err)
		}
		return
	}
	all := []error{err}
	if many := (*systems.FileErrors)(nil); errors.As(err, &many) {
		all = many.All
	}
	for _, err := range all {
		var f *systems.FileError
		if !errors.As(err, &f) || f.Line == 0 && f.Key == "" || strings.Contains(err.Error(), "\n") {
			t.Errorf("no line or key, or more than one line: %v", err)
		}
	}
	if len(all) > 20 {
		t.Errorf("%d faults at once: want at most 20", len(all))
	}
}

func TestBrokenJobs(t *testing.T) { // good jobs with one thing wrong
	c := builtin(t)
	good := []string{string(systems.DemoJob()), read(t, "typed.toml"), read(t, "two-rooms.toml"), read(t, "every-finding.toml"), read(t, "vestibule.toml"), read(t, "metric.toml")}
	junk := []string{"", "\"\"", "5", "-5", "\"5\"", "\"-5 ft\"", "\"1e300 ft\"", "\"nan °F\"", "nan", "inf", "[]", "{}", "true", "\"12 lb\"", "\"0 ft\"", "2026-01-01", "[[1]]", "\"\\u0000\"", "'''\n'''"}
	for _, job := range good { // 100 of each
		rapid.Check(t, func(t *rapid.T) { breakOneLine(t, c, job, junk) })
	}
}

func breakOneLine(t *rapid.T, c *systems.Catalog, job string, junk []string) {
	lines := strings.Split(job, "\n")
	i := rapid.IntRange(0, len(lines)-1).Draw(t, "line")
	switch key, _, ok := strings.Cut(lines[i], "="); rapid.IntRange(0, 4).Draw(t, "way") {
	case 0:
		lines[i] = ""
	case 1:
		lines[i] = lines[i] + "\n" + lines[i]
	case 2:
		lines[i] = strings.ToUpper(lines[i])
	case 3:
		lines[i] = "x" + lines[i]
	default:
		if ok {
			lines[i] = key + "= " + rapid.SampledFrom(junk).Draw(t, "junk")
		}
	}
	broken(t, c, strings.Join(lines, "\n"))
}

// Every kind of finding that the outcome of a plan can have turns up in one job.
// Common practice, no source.
func TestEveryFinding(t *testing.T) {
	seen := map[string]bool{}
	for _, f := range planOf(t, read(t, "every-finding.toml")).Findings {
		seen[f.Key] = true
		if text := f.Sentence(units.US); strings.HasPrefix(text, f.Key) || !strings.HasSuffix(text, ".") {
			t.Errorf("%s has no sentence: %q", f.Key, text)
		}
	}
	for _, key := range []string{"slab-too-cold", "air-too-cold", "air-too-damp", "dew-point-margin", "slab-falling", "colder-than-data-sheet", "never-cures", "window-missed", "broadcast-too-late",
		"pot-life-too-short", "shift-too-short", "film-too-thin", "film-too-thick", "build-out-of-range", "uptake-unmeasured", "slab-too-wet", "patch-too-deep", "scratch-telegraphs", "weather-held", "joint-too-young", "slab-too-cold-before-tack-free"} {
		if !seen[key] {
			t.Errorf("no finding %s", key)
		}
	}
}

// One wrong line each: the message names line, key, what was found, what is allowed.
func TestJobErrors(t *testing.T) {
	c := builtin(t)
	demo := read(t, "typed.toml")
	line := func(old string) int { return 1 + strings.Count(demo[:strings.Index(demo, old)], "\n") }
	for _, tc := range []struct{ old, new, key, want string }{
		{`length = "42 ft"`, `length = "42"`, "areas.bottling.length", "a number alone has no unit; want a number and one of: m,"},
		{`length = "42 ft"`, `lenght = "42 ft"`, "areas.bottling.lenght", "want one of area, base_height"},
		{`length = "42 ft"`, `Length = "42 ft"`, "areas.bottling.Length", "unknown key"},
		{`length = "42 ft"`, `length = 42`, "areas.bottling.length", "want a text in quotes"},
		{`hands = 3`, `hands = 0`, "crew.hands", "want 1 to 1000"},
		{`"6h" = "47 °F"`, `"6h" = "47 gal"`, "temperatures.slab.6h", "unit of volume"},
		{`grits = ["30", "60"]`, `grits = ["30", "61"]`, "grind.grits", `found grit "61"`},
		{`solids = "98 %"`, `solids = "198 %"`, "materials.epoxy-standard.solids", "want 5 % to 100 %"},
		{`recipe = "quartz-broadcast@1.1.0"`, `recipe = "quartz"`, "recipe", "quartz-broadcast@1.0.0, quartz-broadcast@1.1.0"},
		{`to = "18:30"`, `to = "06:30"`, "crew.to", "at least one hour after"},
		{`"168h" = "58 °F"`, `"560000h" = "58 °F"`, "temperatures.slab.560000h", "within 400 days of the start"},
	} {
		_, err := systems.ReadJob(strings.NewReader(strings.Replace(demo, tc.old, tc.new, 1)), c)
		var f *systems.FileError
		if !errors.As(err, &f) || f.Line != line(tc.old) || f.Key != tc.key && !strings.HasSuffix(f.Key, tc.key) || !strings.Contains(f.Problem, tc.want) {
			t.Errorf("%s:\n got %v\nwant line %d, %s, %q", tc.new, err, line(tc.old), tc.key, tc.want)
		}
	}
}

// A chemistry that may go down at 40 °F and one that may not below 50 °F differ
// in the plan. Common practice, no source.
func TestColdChemistry(t *testing.T) {
	cold := strings.ReplaceAll(strings.ReplaceAll(read(t, "two-rooms.toml"), "66 °F", "45 °F"), "68 °F", "45 °F")
	cold = strings.ReplaceAll(cold, "70 °F", "52 °F") + "\n[steps.prime]\nmaterial = \"epoxy-standard-cold\"\n[steps.body]\nmaterial = \"epoxy-standard-cold\"\n"
	has := func(o *systems.Outcome, step, key string) bool {
		for _, f := range o.Findings {
			if f.Step == step && f.Key == key {
				return true
			}
		}
		return false
	}
	epoxy := planOf(t, cold)
	poly := planOf(t, cold+"\n[steps.grout]\nmaterial = \"polyaspartic\"\n")
	if !has(epoxy, "grout", "slab-too-cold") {
		t.Errorf("epoxy at 45 °F without a finding: %+v", epoxy.Findings)
	}
	if has(poly, "grout", "slab-too-cold") {
		t.Error("polyaspartic at 45 °F is refused")
	}
}

func FuzzReadJob(f *testing.F) {
	f.Add(string(systems.DemoJob()))
	for _, name := range []string{"two-rooms", "vestibule", "metric", "every-finding", "overlay", "typed"} {
		text, err := os.ReadFile(filepath.Join("testdata", name+".toml"))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(text))
	}
	c := builtin(f)
	f.Fuzz(func(t *testing.T, text string) { broken(t, c, text) })
}

func BenchmarkPlan(b *testing.B) { // the whole coupled demo plan, warm: at most 25 ms and 20 000 allocations
	c := builtin(b)
	j, err := systems.ReadJob(bytes.NewReader(systems.DemoJob()), c)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := systems.Plan(context.Background(), j); err != nil {
			b.Fatal(err)
		}
	}
}

// Each course of the overlay throws what the guide specification asks for: 10
// and 14 lb/yd2 (AASHTO TF 34, from memory), within 3 % of the rounding of the
// shares kept.
func TestOverlayCourses(t *testing.T) {
	o := planOf(t, read(t, "overlay.toml"))
	for _, n := range o.TakeOff {
		if want := map[string]float64{"throw-1": 10, "throw-2": 14}[n.Step]; want > 0 {
			if got := float64(n.Thrown/units.Pound) / float64(n.Area/units.SquareFoot) * 9; math.Abs(got/want-1) > 0.03 {
				t.Errorf("%s: %.2f lb/yd2, want %v", n.Step, got, want)
			}
		}
	}
}
