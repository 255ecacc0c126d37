package units

// A Mass is an amount of matter. SI: kg.
type Mass float64

// Units of Mass.
const (
	Kilogram  Mass = 1          // SI
	Gram      Mass = 1e-3       // SI
	Milligram Mass = 1e-6       // SI
	Tonne     Mass = 1000       // 1000 kg
	Pound     Mass = 0.45359237 // exact
)

var masses = kind{
	name: "mass",
	symbols: []symbol{
		{"kg", 0, 1, ""},
		{"g", -3, 1, ""},
		{"mg", -6, 1, ""},
		{"t", 3, 1, ""},
		{"lb", 0, 0.45359237, "lbs"},
	},
	si: []scale{{1, "kg", 3}, {0, "g", 3}},
	us: []scale{{0, "lb", 3}},
}

// String returns q in SI, exactly.
func (q Mass) String() string { return masses.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q Mass) MarshalText() ([]byte, error) { return masses.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of Mass; anything else is a [*ParseError].
func (q *Mass) UnmarshalText(text []byte) error { return unmarshal(q, &masses, text) }

func (q Mass) quantity() (*kind, float64) { return &masses, float64(q) }
