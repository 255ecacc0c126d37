package units

// A Rate is a number per time: air changes, reaction rates. SI: 1/s.
type Rate float64

// Units of Rate.
const (
	PerSecond Rate = 1           // SI
	PerHour   Rate = 1.0 / 3600  // exact
	PerDay    Rate = 1.0 / 86400 // exact
)

var rates = kind{
	name: "rate",
	symbols: []symbol{
		{"1/s", 0, 1, ""},
		{"1/min", 0, 1.0 / 60, ""},
		{"1/h", 0, 1.0 / 3600, "/h ach"},
		{"1/d", 0, 1.0 / 86400, "/d"},
	},
	si: []scale{{0, "1/h", 3}},
	us: []scale{{0, "1/h", 3}},
}

// String returns q in SI, exactly.
func (q Rate) String() string { return rates.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q Rate) MarshalText() ([]byte, error) { return rates.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of Rate; anything else is a [*ParseError].
func (q *Rate) UnmarshalText(text []byte) error { return unmarshal(q, &rates, text) }

func (q Rate) quantity() (*kind, float64) { return &rates, float64(q) }
