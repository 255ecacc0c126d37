package units

// A Power is an energy per time: a heater's output. SI: W.
type Power float64

// Units of Power.
const (
	Watt       Power = 1                    // SI
	Kilowatt   Power = 1e3                  // SI
	Megawatt   Power = 1e6                  // SI
	BtuPerHour Power = 1055.05585262 / 3600 // exact
)

var powers = kind{
	name: "power",
	symbols: []symbol{
		{"W", 0, 1, ""},
		{"kW", 3, 1, ""},
		{"MW", 6, 1, ""},
		{"Btu/h", 0, 1055.05585262 / 3600, "Btu/hr"},
		{"MMBtu/h", 6, 1055.05585262 / 3600, "MMBtu/hr"},
	},
	si: []scale{{1e3, "kW", 3}, {0, "W", 3}},
	us: []scale{{0, "Btu/h", 3}},
}

// String returns q in SI, exactly.
func (q Power) String() string { return powers.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q Power) MarshalText() ([]byte, error) { return powers.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of Power; anything else is a [*ParseError].
func (q *Power) UnmarshalText(text []byte) error { return unmarshal(q, &powers, text) }

func (q Power) quantity() (*kind, float64) { return &powers, float64(q) }
