package learn

import (
	"math"
	"slices"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// What was done about what is wrong with a sensor.
const (
	leftOut    = "left out"
	allowedFor = "allowed for in what was learned"
	converted  = "taken in its own unit"
)

// fahrenheitRead is what a sensor of °F shows where °C is read, in K.
func fahrenheitRead(k float64) float64 { return (k-273.15)*1.8 + 32 + 273.15 }

// celsiusRead is what a sensor of °C shows where °F is read, in K.
func celsiusRead(k float64) float64 { return (k-273.15-32)/1.8 + 273.15 }

// tooHot is what no air or slab that is coated comes to, in K, and tooCold likewise.
// Common practice, no source.
const (
	tooHot  = 273.15 + 45
	tooCold = 273.15 - 10
)

// mixUp mends a sensor that was read in the wrong unit: lo and hi bound what others
// say the temperature can be. By itself only what is too hot for anybody is known to
// be °F: nothing is that hot, and as °F it is possible.
func (s *sensor) mixUp(lo, hi float64) (Flag, bool) {
	if len(s.v) == 0 {
		return Flag{}, false
	}
	m := median(slices.Clone(s.v))
	out := func(m float64) float64 { return max(lo-m, m-hi, 0) }
	is := out(m)
	for _, f := range []struct {
		read func(float64) float64
		most float64 // K off what is possible that may be left
		sure bool
	}{
		{celsiusRead, mixUpBy / 2, m > tooHot && celsiusRead(m) > tooCold && celsiusRead(m) < tooHot}, // read as °C what is °F: take it back
		{fahrenheitRead, 0.75 * mixUpBy, false},
	} {
		left := out(f.read(m)) // both are straight: the median of what is read anew is the median read anew
		if f.sure || is >= mixUpBy && left < is/3 && left < f.most {
			flag := s.flag(MixUp, units.TempDelta(m-f.read(m)), 0, len(s.v)-1, len(s.v), converted)
			for i := range s.v {
				s.v[i] = f.read(s.v[i])
			}
			return flag, true
		}
	}
	return Flag{}, false
}

// stuck takes out the stretches in which a sensor shows one value while others
// say that it cannot have stayed.
func (s *sensor) stuck(says func(from, to int) bool) (flags []Flag) {
	drop := make([]bool, len(s.v))
	for i := 0; i < len(s.v); {
		j := i
		for j+1 < len(s.v) && math.Abs(s.v[j+1]-s.v[i]) < 1e-6 {
			j++
		}
		if n := j - i + 1; n >= 6 && s.at[j]-s.at[i] >= leastStuck && says(i, j) {
			flags = append(flags, s.flag(Stuck, units.Kelvin(s.v[i]), i, j, n, leftOut))
			for k := i; k <= j; k++ {
				drop[k] = true
			}
		}
		i = j + 1
	}
	if len(flags) > 0 {
		s.keep(func(i int) bool { return !drop[i] })
	}
	return flags
}

// grain is the least step between two readings that differ: what a sensor can
// show, such as 0.5 °C; 0 of one that shows a single value.
func (s *sensor) grain() (least float64) {
	for i := 1; i < len(s.v); i++ {
		if d := math.Abs(s.v[i] - s.v[i-1]); d > 1e-6 && (least == 0 || d < least) {
			least = d
		}
	}
	return least
}

// alike is what part of a rounding error all readings share: the root of the sum of
// squares of the shares of readings that show one value, for those are rounded alike,
// as under a thermostat for days. 1 if all show one value.
func (s *sensor) alike() float64 {
	shows := map[float64]int{}
	for _, v := range s.v {
		shows[math.Round(v*1e6)]++
	}
	sum := 0 // whole, so that the order does not matter
	for _, n := range shows {
		sum += n * n
	}
	return math.Sqrt(float64(sum)) / float64(len(s.v))
}

// during is what a sensor read from one time to another.
func (s *sensor) during(from, to time.Duration) (v []float64) {
	for i, t := range s.at {
		if t >= from && t <= to {
			v = append(v, s.v[i])
		}
	}
	return v
}

// moved is by how much a sensor moved meanwhile, from its lowest reading to its highest.
func (s *sensor) moved(from, to time.Duration) float64 {
	v := s.during(from, to)
	if len(v) < 2 {
		return 0
	}
	return slices.Max(v) - slices.Min(v)
}

// leaves is by how much a sensor goes away from a value meanwhile, by the medians
// of five readings, which single ones do not move.
func (s *sensor) leaves(value float64, from, to time.Duration) (most float64) {
	v := s.during(from, to)
	nearest := math.Inf(1)
	for i := 2; i+2 < len(v); i++ {
		d := math.Abs(median(slices.Clone(v[i-2:i+3])) - value)
		nearest = min(nearest, d)
		most = max(most, d-nearest)
	}
	return most
}
