package units

// A Volume is a space or an amount of liquid. SI: m3. US measures are the liquid ones.
type Volume float64

// Units of Volume.
const (
	CubicMetre Volume = 1                                    // SI
	Litre      Volume = 1e-3                                 // SI
	Millilitre Volume = 1e-6                                 // SI
	Gallon     Volume = 231 * 0.0254 * 0.0254 * 0.0254       // 231 in3, exact
	Quart      Volume = 231 * 0.0254 * 0.0254 * 0.0254 / 4   // exact
	Pint       Volume = 231 * 0.0254 * 0.0254 * 0.0254 / 8   // exact
	FluidOunce Volume = 231 * 0.0254 * 0.0254 * 0.0254 / 128 // exact
	CubicInch  Volume = 0.0254 * 0.0254 * 0.0254             // exact
	CubicFoot  Volume = 0.3048 * 0.3048 * 0.3048             // exact
	CubicYard  Volume = 0.9144 * 0.9144 * 0.9144             // exact
)

var volumes = kind{
	name: "volume",
	symbols: []symbol{
		{"m3", 0, 1, "m³"},
		{"L", -3, 1, "l"},
		{"mL", -6, 1, "ml cm3 cm³"},
		{"gal", 0, 231 * 0.0254 * 0.0254 * 0.0254, ""},
		{"qt", 0, 231 * 0.0254 * 0.0254 * 0.0254 / 4, ""},
		{"pt", 0, 231 * 0.0254 * 0.0254 * 0.0254 / 8, ""},
		{"fl oz", 0, 231 * 0.0254 * 0.0254 * 0.0254 / 128, ""},
		{"in3", 0, 0.0254 * 0.0254 * 0.0254, "in³"},
		{"ft3", 0, 0.3048 * 0.3048 * 0.3048, "ft³"},
		{"yd3", 0, 0.9144 * 0.9144 * 0.9144, "yd³"},
	},
	si: []scale{{10, "m3", 3}, {1e-3, "L", 3}, {0, "mL", 3}},
	us: []scale{{0.25 * 231 * 0.0254 * 0.0254 * 0.0254, "gal", 3}, {0, "fl oz", 3}},
}

// String returns q in SI, exactly.
func (q Volume) String() string { return volumes.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q Volume) MarshalText() ([]byte, error) { return volumes.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of Volume; anything else is a [*ParseError].
func (q *Volume) UnmarshalText(text []byte) error { return unmarshal(q, &volumes, text) }

func (q Volume) quantity() (*kind, float64) { return &volumes, float64(q) }
