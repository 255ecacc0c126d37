package confidence_test

import (
	"io/fs"
	"math"
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"gonum.org/v1/gonum/stat/distuv"

	"github.com/tackfree/tackfree/data"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/still"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/confidence"
)

// losses is a job of one coat with losses by cause, of a material in pails of 3 gal
// and drums of 15 gal. Its numbers are our own; common practice, no source.
var losses = strings.NewReplacer(`"quartz-broadcast@1.1.0"`, `"quartz-broadcast@1.2.0"`, `area = "800 ft2"`, "length = \"40 ft\"\nwidth = \"20 ft\"\nfaces = \"30 ft2\"",
	`material = "epoxy-standard@1.1.0"`, `material = "epoxy-standard@1.2.0"`).Replace(coat)

// The losses of a draw by hand, where the film alone or the waste alone scatters:
// the need rises with either, so that its levels are the need at the levels of the
// factor (gonum/stat/distuv). Film, edges and faces go with the film's factor; what
// tools and buckets hold and what is spilled of 5 % goes with the other:
//
//	net = (800 x 10 + 120 x 0.25 x 3 + 30 x 6)/1604.1667 gal x film
//	A = net + w (tools + 0.05/0.95 (net + tools)), tools 16 fl oz
//	c = w x 1.5 fl oz/0.95 in each bucket, n = ceil(A/(batch - c)), gross = A + c n
//
// Source: volume balance; the amounts are the recipe's, as in losses_test.go of
// systems.
func TestLossesInDraws(t *testing.T) {
	const per = 1604.16666666667
	for id, factor := range map[string]distuv.Normal{"film-squeegee": {Mu: 1, Sigma: 0.1}, "waste": {Mu: 1, Sigma: 0.1}} {
		o, err := plan(losses, with(t, map[string]string{id: "shape = \"normal\"\nmean = \"100 %\"\nspread = \"10 %\""}))
		if err != nil {
			t.Fatal(err)
		}
		batch := float64(o.TakeOff[0].Batches.Largest / units.Gallon)
		counts := map[float64]bool{}
		gross := func(p float64) float64 {
			film, w := 1.0, 1.0
			if id == "waste" {
				w = factor.Quantile(p)
			} else {
				film = factor.Quantile(p)
			}
			net, tools, spilled := (8000+120*0.25*3+30*6)/per*film, 16./128, 0.05/0.95
			a, c := net+w*(tools+spilled*(net+tools)), w*1.5/128/0.95
			n := math.Ceil(a / (batch - c))
			counts[n] = true
			return a + c*n
		}
		if got, want := float64(o.Order[0].Volume/units.Gallon), gross(0.5); math.Abs(got-want) > 1e-9 {
			t.Fatalf("the plan takes %.6f gal, by hand %.6f", got, want)
		}
		l := of(t, o, confidence.Options{}).Lines[0]
		for p, got := range map[float64]systems.Amount{0.5: l.Need50, 0.8: l.Need80, 0.9: l.Need90} {
			if got, want := float64(got.Q.(units.Volume)/units.Gallon), gross(p); math.Abs(got-want) > 2e-4*want {
				t.Errorf("%s, P%g: %.4f gal, want %.4f", id, 100*p, got, want)
			}
		}
		if id != "waste" && len(counts) < 2 {
			t.Error("the number of batches does not change: the test tells little")
		}
	}
}

// What each draw buys of two sizes is what trying all pails and drums finds: with
// prices the cheapest, without those that leave the least, and of equal ones the
// larger. Source: counting out.
func TestKitsOfDraws(t *testing.T) {
	even := with(t, map[string]string{"film-squeegee": "shape = \"normal\"\nmean = \"100 %\"\nspread = \"25 %\""})
	for name, prices := range map[string][2]float64{"": {3, 15}, "[materials.epoxy-standard.kits.pail]\nprice = 195\n[materials.epoxy-standard.kits.drum]\nprice = 870\n": {195, 870}} {
		o, err := plan(strings.Replace(losses, `"40 ft"`, `"110 ft"`, 1)+name, even)
		if err != nil {
			t.Fatal(err)
		}
		r := of(t, o, confidence.Options{Draws: 1000})
		l := &r.Lines[0]
		if l.Sizes != 2 || math.Abs(float64(l.One.Q.(units.Volume)/units.Gallon)-3) > 1e-9 {
			t.Fatalf("%d sizes, the smallest %v", l.Sizes, l.One.Q)
		}
		best := func(need float64) (pails, drums int) {
			price, left := math.Inf(1), 0.0
			for d := range 4 {
				for p := range 16 {
					over := float64(15*d+3*p) - need
					at := float64(p)*prices[0] + float64(d)*prices[1]
					if over < -1e-9*need || at > price+1e-9 || at > price-1e-9 && over > left-1e-9 && p >= pails {
						continue
					}
					price, left, pails, drums = at, over, p, d
				}
			}
			return pails, drums
		}
		count := func(kits []systems.KitLine) (pails, drums int) {
			for _, k := range kits {
				if k.Name == "pail" {
					pails = k.N
				} else {
					drums = k.N
				}
			}
			return pails, drums
		}
		var d confidence.Draw
		seen, short, less := map[[2]int]bool{}, 0, 0
		bought := float64(l.Planned)
		if p, d := count(l.Kits); true {
			bought = float64(3*p + 15*d)
		}
		for i := range r.Draws {
			if err := r.Draw(i, &d); err != nil {
				t.Fatal(err)
			}
			need := d.Needs[0] / float64(units.Gallon)
			p, n := count(d.Kits[0])
			if wp, wd := best(need); p != wp || n != wd || d.Units[0] != p+n {
				t.Fatalf("%.3f gal: %d pails and %d drums, want %d and %d", need, p, n, wp, wd)
			}
			seen[[2]int{p, n}] = true
			if need > bought {
				short++
			}
			if need > bought-3 {
				less++
			}
		}
		if len(seen) < 4 {
			t.Errorf("the draws buy %v: the test tells little", seen)
		}
		if l.Short != units.Fraction(short)/1000 || l.OneLess != units.Fraction(less)/1000 {
			t.Errorf("short in %v, with a pail less in %v; counted %d and %d of 1000", l.Short, l.OneLess, short, less)
		}
		for _, x := range []struct {
			need systems.Amount
			kits []systems.KitLine
		}{{l.Need50, l.Kits50}, {l.Need80, l.Kits80}, {l.Need90, l.Kits90}} {
			p, n := count(x.kits)
			if wp, wd := best(float64(x.need.Q.(units.Volume) / units.Gallon)); p != wp || n != wd {
				t.Errorf("for %v: %d pails and %d drums, want %d and %d", x.need.Q, p, n, wp, wd)
			}
		}
	}
}

// Of kits that are mixed whole a draw buys its batches: enough for what is mixed,
// and on no section a kit more. Common practice, no source.
func TestWholeKitsOfDraws(t *testing.T) {
	text, err := os.ReadFile("../testdata/urethane-cement.toml")
	if err != nil {
		t.Fatal(err)
	}
	c, err := loaded()
	if err != nil {
		t.Fatal(err)
	}
	o, err := plan(string(text), c)
	if err != nil {
		t.Fatal(err)
	}
	r := of(t, o, confidence.Options{Draws: 500})
	var d confidence.Draw
	checked, counts := 0, map[int]bool{}
	for k, l := range r.Lines {
		name, _, _ := strings.Cut(l.Material, "@")
		m, err := c.Material(name)
		if err != nil {
			t.Fatal(err)
		}
		if !m.Whole || l.Unit != "kit" {
			continue
		}
		steps := len(o.Order[k].Steps)
		for i := range r.Draws {
			if err := r.Draw(i, &d); err != nil {
				t.Fatal(err)
			}
			kit := float64(d.Kits[k][0].Volume)
			if n := float64(d.Units[k]); n*kit < d.Needs[k]*(1-1e-9) || (n-float64(steps*o.Sections))*kit > d.Needs[k] {
				t.Fatalf("%s: %g kits of %g m3 for %g m3", l.Material, n, kit, d.Needs[k])
			}
			checked++
			counts[d.Units[k]] = true
		}
	}
	if checked == 0 || len(counts) < 3 {
		t.Errorf("%d draws looked at, %v kits", checked, counts)
	}
}

// A line of several sizes says how many of which. Our own wording.
func TestSizesInWords(t *testing.T) {
	drum, pail := 15*units.Gallon, 3*units.Gallon
	kits := func(d, p int) (all []systems.KitLine) {
		if d > 0 {
			all = append(all, systems.KitLine{Name: "drum", Volume: drum, N: d})
		}
		return append(all, systems.KitLine{Name: "pail", Volume: pail, N: p})
	}
	l := confidence.Line{Name: "Epoxy", Unit: "kit", Sizes: 2, One: systems.Amount{Q: pail}, Planned: 3, P50: 4, P80: 3, P90: 4,
		Kits: kits(1, 2), Kits50: kits(0, 4), Kits80: kits(1, 2), Kits90: kits(1, 3), Short: 0.12, OneMore: 0.03, OneLess: 0.45}
	want := "Epoxy: 1x15 + 2x3 gal planned; 4x3 gal would do in half of such jobs, 1x15 + 2x3 gal in eight of ten, 1x15 + 3x3 gal in nine of ten; 12 % chance that the planned run short, 3 % with one more of 3 gal, 45 % with one less of 3 gal."
	if got := l.Sentence(units.US); got != want {
		t.Errorf("%s\nwant\n%s", got, want)
	}
	if got := systems.KitsIn(kits(1, 2), units.SI); got != "1x56.8 + 2x11.4 L" {
		t.Errorf("%q", got)
	}
}

// What a second grout fills is what the first left of the bed: it goes with the film
// that the grain fell into, and not with that of the first grout. Our own recipe:
// 60 % and then all of the rest, as in losses_test.go of systems; no source.
func TestSecondGroutFollowsTheBed(t *testing.T) {
	recipe, err := fs.ReadFile(data.Files, "recipes/quartz-broadcast/1.2.0.toml")
	if err != nil {
		t.Fatal(err)
	}
	own := strings.NewReplacer(`id = "quartz-broadcast"`, `id = "twice"`, `version = "1.2.0"`, `version = "1.0.0"`, "#:schema ../../schemas/recipe.schema.json\n", "",
		`share = { value = "100 %", low = "90 %"`, `share = { value = "60 %", low = "50 %"`, "title = \"Seal\"\n", "title = \"Seal\"\nfills = \"grout\"\n").Replace(string(recipe))
	text := strings.NewReplacer(`"quartz-broadcast@1.1.0"`, `"twice"`, "[steps.throw]\nskip = true\n[steps.grout]\nskip = true\n[steps.seal]\nskip = true\n", "[steps.seal]\nmethod = \"roller\"\n").Replace(coat)
	for film, varies := range map[string]bool{"film-flood": false, "film-squeegee": true} {
		scatter, err := still.File(map[string]string{film: "shape = \"normal\"\nmean = \"100 %\"\nspread = \"10 %\""})
		if err != nil {
			t.Fatal(err)
		}
		c, err := systems.LoadLayers(systems.BuiltinLayer(), systems.DataLayer{Name: "own", Files: fstest.MapFS{
			"recipes/twice/1.0.0.toml": {Data: []byte(own)}, "scatter/own-1.0.0.toml": {Data: []byte(scatter)}}})
		if err != nil {
			t.Fatal(err)
		}
		o, err := plan(text, c)
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range o.TakeOff {
			if n.Step == "seal" && !(n.Voids > 0) {
				t.Fatal("the seal fills nothing")
			}
		}
		for _, l := range of(t, o, confidence.Options{Draws: 500}).Lines {
			if strings.HasPrefix(l.Material, "polyaspartic@") && (l.Need50 != l.Need90) != varies {
				t.Errorf("%s scatters: %v of seal in half of such jobs, %v in nine of ten", film, l.Need50.Q, l.Need90.Q)
			}
		}
	}
}
