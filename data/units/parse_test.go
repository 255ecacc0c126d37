package units_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/tackfree/tackfree/data/units"
)

// The texts are those of common data sheets; factors by NIST SP 811.
func TestLengthText(t *testing.T) {
	for _, tc := range []struct {
		text string
		want units.Length
	}{
		{"10 mil", 10 * units.Mil}, {"0.254 mm", 0.000254}, {"1e3 um", 0.001}, {"-5 ft", -5 * units.Foot}, {"2in", 2 * units.Inch},
	} {
		var l units.Length
		if err := l.UnmarshalText([]byte(tc.text)); err != nil || l != tc.want {
			t.Errorf("%q: got %v, %v; want %v", tc.text, float64(l), err, float64(tc.want))
		}
	}
	for _, bad := range []string{"", "10", "ten mil", "10 lb", "10 thou", "1,000 mil", "1_000 mil", "NaN mil", "Inf m", "10 mil wet", "1.2.3 m", "1 2 m", "0x10 m", "1e999 m", "5 F"} {
		var l units.Length
		err := l.UnmarshalText([]byte(bad))
		if !errors.Is(err, units.ErrParse) || !strings.Contains(err.Error(), "mil") {
			t.Errorf("%q: got %v, %v; want an error that lists the symbols", bad, l, err)
		}
	}
}

func TestTemperatureText(t *testing.T) {
	for _, tc := range []struct {
		text string
		c    float64
	}{{"50 °F", 10}, {"50 degF", 10}, {"-5 °C", -5}, {"283.15 K", 10}, {"−5 °C", -5}} {
		var x units.Temperature
		if err := x.UnmarshalText([]byte(tc.text)); err != nil || x.Sub(units.Celsius(tc.c)) > 1e-12 || x.Sub(units.Celsius(tc.c)) < -1e-12 {
			t.Errorf("%q: got %v, %v; want %v °C", tc.text, x, err, tc.c)
		}
	}
	for _, bad := range []string{"50", "0 K", "-500 °F", "50 F", "NaN °C", "20 mil"} {
		var x units.Temperature
		if err := x.UnmarshalText([]byte(bad)); !errors.Is(err, units.ErrParse) {
			t.Errorf("%q: got %v, %v; want an error", bad, x, err)
		}
	}
}
