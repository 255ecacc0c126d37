package units

// A Conductivity is a thermal conductivity. SI: W/(m K).
type Conductivity float64

// Units of Conductivity.
const (
	WattPerMetreKelvin       Conductivity = 1                                       // SI
	BtuPerHourFootFahrenheit Conductivity = 1055.05585262 * 9 / (5 * 3600 * 0.3048) // exact
)

var conductivities = kind{
	name: "thermal conductivity",
	symbols: []symbol{
		{"W/(m K)", 0, 1, "W/m_K W/mK W/(m·K)"},
		{"Btu/(h ft °F)", 0, 1055.05585262 * 9 / (5 * 3600 * 0.3048), "Btu/(h_ft_degF)"},
		{"Btu in/(h ft2 °F)", 0, 1055.05585262 * 9 / (5 * 3600 * 12 * 0.3048), "Btu_in/(h_ft2_degF)"},
	},
	si: []scale{{0, "W/(m K)", 3}},
	us: []scale{{0, "Btu/(h ft °F)", 3}},
}

// String returns q in SI, exactly.
func (q Conductivity) String() string { return conductivities.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q Conductivity) MarshalText() ([]byte, error) { return conductivities.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of Conductivity; anything else is a [*ParseError].
func (q *Conductivity) UnmarshalText(text []byte) error { return unmarshal(q, &conductivities, text) }

func (q Conductivity) quantity() (*kind, float64) { return &conductivities, float64(q) }
