package systems_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// humidRows are times over humidity for ownSheet, invented.
const humidRows = `[times.tack-free]
by = "moisture-cured"
"10 °C" = { "30 %" = "20h", "50 %" = "12h", "80 %" = "7h30m" }
"20 °C" = { "80 %" = "3h45m", "30 %" = "10h", "50 %" = "6h" }
`

// Rows over humidity are read as they are written; the plain table is that of
// the column nearest to 50 %. Common practice, no source.
func TestHumidRows(t *testing.T) {
	c, err := systems.LoadLayers(systems.BuiltinLayer(), company(ownSheet+humidRows))
	if err != nil {
		t.Fatal(err)
	}
	m, err := c.Material("my-body")
	if err != nil {
		t.Fatal(err)
	}
	x := m.Times[systems.TackFree]
	if h := x.Humid; h == nil || h.By != cure.MoistureCured || len(h.RH) != 3 || len(h.Temps) != 2 || h.Times[1][0] != 10*time.Hour || h.Times[0][2] != 450*time.Minute {
		t.Errorf("got %+v", h)
	}
	if x.Table[0].Time != 12*time.Hour || x.Table[1].Time != 6*time.Hour || x.Texts[1] != [2]string{"20 °C", "(30 % 10h, 50 % 6h, 80 % 3h45m)"} {
		t.Errorf("got %+v", x)
	}
	for _, tc := range []struct{ old, new, want string }{
		{`by = "moisture-cured"`, `by = "damp"`, `times.tack-free: by: found "damp": want moisture-cured or waterborne`},
		{`by = "moisture-cured"`, ``, "times.tack-free: by: found \"\": want moisture-cured or waterborne"},
		{`"10 °C" = {`, `"5 °C" = "30h"` + "\n" + `"10 °C" = {`, "want all rows over humidity, or none"},
		{`"50 %" = "12h", "80 %"`, `"50 %" = "12h", "85 %"`, "want the same in all"},
		{`"50 %" = "12h"`, `"50" = "12h"`, `row "10 °C": humidity "50": `},
		{`"50 %" = "12h"`, `"50 %" = 12`, `row "10 °C": humidity "50 %": found 12: want a text in quotes`},
		{`"50 %" = "12h"`, `"50 %" = "12"`, `row "10 °C": humidity "50 %": `},
		{`"50 %" = "12h"`, `"50 %" = "-1h"`, `durations have no sign`},
		{`"30 %" = "20h"`, `"0.3" = "20h", "30.0 %" = "2h"`, `humidity "0.3": `},
		{`{ "30 %" = "20h", "50 %" = "12h", "80 %" = "7h30m" }`, `{}`, "found no humidity"},
		{`"30 %" = "20h"`, `"130 %" = "20h"`, `humidity "130 %": want 0 % to 100 %`},
		{`"10 °C" = {`, `"30 °C" = {`, "want the rows in order"},
	} {
		text := strings.Replace(ownSheet+humidRows, tc.old, tc.new, 1)
		if tc.old[:3] == `"10` {
			text = ownSheet + strings.Replace(humidRows, tc.old, tc.new, 1)
		}
		_, err := systems.LoadLayers(systems.BuiltinLayer(), company(text))
		if err == nil || !strings.Contains(err.Error(), tc.want) || !strings.HasPrefix(err.Error(), "company/materials/my-body-1.0.0.toml:") {
			t.Errorf("%s:\n got %v\nwant %s", tc.new, err, tc.want)
		}
	}
}

// dampJob is the base job at temperatures of slab and air in °C, with readings of
// the humidity as they stand in a file, and my-body for its body on a primer whose times are none over humidity.
func dampJob(slab, air float64, rh string) string {
	text, _, _ := strings.Cut(baseJob, "[temperatures.slab]")
	return text + fmt.Sprintf("[steps.prime]\nmaterial = \"epoxy-standard\"\n[temperatures.slab]\n\"0h\" = \"%g °C\"\n[temperatures.air]\n\"0h\" = \"%g °C\"\n[temperatures.rh]\n%s\n[steps.body]\nmaterial = \"my-body\"\n", slab, air, rh)
}

// dampPlan plans it with rows of times added to ownSheet.
func dampPlan(t *testing.T, rows, job string) *systems.Outcome {
	t.Helper()
	sheet, _, _ := strings.Cut(ownSheet, "[times.pot-life]")
	if !strings.Contains(rows, "[times.pot-life]") {
		sheet = ownSheet
	}
	c, err := systems.LoadLayers(systems.BuiltinLayer(), company(sheet+rows))
	if err != nil {
		t.Fatal(err)
	}
	return planWith(t, c, job)
}

// bodyEvent returns the work on the body and hours from the job's start until an
// event of it; none if it is never reached.
func bodyEvent(t *testing.T, o *systems.Outcome, event string) (w systems.Work, at float64) {
	t.Helper()
	w = one(t, o, "body")
	for _, e := range w.Events {
		if e.Event == event {
			if e.At == nil {
				return w, math.NaN()
			}
			return w, e.At.Sub(o.Start).Hours()
		}
	}
	t.Fatalf("no %s of the body: %+v", event, w)
	return w, 0
}

const second = 1. / 3600

// By hand: humidRows are 3 h over RH at 20 °C, so that tack-free has come when
// the integral of RH dt is 3 h. Over a slab at 15 °C air of 20 °C and 40 % is at
// 40 % of 2339.3 Pa over 1705.8 Pa (IAPWS), and its time longer by 2 to the power of
// the share of the way from 20 to 10 °C in 1/T.
func TestPlanOverHumidity(t *testing.T) {
	for _, tc := range []struct {
		slab  float64
		rh    string
		hours float64
	}{
		{20, `"0h" = "30 %"`, 10}, {20, `"0h" = "50 %"`, 6}, {20, `"0h" = "40 %"`, 7.5}, {20, `"0h" = "60 %"`, 5},
		{15, `"0h" = "40 %"`, 3 / (0.40 * 2339.3 / 1705.8) * math.Pow(2, (1/288.15-1/293.15)/(1/283.15-1/293.15))},
	} {
		o := dampPlan(t, humidRows, dampJob(tc.slab, 20, tc.rh))
		w, at := bodyEvent(t, o, systems.TackFree)
		near(t, tc.rh+" tack-free, h", at-w.End.Sub(o.Start).Hours(), tc.hours, 2e-4, "by hand")
		if f := found(o, "humidity-beyond-data-sheet"); len(f) > 0 {
			t.Errorf("%s: %+v", tc.rh, f)
		}
		explainAll(t, o)
	}
	// 30 % + 0.5 % an hour: from end to at, 0.30 (at - end) + 0.0025 (at² - end²) = 3 h.
	o := dampPlan(t, humidRows, dampJob(20, 20, `"0h" = "30 %"`+"\n"+`"100h" = "80 %"`))
	w, at := bodyEvent(t, o, systems.TackFree)
	end := w.End.Sub(o.Start).Hours()
	if got := 0.30*(at-end) + 0.0025*(at*at-end*end); math.Abs(got-3) > 2*second {
		t.Errorf("along a ramp: the integral of RH from %g h to %g h is %g h, want 3", end, at, got)
	}
	explainAll(t, o)
}

// Drier than the driest column nothing of a moisture-cured liquid proceeds, and
// damper than the dampest nothing of a waterborne one: with that until 60 h and
// 50 % after it is tack-free at 66 h. On the other side it takes no less than
// there. By hand.
func TestBeyondColumnsNothingProceeds(t *testing.T) {
	const water = "[times.tack-free]\nby = \"waterborne\"\n\"10 °C\" = { \"20 %\" = \"7h30m\", \"50 %\" = \"12h\", \"70 %\" = \"20h\" }\n\"20 °C\" = { \"20 %\" = \"3h45m\", \"50 %\" = \"6h\", \"70 %\" = \"10h\" }\n"
	for _, tc := range []struct {
		name, rows, rh string
		found, asked   units.Fraction
	}{{"dry, moisture-cured", humidRows, "20 %", 0.2, 0.3}, {"damp, waterborne", water, "78 %", 0.78, 0.7}} {
		o := dampPlan(t, tc.rows, dampJob(20, 20, `"0h" = "`+tc.rh+`"`+"\n"+`"60h" = "`+tc.rh+`"`+"\n"+`"60.0001h" = "50 %"`))
		w, at := bodyEvent(t, o, systems.TackFree)
		if math.Abs(at-66) > 2*second || !(w.End.Sub(o.Start).Hours() < 60) {
			t.Errorf("%s: tack-free at %g h, want 66 h; work ends %v", tc.name, at, w.End)
		}
		f := found(o, "humidity-beyond-data-sheet")
		if len(f) != 1 || f[0].Step != "body" || f[0].Event != systems.TackFree || math.Abs(float64(f[0].Found.Q.(units.Fraction)-tc.found)) > 1e-9 || f[0].Asked.Q != tc.asked || !f[0].When.Equal(w.End) || f[0].Until.Sub(o.Start) != 60*time.Hour ||
			!strings.Contains(f[0].Text, "Relative humidity over the slab goes to "+tc.rh+", and the columns of tack free") || !strings.Contains(f[0].Text, "no progress is counted") {
			t.Errorf("%s: %+v", tc.name, f)
		}
		explainAll(t, o)
		o = dampPlan(t, tc.rows, dampJob(20, 20, `"0h" = "`+tc.rh+`"`))
		if _, at := bodyEvent(t, o, systems.TackFree); !math.IsNaN(at) || len(found(o, "humidity-beyond-data-sheet")) != 1 || !slices.ContainsFunc(o.Findings, func(f systems.Finding) bool { return f.Severity == systems.Stop }) {
			t.Errorf("%s throughout: tack-free at %g h, %+v", tc.name, at, o.Findings)
		}
	}
	// From 20 % by 1 % in 3 h: 30 % after 30 h, and then 0.30 x + x²/600 = 3 h.
	o := dampPlan(t, humidRows, dampJob(20, 20, `"0h" = "20 %"`+"\n"+`"91.5h" = "50.5 %"`))
	w, at := bodyEvent(t, o, systems.TackFree)
	near(t, "tack-free from 30 h on, h", at-30, 300*(math.Sqrt(0.09+3./150)-0.30), 1e-4, "by hand")
	if f := found(o, "humidity-beyond-data-sheet"); len(f) != 1 || !f[0].When.Equal(w.End) || !f[0].Worst.Equal(w.End) || math.Abs(f[0].Until.Sub(o.Start).Hours()-30) > 2*second ||
		math.Abs(float64(f[0].Found.Q.(units.Fraction))-0.20-w.End.Sub(o.Start).Hours()/300) > 1e-6 {
		t.Errorf("%+v", f)
	}
	explainAll(t, o)
	for _, tc := range []struct{ rows, rh string }{{humidRows, `"85 %"`}, {water, `"10 %"`}} {
		o := dampPlan(t, tc.rows, dampJob(20, 22, `"0h" = `+strings.Replace(tc.rh, "85", "75", 1))) // 75 % is 85 % over the slab
		w, at := bodyEvent(t, o, systems.TackFree)
		near(t, tc.rh+" tack-free, h", at-w.End.Sub(o.Start).Hours(), 3.75, 1e-4, "the last column")
		if f := found(o, "humidity-beyond-data-sheet"); len(f) > 0 && f[0].Step == "body" {
			t.Errorf("%s: %+v", tc.rh, f)
		}
	}
}

// A window beyond its columns, by hand: 12 h over RH, or over 1 - RH, at 20 °C,
// half of that at 30 °C; beyond one column as one over RH. The work begins at the
// same time in each.
func TestLatestBeyondColumns(t *testing.T) {
	rows := func(by, cold, warm string) string {
		return "[times.recoat-latest]\nby = \"" + by + "\"\n\"10 °C\" = { " + cold + " }\n\"20 °C\" = { " + warm + " }\n"
	}
	moist := rows("moisture-cured", `"30 %" = "80h", "60 %" = "40h"`, `"30 %" = "40h", "60 %" = "20h"`)
	water := rows("waterborne", `"40 %" = "40h", "70 %" = "80h"`, `"40 %" = "20h", "70 %" = "40h"`)
	single := rows("moisture-cured", `"50 %" = "48h"`, `"50 %" = "24h"`)
	for _, tc := range []struct {
		name, rows, within, beyond string
		shorter                    float64 // h
		asked                      units.Fraction
	}{
		{"damp, moisture-cured", moist, "40 %", "75 %", 30 - 16, 0.6},
		{"dry, waterborne", water, "40 %", "20 %", 20 - 15, 0.4},
		{"damp, of one column", single, "50 %", "75 %", 24 - 16, 0.5},
		{"dry, moisture-cured: as at its edge", moist, "30 %", "20 %", 0, 0},
		{"damp, waterborne: as at its edge", water, "70 %", "75 %", 0, 0},
	} {
		_, within := bodyEvent(t, dampPlan(t, tc.rows, dampJob(20, 20, `"0h" = "`+tc.within+`"`)), systems.RecoatLatest)
		o := dampPlan(t, tc.rows, dampJob(20, 20, `"0h" = "`+tc.beyond+`"`))
		_, beyond := bodyEvent(t, o, systems.RecoatLatest)
		if math.Abs(within-beyond-tc.shorter) > 2*second {
			t.Errorf("%s: %g h, and %g h within: want %g h less", tc.name, beyond, within, tc.shorter)
		}
		f := slices.DeleteFunc(found(o, "humidity-beyond-data-sheet"), func(f systems.Finding) bool { return f.Step != "body" })
		if is := tc.asked > 0; is != (len(f) == 1) || is && (f[0].Asked.Q != tc.asked || f[0].Event != systems.RecoatLatest || !strings.Contains(f[0].Text, "the window is shorter")) {
			t.Errorf("%s: %+v", tc.name, f)
		}
		explainAll(t, o)
	}
	// Hotter than its rows it is what a plain table of that column is there.
	plain := "[times.recoat-latest]\n\"10 °C\" = \"60h\"\n\"20 °C\" = \"30h\"\n"
	w, want := bodyEvent(t, dampPlan(t, plain, dampJob(28, 28, `"0h" = "40 %"`)), systems.RecoatLatest)
	v, got := bodyEvent(t, dampPlan(t, moist, dampJob(28, 28, `"0h" = "40 %"`)), systems.RecoatLatest)
	if !w.Start.Equal(v.Start) || math.Abs(got-want) > 2*second || !(got-w.Start.Sub(w.End).Hours() > 0) {
		t.Errorf("at 28 °C: %g h, want %g h", got, want)
	}
}

// A pot life of 15 min over RH at the air's 20 °C, by hand: at its shortest where
// the air is dampest, when the work ends; beyond its columns by their line; and of
// more than the sheet times as with a plain table of that humidity.
func TestPotLifeOverHumidity(t *testing.T) {
	const rows = "[times.pot-life]\nby = \"moisture-cured\"\n\"10 °C\" = { \"30 %\" = \"100m\", \"60 %\" = \"50m\" }\n\"20 °C\" = { \"30 %\" = \"50m\", \"60 %\" = \"25m\" }\n"
	o := dampPlan(t, rows, dampJob(18, 20, `"0h" = "30 %"`+"\n"+`"100h" = "80 %"`))
	end := one(t, o, "body").End.Sub(o.Start).Hours()
	near(t, "pot life, min", need(t, o, "body").Batches.PotLife.Duration().Minutes(), 15/(0.30+0.005*end), 1e-3, "by hand")
	explainAll(t, o)
	o = dampPlan(t, rows, dampJob(20, 20, `"0h" = "75 %"`))
	near(t, "pot life, min", need(t, o, "body").Batches.PotLife.Duration().Minutes(), 20, 1e-9, "by hand")
	if f := found(o, "humidity-beyond-data-sheet"); len(f) == 0 || f[0].Event != systems.PotLife || f[0].Found.Q != 75*units.Percent || !strings.Contains(f[0].Text, "Relative humidity goes to 75 %") {
		t.Errorf("%+v", f)
	}
	explainAll(t, o)
	const amount = "amount = \"0.2 gal\"\n"
	hot := strings.Replace(rows, "\"10", amount+"\"10", 1)
	o = dampPlan(t, hot, dampJob(20, 20, `"0h" = "40 %"`))
	plain := dampPlan(t, "[times.pot-life]\n"+amount+"\"10 °C\" = \"75m\"\n\"20 °C\" = \"37.5m\"\n", dampJob(20, 20, `"0h" = "40 %"`))
	got, want := need(t, o, "body").Batches.PotLife.Duration().Minutes(), need(t, plain, "body").Batches.PotLife.Duration().Minutes()
	if math.Abs(got-want) > 0.05 || !(got < 37) {
		t.Errorf("of more than the sheet times: %g min, want %g min, below 37.5", got, want)
	}
	explainAll(t, o)
}
