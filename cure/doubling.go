package cure

import (
	"errors"
	"math"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// A Doubling is the rule of thumb that the rate doubles with every Step:
//
//	t(T) = Time 2^((Ref - T)/Step)
//
// It is not Arrhenius: doubling per 10 K is 44.6 kJ/mol from 0 °C to 10 °C and
// 54.7 kJ/mol from 30 °C to 40 °C.
//
// Time is a field and so cannot be the method of a [Law]; [Doubling.Law] is the law.
//
// Range: Step 1 K to 100 K; Ref -60 °C to 150 °C; Time above zero. The law holds
// from -60 °C to 150 °C, as far as the user dares.
// Source: common practice, no source.
type Doubling struct {
	Step units.TempDelta
	Ref  units.Temperature
	Time time.Duration // at Ref
}

// Validate returns an error unless d is in range.
func (d Doubling) Validate() error {
	const fn = "cure.Doubling"
	return errors.Join(units.InRange(fn, "Step", float64(d.Step), 1, 100, "K"),
		celsius(fn, "Ref", d.Ref, coldest, hottest), checkTime(fn, "Time", d.Time))
}

// Law returns d as a law. Of one that is not valid the law's error is [Doubling.Validate]'s.
func (d Doubling) Law() Law {
	if err := d.Validate(); err != nil {
		return lineLaw{err: err}
	}
	return lineLaw{fn: "cure.Doubling", lo: coldest, hi: hottest, line: line{at: d.Ref.Kelvin(), a: -math.Log(d.Time.Seconds()), c: math.Ln2 / float64(d.Step)}}
}
