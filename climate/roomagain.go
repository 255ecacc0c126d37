package climate

import (
	"errors"
	"math"
	"slices"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// markEach is of how many states of a forecast one is marked.
const markEach = 24

// A making is what a forecast was made from, and its marks.
type making struct {
	room     Room
	outdoors Weather
	step     time.Duration
	marks    []mark
}

// A mark is a room at a state of its forecast, for another one to go on from.
type mark struct {
	moment
	t              []float64 // of the slab
	longest, limit float64   // of the steps
	states         int       // up to this one
	events         []Event
	coats          []CoatWater
}

// mark returns what to go on from as the room is now.
func (r *roomRun) mark() mark {
	m := mark{r.moment, slices.Clone(r.st.t[:r.col.n]), r.longest, r.limit, len(r.out.States), slices.Clone(r.out.Events), slices.Clone(r.out.Coats)}
	m.left = slices.Clone(r.left)
	return m
}

// goOn puts a run that has begun where another was at a mark: its room has been the
// same up to then, but for coats that lie there later.
func (r *roomRun) goOn(m *mark) {
	left := r.left
	r.moment = m.moment
	r.left = left
	copy(r.st.t[:], m.t)
	r.longest, r.limit = m.longest, m.limit
	r.out.Events = slices.Clone(m.events)
	for i := range r.coats {
		r.left[i], r.out.Coats[i] = r.laid(i), CoatWater{}
		if r.room.Coats[i].At <= r.now {
			r.left[i], r.out.Coats[i] = m.left[i], m.coats[i]
		}
	}
}

// last returns the last mark before a time, or nil.
func (f *RoomForecast) last(before time.Duration) *mark {
	for i := len(f.made.marks) - 1; i >= 0; i-- {
		if m := &f.made.marks[i]; m.now < before {
			return m
		}
	}
	return nil
}

// With returns the forecast to span of the same room with other coats and emissions.
// It is what [Room.Forecast] gives, to the last digit, but it takes from f what comes
// before the two rooms part, of which f has kept the room at every 24th state. The
// room's slices and what f holds must not have been changed since. A forecast that
// was made at other moments too ([Room.ForecastAt]) has kept none. Errors: as
// Room.Forecast, and of an f that is not a room's forecast.
func (f *RoomForecast) With(coats []WetCoat, emissions []Emission, span time.Duration) (*RoomForecast, error) {
	const fn = "climate.RoomForecast.With"
	if f.made == nil {
		return nil, errors.New(fn + ": the forecast was not made by Room.Forecast")
	}
	r, was := f.made.room, &f.made.room
	r.Coats, r.Emissions = coats, emissions
	if err := errors.Join(r.check(fn), checkSteps(fn, span, f.made.step)); err != nil {
		return nil, err
	}
	var run roomRun
	return run.forecast(&r, f.made.outdoors, span, f.made.step, f, f.last(min(span, alike(was, &r))))
}

// alike returns until when two rooms are the same that may differ in their coats and
// emissions. Each is compared with the one of its number in the other room: two that
// differ by no more than their end part the rooms at the earlier end, others when the
// earlier of them begins.
func alike(a, b *Room) time.Duration {
	const never = time.Duration(math.MaxInt64)
	until := never
	for i := range max(len(a.Coats), len(b.Coats)) {
		x, y := nth(a.Coats, i, WetCoat{At: never}), nth(b.Coats, i, WetCoat{At: never})
		if x == y {
			continue
		}
		ends := [2]time.Duration{x.Covered, y.Covered}
		if x.Covered, y.Covered = 0, 0; x != y {
			until = min(until, x.At, y.At)
			continue
		}
		for _, t := range ends {
			if t != 0 { // it is covered
				until = min(until, t)
			}
		}
	}
	for i := range max(len(a.Emissions), len(b.Emissions)) {
		x, y := nth(a.Emissions, i, Emission{From: never}), nth(b.Emissions, i, Emission{From: never})
		if x == y {
			continue
		}
		ends := min(x.To, y.To)
		if x.To, y.To = 0, 0; x != y {
			ends = min(x.From, y.From)
		}
		until = min(until, ends)
	}
	return until
}

// nth returns the element of a number, or none where there is none.
func nth[T any](all []T, i int, none T) T {
	if i < len(all) {
		return all[i]
	}
	return none
}

// WouldBurn returns the fuel that each heater would burn to the end of the forecast
// if it did not run out, in the forecast's own steps: that of the balance of
// [Room.Endless], but worked out only from before the first tank ran dry. NaN beside
// an error, of an f that is not a room's forecast.
func (f *RoomForecast) WouldBurn() ([maxHeaters]units.Mass, error) {
	nan := [maxHeaters]units.Mass{}
	for i := range nan {
		nan[i] = units.Mass(math.NaN())
	}
	if f.made == nil {
		return nan, errors.New("climate.RoomForecast.WouldBurn: the forecast was not made by Room.Forecast")
	}
	dry, ok := f.First(TankEmpty)
	if !ok {
		return f.Balance.Fuel, nil
	}
	room, span := f.made.room.Endless(), f.States[len(f.States)-1].At
	var run roomRun
	on, err := run.forecast(&room, f.made.outdoors, span, f.made.step, f, f.last(dry.At))
	if err != nil {
		return nan, err
	}
	return on.Balance.Fuel, nil
}
