package report

import (
	"bufio"
	"fmt"
	"io"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// heatLoss tells what if the heat stops: of each coat the section that has the
// shortest notice.
func (p page) heatLoss() {
	h := p.o.HeatLoss
	if h == nil {
		return
	}
	p.title("WHAT IF THE HEAT STOPS")
	p.wrap("", h.Sentence(p.sys))
	worst := map[string]*systems.HeatLossCoat{}
	var order []string
	for i := range h.Coats {
		c := &h.Coats[i]
		w, ok := worst[c.Step]
		if !ok {
			order = append(order, c.Step)
		}
		if !ok || c.Notice != nil && (w.Notice == nil || c.Notice.Time < w.Notice.Time) {
			worst[c.Step] = c
		}
	}
	for _, step := range order {
		c := worst[step]
		at := fmt.Sprintf("%-6s ", step)
		if p.o.Sections > 1 {
			at = fmt.Sprintf("%s (section %d) ", step, c.Section)
		}
		p.wrap(at, c.Sentence(p.o.Start, p.sys))
	}
}

// WriteDifference writes what disturbances do to a plan, with quantities in sys
// and times in the job's own offset. The error is w's.
func WriteDifference(w io.Writer, d *systems.Difference, sys units.System) error {
	b := bufio.NewWriter(w)
	p := page{b, d.Plan, sys}
	p.wrap("", "What if "+d.Words(sys)+"?")
	for _, n := range d.Notes {
		p.wrap("", n)
	}
	for _, x := range []struct {
		title string
		of    *systems.Answer
	}{{"AS PLANNED: THE CREW KEEPS TO THE SCHEDULE", &d.AsPlanned}, {"RE-PLANNED", &d.Replanned}} {
		p.title(x.title)
		for _, s := range x.of.Sentences(d.Plan.Start, sys) {
			p.wrap("* ", s)
		}
	}
	return b.Flush()
}
