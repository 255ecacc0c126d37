package systems

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

func hours(d time.Duration) string { return units.Span(d).String() }

// inside says what is wrong with a time that must be within the forecast, and
// not before now.
func (j *Job) inside(field string, t time.Duration) []fault {
	if t >= j.Now && t <= j.Site.Span {
		return nil
	}
	if j.Now > 0 {
		return []fault{{field, fmt.Sprintf("found %s: want %s, which is now, to %s, the end of the weather outdoors", hours(t), hours(j.Now), hours(j.Site.Span))}}
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
		f = append(f, fault{"For", fmt.Sprintf("found %s: want above 0h to %s, or none for good", hours(d.For), hours(farthest))})
	}
	return f
}

func (d HeatStops) apply(s *scene) error {
	to := forever
	if d.For > 0 {
		to = d.At + d.For
	}
	s.pauses = append(s.pauses, times{d.At, to})
	return nil
}

// heat turns the heat off, once where several stops overlap, and opens the doors.
func (s *scene) heat() {
	slices.SortFunc(s.pauses, func(a, b times) int { return cmp.Or(cmp.Compare(a.from, b.from), cmp.Compare(a.to, b.to)) })
	for i := 0; i < len(s.pauses); {
		x := s.pauses[i]
		for i++; i < len(s.pauses) && s.pauses[i].from <= x.to; i++ {
			x.to = max(x.to, s.pauses[i].to)
		}
		s.moments = append(s.moments, x.from)
		if x.to == forever {
			s.site = append(s.site, func(y *Site) { y.Room = y.Room.HeatStops(x.from) })
			continue
		}
		s.moments = append(s.moments, x.to)
		s.site = append(s.site, func(y *Site) { y.Room = y.Room.HeatPauses(x.from, x.to) })
	}
	if len(s.doors) == 0 {
		return
	}
	slices.SortFunc(s.doors, func(a, b climate.Opening) int {
		return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To), cmp.Compare(a.AirChanges, b.AirChanges))
	})
	for _, d := range s.doors {
		s.moments = append(s.moments, d.From, d.To)
	}
	s.site = append(s.site, func(x *Site) { x.Room.Openings = append(slices.Clone(x.Room.Openings), s.doors...) })
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
	return j.heaterOf(d.Heater, "found no heater that is still to be refilled: want one with refills", func(h climate.Heater) bool {
		return slices.ContainsFunc(h.Refills, func(r climate.Refill) bool { return j.toCome(r.At) })
	})
}

func (d NoRefill) faults(j *Job) []fault {
	i, f := d.heater(j)
	if f != nil || d.At == nil {
		return f
	}
	var times []string
	for _, r := range j.Site.Room.Heaters[i].Refills {
		if !j.toCome(r.At) {
			continue
		}
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
			if r := &h.Refills[k]; s.base.j.toCome(r.At) && (d.At == nil || r.At == *d.At) {
				r.At = max(r.At, 70*365*day)
			}
		}
		slices.SortStableFunc(h.Refills, func(a, b climate.Refill) int { return cmp.Compare(a.At, b.At) })
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

// inTank returns what is in a tank at the start, or now.
func (j *Job) inTank(i int) units.Mass {
	s := j.Site
	switch {
	case j.Now == 0:
		return s.Room.Heaters[i].Tank
	case s.past != nil && s.past.left[i] != nil:
		return *s.past.left[i]
	}
	return s.Forecast.States[s.stateAt(j.Now)].Fuel[i]
}

func (d SmallerTank) faults(j *Job) []fault {
	i, f := d.heater(j)
	if f == nil && !(d.Tank >= 0 && d.Tank < j.inTank(i)) {
		f = []fault{{"Tank", fmt.Sprintf("found %v: want 0 kg to less than the %v in it", d.Tank, j.inTank(i))}}
	}
	return f
}

func (d SmallerTank) apply(s *scene) error {
	i, _ := d.heater(&s.j)
	s.site = append(s.site, func(x *Site) {
		if now := s.base.j.Now; now > 0 { // as if read
			past := sitePast{now: now}
			if x.past != nil {
				past = *x.past
			}
			past.left = maps.Clone(past.left)
			if past.left == nil {
				past.left = map[int]*units.Mass{}
			}
			past.left[i], x.past = &d.Tank, &past
			return
		}
		x.Room.Heaters[i].Tank = max(d.Tank, emptyTank)
	})
	return nil
}

func (d SmallerTank) words(j *Job, sys units.System) string {
	i, _ := d.heater(j)
	when := "at the start"
	if j.Now > 0 {
		when = "now"
	}
	return fmt.Sprintf("the tank of %s holds %s %s, not %s", j.Site.Heaters[i].Name, units.Format(d.Tank, sys), when, units.Format(j.inTank(i), sys))
}

func (d DoorOpen) faults(j *Job) []fault {
	if f := j.heated("From", false); f != nil {
		return f
	}
	f := j.inside("From", d.From)
	if d.For <= 0 || d.For > farthest {
		f = append(f, fault{"For", fmt.Sprintf("found %s: want above 0h to %s", hours(d.For), hours(farthest))})
	}
	if perHour := float64(d.AirChanges) * 3600; !(perHour > 0 && perHour <= 500*(1+1e-9)) {
		f = append(f, fault{"AirChanges", fmt.Sprintf("found %.6g 1/h: want above 0 1/h to 500 1/h", perHour)})
	}
	return f
}

func (d DoorOpen) apply(s *scene) error {
	s.doors = append(s.doors, climate.Opening{From: d.From, To: d.From + d.For, AirChanges: d.AirChanges})
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
	s.off.Temp, s.off.RH = s.off.Temp+d.Temp, s.off.RH+d.RH
	return nil
}

// weather shifts the weather by the sum of what it is off, from now on.
func (s *scene) weather() error {
	d, now := s.off, s.j.Now
	if d == (WeatherOff{}) {
		return nil
	}
	for _, f := range d.faults(&s.j) {
		return fmt.Errorf("%w: systems.WhatIf: WeatherOff.%s, added up: %s", units.ErrRange, f.field, f.problem)
	}
	const jump = time.Second // in which it goes over from the one to the other
	damp := func(rh float64) float64 { return min(max(rh+float64(d.RH), 0.01), 1) }
	if s.j.Site != nil {
		at, err := s.j.Site.Outdoors.At(now)
		if err != nil {
			return err
		}
		shifted := func(r climate.Reading) climate.Reading {
			r.Temp, r.RH = r.Temp.Add(d.Temp), units.Fraction(damp(float64(r.RH)))
			return r
		}
		if now > 0 {
			s.moments = append(s.moments, now)
		}
		s.site = append(s.site, func(x *Site) {
			is := climate.Reading{At: now, Temp: at.Temp, RH: at.RH}
			then := shifted(is)
			then.At += jump
			x.Outdoors = fromNow(x.Outdoors, is, then, func(r climate.Reading) time.Duration { return r.At }, shifted)
		})
		return nil
	}
	shift := func(x Series, to func(float64) float64) Series {
		if len(x) == 0 {
			return nil
		}
		is := Reading{now, x.At(now)}
		return fromNow(x, is, Reading{now + jump, to(is.V)}, func(r Reading) time.Duration { return r.At }, func(r Reading) Reading { return Reading{r.At, to(r.V)} })
	}
	warm := func(k float64) float64 { return k + float64(d.Temp) }
	for _, w := range []*Weather{&s.j.Weather, &s.j.given} {
		*w = Weather{Slab: shift(w.Slab, warm), Air: shift(w.Air, warm), RH: shift(w.RH, damp)}
	}
	return nil
}

// fromNow returns readings as they are before now, at which is was read, and as to has
// them after then, a moment later. From the start on all are as to has them.
func fromNow[R any](all []R, is, then R, at func(R) time.Duration, to func(R) R) (out []R) {
	if at(is) > 0 {
		for _, r := range all {
			if at(r) < at(is) {
				out = append(out, r)
			}
		}
		out = append(out, is, then)
	}
	for _, r := range all {
		if at(is) == 0 || at(r) > at(then) {
			out = append(out, to(r))
		}
	}
	return out
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
	if len(said) == 0 {
		return "the weather is as given"
	}
	where := "the weather outdoors is "
	if j.Site == nil {
		where = "slab and air are "
	}
	return where + strings.Join(said, " and ") + " than given"
}
