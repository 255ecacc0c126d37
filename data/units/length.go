package units

// A Length is a distance, a film thickness, or a volume per area. SI: m.
type Length float64

// Units of Length.
const (
	Metre      Length = 1       // SI
	Kilometre  Length = 1e3     // SI
	Centimetre Length = 1e-2    // SI
	Millimetre Length = 1e-3    // SI
	Micrometre Length = 1e-6    // SI
	Mil        Length = 25.4e-6 // 0.001 in, exact
	Inch       Length = 0.0254  // exact
	Foot       Length = 0.3048  // exact
	Yard       Length = 0.9144  // exact
)

var lengths = kind{
	name: "length",
	symbols: []symbol{
		{"m", 0, 1, ""},
		{"km", 3, 1, ""},
		{"cm", -2, 1, ""},
		{"mm", -3, 1, ""},
		{"um", -6, 1, "µm μm"},
		{"nm", -9, 1, ""},
		{"mil", 0, 25.4e-6, ""},
		{"in", 0, 0.0254, ""},
		{"ft", 0, 0.3048, ""},
		{"yd", 0, 0.9144, ""},
		{"mi", 0, 1609.344, ""},
	},
	si: []scale{{1, "m", 3}, {1e-3, "mm", 3}, {0, "um", 3}},
	us: []scale{{3 * 0.3048, "ft", 3}, {0.2 * 0.0254, "in", 3}, {0, "mil", 3}},
}

// String returns q in SI, exactly.
func (q Length) String() string { return lengths.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q Length) MarshalText() ([]byte, error) { return lengths.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of Length; anything else is a [*ParseError].
func (q *Length) UnmarshalText(text []byte) error { return unmarshal(q, &lengths, text) }

func (q Length) quantity() (*kind, float64) { return &lengths, float64(q) }
