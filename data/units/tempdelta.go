package units

// A TempDelta is a difference of two temperatures. SI: K.
type TempDelta float64

// Units of TempDelta.
const (
	KelvinDelta     TempDelta = 1       // SI
	CelsiusDelta    TempDelta = 1       // 1 K
	FahrenheitDelta TempDelta = 5.0 / 9 // exact
)

var tempDeltas = kind{
	name: "temperature difference",
	symbols: []symbol{
		{"K", 0, 1, "°C degC"},
		{"°F", 0, 5.0 / 9, "degF"},
	},
	si: []scale{{0, "K", 2}},
	us: []scale{{0, "°F", 2}},
}

// String returns q in SI, exactly.
func (q TempDelta) String() string { return tempDeltas.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q TempDelta) MarshalText() ([]byte, error) { return tempDeltas.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of TempDelta; anything else is a [*ParseError].
func (q *TempDelta) UnmarshalText(text []byte) error { return unmarshal(q, &tempDeltas, text) }

func (q TempDelta) quantity() (*kind, float64) { return &tempDeltas, float64(q) }
