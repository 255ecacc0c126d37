package systems_test

import (
	"math"
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

// The plan counts with the longest time to tack-free that the air's humidity
// gives, the shortest pot life, and says where the columns end. By hand: a time
// that goes as one over RH is 20 h at 30 %, 15 h at 40 %.
func TestPlanOverHumidity(t *testing.T) {
	const body = "[steps.body]\nmaterial = \"my-body\"\n"
	tack := func(rh, rows string) (time.Duration, []systems.Finding) {
		c, err := systems.LoadLayers(systems.BuiltinLayer(), company(ownSheet+rows))
		if err != nil {
			t.Fatal(err)
		}
		o := planWith(t, c, strings.ReplaceAll(baseJob, `"50 %"`, rh)+body)
		for _, w := range o.Schedule {
			for _, e := range w.Events {
				if w.Step == "body" && e.Event == systems.TackFree {
					return e.At.Sub(w.End), found(o, "humidity-beyond-data-sheet")
				}
			}
		}
		t.Fatalf("no tack-free of the body: %+v", o.Schedule)
		return 0, nil
	}
	plain := func(cold, warm string) string {
		return "[times.tack-free]\n\"10 °C\" = \"" + cold + "\"\n\"20 °C\" = \"" + warm + "\"\n"
	}
	for _, tc := range []struct{ rh, cold, warm string }{{`"30 %"`, "20h", "10h"}, {`"50 %"`, "12h", "6h"}, {`"40 %"`, "15h", "7h30m"}} {
		got, f := tack(tc.rh, humidRows)
		want, _ := tack(tc.rh, plain(tc.cold, tc.warm))
		if math.Abs((got-want).Seconds()) > 2 || len(f) > 0 {
			t.Errorf("at %s: tack-free after %v, want %v; %+v", tc.rh, got, want, f)
		}
	}
	got, f := tack(`"20 %"`, humidRows)
	want, _ := tack(`"20 %"`, plain("20h", "10h"))
	if math.Abs((got-want).Seconds()) > 2 || len(f) != 1 || f[0].Step != "body" || f[0].Found.Q != 20*units.Percent || f[0].Asked.Q != 30*units.Percent || !strings.Contains(f[0].Text, "Relative humidity goes to 20 %") {
		t.Errorf("at 20 %%: %v, want %v; %+v", got, want, f)
	}
	if _, f := tack(`"20 %"`, strings.Replace(humidRows, "moisture-cured", "waterborne", 1)); len(f) > 0 {
		t.Errorf("a waterborne liquid in dry air: %+v", f)
	}
}
