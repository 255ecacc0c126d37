package units

// A MassFlux is a mass per area and time: moisture leaving a slab. SI: kg/(m2 s).
type MassFlux float64

// Units of MassFlux.
const (
	KilogramPerSquareMetreSecond  MassFlux = 1                                             // SI
	GramPerSquareMetreDay         MassFlux = 1e-3 / 86400                                  // exact
	PoundPerThousandSquareFeetDay MassFlux = 0.45359237 / (1000 * 0.3048 * 0.3048 * 86400) // exact; the unit of ASTM F1869
)

var massFluxes = kind{
	name: "mass flux",
	symbols: []symbol{
		{"kg/(m2 s)", 0, 1, "kg/m2s"},
		{"kg/(m2 h)", 0, 1.0 / 3600, "kg/m2h"},
		{"g/(m2 d)", -3, 1.0 / 86400, "g/m2/24_h g/m2d"},
		{"lb/(1000 ft2 d)", 0, 0.45359237 / (1000 * 0.3048 * 0.3048 * 86400), "lb/1000_ft2/24_h lb/1000_ft2"},
	},
	si: []scale{{0, "g/(m2 d)", 3}},
	us: []scale{{0, "lb/(1000 ft2 d)", 3}},
}

// String returns q in SI, exactly.
func (q MassFlux) String() string { return massFluxes.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q MassFlux) MarshalText() ([]byte, error) { return massFluxes.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of MassFlux; anything else is a [*ParseError].
func (q *MassFlux) UnmarshalText(text []byte) error { return unmarshal(q, &massFluxes, text) }

func (q MassFlux) quantity() (*kind, float64) { return &massFluxes, float64(q) }
