package units

// A Flow is a volume per time: air through a fan, mortar through a crew. SI: m3/s.
type Flow float64

// Units of Flow.
const (
	CubicMetrePerSecond Flow = 1                                     // SI
	CubicMetrePerHour   Flow = 1.0 / 3600                            // exact
	LitrePerSecond      Flow = 1e-3                                  // SI
	LitrePerMinute      Flow = 1e-3 / 60                             // exact
	CubicFootPerMinute  Flow = 0.3048 * 0.3048 * 0.3048 / 60         // exact
	GallonPerMinute     Flow = 231 * 0.0254 * 0.0254 * 0.0254 / 60   // exact
	GallonPerHour       Flow = 231 * 0.0254 * 0.0254 * 0.0254 / 3600 // exact
)

var flows = kind{
	name: "flow",
	symbols: []symbol{
		{"m3/s", 0, 1, "m³/s"},
		{"L/s", -3, 1, "l/s"},
		{"m3/h", 0, 1.0 / 3600, "m³/h"},
		{"L/min", -3, 1.0 / 60, "l/min"},
		{"L/h", -3, 1.0 / 3600, "l/h"},
		{"ft3/min", 0, 0.3048 * 0.3048 * 0.3048 / 60, "cfm ft³/min"},
		{"ft3/h", 0, 0.3048 * 0.3048 * 0.3048 / 3600, "ft³/h"},
		{"gal/min", 0, 231 * 0.0254 * 0.0254 * 0.0254 / 60, ""},
		{"gal/h", 0, 231 * 0.0254 * 0.0254 * 0.0254 / 3600, ""},
	},
	si: []scale{{0.01, "m3/s", 3}, {0, "L/s", 3}},
	us: []scale{{0, "ft3/min", 3}},
}

// String returns q in SI, exactly.
func (q Flow) String() string { return flows.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q Flow) MarshalText() ([]byte, error) { return flows.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of Flow; anything else is a [*ParseError].
func (q *Flow) UnmarshalText(text []byte) error { return unmarshal(q, &flows, text) }

func (q Flow) quantity() (*kind, float64) { return &flows, float64(q) }
