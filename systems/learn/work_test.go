package learn

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// builtin is the catalog of the built-in data, read once: nothing changes it.
var builtin = sync.OnceValues(systems.Builtin)

func demo(t *testing.T) systems.Job {
	t.Helper()
	c, err := builtin()
	if err != nil {
		t.Fatal(err)
	}
	j, err := systems.ReadJob(strings.NewReader(string(systems.DemoJob())), c)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func figure(t *testing.T, r *Result, key string) Figure {
	t.Helper()
	f, ok := r.Figure(key)
	if !ok {
		t.Fatalf("no %s: %+v, notes %v", key, r.Figures, r.Notes)
	}
	return f
}

// What the pores drink, by hand: two parts of 300 ft2, 2.4 gal and 2.52 gal, waste
// as the recipe has it, which in its version 1.1.0 stands for tools and buckets
// too, 1 gal/ft2 being 1604.2 mil; the film read as 7 mil and 8 mil, the profile 2 mil. Source: volume balance; Student's t of NIST/SEMATECH
// e-Handbook 1.3.5.2, from memory.
func TestUptake(t *testing.T) {
	j := read1(t, strings.NewReplacer("@1.2.0", "@1.1.0", `uptake = "2 mil"`, `drank = { volume = "11.8 mL", area = "1 ft2", share = "50 %" }`, "1.5 mil", "2 mil").Replace(plainJob))
	waste := float64(j.Recipe.Steps["prime"].Waste.Q)
	got, err := Learn(context.Background(), j, Readings{
		Used: []Used{{"prime", "a", "a", 300 * units.SquareFoot, 2.4 * units.Gallon}, {"prime", "b", "a", 300 * units.SquareFoot, 2.52 * units.Gallon}},
		Wet:  []Wet{{"prime", []units.Length{7 * units.Mil, 8 * units.Mil}}},
	})
	if err != nil {
		t.Fatal(err)
	}
	f := figure(t, got, "areas.a.uptake")
	v, lo, hi := si(f)
	mil := float64(units.Mil)
	mean := 2.46/300*1604.1667*(1-waste) - 7.5 - 2
	if math.Abs(v/mil-mean) > 0.01 {
		t.Errorf("uptake %.3f mil, want %.3f by hand", v/mil, mean)
	}
	// s/sqrt 2 of two is half their difference; of the parts and of the films.
	a, b := 0.12/300*1604.1667*(1-waste)/2, 0.5
	se := math.Hypot(a, b)
	dof := math.Pow(a*a+b*b, 2) / (math.Pow(a, 4) + math.Pow(b, 4))
	if want := t95(dof) * se; math.Abs((hi-v)/mil-want) > 0.01 || math.Abs(lo/mil-max(mean-want, 0)) > 0.01 { // pores drink no less than nothing
		t.Errorf("half the interval %.3f mil, want %.3f; from %g", (hi-v)/mil, want, lo)
	}
	// The job's water test: half of 11.8 mL on 1 ft2.
	was, ok := f.Was.Q.(units.Length)
	if f.Basis != "learned from 2 readings" || !ok || math.Abs(float64(was)-0.5*11.8e-6/0.09290304) > 1e-12 {
		t.Errorf("%+v", f)
	}
}

// Film of a coat that lies on another, share of grain that stays, rates: by hand.
func TestFilmsGrainAndRates(t *testing.T) {
	c, err := builtin()
	if err != nil {
		t.Fatal(err)
	}
	// A recipe whose waste stands for tools and buckets too.
	j, err := systems.ReadJob(strings.NewReader(strings.Replace(string(systems.DemoJob()), "quartz-broadcast@1.2.0", "quartz-broadcast@1.1.0", 1)), c)
	if err != nil {
		t.Fatal(err)
	}
	r := Readings{
		Used:  []Used{{"body", "a", "", 1000 * units.SquareFoot, 8 * units.Gallon}},
		Grain: []Grain{{"throw", "a", 100 * units.Pound, 40 * units.Pound}, {"throw", "b", 100 * units.Pound, 50 * units.Pound}},
		Work: []Work{
			{Step: "clean", Name: "a", Area: 1000 * units.SquareFoot, Time: time.Hour, Hands: 2},
			{Step: "clean", Name: "b", Area: 1000 * units.SquareFoot, Time: 2 * time.Hour, Hands: 2},
			{Step: "grind", Name: "a", Area: 300 * units.SquareFoot, Time: 70 * time.Minute, Setup: 10 * time.Minute, Hands: 2},
			{Step: "patch", Name: "a", Count: 6, Time: 90 * time.Minute, Hands: 2},
			{Step: "joint", Name: "a", Length: 60 * units.Foot, Time: time.Hour, Hands: 1},
		},
	}
	got, err := Learn(context.Background(), j, r)
	if err != nil {
		t.Fatal(err)
	}
	waste, m := float64(j.Recipe.Steps["body"].Waste.Q), 0.98 // the job's solids
	film := figure(t, got, "steps.body.film")
	if v, _, _ := si(film); math.Abs(v/float64(units.Mil)-8./1000*1604.1667*(1-waste)*m) > 0.01 || film.Low.Q != nil {
		t.Errorf("film %v", film)
	}
	keeps := figure(t, got, "steps.throw.keeps")
	if v, lo, hi := si(keeps); math.Abs(v-0.55) > 1e-9 || math.Abs(hi-lo-0.9) > 0.1 { // 12.706 * 0.05, cut at 1
		t.Errorf("keeps %g (%g to %g)", v, lo, hi)
	}
	rate := figure(t, got, "steps.clean.rate")
	if v, _, _ := si(rate); math.Abs(v/float64(units.SquareFoot)*3600-500/math.Sqrt2) > 0.1 {
		t.Errorf("rate %v, want 354 ft2/h: the geometric mean of 500 and 250", rate.Value)
	}
	if v, _, _ := si(figure(t, got, "steps.grind.rate")); math.Abs(v/float64(units.SquareFoot)*3600-300) > 0.1 { // two grits of 300 ft2 in an hour of two
		t.Errorf("grind %v", figure(t, got, "steps.grind.rate").Value)
	}
	if q := figure(t, got, "steps.patch.each").Value.Q.(units.Span); q.Duration() != 30*time.Minute {
		t.Errorf("patch %v", q)
	}
	if q := figure(t, got, "steps.joint.pace").Value.Q.(units.Speed); math.Abs(float64(q)/float64(units.Foot)*3600-60) > 1e-6 {
		t.Errorf("joint %v", q)
	}
	// Put into the job, they are the plan's.
	k, text, err := got.Apply(j)
	if err != nil {
		t.Fatal(err)
	}
	if q := k.Recipe.Steps["clean"].Rate; math.Abs(float64(q.Q)/float64(rate.Value.Q.(units.AreaRate))-1) > 1e-3 || !strings.Contains(q.Note, "learned from 2 readings") {
		t.Errorf("%+v\n%s", q, text)
	}
	o, err := systems.Plan(context.Background(), k)
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range o.TakeOff {
		if v, _, _ := si(film); n.Step == "body" && math.Abs(float64(n.Dry)/v-1) > 1e-3 {
			t.Errorf("the plan's film is %v", n.Dry)
		}
	}
}

// The interval of few readings holds the truth in 95 % of 2000 seeds. Source:
// Student's t; binomial scatter of the count, 0.5 %.
func TestFewCover(t *testing.T) {
	for _, n := range []int{2, 3, 8} {
		held := 0
		for seed := range 2000 {
			r := rand.New(rand.NewPCG(uint64(seed), 1))
			v := make([]float64, n)
			for i := range v {
				v[i] = 10 + r.NormFloat64()
			}
			lo, hi, ok := fewOf(v, nil, 0.1).span()
			if ok && lo <= 10 && 10 <= hi {
				held++
			}
		}
		if held < 1860 || held > 1940 {
			t.Errorf("of %d readings the interval holds in %d of 2000", n, held)
		}
	}
}

// A comb read in another unit, gallons booked as litres, a wild one: named, and
// the rest counts. Common practice, no source.
func TestWrongWork(t *testing.T) {
	j := demo(t)
	r := Readings{Wet: []Wet{{"body", []units.Length{10 * units.Mil, 11 * units.Mil, 10 * units.Micrometre * 1, 10.5 * units.Mil, 9.5 * units.Mil, 10 * units.Mil}}}}
	for i, v := range []units.Volume{4, 4.1, 4.2, 4.1 / 3.785, 4.15} {
		r.Used = append(r.Used, Used{"body", string(rune('a' + i)), "", 500 * units.SquareFoot, v * units.Gallon})
	}
	for i, h := range []time.Duration{60, 62, 58, 600, 61} {
		r.Work = append(r.Work, Work{Step: "clean", Name: string(rune('a' + i)), Area: 500 * units.SquareFoot, Time: h * time.Minute, Hands: 1})
	}
	got, err := Learn(context.Background(), j, r)
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]string{"body wet film 3": MixUp, "body d": MixUp, "clean d": Wild}
	for _, f := range got.Flags {
		if f.Wrong != want[f.Reading] && f.Wrong != Apart {
			t.Errorf("%+v", f)
		}
		delete(want, f.Reading)
	}
	if len(want) > 0 {
		t.Errorf("not flagged: %v; %+v", want, got.Flags)
	}
	if f := figure(t, got, "steps.clean.rate"); f.N != 4 {
		t.Errorf("%+v", f)
	}
}

// Kits and combs of one coat: the kits' film goes into the job, that of the combs
// is told beside it. Readings that are all alike have no interval: it would say
// that they are exact. Common practice, no source.
func TestKitsAndCombs(t *testing.T) {
	j := demo(t)
	var body systems.Need
	for _, n := range mustPlan(t, j).TakeOff {
		if n.Step == "body" {
			body = n
		}
	}
	r := Readings{Wet: []Wet{{"body", []units.Length{8 * units.Mil, 9 * units.Mil}}}}
	for _, name := range []string{"a", "b"} {
		r.Used = append(r.Used, Used{"body", name, "", body.Area / 2, body.Gross / 2})
	}
	got, err := Learn(context.Background(), j, r)
	if err != nil {
		t.Fatal(err)
	}
	f := figure(t, got, "steps.body.film")
	if v, _, _ := si(f); f.Beside || math.Abs(v/float64(body.Dry)-1) > 1e-9 || f.Low.Q != nil {
		t.Errorf("%+v, want the kits' film, %v, with no interval", f, body.Dry)
	}
	var text strings.Builder
	if err := got.Write(&text, units.US); err != nil || !strings.Contains(text.String(), "no interval known: readings too few, alike") || !strings.Contains(text.String(), "dry film by the wet ones, body") {
		t.Errorf("%v\n%s", err, &text)
	}
}

// Nonsense that no check of a single reading sees is not believed, and said: what
// is many times what the job has, or out of the range of its key; what is a few
// times is told with a word. Common practice, no source.
func TestNonsense(t *testing.T) {
	j := demo(t)
	for name, x := range map[string]struct {
		r    Readings
		key  string // of what is learned, beside or with a word; "" of nothing
		note string
	}{
		"kits of a ship":  {Readings{Used: []Used{{"prime", "a", "store", 100 * units.SquareFoot, 300 * units.Gallon}}}, "", "times what the job has: not believed"},
		"a drop":          {Readings{Used: []Used{{"body", "a", "", 900 * units.SquareFoot, 0.2 * units.Gallon}}}, "", "body"},
		"litres for gal":  {Readings{Used: []Used{{"body", "a", "", 900 * units.SquareFoot, 26 * units.Gallon}}}, "steps.body.film", "times what the job has: look at units"},
		"metre of film":   {Readings{Wet: []Wet{{"body", []units.Length{0.9, 0.9}}}}, "", "not believed; look at units"},
		"pores of a pond": {Readings{Used: []Used{{"prime", "a", "store", 100 * units.SquareFoot, 13.85 * units.Gallon}}}, "areas.store.uptake", "not believed: found 5.17"},
		"a second":        {Readings{Work: []Work{{Step: "clean", Name: "a", Area: 1000 * units.SquareFoot, Time: time.Second, Hands: 1}}}, "", "not believed; look at units"},
		"a year":          {Readings{Work: []Work{{Step: "patch", Name: "a", Count: 1, Time: 399 * 24 * time.Hour, Hands: 1000}}}, "", "not believed; look at units"},
		"far apart": {Readings{Work: []Work{{Step: "clean", Name: "a", Area: 900 * units.SquareFoot, Time: time.Hour, Hands: 1}, {Step: "clean", Name: "b", Area: 900 * units.SquareFoot, Time: 9 * time.Hour, Hands: 1}}},
			"steps.clean.rate", "their interval says nothing"},
	} {
		got, err := Learn(context.Background(), j, x.r)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		said := strings.Join(got.Notes, "; ")
		for _, f := range got.Figures {
			said += "; " + f.Note
			if f.Key[0] == "films" {
				t.Errorf("%s: of films not believed %+v", name, f)
			}
			if name == "pores of a pond" && !f.Beside {
				t.Errorf("%s: learned %+v", name, f)
			}
			if !f.Beside && strings.Join(f.Key, ".") != x.key {
				t.Errorf("%s: learned %+v", name, f)
			}
		}
		if f, ok := got.Figure(x.key); !strings.Contains(said, x.note) || ok != (x.key != "") || name == "far apart" && f.Low.Q != nil {
			t.Errorf("%s: said %q, want %q; %+v", name, said, x.note, got.Figures)
		}
		if _, _, err := got.Apply(j); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Wet films that are not believed do not go into what the pores drink either: that
// is what it is without them. Common practice, no source.
func TestFilmNotBelieved(t *testing.T) {
	j := demo(t)
	r := Readings{Used: []Used{{"prime", "a", "", 300 * units.SquareFoot, 3 * units.Gallon}, {"prime", "b", "", 300 * units.SquareFoot, 3.1 * units.Gallon}}}
	without, err := Learn(context.Background(), j, r)
	if err != nil {
		t.Fatal(err)
	}
	r.Wet = []Wet{{"prime", []units.Length{0.22 * units.Mil, 0.23 * units.Mil, 0.24 * units.Mil}}} // 1/40 of them
	with, err := Learn(context.Background(), j, r)
	if err != nil {
		t.Fatal(err)
	}
	a, b := figure(t, without, "areas.store.uptake"), figure(t, with, "areas.store.uptake")
	if a.Value != b.Value || a.Low != b.Low || !strings.Contains(b.Note, "film taken as planned") || !strings.Contains(strings.Join(with.Notes, " "), "not believed") {
		t.Errorf("the pores drink %v (%s), and without the films %v", b.Value, b.Note, a.Value)
	}
}

// Grain of which nothing stayed in most fields: the odd one is told, by no number.
// A share of nothing is none. Common practice, no source.
func TestNothingStays(t *testing.T) {
	r := Readings{}
	for i := range 5 {
		r.Grain = append(r.Grain, Grain{"throw", string(rune('a' + i)), 100, 100})
	}
	r.Grain[2].Vacuumed = 40
	got, err := Learn(context.Background(), demo(t), r)
	if err != nil || len(got.Flags) != 1 || got.Flags[0].By.Q != nil || got.Flags[0].Reading != "throw c" || strings.Contains(got.Flags[0].Sentence(units.SI), "Inf") {
		t.Errorf("%+v, %v", got, err)
	}
}

// What is no reading of this job is refused. Common practice, no source.
func TestWorkHostile(t *testing.T) {
	j := demo(t)
	for name, r := range map[string]Readings{
		"step":    {Used: []Used{{"polish", "a", "", 1, 1}}},
		"kind":    {Used: []Used{{"clean", "a", "", 1, 1}}},
		"area":    {Used: []Used{{"prime", "a", "attic", 1, 1}}},
		"nothing": {Used: []Used{{"prime", "a", "", 0, 1}}},
		"NaN":     {Used: []Used{{"prime", "a", "", 1, units.Volume(math.NaN())}}},
		"no wet":  {Wet: []Wet{{"prime", nil}}},
		"wet":     {Wet: []Wet{{"prime", []units.Length{-1}}}},
		"grain":   {Grain: []Grain{{"throw", "a", 1, 2}}},
		"hands":   {Work: []Work{{Step: "clean", Area: 1, Time: time.Hour}}},
		"setup":   {Work: []Work{{Step: "clean", Area: 1, Time: time.Hour, Setup: time.Hour, Hands: 1}}},
		"more":    {Used: []Used{{"prime", "a", "store", 900 * units.SquareFoot, 1}}},
		"passes":  {Work: []Work{{Step: "grind", Area: 1, Time: time.Hour, Hands: 1, Passes: -2}}},
		"both":    {Work: []Work{{Step: "joint", Area: 1, Length: 1, Time: time.Hour, Hands: 1}}},
		"floors":  {Work: []Work{{Step: "clean", Area: 1e6, Time: time.Hour, Hands: 1}}},
		"count":   {Work: []Work{{Step: "patch", Area: 1, Time: time.Hour, Hands: 1}}},
	} {
		if got, err := Learn(context.Background(), j, r); err == nil || got != nil {
			t.Errorf("%s: %+v, %v", name, got, err)
		}
	}
	// Less than film and profile take: not believed.
	got, err := Learn(context.Background(), j, Readings{Used: []Used{{"prime", "a", "", 1000 * units.SquareFoot, 1 * units.Gallon}}})
	if err != nil || len(got.Figures) > 0 || len(got.Flags) != 1 {
		t.Errorf("%+v, %v", got, err)
	}
	empty, err := Learn(context.Background(), j, Readings{})
	if err != nil || len(empty.Figures)+len(empty.Flags)+len(empty.Notes) > 0 {
		t.Errorf("%+v, %v", empty, err)
	}
}
