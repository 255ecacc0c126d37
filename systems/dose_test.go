package systems_test

import (
	"math"
	"strings"
	"testing"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// doseJob lays a methacrylate coat on a slab of 45 °F.
func doseJob(slab string) string {
	return strings.ReplaceAll(strings.Replace(baseJob, "quartz-broadcast@1.1.0", "methacrylate-broadcast", 1), "65 °F", slab)
}

// By hand, with the rows of methacrylate 1.1.0: at 45 °F halfway between 4 % and
// 3 %, 3.5 % of the resin's mass; outside the rows no dose is guessed.
func TestDose(t *testing.T) {
	o := planOf(t, doseJob("45 °F"))
	n := 0
	for _, need := range o.TakeOff {
		if need.Batches == nil {
			continue
		}
		d := need.Batches.Dose
		if d == nil || math.Abs(float64(d.Share)-0.035) > 1e-9 || math.Abs(d.At.Fahrenheit()-45) > 1e-6 {
			t.Fatalf("%s: %+v", need.Step, d)
		}
		n++
		resin, powder := need.Batches.Parts[0], need.Batches.Parts[1]
		if math.Abs(float64(powder.Mass/resin.Mass)-0.035) > 1e-9 || powder.Mass != d.Each || !strings.HasPrefix(d.Part, "peroxide") {
			t.Errorf("%s: %+v of %+v", need.Step, powder, resin)
		}
		if all := float64(d.Each) * float64(need.Batches.N); math.Abs(all-float64(d.All)) > 1e-9*all {
			t.Errorf("%s: %v in %d batches of %v", need.Step, d.All, need.Batches.N, d.Each)
		}
		if volume := powder.Mass.Volume(10 * units.Pound.PerVolume(units.Gallon)); math.Abs(float64(powder.Volume/volume)-1) > 1e-9 {
			t.Errorf("%s: %v of powder", need.Step, powder.Volume)
		}
	}
	if n < 3 || len(found(o, "dose-beyond-kits")) != n || len(found(o, "no-dose-for-temperature")) != 0 {
		t.Errorf("%d doses: %+v", n, o.Findings)
	}
	cautions := ""
	for _, c := range o.Cautions {
		cautions += c.Key + " "
	}
	if !strings.Contains(cautions, "peroxide") {
		t.Errorf("no caution of peroxide: %s", cautions)
	}
	explainAll(t, o)
	cold := planOf(t, doseJob("25 °F"))
	if f := found(cold, "no-dose-for-temperature"); len(f) == 0 || f[0].Severity != systems.Stop || cold.TakeOff[0].Batches.Dose != nil {
		t.Errorf("at 25 °F: %+v", cold.Findings)
	}
}

// What a dose must not be, with line and key. Common practice, no source.
func TestDoseErrors(t *testing.T) {
	const file = "materials/methacrylate-1.1.0.toml"
	for _, tc := range []struct{ old, new, want string }{
		{`part = "b"`, `part = "c"`, `dose.part: found "c": want one of the parts a, b`},
		{`part = "b"`, ``, "dose: found no part"},
		{`"40 °F" = "4 %"`, `"40 °F" = "4"`, `dose: row "40 °F": `},
		{`"40 °F" = "4 %"`, `"40 °F" = "40 %"`, "want a share above 0 % and at most 20 %"},
		{`"40 °F" = "4 %"`, `"55 °F" = "4 %"`, `found row "50 °F" below row "55 °F": want the rows in order`},
		{`"40 °F" = "4 %"`, `"40 °F" = 4`, "dose: 40 °F: found 4: want a text in quotes"},
		{`"40 °F" = "4 %"`, `forty = "4 %"`, "neither a temperature nor one of part"},
	} {
		if _, err := systems.Load(tree(t, file, tc.old, tc.new)); err == nil || !strings.HasPrefix(err.Error(), file+":") || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s:\n got %v\nwant %s", tc.new, err, tc.want)
		}
	}
}
