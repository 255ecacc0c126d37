package units

// An Area is a surface. SI: m2.
type Area float64

// Units of Area.
const (
	SquareMetre      Area = 1               // SI
	SquareMillimetre Area = 1e-6            // SI
	SquareInch       Area = 0.0254 * 0.0254 // exact
	SquareFoot       Area = 0.3048 * 0.3048 // exact
	SquareYard       Area = 0.9144 * 0.9144 // exact
)

var areas = kind{
	name: "area",
	symbols: []symbol{
		{"m2", 0, 1, "m²"},
		{"cm2", -4, 1, "cm²"},
		{"mm2", -6, 1, "mm²"},
		{"ha", 4, 1, ""},
		{"in2", 0, 0.0254 * 0.0254, "in²"},
		{"ft2", 0, 0.3048 * 0.3048, "ft²"},
		{"yd2", 0, 0.9144 * 0.9144, "yd²"},
		{"acre", 0, 43560 * 0.3048 * 0.3048, ""},
	},
	si: []scale{{0, "m2", 4}},
	us: []scale{{0, "ft2", 4}},
}

// String returns q in SI, exactly.
func (q Area) String() string { return areas.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q Area) MarshalText() ([]byte, error) { return areas.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of Area; anything else is a [*ParseError].
func (q *Area) UnmarshalText(text []byte) error { return unmarshal(q, &areas, text) }

func (q Area) quantity() (*kind, float64) { return &areas, float64(q) }
