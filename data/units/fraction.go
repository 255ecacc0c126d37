package units

// A Fraction is a share or a ratio of like quantities: 1 is 100 %.
type Fraction float64

// Units of Fraction.
const (
	One            Fraction = 1    // the whole
	Percent        Fraction = 0.01 // 1/100
	Permille       Fraction = 1e-3 // 1/1000
	PartPerMillion Fraction = 1e-6 // by amount or by mass, as the place says
)

var fractions = kind{
	name: "fraction",
	symbols: []symbol{
		{"%", -2, 1, ""},
		{"‰", -3, 1, "g/kg"},
		{"ppm", -6, 1, ""},
		{"kg/kg", 0, 1, "lb/lb"},
	},
	si: []scale{{1e-4, "%", 3}, {0, "ppm", 3}},
	us: []scale{{1e-4, "%", 3}, {0, "ppm", 3}},
}

// String returns q in SI, exactly.
func (q Fraction) String() string { return fractions.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q Fraction) MarshalText() ([]byte, error) { return fractions.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of Fraction; anything else is a [*ParseError].
func (q *Fraction) UnmarshalText(text []byte) error { return unmarshal(q, &fractions, text) }

func (q Fraction) quantity() (*kind, float64) { return &fractions, float64(q) }
