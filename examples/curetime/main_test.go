package main

import (
	"testing"

	"github.com/tackfree/tackfree/internal/cli/clitest"
)

// Held at 60 °F, the row of 14 h; worked by hand from the rows that the example
// takes by default (common practice, no source).
func TestRun(t *testing.T) {
	clitest.Want(t, clitest.Main(run).Out(t, 0, "-temps", "0h=60 °F"), "reached at 14h, with the last temperature held, at 60 °F")
	// 7 h at 60 °F is half of 14 h; 11 h at 50 °F is half of 22 h.
	clitest.Want(t, clitest.Main(run).Out(t, 0, "-temps", "0h=60 °F,7h=60 °F,7h1s=50 °F"), "reached at 18h")
	// Begun 3 h later it comes 3 h later.
	clitest.Want(t, clitest.Main(run).Out(t, 0, "-temps", "0h=60 °F", "-from", "3h"), "reached at 17h")
	clitest.Want(t, clitest.Main(run).Out(t, 1, "-temps", "0h=40 °F"), "want 10 to 23.8")
	clitest.Want(t, clitest.Main(run).Out(t, 1, "-times", "50 °F"), "want pairs")
}
