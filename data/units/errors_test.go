package units_test

import (
	"errors"
	"math"
	"testing"

	"github.com/tackfree/tackfree/data/units"
)

// The limits give way for the rounding of conversions, by STYLE's rule, but
// never below nothing. Common practice, no source.
func TestRanges(t *testing.T) {
	for _, v := range []float64{0, 1, 1e12} {
		if err := units.FromZero("f", "x", v, 1e12, "kg"); err != nil {
			t.Errorf("%g: %v", v, err)
		}
	}
	for _, v := range []float64{-500, -1e-12, -math.SmallestNonzeroFloat64, math.NaN(), math.Inf(1), math.Inf(-1), 1.1e12} {
		if err := units.FromZero("f", "x", v, 1e12, "kg"); !errors.Is(err, units.ErrRange) {
			t.Errorf("%g: %v; want a range error", v, err)
		}
	}
	if err := units.InRange("f", "x", units.Fahrenheit(140).Celsius(), -45, 60, "°C"); err != nil {
		t.Errorf("140 °F against 60 °C: %v", err)
	}
	if err := units.InRange("f", "x", 60.001, -45, 60, "°C"); err == nil || err.Error() != "f: x = 60.001 °C: want -45 to 60" {
		t.Errorf("60.001: %v", err)
	}
}
