package systems_test

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// The table of recipes in README is computed, and this test fails when it is
// stale (go test ./systems -run README -update writes it anew). Not a source.
func TestREADMERecipes(t *testing.T) {
	const from, to = "<!-- recipes: computed by systems/readme_test.go -->\n", "<!-- end of recipes -->\n"
	text, err := os.ReadFile("../README.md")
	if err != nil {
		t.Fatal(err)
	}
	head, rest, ok1 := strings.Cut(string(text), from)
	old, tail, ok2 := strings.Cut(rest, to)
	if !ok1 || !ok2 {
		t.Fatalf("README has no %q and %q", from, to)
	}
	var b strings.Builder
	b.WriteString("| recipe | build | liquids | light foot traffic | full service |\n|---|---|---|---|---|\n")
	c := builtin(t)
	for _, id := range newestIDs(c.Recipes()) {
		r, err := c.Recipe(id)
		if err != nil {
			t.Fatal(err)
		}
		var foot, service []string
		var o *systems.Outcome
		for _, temp := range []string{"50 °F", "60 °F", "70 °F"} {
			o = planOf(t, sample(t, id, temp))
			star := ""
			for _, f := range o.Findings {
				if f.Severity == systems.Stop {
					star = "*"
				}
			}
			foot = append(foot, days(o, o.Foot)+star)
			service = append(service, days(o, o.Service)+star)
		}
		build := "-"
		if o.Thickness > 0 {
			build = fmt.Sprintf("%.0f mil", float64(o.Thickness/units.Mil))
		}
		var gross units.Volume
		for _, n := range o.TakeOff {
			gross += n.Gross
		}
		fmt.Fprintf(&b, "| %s: %s | %s | %.3g gal | %s | %s |\n", id, r.Name, build, float64(gross/units.Gallon), strings.Join(foot, " / "), strings.Join(service, " / "))
	}
	if *update {
		if err := os.WriteFile("../README.md", []byte(head+from+b.String()+to+tail), 0o644); err != nil {
			t.Fatal(err)
		}
	} else if old != b.String() {
		t.Errorf("the table of recipes in README is stale:\n%s\nwant:\n%s", old, b.String())
	}
}

// days says a time since the start in days, or hours where it is less than one.
func days(o *systems.Outcome, at *time.Time) string {
	if at == nil {
		return "never"
	}
	h := at.Sub(o.Start).Hours()
	if h < 24 {
		return fmt.Sprintf("%.0f h", math.Ceil(h))
	}
	return fmt.Sprintf("%.1f d", math.Ceil(h/2.4)/10)
}
