package systems_test

import (
	"context"
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/approx"
	"github.com/tackfree/tackfree/systems"
)

// found returns the plan's findings of one key.
func found(o *systems.Outcome, key string) (out []systems.Finding) {
	for _, f := range o.Findings {
		if f.Key == key {
			out = append(out, f)
		}
	}
	return out
}

// Common practice, no source: a reading of one kind does not answer a limit of
// the other kind.
func TestMoistureOfOneKind(t *testing.T) {
	easy := read(t, "two-rooms.toml")
	if f := found(planOf(t, easy), "slab-moisture-unmeasured"); len(f) != 0 {
		t.Errorf("both kinds read: %v", f)
	}
	for _, line := range []string{"humidity = \"70 %\"\n", "emission = \"2.5 lb/(1000 ft2 d)\"\n"} {
		if f := found(planOf(t, strings.Replace(easy, line, "", 1)), "slab-moisture-unmeasured"); len(f) == 0 || f[0].Asked.Q == nil || f[0].Limit == "" {
			t.Errorf("without %q: %+v; want a finding that names the limit", line, f)
		}
	}
}

// The ages are the data's joint-age limits.
func TestYoungSlab(t *testing.T) {
	easy := read(t, "two-rooms.toml")
	for _, tc := range []struct {
		age  string
		want int
	}{{"20d", 2}, {"60d", 1}, {"90d", 0}} {
		if f := found(planOf(t, strings.Replace(easy, "[moisture]\n", "[moisture]\nage = \""+tc.age+"\"\n", 1)), "joint-too-young"); len(f) != tc.want {
			t.Errorf("slab of %s: %d findings, want %d", tc.age, len(f), tc.want)
		}
	}
}

// A door open for a few minutes while the body coat is wet, shorter than the
// schedule's grain. Common practice, no source.
func TestShortDip(t *testing.T) {
	easy := read(t, "two-rooms.toml")
	var body systems.Work
	for _, w := range planOf(t, easy).Schedule {
		if w.Step == "body" {
			body = w
		}
	}
	for _, minutes := range []int{2, 6, 10} {
		at := body.End.Sub(planOf(t, easy).Start).Round(time.Minute) + 7*time.Minute
		dip := "\"0h\" = \"70 °F\"\n"
		for i, temp := range []string{"70 °F", "30 °F", "70 °F"} {
			dip += "\"" + (at + time.Duration(i*minutes)*time.Minute/2).String() + "\" = \"" + temp + "\"\n"
		}
		o := planOf(t, strings.Replace(easy, "\"0h\" = \"70 °F\"\n", dip, 1))
		f := found(o, "air-too-cold-before-tack-free")
		if len(f) == 0 || f[0].Step != "body" || f[0].Found.Q.(units.Temperature).Fahrenheit() > 31 {
			t.Errorf("a dip of %d min to 30 °F: %+v", minutes, f)
		}
	}
}

// A slab that never gets as warm as its conditioning asks: the plan ends with
// what was done, and says so.
func TestPrepNeverReady(t *testing.T) {
	cold := strings.NewReplacer("66 °F", "45 °F", "68 °F", "45 °F").Replace(read(t, "two-rooms.toml"))
	o := planOf(t, cold)
	if len(found(o, "never-ready")) == 0 {
		t.Fatalf("no finding: %+v", o.Findings)
	}
	if o.End.Before(o.Start) || o.End.Sub(o.Start) > 60*24*time.Hour {
		t.Errorf("ends %v, starts %v", o.End, o.Start)
	}
}

// US and SI texts of one job agree to 1e-12: units are text only.
func TestOneJobInTwoUnits(t *testing.T) {
	us := read(t, "two-rooms.toml")
	si := strings.NewReplacer(`"24 ft"`, `"7.3152 m"`, `"20 ft"`, `"6.096 m"`, `"18 ft"`, `"5.4864 m"`, `"14 ft"`, `"4.2672 m"`, `"80 ft"`, `"24.384 m"`, `"58 ft"`, `"17.6784 m"`,
		`"4 in"`, `"101.6 mm"`, `"0.75 in"`, `"19.05 mm"`, `"3 mil"`, `"76.2 um"`, `"2 mil"`, `"50.8 um"`, `"6 ft"`, `"1.8288 m"`, `"0.25 in"`, `"6.35 mm"`, `"1 in"`, `"25.4 mm"`,
		`"68 °F"`, `"20 °C"`).Replace(us)
	if strings.Contains(si, " ft\"") || strings.Contains(si, " in\"") {
		t.Fatal("a length is left in feet")
	}
	a, b := planOf(t, us), planOf(t, si)
	if d := cmp.Diff(a.TakeOff, b.TakeOff, approx.Quantity[units.Length](0, 1e-12), approx.Quantity[units.Area](0, 1e-12), approx.Quantity[units.Volume](0, 1e-12),
		approx.Quantity[units.Mass](0, 1e-12), approx.Quantity[units.Loading](0, 1e-12), approx.Quantity[units.Spread](0, 1e-12), approx.Quantity[units.Density](0, 1e-12),
		approx.Quantity[units.Fraction](0, 1e-12), cmp.Comparer(func(a, b units.Temperature) bool { return math.Abs(float64(a.Sub(b))) < 1e-9 }),
		cmp.Comparer(func(a, b units.Span) bool { return (a - b).Duration().Abs() <= time.Second })); d != "" {
		t.Errorf("the take-offs differ (-us +si):\n%s", d)
	}
	if !a.End.Equal(b.End) {
		t.Errorf("ends %v and %v", a.End, b.End)
	}
}

// An Outcome goes through JSON without a loss of its findings' figures.
func TestFindingsJSON(t *testing.T) {
	j, err := systems.ReadJob(strings.NewReader(read(t, "every-finding.toml")), builtin(t))
	if err != nil {
		t.Fatal(err)
	}
	o, err := systems.Plan(context.Background(), j)
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(o.Findings)
	if err != nil {
		t.Fatal(err)
	}
	var back []struct{ Key, Found, Asked string }
	if err := json.Unmarshal(text, &back); err != nil || len(back) != len(o.Findings) || back[0].Key != o.Findings[0].Key {
		t.Errorf("%v\n%s", err, text)
	}
}

// Readings and dishes: the highest counts, and there are three in the first
// 1000 ft2 and one in each further (ASTM F1869, F2170, from memory).
func TestMoistureReadings(t *testing.T) {
	easy := read(t, "two-rooms.toml") // 732 ft2
	with := func(humidity, emission string) string {
		return strings.NewReplacer("humidity = \"70 %\"\n", humidity, "emission = \"2.5 lb/(1000 ft2 d)\"\n", emission).Replace(easy)
	}
	// 4.2 g in 66.5 h under 0.5 ft2: 6.68 lb/(1000 ft2 d), as ASTM F1869 has it, computed.
	dishes := "[moisture.dishes.a]\ngain = \"1.2 g\"\narea = \"0.5 ft2\"\nexposure = \"66h\"\n[moisture.dishes.b]\ngain = \"4.2 g\"\narea = \"0.5 ft2\"\nexposure = \"66h30m\"\n"
	o := planOf(t, with("readings = [\"68 %\", \"83 %\", \"71 %\"]\n", dishes))
	var wet []string
	for _, f := range found(o, "slab-too-wet") {
		wet = append(wet, f.Sentence(units.US))
	}
	all := strings.Join(wet, " ")
	if !strings.Contains(all, "83 %") || !strings.Contains(all, "6.68 lb/(1000 ft2 d)") {
		t.Errorf("%v", wet)
	}
	few := found(o, "too-few-moisture-tests")
	if len(few) != 1 || !strings.Contains(few[0].Text, "2 dishes, and the floor's area asks for 3") {
		t.Errorf("%+v", few)
	}
	for text, want := range map[string]string{
		with("humidity = \"70 %\"\nreadings = [\"68 %\"]\n", ""): "want one of them",
		with("readings = [\"68\"]\n", ""):                        "no unit",
		with("readings = [\"0 %\"]\n", ""):                       "want 1 % to 100 %",
		with("", strings.Replace(dishes, "66h\"", "24h\"", 1)):   "want 60 to 72",
		with("", "emission = \"2 lb/(1000 ft2 d)\"\n"+dishes):    "want one of them",
		with("", "[moisture.dishes.a]\ngain = \"1.2 g\"\n"):      "want all three",
	} {
		if _, err := systems.ReadJob(strings.NewReader(text), builtin(t)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v; want %q", err, want)
		}
	}
}
