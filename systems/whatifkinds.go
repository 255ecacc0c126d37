package systems

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// A Disturbance is one thing that goes otherwise than the job has it: one of
// [HeatStops], [NoRefill], [SmallerTank], [DoorOpen], [WeatherOff],
// [HandsShort], [StepLate], [OtherMaterial], [MoreUptake]. All times are since
// the job's start.
type Disturbance interface {
	// faults says what is wrong with it for a job, by field.
	faults(j *Job) []fault
	// apply changes the job.
	apply(s *scene) error
	// words says it in plain words.
	words(j *Job, sys units.System) string
}

// A fault is what is wrong with a field of a disturbance.
type fault struct{ field, problem string }

// HeatStops turns all heat off at a time, for good or for a while.
type HeatStops struct {
	At  time.Duration // 0 to the end of the job's forecast
	For time.Duration // zero: for good
}

// NoRefill leaves a tank's refill out: the one of that time, or all of them.
type NoRefill struct {
	Heater string         // may be "" where only one heater is refilled
	At     *time.Duration // of the refill; nil: all
}

// SmallerTank begins with less fuel in the tank.
type SmallerTank struct {
	Heater string // may be "" where only one heater has a tank
	Tank   units.Mass
}

// DoorOpen adds air changes for a while.
type DoorOpen struct {
	From, For  time.Duration
	AirChanges units.Rate // 0 to 500 1/h
}

// WeatherOff shifts the weather outdoors throughout; where the job has no
// [room], the temperatures of slab and air and the humidity that it gives. What
// would be above 100 % is saturated then, what would be below 1 % is 1 %. With
// the relative humidity as it was, colder air holds less water.
type WeatherOff struct {
	Temp units.TempDelta // -30 K to 30 K; above 0 is warmer
	RH   units.Fraction  // -100 % to 100 % of humidity added
}

// HandsShort takes hands off the crew for work that begins at or after a time.
type HandsShort struct {
	Hands int // 1 to fewer than the crew has
	From  time.Duration
}

// StepLate delays a step: by a time, or until one. As planned the steps that
// wait for it keep their starts all the same.
type StepLate struct {
	Step  string
	By    time.Duration // above 0, or 0 where Until is given
	Until time.Duration
}

// OtherMaterial takes another material for a step: an option of the recipe, with
// its film, or a material of the catalog of the same kind.
type OtherMaterial struct {
	Step, Option, Material string // Option or Material
}

// MoreUptake multiplies what the concrete drinks, on every area with an uptake.
type MoreUptake struct {
	Times float64 // above 0 to 20; below 1 is less
}

// A scene is a job being changed by disturbances.
type scene struct {
	j       Job
	base    *planner
	site    []func(*Site)
	moments []time.Duration          // at which something jumps in the space
	late    map[string]time.Duration // by step, from its planned start on its first section
	notes   []string
}

func hours(d time.Duration) string { return units.Span(d).String() }

// inside says what is wrong with a time that must be within the forecast.
func (j *Job) inside(field string, t time.Duration) []fault {
	if t >= 0 && t <= j.Site.Span {
		return nil
	}
	return []fault{{field, fmt.Sprintf("found %s: want 0h to %s, the end of the weather outdoors", hours(t), hours(j.Site.Span))}}
}

// heated says that a job has no heat to disturb.
func (j *Job) heated(field string, heater bool) []fault {
	if j.Site == nil {
		return []fault{{field, "found one for a job without a space: want [room] with its heat and [outdoors]"}}
	}
	if heater && len(j.Site.Heaters) == 0 {
		return []fault{{field, "found one for a space without heaters: want [room.heaters]"}}
	}
	return nil
}

func (d HeatStops) faults(j *Job) []fault {
	if f := j.heated("At", true); f != nil {
		return f
	}
	f := j.inside("At", d.At)
	if d.For < 0 || d.For > farthest {
		f = append(f, fault{"For", fmt.Sprintf("found %s: want above 0h, or none for good", hours(d.For))})
	}
	return f
}

func (d HeatStops) apply(s *scene) error {
	s.moments = append(s.moments, d.At)
	if d.For > 0 {
		s.moments = append(s.moments, d.At+d.For)
		s.site = append(s.site, func(x *Site) { x.Room = x.Room.HeatPauses(d.At, d.At+d.For) })
		return nil
	}
	s.site = append(s.site, func(x *Site) { x.Room = x.Room.HeatStops(d.At) })
	return nil
}

func (d HeatStops) words(j *Job, _ units.System) string {
	if d.For > 0 {
		return fmt.Sprintf("the heat stops %s for %s", j.when(d.At), hours(d.For))
	}
	return "the heat stops " + j.when(d.At) + " for good"
}

// heaterOf returns the place of a heater that has what fits.
func (j *Job) heaterOf(name, lacks string, fits func(climate.Heater) bool) (int, []fault) {
	var all []string
	at := -1
	for i, h := range j.Site.Room.Heaters {
		if fits(h) {
			all = append(all, j.Site.Heaters[i].Name)
			if name == "" || name == j.Site.Heaters[i].Name {
				at = i
			}
		}
	}
	switch {
	case len(all) == 0:
		return 0, []fault{{"Heater", lacks}}
	case at < 0:
		return 0, []fault{{"Heater", fmt.Sprintf("found %q: want %s", name, strings.Join(all, " or "))}}
	case name == "" && len(all) > 1:
		return 0, []fault{{"Heater", "found none: want one of " + strings.Join(all, ", ")}}
	}
	return at, nil
}

func (d NoRefill) heater(j *Job) (int, []fault) {
	if f := j.heated("At", true); f != nil {
		return 0, f
	}
	return j.heaterOf(d.Heater, "found no heater that is refilled: want one with refills", func(h climate.Heater) bool { return len(h.Refills) > 0 })
}

func (d NoRefill) faults(j *Job) []fault {
	i, f := d.heater(j)
	if f != nil || d.At == nil {
		return f
	}
	var times []string
	for _, r := range j.Site.Room.Heaters[i].Refills {
		if r.At == *d.At {
			return nil
		}
		times = append(times, hours(r.At))
	}
	return []fault{{"At", fmt.Sprintf("found %s, when nothing is refilled: want %s", hours(*d.At), strings.Join(times, ", "))}}
}

func (d NoRefill) apply(s *scene) error {
	i, _ := d.heater(&s.j)
	s.site = append(s.site, func(x *Site) {
		h := &x.Room.Heaters[i]
		h.Refills = slices.Clone(h.Refills)
		for k := range h.Refills { // it comes too late: a heater without any is one whose fuel has no end
			if r := &h.Refills[k]; d.At == nil || r.At == *d.At {
				r.At = max(r.At, 70*365*day)
			}
		}
		slices.SortStableFunc(h.Refills, func(a, b climate.Refill) int { return int(min(max(a.At-b.At, -1), 1)) })
	})
	return nil
}

func (d NoRefill) words(j *Job, _ units.System) string {
	i, _ := d.heater(j)
	name := j.Site.Heaters[i].Name
	if d.At == nil {
		return "the tank of " + name + " is never refilled"
	}
	return fmt.Sprintf("the tank of %s is not refilled %s", name, j.when(*d.At))
}

func (d SmallerTank) heater(j *Job) (int, []fault) {
	if f := j.heated("Tank", true); f != nil {
		return 0, f
	}
	return j.heaterOf(d.Heater, "found no heater with a tank: want one", func(h climate.Heater) bool { return h.Tank > 0 })
}

func (d SmallerTank) faults(j *Job) []fault {
	i, f := d.heater(j)
	if f == nil && !(d.Tank >= 0 && d.Tank < j.Site.Room.Heaters[i].Tank) {
		f = []fault{{"Tank", fmt.Sprintf("found %v: want 0 kg to less than the %v in it", d.Tank, j.Site.Room.Heaters[i].Tank)}}
	}
	return f
}

func (d SmallerTank) apply(s *scene) error {
	i, _ := d.heater(&s.j)
	s.site = append(s.site, func(x *Site) {
		if x.Room.Heaters[i].Tank = d.Tank; d.Tank == 0 {
			x.Room.Heaters[i].Tank = 1e-9 // nothing, not a tank without end
		}
	})
	return nil
}

func (d SmallerTank) words(j *Job, sys units.System) string {
	i, _ := d.heater(j)
	return fmt.Sprintf("the tank of %s holds %s at the start, not %s", j.Site.Heaters[i].Name, units.Format(d.Tank, sys), units.Format(j.Site.Room.Heaters[i].Tank, sys))
}

func (d DoorOpen) faults(j *Job) []fault {
	if f := j.heated("From", false); f != nil {
		return f
	}
	f := j.inside("From", d.From)
	if d.For <= 0 || d.For > farthest {
		f = append(f, fault{"For", fmt.Sprintf("found %s: want above 0h", hours(d.For))})
	}
	if !(d.AirChanges >= 0 && d.AirChanges <= 500./3600) {
		f = append(f, fault{"AirChanges", fmt.Sprintf("found %v: want 0 1/h to 500 1/h", d.AirChanges)})
	}
	return f
}

func (d DoorOpen) apply(s *scene) error {
	s.moments = append(s.moments, d.From, d.From+d.For)
	s.site = append(s.site, func(x *Site) {
		x.Room.Openings = append(slices.Clone(x.Room.Openings), climate.Opening{From: d.From, To: d.From + d.For, AirChanges: d.AirChanges})
	})
	return nil
}

func (d DoorOpen) words(j *Job, sys units.System) string {
	return fmt.Sprintf("a door stands open %s for %s, with %s more", j.when(d.From), hours(d.For), units.Format(d.AirChanges, sys))
}

func (d WeatherOff) faults(j *Job) []fault {
	var f []fault
	if !(math.Abs(float64(d.Temp)) <= 30) {
		f = append(f, fault{"Temp", fmt.Sprintf("found %v: want -30 K to 30 K", d.Temp)})
	}
	if !(math.Abs(float64(d.RH)) <= 1) {
		f = append(f, fault{"RH", fmt.Sprintf("found %v: want -100 %% to 100 %%", d.RH)})
	}
	if f == nil && d == (WeatherOff{}) {
		f = append(f, fault{"Temp", "found no shift: want one of the temperature or the humidity"})
	}
	if f != nil {
		return f
	}
	bad := func(k float64) {
		if k += float64(d.Temp); f == nil && !(k >= 233.15-1e-9 && k <= 333.15+1e-9) {
			f = []fault{{"Temp", fmt.Sprintf("found %v, with which the weather is at %.1f °C: want -40 °C to 60 °C", d.Temp, k-273.15)}}
		}
	}
	if j.Site != nil {
		for _, r := range j.Site.Outdoors {
			bad(r.Temp.Kelvin())
		}
		return f
	}
	for _, s := range []Series{j.Weather.Slab, j.Weather.Air} {
		for _, r := range s {
			bad(r.V)
		}
	}
	return f
}

func (d WeatherOff) apply(s *scene) error {
	damp := func(rh float64) float64 { return min(max(rh+float64(d.RH), 0.01), 1) }
	if s.j.Site != nil {
		s.site = append(s.site, func(x *Site) {
			x.Outdoors = slices.Clone(x.Outdoors)
			for i := range x.Outdoors {
				r := &x.Outdoors[i]
				r.Temp, r.RH = r.Temp.Add(d.Temp), units.Fraction(damp(float64(r.RH)))
			}
		})
		return nil
	}
	shift := func(x Series, to func(float64) float64) Series {
		x = slices.Clone(x)
		for i := range x {
			x[i].V = to(x[i].V)
		}
		return x
	}
	warm := func(k float64) float64 { return k + float64(d.Temp) }
	for _, w := range []*Weather{&s.j.Weather, &s.j.given} {
		*w = Weather{Slab: shift(w.Slab, warm), Air: shift(w.Air, warm), RH: shift(w.RH, damp)}
	}
	return nil
}

func (d WeatherOff) words(j *Job, sys units.System) string {
	var said []string
	add := func(v float64, q units.Quantity, more, less string) {
		if v > 0 {
			said = append(said, units.Format(q, sys)+" "+more)
		} else if v < 0 {
			said = append(said, units.Format(q, sys)+" "+less)
		}
	}
	add(float64(d.Temp), units.TempDelta(math.Abs(float64(d.Temp))), "warmer", "colder")
	add(float64(d.RH), units.Fraction(math.Abs(float64(d.RH))), "of relative humidity damper", "of relative humidity drier")
	where := "the weather outdoors is "
	if j.Site == nil {
		where = "slab and air are "
	}
	return where + strings.Join(said, " and ") + " than given"
}

func (d HandsShort) faults(j *Job) []fault {
	var f []fault
	if d.Hands < 1 || d.Hands >= j.Crew.Hands {
		f = append(f, fault{"Hands", fmt.Sprintf("found %d: want 1 to %d, fewer than the crew has", d.Hands, j.Crew.Hands-1)})
		if j.Crew.Hands < 2 {
			f[0].problem = fmt.Sprintf("found %d for a crew of one: want a crew of two or more", d.Hands)
		}
	}
	if d.From < 0 || d.From > farthest {
		f = append(f, fault{"From", fmt.Sprintf("found %s: want a time from the start on, within 400 days", hours(d.From))})
	}
	return f
}

func (d HandsShort) apply(s *scene) error {
	if end := s.base.o.End.Sub(s.j.Start); d.From >= end {
		s.notes = append(s.notes, "Hands are missing only after the last work of the plan.")
		return nil
	}
	s.j.lack = append(slices.Clone(s.j.lack), lack{d.From, d.Hands})
	short := 0
	for _, l := range s.j.lack {
		short += l.hands
	}
	if short >= s.j.Crew.Hands {
		return fmt.Errorf("%w: systems.WhatIf: %d hands missing together: want fewer than the crew's %d", units.ErrRange, short, s.j.Crew.Hands)
	}
	return nil
}

func (d HandsShort) words(j *Job, _ units.System) string {
	hands := "one hand"
	if d.Hands > 1 {
		hands = fmt.Sprintf("%d hands", d.Hands)
	}
	if d.From == 0 {
		return "the crew is " + hands + " short throughout"
	}
	return fmt.Sprintf("the crew is %s short from %s on", hands, j.when(d.From))
}

// known says what is wrong with a step that a job must plan.
func (j *Job) known(id string) []fault {
	if s, ok := j.Recipe.Steps[id]; !ok {
		return []fault{{"Step", fmt.Sprintf("found step %q, which the recipe does not have: want one of %s", id, strings.Join(j.Recipe.order, ", "))}}
	} else if j.skip[id] {
		return []fault{{"Step", fmt.Sprintf("found %s, which the job skips: want a step with work", id)}}
	} else if s.Does == Broadcast {
		return []fault{{"Step", fmt.Sprintf("found %s, a broadcast, which goes with its coat: want %s", id, s.Into)}}
	} else if s.Does == Condition {
		return []fault{{"Step", fmt.Sprintf("found %s, which waits for the slab and is no work: want a step of the crew's", id)}}
	}
	return nil
}

func (d StepLate) faults(j *Job) []fault {
	if f := j.known(d.Step); f != nil {
		return f
	}
	switch {
	case (d.By == 0) == (d.Until == 0):
		return []fault{{"By", "found both a delay and a time, or neither: want one of them, above 0h"}}
	case d.By < 0 || d.By > farthest:
		return []fault{{"By", fmt.Sprintf("found %s: want above 0h, within 400 days", hours(d.By))}}
	case d.Until < 0 || d.Until > farthest:
		return []fault{{"Until", fmt.Sprintf("found %s: want a time after the start, within 400 days", hours(d.Until))}}
	}
	return nil
}

func (d StepLate) apply(s *scene) error {
	first := forever
	for at, x := range s.base.done {
		if at.step == d.Step {
			first = min(first, x.start)
		}
	}
	if first == forever {
		return fmt.Errorf("%w: systems.WhatIf: step %s cannot be late: it is not in the plan", units.ErrRange, d.Step)
	}
	by := d.By
	if d.Until > 0 {
		if by = d.Until - first; by <= 0 {
			s.notes = append(s.notes, fmt.Sprintf("%s begins %s in the plan, which is not before then.", s.base.title(d.Step), s.j.when(first)))
			return nil
		}
	}
	s.late[d.Step] = max(s.late[d.Step], by)
	s.j.held = maps.Clone(s.j.held)
	s.j.held[d.Step] = max(s.j.held[d.Step], first+by)
	return nil
}

func (d StepLate) words(j *Job, _ units.System) string {
	if d.Until > 0 {
		return fmt.Sprintf("%s begins not before %s", d.Step, j.when(d.Until))
	}
	return fmt.Sprintf("%s begins %s late", d.Step, hours(d.By))
}

func (d OtherMaterial) faults(j *Job) []fault {
	s, ok := j.Recipe.Steps[d.Step]
	switch {
	case !ok || j.skip[d.Step]:
		return j.known(d.Step)
	case s.Material == "":
		return []fault{{"Step", fmt.Sprintf("found %s, which takes no material: want a step that does", d.Step)}}
	case (d.Option == "") == (d.Material == ""):
		return []fault{{"Option", "found an option and a material, or neither: want one of them"}}
	}
	if d.Option != "" {
		if _, ok := s.Options[d.Option]; !ok {
			want := "a material, for the recipe offers none for this step"
			if len(s.Options) > 0 {
				want = strings.Join(slices.Sorted(maps.Keys(s.Options)), " or ")
			}
			return []fault{{"Option", fmt.Sprintf("found %q: want %s", d.Option, want)}}
		}
		return nil
	}
	m, err := j.catalog.Material(d.Material)
	if err != nil {
		return []fault{{"Material", oneLine(err).Error()}}
	}
	if was := j.materials[s.Material]; was.Kind != m.Kind {
		return []fault{{"Material", fmt.Sprintf("found %q, which is %s: want %s", d.Material, m.Kind, was.Kind)}}
	}
	return nil
}

func (d OtherMaterial) apply(s *scene) error {
	s.j.Recipe.Steps = maps.Clone(s.j.Recipe.Steps)
	x := s.j.Recipe.Steps[d.Step]
	if d.Option != "" {
		o := x.Options[d.Option]
		if x.Material = o.Material; o.Film.Given() {
			x.Film = o.Film
		}
		s.j.Recipe.Steps[d.Step] = x
		return nil
	}
	x.Material = d.Material
	s.j.Recipe.Steps[d.Step] = x
	if _, ok := s.j.materials[d.Material]; !ok {
		m, err := s.j.catalog.Material(d.Material)
		if err != nil {
			return err
		}
		s.j.materials = maps.Clone(s.j.materials)
		s.j.materials[d.Material] = m
	}
	return nil
}

func (d OtherMaterial) words(j *Job, _ units.System) string {
	name := d.Material
	if d.Option != "" {
		name = j.Recipe.Steps[d.Step].Options[d.Option].Material
	}
	if m, ok := j.materials[name]; ok {
		name = m.Name
	} else if m, err := j.catalog.Material(name); err == nil {
		name = m.Name
	}
	return d.Step + " is " + name
}

func (d MoreUptake) faults(j *Job) []fault {
	if !(d.Times > 0 && d.Times <= 20) {
		return []fault{{"Times", fmt.Sprintf("found %g: want above 0 to 20", d.Times)}}
	}
	for _, a := range j.Areas {
		if a.Uptake > 0 {
			return nil
		}
	}
	return []fault{{"Times", "found one for areas that drink nothing: want an uptake, or porosity and penetration"}}
}

func (d MoreUptake) apply(s *scene) error {
	s.j.Areas = slices.Clone(s.j.Areas)
	for i := range s.j.Areas {
		a := &s.j.Areas[i]
		if a.Uptake *= units.Length(d.Times); a.Uptake > 0.005*(1+1e-9) {
			return fmt.Errorf("%w: systems.WhatIf: MoreUptake.Times = %g makes the uptake of %s %v: want at most 5 mm", units.ErrRange, d.Times, a.Name, a.Uptake)
		}
	}
	return nil
}

func (d MoreUptake) words(*Job, units.System) string {
	return fmt.Sprintf("the concrete drinks %g times as much as measured", d.Times)
}

// when says a time of the job.
func (j *Job) when(t time.Duration) string {
	return j.Start.Add(t.Round(time.Second)).Format("Mon 2 Jan 15:04")
}
