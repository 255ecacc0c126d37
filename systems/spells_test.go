package systems_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// slabOf returns the base job with other readings of the slab.
func slabOf(t testing.TB, readings string, pairs ...string) string {
	t.Helper()
	return changed(t, append([]string{"\"0h\" = \"65 °F\"\n\"400h\" = \"65 °F\"\n", readings}, pairs...)...)
}

// Two cold hours of one day are two findings, each with its own hours and its
// worst one. The slab falls from 60 °F to 49 °F from 25h to 26h: it crosses the
// sheet's 50 °F after 10/11 of the hour; by hand, so for the others.
func TestEachSpellIsTold(t *testing.T) {
	o := planOf(t, slabOf(t, `"0h" = "60 °F"
"25h" = "60 °F"
"26h" = "49 °F"
"27h" = "60 °F"
"34h" = "60 °F"
"35h" = "48 °F"
"36h" = "60 °F"
"400h" = "62 °F"
`, "50 %", "30 %")+"[steps.prime]\nmaterial = \"epoxy-primer-water@1.1.0\"\n") // of a primer whose times do not change with the humidity
	var spells []systems.Finding
	for _, f := range found(o, "slab-too-cold-before-tack-free") {
		if f.Step == "body" {
			spells = append(spells, f)
		}
	}
	if len(spells) != 2 {
		t.Fatalf("%d spells, want two: %+v", len(spells), o.Findings)
	}
	hours := func(at *time.Time) float64 { return at.Sub(o.Start).Hours() }
	for i, want := range []struct{ from, worst, to, found float64 }{{25 + 10.0/11, 26, 26 + 1.0/11, 49}, {34 + 10.0/12, 35, 35 + 2.0/12, 48}} {
		f := spells[i]
		if f.Worst == nil {
			t.Fatalf("no worst hour: %+v", f)
		}
		const tol = 2.0 / 3600 // to the second, at each end
		for name, d := range map[string]float64{"from": hours(f.When) - want.from, "worst": hours(f.Worst) - want.worst, "to": hours(f.Until) - want.to} {
			if math.Abs(d) > tol {
				t.Errorf("spell %d: %s is off by %.4f h", i+1, name, d)
			}
		}
		if k := f.Found.Q.(units.Temperature).Fahrenheit(); math.Abs(k-want.found) > 1e-6 {
			t.Errorf("spell %d is down to %.3f °F, want %g", i+1, k, want.found)
		}
	}
}

// Nobody places anything at three in the morning: what a cove left overnight
// meets is told as before it is tack-free. Common practice, no source.
func TestPlacedInShiftsOnly(t *testing.T) {
	o := planOf(t, slabOf(t, `"0h" = "62 °F"
"3h" = "60 °F"
"13h" = "60 °F"
"14h" = "38 °F"
"19h" = "38 °F"
"20h" = "60 °F"
"400h" = "62 °F"
`, "50 %", "30 %", "[areas.a]\n", "[areas.a]\nbase_length = \"700 ft\"\nbase_height = \"4 in\"\nbase_radius = \"0.5 in\"\n"))
	cove := one(t, o, "cove")
	if cove.End.Day() == cove.Start.Day() {
		t.Fatal("the cove is not left overnight: the check shows nothing")
	}
	if has(o, "cove", "slab-too-cold") || !has(o, "cove", "slab-too-cold-before-tack-free") {
		t.Errorf("a cold night between two shifts: %+v", o.Findings)
	}
}

// A start that waiting offers keeps the limits until tack-free; where a recoat
// window has closed by then it says so. Common practice, no source.
func TestWaitOffersWhatWorks(t *testing.T) {
	ways := func(o *systems.Outcome, step, way string) (out []systems.Alternative) {
		for _, a := range o.Alternatives {
			if a.Step == step && a.Way == way {
				out = append(out, a)
			}
		}
		return out
	}
	demo := planOf(t, read(t, "typed.toml"))
	window := reached(t, demo, "prime", systems.RecoatLatest)
	wait := ways(demo, "body", "wait")
	if len(wait) != 1 || wait[0].Start == nil || !wait[0].Start.After(window) || !strings.Contains(wait[0].What, "abrade first") {
		t.Errorf("the prime's window closes %v, waiting offers %+v", window, wait)
	}
	if at := wait[0].Start; at.Hour() < 7 || at.Hour() >= 18 {
		t.Errorf("waiting offers %v, outside the shift", at)
	}
	warm := ways(demo, "body", "warm")
	if len(warm) != 1 || !slices.Contains(warm[0].Leaves, "air too cold") {
		t.Errorf("warming the slab under air that is too cold: %+v", warm)
	}
	// A slab too hot for its coats: wait for it to cool, and do not warm it.
	hot := planOf(t, slabOf(t, "\"0h\" = \"85 °F\"\n\"2h\" = \"85 °F\"\n\"3h\" = \"95 °F\"\n\"100h\" = \"95 °F\"\n\"150h\" = \"70 °F\"\n\"400h\" = \"70 °F\"\n"))
	if !has(hot, "prime", "slab-too-hot") && !has(hot, "prime", "slab-too-hot-before-tack-free") {
		t.Fatalf("not too hot: %+v", hot.Findings)
	}
	if w := ways(hot, "prime", "wait"); len(w) != 1 || w[0].Start == nil || w[0].Start.Sub(hot.Start) < 100*time.Hour {
		t.Errorf("the slab cools after 100h, waiting offers %+v", w)
	}
	if w := ways(hot, "prime", "warm"); len(w) != 0 {
		t.Errorf("a hot slab is to be warmed: %+v", w)
	}
	// The slab goes cold for good after the prime coat and the air stays mild: warmth is all it lacks.
	cold := planOf(t, slabOf(t, "\"0h\" = \"65 °F\"\n\"9h\" = \"65 °F\"\n\"13h\" = \"36 °F\"\n\"400h\" = \"36 °F\"\n", "68 °F", "62 °F", "50 %", "30 %"))
	var some bool
	for _, step := range []string{"prime", "body"} {
		for _, a := range ways(cold, step, "warm") {
			some = true
			if want := units.TempDelta(14 / 1.8); math.Abs(float64(a.Warmer-want)) > 1e-6 || len(a.Leaves) != 0 {
				t.Errorf("%s: warmer by %v, want 14 °F up to the sheet's 50 °F; leaves %q", step, a.Warmer, a.Leaves)
			}
		}
	}
	if !some {
		t.Errorf("no coat is to be warmed: %+v", cold.Findings)
	}
}

// A hardener whose sheet begins above the limit of the slab: warm up to its
// coldest row, or it does not cure. Common practice, no source.
func TestWarmUpToTheColdestRow(t *testing.T) {
	o := planOf(t, slabOf(t, "\"0h\" = \"55 °F\"\n\"400h\" = \"55 °F\"\n", "50 %", "30 %")+"[materials.polyaspartic.times.tack-free]\n\"60 °F\" = \"3h\"\n")
	for _, a := range o.Alternatives {
		if a.Step == "seal" && a.Way == "warm" {
			if math.Abs(float64(a.Warmer)-5/1.8) > 1e-6 {
				t.Errorf("warmer by %v, want 5 °F", a.Warmer)
			}
			return
		}
	}
	t.Errorf("a seal that never cures is not to be warmed: %+v", o.Findings)
}

// counted counts how often a plan asks whether to go on.
type counted struct {
	context.Context
	asked, stop int // stop after so many, if above zero
}

func (c *counted) Err() error {
	if c.asked++; c.stop > 0 && c.asked > c.stop {
		return context.Canceled
	}
	return nil
}

// largeColdJob is a job of 300 sections on a slab too cold for a year.
func largeColdJob(t testing.TB) systems.Job {
	text := slabOf(t, "\"0h\" = \"45 °F\"\n\"9600h\" = \"44 °F\"\n", "800 ft2", "600000 ft2", "hands = 3\n", "hands = 3\nsections = 300\n", "50 %", "90 %", "400h", "9600h")
	j, err := systems.ReadJob(strings.NewReader(text), builtin(t))
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func BenchmarkLargeColdJob(b *testing.B) { // below 2 s; 1000 such sections took more than a minute once
	j := largeColdJob(b)
	for b.Loop() {
		if _, err := systems.Plan(b.Context(), j); err != nil {
			b.Fatal(err)
		}
	}
}

// A large job stops when it is told to. Common practice, no source.
func TestLargeColdJob(t *testing.T) {
	j := largeColdJob(t)
	ctx := &counted{Context: t.Context()}
	if _, err := systems.Plan(ctx, j); err != nil {
		t.Fatal(err)
	}
	if ctx.asked < 300 {
		t.Errorf("asked %d times whether to go on, for 300 sections", ctx.asked)
	}
	ctx = &counted{Context: t.Context(), stop: 100}
	if _, err := systems.Plan(ctx, j); !errors.Is(err, context.Canceled) || ctx.asked > 101 {
		t.Errorf("stopped with %v after asking %d times, want at once", err, ctx.asked)
	}
}
