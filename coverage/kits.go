package coverage

import (
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// Kits returns how many whole kits cover need. A need that is a whole number
// of kits but for rounding (1e-9) takes that number.
//
// Range: need 0 and up, kit above 0, at most 1e9 kits.
func Kits[Q units.Volume | units.Mass](need, kit Q) (int, error) {
	const fn = "coverage.Kits"
	unit := "m3"
	if _, ok := any(need).(units.Mass); ok {
		unit = "kg"
	}
	if err := errors.Join(units.FromZero(fn, "need", float64(need), 1e12, unit), aboveZero(fn, "kit", float64(kit), float64(kit), 1e12, unit)); err != nil {
		return 0, err
	}
	n := float64(need) / float64(kit)
	if n > 1e9 {
		return 0, &units.RangeError{Func: fn, Arg: "need", Got: n, Lo: 0, Hi: 1e9, Unit: "kits"}
	}
	return int(math.Ceil(n * (1 - 1e-9))), nil
}

// LargestBatch returns the most that a crew can lay of one mix before its pot
// life ends: rate (pot - mixing) wet. pot is the pot life at that hour's
// temperature, mixing the time from pouring together to the floor.
//
// Range: pot up to 1000 h and longer than mixing; rate and wet above 0.
// Source: common practice, no source.
func LargestBatch(pot, mixing time.Duration, rate units.AreaRate, wet units.Length) (units.Volume, error) {
	const fn = "coverage.LargestBatch"
	err := errors.Join(units.FromZero(fn, "mixing", mixing.Minutes(), 60000, "min"), units.InRange(fn, "pot", pot.Minutes(), mixing.Minutes(), 60000, "min"),
		aboveZero(fn, "rate", float64(rate), float64(rate/units.SquareMetrePerHour), 1e9, "m2/h"), aboveZero(fn, "wet", float64(wet), mils(wet), 1e9, "mil"))
	if err != nil {
		return units.Volume(math.NaN()), err
	}
	if pot <= mixing {
		return units.Volume(math.NaN()), &units.RangeError{Func: fn, Arg: "pot", Got: pot.Minutes(), Lo: mixing.Minutes(), Hi: 60000, Unit: "min", Above: true}
	}
	return wet.Over(rate.For(pot - mixing)), nil
}

// Batches divides total into the fewest equal batches of at most largest.
//
// Range: total above 0, largest above 0, at most 1e9 batches.
func Batches(total, largest units.Volume) (n int, each units.Volume, err error) {
	if n, err = Kits(total, largest); err != nil {
		return 0, units.Volume(math.NaN()), fmt.Errorf("coverage.Batches: %w", err)
	}
	if n == 0 {
		return 0, 0, nil
	}
	return n, total / units.Volume(n), nil
}
