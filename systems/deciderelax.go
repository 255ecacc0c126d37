package systems

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// A Relaxation is a change to the job or the goal that leaves a plan without a
// finding to stop for: of its kind the smallest of those tried, found by the
// same search over the job so changed. A kind whose largest change that can be
// had does not help is given up.
type Relaxation struct {
	Kind  string `json:"kind"` // "materials", "heat", "refill", "thermostat", "shift", "rest", "margin", "start", "horizon", "hands"
	By    string `json:"by"`   // how much: "2h", "0.6 K", "polyaspartic"
	Step  string `json:"step,omitempty"`
	Text  string `json:"text"`
	Score Score  `json:"score"` // of the best plan by the goal without a Stop that was found
	Job   Job    `json:"-"`     // so changed and decided: Plan makes that plan
}

// A relaxing is one kind of change, in growing size.
type relaxing struct {
	kind  string
	sizes int
	// with returns the job and the goal so changed, how much that is and in words;
	// false if it cannot be had.
	with func(size int) (Job, Goal, Relaxation, bool, error)
}

// relaxNodes is how many plans one search for a relaxation makes at most, for
// floors in several sections.
const relaxNodes = 150

// relax looks for what to relax, d being the decision that has Stops.
func (pr *problem) relax(d *Decision) ([]Relaxation, error) {
	var found []Relaxation
	best := pr.heats[0]
	for _, h := range pr.heats {
		if h.HeatChoice == d.Heat {
			best = h
		}
	}
	kinds := pr.moreMaterials()
	kinds = append(kinds, pr.moreHeat(best)...)
	kinds = append(kinds, pr.moreTime()...)
	for _, k := range kinds {
		try := func(size int) (r *Relaxation, had bool, err error) {
			if err := pr.ctx.Err(); err != nil {
				return nil, false, err
			}
			j, g, x, ok, err := k.with(size)
			if err != nil || !ok {
				return nil, false, err
			}
			x.Kind = k.kind
			ok, err = pr.without(&j, g, &x)
			if err != nil || !ok {
				return nil, true, err
			}
			return &x, true, nil
		}
		for size := k.sizes - 1; size >= 0; size-- { // the largest that can be had
			r, had, err := try(size)
			if err != nil {
				return nil, err
			}
			if !had {
				continue
			}
			for i := 0; i < size && r != nil; i++ { // it helps: a smaller one may
				less, _, err := try(i)
				if err != nil {
					return nil, err
				}
				if less != nil {
					r = less
					break
				}
			}
			if r != nil {
				found = append(found, *r)
			}
			break
		}
	}
	return found, nil
}

// without fills in the best plan without a Stop; false if none is found.
func (pr *problem) without(j *Job, g Goal, to *Relaxation) (bool, error) {
	if pr.sections > 1 && g.Nodes == 0 {
		g.Nodes = relaxNodes
	}
	x, err := newProblem(pr.ctx, j, g)
	if err != nil {
		return false, err
	}
	x.clear = true
	r, err := x.solve()
	if err != nil || r.best == nil || r.best.rank > 0 || r.best.stops > 0 {
		return false, err
	}
	w, err := x.weigh(r)
	if err != nil || w.best == nil || !w.best.clear() {
		return false, err
	}
	v := w.best.found
	to.Job = x.job(choice{combo: v.combo, heat: v.heat, start: v.start, holds: x.holds(v.chain)})
	to.Score, err = x.weighedScore(w.best)
	return true, err
}

// moreMaterials allows what the goal does not: one for one coat, then all for all.
func (pr *problem) moreMaterials() (kinds []relaxing) {
	for _, coat := range pr.coats {
		allowed := pr.g.Materials[coat.id]
		if allowed == nil {
			continue
		}
		s := pr.j.Recipe.Steps[coat.id]
		for _, name := range append([]string{OwnMaterial}, slices.Sorted(maps.Keys(s.Options))...) {
			if slices.Contains(allowed, name) {
				continue
			}
			m := s.Material
			if name != OwnMaterial {
				m = s.Options[name].Material
			}
			kinds = append(kinds, relaxing{"materials", 1, func(int) (Job, Goal, Relaxation, bool, error) {
				g := pr.g
				g.Materials = maps.Clone(g.Materials)
				g.Materials[coat.id] = append(slices.Clone(allowed), name)
				return *pr.j, g, Relaxation{By: name, Step: coat.id, Text: fmt.Sprintf("allow %s for %s", pr.j.materials[m].Name, coat.id)}, true, nil
			}})
		}
	}
	if len(kinds) > 1 {
		kinds = append(kinds, relaxing{"materials", 1, func(int) (Job, Goal, Relaxation, bool, error) {
			g := pr.g
			g.Materials = nil
			return *pr.j, g, Relaxation{By: "all", Text: "allow every material that the recipe offers"}, true, nil
		}})
	}
	return kinds
}

var relaxHours = []int{1, 2, 3, 4, 6, 8, 12, 18, 24, 36, 48, 72}

// moreHeat gives the heat of the decision more: fuel where a tank runs dry, an
// earlier refill, a warmer thermostat.
func (pr *problem) moreHeat(h *heatWay) (kinds []relaxing) {
	site := h.job.Site
	if site == nil {
		return nil
	}
	g := pr.g
	g.Thermostats, g.Refills, g.Heaters = nil, nil, nil // the decision's own
	change := func(with func(*Site)) (Job, bool, error) {
		j, err := h.job.elsewhere(with)
		if errors.Is(err, units.ErrRange) { // more than the room's model takes
			return j, false, nil
		}
		return j, err == nil, err
	}
	for i, x := range site.Heaters {
		empty := time.Duration(-1)
		for _, e := range site.Forecast.Events {
			if e.What == climate.TankEmpty && e.Heater == i && empty < 0 {
				empty = e.At
			}
		}
		if empty < 0 {
			continue
		}
		kinds = append(kinds, relaxing{"heat", len(relaxHours), func(size int) (Job, Goal, Relaxation, bool, error) {
			hours := time.Duration(relaxHours[size]) * time.Hour
			mass, err := h.lasting(i, empty, hours)
			if err != nil || !(mass > 0) {
				return Job{}, g, Relaxation{}, false, err
			}
			mass, at := units.Mass(math.Ceil(float64(mass)*10)/10), pr.before(empty)
			j, ok, err := change(func(s *Site) { s.refill(i, climate.Refill{At: at, Add: mass}) })
			return j, g, Relaxation{By: units.DurationText(hours), Text: fmt.Sprintf("%s more of heat: %s more of %s for %s by %s", hoursText(hours), units.Format(mass, units.SI), x.Fuel.Name, x.Name, pr.j.Start.Add(at).Format(stamp))}, ok, err
		}})
		next := slices.IndexFunc(site.Room.Heaters[i].Refills, func(r climate.Refill) bool { return r.At > empty })
		if next < 0 {
			continue
		}
		was := site.Room.Heaters[i].Refills[next]
		kinds = append(kinds, relaxing{"refill", len(relaxHours) + 1, func(size int) (Job, Goal, Relaxation, bool, error) {
			at := pr.before(empty) // at last as soon as it is needed
			if size < len(relaxHours) {
				if at = was.At - time.Duration(relaxHours[size])*time.Hour; at <= max(empty, pr.j.Now) {
					return Job{}, g, Relaxation{}, false, nil
				}
			}
			j, ok, err := change(func(s *Site) {
				all := slices.Clone(s.Room.Heaters[i].Refills)
				all = slices.Delete(all, next, next+1)
				s.Room.Heaters = slices.Clone(s.Room.Heaters)
				s.Room.Heaters[i].Refills = all
				s.refill(i, climate.Refill{At: at, Add: was.Add})
			})
			return j, g, Relaxation{By: units.DurationText((was.At - at).Round(time.Minute)), Text: fmt.Sprintf("the refill of %s by %s instead of %s", x.Name, pr.j.Start.Add(at).Format(stamp), pr.j.Start.Add(was.At).Format(stamp))}, ok, err
		}})
	}
	if len(site.Heaters) > 0 {
		kinds = append(kinds, relaxing{"thermostat", 8, func(size int) (Job, Goal, Relaxation, bool, error) {
			up := units.TempDelta(size + 1)
			j, ok, err := change(func(s *Site) {
				warmer := slices.Clone(s.Room.Thermostat)
				for k := range warmer {
					if t := &warmer[k].Temp; *t != (units.Temperature{}) {
						*t = t.Add(up)
					}
				}
				s.Room.Thermostat = settingsFrom(s.Room.Thermostat, warmer, pr.j.Now)
			})
			return j, g, Relaxation{By: up.String(), Text: fmt.Sprintf("the thermostat %v higher", up)}, ok, err
		}})
	}
	return kinds
}

// before returns the last whole hour before a moment, but not before now.
func (pr *problem) before(at time.Duration) time.Duration {
	if at = before(at); pr.j.Now > 0 {
		at = max(at, pr.j.Now+time.Minute)
	}
	return at
}

// before returns the last whole hour before a moment.
func before(at time.Duration) time.Duration { return (at - 1).Truncate(time.Hour) }

// refill adds a refill in its place.
func (s *Site) refill(i int, r climate.Refill) {
	s.Room.Heaters = slices.Clone(s.Room.Heaters)
	all := append(slices.Clone(s.Room.Heaters[i].Refills), r)
	slices.SortStableFunc(all, func(a, b climate.Refill) int { return cmp.Compare(a.At, b.At) })
	s.Room.Heaters[i].Refills = all
}

func hoursText(d time.Duration) string {
	if n := int(d / time.Hour); n != 1 {
		return fmt.Sprintf("%d hours", n)
	}
	return "1 hour"
}

// moreTime lengthens shifts, works on days of rest, eases the margin rule,
// begins earlier, goes on longer, and adds hands.
func (pr *problem) moreTime() (kinds []relaxing) {
	crew := pr.j.Crew
	kinds = append(kinds, relaxing{"shift", 12, func(size int) (Job, Goal, Relaxation, bool, error) {
		j, by := *pr.j, time.Duration(size+1)*30*time.Minute
		j.Crew.To += by
		text := fmt.Sprintf("a shift until %s", time.Time{}.Add(j.Crew.To).Format("15:04"))
		return j, pr.g, Relaxation{By: units.DurationText(by), Text: text}, j.Crew.To-j.Crew.From <= longestNight, nil
	}})
	for i, rest := range crew.Rest {
		kinds = append(kinds, relaxing{"rest", 1, func(int) (Job, Goal, Relaxation, bool, error) {
			j := *pr.j
			j.Crew.Rest = slices.Delete(slices.Clone(crew.Rest), i, i+1)
			return j, pr.g, Relaxation{By: rest.String(), Text: "a shift on " + rest.String()}, true, nil
		}})
	}
	var margin units.TempDelta
	if margin.UnmarshalText([]byte(pr.j.Margin.Value)) == nil {
		sizes := []units.TempDelta{0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1, 1.2, 1.5, 2, 2.5, 3}
		kinds = append(kinds, relaxing{"margin", len(sizes), func(size int) (Job, Goal, Relaxation, bool, error) {
			j, by := *pr.j, sizes[size]
			j.Margin.Value = (margin - by).String()
			return j, pr.g, Relaxation{By: by.String(), Text: fmt.Sprintf("the margin rule off by %v (%s instead of %s, which %s asks for)", by, units.Format(margin-by, units.SI), units.Format(margin, units.SI), j.Margin.Owner)}, by <= margin, nil
		}})
	}
	steps := []time.Duration{6 * time.Hour, 12 * time.Hour, day, 2 * day, 3 * day, 5 * day, 7 * day}
	if from := pr.g.Start.From; from > pr.j.Now {
		kinds = append(kinds, relaxing{"start", len(steps), func(size int) (Job, Goal, Relaxation, bool, error) {
			g := pr.g
			g.Start.From = max(0, from-steps[size])
			return *pr.j, g, Relaxation{By: units.DurationText(from - g.Start.From), Text: "the work may start " + pr.j.Start.Add(g.Start.From).Format(stamp)}, size == 0 || from > steps[size-1], nil
		}})
	} else if w := pr.j.Weather; pr.j.Site == nil && pr.j.Now == 0 {
		first := max(w.Slab[0].At, w.Air[0].At, w.RH[0].At)
		kinds = append(kinds, relaxing{"start", len(steps), func(size int) (Job, Goal, Relaxation, bool, error) {
			return pr.j.earlier(steps[size]), pr.g, Relaxation{By: units.DurationText(steps[size]), Text: "the job starts " + pr.j.Start.Add(-steps[size]).Format(stamp)}, first <= -steps[size], nil
		}})
	}
	kinds = append(kinds, relaxing{"horizon", len(steps), func(size int) (Job, Goal, Relaxation, bool, error) {
		g := pr.g
		g.Horizon += steps[size]
		return *pr.j, g, Relaxation{By: units.DurationText(steps[size]), Text: "coats may start until " + pr.j.Start.Add(g.Horizon).Format(stamp)}, g.Horizon <= longestHorizon, nil
	}}, relaxing{"hands", 3, func(size int) (Job, Goal, Relaxation, bool, error) {
		j := *pr.j
		j.Crew.Hands += size + 1
		return j, pr.g, Relaxation{By: fmt.Sprint(size + 1), Text: fmt.Sprintf("%d hands instead of %d", j.Crew.Hands, crew.Hands)}, j.Crew.Hands <= mostHands, nil
	}})
	return kinds
}

// earlier returns the job begun earlier under the same weather.
func (j *Job) earlier(by time.Duration) Job {
	out := *j
	out.Start = j.Start.Add(-by)
	move := func(s Series) Series {
		all := slices.Clone(s)
		for i := range all {
			all[i].At += by
		}
		return all
	}
	w := j.Weather
	out.Weather = Weather{Slab: move(w.Slab), Air: move(w.Air), RH: move(w.RH)}
	out.held = map[string]time.Duration{}
	for id, at := range j.held {
		out.held[id] = at + by
	}
	return out
}
