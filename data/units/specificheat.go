package units

// A SpecificHeat is a heat capacity per mass. SI: J/(kg K).
type SpecificHeat float64

// Units of SpecificHeat.
const (
	JoulePerKilogramKelvin SpecificHeat = 1                                    // SI
	BtuPerPoundFahrenheit  SpecificHeat = 1055.05585262 * 9 / (5 * 0.45359237) // exact: 4186.8
)

var specificHeats = kind{
	name: "specific heat",
	symbols: []symbol{
		{"J/(kg K)", 0, 1, "J/kg_K J/kgK J/(kg·K)"},
		{"kJ/(kg K)", 3, 1, "kJ/kg_K kJ/kgK J/(g_K)"},
		{"Btu/(lb °F)", 0, 1055.05585262 * 9 / (5 * 0.45359237), "Btu/(lb_degF)"},
	},
	si: []scale{{0, "J/(kg K)", 4}},
	us: []scale{{0, "Btu/(lb °F)", 3}},
}

// String returns q in SI, exactly.
func (q SpecificHeat) String() string { return specificHeats.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q SpecificHeat) MarshalText() ([]byte, error) { return specificHeats.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of SpecificHeat; anything else is a [*ParseError].
func (q *SpecificHeat) UnmarshalText(text []byte) error { return unmarshal(q, &specificHeats, text) }

func (q SpecificHeat) quantity() (*kind, float64) { return &specificHeats, float64(q) }
