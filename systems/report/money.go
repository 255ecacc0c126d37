package report

import (
	"bufio"
	"fmt"
	"io"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/confidence"
	"github.com/tackfree/tackfree/systems/money"
)

// WriteMoney writes what o costs, line by line, and what it may come to. The
// error is w's.
func WriteMoney(w io.Writer, o *systems.Outcome, m *money.Bill, sys units.System) error {
	b := bufio.NewWriter(w)
	p := page{b, o, sys}
	p.title("MONEY")
	say := func(a money.Amount) string {
		if m.Currency == "" {
			return a.String()
		}
		return a.String() + " " + m.Currency
	}
	for _, l := range m.Lines {
		p.wrap(fmt.Sprintf("%12s  ", l.Amount), fmt.Sprintf("%s: %s, %s at %s", l.For, l.What, l.Quantity, l.Price))
	}
	whole := "total"
	if len(m.Missing) > 0 {
		whole = "total of what has a price"
	}
	per, area := m.PerFt2, "ft2"
	if sys == units.SI {
		per, area = m.PerM2, "m2"
	}
	p.wrap(fmt.Sprintf("%12s  ", m.Total), fmt.Sprintf("%s; %s per %s of floor", whole, say(per), area))
	for _, s := range m.Missing {
		p.wrap("  ", s+".")
	}
	if d := m.Drawn; d != nil {
		p.wrap("", fmt.Sprintf("Half of such jobs come to no more than %s, eight of ten to %s, nine of ten to %s, if each buys the kits and bags that it turns out to take.%s",
			say(d.P50), say(d.P80), say(d.P90), drives(d.Drivers)))
		p.wrap("", fmt.Sprintf("All else as planned, with the kits and bags that do in half of such jobs it is %s, in eight of ten %s, in nine of ten %s.", say(d.Order50), say(d.Order80), say(d.Order90)))
	}
	days := fmt.Sprintf("%d days", m.Days)
	if m.Days == 1 {
		days = "1 day"
	}
	p.wrap("", fmt.Sprintf("%s on site. One more: %s (equipment %s, heat of an average day %s, hands that wait %s).", days, say(m.Day.Total), m.Day.Equipment, m.Day.Heat, m.Day.Waiting))
	for _, n := range m.Notes {
		p.wrap("", n)
	}
	return b.Flush()
}

// drives says what drives a sum, or nothing of one that does not vary.
func drives(all []confidence.Driver) string {
	if len(all) == 0 {
		return ""
	}
	return " Drives it: " + confidence.Words(all, 4) + "."
}
