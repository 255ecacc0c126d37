package climate

import (
	"errors"
	"fmt"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// maxHeaters is how many heaters a room may have.
const maxHeaters = 4

// A Room is a space over a slab, with its heat on or off, through a spell of
// weather. What is zero is not there, unless its field says otherwise. All times
// are on the weather's clock; the room starts at 0.
type Room struct {
	Volume     units.Volume      // 1 m3 to 1 000 000 m3
	Envelope   units.Conductance // of walls, windows, roof, not the floor: the sum of U A; to 1e6 W/K
	AirChanges units.Rate        // with the doors shut; to 100 1/h
	Openings   []Opening         // doors open, fans on

	Floor units.Area // of the slab; 0 to 100 000 m2, the room at least 1 m high; zero: no slab
	Slab  Slab       // its Accuracy, if zero, is 0.005 K here

	// Contents are what follows the air's temperature: plant, pallets,
	// linings; ContentsHeat is their heat capacity, zero: 500 J/(kg K), steel.
	Contents     units.Mass
	ContentsHeat units.SpecificHeat

	Pressure units.Pressure // zero: 101 325 Pa

	// MassAt is the temperature at which the room's volume holds the mass of air that
	// the model counts throughout; zero: Air, that of the start.
	MassAt units.Temperature

	// The start: the room's air, and the slab's surface with a steady profile
	// below it, or a profile of its own, which is then all of the slab's start:
	// Surface is not looked at, and what is deeper than the slab neither.
	Air     units.Temperature
	RH      units.Fraction
	Surface units.Temperature // zero: that of Air, or the profile's
	Profile Profile

	Thermostat []Setting  // in the order of time; before the first the heat is off
	Heaters    []Heater   // at most 4; the first runs first, the next when it is at its maximum
	Coats      []WetCoat  // at most 1000
	Emissions  []Emission // of the slab's own moisture; at most 1000

	CO2 units.Fraction // outdoors and at the start, by volume; zero: 420 ppm

	Watch Watch
}

// A Setting is what the thermostat is set to from a time on. A zero Temp turns
// the heat off.
type Setting struct {
	At   time.Duration
	Temp units.Temperature
}

// An Opening adds air changes for a time.
type Opening struct {
	From, To   time.Duration
	AirChanges units.Rate // 0 to 500 1/h
}

// A WetCoat is a waterborne coat that gives its water to the room, and takes the
// heat for that from the slab.
type WetCoat struct {
	At      time.Duration  // when it is wet; before 0, all its water but Gone is still there at 0
	Area    units.Area     // at most the floor's
	Covered time.Duration  // by a coat that lets no water through: what is left in it then stays; zero: never
	Gone    units.Fraction // of its water that it gave off before 0; it goes on at the rate that the rest has
	Drying
}

// An Emission is moisture that comes out of the bare slab, whatever the air is
// like, such as a dish of ASTM F1869 drew from it. It takes its heat of
// evaporation from the slab's surface.
type Emission struct {
	From, To time.Duration  // to its closing; To at most 73 years away
	Area     units.Area     // bare; at most the floor's
	Flux     units.MassFlux // 0 to 1e-5 kg/(m2 s)
}

// Watch holds the limits whose crossing a forecast tells as events; one that is
// broken at the start is told at 0. A zero one is not watched. The surface is
// watched for condensation in any case, where there is a slab.
type Watch struct {
	Margin  units.TempDelta   // surface above the dew point at least
	Surface units.Temperature // at least
	RH      units.Fraction    // at most
	CO2     units.Fraction    // at most, by volume
}

// What an Event can be.
const (
	HeatersAtMaximum = "heaters at maximum" // the thermostat asks for more than they have
	HeatersHold      = "heaters hold"       // the set temperature is reached
	TankEmpty        = "tank empty"         // of Heater; one that is empty at the start is told at 0
	TankRefilled     = "tank refilled"      // of Heater
	MarginBroken     = "margin broken"
	MarginKept       = "margin kept"
	SurfaceBelow     = "surface below limit"
	SurfaceAbove     = "surface above limit"
	RHAbove          = "humidity above limit"
	RHBelow          = "humidity below limit"
	CO2Above         = "carbon dioxide above limit"
	CO2Below         = "carbon dioxide below limit"
	Condensing       = "surface below the dew point"
	NotCondensing    = "surface above the dew point"
	CoatDry          = "coat dry" // of Coat: no more of its water is left than Drying.Left
)

// An Event is something that happens in a forecast.
type Event struct {
	At     time.Duration
	What   string
	Heater int // of TankEmpty and TankRefilled
	Coat   int // of CoatDry
}

// A RoomState is the room at a time, with what is refilled then; heat that jumps
// then is as it was before, but at 0.
type RoomState struct {
	At                     time.Duration
	Air, Surface, DewPoint units.Temperature // without a slab Surface is Air
	RH                     units.Fraction    // above 100 % there is fog: the model does not condense it
	Margin                 units.TempDelta
	Power                  units.Power // that the heaters take in, on the higher heating value
	Heat                   units.Power // of it, to the air
	Fuel                   [maxHeaters]units.Mass
	CO2                    units.Fraction // by volume
	Evaporation            units.MassFlow // from coats
}

// A Balance is where heat, water and fuel went from 0 to the end.
type Balance struct {
	Heat        units.Energy // from the heaters to the air
	Envelope    units.Energy // lost through it
	Ventilation units.Energy // lost with the air, sensible
	Deep        units.Energy // lost through the slab's underside
	Evaporation units.Energy // taken from the slab by drying coats and by its own moisture
	Stored      units.Energy // in air, contents and slab more than at the start

	Burned    units.Mass // water from unvented heaters
	Dried     units.Mass // water from coats
	Emitted   units.Mass // water from the slab
	Vented    units.Mass // water lost with the air
	InTheAir  units.Mass // more than at the start
	Fuel      [maxHeaters]units.Mass
	TakenIn   units.Energy             // by the heaters, on the higher heating value
	TakenBy   [maxHeaters]units.Energy // of that, by each
	Exhausted units.Mass               // carbon dioxide into the room
}

// A RoomForecast is how a room fares.
type RoomForecast struct {
	States  []RoomState
	Events  []Event
	Balance Balance
	Coats   []CoatWater // as Room.Coats
	Profile Profile     // of the slab at the end, for a forecast that goes on from there; nil without a slab

	made *making
}

// A CoatWater is how a coat dried, to the forecast's end.
type CoatWater struct {
	Given units.Mass    // to the air, from 0 on
	Left  units.Loading // in the coat, then or when it was covered
	Dry   time.Duration // when it was dry
	IsDry bool          // false: not to the end, or it was covered before
}

// Surfaces returns the slab's surface temperatures.
func (f *RoomForecast) Surfaces() Trace {
	t := make(Trace, len(f.States))
	for i := range f.States {
		t[i] = Sample{f.States[i].At, f.States[i].Surface}
	}
	return t
}

// Airs returns the room's air; relative humidities above 100 % are 100 % in it,
// those below 1 % are 1 %. Air outside the range of [Air], which a slab outside
// it can make, [Weather.Validate] refuses.
func (f *RoomForecast) Airs() Weather {
	w := make(Weather, len(f.States))
	for i := range f.States {
		s := &f.States[i]
		w[i] = Reading{s.At, s.Air, min(max(s.RH, 0.01), 1)}
	}
	return w
}

func (r *Room) check(fn string) error {
	err := errors.Join(units.InRange(fn, "Volume", float64(r.Volume), 1, 1e6, "m3"), units.FromZero(fn, "Envelope", float64(r.Envelope), 1e6, "W/K"),
		units.FromZero(fn, "AirChanges", float64(r.AirChanges)*3600, 100, "1/h"), units.FromZero(fn, "Floor", float64(r.Floor), 1e5, "m2"),
		units.FromZero(fn, "Contents", float64(r.Contents), 1e7, "kg"), inRoom(fn, "Air", r.Air), units.InRange(fn, "RH", 100*float64(r.RH), 1, 100, "%"),
		units.FromZero(fn, "CO2", float64(r.CO2), 0.1, ""))
	if r.Floor > 0 {
		err = errors.Join(err, units.InRange(fn, "Volume/Floor", float64(r.Volume)/float64(r.Floor), 1, 1e4, "m"))
	}
	if r.MassAt != (units.Temperature{}) {
		err = errors.Join(err, inRoom(fn, "MassAt", r.MassAt))
	}
	if r.Pressure != 0 {
		err = errors.Join(err, units.InRange(fn, "Pressure", float64(r.Pressure)/1e3, 50, 110, "kPa"))
	}
	if r.ContentsHeat != 0 {
		err = errors.Join(err, units.InRange(fn, "ContentsHeat", float64(r.ContentsHeat), 100, 10000, "J/(kg K)"))
	}
	if r.Floor > 0 {
		err = errors.Join(err, r.Slab.check(fn))
		if len(r.Profile) > 0 {
			err = errors.Join(err, r.Profile.check(fn))
		}
	}
	if r.Surface != (units.Temperature{}) {
		err = errors.Join(err, inTrace(fn, "Surface", r.Surface))
	}
	if n := len(r.Heaters); n > maxHeaters {
		err = errors.Join(err, fmt.Errorf("%w: %s: %d Heaters: want at most %d", units.ErrRange, fn, n, maxHeaters))
	}
	if n := len(r.Coats); n > maxCoats {
		err = errors.Join(err, fmt.Errorf("%w: %s: %d Coats: want at most %d", units.ErrRange, fn, n, maxCoats))
	}
	at := func(what string, i int, t, last time.Duration) {
		if t < -farthest || t > farthest || t < last {
			err = errors.Join(err, fmt.Errorf("%w: %s: %s[%d] at %v: want rising times within 73 years of 0", units.ErrRange, fn, what, i, t))
		}
	}
	last := -farthest
	for i, s := range r.Thermostat {
		at("Thermostat", i, s.At, last)
		last = s.At
		if s.Temp != (units.Temperature{}) {
			err = errors.Join(err, inRoom(fn, "Thermostat", s.Temp))
		}
	}
	for i, o := range r.Openings {
		at("Openings", i, o.From, -farthest)
		at("Openings", i, o.To, o.From)
		err = errors.Join(err, units.FromZero(fn, "Openings.AirChanges", float64(o.AirChanges)*3600, 500, "1/h"))
	}
	for i := range r.Heaters {
		if e := r.Heaters[i].check(fn); e != nil {
			err = errors.Join(err, fmt.Errorf("heater %d: %w", i, e))
		}
	}
	for i, c := range r.Coats {
		at("Coats", i, c.At, -farthest)
		if _, e := c.Drying.check(fn); e != nil {
			err = errors.Join(err, fmt.Errorf("coat %d: %w", i, e))
		}
		err = errors.Join(err, units.FromZero(fn, "Coats.Area", float64(c.Area), float64(r.Floor), "m2"), units.FromZero(fn, "Coats.Gone", 100*float64(c.Gone), 100, "%"))
		if c.Gone > 0 && c.At >= 0 {
			err = errors.Join(err, fmt.Errorf("%w: %s: Gone of Coats[%d] laid at %v: want it laid before 0", units.ErrRange, fn, i, c.At))
		}
		if c.Covered != 0 {
			at("Covered of Coats", i, c.Covered, c.At)
		}
	}
	if n := len(r.Emissions); n > maxCoats {
		err = errors.Join(err, fmt.Errorf("%w: %s: %d Emissions: want at most %d", units.ErrRange, fn, n, maxCoats))
	}
	for i, e := range r.Emissions {
		at("Emissions", i, e.From, -farthest)
		at("Emissions", i, e.To, e.From)
		err = errors.Join(err, units.FromZero(fn, "Emissions.Area", float64(e.Area), float64(r.Floor), "m2"), units.FromZero(fn, "Emissions.Flux", float64(e.Flux)*1e3, 0.01, "g/(m2 s)"))
	}
	w := r.Watch
	err = errors.Join(err, units.FromZero(fn, "Watch.Margin", float64(w.Margin), 50, "K"), units.FromZero(fn, "Watch.RH", 100*float64(w.RH), 100, "%"), units.FromZero(fn, "Watch.CO2", float64(w.CO2), 1, ""))
	if w.Surface != (units.Temperature{}) {
		err = errors.Join(err, inTrace(fn, "Watch.Surface", w.Surface))
	}
	return err
}

// inRoom checks a temperature against the range of [Air].
func inRoom(fn, arg string, t units.Temperature) error {
	return units.InRange(fn, arg, t.Celsius(), -40, 60, "°C")
}

// maxCoats is how many coats may dry in one forecast.
const maxCoats = 1000

// Forecast returns the room every step from 0 to span (and at span), under the
// weather outdoors.
//
// Model: well-mixed air,
//
//	C dTa/dt = (UA + rho cp V n)(To - Ta) + h A (Ts - Ta) + P
//	M dW/dt  = rho V n (Wo - W) + water burned + water dried + water emitted
//
// with the slab of [Slab.Forecast] under it, solved together in each step; the
// thermostat modulates P without lag between 0 and what the heaters give; a
// heater whose tank is empty gives nothing until it is refilled. Drying coats
// ([Drying]) and what a bare slab gives off take their heat from its surface; a
// coat that is covered gives off no more. The mass of air is that of the room's
// volume at the start, or at [Room.MassAt]; the heat of vaporised combustion water
// leaves with the lower heating value. Nothing condenses: where the surface is below
// the dew point the events say so, and RH may pass 100 %.
//
// Accuracy, for weather given hourly: 0.05 K and 2 min of an event in buildings
// (TestScipyRoom); where air or humidity jump by tens of percent within minutes,
// air and dew point 0.1 K, the surface 0.03 K and an event 5 min. An event is less
// certain where what is watched creeps across its limit by less than 0.1 K/h: one
// that comes and goes within a step, 5 min or, where air and surface go straight,
// up to 15 min, can be missed. The states soon after a tank ran dry are early or late
// with it. Balances to 1e-8.
// Source: the zone balance of ISO 52016-1 (2017), from memory; for the parts see [Slab],
// [Evaporation], [Fuel].
func (r Room) Forecast(outdoors Weather, span, step time.Duration) (*RoomForecast, error) {
	const fn = "climate.Room.Forecast"
	return r.forecast(fn, outdoors, span, step)
}

// forecast is Forecast for fn, with states at other moments too.
func (r *Room) forecast(fn string, outdoors Weather, span, step time.Duration, also ...time.Duration) (*RoomForecast, error) {
	if err := errors.Join(r.check(fn), outdoors.Validate(), checkSteps(fn, span, step)); err != nil {
		return nil, err
	}
	var run roomRun
	return run.forecast(r, outdoors, span, step, nil, nil, also...)
}
