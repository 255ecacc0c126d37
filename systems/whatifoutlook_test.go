package systems_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// keeps reports whether a material that goes down from a time on, for as long as
// work, stays inside its limits and the margin until it is tack-free: every five
// minutes looked at, by the table's integral, over temperature or over it and
// humidity in steps of a minute. Limits give way by 0.06 K and 0.3 %, so that
// rounding of the ends does not count.
func keeps(t *testing.T, w *systems.Weather, m *systems.Material, from, work time.Duration, slack float64) bool {
	t.Helper()
	slab, air, rh := w.Slab.At, w.Air.At, w.RH.At
	var free time.Duration
	if h := m.Times[systems.TackFree].Humid; h != nil {
		law := h.NotBefore()
		done := 0.0
		for free = from + work; done < 1; free += time.Minute {
			over, err := climate.Air{Temp: units.Kelvin(air(free)), RH: units.Fraction(rh(free))}.SurfaceRH(units.Kelvin(slab(free)))
			if err != nil {
				t.Fatal(err)
			}
			at, err := law.Time(units.Kelvin(slab(free)), min(over, 1))
			if err == nil && at > 0 {
				done += float64(time.Minute) / float64(at)
			}
			if free > w.Last()+60*24*time.Hour {
				return false
			}
		}
	} else {
		var err error
		if free, err = cure.Reach(m.Times[systems.TackFree].Table.NotBefore(), w.SlabTrace(), from+work); err != nil {
			return false
		}
	}
	for at := from; ; at = min(at+5*time.Minute, free) {
		slab, air, rh := slab(at), air(at), rh(at)
		dew, err := climate.DewPoint(units.Kelvin(air), units.Fraction(rh))
		if err != nil {
			t.Fatal(err)
		}
		k, f := 0.06*slack, 0.003*slack
		if slab < m.Surface.Low.Kelvin()-k || slab > m.Surface.High.Kelvin()+k || air < m.Air.Low.Kelvin()-k || air > m.Air.High.Kelvin()+k || slab-dew.Kelvin() < 3-k {
			return false
		}
		if m.Humidity.HighText != "" && rh > float64(m.Humidity.High)+f || m.Humidity.LowText != "" && rh < float64(m.Humidity.Low)-f {
			return false
		}
		if at == free {
			return true
		}
	}
}

// leftBy is the weather of a job's space as the steps before one leave it, from a
// forecast of its own: coats that were laid, of which those are covered that a
// step before it covers, and the slab's moisture, open but for what closed it; at
// the floor's plan, what the slab gives by the reading. whole: with that step too.
func leftBy(t *testing.T, j *systems.Job, o *systems.Outcome, step string, whole bool) *systems.Weather {
	t.Helper()
	w := j.Weather
	if j.Site == nil {
		return &w
	}
	order := []string{}
	for _, x := range o.Schedule {
		if !slices.Contains(order, x.Step) {
			order = append(order, x.Step)
		}
	}
	until := slices.Index(order, step)
	if whole {
		until = len(order)
	}
	covers := func(at *time.Time) (time.Duration, bool) { // when, and whether the step that does is one of these
		if at == nil {
			return 0, false
		}
		for _, x := range o.Schedule {
			if x.Does == systems.Coat && !at.Before(x.Start) && !at.After(x.End) {
				return at.Sub(o.Start), slices.Index(order, x.Step) < until
			}
		}
		return 0, false
	}
	room := j.Site.Room
	for _, e := range o.Heat.Water.Each {
		if slices.Index(order, e.Step) >= until {
			continue
		}
		c := climate.WetCoat{At: e.Laid.Sub(o.Start), Area: room.Floor}
		radiation, err := climate.Radiation(units.Celsius(15), 0.9)
		if err != nil {
			t.Fatal(err)
		}
		c.Drying = climate.Drying{Water: e.Holds.PerArea(room.Floor), Convection: room.Slab.Film - radiation}
		if at, ok := covers(e.Covered); ok {
			c.Covered = at
		}
		room.Coats = append(room.Coats, c)
	}
	if e := j.Slab.Emission; e != nil {
		to := j.Site.Span
		if at, ok := covers(o.Heat.Water.Closed); ok {
			to = at
		}
		room.Emissions = []climate.Emission{{To: to, Area: room.Floor, Flux: *e}}
	}
	f, err := room.Forecast(j.Site.Outdoors, j.Site.Span, 5*time.Minute)
	if err != nil {
		t.Fatal(err)
	}
	w = systems.Weather{}
	for _, x := range f.States {
		w.Slab = append(w.Slab, systems.Reading{At: x.At, V: x.Surface.Kelvin()})
		w.Air = append(w.Air, systems.Reading{At: x.At, V: x.Air.Kelvin()})
		w.RH = append(w.RH, systems.Reading{At: x.At, V: min(float64(x.RH), 1)})
	}
	return &w
}

// Which chemistries would go down, and until when, by trying: starts between
// From and Until keep the limits, starts soon after Until do not, and none in a
// shift before From does. They are looked for in the space as the steps before
// leave it; the plan's own start with all that it lays, as its findings are. Brute
// force over the weather, no source needed.
func TestChemistriesByTrying(t *testing.T) {
	c := builtin(t)
	ends, waits := 0, 0
	for name, text := range map[string]string{"demo": string(systems.DemoJob()), "colder": strings.Replace(string(systems.DemoJob()), `"0h" = "64 °F"`, `"0h" = "57 °F"`, 1), "night": read(t, "stories/night-stop.toml"), "unvented": read(t, "stories/unvented-heat.toml"), "typed": read(t, "typed.toml")} {
		j := job(t, text)
		o := planOf(t, text)
		for _, f := range ask(t, j).AsPlanned.Coats {
			var work time.Duration
			for _, w := range o.Schedule {
				if w.Step == f.Step && w.Section == f.Section {
					work = w.End.Sub(w.Start)
				}
			}
			before, whole := leftBy(t, &j, o, f.Step, false), leftBy(t, &j, o, f.Step, true)
			for i, x := range f.Chemistries {
				m, err := c.Material(x.Material)
				if err != nil {
					t.Fatal(err)
				}
				start := f.Start.Sub(j.Start)
				w := before
				if i == 0 {
					goes := x.Goes && x.From.Equal(f.Start)
					slack := -1.0
					if goes {
						slack = 1
					}
					if goes != f.Inside || goes != keeps(t, whole, &m, start, work, slack) {
						t.Errorf("%s %s: %s goes at its start: %v, inside its limits: %v; by trying it is not so (%s)", name, f.Step, x.Name, goes, f.Inside, x.Why)
					}
					if strings.HasSuffix(x.Why, "by its own water") {
						continue
					}
				}
				if !x.Goes {
					if keeps(t, w, &m, start, work, -1) {
						t.Errorf("%s %s: %s would go down at %v, and is said not to (%s)", name, f.Step, x.Name, f.Start, x.Why)
					}
					continue
				}
				from := x.From.Sub(j.Start)
				until := j.Weather.Last() - 30*time.Hour
				if x.Until != nil {
					until = x.Until.Sub(j.Start)
				}
				for at := from; at <= until; at += 97 * time.Minute {
					if !keeps(t, w, &m, at, work, 1) {
						t.Errorf("%s %s: %s from %v until %v, and not from %v", name, f.Step, x.Name, x.From, x.Until, at)
					}
				}
				if x.Until != nil {
					ends++
					if late := until + 40*time.Minute; keeps(t, w, &m, late, work, -1) {
						t.Errorf("%s %s: %s goes down after %v too", name, f.Step, x.Name, x.Until)
					}
				}
				if from > start+time.Hour {
					waits++
					if keeps(t, w, &m, start, work, -1) {
						t.Errorf("%s %s: %s goes down from %v on, not only from %v", name, f.Step, x.Name, f.Start, x.From)
					}
				}
			}
		}
	}
	if ends < 3 || waits < 2 {
		t.Errorf("only %d that end and %d that wait", ends, waits)
	}
}
