package systems

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// clockTime says a time as the plan does.
func clockTime(t time.Time, start time.Time) string {
	return t.In(OffsetOf(start)).Format(stamp)
}

// OffsetOf returns the offset of a job's start as a zone, for all times of its plan.
// A start that was read from JSON has the machine's own zone where the offset
// fits, and would change its clock with that.
func OffsetOf(start time.Time) *time.Location {
	_, offset := start.Zone()
	return time.FixedZone("", offset)
}

// Sentence says the standing answer in a few sentences, with quantities in sys.
func (h *HeatLoss) Sentence(sys units.System) string {
	c := h.Worst
	if c == nil {
		return "If the heat stops when a coat has just gone down, none breaks a limit before it is tack-free."
	}
	b, start := c.Breaks, h.start
	if start.IsZero() { // read from JSON
		start = c.Stop
	}
	if c.Notice.Stop.Equal(c.Stop) {
		return fmt.Sprintf("If the heat stops at the worst hour, %s, when %s has just gone down, you have %s to bring it back. First to break, %s: %s", clockTime(c.Stop, start), c.at(), about(b.After.Duration()), clockTime(b.At, start), b.sentence(sys))
	}
	s := fmt.Sprintf("If the heat stops at the worst hour, %s, you have %s to bring it back: then %s breaks a limit.", clockTime(c.Notice.Stop, start), about(c.Notice.Time.Duration()), c.at())
	s += fmt.Sprintf(" If it stops when that coat has just gone down, %s, the first to break is at %s, %s later: %s", clockTime(c.Stop, start), clockTime(b.At, start), about(b.After.Duration()), b.sentence(sys))
	return s
}

// Sentence says what becomes of one coat.
func (c *HeatLossCoat) Sentence(start time.Time, sys units.System) string {
	s := fmt.Sprintf("Down %s. ", clockTime(c.Stop, start))
	switch {
	case c.Breaks != nil:
		s += fmt.Sprintf("After a stop then: %s, %s later: %s", clockTime(c.Breaks.At, start), about(c.Breaks.After.Duration()), c.Breaks.sentence(sys))
		if c.Breaks.Anyway != nil {
			s += fmt.Sprintf(" (The plan breaks this limit by itself %s.)", clockTime(*c.Breaks.Anyway, start))
		}
		if c.Notice.Time < c.Breaks.After {
			s += fmt.Sprintf(" Shortest notice %s, if it stops %s.", about(c.Notice.Time.Duration()), clockTime(c.Notice.Stop, start))
		}
	case c.TackFree != nil:
		s += "A stop then breaks no limit that the plan keeps."
	default:
		s += "A stop then breaks no limit, but it does not become tack-free."
	}
	switch {
	case c.TackFree != nil && c.Planned != nil:
		s += fmt.Sprintf(" Tack-free %s, not %s.", clockTime(*c.TackFree, start), clockTime(*c.Planned, start))
		if c.TackFree.Sub(*c.Planned).Abs() < time.Minute {
			s = strings.TrimSuffix(s, fmt.Sprintf(", not %s.", clockTime(*c.Planned, start))) + " as planned."
		}
	case c.TackFree == nil && c.Planned != nil:
		s += fmt.Sprintf(" Not tack-free in that cold; %s in the plan.", clockTime(*c.Planned, start))
	}
	if c.Next != "" {
		if c.NextReady == nil {
			s += fmt.Sprintf(" It is never ready for %s in that cold.", c.Next)
		} else {
			s += fmt.Sprintf(" Ready for %s %s: %s.", c.Next, clockTime(*c.NextReady, start), chemistryWords(c.MayFollow, start))
		}
	}
	return s
}

func (c *HeatLossCoat) at() string {
	if c.Section > 1 {
		return fmt.Sprintf("%s (section %d)", c.Step, c.Section)
	}
	return c.Step
}

// chemistryWords says what goes down and until when.
func chemistryWords(all []Chemistry, start time.Time) string {
	var said []string
	for _, x := range all {
		switch {
		case !x.Goes:
			said = append(said, fmt.Sprintf("%s does not go down (%s)", x.Name, x.Why))
		case x.Until != nil:
			said = append(said, fmt.Sprintf("%s goes down from %s until %s", x.Name, clockTime(*x.From, start), clockTime(*x.Until, start)))
		case x.Held:
			said = append(said, fmt.Sprintf("%s goes down from %s, if it stays as it is at the end of what is looked at", x.Name, clockTime(*x.From, start)))
		default:
			said = append(said, fmt.Sprintf("%s goes down from %s on", x.Name, clockTime(*x.From, start)))
		}
	}
	return strings.Join(said, "; ")
}

// sentence says the finding that a break is, with how far it goes.
func (b *Break) sentence(sys units.System) string {
	f := b.finding()
	return f.Sentence(sys)
}

// about says a time to the minute.
func about(d time.Duration) string {
	d = d.Round(time.Minute)
	switch h, m := int(d/time.Hour), int(d%time.Hour/time.Minute); {
	case h >= 72:
		return fmt.Sprintf("%.1f d", d.Hours()/24)
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m == 0:
		return fmt.Sprintf("%d h", h)
	default:
		return fmt.Sprintf("%d h %d min", h, m)
	}
}

// Words says the disturbances in plain words, with quantities in sys and times by
// the 24-hour clock, as all text of a plan has them.
func (d *Difference) Words(sys units.System) string { return d.WordsBy(sys, stamp) }

// WordsBy is Words with times by a layout of [time.Time.Format].
func (d *Difference) WordsBy(sys units.System, layout string) string {
	if len(d.by) == 0 {
		return "nothing is otherwise"
	}
	j := *d.job
	j.layout = layout
	var said []string
	for _, x := range d.by {
		said = append(said, x.words(&j, sys))
	}
	return strings.Join(said, "; ")
}

// Sentences says the answer in plain words, with quantities in sys: what breaks
// first, what comes and goes, what becomes of the coats, how far things move.
func (a *Answer) Sentences(start time.Time, sys units.System) []string {
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	place := func(step string, section int) string {
		if section > 0 && a.Outcome != nil && a.Outcome.Sections > 1 {
			return fmt.Sprintf("%s (section %d)", step, section)
		}
		return step
	}
	if b := a.BreaksFirst; b == nil {
		say("Nothing breaks that the plan keeps.")
	} else {
		where := ""
		if b.Step != "" {
			where = place(b.Step, b.Section) + ", "
		}
		by := ""
		if s, ok := b.By.Q.(units.Span); ok {
			by = " By " + about(s.Duration()) + "."
		} else if b.By.Q != nil {
			by = " By " + b.By.In(sys) + "."
		}
		if b.Anyway != nil {
			by += " The plan has it by itself " + clockTime(*b.Anyway, start) + "."
		}
		after := about(b.After.Duration()) + " after the disturbance begins"
		if b.early > 0 {
			after = about(b.early) + " before the disturbance begins, for the work is put in time anew"
		}
		say("Breaks first: %s%s, %s. %s%s", where, clockTime(b.At, start), after, b.said(sys), by)
	}
	for _, x := range []struct {
		what string
		all  []Finding
	}{{"Comes", a.Comes}, {"Goes", a.Goes}} {
		for _, f := range x.all {
			where := ""
			if f.Step != "" {
				where = " " + place(f.Step, f.Section)
			}
			if f.When != nil {
				where += " " + clockTime(*f.When, start)
			}
			if f.When != nil && f.Until != nil && f.Until.After(*f.When) {
				where += " to " + clockTime(*f.Until, start)
			}
			say("%s: %s%s: %s", x.what, f.Severity, where, f.Sentence(sys))
		}
	}
	for _, m := range a.Moves {
		if m.Now.Severity == Note || m.Was.When == nil || m.Now.When == nil {
			continue
		}
		if m.Was.When.Sub(*m.Now.When).Abs() < time.Minute {
			say("Moves: %s: %s: %s", strings.TrimSpace(place(m.Now.Step, m.Now.Section)+" "+clockTime(*m.Now.When, start)), m.Now.until(start), m.Now.Sentence(sys))
			continue
		}
		say("Moves: %s: from %s to %s: %s", strings.TrimSpace(place(m.Now.Step, m.Now.Section)+" "+words(m.Now.Key)), clockTime(*m.Was.When, start), clockTime(*m.Now.When, start), m.Now.Sentence(sys))
	}
	for i := range a.Coats {
		out = append(out, a.Coats[i].sentence(place, start))
	}
	for _, s := range a.Steps {
		switch {
		case s.Start.Now == nil:
			say("%s is no longer planned.", place(s.Step, s.Section))
		case s.Start.Was == nil:
			say("%s is planned %s.", place(s.Step, s.Section), clockTime(*s.Start.Now, start))
		case s.Start.moved() || s.End.moved():
			say("%s: start %s, end %s.", place(s.Step, s.Section), s.Start.said(start), s.End.said(start))
		}
		for _, e := range s.Events {
			if e.Event == TackFree {
				say("%s: tack-free %s.", place(s.Step, s.Section), e.said(start))
			}
		}
	}
	for _, x := range []struct {
		what string
		s    Shift
	}{{"Last work", a.LastWork}, {"Light foot traffic", a.Foot}, {"Hand-over (full service)", a.HandOver}} {
		say("%s: %s.", x.what, x.s.said(start))
	}
	for _, f := range a.Fuel {
		does, now, was := "burns", units.Format(f.Now, sys), units.Format(f.Was, sys)
		if f.Fuel == "" {
			does, now, was = "takes", KilowattHours(f.NowTakenIn), KilowattHours(f.WasTakenIn)
		}
		s := fmt.Sprintf("%s %s %s, not %s", f.Heater, does, now, was)
		if now == was {
			s = fmt.Sprintf("%s %s %s as planned", f.Heater, does, now)
		}
		for _, t := range f.Empty {
			s += "; the tank runs dry " + clockTime(t, start)
		}
		out = append(out, s+".")
	}
	for _, l := range a.Order {
		say("Order: %d of %s, not %d (each a %s).", l.Now, l.Material, l.Was, l.Unit)
	}
	return out
}

// until says until when a finding is so.
func (f *Finding) until(start time.Time) string {
	if f.Until == nil {
		return words(f.Key)
	}
	return words(f.Key) + " until " + clockTime(*f.Until, start)
}

// said says the break's finding: of a limit in sys, else as it was told.
func (b *Break) said(sys units.System) string {
	f := b.finding()
	if s := f.Sentence(sys); !slices.Contains([]string{"not-ready", "crew-still-busy"}, b.Key) {
		return s
	}
	return b.Text
}

func (s *Shift) said(start time.Time) string {
	switch {
	case s.Now == nil && s.Was == nil:
		return "never, as in the plan"
	case s.Now == nil:
		return "never, and " + clockTime(*s.Was, start) + " in the plan"
	case s.Was == nil:
		return clockTime(*s.Now, start) + ", and never in the plan"
	case !s.moved():
		return clockTime(*s.Now, start) + " as planned"
	case s.Later != nil:
		return fmt.Sprintf("%s, %s later than %s", clockTime(*s.Now, start), about(s.Later.Duration()), clockTime(*s.Was, start))
	}
	return fmt.Sprintf("%s, %s sooner than %s", clockTime(*s.Now, start), about(s.Sooner.Duration()), clockTime(*s.Was, start))
}

// sentence says what becomes of a coat.
func (c *CoatFate) sentence(place func(string, int) string, start time.Time) string {
	s := place(c.Step, c.Section) + " (" + clockTime(c.Start, start)
	if c.Status == WorkDone {
		s += ", done"
	} else if c.Status == WorkRunning {
		s += ", begun"
	}
	s += ") "
	switch {
	case c.Breaks == nil:
		s += "still works: inside its limits until tack-free, its window met."
		return s
	case !c.Ready:
		s += "does not work: what it waits for has not come."
	case !c.Inside:
		s += "does not stay inside its limits until it is tack-free."
	default:
		s += "misses its window."
	}
	if !c.WindowMet && (!c.Ready || !c.Inside) {
		s += " Its window is missed too."
	}
	if c.Breaks.Anyway != nil {
		s += " So it does in the plan, from " + clockTime(*c.Breaks.Anyway, start) + " on."
	}
	if c.Status != "" {
		return s
	}
	if c.NeverReady != "" {
		return s + " Nothing would go down: " + c.NeverReady + "."
	}
	return s + " In that weather " + chemistryWords(c.Chemistries, start) + "."
}
