package units

// A Density is a mass per volume. SI: kg/m3.
type Density float64

// Units of Density.
const (
	KilogramPerCubicMetre Density = 1                                             // SI
	KilogramPerLitre      Density = 1000                                          // SI
	GramPerMillilitre     Density = 1000                                          // SI
	PoundPerGallon        Density = 0.45359237 / (231 * 0.0254 * 0.0254 * 0.0254) // exact
	PoundPerCubicFoot     Density = 0.45359237 / (0.3048 * 0.3048 * 0.3048)       // exact
)

var densities = kind{
	name: "density",
	symbols: []symbol{
		{"kg/m3", 0, 1, "kg/m³ g/L"},
		{"kg/L", 3, 1, "kg/l g/mL g/ml g/cm3 g/cm³ t/m3"},
		{"lb/gal", 0, 0.45359237 / (231 * 0.0254 * 0.0254 * 0.0254), ""},
		{"lb/ft3", 0, 0.45359237 / (0.3048 * 0.3048 * 0.3048), "lb/ft³"},
	},
	si: []scale{{100, "kg/L", 3}, {0, "kg/m3", 3}},
	us: []scale{{0, "lb/gal", 3}},
}

// String returns q in SI, exactly.
func (q Density) String() string { return densities.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q Density) MarshalText() ([]byte, error) { return densities.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of Density; anything else is a [*ParseError].
func (q *Density) UnmarshalText(text []byte) error { return unmarshal(q, &densities, text) }

func (q Density) quantity() (*kind, float64) { return &densities, float64(q) }
