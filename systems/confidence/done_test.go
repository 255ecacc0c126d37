package confidence_test

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/confidence"
)

// begun is coat on Wednesday evening, with the preparation done, and with these lines
// of its body coat.
func begun(body string) string {
	text := strings.Replace(coat, "start = ", "now = \"60h\"\nstart = ", 1)
	for _, step := range []string{"sound", "clean"} {
		text += "[done." + step + "]\nstart = \"0h\"\nend = \"2h\"\n"
	}
	return text + "[done.body]\n" + body
}

// What a coat took that is down does not scatter: the kits that the job tells stand,
// and of the sections still to come each has its share of the need. Kits of 3 gal;
// the need is that of TestOneComponent, 4.987 gal/0.95 = 5.2494 gal, its film
// lognormal. Source: volume balance, gonum/stat/distuv.
func TestDoneStands(t *testing.T) {
	const need = 800 * 10 / 1604.16666667 / 0.95
	v := math.Log(1 + 0.12*0.12)
	film := distuv.LogNormal{Mu: math.Log(1.04) - v/2, Sigma: math.Sqrt(v)}
	c := with(t, map[string]string{"film-squeegee": "shape = \"lognormal\"\nmean = \"104 %\"\nspread = \"12 %\"", "hours": "shape = \"lognormal\"\nmean = \"100 %\"\nspread = \"10 %\""})
	halves := "[done.body.sections.1]\nstart = \"26h\"\nend = \"27h\"\n[done.body.sections.2]\nstart = \"27h\"\nend = \"28h\"\n"
	for name, x := range map[string]struct {
		text       string
		took, left float64 // gal; share to come
	}{
		"all down":           {begun("start = \"26h\"\nend = \"28h\"\nkits = 2.5\n"), 7.5, 0},
		"all down, not told": {begun("start = \"26h\"\nend = \"28h\"\n"), 0, 1},
		"two of four":        {strings.Replace(begun("kits = 1.1\n"+halves), "[crew]", "[crew]\nsections = 4", 1), 3.3, 0.5},
		"two of four, one goes on": {strings.Replace(begun("kits = 1.1\n"+halves+"[done.body.sections.3]\nstart = \"59h 30m\"\n"),
			"[crew]", "[crew]\nsections = 4", 1), 0, 1},
	} {
		o, err := plan(x.text, c)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		r := of(t, o, confidence.Options{})
		l := r.Lines[0]
		for p, got := range map[float64]systems.Amount{0.5: l.Need50, 0.8: l.Need80, 0.9: l.Need90} {
			if got, want := float64(got.Q.(units.Volume)/units.Gallon), x.took+x.left*need*film.Quantile(p); math.Abs(got-want) > 1e-3*want {
				t.Errorf("%s: P%g %.4f gal, want %.4f", name, 100*p, got, want)
			}
		}
		for n := range 5 {
			want := 0.0
			if x.left > 0 {
				want = film.Survival(max(0, 3*float64(n)-x.took) / x.left / need)
			} else if 3*float64(n) < x.took {
				want = 1
			}
			if got := float64(l.RunsShort(n)); math.Abs(got-want) > 3e-4 {
				t.Errorf("%s: %d kits run short in %.4f, want %.4f", name, n, got, want)
			}
		}
		if told := strings.Contains(strings.Join(r.Notes, " "), "step body took is told"); told != (x.took > 0) {
			t.Errorf("%s: notes %q", name, r.Notes)
		}
		if x.left == 0 && len(l.Drivers) > 0 {
			t.Errorf("%s: driven by %v", name, l.Drivers)
		}
	}
}
