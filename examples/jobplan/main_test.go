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

// The demo job is the library's own; common practice, no source.
func TestRun(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	demo := string(systems.DemoJob())
	bad := write("bad.toml", strings.Replace(demo, `width = "28 ft"`, `width = "28"`, 1))
	good := write("good.toml", demo)
	logged := write("logged.toml", demo[:strings.Index(demo, "[room]")]+"[temperatures]\nlog_file = \"log.csv\"\n")
	write("log.csv", "time,slab (°F),air (°F),rh (%)\n0h,62,64,50\n240h,63,66,50\n")
	line := 1 + strings.Count(demo[:strings.Index(demo, `width = "28 ft"`)], "\n")
	for _, tc := range []struct {
		args []string
		code int
		want string
	}{
		{nil, 0, "Sloe Lane Cider House"},
		{[]string{good}, 0, "1458 ft2"}, // 42 x 28 - 34.44 - pi/2 + 298, and 3 steps of 4 x 19.5/12 with a side
		{[]string{"-units", "si", good}, 0, "135.5 m2"},
		{[]string{"-strict"}, 3, "STOP"},
		{[]string{logged}, 0, "slab 62 °F"},
		{[]string{bad}, 1, "bad.toml:" + itoa(line) + `: areas.bottling.width: "28" is not a length`},
		{[]string{filepath.Join(dir, "none.toml")}, 1, "none.toml"},
		{[]string{good, bad}, 1, "want at most one"},
		{[]string{"-units", "imperial"}, 1, "want us or si"},
		{[]string{"-why", "steps.body.kits"}, 0, "kits of Epoxy, 100 % solids, standard cure: 3 = those that cover the need at the lowest price"},
		{[]string{"-why", "steps.body.kits", "-json"}, 0, `"path": "steps.body.kits"`},
		{[]string{"-why", "steps.body.wet", "-units", "si", good}, 0, "solids: 98 % (job)"},
		{[]string{"-whatif", "heat stops 76h", "-units", "si"}, 0, "What if the heat stops Fri 10 Apr 11:00 for good?"},
		{[]string{"-whatif", "friday-night", good}, 0, "RE-PLANNED"},
		{[]string{"-whatif", "heat stops 76h, colder 5 °F", "-json"}, 0, `"disturbed": [`},
		{[]string{"-whatif", "friday-nite", good}, 1, "or the name of a table of the job: friday-night, short-handed"},
		{[]string{"-whatif", "heat stops 900h"}, 1, "want 0h to 8d"},
		{[]string{"-whatif", "heat stops 34h", "-strict", good}, 3, "Breaks first: cove"},
		{[]string{"-whatif", "heat stops 34h", "-decide", "earliest"}, 1, "found -decide beside -whatif: want one of them"},
		{[]string{"-decide", "earliest", "-why", "floor"}, 1, "found -decide beside -why"},
		{[]string{"-decide", "earliest", "-picture", filepath.Join(dir, "a.svg")}, 1, "found -decide beside -picture"},
		{[]string{"-learn", "readings.toml", "-whatif", "colder 3 K"}, 1, "found -learn beside -whatif"},
		{[]string{"-picture", filepath.Join(dir, "a.svg"), "-json"}, 1, "found -picture beside -json"},
		{[]string{"-width", "106 mm"}, 1, "found -width without -picture"},
		{[]string{"-draws", "500"}, 1, "found -draws without"},
		{[]string{"-whatif", ""}, 1, "found -whatif with nothing"},
		{[]string{"-whatif", "heat stops 76h", "-strict"}, 3, "Breaks first"},
		{[]string{"-whatif", "heat stops 76h", "-why", "steps.body.kits"}, 1, "found -whatif beside -why"},
		{[]string{"-whatif", "heat stops 76h", "-money"}, 1, "found -money beside -whatif"},
		{[]string{"-picture", "", "-whatif", "heat stops 76h"}, 1, "found -picture with nothing"},
		{[]string{"-why", "steps.body.kitz"}, 1, "(nearest: steps.body.kits)"},
	} {
		var stdout, stderr bytes.Buffer
		if code := run(tc.args, &stdout, &stderr); code != tc.code || !strings.Contains(stdout.String()+stderr.String(), tc.want) {
			t.Errorf("%v: exit %d, want %d and %q\n%s%.300s", tc.args, code, tc.code, tc.want, stderr.String(), stdout.String())
		}
	}
	var stdout, stderr bytes.Buffer
	if code := run([]string{"-json"}, &stdout, &stderr); code != 0 {
		t.Fatal(stderr.String())
	}
	var o struct {
		Floor    string
		Schedule []struct{ Start string }
	}
	if err := json.Unmarshal(stdout.Bytes(), &o); err != nil || !strings.HasSuffix(o.Floor, " m2") || len(o.Schedule) < 10 || !strings.HasPrefix(o.Schedule[0].Start, "2026-04-07T07:00:00") {
		t.Errorf("JSON: %v %+v", err, o)
	}
}

func itoa(n int) string { b, _ := json.Marshal(n); return string(b) }
