package systems_test

import (
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
// minutes looked at, by the table's integral. Limits give way by 0.06 K and
// 0.3 %, so that rounding of the ends does not count.
func keeps(t *testing.T, j *systems.Job, m *systems.Material, from, work time.Duration, slack float64) bool {
	t.Helper()
	free, err := cure.Reach(m.Times[systems.TackFree].Table.NotBefore(), j.Weather.SlabTrace(), from+work)
	if err != nil {
		return false
	}
	for at := from; ; at = min(at+5*time.Minute, free) {
		slab, air, rh := j.Weather.Slab.At(at), j.Weather.Air.At(at), j.Weather.RH.At(at)
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

// Which chemistries would go down, and until when, by trying: starts between
// From and Until keep the limits, starts soon after Until do not, and none in a
// shift before From does. Brute force over the weather, no source needed.
func TestChemistriesByTrying(t *testing.T) {
	c := builtin(t)
	ends, waits := 0, 0
	for name, text := range map[string]string{"demo": string(systems.DemoJob()), "colder": strings.Replace(string(systems.DemoJob()), `"0h" = "64 °F"`, `"0h" = "57 °F"`, 1), "night": read(t, "stories/night-stop.toml"), "unvented": read(t, "stories/unvented-heat.toml"), "typed": read(t, "typed.toml")} {
		j := job(t, text)
		for _, f := range ask(t, j).AsPlanned.Coats {
			var work time.Duration
			for _, w := range planOf(t, text).Schedule {
				if w.Step == f.Step && w.Section == f.Section {
					work = w.End.Sub(w.Start)
				}
			}
			for _, x := range f.Chemistries {
				m, err := c.Material(x.Material)
				if err != nil {
					t.Fatal(err)
				}
				start := f.Start.Sub(j.Start)
				if !x.Goes {
					if keeps(t, &j, &m, start, work, -1) {
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
					if !keeps(t, &j, &m, at, work, 1) {
						t.Errorf("%s %s: %s from %v until %v, and not from %v", name, f.Step, x.Name, x.From, x.Until, at)
					}
				}
				if x.Until != nil {
					ends++
					if late := until + 40*time.Minute; keeps(t, &j, &m, late, work, -1) {
						t.Errorf("%s %s: %s goes down after %v too", name, f.Step, x.Name, x.Until)
					}
				}
				if from > start+time.Hour {
					waits++
					if keeps(t, &j, &m, start, work, -1) {
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
