package report

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/confidence"
)

// WriteConfidence writes how sure the order of o is, as Of of package confidence
// found it: what to buy for the chance asked, and what would run short. The
// error is w's.
func WriteConfidence(w io.Writer, o *systems.Outcome, c *confidence.Order, sys units.System) error {
	b := bufio.NewWriter(w)
	p := page{b, o, sys}
	p.title("ORDER WITH CONFIDENCE")
	wide := 8
	for i := range c.Lines {
		l := &c.Lines[i]
		wide = max(wide, len(l.Bought(l.Planned, l.Kits, sys)), len(l.Bought(l.ForLevel, l.KitsFor, sys)))
	}
	p.f("%*s %*s\n", wide, "planned", wide, "for "+p.q(c.Level))
	for i := range c.Lines {
		l := &c.Lines[i]
		p.wrap(fmt.Sprintf("%*s %*s  ", wide, l.Bought(l.Planned, l.Kits, sys), wide, l.Bought(l.ForLevel, l.KitsFor, sys)), l.Sentence(sys))
		p.wrap(strings.Repeat(" ", 2*wide+3), fmt.Sprintf("need in half of such jobs %s, in nine of ten %s", l.Need50.In(sys), l.Need90.In(sys)))
	}
	p.wrap("", fmt.Sprintf("The order planned runs short of something in %s of such jobs; with %s for each material it is %s. From %d draws, seed %d, good to %s.",
		confidence.Chance(c.Short), p.q(c.Level), confidence.Chance(c.Asked), c.Draws, c.Seed, p.q(c.Error)))
	weak, own := 0, 0
	for _, u := range c.Used {
		if u.Basis == systems.Illustrative && u.Jobs == 0 {
			weak++
		}
		if u.Jobs > 0 {
			own++
			class := fmt.Sprintf(", and the class as if %d more", u.Worth)
			if u.Worth == 0 {
				class = " alone"
			}
			p.wrap("  ", fmt.Sprintf("%s: from %s%s.", u.What, jobs(u.Jobs), class))
		}
	}
	if weak > 0 {
		p.wrap("", fmt.Sprintf("%d of %d scatters are illustrative: your own past jobs ([past] in the job file) are better.", weak, len(c.Used)))
	}
	for _, n := range c.Notes {
		p.wrap("  ", n)
	}
	return b.Flush()
}

func jobs(n int) string {
	if n == 1 {
		return "1 past job"
	}
	return fmt.Sprintf("%d past jobs", n)
}
