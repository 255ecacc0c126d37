package units

// A Speed is a length per time: moving air, joint filled per hour. SI: m/s.
type Speed float64

// Units of Speed.
const (
	MetrePerSecond Speed = 1               // SI
	MetrePerHour   Speed = 1.0 / 3600      // exact
	FootPerMinute  Speed = 0.3048 / 60     // exact
	FootPerHour    Speed = 0.3048 / 3600   // exact
	MilePerHour    Speed = 1609.344 / 3600 // exact
)

var speeds = kind{
	name: "speed",
	symbols: []symbol{
		{"m/s", 0, 1, ""},
		{"m/min", 0, 1.0 / 60, ""},
		{"m/h", 0, 1.0 / 3600, ""},
		{"km/h", 3, 1.0 / 3600, ""},
		{"ft/s", 0, 0.3048, ""},
		{"ft/min", 0, 0.3048 / 60, ""},
		{"ft/h", 0, 0.3048 / 3600, "ft/hr"},
		{"mph", 0, 1609.344 / 3600, "mi/h"},
	},
	si: []scale{{0.05, "m/s", 3}, {0, "m/h", 3}},
	us: []scale{{0.05, "ft/min", 3}, {0, "ft/h", 3}},
}

// String returns q in SI, exactly.
func (q Speed) String() string { return speeds.text(float64(q)) }

// MarshalText returns the text of String. NaN and infinities are errors.
func (q Speed) MarshalText() ([]byte, error) { return speeds.marshal(float64(q)) }

// UnmarshalText reads a number and a symbol of Speed; anything else is a [*ParseError].
func (q *Speed) UnmarshalText(text []byte) error { return unmarshal(q, &speeds, text) }

func (q Speed) quantity() (*kind, float64) { return &speeds, float64(q) }
