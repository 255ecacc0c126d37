package climate

import (
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// gas is the molar gas constant, J/(mol K), exact.
const gas = 8.31446261815324

// checkGas checks what the functions of this file share.
func checkGas(fn string, molar float64, temp units.Temperature, p units.Pressure) (t, pa float64, err error) {
	pa = float64(p)
	if pa == 0 {
		pa = 101325
	}
	return temp.Kelvin(), pa, errors.Join(units.InRange(fn, "molar", molar, 2, 1000, "g/mol"), units.InRange(fn, "temp", temp.Celsius(), -40, 60, "°C"), units.InRange(fn, "p", pa/1e3, 50, 110, "kPa"))
}

// Concentration returns the mass per volume of air of a gas or vapour of molar
// mass molar (g/mol) at a share by volume (50 ppm is 50e-6), at temp and pressure
// p (0: 101 325 Pa). Exposure limits are stated at 25 °C.
//
// Range: share 0 to 1.
// Source: the ideal gas, c = x M p/(R T). OSHA prints 55 mg/m3 for 50 ppm of
// carbon monoxide, an old rounding of 57.3.
func Concentration(share units.Fraction, molar float64, temp units.Temperature, p units.Pressure) (units.Density, error) {
	const fn = "climate.Concentration"
	t, pa, err := checkGas(fn, molar, temp, p)
	if err := errors.Join(err, units.FromZero(fn, "share", float64(share), 1, "")); err != nil {
		return units.Density(math.NaN()), err
	}
	return units.Density(float64(share) * molar / 1e3 * pa / (gas * t)), nil
}

// DilutionAir returns the flow of outdoor air that keeps a gas or vapour, given
// off at rate with the molar mass molar (g/mol), at a share of limit by volume
// when it no longer changes; outdoors is what the air brings with it. mixing, 1
// to 10, is how much more air imperfect mixing needs: 3 to 10 is usual, since the
// vapour is where the work is. Below an explosive limit use a part of it (1/4,
// or 1/10 in hot spaces) as limit.
//
// An estimate: it replaces neither measuring nor the data sheet, and no dilution
// makes unvented combustion or isocyanates safe to breathe.
//
// Range: rate 0 to 1 kg/s, limit above outdoors, to 1.
// Source: ACGIH Industrial Ventilation, dilution ventilation, Q = K G/C (from memory).
func DilutionAir(rate units.MassFlow, molar float64, limit, outdoors units.Fraction, mixing float64, temp units.Temperature, p units.Pressure) (units.Flow, error) {
	const fn = "climate.DilutionAir"
	t, pa, err := checkGas(fn, molar, temp, p)
	err = errors.Join(err, units.FromZero(fn, "rate", float64(rate), 1, "kg/s"), units.InRange(fn, "mixing", mixing, 1, 10, ""), units.FromZero(fn, "outdoors", float64(outdoors), 1, ""))
	if !(limit > outdoors && limit <= 1) {
		err = errors.Join(err, &units.RangeError{Func: fn, Arg: "limit", Got: float64(limit), Lo: float64(outdoors), Hi: 1, Above: true})
	}
	if err != nil {
		return units.Flow(math.NaN()), err
	}
	volume := float64(rate) / (molar / 1e3) * gas * t / pa
	q := mixing * volume / float64(limit-outdoors)
	if math.IsInf(q, 0) { // the two shares hardly differ
		return units.Flow(math.NaN()), &units.RangeError{Func: fn, Arg: "limit", Got: float64(limit), Lo: float64(outdoors), Hi: 1, Above: true}
	}
	return units.Flow(q), nil
}

// ErrNeverPurged says that the air does not come to the share asked.
var ErrNeverPurged = errors.New("climate: never purged")

// aboveZero is [units.FromZero] without 0 itself.
func aboveZero(fn, arg string, v, hi float64, unit string) error {
	if v <= 0 {
		return &units.RangeError{Func: fn, Arg: arg, Got: v, Lo: 0, Hi: hi, Unit: unit, Above: true}
	}
	return units.InRange(fn, arg, v, 0, hi, unit)
}

// PurgeTime returns how long a flow of air takes to bring a room from one share
// of a gas by volume to another, nothing more being given off; outdoors is what
// the air brings with it. It is 0 where the room is at to or below it already,
// and [ErrNeverPurged] where the outdoors is not below to or 50 years are too short.
//
// Range: volume above 0 to 1 000 000 m3, flow above 0 to 10 000 m3/s.
// Source: t = V/Q ln((c0 - co)/(c - co)), perfect mixing; multiply by the mixing
// factor of [DilutionAir].
func PurgeTime(volume units.Volume, flow units.Flow, from, to, outdoors units.Fraction) (time.Duration, error) {
	const fn = "climate.PurgeTime"
	if err := errors.Join(aboveZero(fn, "volume", float64(volume), 1e6, "m3"), aboveZero(fn, "flow", float64(flow), 1e4, "m3/s"),
		units.FromZero(fn, "from", float64(from), 1, ""), units.FromZero(fn, "to", float64(to), 1, ""), units.FromZero(fn, "outdoors", float64(outdoors), 1, "")); err != nil {
		return 0, err
	}
	if to >= from {
		return 0, nil
	}
	s := float64(volume) / float64(flow) * math.Log(float64(from-outdoors)/float64(to-outdoors))
	if !(to > outdoors) || !(s < maxSpan.Seconds()) {
		return 0, fmt.Errorf("%w: %s: to %v by air of %v", ErrNeverPurged, fn, to, outdoors)
	}
	return time.Duration(s * 1e9), nil
}
