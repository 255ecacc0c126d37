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

// 20 °C 75 %: dew point 15.4 °C (Cengel and Boles, Thermodynamics, example
// 14-2). A surface 2.9 K above it passes 5 °F and fails 3 K.
func TestRun(t *testing.T) {
	got := out(t, 0, "-air", "20 °C", "-rh", "75 %", "-surface", "18.3 °C", "-units", "si")
	want(t, got, "dew point 15.4 °C")
	want(t, got, "3 K (IMO MSC.215(82)): broken")
	want(t, got, "and rising): kept")
	want(t, out(t, 0, "-air", "20 °C", "-rh", "75 %", "-surface", "13.4 °C", "-units", "si"), "surface 2 K below it")
	want(t, out(t, 1, "-rh", "130 %"), "want 1 to 100")
	want(t, out(t, 1, "-air", "60"), "no unit")
}
