package systems

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// Heat that is chosen now holds from now on, and what was is kept; our own
// numbers, common practice, no source.
func TestHeatFromNow(t *testing.T) {
	at := func(h int, c float64) climate.Setting {
		return climate.Setting{At: time.Duration(h) * time.Hour, Temp: units.Celsius(c)}
	}
	was, later := []climate.Setting{at(0, 15), at(10, 18), at(30, 12)}, []climate.Setting{at(0, 20), at(4, 22), at(40, 16)}
	for now, want := range map[int][]climate.Setting{
		0:  later,
		8:  {at(0, 15), at(8, 22), at(40, 16)},
		10: {at(0, 15), at(10, 22), at(40, 16)},
		35: {at(0, 15), at(10, 18), at(30, 12), at(35, 22), at(40, 16)},
		50: {at(0, 15), at(10, 18), at(30, 12), at(50, 16)},
	} {
		got := settingsFrom(was, later, time.Duration(now)*time.Hour)
		if diff := cmp.Diff(want, got, cmp.AllowUnexported(units.Temperature{})); diff != "" {
			t.Errorf("now %d h: %s", now, diff)
		}
	}
	refill := func(h int, kg units.Mass) climate.Refill {
		return climate.Refill{At: time.Duration(h) * time.Hour, Add: kg}
	}
	before, after := []climate.Refill{refill(5, 10), refill(20, 30)}, []climate.Refill{refill(3, 40), refill(25, 50)}
	for now, want := range map[int][]climate.Refill{0: after, 4: {refill(25, 50)}, 8: {refill(5, 10), refill(25, 50)}, 30: {refill(5, 10), refill(20, 30)}} {
		if diff := cmp.Diff(want, refillsFrom(before, after, time.Duration(now)*time.Hour)); diff != "" {
			t.Errorf("now %d h: %s", now, diff)
		}
	}
	h := time.Hour
	for now, want := range map[time.Duration][]time.Duration{0: {0, 4 * h, 8 * h}, 3 * h: {0, 4 * h, 8 * h}, 4 * h: {4 * h, 8 * h}, 9 * h: {8 * h}} {
		if diff := cmp.Diff(want, startsFrom([]time.Duration{0, 4 * h, 8 * h}, now)); diff != "" {
			t.Errorf("now %v: %s", now, diff)
		}
	}
}
