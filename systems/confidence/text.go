package confidence

import (
	"fmt"
	"math"
	"strings"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// Sentence says a line in one English sentence. Apps that show their own make it
// from the fields.
func (l *Line) Sentence(sys units.System) string {
	planned, that, smallest := fmt.Sprintf("%d %ss", l.Planned, l.Unit), fmt.Sprintf("%d run", l.Planned), ""
	if l.Planned == 1 {
		planned, that = "1 "+l.Unit, "1 runs"
	}
	half, eight, nine := fmt.Sprint(l.P50), fmt.Sprint(l.P80), fmt.Sprint(l.P90)
	if l.Sizes > 1 { // a number of kits says little
		say := func(kits []systems.KitLine) string { return l.Bought(0, kits, sys) }
		planned, that, smallest = say(l.Kits), "the planned run", " of "+l.One.In(sys)
		half, eight, nine = say(l.Kits50), say(l.Kits80), say(l.Kits90)
	}
	s := fmt.Sprintf("%s: %s planned; ", l.Name, planned)
	switch {
	case half == nine:
		s += fmt.Sprintf("%s would do in half of such jobs, and in nine of ten", half)
	default:
		s += fmt.Sprintf("%s would do in half of such jobs, %s in eight of ten, %s in nine of ten", half, eight, nine)
	}
	s += fmt.Sprintf("; %s chance that %s short", Chance(l.Short), that)
	if l.Short > 0 {
		s += fmt.Sprintf(", %s with one more%s", Chance(l.OneMore), smallest)
	}
	if l.Planned > 0 && l.OneLess < 0.995 {
		s += fmt.Sprintf(", %s with one less%s", Chance(l.OneLess), smallest)
	}
	if len(l.Drivers) > 0 {
		s += "; drives it: " + Words(l.Drivers, 4)
	}
	return s + "."
}

// Bought says n kits or bags in few words: their number, or of a material sold in
// several kits how many of which, such as "1x15 + 2x3 gal".
func (l *Line) Bought(n int, kits []systems.KitLine, sys units.System) string {
	if l.Sizes > 1 && len(kits) > 0 {
		return systems.KitsIn(kits, sys)
	}
	return fmt.Sprint(n)
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
