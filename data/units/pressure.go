package units

// A Pressure is a force per area; also a bond or compressive strength. SI: Pa.
type Pressure float64

// Units of Pressure.
const (
	Pascal             Pressure = 1                                        // SI
	Hectopascal        Pressure = 100                                      // SI
	Kilopascal         Pressure = 1e3                                      // SI
	Megapascal         Pressure = 1e6                                      // SI
	Bar                Pressure = 1e5                                      // exact
	Atmosphere         Pressure = 101325                                   // standard atmosphere, exact
	PoundPerSquareInch Pressure = 0.45359237 * 9.80665 / (0.0254 * 0.0254) // lbf/in2, exact
	InchOfMercury      Pressure = 3386.389                                 // conventional, NIST SP 811 table B.8
)

var pressures = kind{
	name: "pressure",
	symbols: []symbol{
		{"Pa", 0, 1, ""},
		{"hPa", 2, 1, "mbar"},
		{"kPa", 3, 1, ""},
		{"MPa", 6, 1, "N/mm2"},
		{"bar", 5, 1, ""},
		{"atm", 0, 101325, ""},
		{"psi", 0, 0.45359237 * 9.80665 / (0.0254 * 0.0254), "lbf/in2"},
		{"inHg", 0, 3386.389, ""},
		{"mmHg", 0, 133.3224, ""},
	},
	si: []scale{{1e6, "MPa", 3}, {1e3, "kPa", 4}, {0, "Pa", 3}},
	us: []scale{{0, "psi", 3}},
}

// String returns q in SI, exactly.
func (q Pressure) String() string { return pressures.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q Pressure) MarshalText() ([]byte, error) { return pressures.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of Pressure; anything else is a [*ParseError].
func (q *Pressure) UnmarshalText(text []byte) error { return unmarshal(q, &pressures, text) }

func (q Pressure) quantity() (*kind, float64) { return &pressures, float64(q) }
