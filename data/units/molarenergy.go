package units

// A MolarEnergy is an energy per amount of substance: an activation energy. SI: J/mol.
type MolarEnergy float64

// Units of MolarEnergy.
const (
	JoulePerMole       MolarEnergy = 1    // SI
	KilojoulePerMole   MolarEnergy = 1e3  // SI
	KilocaloriePerMole MolarEnergy = 4184 // thermochemical, exact
)

var molarEnergies = kind{
	name: "molar energy",
	symbols: []symbol{
		{"J/mol", 0, 1, ""},
		{"kJ/mol", 3, 1, ""},
		{"kcal/mol", 0, 4184, ""},
	},
	si: []scale{{0, "kJ/mol", 3}},
	us: []scale{{0, "kJ/mol", 3}},
}

// String returns q in SI, exactly.
func (q MolarEnergy) String() string { return molarEnergies.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q MolarEnergy) MarshalText() ([]byte, error) { return molarEnergies.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of MolarEnergy; anything else is a [*ParseError].
func (q *MolarEnergy) UnmarshalText(text []byte) error { return unmarshal(q, &molarEnergies, text) }

func (q MolarEnergy) quantity() (*kind, float64) { return &molarEnergies, float64(q) }
