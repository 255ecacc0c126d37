package main

import (
	"bytes"
	"strings"
	"testing"
)

func out(t *testing.T, code int, args ...string) string {
	t.Helper()
	var stdout, stderr bytes.Buffer
	if got := run(args, &stdout, &stderr); got != code {
		t.Fatalf("%v: exit %d, want %d; %s", args, got, code, stderr.String())
	}
	if code != 0 && (strings.Count(stderr.String(), "\n") != 1 || stdout.Len() > 0) {
		t.Errorf("%v: want one line of error and nothing else, got %q %q", args, stderr.String(), stdout.String())
	}
	return stdout.String() + stderr.String()
}

func want(t *testing.T, got, part string) {
	t.Helper()
	if !strings.Contains(got, part) {
		t.Errorf("got %q, want %q in it", got, part)
	}
}

// One layer of 0.6 mm quartz at 0.82: 0.17803 lb/ft2 (monolayer mass,
// computed); 1250 ft2 hold 222.5 lb, 317.9 lb thrown at 70 %.
func TestRun(t *testing.T) {
	got := out(t, 0)
	want(t, got, "holds 0.178 lb/ft2")
	want(t, got, "grout 6.79 gal") // open voids 0.4533 x 23.62 - 10 = 0.709 mil, and 8 mil: 1250 x 8.709/1604.167
	want(t, got, "throw 318 lb, vacuum back 95.4 lb")
	want(t, out(t, 1, "-film", "0 mil"), "want above 0 to 100")
}
