package units

// A FilmCoefficient is a surface heat transfer coefficient or a thermal transmittance. SI: W/(m2 K).
type FilmCoefficient float64

// Units of FilmCoefficient.
const (
	WattPerSquareMetreKelvin       FilmCoefficient = 1                                                // SI
	BtuPerHourSquareFootFahrenheit FilmCoefficient = 1055.05585262 * 9 / (5 * 3600 * 0.3048 * 0.3048) // exact
)

var filmCoefficients = kind{
	name: "film coefficient",
	symbols: []symbol{
		{"W/(m2 K)", 0, 1, "W/m2_K W/m2K W/(m²·K) W/(m²_K)"},
		{"Btu/(h ft2 °F)", 0, 1055.05585262 * 9 / (5 * 3600 * 0.3048 * 0.3048), "Btu/(h_ft2_degF)"},
	},
	si: []scale{{0, "W/(m2 K)", 3}},
	us: []scale{{0, "Btu/(h ft2 °F)", 3}},
}

// String returns q in SI, exactly.
func (q FilmCoefficient) String() string { return filmCoefficients.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q FilmCoefficient) MarshalText() ([]byte, error) { return filmCoefficients.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of FilmCoefficient; anything else is a [*ParseError].
func (q *FilmCoefficient) UnmarshalText(text []byte) error {
	return unmarshal(q, &filmCoefficients, text)
}

func (q FilmCoefficient) quantity() (*kind, float64) { return &filmCoefficients, float64(q) }
