package money_test

import (
	"strings"
	"testing"
)

// Days on site run from the first work to the last, whenever the job starts. floor
// begins on Monday 4 May; the same work from the evening before its first shift, or
// from a Sunday that is a day of rest, has the same three days, with the same
// equipment to pay for and the same hands that wait. Counted out by hand, no source.
func TestDaysOnSite(t *testing.T) {
	const start = "2026-05-04T07:00:00-04:00"
	text := strings.Replace(floor, "to = \"15:00\"", "to = \"15:00\"\nrest = [\"sat\", \"sun\"]", 1) +
		"waiting = true\n[prices.equipment]\nvacuum = { price = \"55.50 per day\" }\n"
	// 3 x 55.50 = 166.50; of three shifts of 16 hand-hours 33 are worked: 15 x 40.00 = 600.00.
	const want = "labour | hands | 33.000 h | 1320.00; waiting | hands that wait | 15.000 h | 600.00; equipment | vacuum | 3 day | 166.50"
	for _, at := range []string{start, "2026-05-03T07:00:00-04:00", "2026-05-02T05:00:00-04:00", "2026-05-01T20:00:00-04:00"} {
		b := bill(t, strings.Replace(text, start, at, 1))
		if got := strings.Join(lines(b), "; "); got != want || b.Days != 3 {
			t.Errorf("from %s: %d days on site\n got %s\nwant %s", at, b.Days, got, want)
		}
	}
	// Work up to midnight is not of the day that begins then: the crew's 16.5 h and half
	// an hour more of setting up are 17 h, from 07:00 to 24:00.
	late := strings.NewReplacer(`from = "07:00"`, `from = "06:30"`, `to = "15:00"`, `to = "24:00"`, `setup = "30m"`, `setup = "1h"`).Replace(text)
	if b := bill(t, late); b.Days != 1 {
		t.Errorf("one long shift up to midnight: %d days on site\n%s", b.Days, strings.Join(lines(b), "; "))
	}
}
