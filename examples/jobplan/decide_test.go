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

// A floor of two coats that can be decided at a glance: the library's own roll
// coat under even weather, and the demo; common practice, no source.
func TestDecide(t *testing.T) {
	path := filepath.Join(t.TempDir(), "job.toml")
	const text = `name = "hall"
recipe = "roll-coat"
start = "2026-05-04T07:00:00Z"
[areas.a]
area = "40 m2"
[crew]
hands = 2
from = "07:00"
to = "17:00"
[temperatures.slab]
"0h" = "20 °C"
[temperatures.air]
"0h" = "20 °C"
[temperatures.rh]
"0h" = "50 %"
[decide]
goal = "findings"
horizon = "24h"
grid = "4h"
`
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, tc := range []struct {
		args []string
		code int
		want string
	}{
		{[]string{"-decide", "earliest", path}, 0, "Earliest hand-over: the floor is handed over for light foot traffic"},
		{[]string{"-decide", "job", path}, 0, "Fewest findings: "},
		{[]string{"-decide", "earliest", path}, 0, "WHAT TO BUY"}, // the plan follows
		{[]string{"-decide", "earliest", path}, 0, "No other of the "},
		{[]string{"-decide", "soonest", path}, 1, `goal: found "soonest": want one of earliest, fuel, cost, findings`},
		{[]string{"-decide", "fuel", path}, 1, "the job has no [room]"},
		{[]string{"-decide", "cost", path}, 1, "prices: not given"},
		{[]string{"-decide", "earliest", "-strict"}, 3, "a shift until 19:00"},
	} {
		var stdout, stderr bytes.Buffer
		if code := run(tc.args, &stdout, &stderr); code != tc.code || !strings.Contains(stdout.String()+stderr.String(), tc.want) {
			t.Errorf("%v: exit %d, want %d and %q\n%s%.900s", tc.args, code, tc.code, tc.want, stderr.String(), stdout.String())
		}
		for line := range strings.Lines(stdout.String()) {
			if n := len([]rune(line)); n > 101 && !strings.Contains(line, "=") {
				t.Errorf("%v: a line of %d characters: %s", tc.args, n, line)
			}
		}
	}
	var stdout, stderr bytes.Buffer
	if code := run([]string{"-decide", "earliest", "-json", path}, &stdout, &stderr); code != 0 {
		t.Fatal(stderr.String())
	}
	var d systems.Score
	if err := json.Unmarshal(stdout.Bytes(), &struct {
		Score *systems.Score `json:"score"`
	}{&d}); err != nil || d.HandOver == nil {
		t.Errorf("JSON: %v %.300s", err, stdout.String())
	}
}
