package main

import (
	"testing"

	"github.com/tackfree/tackfree/internal/cli/clitest"
)

// 1250 ft2 at 16 mil is 1250 x 16/1604.167 = 12.47 gal; /0.95 = 13.12 gal, 5
// kits of 3 gal. By hand.
func TestRun(t *testing.T) {
	clitest.Want(t, clitest.Main(run).Out(t, 0), "order 13.1 gal for 1250 ft2: 5 kits of 3 gal")
	clitest.Want(t, clitest.Main(run).Out(t, 0, "-dry", "125 um", "-solids", "65 %", "-units", "si"), "5.2 m2/L") // ISO 3233: 10 VS/DFT
	// 5 mil at 65 %, 10 % thinner: wet 5 x 1.1/0.65 = 8.46 mil; 1250 x 5/0.65/1604.167/0.95 = 6.31 gal, 10 % of it 0.631 gal.
	thinned := clitest.Main(run).Out(t, 0, "-dry", "5 mil", "-solids", "65 %", "-thinner", "10 %")
	clitest.Want(t, thinned, "wet film 8.46 mil")
	clitest.Want(t, thinned, "order 6.31 gal")
	clitest.Want(t, thinned, "thinner 0.631 gal")
	// 2 mil of profile and 3 mil of pores beside 16 mil: 1250 x 21/1604.167/0.95 = 17.2 gal.
	clitest.Want(t, clitest.Main(run).Out(t, 0, "-profile", "2 mil", "-uptake", "3 mil"), "order 17.2 gal")
	clitest.Want(t, clitest.Main(run).Out(t, 1, "-kit", "0 gal"), "kit = 0 m3: want above 0")
	clitest.Want(t, clitest.Main(run).Out(t, 1, "-dry", "10 lb"), "unit of mass")
	clitest.Want(t, clitest.Main(run).Out(t, 1, "-waste", "99 %"), "want 0 to 95")
}
