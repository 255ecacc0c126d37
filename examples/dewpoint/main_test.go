package main

import (
	"testing"

	"github.com/tackfree/tackfree/internal/cli/clitest"
)

// 20 °C 75 %: dew point 15.4 °C (Cengel and Boles, Thermodynamics, example
// 14-2). A surface 2.9 K above it passes 5 °F and fails 3 K.
func TestRun(t *testing.T) {
	got := clitest.Main(run).Out(t, 0, "-air", "20 °C", "-rh", "75 %", "-surface", "18.3 °C", "-units", "si")
	clitest.Want(t, got, "dew point 15.4 °C")
	clitest.Want(t, got, "3 K (IMO MSC.215(82) PSPC): broken")
	clitest.Want(t, got, "5 °F, and rising (MIL-HDBK-1110 / UFC 3-190-06): kept")
	clitest.Want(t, clitest.Main(run).Out(t, 0, "-air", "20 °C", "-rh", "75 %", "-surface", "13.4 °C", "-units", "si"), "surface 2 K below it")
	clitest.Want(t, clitest.Main(run).Out(t, 1, "-rh", "130 %"), "want 1 to 100")
	clitest.Want(t, clitest.Main(run).Out(t, 1, "-air", "60"), "no unit")
}
