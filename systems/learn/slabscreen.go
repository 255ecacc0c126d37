package learn

import (
	"slices"
)

// screen examines the sensors before any model.
func (s *Slab) screen(air, surface, ground []*sensor) (flags []Flag) {
	// What temperatures can be: by the ground, and by what others say that is possible
	// or was made so. The slab first, for the air may be heated.
	lo, hi := s.Slab.Deep.Kelvin(), s.Slab.Deep.Kelvin()
	if lo == 0 {
		lo, hi = 273.15, 293.15
	}
	bound := func(x *sensor) {
		m := median(slices.Clone(x.v))
		if c := m - 273.15; c > -5 && c < 30 {
			lo, hi = min(lo, m), max(hi, m)
		}
	}
	all := slices.Concat(ground, surface, air)
	for _, x := range all {
		bound(x)
	}
	for _, x := range all {
		if f, ok := x.mixUp(lo, hi); ok {
			flags = append(flags, f)
			bound(x)
		}
	}
	kinds := [][]*sensor{air, surface}
	for k, kind := range kinds {
		for i, x := range kind {
			likes, drives := slices.Delete(slices.Clone(kind), i, i+1), kinds[1-k]
			flags = append(flags, x.stuck(func(i, j int) bool { return x.cannotStay(i, j, likes, drives, k == 0) })...)
			x.out = len(x.at) < 3
		}
	}
	for _, kind := range kinds {
		flags = append(flags, compare(kind)...)
	}
	flags = append(flags, twins(air)...)
	return flags
}

// cannotStay reports whether a sensor that shows one value from reading i to j
// should have shown another: its likes moved, or the surface under the air went away
// from what the air is said to be, or the air over a surface moved by so much that no
// slab would stay. Each by more than what sensors round to: a thermostat holds the air,
// and a logger of whole or half degrees shows one value for hours. Common practice, no
// source.
func (x *sensor) cannotStay(i, j int, likes, others []*sensor, air bool) bool {
	from, to, grain := x.at[i], x.at[j], x.grain()
	for _, s := range likes {
		if s.moved(from, to) > max(1, 3*max(grain, s.grain())) {
			return true
		}
	}
	for _, s := range others {
		if air && s.leaves(x.v[i], from, to) > max(1.5, 3*s.grain()) {
			return true
		}
		if !air && s.moved(from, to) > max(4, 12*grain) {
			return true
		}
	}
	return false
}
