package climate

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// HeatPauses returns the room with its heat off from a time until another, from
// when the thermostat is set again as it would be then.
func (r Room) HeatPauses(from, to time.Duration) Room {
	var then Setting
	rest := r.Thermostat
	for len(rest) > 0 && rest[0].At <= to {
		then, rest = rest[0], rest[1:]
	}
	then.At = to
	r = r.HeatStops(from)
	r.Thermostat = append(append(r.Thermostat, then), rest...)
	return r
}

// ForecastAt is [Room.Forecast] with states at other moments too, such as those
// at which something jumps; they need not be in order.
func (r Room) ForecastAt(outdoors Weather, span, step time.Duration, also ...time.Duration) (*RoomForecast, error) {
	return r.forecast("climate.Room.ForecastAt", outdoors, span, step, also...)
}

// lateAfter is when after a stop the air falls no longer fast.
const lateAfter = 2 * time.Hour

// AfterStops follows the room with its heat off for good from each of several
// times on: what a room would do if the heat stopped then. The times rise. For
// the i-th of them look is called with the state at the stop and then every
// step, and from two hours after the stop on, when the air falls no longer fast,
// every late, until it returns false or within has passed.
//
// It goes through the time before the stops once and branches off at each, so
// that n of them cost that time and n times what is looked at, not n forecasts
// from 0 as [Room.HeatStops] would take; and a late of a quarter of an hour costs
// less than one of five minutes. Accuracy: as [Room.Forecast], 0.02 K of the air and
// 0.01 K of the slab; what it branches off from has not been recomputed in other
// steps.
func (r Room) AfterStops(outdoors Weather, stops []time.Duration, within, step, late time.Duration, look func(i int, s *RoomState) bool) error {
	return r.AfterStopsAnd(outdoors, stops, within, step, late, look, nil)
}

// keptEach is of how many stops one is kept to go on from.
const keptEach = 8

// AfterStopsAnd is [Room.AfterStops] that asks more, when it has been through the
// stops, which others to look at too: rising times from the first of stops on, whose
// numbers go on from those of stops. It goes on to them from what it has kept of the
// room at one stop in eight, so that those near the first ones cost little more than
// what is looked at.
// A more that is nil asks for none.
func (r Room) AfterStopsAnd(outdoors Weather, stops []time.Duration, within, step, late time.Duration, look func(i int, s *RoomState) bool, more func() []time.Duration) error {
	const fn = "climate.Room.AfterStops"
	err := errors.Join(r.check(fn), outdoors.Validate(), checkSteps(fn, within, step), checkSteps(fn, within, late))
	if !slices.IsSorted(stops) || len(stops) > 0 && (stops[0] < 0 || stops[len(stops)-1] > farthest) {
		err = errors.Join(err, fmt.Errorf("%w: %s: stops at %v: want rising times from 0 on", units.ErrRange, fn, stops))
	}
	if err != nil {
		return err
	}
	var run, branch roomRun
	run.begin(&r, outdoors)
	if err := run.put(); err != nil {
		return err
	}
	var kept []mark // at every keptEach-th stop
	off := func(i int, stop time.Duration) error {
		step := step
		if err := run.until(stop); err != nil {
			return err
		}
		if more != nil && i < len(stops) && i%keptEach == 0 {
			kept = append(kept, run.mark())
		}
		cold := r.HeatStops(stop)
		branch = run
		branch.room, branch.out = &cold, RoomForecast{Coats: slices.Clone(run.out.Coats)}
		branch.left = slices.Clone(run.left) // part and coatRates are worked out anew in each step
		if _, set := run.changes(stop); set != 0 {
			branch.jumped()
		}
		for due := stop; ; due = min(due+step, stop+within) {
			if due-stop >= lateAfter {
				step = late
			}
			if err := branch.until(due); err != nil {
				return err
			}
			branch.out.States, branch.out.Events = branch.out.States[:0], branch.out.Events[:0]
			if err := branch.put(); err != nil {
				return err
			}
			if !look(i, &branch.out.States[0]) || due == stop+within {
				return nil
			}
		}
	}
	for i, stop := range stops {
		if err := off(i, stop); err != nil {
			return err
		}
	}
	if more == nil || len(stops) == 0 {
		return nil
	}
	again := more()
	if !slices.IsSorted(again) || len(again) > 0 && (again[0] < stops[0] || again[len(again)-1] > farthest) {
		return fmt.Errorf("%w: %s: more stops at %v: want rising times from the first stop on", units.ErrRange, fn, again)
	}
	at := -1 // which of kept it goes on from
	for i, stop := range again {
		k, found := slices.BinarySearch(stops, stop)
		if !found {
			k--
		}
		if k /= keptEach; k != at {
			at = k
			run.goOn(&kept[k])
		}
		if err := off(len(stops)+i, stop); err != nil {
			return err
		}
	}
	return nil
}
