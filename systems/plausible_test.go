package systems_test

import (
	"maps"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// newestIDs lists the ids of names such as "id@1.0.0", each once.
func newestIDs(names []string) []string {
	ids := map[string]bool{}
	for _, name := range names {
		id, _, _ := strings.Cut(name, "@")
		ids[id] = true
	}
	return slices.Sorted(maps.Keys(ids))
}

// newestOf calls f with the newest version of every material of a kind.
func newestOf(t *testing.T, kind string, f func(id string, m systems.Material)) {
	c, n := builtin(t), 0
	for _, id := range newestIDs(c.Materials()) {
		m, err := c.Material(id)
		if err != nil {
			t.Fatal(err)
		}
		if m.Kind == kind {
			n++
			f(id, m)
		}
	}
	if n == 0 {
		t.Errorf("no material is a %s", kind)
	}
}

// The newest files agree with each other: every coat of a recipe, over its whole
// range and with each of its options, is a film that the material may have; no
// pail holds more than its pot life is for (the waterborne primer does not heat);
// no broadcast goes on when the pail is gone; the first row of every earliest
// event reaches down to where the liquid may be placed, service apart.
func TestDataAgreesWithItself(t *testing.T) {
	c := builtin(t)
	for _, name := range newestIDs(c.Recipes()) {
		r, err := c.Recipe(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, id := range r.Order() {
			s := r.Steps[id]
			options := map[string]systems.Option{"": {Material: s.Material}}
			maps.Copy(options, s.Options)
			if s.Does != systems.Coat {
				if len(s.Options) > 0 {
					t.Errorf("%s %s: options of a step that is no coat are never tried", name, id)
				}
				continue
			}
			for o, opt := range options {
				m, err := c.Material(opt.Material)
				if err != nil {
					t.Fatal(err)
				}
				film := s.Film
				if opt.Film.Given() {
					film = opt.Film
				}
				solids := m.Solids.Q
				if s.Sand != "" { // only the liquid shrinks, and it is at most two thirds of a filled coat
					solids = 1 - (1-solids)*2/3
				}
				for _, q := range []*units.Length{film.Low, &film.Q, film.High} {
					if q == nil && s.Film.Basis == systems.Published {
						continue
					}
					if q == nil {
						t.Errorf("%s %s %s: a film without a range", name, id, o)
						continue
					}
					if wet := *q / units.Length(solids); wet < m.Film.Low*(1-1e-9) || wet > m.Film.High*(1+1e-9) {
						t.Errorf("%s %s %s: %v dry is %v wet, of %s %s to %s", name, id, o, *q, wet, m.ID, m.Film.LowText, m.Film.HighText)
					}
				}
				for _, b := range r.Order() { // what is thrown into it
					if _, ok := m.Times[systems.BroadcastLatest]; r.Steps[b].Into == id && !ok {
						t.Errorf("%s %s %s: %s is thrown into %s, which does not say until when", name, id, o, b, m.ID)
					}
				}
			}
		}
	}
	newestOf(t, "liquid", func(id string, m systems.Material) {
		pot := m.Times[systems.PotLife]
		if id != "epoxy-primer-water" && m.Vessel.Q > pot.Amount {
			t.Errorf("%s: vessel %s, pot life for %v", id, m.Vessel.Text, pot.Amount)
		}
		if throw, ok := m.Times[systems.BroadcastLatest]; ok && !strings.Contains(m.Chemistry, "epoxy") {
			for _, row := range throw.Table {
				if left, err := pot.Table.Time(row.Temp); err != nil || row.Time >= left {
					t.Errorf("%s: broadcast until %v at %v, pot life %v %v", id, row.Time, row.Temp, left, err)
				}
			}
		}
		for _, event := range []string{systems.TackFree, systems.Grindable, systems.RecoatEarliest, systems.Foot} {
			e, ok := m.Times[event]
			if !ok && event != systems.Grindable {
				t.Errorf("%s: no time for %s", id, event)
			} else if ok && m.Surface.Low.Less(e.Table[0].Temp) {
				t.Errorf("%s %s: rows from %v, placed from %s", id, event, e.Table[0].Temp, m.Surface.LowText)
			}
		}
		if last := pot.Table[len(pot.Table)-1].Temp; last.Less(m.Surface.High) {
			t.Errorf("%s: pot life up to %v, placed up to %s", id, last, m.Surface.HighText)
		}
	})
}

// Cure is never faster in the cold, and its events come in their order at every
// row: the pail, then tack-free, recoat, hard, service. Common practice, no
// source; that rates rise with temperature is Arrhenius.
func TestTimesOfTheCatalog(t *testing.T) {
	newestOf(t, "liquid", func(id string, m systems.Material) {
		for event, e := range m.Times {
			for i := 1; i < len(e.Table); i++ {
				if a, b := e.Table[i-1], e.Table[i]; b.Time > a.Time {
					t.Errorf("%s %s: %v at %v, and %v at %v", id, event, a.Time, a.Temp, b.Time, b.Temp)
				}
			}
			// From the coldest row to the warmest the apparent activation energy is that of a
			// floor resin. Methacrylate: its dose is set by the temperature; latest times are
			// often floored; polyurea is quick at any temperature.
			if len(e.Table) < 2 || event == systems.RecoatLatest {
				continue
			}
			lo, hi := 15.0, 75.0 // kJ/mol; cure-notes: 30 to 62 for events, 100 for the slow path of an epoxy
			if m.Dose.Given() {  // the dose makes up for most of the cold
				lo, hi = 5, 40
			}
			a, b := e.Table[0], e.Table[len(e.Table)-1]
			ea := 8.314462618e-3 * math.Log(float64(a.Time)/float64(b.Time)) / (1/a.Temp.Kelvin() - 1/b.Temp.Kelvin())
			if !(ea >= lo && ea <= hi) {
				t.Errorf("%s %s: %.0f kJ/mol from %v to %v, want %g to %g", id, event, ea, a.Temp, b.Temp, lo, hi)
			}
		}
		for _, pair := range [][2]string{
			{systems.PotLife, systems.TackFree}, {systems.BroadcastLatest, systems.TackFree}, {systems.TackFree, systems.RecoatEarliest}, {systems.TackFree, systems.Foot},
			{systems.RecoatEarliest, systems.RecoatLatest}, {systems.Foot, systems.Service}, {systems.Grindable, systems.Service}, {systems.RecoatEarliest, systems.Service},
		} {
			first, ok1 := m.Times[pair[0]]
			then, ok2 := m.Times[pair[1]]
			if !ok1 || !ok2 {
				continue
			}
			for _, row := range first.Table {
				if d, err := then.Table.Time(row.Temp); err == nil && d < row.Time {
					t.Errorf("%s at %v: %s after %v, %s already after %v", id, row.Temp, pair[0], row.Time, pair[1], d)
				}
			}
		}
		if mixing, shortest := m.Mixing.Q.Duration(), m.Times[systems.PotLife].Table; mixing >= shortest[len(shortest)-1].Time {
			t.Errorf("%s: mixed for %v, pot life %v", id, mixing, shortest[len(shortest)-1].Time)
		}
	})
}

// Densities, mix ratios and shares are those of their class. Common practice, no
// source; quartz is 2.60 to 2.67 (inorganic soil, NAVFAC MO 330).
func TestDensitiesOfTheCatalog(t *testing.T) {
	newestOf(t, "liquid", func(id string, m systems.Material) {
		lo, hi := 0.95, 1.45 // kg/L
		if m.Chemistry == "methacrylate" {
			lo, hi = 0.93, 1.30
		}
		for key, p := range m.Parts {
			d := float64(p.Density.Q) / 1000
			if p.Name == "powder" { // cement and sand
				lo, hi = 2.4, 3.2
			}
			if p.Density.Low == nil || p.Density.High == nil || !(d >= lo && d <= hi) {
				t.Errorf("%s part %s: %g kg/L, want a range and %g to %g", id, key, d, lo, hi)
			}
			if p.Name == "powder" {
				lo, hi = 0.95, 1.45
			}
		}
		if m.Solids.Low == nil || m.Solids.High == nil {
			t.Errorf("%s: solids without a range", id)
		}
		parts := strings.Split(m.Mix, ":")
		if len(parts) == 2 && m.MixBy == "volume" && !slices.Contains([]string{"1:1", "2:1", "3:1", "4:1"}, m.Mix) {
			t.Errorf("%s: %s by volume is a ratio that no kit has", id, m.Mix)
		}
		if one := m.Chemistry == "moisture-cured urethane"; one != (len(parts) == 1) {
			t.Errorf("%s: %s in %d parts", id, m.Chemistry, len(parts))
		}
	})
	newestOf(t, "aggregate", func(id string, m systems.Material) {
		d := float64(m.Density.Q) / 1000
		if m.Plate.Given() {
			// Film flakes; three layers or so, so that by chance some 5 % or less stays bare.
			hidden, err := aggregate.Flake{Thickness: m.Plate.Q, Density: m.Density.Q}.Hidden(m.Refusal.Q)
			if err != nil || !(d >= 1.2 && d <= 2) || !(hidden >= 0.94 && hidden <= 0.995) || m.Plate.Q > m.Size.Q/5 {
				t.Errorf("%s: %g kg/L, hides %.3f, %v across %v, %v", id, d, float64(hidden), m.Plate.Q, m.Size.Q, err)
			}
			return
		}
		if !(d >= 2.6 && d <= 2.67) {
			t.Errorf("%s: %g kg/L, want that of quartz", id, d)
		}
		if !m.Size.Given() || m.Size.Low == nil || len(m.Passing) < 3 {
			t.Errorf("%s: no range of size, or fewer than three sieves", id)
			return
		}
		// The middle size lies between the sieves that pass the half.
		var below, above units.Length = 0, 1
		for opening, share := range m.Passing {
			var o units.Length
			var s units.Fraction
			if o.UnmarshalText([]byte(opening)) != nil || s.UnmarshalText([]byte(share)) != nil {
				t.Fatalf("%s %s %s", id, opening, share)
			}
			if s <= 0.5 {
				below = max(below, o)
			}
			if s >= 0.5 {
				above = min(above, o)
			}
		}
		if m.Size.Q < below || m.Size.Q > above {
			t.Errorf("%s: middle size %v, half passes between %v and %v", id, m.Size.Q, below, above)
		}
	})
	newestOf(t, "thickener", func(id string, m systems.Material) {
		if d := float64(m.Density.Q) / 1000; !(d >= 1.5 && d <= 3) {
			t.Errorf("%s: %g kg/L", id, d)
		}
	})
}

// Every chemistry has its cautions, and no file has one of a chemistry unknown
// here. Common practice, no source; of peroxides and isocyanates, the safety
// data sheets' usual first lines.
func TestCautionsOfTheCatalog(t *testing.T) {
	want := map[string][]string{
		"epoxy": {"amine", "skin"}, "waterborne epoxy": {"amine", "skin", "solvent"}, "polyaspartic": {"isocyanate", "skin"}, "polyurea": {"isocyanate", "skin"},
		"aliphatic urethane": {"isocyanate", "solvent", "skin"}, "moisture-cured urethane": {"isocyanate", "solvent", "skin"},
		"urethane cement": {"isocyanate", "cement", "silica", "skin"}, "methacrylate": {"methacrylate", "peroxide", "skin", "heat-of-mix"},
	}
	newestOf(t, "liquid", func(id string, m systems.Material) {
		all, ok := want[m.Chemistry]
		if !ok {
			t.Errorf("%s: chemistry %q: which cautions has it?", id, m.Chemistry)
		}
		if m.Solids.Q < 0.95 && m.Chemistry != "methacrylate" { // there the rest is shrinkage
			all = append(slices.Clone(all), "solvent")
		}
		for _, key := range all {
			if !slices.Contains(m.Cautions, key) {
				t.Errorf("%s, %s: no caution %q", id, m.Chemistry, key)
			}
		}
	})
	newestOf(t, "aggregate", func(id string, m systems.Material) {
		if !m.Plate.Given() && !slices.Contains(m.Cautions, "silica") {
			t.Errorf("%s: quartz without the caution on silica", id)
		}
	})
	newestOf(t, "thickener", func(id string, m systems.Material) {
		if !slices.Contains(m.Cautions, "dust") {
			t.Errorf("%s: no caution on dust", id)
		}
	})
	// A recipe with abrasive work has the caution on silica.
	c := builtin(t)
	for _, name := range newestIDs(c.Recipes()) {
		r, err := c.Recipe(name)
		if err != nil || !slices.Contains(r.Cautions, "silica") || !slices.Contains(r.Cautions, "slip") {
			t.Errorf("%s: cautions %v, %v", name, r.Cautions, err)
		}
	}
}

// Every recipe plans at its own figures, warm and dry, without a stop, and its
// build lies in its own range; each material of the catalog serves in a recipe,
// as an option or by a job.
func TestEveryRecipePlans(t *testing.T) {
	c := builtin(t)
	used := map[string]bool{}
	for _, name := range newestIDs(c.Recipes()) {
		r, err := c.Recipe(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range r.Steps {
			for _, id := range []string{s.Material, s.Sand} {
				used[id] = true
			}
			for _, o := range s.Options {
				used[o.Material] = true
			}
		}
		o := planOf(t, sample(t, name, "72 °F"))
		for _, f := range o.Findings {
			if f.Severity == systems.Stop {
				t.Errorf("%s: %s %s: %s", name, f.Step, f.Key, f.Text)
			}
			if f.Key == "build-out-of-range" {
				t.Errorf("%s: %s", name, f.Text)
			}
		}
		if o.Service == nil || o.Service.Sub(o.Start) > 30*24*time.Hour {
			t.Errorf("%s: service %v", name, o.Service)
		}
	}
	served := map[string]string{ // by a job's [steps] alone, as the recipes' heads say
		"joint-polyurea": "joint-and-crack-repair", "quartz-coarse": "", "quartz-fine": "", "flake-eighth": "flake-broadcast", "polyaspartic-fast": "",
	}
	for _, id := range newestIDs(c.Materials()) {
		if _, ok := served[id]; !used[id] && !ok {
			t.Errorf("%s serves in no recipe", id)
		}
	}
}

// sample is a job of 1000 ft2 with one of everything that a recipe has a step
// for, three hands, at one temperature of slab and air.
func sample(t *testing.T, recipe, temp string) string {
	t.Helper()
	r, err := builtin(t).Recipe(recipe)
	if err != nil {
		t.Fatal(err)
	}
	does := func(what string) bool {
		return slices.ContainsFunc(r.Order(), func(id string) bool { return r.Steps[id].Does == what })
	}
	text := strings.NewReplacer("quartz-broadcast@1.1.0", recipe, "800 ft2", "1000 ft2", "65 °F", temp, "68 °F", temp).Replace(baseJob)
	base := slices.ContainsFunc(r.Order(), func(id string) bool { return r.Steps[id].Only == "base" })
	if base {
		text = strings.Replace(text, "uptake", "base_length = \"100 ft\"\nbase_height = \"4 in\"\nbase_radius = \"1 in\"\nuptake", 1)
		if !does(systems.Cove) {
			text = strings.Replace(text, "base_radius = \"1 in\"\n", "", 1)
		}
	}
	if !does(systems.Coat) {
		text += "[cracks.a]\nlength = \"100 ft\"\nwidth = \"0.25 in\"\ndepth = \"0.5 in\"\n[joints.a]\nlength = \"100 ft\"\nwidth = \"0.25 in\"\ndepth = \"1.5 in\"\n"
	}
	return text
}
