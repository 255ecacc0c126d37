package systems_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/systems"
)

// A combination is one choice of chemistries for the tight week-end.
type combination struct {
	names []string // of prime, body, grout, seal: the recipe's options, "" its own
	makes bool
	foot  string
	stops []string
}

// weekendCombinations plans the tight week-end with each combination that the
// recipe offers.
func weekendCombinations(t *testing.T) []combination {
	t.Helper()
	text, _, _ := strings.Cut(read(t, "stories/tight-weekend.toml"), "[steps.")
	r, err := builtin(t).Recipe("quartz-broadcast@1.1.0")
	if err != nil {
		t.Fatal(err)
	}
	coats := []string{"prime", "body", "grout", "seal"}
	all := [][]string{{}}
	for _, id := range coats {
		var more [][]string
		names := []string{""}
		for _, name := range []string{"epoxy", "epoxy-cold", "cold", "polyaspartic", "slow"} {
			if _, ok := r.Steps[id].Options[name]; ok {
				names = append(names, name)
			}
		}
		if len(names) != 1+len(r.Steps[id].Options) {
			t.Fatalf("%s: an option is missing in %v", id, names)
		}
		for _, c := range all {
			for _, name := range names {
				more = append(more, append(append([]string{}, c...), name))
			}
		}
		all = more
	}
	var out []combination
	for _, names := range all {
		full := text
		for i, name := range names {
			if o, ok := r.Steps[coats[i]].Options[name]; ok {
				full += fmt.Sprintf("\n[steps.%s]\nmaterial = %q\n", coats[i], o.Material)
				if o.Film.Given() {
					full += fmt.Sprintf("film = %q\n", o.Film.Text)
				}
			}
		}
		o := planOf(t, full)
		c := combination{names: names, foot: "never"}
		for _, f := range o.Findings {
			if f.Severity == systems.Stop {
				c.stops = append(c.stops, f.Step+" "+f.Key)
			}
		}
		if o.Foot != nil {
			c.foot = o.Foot.Format("Mon 15:04")
			c.makes = len(c.stops) == 0 && !o.Foot.After(o.Start.Add(66*time.Hour))
		}
		out = append(out, c)
	}
	return out
}
