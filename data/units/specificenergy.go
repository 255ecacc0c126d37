package units

// A SpecificEnergy is an energy per mass: an enthalpy, a heating value. SI: J/kg.
type SpecificEnergy float64

// Units of SpecificEnergy.
const (
	JoulePerKilogram     SpecificEnergy = 1                          // SI
	KilojoulePerKilogram SpecificEnergy = 1e3                        // SI
	MegajoulePerKilogram SpecificEnergy = 1e6                        // SI
	BtuPerPound          SpecificEnergy = 1055.05585262 / 0.45359237 // exact: 2326
)

var specificEnergies = kind{
	name: "specific energy",
	symbols: []symbol{
		{"J/kg", 0, 1, ""},
		{"kJ/kg", 3, 1, "J/g"},
		{"MJ/kg", 6, 1, ""},
		{"Btu/lb", 0, 1055.05585262 / 0.45359237, ""},
	},
	si: []scale{{1e6, "MJ/kg", 3}, {0, "kJ/kg", 3}},
	us: []scale{{0, "Btu/lb", 3}},
}

// String returns q in SI, exactly.
func (q SpecificEnergy) String() string { return specificEnergies.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q SpecificEnergy) MarshalText() ([]byte, error) { return specificEnergies.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of SpecificEnergy; anything else is a [*ParseError].
func (q *SpecificEnergy) UnmarshalText(text []byte) error {
	return unmarshal(q, &specificEnergies, text)
}

func (q SpecificEnergy) quantity() (*kind, float64) { return &specificEnergies, float64(q) }
