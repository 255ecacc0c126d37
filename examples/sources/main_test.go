package main

import (
	"fmt"
	"strings"
	"testing"

	"github.com/tackfree/tackfree/internal/cli/clitest"
	"github.com/tackfree/tackfree/systems"
)

// Figures read in the data files by hand.
func TestRun(t *testing.T) {
	all := clitest.Main(run).Out(t, 0)
	for _, part := range []string{
		"  limit dew-point-5f: 5 °F (FHWA, inspection form, Environmental Conditions; seen)\n",
		"  roll-coat@1.0.0 coat-1 film: 3 mil (US Department of Defense, par. 4.4.2; seen)\n",
		"  epoxy-standard@1.1.0 solids: 100 %\n", "  grit 30 scratch: 7 mil\n", "  profile CSP 3 to 5: 10 mil to 40 mil (ICRI, table of thicknesses; from memory)\n",
	} {
		clitest.Want(t, all, part)
	}
	if strings.Contains(all, "epoxy-standard@1.0.0") {
		t.Error("an older version is listed beside the newest")
	}
	published := clitest.Main(run).Out(t, 0, "-basis", "published")
	if strings.Contains(published, "COMMON-PRACTICE") || !strings.HasPrefix(published, "PUBLISHED\n") {
		t.Error("-basis published lists others")
	}
	clitest.Want(t, clitest.Main(run).Out(t, 0, "-job", "../../systems/testdata/flake.toml"), "flake-quarter@1.0.0 refusal: 0.125 lb/ft2\n")
	clitest.Want(t, clitest.Main(run).Out(t, 1, "-basis", "hearsay"), "want published")
	clitest.Want(t, clitest.Main(run).Out(t, 1, "-job", "nowhere.toml"), "nowhere.toml")
}

// Every figure has one of the four bases, and the count adds up.
func TestCounts(t *testing.T) {
	c, err := systems.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	n, sum := systems.Bases(c.Figures()), 0
	for _, basis := range bases {
		sum += n[basis]
	}
	if sum != len(c.Figures()) || n[systems.FromJob] != 0 || n[systems.Published] < 50 {
		t.Errorf("%v of %d", n, len(c.Figures()))
	}
	clitest.Want(t, clitest.Main(run).Out(t, 0, "-basis", "published"), fmt.Sprintf("%d of %d figures are published", n[systems.Published], len(c.Figures())))
}
