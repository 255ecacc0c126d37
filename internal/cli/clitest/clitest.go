// Package clitest runs the small examples in tests.
package clitest

import (
	"bytes"
	"io"
	"strings"
	"testing"
)

// Main is the shape of an example's run.
type Main func(args []string, stdout, stderr io.Writer) int

// Out runs the example, checks its exit code and returns what it printed. A
// failure prints one line on stderr and nothing else.
func (m Main) Out(t *testing.T, code int, args ...string) string {
	t.Helper()
	var stdout, stderr bytes.Buffer
	if got := m(args, &stdout, &stderr); got != code {
		t.Fatalf("%v: exit %d, want %d; %s", args, got, code, stderr.String())
	}
	if code != 0 && (strings.Count(stderr.String(), "\n") != 1 || stdout.Len() > 0) {
		t.Errorf("%v: want one line of error and nothing else, got %q %q", args, stderr.String(), stdout.String())
	}
	return stdout.String() + stderr.String()
}

// Want checks that a part is in what was printed.
func Want(t *testing.T, got, part string) {
	t.Helper()
	if !strings.Contains(got, part) {
		t.Errorf("got %q, want %q in it", got, part)
	}
}
