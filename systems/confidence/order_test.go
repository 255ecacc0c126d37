package confidence_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/still"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/confidence"
)

var loaded = sync.OnceValues(systems.Builtin)

func plan(text string, c *systems.Catalog) (*systems.Outcome, error) {
	j, err := systems.ReadJob(strings.NewReader(text), c)
	if err != nil {
		return nil, err
	}
	return systems.Plan(context.Background(), j)
}

var demo = sync.OnceValue(func() *systems.Outcome {
	c, err := loaded()
	if err != nil {
		panic(err)
	}
	o, err := plan(string(systems.DemoJob()), c)
	if err != nil {
		panic(err)
	}
	return o
})

// with is [still.Catalog]. The numbers of these tests are our own, no source.
func with(t testing.TB, scatter map[string]string) *systems.Catalog {
	t.Helper()
	own, err := still.Catalog(scatter)
	if err != nil {
		t.Fatal(err)
	}
	return own
}

// coat is a job of one coat: 800 ft2 of body at 10 mil, no base, nothing drunk, of a
// material that comes in one kit of 3 gal.
const coat = `name = "one coat"
recipe = "quartz-broadcast@1.1.0"
start = "2026-05-04T07:00:00-04:00"
[areas.a]
area = "800 ft2"
uptake = "0 mil"
profile = "0 mil"
[steps.prime]
skip = true
[steps.throw]
skip = true
[steps.grout]
skip = true
[steps.seal]
skip = true
[steps.body]
waste = "5 %"
material = "epoxy-standard@1.1.0"
[crew]
hands = 3
from = "07:00"
to = "17:00"
[temperatures.slab]
"0h" = "65 °F"
[temperatures.air]
"0h" = "68 °F"
[temperatures.rh]
"0h" = "50 %"
`

func of(t testing.TB, o *systems.Outcome, opt confidence.Options) *confidence.Order {
	t.Helper()
	r, err := confidence.Of(context.Background(), o, opt)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// One coat of which the film alone scatters: its P-levels are the lognormal's own
// quantiles, and the chance that n kits run short is its tail. 800 ft2 at 10 mil
// is 4.987 gal (1604.17 ft2 mil/gal), over 0.95 5.249 gal: two kits of 3 gal. Source:
// gonum/stat/distuv; coverage constant A1-01.
func TestOneComponent(t *testing.T) {
	o, err := plan(coat, with(t, map[string]string{"film-squeegee": "shape = \"lognormal\"\nmean = \"104 %\"\nspread = \"12 %\""}))
	if err != nil {
		t.Fatal(err)
	}
	need := 800 * 10 / 1604.16666667 / 0.95
	v := math.Log(1 + 0.12*0.12)
	film := distuv.LogNormal{Mu: math.Log(1.04) - v/2, Sigma: math.Sqrt(v)}
	r := of(t, o, confidence.Options{})
	l := r.Lines[0]
	if l.Planned != 2 {
		t.Fatalf("%d kits planned, want 2", l.Planned)
	}
	for _, x := range []struct {
		got systems.Amount
		p   float64
	}{{l.Need50, 0.5}, {l.Need80, 0.8}, {l.Need90, 0.9}} {
		if got, want := float64(x.got.Q.(units.Volume)/units.Gallon), need*film.Quantile(x.p); math.Abs(got-want) > 1e-3*want {
			t.Errorf("P%g %.4f gal, want %.4f", 100*x.p, got, want)
		}
	}
	for n := range 4 {
		if got, want := float64(l.RunsShort(n)), film.Survival(3*float64(n)/need); math.Abs(got-want) > 2e-4 {
			t.Errorf("%d kits run short in %.4f, want %.4f", n, got, want)
		}
	}
	if len(l.Drivers) != 1 || l.Drivers[0].What != "film" || math.Abs(float64(l.Drivers[0].Share)-1) > 0.01 {
		t.Errorf("driven by %v, want the film alone", l.Drivers)
	}
}

// Film and waste scatter: gross = film x (1 + w m), w = 0.05/0.95. Its distribution
// by numerical convolution over the waste (gonum/integrate/quad), against the
// draws', within the sampling error.
func TestTwoComponents(t *testing.T) {
	o, err := plan(strings.Replace(coat, `waste = "5 %"`, `waste = "20 %"`, 1), with(t, map[string]string{"film-squeegee": "shape = \"normal\"\nmean = \"100 %\"\nspread = \"10 %\"", "waste": "shape = \"lognormal\"\nmean = \"110 %\"\nspread = \"60 %\""}))
	if err != nil {
		t.Fatal(err)
	}
	net := 800 * 10 / 1604.16666667
	v := math.Log(1 + 0.36)
	waste, film := distuv.LogNormal{Mu: math.Log(1.1) - v/2, Sigma: math.Sqrt(v)}, distuv.Normal{Mu: 1, Sigma: 0.1}
	above := func(gal float64) float64 {
		return quad.Fixed(func(p float64) float64 { return film.Survival(gal / net / (1 + 0.25*waste.Quantile(p))) }, 0, 1, 2000, quad.Legendre{}, 0)
	}
	r := of(t, o, confidence.Options{Draws: 50000, Workers: 2})
	l := r.Lines[0]
	for n := 1; n < 5; n++ {
		if got, want := float64(l.RunsShort(n)), above(3*float64(n)); math.Abs(got-want) > 3*float64(r.Error) {
			t.Errorf("%d kits run short in %.4f, want %.4f", n, got, want)
		}
	}
	for _, x := range []struct {
		got systems.Amount
		p   float64
	}{{l.Need50, 0.5}, {l.Need80, 0.8}, {l.Need90, 0.9}} {
		if p := 1 - above(float64(x.got.Q.(units.Volume)/units.Gallon)); math.Abs(p-x.p) > 3*float64(r.Error) {
			t.Errorf("the P%g is exceeded by a share of %.4f", 100*x.p, 1-p)
		}
	}
}

// The grain follows the film: with the film alone scattering, each draw's quartz is
// what the volume balance holds in that film over the share that stays, and the
// grout's voids are that bed's. Source: aggregate.ToRefusal and Bed.Grout, checked
// on their own against NCHRP Synthesis 423.
func TestGrainFollowsFilm(t *testing.T) {
	text := strings.Replace(coat, "[steps.throw]\nskip = true\n[steps.grout]\nskip = true\n", "[steps.grout]\nwaste = \"0 %\"\nfilm = \"4 mil\"\nmaterial = \"polyaspartic\"\n", 1)
	o, err := plan(text, with(t, map[string]string{"film-squeegee": "shape = \"lognormal\"\nmean = \"100 %\"\nspread = \"15 %\""}))
	if err != nil {
		t.Fatal(err)
	}
	need := map[string]systems.Need{}
	for _, n := range o.TakeOff {
		need[n.Step] = n
	}
	c, _ := loaded()
	quartz, err := c.Material("quartz-medium")
	if err != nil {
		t.Fatal(err)
	}
	clear, _ := c.Material("polyaspartic")
	r := of(t, o, confidence.Options{Draws: 500})
	at := map[string]int{}
	for i, l := range r.Lines {
		name, _, _ := strings.Cut(l.Material, "@")
		at[name] = i
	}
	body, grout := need["body"], need["grout"]
	var d confidence.Draw
	var films, grain []float64
	for i := range r.Draws {
		if err := r.Draw(i, &d); err != nil {
			t.Fatal(err)
		}
		f := d.Needs[at["epoxy-standard"]] / float64(body.Gross)
		bed, err := aggregate.ToRefusal(body.Wet*units.Length(f), aggregate.Grain{Size: quartz.Size.Q, Density: quartz.Density.Q, Packing: quartz.Packing.Q, Coverage: quartz.Coverage.Q})
		if err != nil {
			t.Fatal(err)
		}
		want := float64(bed.Held.Over(body.Area)) / float64(quartz.Retention.Q)
		if got := d.Needs[at["quartz-medium"]]; math.Abs(got-want) > 1e-9*want {
			t.Fatalf("draw %d: %.6f kg of quartz in a film of %.3f of the plan's, want %.6f", i, got, f, want)
		}
		if back := float64(d.Vacuumed); math.Abs(back-want*(1-float64(quartz.Retention.Q))) > 1e-9*want {
			t.Fatalf("draw %d: %.6f kg vacuumed of %.6f thrown", i, back, want)
		}
		voids, err := bed.Grout(0)
		if err != nil {
			t.Fatal(err)
		}
		wantGrout := float64(grout.Film) + float64(voids.Over(body.Area))/float64(clear.Solids.Q)
		if got := d.Needs[at["polyaspartic"]]; math.Abs(got-wantGrout) > 1e-9*wantGrout {
			t.Fatalf("draw %d: %.9f m3 of grout, want %.9f", i, got, wantGrout)
		}
		films, grain = append(films, f), append(grain, want)
	}
	if c := stat.Correlation(films, grain, nil); c < 0.5 {
		t.Errorf("grain and film go together by %.2f only", c)
	}
}

// One crew's hand is in all films: two coats that share half of their variance go
// together by a half (the scores' correlation is the share, by construction), and
// by nothing where nothing is shared. Tolerance 3/sqrt(n).
func TestFilmsShareTheCrew(t *testing.T) {
	text := strings.Replace(coat, "[steps.seal]\nskip = true\n", "[steps.seal]\nwaste = \"0 %\"\n", 1)
	for _, shared := range []float64{0, 50, 100} {
		lines := fmt.Sprintf("shape = \"lognormal\"\nmean = \"100 %%\"\nspread = \"10 %%\"\nshared = \"%g %%\"", shared)
		o, err := plan(text, with(t, map[string]string{"film-squeegee": lines, "film-roller": lines}))
		if err != nil {
			t.Fatal(err)
		}
		r := of(t, o, confidence.Options{Draws: 4000})
		var a, b []float64
		var d confidence.Draw
		for i := range r.Draws {
			if err := r.Draw(i, &d); err != nil {
				t.Fatal(err)
			}
			a, b = append(a, math.Log(d.Needs[0])), append(b, math.Log(d.Needs[1]))
		}
		if got := stat.Correlation(a, b, nil); math.Abs(got-shared/100) > 3/math.Sqrt(4000) {
			t.Errorf("films that share %g %% go together by %.3f", shared, got)
		}
	}
}

// The same seed gives the same bytes, on any number of workers; another does not.
func TestSameSeedSameBytes(t *testing.T) {
	var first []byte
	for _, workers := range []int{1, 2, 3, 8, 1} {
		b, err := json.Marshal(of(t, demo(), confidence.Options{Draws: 3000, Seed: 42, Workers: workers}))
		if err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = b
		}
		if !bytes.Equal(first, b) {
			t.Fatalf("%d workers:\n%s\n%s", workers, b, first)
		}
	}
	b, err := json.Marshal(of(t, demo(), confidence.Options{Draws: 3000, Seed: 43}))
	if err != nil || bytes.Equal(first, b) {
		t.Errorf("another seed gives the same bytes (%v)", err)
	}
}

// Whatever the plan: the levels rise, more kits run short less often, with the
// plan's amounts where nothing scatters. All job files of systems, so all recipes.
func TestEveryRecipe(t *testing.T) {
	files, err := filepath.Glob("../testdata/*.toml")
	if err != nil || len(files) < 15 {
		t.Fatalf("%d job files, %v", len(files), err)
	}
	full, err := loaded()
	if err != nil {
		t.Fatal(err)
	}
	none := with(t, nil)
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		o, err := plan(string(text), full)
		if err != nil {
			t.Fatal(err)
		}
		r, err := confidence.Of(context.Background(), o, confidence.Options{Draws: 300})
		if err != nil {
			t.Errorf("%s: %v", file, err)
			continue
		}
		orderly(t, r)
		if o, err = plan(string(text), none); err != nil {
			t.Fatal(err)
		}
		if _, err := confidence.Of(context.Background(), o, confidence.Options{Draws: 300}); err == nil || !strings.Contains(err.Error(), "nothing in this plan scatters") {
			t.Errorf("%s, where nothing scatters: %v", file, err)
		}
	}
}

// orderly checks what holds of every order.
func orderly(t rapid.TB, r *confidence.Order) {
	t.Helper()
	for i := range r.Lines {
		l := &r.Lines[i]
		if !(units.Compare(l.Need50.Q, l.Need80.Q) <= 0 && units.Compare(l.Need80.Q, l.Need90.Q) <= 0) || l.Sizes == 1 && !(l.P50 <= l.P80 && l.P80 <= l.P90) {
			t.Errorf("%s: P50 %d, P80 %d, P90 %d; %v, %v, %v", l.Material, l.P50, l.P80, l.P90, l.Need50.Q, l.Need80.Q, l.Need90.Q)
		}
		if l.Unit == "kit" {
			for _, x := range []struct {
				level units.Fraction
				n     int
				kits  []systems.KitLine
			}{{0.5, l.P50, l.Kits50}, {0.8, l.P80, l.Kits80}, {0.9, l.P90, l.Kits90}, {r.Level, l.ForLevel, l.KitsFor}} {
				n := 0
				for _, k := range x.kits {
					n += k.N
				}
				if n != x.n || l.ShortWith(x.kits) > 1-x.level+1e-12 {
					t.Errorf("%s: %v for %v run short in %v; %d in all", l.Material, x.kits, x.level, l.ShortWith(x.kits), x.n)
				}
			}
			if l.ShortWith(l.Kits) != l.Short {
				t.Errorf("%s: the planned %v run short in %v, and in %v", l.Material, l.Kits, l.ShortWith(l.Kits), l.Short)
			}
		}
		if !(l.OneLess >= l.Short && l.Short >= l.OneMore) || l.Sizes == 1 && (l.RunsShort(l.P90) > 0.1+1e-12 || l.P90 > 0 && l.RunsShort(l.P90-1) <= 0.1) {
			t.Errorf("%s: run short %v, %v, %v; P90 %d", l.Material, l.OneLess, l.Short, l.OneMore, l.P90)
		}
		last := units.Fraction(1)
		for n := 0; n < l.P90+3; n++ {
			if now := l.RunsShort(n); now > last || now < 0 {
				t.Errorf("%s: %d run short in %v, one fewer in %v", l.Material, n, now, last)
			} else {
				last = now
			}
		}
		sum := units.Fraction(0)
		for _, d := range l.Drivers {
			sum += d.Share
		}
		// Four deviations of the noise that firstOrder states, summed over 20 factors: of
		// the large shares at most 4/n, of the small ones 2 x 32/n^2 each.
		n := float64(r.Draws)
		if most := units.Fraction(1 + 4*math.Sqrt(4/n+20*2*32/(n*n))); sum > most || l.Told > most {
			t.Errorf("%s: shares add up to %v, told %v; at most %v", l.Material, sum, l.Told, most)
		}
		if r.Short < l.Short {
			t.Errorf("something runs short in %v, %s in %v", r.Short, l.Material, l.Short)
		}
	}
}

// More scatter never lowers the kits for nine of ten, where the factor is
// symmetric about what is planned and it alone scatters: the quantile at 90 % then
// is mean + 1.28 standard deviations. (Not so of a lognormal of a given mean, whose
// quantile falls again where it is very wide, nor below the middle.) Analytic.
func TestMoreScatterMoreKits(t *testing.T) {
	type at struct{ spread, area int }
	orders := map[at]int{}
	for _, spread := range []int{0, 3, 6, 12, 20, 30} {
		if spread == 0 {
			continue // nothing would scatter
		}
		c := with(t, map[string]string{"film-squeegee": fmt.Sprintf("shape = \"normal\"\nmean = \"100 %%\"\nspread = \"%d %%\"", spread)})
		for _, area := range []int{300, 800, 1900, 5200} {
			o, err := plan(strings.Replace(coat, "800 ft2", fmt.Sprintf("%d ft2", area), 1), c)
			if err != nil {
				t.Fatal(err)
			}
			r := of(t, o, confidence.Options{Draws: 2000, Seed: 5})
			orders[at{spread, area}] = r.Lines[0].P90
			if r.Lines[0].P90 < r.Lines[0].Planned {
				t.Errorf("%d ft2, %d %%: %d kits for nine of ten, %d planned", area, spread, r.Lines[0].P90, r.Lines[0].Planned)
			}
		}
	}
	for _, area := range []int{300, 800, 1900, 5200} {
		last := 0
		for _, spread := range []int{3, 6, 12, 20, 30} {
			if n := orders[at{spread, area}]; n < last {
				t.Errorf("%d ft2: %d kits at a spread of %d %%, %d at less", area, n, spread, last)
			} else {
				last = n
			}
		}
	}
	if orders[at{3, 5200}] == orders[at{30, 5200}] {
		t.Error("scatter does not matter to the order")
	}
}

// Past jobs of the file move the order as they say: three floors whose film came
// out at 125 % raise the need of the coat by more than the class alone does, and no
// further than that. Properties of the weighing; no source.
func TestPastJobs(t *testing.T) {
	c, err := loaded()
	if err != nil {
		t.Fatal(err)
	}
	o, err := plan(coat, c)
	if err != nil {
		t.Fatal(err)
	}
	before := of(t, o, confidence.Options{})
	text := coat
	for _, job := range []string{"a", "b", "c"} {
		text += "[past." + job + "]\nfilm-squeegee = { planned = \"8 gal\", used = \"10 gal\" }\n"
	}
	if o, err = plan(text, c); err != nil {
		t.Fatal(err)
	}
	after := of(t, o, confidence.Options{})
	v := func(r *confidence.Order) float64 { return float64(r.Lines[0].Need50.Q.(units.Volume)) }
	if ratio := v(after) / v(before); !(ratio > 1.03 && ratio < 1.25/1.03) {
		t.Errorf("three jobs at 125 %% raise the middle need by %.3f", ratio)
	}
	i := slices.IndexFunc(after.Used, func(u confidence.Used) bool { return u.ID == "film-squeegee" })
	if i < 0 || after.Used[i].Jobs != 3 {
		t.Errorf("used: %+v", after.Used)
	}
	same := of(t, demo(), confidence.Options{Draws: 500})
	more := of(t, demo(), confidence.Options{Draws: 500, Past: []systems.PastUse{{Job: "x", Scatter: "loose", Ratio: 2}}})
	if same.Lines[5].Need50 == more.Lines[5].Need50 {
		t.Error("a past job given beside the file does nothing")
	}
}

// Re-use of loose grain, against the mass balance section by section: of what is
// bought nothing but what stays and what is left over. Source: aggregate.Reuse.
func TestReuse(t *testing.T) {
	text := strings.Replace(strings.Replace(coat, "[steps.throw]\nskip = true\n", "", 1), "[crew]", "[crew]\nsections = 4", 1)
	again := strings.Replace(text, "[steps.body]", "[steps.throw]\nusable = \"90 %\"\n[steps.body]", 1)
	even := with(t, map[string]string{"film-squeegee": "shape = \"lognormal\"\nmean = \"100 %\"\nspread = \"1 %\""})
	reused, err := plan(again, even)
	if err != nil {
		t.Fatal(err)
	}
	o, err := plan(text, even)
	if err != nil {
		t.Fatal(err)
	}
	r := of(t, reused, confidence.Options{Draws: 100})
	var d confidence.Draw
	if err := r.Draw(0, &d); err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(r.Lines, func(l confidence.Line) bool { return l.Unit == "bag" })
	keeps := units.Fraction(0)
	var area units.Area
	for _, n := range o.TakeOff {
		if n.Thrown > 0 {
			keeps, area = units.Fraction(n.Held/n.Thrown), n.Area
		}
	}
	plain := of(t, o, confidence.Options{Draws: 100})
	var p confidence.Draw
	if err := plain.Draw(0, &p); err != nil {
		t.Fatal(err)
	}
	quarter := area / 4
	want, left, err := aggregate.Reuse{Held: units.Loading(p.Needs[i] * float64(keeps) / float64(area)), Retention: keeps, Usable: 0.9}.Bought([]units.Area{quarter, quarter, quarter, quarter})
	if err != nil || math.Abs(d.Needs[i]-float64(want)) > 1e-9*float64(want) || d.Needs[i] >= p.Needs[i] {
		t.Errorf("%.4f kg bought with re-use, want %.4f; %.4f without (%v)", d.Needs[i], float64(want), p.Needs[i], err)
	}
	if float64(d.Vacuumed) < float64(left) {
		t.Errorf("%v to be rid of, %v left over and more discarded", d.Vacuumed, left)
	}
}

// What is wrong is said, with its name and what is allowed.
func TestOptions(t *testing.T) {
	for _, tc := range []struct {
		opt  confidence.Options
		want string
	}{
		{confidence.Options{Draws: 99}, "Draws"},
		{confidence.Options{Draws: 2000000}, "Draws"},
		{confidence.Options{Level: 0.4}, "Level"},
		{confidence.Options{Level: units.Fraction(math.NaN())}, "Level"},
		{confidence.Options{Workers: -1}, "Workers"},
		{confidence.Options{Past: []systems.PastUse{{Job: "x", Scatter: "film", Ratio: 1}}}, `no scatter "film"`},
		{confidence.Options{Past: []systems.PastUse{{Job: "x", Scatter: "loose", Ratio: 0}}}, "want 5 % to 2000 %"},
	} {
		if _, err := confidence.Of(context.Background(), demo(), tc.opt); err == nil || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%+v: %v, want %q", tc.opt, err, tc.want)
		}
	}
	if _, err := confidence.Of(context.Background(), &systems.Outcome{}, confidence.Options{}); err == nil || !strings.Contains(err.Error(), "Replay") {
		t.Errorf("an outcome of nowhere: %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	for _, workers := range []int{1, 2} {
		if _, err := confidence.Of(ctx, demo(), confidence.Options{Workers: workers}); err != context.Canceled {
			t.Errorf("cancelled: %v", err)
		}
	}
	r := of(t, demo(), confidence.Options{Draws: 100})
	if _, _, err := r.Lines[0].For(1.2); err == nil {
		t.Error("kits for 120 %")
	}
	l := new(confidence.Line) // an app's own, without draws
	if _, _, err := l.For(0.9); err == nil || !math.IsNaN(float64(l.RunsShort(2))) || !math.IsNaN(float64(l.ShortWith(nil))) {
		t.Errorf("a line without draws: %v, %v, %v", err, l.RunsShort(2), l.ShortWith(nil))
	}
	if _, err := confidence.Of(context.Background(), nil, confidence.Options{}); err == nil {
		t.Error("no outcome at all has an order")
	}
	if _, _, err := r.Drives(make([]float64, 3)); err == nil {
		t.Error("three values for 100 draws")
	}
	if err := r.Draw(100, &confidence.Draw{}); err == nil {
		t.Error("draw 100 of 0 to 99")
	}
	if err := new(confidence.Order).Draw(0, &confidence.Draw{}); err == nil {
		t.Error("a draw of nothing")
	}
}

// Drawn jobs keep what holds of every order.
func TestDrawnJobs(t *testing.T) {
	c, err := loaded()
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		text := strings.Replace(coat, `area = "800 ft2"`, fmt.Sprintf("area = \"%g m2\"", f("area", 5, 800)), 1)
		text = strings.Replace(text, `uptake = "0 mil"`, fmt.Sprintf("uptake = \"%g um\"", f("uptake", 0, 200)), 1)
		text = strings.Replace(text, "[steps.throw]\nskip = true\n[steps.grout]\nskip = true\n", fmt.Sprintf("[steps.grout]\nfilm = \"%g mil\"\n", f("film", 2, 12)), 1)
		text = strings.Replace(text, "[steps.body]", fmt.Sprintf("[steps.body]\nfilm = \"%g mil\"", f("body", 6, 20)), 1)
		text += fmt.Sprintf("[patches.p]\narea = \"%g m2\"\ndepth = \"%g mm\"\n", f("patch", 0.01, 1), f("depth", 2, 40))
		o, err := plan(text, c)
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		r, err := confidence.Of(context.Background(), o, confidence.Options{Draws: 300, Seed: rapid.Uint64().Draw(t, "seed"), Level: units.Fraction(f("level", 0.5, 0.999))})
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		orderly(t, r)
	})
}

// Sentences say what the fields say. Our own wording.
func TestSentence(t *testing.T) {
	l := confidence.Line{Name: "Epoxy", Unit: "kit", Planned: 7, P50: 6, P80: 7, P90: 8, Short: 0.12, OneMore: 0.004, OneLess: 0.45,
		Drivers: []confidence.Driver{{What: "film", Share: 0.61}, {What: "waste", Share: 0.22}}}
	want := "Epoxy: 7 kits planned; 6 would do in half of such jobs, 7 in eight of ten, 8 in nine of ten; 12 % chance that 7 run short, under 1 % with one more, 45 % with one less; drives it: film 61 %, waste 22 %."
	if got := l.Sentence(units.US); got != want {
		t.Errorf("%s\nwant\n%s", got, want)
	}
	for p, want := range map[units.Fraction]string{0: "0 %", 0.004: "under 1 %", 0.6: "60 %", 0.999: "over 99 %", 1: "100 %"} {
		if got := confidence.Chance(p); got != want {
			t.Errorf("%v: %s, want %s", p, got, want)
		}
	}
}
