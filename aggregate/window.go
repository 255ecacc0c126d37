package aggregate

import (
	"errors"
	"math"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// A Throw is a crew that spreads a film and throws grain behind.
type Throw struct {
	Window  time.Duration  // from spreading until the film no longer takes grain, less than its gel time; above 0 to 7 d
	Lead    time.Duration  // from the first spreading to the first throwing; 0 to Window
	Spread  units.AreaRate // pace of spreading, above 0 to 10 m2/s
	Thrower units.AreaRate // pace of throwing, likewise
}

func (w Throw) check(fn string) error {
	return errors.Join(above(fn, "Window", w.Window.Minutes(), 7*24*60, "min"), units.FromZero(fn, "Lead", w.Lead.Minutes(), max(0, w.Window.Minutes()), "min"),
		above(fn, "Spread", float64(w.Spread), 10, "m2/s"), above(fn, "Thrower", float64(w.Thrower), 10, "m2/s"))
}

// Age returns how long the film has lain, at the spot where the area so far is
// area, when grain falls on it: Lead + area/Thrower - area/Spread, and no less
// than 0, since nobody throws ahead of the film.
//
// Range: area 0 to 1e6 m2, and an age of at most 292 years.
func (w Throw) Age(area units.Area) (time.Duration, error) {
	const fn = "aggregate.Throw.Age"
	if err := errors.Join(w.check(fn), units.FromZero(fn, "area", float64(area), 1e6, "m2")); err != nil {
		return 0, err
	}
	hours := w.Lead.Hours() + float64(area)*(1/float64(w.Thrower)-1/float64(w.Spread))/3600
	if err := units.InRange(fn, "age", hours, -292*8760, 292*8760, "h"); err != nil {
		return 0, err
	}
	return time.Duration(max(0, hours) * float64(time.Hour)), nil
}

// Most returns the largest area to spread in one go, so that grain falls on the
// last of it within Window: (Window - Lead)/(1/Thrower - 1/Spread). It is +Inf
// where throwing keeps up with spreading.
//
// Source: two paces, by hand. The window itself is package cure's.
func (w Throw) Most() (units.Area, error) {
	if err := w.check("aggregate.Throw.Most"); err != nil {
		return nanOf[units.Area](), err
	}
	lag := 1/float64(w.Thrower) - 1/float64(w.Spread) // s/m2
	if lag <= 0 {
		return units.Area(math.Inf(1)), nil
	}
	return units.Area((w.Window - w.Lead).Seconds() / lag), nil
}
