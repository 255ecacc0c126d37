package systems

import (
	"fmt"

	"github.com/tackfree/tackfree/data/units"
)

// An Amount is a quantity inside a finding: one of those of [units], or none.
type Amount struct{ Q units.Quantity }

// MarshalText returns the quantity's exact text, or nothing.
func (a Amount) MarshalText() ([]byte, error) {
	if a.Q == nil {
		return nil, nil
	}
	return []byte(a.Q.String()), nil
}

// In returns the amount for people, or "" if there is none.
func (a Amount) In(s units.System) string {
	if a.Q == nil {
		return ""
	}
	return units.Format(a.Q, s)
}

// coldest is below all temperatures of findings and above all their differences.
const coldest = 150 * units.KelvinDelta

// UnmarshalText reads what MarshalText wrote: the exact text of a quantity in SI,
// or nothing. Temperatures are in °C there, or in K where that is not exact; a
// difference is in K too, and below 150 K nothing else is meant. Any other text is
// an error.
func (a *Amount) UnmarshalText(text []byte) error {
	if len(text) == 0 {
		a.Q = nil
		return nil
	}
	for _, read := range amounts {
		q, err := read(text)
		if err != nil || q.String() != string(text) {
			continue
		}
		if d, ok := q.(units.TempDelta); ok && (d >= coldest || d <= -coldest) {
			continue // a temperature
		}
		a.Q = q
		return nil
	}
	return fmt.Errorf("systems.Amount: found %q: want the text of a quantity in SI as an outcome's JSON has it, or nothing", text)
}

// amounts read the quantities that a finding may have, differences of temperatures
// before temperatures.
var amounts = []func([]byte) (units.Quantity, error){
	amount[units.Span], amount[units.TempDelta], amount[units.Temperature], amount[units.Fraction], amount[units.Length], amount[units.Area],
	amount[units.Volume], amount[units.Mass], amount[units.Loading], amount[units.Density], amount[units.MassFlux], amount[units.Energy],
	amount[units.Power], amount[units.Rate], amount[units.AreaRate], amount[units.Speed], amount[units.Pressure], amount[units.TempTime],
}

func amount[Q units.Quantity, P interface {
	*Q
	UnmarshalText([]byte) error
}](text []byte) (units.Quantity, error) {
	var q Q
	err := P(&q).UnmarshalText(text)
	return q, err
}
