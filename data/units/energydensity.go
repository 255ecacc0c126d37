package units

// An EnergyDensity is an energy per volume: the heating value of a fuel sold by volume. SI: J/m3.
type EnergyDensity float64

// Units of EnergyDensity.
const (
	JoulePerCubicMetre EnergyDensity = 1                                                // SI
	MegajoulePerLitre  EnergyDensity = 1e9                                              // SI
	BtuPerGallon       EnergyDensity = 1055.05585262 / (231 * 0.0254 * 0.0254 * 0.0254) // exact
	BtuPerCubicFoot    EnergyDensity = 1055.05585262 / (0.3048 * 0.3048 * 0.3048)       // exact
)

var energyDensities = kind{
	name: "energy per volume",
	symbols: []symbol{
		{"J/m3", 0, 1, ""},
		{"MJ/m3", 6, 1, "kJ/L"},
		{"MJ/L", 9, 1, ""},
		{"Btu/gal", 0, 1055.05585262 / (231 * 0.0254 * 0.0254 * 0.0254), ""},
		{"Btu/ft3", 0, 1055.05585262 / (0.3048 * 0.3048 * 0.3048), ""},
	},
	si: []scale{{1e9, "MJ/L", 3}, {0, "MJ/m3", 3}},
	us: []scale{{1e9, "Btu/gal", 3}, {0, "Btu/ft3", 3}},
}

// String returns q in SI, exactly.
func (q EnergyDensity) String() string { return energyDensities.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q EnergyDensity) MarshalText() ([]byte, error) { return energyDensities.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of EnergyDensity; anything else is a [*ParseError].
func (q *EnergyDensity) UnmarshalText(text []byte) error { return unmarshal(q, &energyDensities, text) }

func (q EnergyDensity) quantity() (*kind, float64) { return &energyDensities, float64(q) }
