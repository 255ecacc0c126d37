package systems

import (
	"cmp"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// A Disturbance is one thing that goes otherwise than the job has it: one of
// [HeatStops], [NoRefill], [SmallerTank], [DoorOpen], [WeatherOff],
// [HandsShort], [StepLate], [OtherMaterial], [MoreUptake]. All times are since
// the job's start. Of a job that says what time it is now, only what is to come
// is disturbed.
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
	At  time.Duration // 0, or now, to the end of the job's forecast
	For time.Duration // zero: for good
}

// NoRefill leaves a tank's refill out: the one of that time, or all that are to come.
type NoRefill struct {
	Heater string         // may be "" where only one heater is refilled
	At     *time.Duration // of the refill; nil: all
}

// SmallerTank begins with less fuel in the tank, or has less in it now.
type SmallerTank struct {
	Heater string     // may be "" where only one heater has a tank
	Tank   units.Mass // 0 to less than there is in it
}

// DoorOpen adds air changes for a while.
type DoorOpen struct {
	From, For  time.Duration
	AirChanges units.Rate // above 0 to 500 1/h
}

// WeatherOff shifts the weather outdoors throughout; where the job has no
// [room], the temperatures of slab and air and the humidity that it gives. What
// would be above 100 % is saturated then, what would be below 1 % is 1 %. With
// the relative humidity as it was, colder air holds less water. Several add up.
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
	pauses  []times                  // of the heat; without end: forever
	doors   []climate.Opening        // beside the job's
	off     WeatherOff               // the sum of them
	uptake  float64                  // times what is measured; 0: as measured
	notes   []string
}

// toCome reports whether what happens at a time is still to come.
func (j *Job) toCome(t time.Duration) bool { return j.Now == 0 || t > j.Now }

// when says a time of the job.
func (j *Job) when(t time.Duration) string {
	return j.Start.Add(t.Round(time.Second)).Format(cmp.Or(j.layout, stamp))
}
