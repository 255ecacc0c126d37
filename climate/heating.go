package climate

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/root"
)

// ErrNotHeld says that no heater holds what was asked.
var ErrNotHeld = errors.New("climate: no heater holds it")

// LowestSurface returns the coldest surface of the states from one time to
// another, and when.
func (f *RoomForecast) LowestSurface(from, to time.Duration) (units.Temperature, time.Duration, error) {
	low, at := units.NaNTemperature(), time.Duration(0)
	for i := range f.States {
		if s := &f.States[i]; s.At >= from && s.At <= to && (low.IsNaN() || s.Surface.Less(low)) {
			low, at = s.Surface, s.At
		}
	}
	if low.IsNaN() {
		return low, 0, fmt.Errorf("%w: climate.RoomForecast.LowestSurface: no state from %v to %v", units.ErrRange, from, to)
	}
	return low, at, nil
}

// LowestMargin returns the least margin of the surface above the dew point of
// the states from one time to another, and when.
func (f *RoomForecast) LowestMargin(from, to time.Duration) (units.TempDelta, time.Duration, error) {
	low, at := units.TempDelta(math.NaN()), time.Duration(0)
	for i := range f.States {
		if s := &f.States[i]; s.At >= from && s.At <= to && !(low <= s.Margin) {
			low, at = s.Margin, s.At
		}
	}
	if math.IsNaN(float64(low)) {
		return low, 0, fmt.Errorf("%w: climate.RoomForecast.LowestMargin: no state from %v to %v", units.ErrRange, from, to)
	}
	return low, at, nil
}

// First returns the first event of a kind (see [HeatersAtMaximum] and the others),
// and whether there is one.
func (f *RoomForecast) First(what string) (Event, bool) {
	i := slices.IndexFunc(f.Events, func(e Event) bool { return e.What == what })
	if i < 0 {
		return Event{}, false
	}
	return f.Events[i], true
}

// Endless returns the room with fuel that does not run out.
func (r Room) Endless() Room {
	r.Heaters = slices.Clone(r.Heaters)
	for i := range r.Heaters {
		r.Heaters[i].Tank, r.Heaters[i].Refills = 0, nil
	}
	return r
}

// HeatStops returns the room with its heat off from a time on.
func (r Room) HeatStops(at time.Duration) Room {
	n := 0
	for n < len(r.Thermostat) && r.Thermostat[n].At < at {
		n++
	}
	r.Thermostat = append(slices.Clone(r.Thermostat[:n]), Setting{At: at})
	return r
}

// Vented returns the room with the exhaust of its heaters led outdoors and as
// much heat from each of them.
func (r Room) Vented() Room {
	r.Heaters = slices.Clone(r.Heaters)
	for i := range r.Heaters {
		if h := &r.Heaters[i]; h.Unvented && !h.Fuel.electric() { // others stay as they are, also what Forecast refuses
			h.Efficiency, h.Unvented = units.Fraction(h.share()), false
		}
	}
	return r
}

// FuelFor returns the fuel that each heater burns from 0 to span if it does not
// run out.
func (r Room) FuelFor(outdoors Weather, span time.Duration) ([maxHeaters]units.Mass, error) {
	f, err := r.Endless().Forecast(outdoors, span, every(span, time.Hour))
	if err != nil {
		var nan [maxHeaters]units.Mass
		for i := range nan {
			nan[i] = units.Mass(math.NaN())
		}
		return nan, err
	}
	return f.Balance.Fuel, nil
}

// every returns the step for outputs every step of a span that may be shorter.
func every(span, step time.Duration) time.Duration { return max(min(span, step), time.Second) }

// HeaterFor returns the least Max of the first heater with which the slab's
// surface is at least surface from by to until, the fuel not running out, the
// thermostat and the other heaters as they are; and the forecast with it. It is
// 0 if the surface is that warm without the first heater. The surface is looked
// at by, until and every 15 min from 0; the forecast has its states then.
//
// It is [ErrNotHeld] if even 100 MW do not: the thermostat's setting is too low,
// or the time too short for the slab. The forecast is then that with 100 MW.
// Accuracy: 0.1 % of the power and never less than the forecast needs.
func (r Room) HeaterFor(outdoors Weather, surface units.Temperature, by, until time.Duration) (units.Power, *RoomForecast, error) {
	const fn = "climate.Room.HeaterFor"
	nan := units.Power(math.NaN())
	if len(r.Heaters) == 0 || by < 0 || until < by {
		return nan, nil, fmt.Errorf("%w: %s: %d heaters, by %v until %v: want a heater and 0 <= by <= until", units.ErrRange, fn, len(r.Heaters), by, until)
	}
	if err := inTrace(fn, "surface", surface); err != nil {
		return nan, nil, err
	}
	r = r.Endless()
	span := max(until, time.Minute)
	var best *RoomForecast
	var failed error
	// over returns by how much the coldest surface is above what is asked, and keeps
	// its forecast.
	over := func(p float64) (units.TempDelta, time.Duration) {
		r.Heaters[0].Max = units.Power(p)
		f, err := r.forecast(fn, outdoors, span, every(span, 15*time.Minute), by, until)
		if err != nil {
			failed = err
			return units.TempDelta(math.NaN()), 0
		}
		best = f
		low, at, err := f.LowestSurface(by, until)
		if err != nil {
			failed = err
			return units.TempDelta(math.NaN()), 0
		}
		return low.Sub(surface), at
	}
	const least, most = 1.0, 1e8 // W, of a heater
	if d, _ := over(least); failed != nil {
		return nan, nil, failed
	} else if d >= 0 {
		return 0, best, nil
	}
	lo, hi := least, 1000.0
	for {
		d, at := over(hi)
		if failed != nil {
			return nan, nil, failed
		}
		if d >= 0 {
			break
		}
		if hi == most {
			return nan, best, fmt.Errorf("%w: %s: the surface is down to %.1f °C at %v whatever the heater: set the thermostat higher or begin earlier", ErrNotHeld, fn, surface.Add(d).Celsius(), at)
		}
		lo, hi = hi, min(4*hi, most)
	}
	const near = 2.5e-4 // of the power, in its logarithm
	l, err := root.Brent(func(l float64) float64 { d, _ := over(math.Exp(l)); return float64(d) }, math.Log(lo), math.Log(hi), near)
	if err := errors.Join(failed, err); err != nil {
		return nan, nil, err
	}
	for p := math.Exp(l); ; p *= 1 + 2*near { // Brent ends on either side
		p = min(p, hi)
		d, _ := over(p)
		if failed != nil {
			return nan, nil, failed
		}
		if d >= 0 || p == hi {
			return units.Power(p), best, nil
		}
	}
}

// FallAfter returns how far the slab's surface falls within a time after the
// heat stops: from the moment it stops to the end of that time.
func (r Room) FallAfter(outdoors Weather, stop, within time.Duration) (units.TempDelta, error) {
	const fn = "climate.Room.FallAfter"
	if stop < 0 || within <= 0 {
		return units.TempDelta(math.NaN()), fmt.Errorf("%w: %s: stop = %v, within = %v: want at least 0 and above 0", units.ErrRange, fn, stop, within)
	}
	r = r.HeatStops(stop)
	f, err := r.forecast(fn, outdoors, stop+within, every(stop+within, 30*24*time.Hour), stop)
	if err != nil {
		return units.TempDelta(math.NaN()), err
	}
	a, err := f.Surfaces().At(stop)
	if err != nil {
		return units.TempDelta(math.NaN()), err
	}
	return a.Sub(f.States[len(f.States)-1].Surface), nil
}

// UnventedCost returns the least margin of the slab above the dew point, looked
// at every 15 min, with the heaters as they are, and with their exhaust led
// outdoors: what the water of unvented ones costs.
func (r Room) UnventedCost(outdoors Weather, span time.Duration) (with, vented units.TempDelta, err error) {
	nan := units.TempDelta(math.NaN())
	step := every(span, 15*time.Minute)
	a, err1 := r.Forecast(outdoors, span, step)
	b, err2 := r.Vented().Forecast(outdoors, span, step)
	if err := errors.Join(err1, err2); err != nil {
		return nan, nan, err
	}
	with, _, err1 = a.LowestMargin(0, span)
	vented, _, err2 = b.LowestMargin(0, span)
	return with, vented, errors.Join(err1, err2)
}
