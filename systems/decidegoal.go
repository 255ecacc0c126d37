package systems

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// What [Decide] can be asked for.
const (
	Earliest       = "earliest" // hand-over
	LeastFuel      = "fuel"     // burned until hand-over
	LeastCost      = "cost"     // by Goal.Prices: material, hands, disposal, fuel and equipment
	FewestFindings = "findings" // to stop for, then to watch
)

// goals lists what can be asked for.
func goals() []string { return []string{Earliest, LeastFuel, LeastCost, FewestFindings} }

// OwnMaterial names, in Goal.Materials, the material that the job takes for a
// step without any decision: the recipe's, or the job's own over it.
const OwnMaterial = "own"

// A Goal says what a decision is to reach, and among what it may choose. A job
// file gives it in its table [decide].
type Goal struct {
	For      string // one of [Earliest], [LeastFuel], [LeastCost], [FewestFindings]; "" is the first
	HandOver string // [Foot] or [Service]: what the floor is handed over for; "" is Foot

	// A coat may be held back until any time of the grid, counted from the job's
	// start and moved to the next shift where it lies outside of one, up to
	// Horizon. Zero is an hour (10 min to 24 h), and as long as the weather is
	// given, at most 14 days (to 62 days).
	Grid, Horizon time.Duration
	Start         StartWindow

	// Materials are those allowed by coat: keys of the step's options, and
	// [OwnMaterial]. A coat that is not named has all of them.
	Materials map[string][]string

	// Other heat that may be had, by a name of the user's: each is tried with each
	// of the others, and the job's own is always among them.
	Thermostats map[string][]climate.Setting
	Refills     map[string]map[string][]climate.Refill // then by heater: all its refills
	Heaters     map[string]map[string]HeaterChange     // then by heater

	Prices *Prices // of [LeastCost]; nil: the job's own

	// Nodes is how many states or plans may be looked at before the search gives
	// up proving and says how far off it may be; zero is 2 000 000 states, and
	// 2 000 plans where the floor is coated in sections.
	Nodes int

	NoRelax bool // do not look for what to relax where every plan has a Stop
}

// A StartWindow is when the work may start, counted from the job's start, at
// which the weather and the heat begin: from From to To every Every. Zero is at
// the job's start; Every zero is the grid.
type StartWindow struct{ From, To, Every time.Duration }

// A HeaterChange is another number of a heater, or another tank; what is zero
// stays.
type HeaterChange struct {
	Count int        // 1 to 1000
	Tank  units.Mass // at the start
}

// Limits of what one decision looks at.
const (
	longestHorizon = 62 * day
	usualHorizon   = 14 * day
	maxCombos      = 4096
	maxHeats       = 256
	maxStarts      = 1000
)

// filled returns the goal with what is zero filled in for j, or says what is
// wrong with it.
func (g Goal) filled(j *Job) (Goal, error) {
	bad := func(field, format string, args ...any) error {
		return fmt.Errorf("systems.Decide: %s: %s", field, fmt.Sprintf(format, args...))
	}
	var errs []error
	if g.For == "" {
		g.For = Earliest
	}
	if !slices.Contains(goals(), g.For) {
		errs = append(errs, bad("goal", "found %q: want one of %s", g.For, strings.Join(goals(), ", ")))
	}
	if g.HandOver == "" {
		g.HandOver = Foot
	}
	if g.HandOver != Foot && g.HandOver != Service {
		errs = append(errs, bad("hand_over", "found %q: want %s or %s", g.HandOver, Foot, Service))
	}
	if g.Grid == 0 {
		g.Grid = time.Hour
	}
	if g.Grid < 10*time.Minute || g.Grid > day {
		errs = append(errs, bad("grid", "found %s: want 10m to 24h", units.DurationText(g.Grid)))
	}
	if g.Horizon == 0 {
		g.Horizon = max(min(j.Weather.Last(), j.Now+usualHorizon), g.Start.To, 0)
	}
	if g.Horizon < 0 || g.Horizon > longestHorizon {
		errs = append(errs, bad("horizon", "found %s: want 0h (as long as the weather is given, at most 14d) to 62d", units.DurationText(g.Horizon)))
	}
	w := &g.Start
	if w.To == 0 {
		w.To = w.From
	}
	if w.Every == 0 {
		w.Every = g.Grid
	}
	switch {
	case w.From < 0 || w.From > longestHorizon || w.To > longestHorizon:
		errs = append(errs, bad("start", "found %s to %s: want 0h to 62d after the job's start", units.DurationText(w.From), units.DurationText(w.To)))
	case w.To < w.From:
		errs = append(errs, bad("start", "found %s to %s: want an end that is not before the beginning", units.DurationText(w.From), units.DurationText(w.To)))
	case w.Every < 10*time.Minute || w.Every > 31*day:
		errs = append(errs, bad("start.every", "found %s: want 10m to 31d", units.DurationText(w.Every)))
	case int((w.To-w.From)/w.Every) >= maxStarts:
		errs = append(errs, bad("start", "found %d starts: want at most %d", (w.To-w.From)/w.Every+1, maxStarts))
	}
	if len(j.Done) > 0 && (w.From > 0 || w.To > 0) {
		errs = append(errs, bad("start", "found one, and the job's work is begun: want none"))
	}
	if j.Now > 0 && len(g.Heaters) > 0 {
		errs = append(errs, bad("heaters", "found other heaters, and the job says what time it is now: want none, for they would have stood there from the start; refills and thermostats are had from now on"))
	}
	if g.Nodes < 0 {
		errs = append(errs, bad("nodes", "found %d: want 0 (as many as usual) or more", g.Nodes))
	}
	errs = append(errs, g.checkMaterials(j, bad), g.checkHeat(j, bad))
	if g.Prices == nil {
		g.Prices = j.prices
	}
	if g.For == LeastCost {
		errs = append(errs, g.checkPrices(bad))
	}
	return g, errors.Join(errs...)
}

// checkMaterials looks at the materials allowed by step.
func (g *Goal) checkMaterials(j *Job, bad func(field, format string, args ...any) error) error {
	var errs []error
	for _, id := range slices.Sorted(maps.Keys(g.Materials)) {
		field := "materials." + id
		s, ok := j.Recipe.Steps[id]
		if !ok || s.Does != Coat {
			errs = append(errs, bad(field, "found step %q: want a coat of %s", id, j.Recipe.ID))
			continue
		}
		known := append([]string{OwnMaterial}, slices.Sorted(maps.Keys(s.Options))...)
		if len(g.Materials[id]) == 0 {
			errs = append(errs, bad(field, "found none: want at least one of %s", strings.Join(known, ", ")))
		}
		for _, name := range g.Materials[id] {
			if !slices.Contains(known, name) {
				errs = append(errs, bad(field, "found %q: want some of %s", name, strings.Join(known, ", ")))
			}
		}
	}
	return errors.Join(errs...)
}

// checkHeat looks at the heat that may be had.
func (g *Goal) checkHeat(j *Job, bad func(field, format string, args ...any) error) error {
	heated := j.Site != nil && len(j.Site.Heaters) > 0
	if g.For == LeastFuel && !heated {
		if j.Site == nil {
			return bad("goal", "%s: the job has no [room]: want one, with [room.heaters], [room.thermostat] and [outdoors]", LeastFuel)
		}
		return bad("goal", "%s: the room has no heaters: want [room.heaters] and [room.thermostat]", LeastFuel)
	}
	if len(g.Thermostats)+len(g.Refills)+len(g.Heaters) == 0 {
		return nil
	}
	if !heated {
		return bad("thermostats, refills, heaters", "the job has no [room] with heaters: want one, or none of these")
	}
	if n := (len(g.Thermostats) + 1) * (len(g.Refills) + 1) * (len(g.Heaters) + 1); n > maxHeats {
		return bad("thermostats, refills, heaters", "found %d ways to heat: want at most %d", n, maxHeats)
	}
	var errs []error
	nameless := func(field string, has bool) {
		if has {
			errs = append(errs, bad(field, "found a name that is empty: want one, for without a name it is the job's own heat"))
		}
	}
	_, thermostat := g.Thermostats[""]
	_, refills := g.Refills[""]
	_, heaters := g.Heaters[""]
	nameless("thermostats", thermostat)
	nameless("refills", refills)
	nameless("heaters", heaters)
	for _, name := range slices.Sorted(maps.Keys(g.Thermostats)) {
		all := g.Thermostats[name]
		if len(all) == 0 {
			errs = append(errs, bad("thermostats."+name, "found no setting: want at least one"))
		}
		for i, s := range all {
			if c := s.Temp.Celsius(); s.Temp != (units.Temperature{}) && !(c >= -40-1e-9 && c <= 50+1e-9) {
				errs = append(errs, bad("thermostats."+name, "found %v: want -40 °C to 50 °C, or off", s.Temp))
			}
			if s.At < -farthest || s.At > farthest || i > 0 && s.At < all[i-1].At {
				errs = append(errs, bad("thermostats."+name, "found a setting at %s: want rising times within 400 days of the start", units.DurationText(s.At)))
			}
		}
	}
	index := func(field, heater string) (int, bool) {
		i := slices.IndexFunc(j.Site.Heaters, func(h SiteHeater) bool { return h.Name == heater })
		if i < 0 {
			errs = append(errs, bad(field, "found heater %q, which the job does not have", heater))
		}
		return i, i >= 0
	}
	fuelled := func(field, heater string) {
		if i, ok := index(field, heater); ok && j.Site.Heaters[i].Fuel.ID == "" {
			errs = append(errs, bad(field, "%s is electric: want no tank and no refills", heater))
		}
	}
	for _, name := range slices.Sorted(maps.Keys(g.Refills)) {
		for _, heater := range slices.Sorted(maps.Keys(g.Refills[name])) {
			field := "refills." + name + "." + heater
			fuelled(field, heater)
			for i, r := range g.Refills[name][heater] {
				if !(r.Add > 0 && r.Add <= 1e5) || r.At < -farthest || r.At > farthest || i > 0 && r.At < g.Refills[name][heater][i-1].At {
					errs = append(errs, bad(field, "found %v at %s: want above 0 kg to 100 t, at rising times within 400 days of the start", r.Add, units.DurationText(r.At)))
				}
			}
		}
	}
	for _, name := range slices.Sorted(maps.Keys(g.Heaters)) {
		for _, heater := range slices.Sorted(maps.Keys(g.Heaters[name])) {
			field, x := "heaters."+name+"."+heater, g.Heaters[name][heater]
			if x.Tank != 0 {
				fuelled(field, heater)
			} else {
				index(field, heater)
			}
			if x.Count < 0 || x.Count > 1000 || x.Count == 0 && x.Tank == 0 {
				errs = append(errs, bad(field, "found count %d: want 1 to 1000, or a tank alone", x.Count))
			}
			if !(x.Tank >= 0 && x.Tank <= 1e5) {
				errs = append(errs, bad(field, "found tank %v: want above 0 kg to 100 t", x.Tank))
			}
		}
	}
	return errors.Join(errs...)
}
