package units

// A MassFlow is a mass per time: fuel burnt, water given off. SI: kg/s.
type MassFlow float64

// Units of MassFlow.
const (
	KilogramPerSecond MassFlow = 1                 // SI
	KilogramPerHour   MassFlow = 1.0 / 3600        // exact
	PoundPerHour      MassFlow = 0.45359237 / 3600 // exact
)

var massFlows = kind{
	name: "mass flow",
	symbols: []symbol{
		{"kg/s", 0, 1, ""},
		{"g/s", -3, 1, ""},
		{"kg/h", 0, 1.0 / 3600, ""},
		{"g/h", -3, 1.0 / 3600, ""},
		{"lb/h", 0, 0.45359237 / 3600, "lb/hr"},
	},
	si: []scale{{0, "kg/h", 3}},
	us: []scale{{0, "lb/h", 3}},
}

// String returns q in SI, exactly.
func (q MassFlow) String() string { return massFlows.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q MassFlow) MarshalText() ([]byte, error) { return massFlows.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of MassFlow; anything else is a [*ParseError].
func (q *MassFlow) UnmarshalText(text []byte) error { return unmarshal(q, &massFlows, text) }

func (q MassFlow) quantity() (*kind, float64) { return &massFlows, float64(q) }
