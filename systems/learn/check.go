package learn

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// covers bounds what the job has to work on: of an area, or of all for "".
func covers(j *systems.Job, of string) (all units.Area) {
	for _, a := range j.Areas {
		if of == "" || a.Name == of {
			all += a.Floor + a.BaseLength.Times(a.BaseHeight+a.BaseCove)
		}
	}
	return all
}

// called is what a reading is told by: its step and its name, or where it has none
// its number in the list that it is in, from 0.
func called(step, name string, i int) string {
	if name == "" {
		return fmt.Sprintf("%s, reading %d without a name", step, i+1)
	}
	return step + " " + name
}

// shown is a quantity's text to four figures, without zeros behind the point.
func shown(q units.Quantity) string {
	number, symbol, _ := strings.Cut(fourFigures(q), " ")
	if strings.Contains(number, ".") && !strings.Contains(number, "e") {
		number = strings.TrimRight(strings.TrimRight(number, "0"), ".")
	}
	return number + " " + symbol
}

// positive reports whether something was done or used, and not without end.
func positive[T ~float64](x T) bool { return x > 0 && !math.IsInf(float64(x), 0) }

// whatOf is how the work of a step is told.
func whatOf(s *systems.Step) string {
	switch s.Does {
	case systems.FillPatch:
		return "count"
	case systems.FillJoint, systems.FillCrack, systems.Cove:
		return "length"
	}
	return "area"
}

// fault says what is wrong with a reading of liquid used, and at which key.
func (u *Used) fault(j *systems.Job) (key, problem string) {
	if u.Of != "" && !slices.ContainsFunc(j.Areas, func(a systems.Area) bool { return a.Name == u.Of }) {
		return "of", fmt.Sprintf("found area %q: want one of the job", u.Of)
	}
	if most := covers(j, u.Of) * mostDone; !(u.Area > 0 && u.Area <= most) {
		return "area", fmt.Sprintf("found %s done: want above nothing to %s, what there is to coat", shown(u.Area), shown(most))
	}
	if !positive(u.Used) {
		return "used", fmt.Sprintf("found %s used: want above nothing", shown(u.Used))
	}
	return "", ""
}

// fault says what is wrong with a reading of hours worked, and at which key.
func (x *Work) fault(j *systems.Job) (key, problem string) {
	s := j.Recipe.Steps[x.Step]
	want := whatOf(&s)
	for _, told := range []struct {
		key, allowed string
		is           any
		some, none   bool
	}{
		{"area", "above nothing", x.Area, positive(x.Area), x.Area == 0},
		{"length", "above nothing", x.Length, positive(x.Length), x.Length == 0},
		{"count", "1 to 1000000", x.Count, x.Count > 0 && x.Count <= 1e6, x.Count == 0},
	} {
		switch {
		case told.key == want && told.none:
			return "", fmt.Sprintf("found no %s: want how much was done", want)
		case told.key == want && !told.some:
			return want, fmt.Sprintf("found %v done: want %s", told.is, told.allowed)
		case told.key != want && !told.none:
			return told.key, fmt.Sprintf("found %v of a step that is told by its %s: want that alone", told.is, want)
		}
	}
	switch most := covers(j, "") * mostDone * units.Area(passes(j, &s)); {
	case x.Passes < 0 || x.Passes > 100 || x.Passes > 0 && s.Does != systems.Grind:
		return "passes", fmt.Sprintf("found %d: want 1 to 100, of grinding, or none", x.Passes)
	case x.Area > most:
		return "area", fmt.Sprintf("found %s done: want at most %s, what there is to do", shown(x.Area), shown(most))
	case x.Hands < 1 || x.Hands > 1000:
		return "hands", fmt.Sprintf("found %d hands: want 1 to 1000", x.Hands)
	case !(x.Setup >= 0 && x.Time > x.Setup && x.Time <= 400*24*time.Hour):
		return "time", fmt.Sprintf("found %s, %s of it setup: want more time than setup, at most 400 days", units.DurationText(x.Time), units.DurationText(x.Setup))
	}
	return "", ""
}

// check refuses readings that are none.
func (r *Readings) check(j *systems.Job) error {
	var errs []error
	bad := func(format string, args ...any) { errs = append(errs, fmt.Errorf("learn: "+format, args...)) }
	step := func(id string, does func(string) bool, what string) bool {
		s, ok := j.Recipe.Steps[id]
		if !ok || j.Skips(id) || !does(s.Does) {
			bad("found readings of step %q: want %s of the recipe", id, what)
			return false
		}
		return true
	}
	coat := func(d string) bool { return d == systems.Coat }
	for i, u := range r.Used {
		if step(u.Step, coat, "a coat") {
			if key, problem := u.fault(j); problem != "" {
				bad("%s: %s: %s", called(u.Step, u.Name, i), key, problem)
			}
		}
	}
	for _, f := range r.Wet {
		step(f.Step, coat, "a coat")
		if len(f.Readings) == 0 {
			bad("%s: found no wet films", f.Step)
		}
		for i, x := range f.Readings {
			if !positive(x) || x > 1 {
				bad("%s wet film %d: found %s: want above 0 to 1 m", f.Step, i+1, shown(x))
			}
		}
	}
	for i, g := range r.Grain {
		step(g.Step, func(d string) bool { return d == systems.Broadcast }, "a broadcast")
		if !positive(g.Thrown) || !(g.Vacuumed >= 0 && g.Vacuumed <= g.Thrown) {
			bad("%s: found %s thrown and %s vacuumed back: want no more back than was thrown", called(g.Step, g.Name, i), shown(g.Thrown), shown(g.Vacuumed))
		}
	}
	for i, x := range r.Work {
		if step(x.Step, func(d string) bool { return d != systems.Condition }, "a step with work") {
			if key, problem := x.fault(j); problem != "" {
				if key != "" {
					key += ": "
				}
				bad("%s: %s%s", called(x.Step, x.Name, i), key, problem)
			}
		}
	}
	for _, l := range r.loggers() {
		if n := len(l.Trace); j.Now > 0 && n > 0 && l.Trace[n-1].At > j.Now {
			bad("%s: found a reading at %s: want none after now, %s", l.Name, units.DurationText(l.Trace[n-1].At), units.DurationText(j.Now))
		}
	}
	if m := r.Room; m != nil && j.Now > 0 && len(m.RH) > 0 && m.RH[len(m.RH)-1].At > j.Now {
		bad("rh: found a reading at %s: want none after now, %s", units.DurationText(m.RH[len(m.RH)-1].At), units.DurationText(j.Now))
	}
	return errors.Join(errs...)
}

// loggers are all that read temperatures.
func (r *Readings) loggers() (all []Logger) {
	if s := r.Slab; s != nil {
		all = slices.Concat(s.Air, s.Surface, s.Ground)
	}
	if m := r.Room; m != nil {
		all = slices.Concat(all, m.Air, m.Surface)
	}
	return all
}
