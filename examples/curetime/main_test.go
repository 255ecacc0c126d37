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

// Held at 60 °F, the row of 14 h. By the table.
func TestRun(t *testing.T) {
	want(t, out(t, 0, "-temps", "0h=60 °F"), "reached at 14h, with the last temperature held, at 60 °F")
	// 7 h at 60 °F is half of 14 h; 11 h at 50 °F is half of 22 h.
	want(t, out(t, 0, "-temps", "0h=60 °F,7h=60 °F,7h1s=50 °F"), "reached at 18h")
	// Begun 3 h later it comes 3 h later.
	want(t, out(t, 0, "-temps", "0h=60 °F", "-from", "3h"), "reached at 17h")
	want(t, out(t, 1, "-temps", "0h=40 °F"), "want 10 to 23.8")
	want(t, out(t, 1, "-times", "50 °F"), "want pairs")
}
