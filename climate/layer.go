package climate

import (
	"errors"
	"fmt"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// A Layer is one layer of a floor: screed, concrete, insulation, soil.
type Layer struct {
	Thickness    units.Length       // 0.1 mm to 100 m
	Conductivity units.Conductivity // 0.01 W/(m K) to 500 W/(m K)
	Density      units.Density      // 1 kg/m3 to 25 000 kg/m3
	HeatCapacity units.SpecificHeat // 100 J/(kg K) to 10 000 J/(kg K)
}

// solid checks what the layer is made of.
func (l Layer) solid(fn, at string) error {
	return errors.Join(units.InRange(fn, at+"Conductivity", float64(l.Conductivity), 0.01, 500, "W/(m K)"),
		units.InRange(fn, at+"Density", float64(l.Density), 1, 25000, "kg/m3"),
		units.InRange(fn, at+"HeatCapacity", float64(l.HeatCapacity), 100, 10000, "J/(kg K)"))
}

func (l Layer) check(fn, at string) error {
	return errors.Join(units.InRange(fn, at+"Thickness", float64(l.Thickness), 1e-4, 100, "m"), l.solid(fn, at))
}

// diffusivity returns k/(rho c) in m2/s.
func (l Layer) diffusivity() float64 {
	return float64(l.Conductivity) / (float64(l.Density) * float64(l.HeatCapacity))
}

// maxSpan is the longest time that a forecast or a closed form is asked for.
const maxSpan = 50 * 366 * 24 * time.Hour

func checkElapsed(fn, arg string, t time.Duration) error {
	if t < 0 || t > maxSpan {
		return fmt.Errorf("%w: %s: %s = %v: want 0 to 50 years", units.ErrRange, fn, arg, t)
	}
	return nil
}
