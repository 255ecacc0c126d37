package confidence

import (
	"fmt"
	"math"
	"strings"

	"github.com/tackfree/tackfree/data/units"
)

// Sentence says a line in one English sentence. Apps that show their own make it
// from the fields.
func (l *Line) Sentence() string {
	plural := func(n int) string {
		if n == 1 {
			return fmt.Sprintf("1 %s", l.Unit)
		}
		return fmt.Sprintf("%d %ss", n, l.Unit)
	}
	s := fmt.Sprintf("%s: %s planned; ", l.Name, plural(l.Planned))
	switch {
	case l.P50 == l.P90:
		s += fmt.Sprintf("%d would do in half of such jobs, and in nine of ten", l.P50)
	default:
		s += fmt.Sprintf("%d would do in half of such jobs, %d in eight of ten, %d in nine of ten", l.P50, l.P80, l.P90)
	}
	runs := "run"
	if l.Planned == 1 {
		runs = "runs"
	}
	s += fmt.Sprintf("; %s chance that %d %s short", Chance(l.Short), l.Planned, runs)
	if l.Short > 0 {
		s += fmt.Sprintf(", %s with one more", Chance(l.OneMore))
	}
	if l.Planned > 0 && l.OneLess < 0.995 {
		s += fmt.Sprintf(", %s with one less", Chance(l.OneLess))
	}
	if len(l.Drivers) > 0 {
		s += "; drives it: " + Words(l.Drivers, 4)
	}
	return s + "."
}

// Words says the strongest drivers, at most so many.
func Words(all []Driver, most int) string {
	var parts []string
	for _, d := range all[:min(most, len(all))] {
		parts = append(parts, fmt.Sprintf("%s %s", d.What, Chance(d.Share)))
	}
	return strings.Join(parts, ", ")
}

// Chance says a share in whole per cent. What is not quite none or all says so.
func Chance(p units.Fraction) string {
	switch n := math.Round(float64(p / units.Percent)); {
	case p > 0 && n == 0:
		return "under 1 %"
	case p < 1 && n == 100:
		return "over 99 %"
	default:
		return fmt.Sprintf("%g %%", n)
	}
}
