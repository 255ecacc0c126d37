package cure

import (
	"errors"
	"math"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// An Arrhenius is one event's time with one activation energy:
//
//	t(T) = Time exp(Ea/R (1/T - 1/Ref))
//
// Written by hand it needs Ea, Ref and Time. [Fit] fills the rest too, and puts
// Ref where the rows' mean of 1/T is, for there Ea and Time err independently.
//
// Time is a field, so that it cannot be the method of a [Law] as well: a struct
// of Go has one of a name. [Arrhenius.Law] is the law.
//
// Range: Ea 0 to 500 kJ/mol; Ref -60 °C to 1000 °C; Time above zero.
// Source: ASTM C1074, the equivalent-age function; S. Arrhenius.
type Arrhenius struct {
	Ea   units.MolarEnergy
	Ref  units.Temperature
	Time time.Duration // at Ref

	// Of a fit. With DF 0 (two rows) StdErr, CI95, Scatter are zero: unknown.
	StdErr    units.MolarEnergy    // standard error of Ea
	CI95      [2]units.MolarEnergy // 95 % interval of Ea, Student's t with DF
	R2        float64              // share of the variance of ln t explained
	Scatter   float64              // standard deviation of ln t about the line
	DF        int                  // degrees of freedom: rows less two
	Residuals []float64            // ln of each row's time over the law's, in the rows' order
	Doubts    []Doubt              // why the rows are not Arrhenius, if they are not

	// The range of the rows. Both zero: -60 °C to 150 °C.
	Coldest, Hottest units.Temperature
}

// Energies and temperatures of an Arrhenius law.
const (
	largestEa  = 500 * units.KilojoulePerMole
	hottestRef = 1000 + 273.15 // K: published kinetics are checks too
)

// checkEa checks an activation energy, not less than 0.
func checkEa(fn, arg string, ea units.MolarEnergy) error {
	return units.FromZero(fn, arg, float64(ea/units.KilojoulePerMole), float64(largestEa/units.KilojoulePerMole), "kJ/mol")
}

// checkTime checks a time of an event.
func checkTime(fn, arg string, d time.Duration) error {
	if d > 0 && d != Never {
		return nil
	}
	return &units.RangeError{Func: fn, Arg: arg, Got: d.Hours(), Lo: 0, Hi: Never.Hours(), Unit: "h", Above: true}
}

// Validate returns an error unless a is in range.
func (a Arrhenius) Validate() error {
	const fn = "cure.Arrhenius"
	err := errors.Join(checkEa(fn, "Ea", a.Ea), celsius(fn, "Ref", a.Ref, coldest, hottestRef), checkTime(fn, "Time", a.Time))
	if a.Coldest.IsZero() && a.Hottest.IsZero() {
		return err
	}
	return errors.Join(err, celsius(fn, "Coldest", a.Coldest, coldest, hottestRef), celsius(fn, "Hottest", a.Hottest, a.Coldest.Kelvin(), hottestRef))
}

// Law returns a as a law between Coldest and Hottest; outside them it is an
// error. Of an Arrhenius that is not valid the law's error is [Arrhenius.Validate]'s.
func (a Arrhenius) Law() Law {
	lo, hi := coldest, hottest
	if !a.Coldest.IsZero() || !a.Hottest.IsZero() {
		lo, hi = a.Coldest.Kelvin(), a.Hottest.Kelvin()
	}
	return a.law(lo, hi)
}

// ExtrapolatedLaw returns a as a law from -60 °C to 150 °C, though the rows say
// nothing of what is outside them: a glassy cold cure stalls there. What
// a time is worth there, [Arrhenius.Extrapolated] tells.
func (a Arrhenius) ExtrapolatedLaw() Law { return a.law(coldest, hottest) }

func (a Arrhenius) law(lo, hi float64) Law {
	if err := a.Validate(); err != nil {
		return lineLaw{err: err}
	}
	at := a.Ref.Kelvin()
	return lineLaw{fn: "cure.Arrhenius", lo: lo, hi: hi, line: line{at: at, a: -math.Log(a.Time.Seconds()), q: -float64(a.Ea) / (arrheniusR * at)}}
}
