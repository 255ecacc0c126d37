package systems

import (
	"context"
	"flag"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/internal/tomlfile"
)

var decideJobs = flag.Int("decide.jobs", 60, "random jobs to decide by brute force")

// A small is a random small job: its recipe, as a layer, and its text.
type small struct {
	recipe, job string
	goal        Goal
	sections    int64
	heated      bool
}

// read returns the data with the small recipe over them, and its job.
func (s *small) read(t rapid.TB) (*Catalog, Job) {
	t.Helper()
	// The recipe goes over the built-in data as a layer does, but these are read only once.
	c := *builtin(t)
	c.recipes, c.rank = maps.Clone(c.recipes), maps.Clone(c.rank)
	l := &loader{c: &c, toml: tomlfile.NewReader(), names: []string{"built-in", "own"}, docs: map[string]*tomlfile.Doc{}, from: map[string]int{}}
	if err := l.add(1, DataLayer{Name: "own"}, "recipes/small/1.0.0.toml", []byte(s.recipe)); err != nil {
		t.Fatal(err)
	}
	if err := c.recipes["small@1.0.0"].resolve(&c, "small@1.0.0"); err != nil {
		t.Fatal(err)
	}
	j, err := ReadJob(strings.NewReader(s.job), &c)
	if err != nil {
		t.Fatalf("%v\n%s\n%s", err, s.recipe, s.job)
	}
	return &c, j
}

// drawSmall draws two or three coats of two chemistries each under random weather.
func drawSmall(t *rapid.T) small {
	liquids := []string{"epoxy-standard", "epoxy-standard-cold", "polyaspartic", "polyaspartic-slow", "epoxy-primer-water", "epoxy-fast", "methacrylate", "urethane-aliphatic", "moisture-primer-fast"}
	pick := func(name string) string { return rapid.SampledFrom(liquids).Draw(t, name) }
	var s small
	s.sections = rapid.SampledFrom([]int64{1, 1, 1, 2}).Draw(t, "sections")
	s.heated = rapid.IntRange(0, 5).Draw(t, "heated") == 0
	coats := 2
	if s.sections == 1 && !s.heated && rapid.IntRange(0, 4).Draw(t, "three") == 0 {
		coats = 3
	}
	var b strings.Builder
	b.WriteString("kind = \"recipe\"\nid = \"small\"\nversion = \"1.0.0\"\nname = \"Small\"\nmargin = \"dew-point-3k\"\n")
	const basis = `basis = "illustrative" }`
	value := func(key, v string) { fmt.Fprintf(&b, "%s = { value = %q, %s\n", key, v, basis) }
	if rapid.Bool().Draw(t, "condition") {
		b.WriteString("[steps.warm]\ndoes = \"condition\"\nslab = { low = \"10 °C\", " + basis + "\n")
	}
	if rapid.Bool().Draw(t, "patch") {
		b.WriteString("[steps.patch]\ndoes = \"patch\"\nmaterial = \"epoxy-fast\"\n")
		value("each", "30m")
	}
	if rapid.Bool().Draw(t, "clean") {
		b.WriteString("[steps.clean]\ndoes = \"clean\"\n")
		value("rate", "30 m2/h")
	}
	order := rapid.SampledFrom([]string{"plain", "plain", "far", "throw"}).Draw(t, "shape")
	for i := range coats {
		id := string(rune('a' + i))
		fmt.Fprintf(&b, "[steps.%s]\ndoes = \"coat\"\nmaterial = %q\n", id, pick("material"))
		value("film", rapid.SampledFrom([]string{"100 um", "250 um"}).Draw(t, "film"))
		value("rate", rapid.SampledFrom([]string{"15 m2/h", "40 m2/h"}).Draw(t, "rate"))
		value("setup", "20m")
		if i > 0 {
			before := string(rune('a' + i - 1))
			fmt.Fprintf(&b, "after = { %s = \"recoat-earliest\" }\n", before)
			windows := []string{before + ` = "recoat-latest"`}
			if order == "far" && i == 2 {
				windows = append(windows, `a = "recoat-latest"`)
			}
			if rapid.IntRange(0, 4).Draw(t, "window") > 0 {
				fmt.Fprintf(&b, "before = { %s }\n", strings.Join(windows, ", "))
			}
		}
		fmt.Fprintf(&b, "[steps.%s.options.x]\nmaterial = %q\n", id, pick("option"))
		if rapid.Bool().Draw(t, "other film") {
			value("film", "150 um")
		}
		b.WriteString("why = \"another\"\n")
		if order == "throw" && i == 0 {
			b.WriteString("[steps.throw]\ndoes = \"broadcast\"\nmaterial = \"quartz-medium\"\ninto = \"a\"\n")
			value("lag", "10m")
			value("rate", "60 m2/h")
			b.WriteString("[steps.sweep]\ndoes = \"sweep\"\nafter = { a = \"foot\" }\n")
			value("rate", "60 m2/h")
		}
	}
	s.recipe = b.String()

	b.Reset()
	from := rapid.SampledFrom([]int{6, 7, 8, 9, 20}).Draw(t, "from") // the last works at night
	fmt.Fprintf(&b, "name = \"small\"\nrecipe = \"small\"\nstart = \"2026-04-%02dT%02d:00:00Z\"\n[areas.a]\narea = \"60 m2\"\n[patches.p]\narea = \"1 m2\"\ndepth = \"10 mm\"\n", rapid.IntRange(6, 12).Draw(t, "day"), rapid.IntRange(5, 12).Draw(t, "hour"))
	fmt.Fprintf(&b, "[crew]\nhands = 2\nfrom = \"%02d:00\"\nto = \"%02d:00\"\nrest = [\"sun\"]\nsections = %d\n[moisture]\nhumidity = \"70 %%\"\n", from, (from+rapid.IntRange(7, 10).Draw(t, "long"))%24, s.sections)
	series := func(name, unit string, lo, hi, step int) {
		fmt.Fprintf(&b, "[%s]\n", name)
		v := rapid.IntRange(lo, hi).Draw(t, name)
		first := 0
		if strings.HasPrefix(name, "temperatures") {
			first = rapid.SampledFrom([]int{0, 0, 0, 24}).Draw(t, "first")
		}
		for h := first; h <= 96; h += 8 {
			fmt.Fprintf(&b, "\"%dh\" = \"%d %s\"\n", h, v, unit)
			v = min(max(v+rapid.IntRange(-step, step).Draw(t, "change"), lo), hi)
		}
	}
	s.goal = Goal{For: rapid.SampledFrom([]string{Earliest, Earliest, FewestFindings}).Draw(t, "goal"), HandOver: rapid.SampledFrom([]string{Foot, Service}).Draw(t, "hand-over"),
		Grid: 4 * time.Hour, Horizon: time.Duration(rapid.IntRange(20, 44).Draw(t, "horizon")) * time.Hour, NoRelax: true, Nodes: 1_000_000}
	if s.heated {
		b.WriteString("[room]\nheight = \"4 m\"\nenvelope = \"old-insulated\"\nair = \"8 °C\"\nrh = \"70 %\"\n[room.slab]\nthickness = \"150 mm\"\nsurface = \"8 °C\"\n[room.thermostat]\n\"0h\" = \"18 °C\"\n[room.heaters.h]\nclass = \"propane-vented\"\nmax = \"20 kW\"\n")
		fmt.Fprintf(&b, "tank = \"%d kg\"\n", rapid.IntRange(4, 40).Draw(t, "tank"))
		series("outdoors.air", "°C", -5, 15, 4)
		series("outdoors.rh", "%", 50, 95, 15)
		s.goal.For = rapid.SampledFrom([]string{Earliest, LeastFuel}).Draw(t, "heated goal")
		s.goal.Refills = map[string]map[string][]climate.Refill{"later": {"h": {{At: 20 * time.Hour, Add: 30}}}}
		s.goal.Grid = 8 * time.Hour
	} else {
		series("temperatures.slab", "°C", 4, 26, 5)
		series("temperatures.air", "°C", 4, 28, 5)
		series("temperatures.rh", "%", 25, 90, 15)
		if rapid.IntRange(0, 3).Draw(t, "window of starts") == 0 {
			s.goal.Start = StartWindow{To: 12 * time.Hour, Every: 12 * time.Hour}
			s.goal.Grid = 8 * time.Hour
		}
	}
	if coats == 3 {
		s.goal.Grid = 8 * time.Hour
	}
	s.job = b.String()
	return s
}

// A brute is the best plan that trying every choice finds.
type brute struct {
	rank, stops int
	goal        float64
	hand        time.Duration
	n           int
}

func (a brute) less(b brute) bool {
	switch {
	case a.rank != b.rank:
		return a.rank < b.rank
	case a.stops != b.stops:
		return a.stops < b.stops
	case a.goal != b.goal:
		return a.goal < b.goal
	}
	return a.hand < b.hand
}

// force calls the planner for every choice, and reads the objective off its
// outcome: nothing of the search is used here.
func force(t *rapid.T, j Job, g Goal) brute {
	ctx := context.Background()
	best := brute{rank: 9}
	var grid []time.Duration
	for at := time.Duration(0); at <= g.Horizon; at += g.Grid {
		for x := at; ; x += 30 * time.Minute { // shifts begin on the hour here
			c := j.Start.Add(x)
			h := time.Duration(c.Hour())*time.Hour + time.Duration(c.Minute())*time.Minute
			today := h >= j.Crew.From && h < j.Crew.To && c.Weekday() != time.Sunday
			if today || h+day < j.Crew.To && c.Weekday() != time.Monday { // or last night's shift goes on
				if x <= g.Horizon && !slices.Contains(grid, x) {
					grid = append(grid, x)
				}
				break
			}
		}
	}
	jobs := []Job{j}
	for _, r := range g.Refills {
		other, err := j.elsewhere(func(s *Site) {
			s.Room.Heaters = slices.Clone(s.Room.Heaters)
			var all []climate.Refill // what was not had by now
			for _, x := range r["h"] {
				if x.At > j.Now || j.Now == 0 {
					all = append(all, x)
				}
			}
			s.Room.Heaters[0].Refills = all
		})
		if err != nil {
			t.Fatal(err)
		}
		jobs = append(jobs, other)
	}
	var coats []string
	for _, id := range j.Recipe.order {
		if j.Recipe.Steps[id].Does == Coat {
			coats = append(coats, id)
		}
	}
	starts := []time.Duration{0}
	for at := g.Start.Every; at <= g.Start.To && g.Start.Every > 0; at += g.Start.Every {
		starts = append(starts, at)
	}
	for _, j := range jobs {
		var heat []Finding
		if j.Site != nil {
			p, err := begin(ctx, &j, nil, false)
			if err == nil {
				err = p.heat()
			}
			if err != nil {
				t.Fatal(err)
			}
			heat = p.o.Findings
		}
		var above *sky
		for _, start := range starts {
			var try func(i int, x Job)
			try = func(i int, x Job) {
				if i < len(coats) {
					id := coats[i]
					for _, material := range []bool{false, true} {
						if _, begun := x.Done[id]; begun && material {
							continue
						}
						y := x
						y.Recipe.Steps = map[string]Step{}
						for k, s := range x.Recipe.Steps {
							y.Recipe.Steps[k] = s
						}
						if s := y.Recipe.Steps[id]; material {
							o := s.Options["x"]
							if s.Material = o.Material; o.Film.Given() {
								s.Film = o.Film
							}
							y.Recipe.Steps[id] = s
						}
						for _, hold := range append([]time.Duration{0}, grid...) {
							z := y
							z.held = map[string]time.Duration{}
							for k, at := range y.held {
								z.held[k] = at
							}
							z.held[id] = max(hold, start)
							try(i+1, z)
						}
					}
					return
				}
				best.n++
				p, err := sections(ctx, &x, above)
				if err != nil {
					t.Fatal(err)
				}
				above = p.sky
				v := brute{hand: math.MaxInt64}
				at := p.o.Foot
				if g.HandOver == Service {
					at = p.o.Service
				}
				if v.rank = 1; at != nil {
					v.rank, v.hand = 0, at.Sub(j.Start)
				}
				watches := 0
				for _, f := range append(slices.Clone(p.o.Findings), heat...) {
					if f.Key == "never-ready" {
						v.rank = 2
					}
					if f.Key == "tank-runs-dry" && at != nil && !f.When.Before(*at) || f.Key == "heaters-at-maximum" && at != nil && !f.When.Before(*at) {
						continue
					}
					switch f.Severity {
					case Stop:
						v.stops++
					case Watch:
						watches++
					}
				}
				switch g.For {
				case FewestFindings:
					v.goal = float64(watches)
				case LeastFuel: // the forecast anew, to the hand-over: not the search's reading of it
					until := j.Site.Span
					if at != nil {
						until = min(until, max(v.hand, time.Minute))
					}
					f, err := j.Site.Room.Forecast(j.Site.Outdoors, until, until)
					if err != nil {
						t.Fatal(err)
					}
					v.goal = float64(f.Balance.TakenIn)
				}
				if v.less(best) {
					n := best.n
					best = v
					best.n = n
				}
			}
			x := j
			x.held = map[string]time.Duration{}
			for _, id := range j.Recipe.order {
				if j.Recipe.Steps[id].Does != Broadcast && start > 0 {
					x.held[id] = start
				}
			}
			try(0, x)
		}
	}
	return best
}

// No plan is better than the bound that the search over plans works with, for
// what is chosen so far of it: random choices of the random jobs, ours; common
// practice, no source.
func TestDecideBound(t *testing.T) {
	tight := 0
	rapid.Check(t, func(t *rapid.T) {
		s := drawSmall(t)
		c, j := s.read(t)
		if rapid.IntRange(0, 2).Draw(t, "past") == 0 {
			j, s = midst(t, c, j, s)
		}
		g, err := s.goal.filled(&j)
		if err != nil {
			t.Fatal(err)
		}
		pr, err := newProblem(context.Background(), &j, g)
		if err != nil {
			t.Fatal(err)
		}
		b := &branch{problem: pr}
		for range 8 {
			c := choice{combo: rapid.IntRange(0, len(pr.combos)-1).Draw(t, "combo"), heat: rapid.IntRange(0, len(pr.heats)-1).Draw(t, "heat"), start: rapid.IntRange(0, len(pr.starts)-1).Draw(t, "start")}
			for range pr.coats {
				c.holds = append(c.holds, rapid.SampledFrom(append([]time.Duration{none}, pr.grid...)).Draw(t, "hold"))
			}
			x, err := b.bud(c, pr.held(c.start))
			if err != nil {
				t.Fatal(err)
			}
			job := pr.job(c)
			p, err := sections(context.Background(), &job, pr.heats[c.heat].sky)
			if err != nil {
				t.Fatal(err)
			}
			v, err := pr.of(p, c, pr.heats[c.heat])
			if err != nil {
				t.Fatal(err)
			}
			for n := range pr.coats { // nor does a coat start before the time before which it is not ready
				at, err := b.ready(x, c.holds[:n], n)
				if err != nil {
					t.Fatal(err)
				}
				for section := range p.o.Sections {
					if d, ok := p.done[spot{pr.coats[n].id, section + 1}]; ok && d.start < at && x.begun.done[spot{pr.coats[n].id, section + 1}].end == 0 {
						t.Fatalf("coat %d starts at %v on section %d, and is said not to be ready before %v\n%s\n%s", n, d.start, section+1, at, s.recipe, s.job)
					}
				}
			}
			for n := range len(pr.coats) + 1 {
				bound, err := b.bound(x, c.holds[:n])
				if err != nil {
					t.Fatal(err)
				}
				if v.less(&bound) {
					t.Fatalf("a plan with rank %d, %d stops, goal %g, hand-over %v; its bound, %d coats chosen, rank %d, %d stops, goal %g, %v\n%s\n%s", v.rank, v.stops, v.goal, v.hand, n, bound.rank, bound.stops, bound.goal, bound.hand, s.recipe, s.job)
				}
				if v.hand != forever && v.hand-bound.hand < 10*time.Minute {
					tight++
				}
			}
		}
	})
	if tight == 0 {
		t.Error("no bound within 10 min of its plan: it does not bound anything")
	}
}

// midst puts a job into its midst: what its plan has begun by some moment is
// done, or goes on, mostly a little otherwise than planned.
func midst(t *rapid.T, c *Catalog, j Job, s small) (Job, small) {
	p, err := sections(context.Background(), &j, nil)
	if err != nil {
		t.Fatal(err)
	}
	now := time.Duration(rapid.IntRange(1, 100).Draw(t, "now")) * 30 * time.Minute
	late := time.Duration(rapid.IntRange(-10, 20).Draw(t, "late")) * time.Minute
	var b strings.Builder
	for _, id := range j.Recipe.order {
		if d := j.Recipe.Steps[id].Does; d == Condition || d == Broadcast {
			continue
		}
		for section := range p.o.Sections + 1 {
			d, ok := p.done[spot{id, section}]
			if start := d.start + max(late, 0); ok && start < now {
				fmt.Fprintf(&b, "[done.%s", id)
				if section > 0 {
					fmt.Fprintf(&b, ".sections.%d", section)
				}
				fmt.Fprintf(&b, "]\nstart = \"%dm\"\n", int(start/time.Minute))
				if end := max(d.end+late, start+10*time.Minute); end.Truncate(time.Minute) <= now {
					fmt.Fprintf(&b, "end = \"%dm\"\n", int(end/time.Minute))
				}
			}
		}
	}
	head, rest, _ := strings.Cut(s.job, "\n")
	s.job = fmt.Sprintf("%s\nnow = \"%dm\"\n%s%s", head, int(now/time.Minute), rest, b.String())
	if b.Len() > 0 {
		s.goal.Start = StartWindow{}
	}
	out, err := ReadJob(strings.NewReader(s.job), c)
	if err != nil {
		t.Fatalf("%v\n%s\n%s", err, s.recipe, s.job)
	}
	return out, s
}

// foundFirst returns the best that the search finds, without the water of coats.
func foundFirst(t *rapid.T, j Job, g Goal) brute {
	pr, r := search(t, j, g)
	s, err := pr.score(r.best)
	if err != nil {
		t.Fatal(err)
	}
	return scored(s, g, j.Start)
}

func search(t *rapid.T, j Job, g Goal) (*problem, *result) {
	g, err := g.filled(&j)
	if err != nil {
		t.Fatal(err)
	}
	pr, err := newProblem(context.Background(), &j, g)
	if err != nil {
		t.Fatal(err)
	}
	r, err := pr.solve()
	if err != nil {
		t.Fatal(err)
	}
	return pr, r
}

// scored reads the objective off a score.
func scored(s Score, g Goal, start time.Time) brute {
	x := brute{stops: s.Stops, hand: math.MaxInt64, rank: 1}
	if s.HandOver != nil {
		x.rank, x.hand = 0, s.HandOver.Sub(start)
	} else if !s.Whole {
		x.rank = 2
	}
	switch g.For {
	case FewestFindings:
		x.goal = float64(s.Watches)
	case LeastFuel:
		x.goal = float64(*s.Fuel)
	case LeastCost:
		x.goal = float64(*s.Cost)
	}
	return x
}

// Decide finds what trying every choice with the planner itself finds; the
// random jobs are our own: common practice, no source. A thousand of them were
// run once (-decide.jobs 1000).
func TestDecideBruteForce(t *testing.T) {
	jobs, done, kinds := *decideJobs, 0, map[string]int{}
	if testing.Short() {
		jobs = min(jobs, 15)
	}
	rapid.Check(t, func(t *rapid.T) {
		if done >= jobs {
			return
		}
		s := drawSmall(t)
		c, j := s.read(t)
		if rapid.IntRange(0, 2).Draw(t, "past") == 0 {
			if j, s = midst(t, c, j, s); len(j.Done) > 0 {
				kinds["begun"]++
			}
		}
		d, err := Decide(context.Background(), j, s.goal)
		if err != nil {
			t.Fatalf("%v\n%s\n%s", err, s.recipe, s.job)
		}
		for _, c := range d.Coats {
			if _, begun := j.Done[c.Step]; !begun && c.Start != nil && c.Start.Before(j.Start.Add(j.Now)) || c.NotBefore != nil && !c.NotBefore.After(j.Start.Add(j.Now)) {
				t.Fatalf("%s starts %v, held back until %v: before now, %v\n%s\n%s", c.Step, c.Start, c.NotBefore, j.Now, s.recipe, s.job)
			}
		}
		if !d.Searched || !s.heated && (!d.Optimal || len(d.Changed) > 0 || len(d.Weighed) > 0) {
			t.Fatalf("searched %v, optimal %v, changed %v, weighed %v", d.Searched, d.Optimal, d.Changed, d.Weighed)
		}
		kinds["changed by water"] += min(len(d.Changed), 1)
		want := force(t, j, s.goal)
		got := foundFirst(t, j, s.goal)
		if x := scored(d.Score, s.goal, j.Start); !s.heated && x != got {
			t.Fatalf("the search found %+v, and the decision is %+v", got, x)
		}
		if s.goal.For == LeastFuel {
			beyond := got.hand > j.Site.Span // brute force stops at the forecast's end
			if tol := 0.005*want.goal + 1e5; beyond || math.Abs(got.goal-want.goal) < tol {
				want.goal, want.hand = got.goal, got.hand // read off quarter hours
			}
		}
		want.n = 0
		if got != want {
			t.Fatalf("decided %+v, best of all %+v\n%s\n%s\n%s", got, want, strings.Join(d.Text, "\n"), s.recipe, s.job)
		}
		done++
		kinds[s.goal.For]++
		kinds[fmt.Sprintf("%d sections", s.sections)]++
		kinds[fmt.Sprintf("rank %d", got.rank)]++
		kinds[fmt.Sprintf("stops %d", min(got.stops, 3))]++
		if len(d.Coats) == 3 {
			kinds["three coats"]++
		}
		if d.Heat != (HeatChoice{}) {
			kinds["other heat"]++
		}
		for _, c := range d.Coats {
			if c.NotBefore != nil {
				kinds["held back"]++
				break
			}
		}
	})
	t.Logf("%d jobs: %v", done, kinds)
	if jobs >= 60 && (kinds["held back"] == 0 || kinds["stops 0"] == 0 || kinds["stops 1"] == 0) {
		t.Errorf("%d jobs: %v: want some held back, without and with stops", done, kinds)
	}
}
