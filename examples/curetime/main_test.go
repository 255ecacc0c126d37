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
	want(t, out(t, 1, "-temps", "0h=40 °F"), "want 10 to 23.8")
	want(t, out(t, 1, "-times", "50 °F"), "want pairs")
}
