package units

// An AreaRate is an area per time: the pace of a crew. SI: m2/s.
type AreaRate float64

// Units of AreaRate.
const (
	SquareMetrePerSecond AreaRate = 1                      // SI
	SquareMetrePerHour   AreaRate = 1.0 / 3600             // exact
	SquareFootPerHour    AreaRate = 0.3048 * 0.3048 / 3600 // exact
)

var areaRates = kind{
	name: "area rate",
	symbols: []symbol{
		{"m2/s", 0, 1, "m²/s"},
		{"mm2/s", -6, 1, "mm²/s"},
		{"m2/min", 0, 1.0 / 60, "m²/min"},
		{"m2/h", 0, 1.0 / 3600, "m²/h"},
		{"ft2/min", 0, 0.3048 * 0.3048 / 60, "ft²/min"},
		{"ft2/h", 0, 0.3048 * 0.3048 / 3600, "ft²/h ft2/hr"},
	},
	si: []scale{{0, "m2/h", 3}},
	us: []scale{{0, "ft2/h", 3}},
}

// String returns q in SI, exactly.
func (q AreaRate) String() string { return areaRates.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q AreaRate) MarshalText() ([]byte, error) { return areaRates.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of AreaRate; anything else is a [*ParseError].
func (q *AreaRate) UnmarshalText(text []byte) error { return unmarshal(q, &areaRates, text) }

func (q AreaRate) quantity() (*kind, float64) { return &areaRates, float64(q) }
