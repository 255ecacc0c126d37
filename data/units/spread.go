package units

// A Spread is the area that a volume covers. SI: m2/m3, the reciprocal of a film.
type Spread float64

// Units of Spread.
const (
	SquareMetrePerCubicMetre Spread = 1                                                  // SI
	SquareMetrePerLitre      Spread = 1000                                               // SI
	SquareFootPerGallon      Spread = 0.3048 * 0.3048 / (231 * 0.0254 * 0.0254 * 0.0254) // exact
)

var spreads = kind{
	name: "spread",
	symbols: []symbol{
		{"m2/m3", 0, 1, "m²/m³"},
		{"m2/L", 3, 1, "m²/L m2/l"},
		{"ft2/gal", 0, 0.3048 * 0.3048 / (231 * 0.0254 * 0.0254 * 0.0254), "ft²/gal"},
	},
	si: []scale{{0, "m2/L", 3}},
	us: []scale{{0, "ft2/gal", 3}},
}

// String returns q in SI, exactly.
func (q Spread) String() string { return spreads.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q Spread) MarshalText() ([]byte, error) { return spreads.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of Spread; anything else is a [*ParseError].
func (q *Spread) UnmarshalText(text []byte) error { return unmarshal(q, &spreads, text) }

func (q Spread) quantity() (*kind, float64) { return &spreads, float64(q) }
