package coverage

import (
	"errors"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// A VCut is a crack chased to a V, or a joint opened to one.
type VCut struct{ Length, Width, Depth units.Length }

// Fill returns the volume that fills the cut flush, half of [Joint.Fill].
//
// Range: see [Joint.Fill]. Accuracy: exact. Source: geometry.
func (c VCut) Fill() (units.Volume, error) {
	const fn = "coverage.VCut.Fill"
	if err := errors.Join(span(fn, "Length", c.Length, 1e6), span(fn, "Width", c.Width, 5), span(fn, "Depth", c.Depth, 5)); err != nil {
		return units.Volume(math.NaN()), err
	}
	return c.Depth.Over(c.Length.Times(c.Width)) / 2, nil
}

// A SawCut is a saw-cut joint with a round backer rod pressed in. Set is the
// depth of the rod's crown below the surface. The rod is taken to stay round,
// so that the filler's underside is its arc.
type SawCut struct {
	Length, Width, Depth units.Length
	Set                  units.Length
	Rod                  units.Length // diameter, at least Width; 0: no rod, filled to Depth
}

// Fill returns the volume that fills the cut flush above its rod: over the
// width w, w Set and the corners beside the arc of radius r,
// w r - (w/2) sqrt(r^2 - w^2/4) - r^2 atan((w/2)/sqrt(r^2 - w^2/4)).
//
// Range: Length 0 to 1000 km, Width, Depth, Rod 0 to 5 m, Rod 0 or at least
// Width, Set 0 to Depth; a rod's arc must end inside the cut. Without a rod
// Set is 0.
// Accuracy: exact for a rod that stays round; a soft one is flattened and
// takes up to its corners less.
// Source: geometry of the circular segment.
func (c SawCut) Fill() (units.Volume, error) {
	const fn = "coverage.SawCut.Fill"
	depth, top := span(fn, "Depth", c.Depth, 5), 5.0
	if depth == nil { // a bad depth says nothing about the rod
		top = float64(c.Depth)
	}
	if c.Rod == 0 {
		top = 0
	}
	if err := errors.Join(span(fn, "Length", c.Length, 1e6), span(fn, "Width", c.Width, 5), depth, span(fn, "Set", c.Set, top), span(fn, "Rod", c.Rod, 5)); err != nil {
		return units.Volume(math.NaN()), err
	}
	if c.Rod == 0 {
		return c.Depth.Over(c.Length.Times(c.Width)), nil
	}
	if err := units.InRange(fn, "Rod", float64(c.Rod), float64(c.Width), 5, "m"); err != nil {
		return units.Volume(math.NaN()), err
	}
	w, r := float64(c.Width), float64(c.Rod)/2
	half := min(w/2, r) // rounding must not take the sine above 1
	root := math.Sqrt((r - half) * (r + half))
	if sag := r - root; float64(c.Set)+sag > float64(c.Depth)*(1+1e-9) {
		return units.Volume(math.NaN()), &units.RangeError{Func: fn, Arg: "Set", Got: float64(c.Set), Lo: 0, Hi: max(float64(c.Depth)-sag, 0), Unit: "m"}
	}
	corners := w*r - half*root - r*r*math.Atan2(half, root)
	if half < r/20 { // a rod far wider than the cut: the digits cancel, the series does not
		q := half / r
		corners = half * half * q * (1.0/3 + q*q*(1.0/20+q*q*(1.0/56+q*q*5/576)))
	}
	return c.Length.Times(c.Width).Times(c.Set) + units.Volume(float64(c.Length)*corners), nil
}

// A Bead is what a joint is overfilled by, to be shaved or ground off: a
// circular segment over the joint and what it laps beside it.
type Bead struct{ Length, Width, Height units.Length }

// Fill returns the volume of the bead, all of which comes off when the joint
// is shaved flush: Length (2 r^2 atan(2h/w) - (w/2)(r - h)), with
// r = (w^2/4 + h^2)/2h.
//
// Range: Length 0 to 1000 km, Width 0 to 5 m, Height 0 to Width/2.
// Accuracy: exact for a segment; flat ones are 2/3 w h.
// Source: geometry of the circular segment.
func (b Bead) Fill() (units.Volume, error) {
	const fn = "coverage.Bead.Fill"
	width, top := span(fn, "Width", b.Width, 5), 2.5
	if width == nil { // a bad width says nothing about the height
		top = float64(b.Width) / 2
	}
	if err := errors.Join(span(fn, "Length", b.Length, 1e6), width, span(fn, "Height", b.Height, top)); err != nil {
		return units.Volume(math.NaN()), err
	}
	w, h := float64(b.Width), float64(b.Height)
	if w == 0 || h == 0 {
		return 0, nil
	}
	var area float64
	if q := 2 * h / w; q < 0.01 { // flat: the digits cancel
		area = w * h * 2 / 3 * (1 + q*q/5 - q*q*q*q/35)
	} else {
		r := (w*w/4 + h*h) / (2 * h)
		area = r*r*2*math.Atan(q) - w/2*(r-h)
	}
	return units.Volume(float64(b.Length) * area), nil
}

// Ground returns what grinding takes off a patch left proud: its crown.
//
// Range, accuracy, source: see [Patch.Fill].
func (p Patch) Ground() (units.Volume, error) {
	if err := p.check("coverage.Patch.Ground"); err != nil {
		return units.Volume(math.NaN()), err
	}
	return p.cap(), nil
}
