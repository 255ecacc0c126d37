package report

import (
	"fmt"
	"strings"
	"time"

	"github.com/tackfree/tackfree/systems"
)

// day writes the day as a heading, where it is another than the last.
func (p page) day(t time.Time, last *string) {
	if d := t.Format("Monday 2 January"); d != *last {
		p.f("%s\n", d)
		*last = d
	}
}

// night writes a time in which nobody works: what lies wet, how cold and damp it
// gets, and what that breaks.
func (p page) night(n systems.Night, last *string) {
	from, until := n.From.In(systems.OffsetOf(p.o.Start)), n.Until.In(systems.OffsetOf(p.o.Start))
	p.day(from, last)
	const what = "NOBODY WORKS" // by day too: after the day's last coat, on a day of rest, until a night shift
	to := until.Format("15:04")
	if from.YearDay() != until.YearDay() || from.Year() != until.Year() {
		to = until.Format("Mon 15:04")
	}
	clock := func(t time.Time) string { return t.In(systems.OffsetOf(p.o.Start)).Format("Mon 15:04") }
	var lies []string
	for _, l := range n.Lying {
		lies = append(lies, p.lies(l, clock))
	}
	if len(lies) == 0 && len(n.Dry) == 0 {
		p.wrap(fmt.Sprintf("  %s-%-9s ", from.Format("15:04"), to), fmt.Sprintf("%s: nothing lies wet; slab down to %s, air %s", what, p.q(n.LowestSlab), p.q(n.LowestAir)))
		return
	}
	if len(lies) == 0 {
		lies = []string{"nothing lies wet"}
	}
	p.wrap(fmt.Sprintf("  %s-%-9s ", from.Format("15:04"), to), what+": "+strings.Join(lies, "; "))
	const in = "                  "
	p.wrap(in, fmt.Sprintf("slab down to %s (%s), air %s (%s), slab above dew point %s (%s)", p.q(n.LowestSlab), clock(n.LowestSlabAt), p.q(n.LowestAir), clock(n.LowestAirAt), p.q(n.Margin), clock(n.MarginAt)))
	for _, d := range n.Dry {
		p.wrap(in, fmt.Sprintf("NO HEAT from %s: %s to %s, its tank is dry", d.Heater, clock(d.From), clock(d.Until)))
	}
	wet := false
	for _, l := range n.Lying {
		wet = wet || l.Wet
	}
	if len(n.Broken) == 0 && wet {
		p.wrap(in, "all limits are kept")
	}
	for _, b := range n.Broken {
		p.wrap(in, fmt.Sprintf("BROKEN for %s: %s, %s to %s, %s at worst, the limit is %s", p.named(b.Step, b.Section), b.Words(), clock(b.From), clock(b.Until), b.Found.In(p.sys), b.Asked.In(p.sys)))
	}
}

// named is a step with its section, where there are several.
func (p page) named(s string, section int) string {
	if section > 0 && p.o.Sections > 1 {
		s += fmt.Sprintf(" [section %d]", section)
	}
	return s
}

// lies says how a coat lies there.
func (p page) lies(l systems.Lying, clock func(time.Time) string) string {
	s := p.named(l.Step, l.Section)
	switch {
	case l.Wet && l.Free == nil:
		s += " is wet, and never tack-free"
	case l.Wet:
		s += " is wet until " + clock(*l.Free)
	default:
		s += " cures"
	}
	if l.Dry != nil {
		s += ", its water out " + clock(*l.Dry)
	}
	switch {
	case l.Next != "" && l.Ready == nil:
		s += ", never ready for " + l.Next
	case l.Next != "":
		s += fmt.Sprintf(", ready for %s %s", l.Next, clock(*l.Ready))
	}
	if l.Shuts != nil {
		s += fmt.Sprintf(", ITS WINDOW FOR %s CLOSES %s", strings.ToUpper(l.Missed), clock(*l.Shuts))
	}
	return s
}

// water writes what the coats and the slab give to the air.
func (p page) water() {
	w := p.o.Heat.Water
	if w == nil {
		return
	}
	s := fmt.Sprintf("Water into the air: %s from coats", p.q(w.Coats))
	if w.Slab > 0 {
		s += fmt.Sprintf(", %s from the slab", p.q(w.Slab))
		if w.Closed != nil {
			s += ", closed " + p.when(*w.Closed)
		}
	}
	if w.Burned > 0 {
		s += fmt.Sprintf(", %s from unvented heat", p.q(w.Burned))
	}
	p.wrap("  ", s+fmt.Sprintf("; %s of it left with the air.", p.q(w.Vented)))
	for _, c := range w.Each {
		s := fmt.Sprintf("%s: %s of water, laid %s", p.named(c.Title, c.Section), p.q(c.Holds), p.when(c.Laid))
		switch {
		case c.Dry != nil:
			s += ", dry " + p.when(*c.Dry)
		case c.Covered != nil:
			s += fmt.Sprintf(", covered %s with %s of it left", p.when(*c.Covered), p.q(c.Left))
		default:
			s += fmt.Sprintf(", %s of it left at the end", p.q(c.Left))
		}
		p.wrap("    ", s+".")
	}
}
