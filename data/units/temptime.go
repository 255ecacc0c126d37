package units

// A TempTime is the integral of a temperature difference over time: a maturity. SI: K s.
type TempTime float64

// Units of TempTime.
const (
	KelvinSecond   TempTime = 1    // SI
	KelvinHour     TempTime = 3600 // exact
	FahrenheitHour TempTime = 2000 // 5/9 of 3600, exact
)

var tempTimes = kind{
	name: "temperature-time",
	symbols: []symbol{
		{"K s", 0, 1, ""},
		{"K h", 2, 36, "°C_h degC_h"},
		{"°F h", 3, 2, "degF_h"},
	},
	si: []scale{{0, "K h", 4}},
	us: []scale{{0, "°F h", 4}},
}

// String returns q in SI, exactly.
func (q TempTime) String() string { return tempTimes.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q TempTime) MarshalText() ([]byte, error) { return tempTimes.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of TempTime; anything else is a [*ParseError].
func (q *TempTime) UnmarshalText(text []byte) error { return unmarshal(q, &tempTimes, text) }

func (q TempTime) quantity() (*kind, float64) { return &tempTimes, float64(q) }
