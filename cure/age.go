package cure

import (
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// stretch checks a trace and a stretch of time along it.
func stretch(fn string, t climate.Trace, from, to time.Duration) error {
	if err := errors.Join(t.Validate(), moment(fn, "from", from), moment(fn, "to", to)); err != nil {
		return err
	}
	if to < from {
		return fmt.Errorf("%w: %s: to = %v: want from = %v or later", units.ErrRange, fn, to, from)
	}
	return nil
}

// age returns s seconds as a duration.
func age(fn string, s float64) (time.Duration, error) {
	if !(s*1e9 < math.MaxInt64) {
		return 0, fmt.Errorf("%w: %s: the age is longer than the 292 years of a time.Duration", units.ErrRange, fn)
	}
	return time.Duration(math.Round(s * 1e9)), nil
}

// EquivalentAge returns how long a cure at ref takes to come as far as along t
// between from and to, where its rate has the activation energy ea:
//
//	te = ∫ exp(-Ea/R (1/T - 1/ref)) dt
//
// Past its ends t is held. It is exact for a reaction with one activation energy
// only: of two, [EquivalentAgeBounds] bounds it.
//
// Range: ea 0 to 500 kJ/mol; ref -60 °C to 150 °C; from and to within 73 years
// of 0, to not before from.
// Accuracy: 1e-10 of the age: by series or quadrature over each linear piece.
// The temperature of a piece's middle alone is 5 % wrong over a ramp of 20 K in
// the worked example, the mean of its two ends' rates 10 %.
// Source: ASTM C1074, equivalent age, whose default is ea/R = 5000 K, from memory.
func EquivalentAge(ea units.MolarEnergy, ref units.Temperature, t climate.Trace, from, to time.Duration) (time.Duration, error) {
	const fn = "cure.EquivalentAge"
	if err := errors.Join(checkEa(fn, "ea", ea), celsius(fn, "ref", ref, coldest, hottest)); err != nil {
		return 0, err
	}
	if err := stretch(fn, t, from, to); err != nil {
		return 0, err
	}
	w := walk{n: 1}
	w.within(fn, coldest, hottest)
	w.buf[0] = ageLine(ea, ref)
	s, _, _ := w.along(t, from, to, math.Inf(1))
	return age(fn, s)
}

// ageLine is the rate of age, 1 at ref.
func ageLine(ea units.MolarEnergy, ref units.Temperature) line {
	k := ref.Kelvin()
	return line{lo: 0, at: k, q: -float64(ea) / (arrheniusR * k)}
}

// EquivalentAgeBounds returns the least and the most that the equivalent age at
// ref can be of a cure whose rate is a sum of paths with activation energies
// from ea1 to ea2, in any mixture that changes as it cures, such as
// k1 + k2 a^m. There no one equivalent age is exact.
//
// The rate over that at ref is a mean of the paths' own, and so lies between
// the least and the greatest of exp(-Ea/R (1/T - 1/ref)): colder than ref the
// larger energy is the slower, warmer the faster. The two are equal, and the age
// exact, with one energy or at ref throughout.
//
// Range and accuracy: as [EquivalentAge]. The conversion is a function of the
// age in the bounds; how its shape at ref looks does not matter.
func EquivalentAgeBounds(ea1, ea2 units.MolarEnergy, ref units.Temperature, t climate.Trace, from, to time.Duration) (least, most time.Duration, err error) {
	const fn = "cure.EquivalentAgeBounds"
	if err := errors.Join(checkEa(fn, "ea1", ea1), checkEa(fn, "ea2", ea2), celsius(fn, "ref", ref, coldest, hottest)); err != nil {
		return 0, 0, err
	}
	if err := stretch(fn, t, from, to); err != nil {
		return 0, 0, err
	}
	small, large := ageLine(min(ea1, ea2), ref), ageLine(max(ea1, ea2), ref)
	var ages [2]time.Duration
	for i, cold := range [2]line{large, small} {
		warm := small
		if i == 1 {
			warm = large
		}
		warm.lo = ref.Kelvin()
		w := walk{n: 2}
		w.within(fn, coldest, hottest)
		w.buf[0], w.buf[1] = cold, warm
		s, _, _ := w.along(t, from, to, math.Inf(1))
		d, err := age(fn, s)
		if err != nil {
			return 0, 0, err
		}
		ages[i] = d
	}
	return ages[0], ages[1], nil
}
