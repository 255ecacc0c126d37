package learn

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// What work done teaches is recovered from readings with scatter: the 95 % interval
// holds the truth in as many of 400 draws, less three deviations of a binomial
// count (4.4 each), and good readings are flagged in one set of a hundred at most.
// Kits scatter by 3 %, combs by 1 mil, grain by 4 %, hours by a factor of 1.15.
// Source: the plan's own needs; readings drawn.
func TestWorkRecovered(t *testing.T) {
	j := demo(t)
	plan := mustPlan(t, j)
	needs := map[string]systems.Need{}
	for _, n := range plan.TakeOff {
		needs[n.Step] = n
	}
	for _, n := range []int{2, 4, 8} {
		const runs = 400
		held, alarms := map[string]int{}, 0
		truth := map[string]float64{"steps.body.film": float64(needs["body"].Dry), "steps.prime.film": float64(needs["prime"].Dry), "steps.throw.keeps": 0.62,
			"steps.clean.rate": float64(500 * units.SquareFoot / 3600), "steps.joint.pace": float64(50 * units.Foot / 3600), "steps.patch.each": 1500, "areas.store.uptake": 0}
		for _, a := range j.Areas {
			if a.Name == "store" {
				truth["areas.store.uptake"] = float64(a.Uptake)
			}
		}
		for seed := range runs {
			r := rand.New(rand.NewPCG(uint64(seed), uint64(n)))
			out := &Result{}
			w := &works{j: &j, plan: plan, r: out}
			prime, body := needs["prime"], needs["body"]
			b := &balance{&j, plan, &prime, ptr(j.Recipe.Steps["prime"])}
			p := b.at("store")
			// What the store takes of the primer, by the balance read forwards.
			takes := (p.covers*float64(prime.Wet)*b.liquid() + p.profile + p.lies + p.uptake + float64(prime.Tools)*p.covers/float64(prime.Area)) / (1 - float64((prime.Waste+prime.Residue)/prime.Gross))
			var used, bodies []Used
			var wet []units.Length
			var grain []Grain
			var clean, joint, patch []Work
			hours := func(h float64) time.Duration { return time.Duration(h * math.Exp(0.14*r.NormFloat64()) * 3600e9) }
			for i := range n {
				name := string(rune('a' + i))
				share := 1 / float64(n)
				used = append(used, Used{"prime", name, "store", units.Area(p.covers * share), units.Volume(takes * share * (1 + 0.03*r.NormFloat64()))})
				bodies = append(bodies, Used{"body", name, "", body.Area * units.Area(share), body.Gross * units.Volume(share*(1+0.03*r.NormFloat64()))})
				wet = append(wet, prime.Wet+units.Length(r.NormFloat64())*units.Mil)
				grain = append(grain, Grain{"throw", name, 100, units.Mass(38 + 4*r.NormFloat64())})
				clean = append(clean, Work{Step: "clean", Name: name, Area: 500 * units.SquareFoot, Hands: 2, Time: hours(0.5)})
				joint = append(joint, Work{Step: "joint", Name: name, Length: 50 * units.Foot, Hands: 1, Time: hours(1)})
				patch = append(patch, Work{Step: "patch", Name: name, Count: 2, Hands: 1, Time: hours(2 * 1500. / 3600)})
			}
			w.coat("prime", used, wet)
			w.coat("body", bodies, nil)
			w.grain("throw", grain)
			w.hours("clean", clean)
			w.hours("joint", joint)
			w.hours("patch", patch)
			if len(out.Flags) > 0 {
				alarms++
			}
			for key, want := range truth {
				f, ok := out.Figure(key)
				if !ok {
					t.Fatalf("seed %d: no %s: %v %v", seed, key, out.Notes, out.Flags)
				}
				if f.Low.Q == nil && strings.Contains(f.Note, "says nothing") {
					held[key]++ // no bounds hold anything
					continue
				}
				if lo, hi := plainOf(f.Low.Q), plainOf(f.High.Q); lo <= want && want <= hi {
					held[key]++
				}
			}
		}
		t.Logf("%d readings: %v of %d; %d false alarms", n, held, runs, alarms)
		for key := range truth {
			if float64(held[key]) < 0.95*runs-3*math.Sqrt(0.95*0.05*runs) {
				t.Errorf("%d readings: the interval of %s holds in %d of %d", n, key, held[key], runs)
			}
		}
		if alarms > runs/100 {
			t.Errorf("%d readings: good ones are flagged in %d of %d sets", n, alarms, runs)
		}
	}
}

func ptr[T any](v T) *T { return &v }
