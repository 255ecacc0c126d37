package main

import (
	"fmt"
	"strings"
	"testing"

	"github.com/tackfree/tackfree/internal/cli/clitest"
)

func TestRun(t *testing.T) {
	m := clitest.Main(run)
	got := m.Out(t, 0)
	clitest.Want(t, got, "  limit dew-point-3k@1.1.0: 3 K (IMO, Resolution MSC.215(82)")
	clitest.Want(t, got, "  epoxy-standard@1.1.0 solids: 100 %\n")
	clitest.Want(t, got, "The demo job's plan: ")
	var published, loose, all int
	short := m.Out(t, 0, "-count")
	if _, err := fmt.Sscanf(short, "published: %d of %d figures\ncommon-practice: %d of", &published, &all, &loose); err != nil || published < 20 || published+loose > all || strings.Count(got, "\n  ") != all {
		t.Errorf("%d published, %d common practice, %d in all, %d lines: %v\n%s", published, loose, all, strings.Count(got, "\n  "), err, short)
	}
	if only := m.Out(t, 0, "-basis", "published"); strings.Contains(only, "common-practice:") || !strings.Contains(only, "published:") {
		t.Errorf("only the published: %.200s", only)
	}
	clitest.Want(t, m.Out(t, 1, "-basis", "guessed"), "want published, common-practice or illustrative")
}
