package units

// A HeatFlux is a power per area. SI: W/m2.
type HeatFlux float64

// Units of HeatFlux.
const (
	WattPerSquareMetre   HeatFlux = 1                                        // SI
	BtuPerHourSquareFoot HeatFlux = 1055.05585262 / (3600 * 0.3048 * 0.3048) // exact
)

var heatFluxes = kind{
	name: "heat flux",
	symbols: []symbol{
		{"W/m2", 0, 1, "W/m²"},
		{"Btu/(h ft2)", 0, 1055.05585262 / (3600 * 0.3048 * 0.3048), ""},
	},
	si: []scale{{0, "W/m2", 3}},
	us: []scale{{0, "Btu/(h ft2)", 3}},
}

// String returns q in SI, exactly.
func (q HeatFlux) String() string { return heatFluxes.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q HeatFlux) MarshalText() ([]byte, error) { return heatFluxes.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of HeatFlux; anything else is a [*ParseError].
func (q *HeatFlux) UnmarshalText(text []byte) error { return unmarshal(q, &heatFluxes, text) }

func (q HeatFlux) quantity() (*kind, float64) { return &heatFluxes, float64(q) }
