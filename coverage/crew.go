package coverage

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"github.com/tackfree/tackfree/data/units"
)

// A Crew is how evenly a crew lays a film, from its readings.
type Crew struct {
	N        int
	Mean     units.Length
	Scatter  units.Length   // standard deviation of a reading, with n - 1
	Relative units.Fraction // Scatter over Mean
	Counted  units.Fraction // share of the readings below nominal
	Expected units.Fraction // the share below nominal of a normal film of this Mean and Scatter
	Doubt    units.Length   // half the width of the 95 % interval of the mean (Student's t)
}

// Capability returns what readings say of a crew: mean, scatter and the share
// below nominal. The readings are taken as independent and near normal; with
// few of them Doubt is wide.
//
// Range: at least two readings, 0 to 1 m; nominal above 0 to 1 m.
// Accuracy: the arithmetic 1e-12; that films scatter normally is common practice, no source.
// Source: mean and scatter, NIST/SEMATECH e-Handbook 1.3.5; interval 7.2.2.1, from memory.
func Capability(readings []units.Length, nominal units.Length) (Crew, error) {
	const fn = "coverage.Capability"
	nan := units.Length(math.NaN())
	share := units.Fraction(math.NaN())
	bad := Crew{Mean: nan, Scatter: nan, Relative: share, Counted: share, Expected: share, Doubt: nan}
	err := aboveZero(fn, "nominal", float64(nominal), mils(nominal), thickest, "mil")
	if len(readings) < 2 {
		err = errors.Join(err, fmt.Errorf("%s: %d readings: want at least 2: %w", fn, len(readings), units.ErrRange))
	}
	if err = errors.Join(err, readable(fn, readings)); err != nil {
		return bad, err
	}
	n := len(readings)
	d := make([]float64, n)
	below := 0
	for i, r := range readings {
		d[i] = float64(r)
		if r < nominal*(1-1e-9) {
			below++
		}
	}
	m, s := stat.MeanStdDev(d, nil)
	c := Crew{N: n, Mean: units.Length(m), Scatter: units.Length(s), Counted: units.Fraction(below) / units.Fraction(n)}
	if c.Mean > 0 {
		c.Relative = units.Fraction(c.Scatter / c.Mean)
	}
	switch {
	case s > 0:
		c.Expected = units.Fraction(distuv.UnitNormal.CDF(float64(nominal-c.Mean) / s))
	case c.Mean < nominal*(1-1e-9):
		c.Expected = 1
	}
	c.Doubt = units.Length(distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(n - 1)}.Quantile(0.975) * s / math.Sqrt(float64(n)))
	return c, nil
}

// AimFor returns the mean film that a crew must lay so that at most a share of
// the floor is below nominal: nominal/(1 - z scatter), with scatter relative to
// the mean and z the normal quantile of 1 - below.
//
// Range: nominal above 0 to 1 m; scatter 0 to 100 %; below 0.01 to 50 %; with
// z scatter at most 0.95, beyond which no mean does.
// Accuracy: z 1e-9. Source: normal distribution; that films scatter so is common practice, no source.
func AimFor(nominal units.Length, scatter, below units.Fraction) (units.Length, error) {
	const fn = "coverage.AimFor"
	err := errors.Join(aboveZero(fn, "nominal", float64(nominal), mils(nominal), thickest, "mil"),
		units.FromZero(fn, "scatter", percent(scatter), 100, "%"), units.InRange(fn, "below", percent(below), 0.01, 50, "%"))
	if err != nil {
		return units.Length(math.NaN()), err
	}
	z := math.Sqrt2 * math.Erfinv(1-2*float64(below))
	if z*float64(scatter) > 0.95 {
		return units.Length(math.NaN()), &units.RangeError{Func: fn, Arg: "scatter", Got: percent(scatter), Lo: 0, Hi: 95 / z, Unit: "%"}
	}
	return nominal / units.Length(1-z*float64(scatter)), nil
}
