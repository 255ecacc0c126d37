package coverage

import (
	"errors"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

func span(fn, arg string, l units.Length, hi float64) error {
	return units.FromZero(fn, arg, float64(l), hi, "m")
}

// A Joint is a joint or a chased crack of rectangular section.
type Joint struct{ Length, Width, Depth units.Length }

// Fill returns the volume that fills the joint flush.
//
// Range: Length 0 to 1000 km, Width and Depth 0 to 5 m.
// Accuracy: exact; 1 gal fills 19.25/(width x depth) ft, in inches.
func (j Joint) Fill() (units.Volume, error) {
	const fn = "coverage.Joint.Fill"
	if err := errors.Join(span(fn, "Length", j.Length, 1e6), span(fn, "Width", j.Width, 5), span(fn, "Depth", j.Depth, 5)); err != nil {
		return units.Volume(math.NaN()), err
	}
	return j.Depth.Over(j.Length.Times(j.Width)), nil
}

// A Patch is a hollow or broken spot: its plan area, mean depth, and the crown
// by which its middle is left proud, to be ground off.
type Patch struct {
	Area  units.Area
	Depth units.Length
	Crown units.Length // height of the cap over the middle
}

// Fill returns the volume of the patch with its crown, a spherical cap over a
// round patch of the same area: V = A depth + pi c (3 a^2 + c^2)/6 with
// pi a^2 = A. For a flat cap that is half the crown over the area.
//
// Range: Area 0 to 1e6 m2, Depth 0 to 5 m, Crown 0 to 1 m.
// Accuracy: exact for round patches; the shape of others is not known.
// Source: geometry of the spherical cap.
func (p Patch) Fill() (units.Volume, error) {
	if err := p.check("coverage.Patch.Fill"); err != nil {
		return units.Volume(math.NaN()), err
	}
	return p.Depth.Over(p.Area) + p.cap(), nil
}

func (p Patch) check(fn string) error {
	return errors.Join(units.FromZero(fn, "Area", float64(p.Area), 1e6, "m2"), span(fn, "Depth", p.Depth, 5), span(fn, "Crown", p.Crown, 1))
}

// cap is the volume above the floor; without an area there is none.
func (p Patch) cap() units.Volume {
	if p.Area == 0 {
		return 0
	}
	c := float64(p.Crown)
	return units.Volume(c * (3*float64(p.Area) + math.Pi*c*c) / 6)
}

// A CoveBase is an integral base that runs up a wall over a rounded cove.
type CoveBase struct{ Length, Height, Radius units.Length }

func (b CoveBase) check(fn string) error {
	height, top := span(fn, "Height", b.Height, 10), 10.0
	if height == nil { // a bad height says nothing about the radius
		top = float64(b.Height)
	}
	return errors.Join(span(fn, "Length", b.Length, 1e6), height, span(fn, "Radius", b.Radius, top))
}

// Face returns the developed area of the base: the quarter circle of the cove
// and the wall above it, Length (Height - Radius + pi Radius/2).
//
// Range: Length 0 to 1000 km, Height 0 to 10 m, Radius 0 to Height.
func (b CoveBase) Face() (units.Area, error) {
	if err := b.check("coverage.CoveBase.Face"); err != nil {
		return units.Area(math.NaN()), err
	}
	return b.Length.Times(b.Height - b.Radius + b.Radius*math.Pi/2), nil
}

// FloorLost returns the floor that the cove covers, Length Radius. Range: see [CoveBase.Face].
func (b CoveBase) FloorLost() (units.Area, error) {
	if err := b.check("coverage.CoveBase.FloorLost"); err != nil {
		return units.Area(math.NaN()), err
	}
	return b.Length.Times(b.Radius), nil
}

// Fillet returns the mortar behind the cove, Length Radius^2 (1 - pi/4). Range: see [CoveBase.Face].
func (b CoveBase) Fillet() (units.Volume, error) {
	if err := b.check("coverage.CoveBase.Fillet"); err != nil {
		return units.Volume(math.NaN()), err
	}
	return (b.Radius * (1 - math.Pi/4)).Over(b.Length.Times(b.Radius)), nil
}
