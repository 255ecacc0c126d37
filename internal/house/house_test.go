// Package house checks how the house is built: who imports whom, and what
// stands at the top level. Its rules are those of DEVELOPERS.md.
package house

import (
	"fmt"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

const module = "github.com/tackfree/tackfree"

// floor is the height of a package in the house; -1 is outside.
func floor(pkg string) int {
	switch top, _, _ := strings.Cut(pkg, "/"); {
	case pkg == "data/units":
		return 0
	case pkg == "internal/draw", pkg == "internal/still": // one draws what climate forecasts, for examples; one makes data of systems, for tests
		return 4
	case top == "data" || top == "internal":
		return 1
	case top == "climate":
		return 2
	case top == "coverage" || top == "aggregate" || top == "cure":
		return 3
	case top == "systems":
		return 4
	case top == "examples":
		return 5
	}
	return -1
}

// plotter is for pictures only.
const plotter = "gonum.org/v1/plot"

// mayPlot reports whether package from may import gonum/plot.
func mayPlot(from string) bool {
	return from == "internal/draw" || strings.HasPrefix(from, "examples/")
}

// wrong says why package from may not import to, or returns "".
func wrong(from, to string) string {
	a, b := floor(from), floor(to)
	systems := strings.HasPrefix(from, "systems") || strings.HasPrefix(from, "examples")
	switch {
	case a < 0:
		return "is not in the house"
	case b > a:
		return "points up"
	case to == "internal/still":
		return "makes data without scatter: only tests may"
	case to == "internal/draw" && !strings.HasPrefix(from, "examples"):
		return "draws: only examples may"
	case to == "data" && !systems && from != "internal/house":
		return "reads data: only systems may"
	case a == 3 && b == 3 && strings.SplitN(from, "/", 2)[0] != strings.SplitN(to, "/", 2)[0]:
		return "points sideways"
	case (from == "coverage" || from == "aggregate") && to == "climate":
		return "needs no climate"
	}
	return ""
}

func TestImportsPointDown(t *testing.T) {
	out, err := exec.Command("go", "list", "-f", `{{$p := .ImportPath}}{{range .Imports}}{{$p}} {{.}}{{"\n"}}{{end}}`, module+"/...").Output()
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for line := range strings.Lines(string(out)) {
		var from, to string
		fmt.Sscan(line, &from, &to)
		if pkg := strings.TrimPrefix(from, module+"/"); (to == plotter || strings.HasPrefix(to, plotter+"/")) && !mayPlot(pkg) {
			t.Errorf("%s imports %s: only examples and internal/draw may", pkg, to)
		}
		if !strings.HasPrefix(to, module+"/") {
			continue
		}
		n++
		from, to = strings.TrimPrefix(from, module+"/"), strings.TrimPrefix(to, module+"/")
		if why := wrong(from, to); why != "" {
			t.Errorf("%s imports %s, which %s", from, to, why)
		}
	}
	if n < 20 {
		t.Errorf("saw only %d imports inside the module: the list is not read", n)
	}
}

// The rule must see what it forbids.
func TestImportRule(t *testing.T) {
	for _, bad := range [][2]string{{"climate", "cure"}, {"coverage", "aggregate"}, {"data/units", "internal/approx"}, {"cure", "data"}, {"systems", "examples/jobplan"}, {"coverage", "climate"}, {"tools", "climate"}, {"systems", "internal/draw"}, {"climate", "internal/draw"}, {"internal/draw", "data"}} {
		if wrong(bad[0], bad[1]) == "" {
			t.Errorf("%s may import %s: want it refused", bad[0], bad[1])
		}
	}
	for _, good := range [][2]string{{"cure", "climate"}, {"systems", "data"}, {"climate", "data/units"}, {"systems/report", "systems"}, {"internal/draw", "climate"}, {"examples/jobplan", "internal/draw"}} {
		if why := wrong(good[0], good[1]); why != "" {
			t.Errorf("%s may not import %s: %s", good[0], good[1], why)
		}
	}
}

func TestWhoPlots(t *testing.T) {
	for pkg, want := range map[string]bool{"internal/draw": true, "examples/jobplan": true, "systems": false, "climate": false, "internal/cli": false} {
		if mayPlot(pkg) != want {
			t.Errorf("%s may plot: %t, want %t", pkg, !want, want)
		}
	}
}

func TestTopLevel(t *testing.T) {
	allowed := strings.Fields("aggregate climate coverage cure data examples internal systems go.mod go.sum README.md DEVELOPERS.md LICENSE")
	entries, err := os.ReadDir("../..")
	if err != nil {
		t.Fatal(err)
	}
	var seen []string
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".") {
			continue
		}
		seen = append(seen, e.Name())
		if !slices.Contains(allowed, e.Name()) {
			t.Errorf("%s stands at the top level: want only %v", e.Name(), allowed)
		}
	}
	for _, name := range allowed {
		if !slices.Contains(seen, name) {
			t.Errorf("%s is missing from the top level", name)
		}
	}
}
