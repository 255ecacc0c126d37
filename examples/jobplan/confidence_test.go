package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/tackfree/tackfree/systems"
)

// The flags of the order and the money, on the demo job. Common practice, no source.
func TestOrder(t *testing.T) {
	text := string(systems.DemoJob())
	bare := filepath.Join(t.TempDir(), "bare.toml")
	if err := os.WriteFile(bare, []byte(text[:strings.Index(text, "# Prices of the place")]), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, tc := range []struct {
		args []string
		code int
		want string
	}{
		{[]string{"-confidence", "90 %", "-draws", "500"}, 0, "From 500 draws, seed 1"},
		{[]string{"-confidence", "95%", "-draws", "500", "-units", "si"}, 0, "for 95 %"},
		{[]string{"-money", "-draws", "500"}, 0, "pippins per ft2 of floor"},
		{[]string{"-money", "-draws", "500", "-units", "si"}, 0, "pippins per m2 of floor"},
		{[]string{"-money", "-draws", "500"}, 0, "no price given for disposal of empty kits."},
		{[]string{"-confidence", "90"}, 1, "a number alone has no unit"},
		{[]string{"-confidence", "0 %"}, 1, "want 50 % to 99.9 %"},
		{[]string{"-confidence", "20 %"}, 1, `found "20 %": want 50 % to 99.9 %`},
		{[]string{"-confidence", "90 %", "-draws", "5"}, 1, `"5" for flag -draws: want a whole number from 100 to 1000000`},
		{[]string{"-confidence", "90 %", "-draws", "0"}, 1, "from 100 to 1000000"},
		{[]string{"-confidence", "90 %", "-draws", "1e4"}, 1, "from 100 to 1000000"},
		{[]string{"-money", "-draws", "10000000"}, 1, "from 100 to 1000000"},
		{[]string{"-money", "-seed", "-1"}, 1, `"-1" for flag -seed: want a whole number from 0 to 18446744073709551615`},
		{[]string{"-money", "-seed", "18446744073709551616"}, 1, "want a whole number from 0"},
		{[]string{"-money", "-seed", "18446744073709551615", "-draws", "500"}, 0, "pippins per ft2"},
		{[]string{"-confidence", ""}, 1, "found -confidence with nothing"},
		{[]string{"-confidence", "100 %"}, 1, `found "100 %": want 50 % to 99.9 %`},
		{[]string{"-confidence", "NaN %"}, 1, "confidence: "},
		{[]string{"-confidence", "-90 %"}, 1, "want 50 % to 99.9 %"},
		{[]string{"-draws", "500"}, 1, "found -draws without -confidence, -money or -picture"},
		{[]string{"-seed", "3", "-decide", "earliest"}, 1, "found -seed without"},
		{[]string{"-money", "-why", "steps.body.kits"}, 1, "found -money beside -why: want one of them"},
		{[]string{"-confidence", "90 %", "-whatif", "short-handed"}, 1, "found -confidence beside -whatif: want one of them"},
		{[]string{"-money", "-picture", "x.svg"}, 1, "found -money beside -picture: want one of them"},
		{[]string{"-confidence", "90 %", "-draws", "500", "-learn", "testdata/readings.toml", "testdata/thursday.toml"}, 0, "From 500 draws"},
		{[]string{"-money", bare}, 1, "want [prices]"},
	} {
		var stdout, stderr bytes.Buffer
		if code := run(tc.args, &stdout, &stderr); code != tc.code || !strings.Contains(stdout.String()+stderr.String(), tc.want) {
			t.Errorf("%v: exit %d, want %d and %q\n%s", tc.args, code, tc.code, tc.want, stderr.String())
		}
	}
	out := func(args ...string) string {
		var stdout, stderr bytes.Buffer
		if code := run(args, &stdout, &stderr); code != 0 {
			t.Fatal(stderr.String())
		}
		return stdout.String()
	}
	if out("-confidence", "90 %", "-draws", "500", "-seed", "7") == out("-confidence", "90 %", "-draws", "500", "-seed", "8") {
		t.Error("the seed does nothing")
	}
	var o struct {
		Floor      string
		Confidence struct{ Lines []struct{ Planned, P90 int } }
		Money      struct {
			Total string
			Drawn struct{ P90 string }
		}
	}
	if err := json.Unmarshal([]byte(out("-json", "-confidence", "90 %", "-money", "-draws", "500")), &o); err != nil || o.Floor == "" || len(o.Confidence.Lines) < 5 || o.Money.Total == "" || o.Money.Drawn.P90 == "" {
		t.Errorf("%v %+v", err, o)
	}
	// What is asked beside -decide is of the plan decided.
	o.Confidence.Lines, o.Money.Total = nil, ""
	if err := json.Unmarshal([]byte(out("-json", "-confidence", "90 %", "-money", "-draws", "500", "-decide", "earliest")), &o); err != nil || len(o.Confidence.Lines) < 5 || o.Money.Total == "" {
		t.Errorf("-decide: %v %+v", err, o)
	}
	if s := out("-json"); strings.Contains(s, `"confidence"`) || strings.Contains(s, `"money"`) {
		t.Error("the plan's JSON has what nobody asked for")
	}
}
