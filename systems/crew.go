package systems

import (
	"fmt"
	"slices"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// A Crew is who works, and when.
type Crew struct {
	Hands    int
	From, To time.Duration  // of the day; To beyond 24 h is on the next one
	Rest     []time.Weekday // on which no shift begins
}

// check looks at a crew, which need not be read from a file.
func (c Crew) check() error {
	bad := func(field, format string, args ...any) error {
		return fmt.Errorf("systems.Plan: crew."+field+": found "+format, args...)
	}
	for _, d := range c.Rest {
		if d < time.Sunday || d > time.Saturday {
			return bad("rest", "day %d: want 0 (Sunday) to 6", int(d))
		}
	}
	switch {
	case c.Hands < 1 || c.Hands > mostHands:
		return bad("hands", "%d: want 1 to %d", c.Hands, mostHands)
	case c.From < 0 || c.From >= day:
		return bad("from", "%s: want a time of day, 0h to 24h", units.DurationText(c.From))
	case c.To < c.From+time.Hour || c.To > c.From+day:
		return bad("to", "%s: want one hour to 24 h after from, %s", units.DurationText(c.To), units.DurationText(c.From))
	case c.neverWorks():
		return bad("rest", "all seven days: want at least one to work")
	}
	return nil
}

// neverWorks reports whether all days of the week are days of rest.
func (c Crew) neverWorks() bool {
	return len(slices.Compact(slices.Sorted(slices.Values(c.Rest)))) == 7
}

// mostHands is the largest crew that a job may have, and mostSections into how many
// parts a floor may be divided.
const (
	mostHands    = 1000
	mostSections = 1000
)

// longestNight tells a night shift from a slip of the pen.
const longestNight = 16 * time.Hour

func clock(text string) (time.Duration, bool) {
	t, err := time.Parse("15:04", text)
	if err != nil {
		return 0, false
	}
	return time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute, true
}

func (p jobReader) crew() error {
	f := p.f.Crew
	if f.Hands < 1 || f.Hands > mostHands {
		return p.bad("crew/hands", "found %d: want 1 to %d", f.Hands, mostHands)
	}
	from, ok1 := clock(f.From)
	to, ok2 := clock(f.To)
	if f.To == "24:00" {
		to, ok2 = day, true
	}
	if !ok1 {
		return p.bad("crew/from", "found %q: want a time of day such as 07:00", f.From)
	}
	if ok2 && to <= from { // a night shift
		if to += day; to-from > longestNight {
			ok2 = false
		}
	}
	if !ok2 || to-from < time.Hour {
		return p.bad("crew/to", "found %q: want a time of day at least one hour after from, or of the next day for a night shift of at most 16 hours", f.To)
	}
	if f.Sections < 0 || f.Sections > mostSections {
		return p.bad("crew/sections", "found %d: want 0 (as many as the crew needs) to %d", f.Sections, mostSections)
	}
	p.j.Sections = int(f.Sections)
	p.j.Crew = Crew{Hands: int(f.Hands), From: from, To: to}
	for _, day := range f.Rest {
		i := slices.Index([]string{"sun", "mon", "tue", "wed", "thu", "fri", "sat"}, day)
		if i < 0 {
			return p.bad("crew/rest", "found %q: want some of sun, mon, tue, wed, thu, fri, sat", day)
		}
		p.j.Crew.Rest = append(p.j.Crew.Rest, time.Weekday(i))
	}
	if p.j.Crew.neverWorks() {
		return p.bad("crew/rest", "found all seven days: want at least one to work")
	}
	return nil
}
