package climate

import (
	"fmt"
	"sort"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// A Sample is a temperature at a time.
type Sample struct {
	At   time.Duration
	Temp units.Temperature
}

// A Trace is a history of temperature: linear between its samples, held past
// its ends.
type Trace []Sample

// farthest is how far a sample may be from the origin of time: 73 years, so
// that differences of times cannot overflow.
const farthest = time.Duration(1 << 61)

// Validate returns an error unless t has at least one sample, its times rise
// and are within 73 years of 0, and its temperatures are -60 °C to 100 °C.
func (t Trace) Validate() error {
	if len(t) == 0 {
		return fmt.Errorf("%w: climate.Trace: no samples: want at least one", units.ErrRange)
	}
	for i, s := range t {
		if c := s.Temp.Celsius(); !(c >= -60 && c <= 100) {
			if err := inTrace("climate.Trace", "Temp", s.Temp); err != nil {
				return fmt.Errorf("sample %d: %w", i, err)
			}
		}
		if s.At < -farthest || s.At > farthest {
			return fmt.Errorf("%w: climate.Trace: sample %d at %v: want within 73 years of 0", units.ErrRange, i, s.At)
		}
		if i > 0 && s.At <= t[i-1].At {
			return fmt.Errorf("%w: climate.Trace: sample %d at %v is not after the one before, at %v: want rising times", units.ErrRange, i, s.At, t[i-1].At)
		}
	}
	return nil
}

// At returns the temperature at time at. The trace must be valid; of an empty
// one it returns an error.
func (t Trace) At(at time.Duration) (units.Temperature, error) {
	if len(t) == 0 {
		return units.NaNTemperature(), t.Validate()
	}
	i := sort.Search(len(t), func(i int) bool { return t[i].At > at })
	switch {
	case i == 0:
		return t[0].Temp, nil
	case i == len(t):
		return t[i-1].Temp, nil
	}
	a, b := t[i-1], t[i]
	share := float64(at-a.At) / float64(b.At-a.At)
	return a.Temp.Add(b.Temp.Sub(a.Temp) * units.TempDelta(share)), nil
}
