package units

// A Conductance is a heat loss per temperature difference: a room's UA. SI: W/K.
type Conductance float64

// Units of Conductance.
const (
	WattPerKelvin        Conductance = 1                              // SI
	BtuPerHourFahrenheit Conductance = 1055.05585262 * 9 / (5 * 3600) // exact
)

var conductances = kind{
	name: "thermal conductance",
	symbols: []symbol{
		{"W/K", 0, 1, ""},
		{"Btu/(h °F)", 0, 1055.05585262 * 9 / (5 * 3600), "Btu/(h_degF)"},
	},
	si: []scale{{0, "W/K", 3}},
	us: []scale{{0, "Btu/(h °F)", 3}},
}

// String returns q in SI, exactly.
func (q Conductance) String() string { return conductances.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q Conductance) MarshalText() ([]byte, error) { return conductances.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of Conductance; anything else is a [*ParseError].
func (q *Conductance) UnmarshalText(text []byte) error { return unmarshal(q, &conductances, text) }

func (q Conductance) quantity() (*kind, float64) { return &conductances, float64(q) }
