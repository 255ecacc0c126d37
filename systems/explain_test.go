package systems_test

import (
	"context"
	"encoding/json"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// explainAll asks for every figure: Explain itself works each formula out from
// its inputs and refuses one that does not give the plan's figure.
func explainAll(t rapid.TB, o *systems.Outcome) []string {
	t.Helper()
	paths, err := o.Explainable()
	if err != nil {
		t.Errorf("%v", err)
	}
	for _, path := range paths {
		e, err := o.Explain(path)
		if err != nil {
			t.Errorf("%v", err)
			continue
		}
		leaves(t, path, e)
	}
	return paths
}

// leaves checks that each figure is computed from others or was given.
func leaves(t rapid.TB, path string, e *systems.Explanation) {
	if (e.Formula == "") == (e.Basis == "") || e.Text == "" || e.Name == "" || e.Formula == "" && len(e.Inputs) > 0 || e.Formula != "" && len(e.Inputs) == 0 {
		t.Errorf("%s: %q is neither computed nor given: %+v", path, e.Name, *e)
	}
	if e.Formula == "" && e.File == nil && e.Basis != systems.FromJob && e.Note == "" {
		t.Errorf("%s: %q of basis %s stands in no file", path, e.Name, e.Basis)
	}
	for i := range e.Inputs {
		leaves(t, path, &e.Inputs[i])
	}
}

// Every figure of the golden jobs and of an own sheet is explained down to what
// was given.
func TestExplainEverything(t *testing.T) {
	for _, name := range []string{"", "two-rooms", "vestibule", "metric", "overlay", "typed",
		"roll-coat", "double-quartz", "flake", "slurry", "mortar", "urethane-cement", "moisture-primed", "cove", "repair", "vertical", "methacrylate"} {
		text := string(systems.DemoJob())
		if name != "" {
			text = read(t, name+".toml")
		}
		o := planOf(t, text)
		paths := explainAll(t, o)
		want := []string{"floor"}
		if o.Thickness > 0 {
			want = append(want, "thickness")
		}
		for _, n := range o.TakeOff {
			for key, is := range map[string]bool{"gross": n.Gross > 0, "kits": n.Gross > 0, "batches": n.Batches != nil, "largest": n.Batches != nil, "thrown": n.Thrown > 0, "bags": n.Thrown > 0, "fill": n.Fill > 0, "sand": n.Sand > 0, "voids": n.Voids > 0, "profile": n.Profile > 0, "wet": n.Wet > 0, "spread": n.Spread > 0} {
				if is {
					want = append(want, "steps."+n.Step+"."+key)
				}
			}
		}
		for _, l := range o.Order {
			want = append(want, "order."+l.Material+"."+l.Unit+"s", "order."+l.Material+".need")
		}
		for _, w := range o.Schedule {
			if w.Section < 2 {
				want = append(want, "steps."+w.Step+".start", "steps."+w.Step+".end")
			}
		}
		for _, path := range want {
			if !slices.Contains(paths, path) {
				t.Errorf("%s: %s is not explained", name, path)
			}
		}
	}
}

// Every quantity, count and time in the JSON of the golden jobs' plans can be
// asked why, by its place there, and the explanation has its value. The JSON is
// walked without the library's help; what the plan was made from explains the
// rest. Common practice, no source.
func TestExplainJSON(t *testing.T) {
	files, err := filepath.Glob("testdata/*.toml")
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	c := builtin(t)
	// The demo job has a forecast of its space; in its third day it has a past too.
	demo := string(systems.DemoJob())
	texts := map[string]string{"demo": demo, "demo, its past told": toldDone(demo, planText(t, demo, c), 76*time.Hour)}
	logged := job(t, demo)
	texts["demo, its past logged"] = texts["demo, its past told"] + logOf(&logged, 76*time.Hour, time.Hour)
	for _, file := range append(files, slices.Sorted(maps.Keys(texts))...) {
		var j systems.Job
		if text, ok := texts[file]; ok {
			j, err = systems.ReadJob(strings.NewReader(text), c)
		} else {
			j, err = systems.ReadJobFS(os.DirFS("testdata"), filepath.Base(file), c)
		}
		if err != nil {
			t.Fatal(err)
		}
		o, err := systems.Plan(context.Background(), j)
		if err != nil {
			t.Fatal(err)
		}
		text, err := json.Marshal(o)
		if err != nil {
			t.Fatal(err)
		}
		var whole map[string]any
		if err := json.Unmarshal(text, &whole); err != nil {
			t.Fatal(err)
		}
		for _, key := range []string{"input", "files", "figures", "cautions"} {
			delete(whole, key)
		}
		count := 0
		var walk func(path string, v any)
		walk = func(path string, v any) {
			switch v := v.(type) {
			case map[string]any:
				for key, x := range v {
					walk(strings.TrimPrefix(path+"."+key, "."), x)
				}
			case []any:
				for i, x := range v {
					walk(path+"."+strconv.Itoa(i), x)
				}
			case float64:
				count++
				if e, err := o.Explain(path); err != nil || e.Text != strconv.FormatFloat(v, 'f', -1, 64) {
					t.Errorf("%s: %s = %v: %+v, %v", file, path, v, e, err)
				}
			case string:
				if !numeric(v) || strings.HasSuffix(path, ".limit") { // the words of a limit
					return
				}
				count++
				e, err := o.Explain(path)
				if err != nil {
					t.Errorf("%s: %s = %s: %v", file, path, v, err)
					return
				}
				leaves(t, path, e)
				if q, err := e.Value.MarshalText(); err != nil || string(q) != v && e.Text != v && !strings.HasPrefix(v, e.Text[:min(len(e.Text), 19)]) {
					t.Errorf("%s: %s = %s is explained as %s (%s)", file, path, v, q, e.Text)
				}
			}
		}
		walk("", whole)
		if count < 50 {
			t.Errorf("%s: only %d figures", file, count)
		}
	}
}

// numeric reports whether a text of the JSON is a quantity or a time.
func numeric(text string) bool {
	if _, err := time.Parse(time.RFC3339, text); err == nil {
		return true
	}
	if _, err := units.ParseDuration(text); err == nil {
		return true
	}
	number, unit, ok := strings.Cut(text, " ")
	_, err := strconv.ParseFloat(number, 64)
	return ok && err == nil && !strings.Contains(unit, " ")
}

func TestExplainRandomJobs(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		j, err := systems.ReadJob(strings.NewReader(randomJob(t)), c)
		if err != nil {
			t.Fatal(err)
		}
		o, err := systems.Plan(context.Background(), j)
		if err != nil {
			t.Skip("no plan of it")
		}
		paths, err := o.Explainable()
		if err != nil {
			t.Fatal(err)
		}
		path := rapid.SampledFrom(paths).Draw(t, "path")
		e, err := o.Explain(path)
		if err != nil {
			t.Fatal(err)
		}
		leaves(t, path, e)
	})
}

// By hand: 800 ft2 of 10 mil at 100 % solids is 800*144*0.010/231 = 4.987 gal,
// with 5 % waste 5.250; the grout's 8 mil and its voids come to it in the same
// material. Kits are of 3 gal.
func TestExplainKits(t *testing.T) {
	o := planOf(t, baseJob)
	e, err := o.Explain("steps.body.kits")
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	if err := e.Write(&b, units.US); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"kits of Epoxy, 100 % solids, standard cure: 4 = those that cover the need with the least left over (coverage.Cheapest)\n", "  need: ", " = need of body + need of grout\n", "    need of body: 5.25 gal = film / (1 - waste)\n", "      film: 4.99 gal = wet film * area\n",
		"          solids: 100 % (common-practice; material epoxy-standard 1.2.0)\n", "        area: 800 ft2 = floor\n", "floor of a: 800 ft2 (job)\n", "  kits sold: drum 56.78117676 L, pail 11.356235352000001 L (common-practice; material epoxy-standard 1.2.0)\n", "waste: 5 % (common-practice; recipe quartz-broadcast 1.1.0)\n"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("no %q in\n%s", want, b.String())
		}
	}
	if text, err := json.Marshal(e); err != nil || !strings.Contains(string(text), `"path":"order.epoxy-standard@1.2.0.need"`) {
		t.Errorf("%s, %v", text, err)
	}
	if _, err := o.Explain("steps.body.kit"); err == nil || !strings.Contains(err.Error(), "(nearest: steps.body.kits)") {
		t.Errorf("a misspelt figure: %v", err)
	}
	var bare systems.Outcome
	if err := json.Unmarshal([]byte(`{"job":"x"}`), &bare); err != nil {
		t.Fatal(err)
	}
	if _, err := bare.Explain("floor"); err == nil {
		t.Error("an outcome without its job: want an error")
	}
}

// By hand: 2 drums of 15 gal and a pail of 3 gal of epoxy 2:1 by volume hold 22
// gal of resin and 11 of hardener. 11 gal needed in pails of 3 gal at 180, which
// are sold by 8, are 8 pails at 1440, when a drum is at 1500.
func TestExplainKitsOfSeveralSizes(t *testing.T) {
	said := func(o *systems.Outcome, material string, want map[string]string) {
		t.Helper()
		for i, l := range o.Order {
			if l.Material != material {
				continue
			}
			for path, want := range want {
				path = "order." + strconv.Itoa(i) + "." + path
				e, err := o.Explain(path)
				if err != nil {
					t.Errorf("%v", err)
					continue
				}
				leaves(t, path, e)
				if got := e.In(units.US) + " = " + e.Formula; got != want {
					t.Errorf("%s: %q; want %q", path, got, want)
				}
			}
			return
		}
		t.Errorf("no %s in the order", material)
	}
	said(planOf(t, read(t, "double-quartz.toml")), "epoxy-standard@1.2.0", map[string]string{
		"units": "3 = those that cover the need with the least left over (coverage.Cheapest)", "kits.0.n": "2 = those that cover the need with the least left over (coverage.Cheapest)",
		"kits.1.n": "1 = those that cover the need with the least left over (coverage.Cheapest)", "bought": "33 gal = kits drum * kit drum + kits pail * kit pail",
		"parts.0.volume": "22 gal = of the amount in the ratio 2:1 by volume (coverage.Mix)", "parts.1.volume": "11 gal = of the amount in the ratio 2:1 by volume (coverage.Mix)",
		"unit_volume": "15 gal = the largest that is bought"})
	said(planOf(t, baseJob+"[materials.epoxy-standard.kits.pail]\nprice = 180\ncase = 8\n[materials.epoxy-standard.kits.drum]\nprice = 1500\n"), "epoxy-standard@1.2.0", map[string]string{
		"kits.0.n": "8 = those that cover the need at the lowest price (coverage.Cheapest)", "kits.0.cases": "1 = kits pail / in a case",
		"kits.0.price": "1440 = kits pail * price of one", "price": "1440 = price of kits pail", "bought": "24 gal = kits pail * kit pail"})
}
