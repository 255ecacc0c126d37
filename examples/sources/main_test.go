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
	m := clitest.Main(run)
	all := m.Out(t, 0)
	for _, part := range []string{
		"inspection form, Environmental Conditions; seen)\n", "  limit dew-point-5f: 5 °F (FHWA, ",
		"  limit dew-point-3k: 3 K (IMO, Resolution MSC.215(82)",
		"  roll-coat@1.0.0 coat-1 film: 3 mil (US Department of Defense, ", ", par. 4.4.2; seen)\n",
		"  epoxy-standard@1.2.0 solids: 100 %\n", "  grit 30 scratch: 7 mil\n", "  profile CSP 3 to 5: 10 mil to 40 mil (ICRI, ", ", table of thicknesses; from memory)\n",
		"  medium steel-shot-230 size: 0.6 mm", "  fuel propane hhv: ", "  layer concrete conductivity: ", "The demo job's plan: ",
	} {
		clitest.Want(t, all, part)
	}
	if strings.Contains(all, "epoxy-standard@1.0.0") {
		t.Error("an older version is listed beside the newest")
	}
	published := m.Out(t, 0, "-basis", "published")
	if strings.Contains(published, "common-practice:") || !strings.HasPrefix(published, "published: ") {
		t.Error("-basis published lists others")
	}
	flake := m.Out(t, 0, "-job", "../../systems/testdata/flake.toml")
	clitest.Want(t, flake, "flake-quarter@1.0.0 refusal: 0.125 lb/ft2\n")
	clitest.Want(t, flake, "The job's plan: ")
	for _, basis := range []string{"hearsay", "guessed"} {
		clitest.Want(t, m.Out(t, 1, "-basis", basis), "want published, common-practice, illustrative, sheet or job")
	}
	clitest.Want(t, m.Out(t, 1, "-job", "nowhere.toml"), "nowhere.toml")
}

// Every figure has one of the bases, and the count adds up.
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
	m := clitest.Main(run)
	clitest.Want(t, m.Out(t, 0, "-basis", "published"), fmt.Sprintf("%d of %d figures are published", n[systems.Published], len(c.Figures())))
	var published, loose, all int
	got, short := m.Out(t, 0), m.Out(t, 0, "-count")
	if _, err := fmt.Sscanf(short, "published: %d of %d figures\ncommon-practice: %d of", &published, &all, &loose); err != nil || published != n[systems.Published] || loose != n[systems.CommonPractice] || all != sum || strings.Count(got, "\n  ") != all || strings.Contains(short, "\n  ") {
		t.Errorf("%d published, %d common practice, %d in all, %d lines: %v\n%s", published, loose, all, strings.Count(got, "\n  "), err, short)
	}
}
