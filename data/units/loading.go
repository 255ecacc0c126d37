package units

// A Loading is a mass per area: aggregate on a floor. SI: kg/m2.
type Loading float64

// Units of Loading.
const (
	KilogramPerSquareMetre Loading = 1                              // SI
	GramPerSquareMetre     Loading = 1e-3                           // SI
	PoundPerSquareFoot     Loading = 0.45359237 / (0.3048 * 0.3048) // exact
	PoundPerSquareYard     Loading = 0.45359237 / (0.9144 * 0.9144) // exact
)

var loadings = kind{
	name: "loading",
	symbols: []symbol{
		{"kg/m2", 0, 1, "kg/m²"},
		{"g/m2", -3, 1, "g/m²"},
		{"lb/ft2", 0, 0.45359237 / (0.3048 * 0.3048), "lb/ft²"},
		{"lb/yd2", 0, 0.45359237 / (0.9144 * 0.9144), "lb/yd²"},
		{"lb/100 ft2", 0, 0.45359237 / (100 * 0.3048 * 0.3048), "lb/100ft2"},
		{"lb/1000 ft2", 0, 0.45359237 / (1000 * 0.3048 * 0.3048), "lb/1000ft2"},
	},
	si: []scale{{0.1, "kg/m2", 3}, {0, "g/m2", 3}},
	us: []scale{{0, "lb/ft2", 3}},
}

// String returns q in SI, exactly.
func (q Loading) String() string { return loadings.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q Loading) MarshalText() ([]byte, error) { return loadings.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of Loading; anything else is a [*ParseError].
func (q *Loading) UnmarshalText(text []byte) error { return unmarshal(q, &loadings, text) }

func (q Loading) quantity() (*kind, float64) { return &loadings, float64(q) }
