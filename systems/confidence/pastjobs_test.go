package confidence_test

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/confidence"
)

// Past jobs of what this plan has nothing of are told, not dropped without a word;
// those that contradict each other so far that a draw takes kits without end are an
// error that says which. Hostile jobs of our own, no source.
func TestPastThatDoesNotFit(t *testing.T) {
	c, err := loaded()
	if err != nil {
		t.Fatal(err)
	}
	o, err := plan(coat+"[past.a]\nfilm-rake = { planned = \"8 gal\", used = \"9 gal\" }\ncove = { planned = \"8 gal\", used = \"9 gal\" }\nwaste = { planned = \"8 gal\", used = \"9 gal\" }\n", c)
	if err != nil {
		t.Fatal(err)
	}
	if notes := strings.Join(of(t, o, confidence.Options{Draws: 200}).Notes, " "); !strings.Contains(notes, "scatters by cove, film-rake: its past jobs count for nothing here") || strings.Contains(notes, "waste") {
		t.Errorf("notes %q", notes)
	}
	far := []systems.PastUse{{Job: "a", Scatter: "film-squeegee", Ratio: 20}, {Job: "b", Scatter: "film-squeegee", Ratio: 0.05}, {Job: "c", Scatter: "waste", Ratio: 1.1}}
	o, err = plan(coat, c)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := confidence.Of(context.Background(), o, confidence.Options{Draws: 1000000, Workers: 2, Past: far}); err == nil || !strings.Contains(err.Error(), "past jobs of film-squeegee, 2 in number, are so far apart") {
		t.Errorf("jobs that contradict each other: %v", err)
	}
	far[0].Ratio = 18 // nearer to its plan than b
	for _, tc := range []struct {
		past []systems.PastUse
		want string
	}{
		{far, `farthest from its plan is past job "b", used 0.05 times what was planned`},
		{[]systems.PastUse{{Job: "typing error", Scatter: "film-squeegee", Ratio: 20}}, `the past job of film-squeegee is so far from what is usual`},
	} {
		if _, err := confidence.Of(context.Background(), o, confidence.Options{Draws: 1000000, Workers: 2, Past: tc.past}); err == nil || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("want %q: %v", tc.want, err)
		}
	}
}

// Fifty past jobs outweigh their class: with the film's alone scattering, the need
// has the quantiles of the conjugate model worked out here from its own formulas, of
// which fifty hardly differ from the jobs' own interval for the next one. Source:
// Gelman and others, Bayesian Data Analysis, section 3.3, from memory; gonum/stat.
func TestFiftyPastJobs(t *testing.T) {
	c := with(t, map[string]string{"film-squeegee": "shape = \"lognormal\"\nmean = \"104 %\"\nspread = \"12 %\"\nworth = 4"})
	text := coat
	var logs []float64
	for i := range 50 {
		used := 100 * math.Exp(0.1+0.05*distuv.UnitNormal.Quantile((float64(i)+0.5)/50))
		written := fmt.Sprintf("%.3f", used)
		fmt.Sscan(written, &used)
		text += fmt.Sprintf("[past.j%d]\nfilm-squeegee = { planned = \"100 L\", used = \"%s L\" }\n", i, written)
		logs = append(logs, math.Log(used/100))
	}
	o, err := plan(text, c)
	if err != nil {
		t.Fatal(err)
	}
	const need, k, n = 800 * 10 / 1604.16666667 / 0.95, 4.0, 50.0
	v0 := math.Log(1 + 0.12*0.12)
	mu0 := math.Log(1.04) - v0/2
	m, s := stat.MeanStdDev(logs, nil)
	mu := (k*mu0 + n*m) / (k + n)
	scale := math.Sqrt((k*v0*(k-2)/(k+1)+(n-1)*s*s+k*n/(k+n)*(m-mu0)*(m-mu0))/(k+n)) * math.Sqrt(1+1/(k+n))
	next := distuv.StudentsT{Mu: mu, Sigma: scale, Nu: k + n}
	alone := distuv.StudentsT{Mu: m, Sigma: s * math.Sqrt(1+1/n), Nu: n - 1} // ISO 16269-8, from memory
	l := of(t, o, confidence.Options{}).Lines[0]
	for p, got := range map[float64]systems.Amount{0.5: l.Need50, 0.8: l.Need80, 0.9: l.Need90} {
		gal := float64(got.Q.(units.Volume) / units.Gallon)
		if want := need * math.Exp(next.Quantile(p)); math.Abs(gal-want) > 5e-4*want {
			t.Errorf("P%g %.4f gal, want %.4f", 100*p, gal, want)
		}
		if near := need * math.Exp(alone.Quantile(p)); math.Abs(gal-near) > 0.02*near {
			t.Errorf("P%g %.4f gal, the fifty alone have %.4f", 100*p, gal, near)
		}
	}
	if got, want := float64(l.RunsShort(2)), next.Survival(math.Log(6/need)); math.Abs(got-want) > 3e-4 {
		t.Errorf("2 kits run short in %.4f, want %.4f", got, want)
	}
}

// A class worth no job leaves the jobs alone, two at least: one is told as not used,
// and counts as none. From the doc comment of predicted; no source.
func TestOneJobOfAClassWorthNone(t *testing.T) {
	c := with(t, map[string]string{"film-squeegee": "shape = \"lognormal\"\nmean = \"104 %\"\nspread = \"12 %\"\nworth = 0"})
	for n, want := range map[int]int{1: 0, 2: 2} {
		text := coat
		for i := range n {
			text += fmt.Sprintf("[past.j%d]\nfilm-squeegee = { planned = \"10 L\", used = \"1%d L\" }\n", i, i)
		}
		o, err := plan(text, c)
		if err != nil {
			t.Fatal(err)
		}
		r := of(t, o, confidence.Options{Draws: 200})
		for _, u := range r.Used {
			if told := strings.Contains(strings.Join(r.Notes, " "), "it is not used"); u.ID == "film-squeegee" && (u.Jobs != want || told != (want == 0)) {
				t.Errorf("%d past jobs: %d used, notes %q", n, u.Jobs, r.Notes)
			}
		}
	}
}
