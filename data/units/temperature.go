package units

import (
	"math"
	"strconv"
)

// A Temperature is a point on the thermodynamic scale. It is a struct, so that
// two of them cannot be added or multiplied; a difference is a [TempDelta].
// The zero value, 0 K, is nobody's floor: every model rejects it.
type Temperature struct{ k float64 }

// Kelvin returns the temperature of k kelvin.
func Kelvin(k float64) Temperature { return Temperature{k} }

// Celsius returns the temperature of c °C, c + 273.15 K (NIST SP 811, B.8).
func Celsius(c float64) Temperature { return Temperature{c + 273.15} }

// Fahrenheit returns the temperature of f °F, (f - 32)/1.8 + 273.15 K (NIST SP 811, B.8).
func Fahrenheit(f float64) Temperature { return Temperature{(f-32)/1.8 + 273.15} }

// NaNTemperature is what models return beside an error.
func NaNTemperature() Temperature { return Temperature{math.NaN()} }

// Kelvin returns t in K.
func (t Temperature) Kelvin() float64 { return t.k }

// Celsius returns t in °C.
func (t Temperature) Celsius() float64 { return t.k - 273.15 }

// Fahrenheit returns t in °F.
func (t Temperature) Fahrenheit() float64 { return (t.k-273.15)*1.8 + 32 }

// Sub returns t - u.
func (t Temperature) Sub(u Temperature) TempDelta { return TempDelta(t.k - u.k) }

// Add returns t + d.
func (t Temperature) Add(d TempDelta) Temperature { return Temperature{t.k + float64(d)} }

// Less reports whether t is colder than u.
func (t Temperature) Less(u Temperature) bool { return t.k < u.k }

// IsZero reports whether t is the zero value, which stands for "not given".
func (t Temperature) IsZero() bool { return t.k == 0 }

// IsNaN reports whether t came with an error.
func (t Temperature) IsNaN() bool { return math.IsNaN(t.k) }

// degrees has the symbols of Temperature, for finding and listing only.
var degrees = kind{
	name: "temperature",
	symbols: []symbol{
		{"K", 0, 1, ""},
		{"°C", 0, 1, "degC ℃"},
		{"°F", 0, 1, "degF ℉"},
	},
	si: []scale{{0, "°C", 3}},
	us: []scale{{0, "°F", 3}},
}

// String returns t exactly: in °C where that text reads back as the same
// value, else in K.
func (t Temperature) String() string {
	if c := math.Round(t.Celsius()*1e9) / 1e9; Celsius(c) == t {
		return shift(c, 0) + " °C"
	}
	return shift(t.k, 0) + " K"
}

// MarshalText returns the text of String. A temperature that is not finite and
// above 0 K is an error.
func (t Temperature) MarshalText() ([]byte, error) {
	if !(t.k > 0) || math.IsInf(t.k, 0) {
		return nil, &ParseError{Kind: degrees.name, Text: t.String(), Reason: "not a finite temperature above 0 K", Allowed: degrees.list()}
	}
	return []byte(t.String()), nil
}

// UnmarshalText reads "50 °F", "50 degF", "10 °C", "10 degC" or "283.15 K".
// Anything else, and anything not above 0 K, is a [*ParseError].
func (t *Temperature) UnmarshalText(text []byte) error {
	u, err := parseTemperature(string(text))
	if err == nil {
		*t = u
	}
	return err
}

func parseTemperature(text string) (Temperature, error) {
	fail := func(reason string) (Temperature, error) {
		return NaNTemperature(), &ParseError{Kind: degrees.name, Text: text, Reason: reason, Allowed: degrees.list()}
	}
	mant, exp, y, reason := degrees.resolve(text)
	if reason != "" {
		return fail(reason)
	}
	v, err := strconv.ParseFloat(mant+"e"+strconv.Itoa(exp), 64)
	if err != nil {
		return fail("too large")
	}
	var t Temperature
	switch y.name {
	case "K":
		t = Kelvin(v)
	case "°C":
		t = Celsius(v)
	default:
		t = Fahrenheit(v)
	}
	if !(t.k > 0) || math.IsInf(t.k, 0) {
		return fail("not above absolute zero (0 K, -273.15 °C, -459.67 °F)")
	}
	return t, nil
}

func (t Temperature) quantity() (*kind, float64) { return &degrees, t.k }
