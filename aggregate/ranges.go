package aggregate

import (
	"errors"
	"fmt"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// above is [units.FromZero] where zero itself is not allowed.
func above(fn, arg string, v, hi float64, unit string) error {
	if v <= 0 {
		return &units.RangeError{Func: fn, Arg: arg, Got: v, Lo: 0, Hi: hi, Unit: unit, Above: true}
	}
	return units.InRange(fn, arg, v, 0, hi, unit)
}

// numbered names the element of a list in a range error.
func numbered(err error, i int) error {
	var r *units.RangeError
	if errors.As(err, &r) {
		named := *r
		named.Arg = fmt.Sprintf("[%d].%s", i, r.Arg)
		return &named
	}
	return err
}

func grainDensity(fn, arg string, rho units.Density) error {
	return units.InRange(fn, arg, float64(rho), 100, 20000, "kg/m3")
}

func nanOf[T ~float64]() T { return T(math.NaN()) }

func mm(l units.Length) float64    { return float64(l / units.Millimetre) }
func pct(f units.Fraction) float64 { return float64(f / units.Percent) }
