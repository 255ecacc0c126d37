package units

// An Energy is an amount of heat or work. SI: J.
type Energy float64

// Units of Energy.
const (
	Joule        Energy = 1             // SI
	Kilojoule    Energy = 1e3           // SI
	Megajoule    Energy = 1e6           // SI
	Gigajoule    Energy = 1e9           // SI
	KilowattHour Energy = 3.6e6         // exact
	Btu          Energy = 1055.05585262 // International Table, exact
)

var energies = kind{
	name: "energy",
	symbols: []symbol{
		{"J", 0, 1, ""},
		{"kJ", 3, 1, ""},
		{"MJ", 6, 1, ""},
		{"GJ", 9, 1, ""},
		{"Wh", 2, 36, ""},
		{"kWh", 5, 36, ""},
		{"Btu", 0, 1055.05585262, ""},
		{"MMBtu", 6, 1055.05585262, ""},
	},
	si: []scale{{1e6, "MJ", 3}, {1e3, "kJ", 3}, {0, "J", 3}},
	us: []scale{{0, "Btu", 3}},
}

// String returns q in SI, exactly.
func (q Energy) String() string { return energies.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q Energy) MarshalText() ([]byte, error) { return energies.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of Energy; anything else is a [*ParseError].
func (q *Energy) UnmarshalText(text []byte) error { return unmarshal(q, &energies, text) }

func (q Energy) quantity() (*kind, float64) { return &energies, float64(q) }
