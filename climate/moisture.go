package climate

import (
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// EmissionRate returns the moisture vapour emission of a slab from the weight
// that a dish of calcium chloride under a dome gained. area is that under the
// dome less the dish.
//
// Range: gain 0 to 1 kg, area 0.001 m2 to 10 m2, exposure 60 h to 72 h.
// Source: ASTM F1869, MVER = 52.91 M/(A T) lb/(1000 ft2 24 h) (from memory); the
// kits' printed constants hide the area of theirs.
func EmissionRate(gain units.Mass, area units.Area, exposure time.Duration) (units.MassFlux, error) {
	const fn = "climate.EmissionRate"
	if err := errors.Join(units.FromZero(fn, "gain", float64(gain), 1, "kg"), units.InRange(fn, "area", float64(area), 1e-3, 10, "m2"), units.InRange(fn, "exposure", exposure.Hours(), 60, 72, "h")); err != nil {
		return units.MassFlux(math.NaN()), err
	}
	return units.MassFlux(float64(gain) / (float64(area) * exposure.Seconds())), nil
}

// MoistureTests returns how many F1869 or F2170 tests a floor takes: three in
// the first 1000 ft2 and one in each further 1000 ft2 or part of it.
//
// Range: area above 0 to 1 000 000 m2.
// Source: ASTM F1869 and F2170 (from memory).
func MoistureTests(area units.Area) (int, error) {
	if err := aboveZero("climate.MoistureTests", "area", float64(area), 1e6, "m2"); err != nil {
		return 0, err
	}
	return 3 + max(0, int(math.Ceil(float64(area/(1000*units.SquareFoot))-1-1e-9))), nil
}

// ProbeDepth returns how deep F2170's probes sit: 40 % of the thickness in a slab
// that dries to the top only, 20 % in one that dries to both sides.
//
// Range: thickness 20 mm to 2 m.
// Source: ASTM F2170 (20 % from memory).
func ProbeDepth(thickness units.Length, bothSides bool) (units.Length, error) {
	if err := units.InRange("climate.ProbeDepth", "thickness", float64(thickness)*1e3, 20, 2000, "mm"); err != nil {
		return units.Length(math.NaN()), err
	}
	if bothSides {
		return thickness / 5, nil
	}
	return thickness * 2 / 5, nil
}

// A MoistureVerdict is what readings in a slab say.
type MoistureVerdict struct {
	Highest, Mean units.Fraction
	Readings      int
	Wanted        int  // by the floor's area
	Over          int  // readings above the limit
	Pass          bool // none above the limit, and as many as wanted
}

// JudgeHumidity compares F2170 readings, relative humidities in the slab, with a
// limit: every one must keep it, the wettest spot being where the floor fails.
//
// Range: readings 1 % to 100 %, at least one; limit 1 % to 100 %.
func JudgeHumidity(readings []units.Fraction, limit units.Fraction, area units.Area) (MoistureVerdict, error) {
	const fn = "climate.JudgeHumidity"
	wanted, err := MoistureTests(area)
	err = errors.Join(err, units.InRange(fn, "limit", 100*float64(limit), 1, 100, "%"))
	if len(readings) == 0 {
		err = errors.Join(err, fmt.Errorf("%w: %s: no readings: want at least one", units.ErrRange, fn))
	}
	v := MoistureVerdict{Readings: len(readings), Wanted: wanted}
	for _, r := range readings {
		err = errors.Join(err, units.InRange(fn, "reading", 100*float64(r), 1, 100, "%"))
		v.Highest = max(v.Highest, r)
		v.Mean += r / units.Fraction(len(readings))
		if r > limit*(1+1e-9) {
			v.Over++
		}
	}
	if err != nil {
		nan := units.Fraction(math.NaN())
		return MoistureVerdict{Highest: nan, Mean: nan}, err
	}
	v.Pass = v.Over == 0 && v.Readings >= wanted
	return v, nil
}

// SheetTest judges a plastic sheet taped to the slab: dry underneath after at
// least the time asked is a pass. The owners ask for different times (16 h in
// ASTM D4263, 24 h in MIL-HDBK-1110): asked says which. A sheet finds liquid
// moisture only; a dry one does not replace F1869 or F2170.
//
// Range: both 1 h to 14 days.
func SheetTest(exposed, asked time.Duration, damp bool) (pass bool, err error) {
	const fn = "climate.SheetTest"
	if err := errors.Join(units.InRange(fn, "exposed", exposed.Hours(), 1, 336, "h"), units.InRange(fn, "asked", asked.Hours(), 1, 336, "h")); err != nil {
		return false, err
	}
	return !damp && exposed >= asked, nil
}
