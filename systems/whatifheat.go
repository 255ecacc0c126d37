package systems

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

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
