package main

import (
	"testing"

	"github.com/tackfree/tackfree/internal/cli/clitest"
)

// One layer of 0.6 mm quartz at 0.82: 0.17803 lb/ft2 (monolayer mass, computed
// by hand: 2/3 x 0.82 x 0.6 mm x 2650 kg/m3); the rest common practice, no
// source. 1250 ft2 hold 222.5 lb, 317.9 lb thrown at 70 %.
func TestRun(t *testing.T) {
	got := clitest.Main(run).Out(t, 0)
	clitest.Want(t, got, "holds 0.178 lb/ft2")
	clitest.Want(t, got, "grout 6.79 gal") // open voids 0.4533 x 23.62 - 10 = 0.709 mil, and 8 mil: 1250 x 8.709/1604.167
	clitest.Want(t, got, "throw 318 lb, vacuum back 95.4 lb")
	clitest.Want(t, clitest.Main(run).Out(t, 1, "-film", "0 mil"), "want above 0 to 100")
}
