package report_test

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems/money"
	"github.com/tackfree/tackfree/systems/report"
)

// A bill of one day that nothing varies says so in whole sentences. Our own wording,
// no source.
func TestWriteMoneySmall(t *testing.T) {
	for days, want := range map[int]string{1: "1 day on site. One more", 2: "2 days on site. One more"} {
		var b bytes.Buffer
		if err := report.WriteMoney(&b, small(), &money.Bill{Digits: 2, Days: days, Drawn: &money.Drawn{}}, units.US); err != nil {
			t.Fatal(err)
		}
		if s := strings.Join(strings.Fields(b.String()), " "); !strings.Contains(s, want) || strings.Contains(s, "Drives it") || !strings.Contains(s, "turns out to take. All else") {
			t.Errorf("%d days: %q", days, s)
		}
	}
}

// Lines of a bill are no longer than others of the page, whatever the equipment is
// called, and go on under their text. Common practice, no source.
func TestWriteMoneyLongNames(t *testing.T) {
	var b bytes.Buffer
	bill := &money.Bill{Digits: 2, Currency: "pippins", Lines: []money.Line{{For: money.Equipment, What: strings.Repeat("long name ", 12), Quantity: "3 day", Price: "125.00 per day"}}}
	if err := report.WriteMoney(&b, small(), bill, units.US); err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(b.String()) {
		if n := utf8.RuneCountInString(line); n > columns+1 || strings.HasPrefix(line, "long") || strings.HasPrefix(line, "name") {
			t.Errorf("%d columns: %q", n, line)
		}
	}
}
