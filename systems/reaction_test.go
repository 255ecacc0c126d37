package systems_test

import (
	"strings"
	"testing"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// A pail larger than the amount that the pot life is stated for goes off sooner,
// and its batches are the smaller for it; where nothing is known of the liquid's
// heat the plan says so. Common practice, no source.
func TestPotLifeOfMore(t *testing.T) {
	big := planOf(t, baseJob+"[materials.epoxy-standard]\nvessel = \"5 gal\"\n[materials.epoxy-standard.times.pot-life]\namount = \"1 qt\"\n\"50 °F\" = \"55m\"\n\"75 °F\" = \"25m\"\n")
	small := planOf(t, baseJob+"[materials.epoxy-standard]\nvessel = \"1 qt\"\n[materials.epoxy-standard.times.pot-life]\namount = \"1 qt\"\n\"50 °F\" = \"55m\"\n\"75 °F\" = \"25m\"\n")
	batch := func(o *systems.Outcome) *systems.Batches {
		for _, n := range o.TakeOff {
			if n.Step == "body" {
				return n.Batches
			}
		}
		t.Fatal("no body coat")
		return nil
	}
	a, b := batch(big), batch(small)
	if !(a.PotLife < b.PotLife) || a.PotLife < b.PotLife/2 {
		t.Errorf("pot life %v of up to %v, %v of a quart: want it shorter, and not by half", a.PotLife, a.Largest, b.PotLife)
	}
	if a.Largest <= b.Largest || has(big, "body", "pot-life-of-less") {
		t.Errorf("largest %v and %v", a.Largest, b.Largest)
	}
	paths, err := big.Explainable()
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range paths { // the explanation follows
		if _, err := big.Explain(path); err != nil {
			t.Error(err)
		}
	}
	// A liquid without its reaction: told.
	o := planOf(t, baseJob+"[materials.epoxy-primer-water.times.pot-life]\namount = \"1 gal\"\n\"50 °F\" = \"3h\"\n\"75 °F\" = \"90m\"\n\"90 °F\" = \"50m\"\n")
	f := found(o, "pot-life-of-less")
	if len(f) != 1 || f[0].Step != "prime" || !strings.Contains(f[0].Sentence(units.US), "the pot life is that of 1 gal") {
		t.Errorf("%+v", f)
	}
	for text, want := range map[string]string{
		"[materials.epoxy-primer-water.reaction]\nheat = \"100 kJ/kg\"\n": "want all of them",
		"[materials.epoxy-standard.reaction]\nheat = \"100 MJ/kg\"\n":     "want 1 kJ/kg to 1000 kJ/kg",
		"[materials.epoxy-standard.reaction]\nworkable = \"0 %\"\n":       "want 0.1 % to 99 %",
		"[materials.epoxy-standard.reaction]\nheet = \"100 kJ/kg\"\n":     "unknown key",
	} {
		if _, err := systems.ReadJob(strings.NewReader(baseJob+text), builtin(t)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v; want %q", text, err, want)
		}
	}
}
