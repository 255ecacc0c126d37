package coverage

import (
	"errors"
	"fmt"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// A Line is one entry of a take-off: so many equal shapes of floor, or holes
// in it.
type Line struct {
	Name   string
	Count  int // 0 to 1e6; 0 is 1
	Shape  Shape
	Deduct bool // a hole: its area is taken off, its edge is added
}

// A Floor is what a take-off comes to.
type Floor struct {
	Area     units.Area   // floor less holes
	Deducted units.Area   // the holes
	Edge     units.Length // sides of the floor's shapes and of the holes, where cutting-in is done
}

// TakeOff adds up the lines of a take-off. Shapes that meet along a side count
// that side twice in Edge: measure such a room as one polygon.
//
// Range: each line's shape; holes no larger than the floor.
// Accuracy: 1e-12. Source: geometry.
func TakeOff(lines []Line) (Floor, error) {
	const fn = "coverage.TakeOff"
	bad := Floor{units.Area(math.NaN()), units.Area(math.NaN()), units.Length(math.NaN())}
	var f Floor
	var errs []error
	for i, l := range lines {
		area, edge, err := l.measure(fn)
		if err != nil { // every bad line is told
			errs = append(errs, fmt.Errorf("line %d %q: %w", i+1, l.Name, err))
			continue
		}
		f.Edge += edge
		if l.Deduct {
			f.Deducted += area
		} else {
			f.Area += area
		}
	}
	if len(errs) > 0 {
		return bad, errors.Join(errs...)
	}
	if f.Deducted > f.Area*(1+1e-9) {
		return bad, &units.RangeError{Func: fn, Arg: "holes", Got: float64(f.Deducted), Lo: 0, Hi: float64(f.Area), Unit: "m2"}
	}
	f.Area = max(f.Area-f.Deducted, 0) // rounding must not take it below nothing
	return f, nil
}

func (l Line) measure(fn string) (units.Area, units.Length, error) {
	if l.Shape == nil {
		return 0, 0, fmt.Errorf("%s: no shape: want one: %w", fn, units.ErrRange)
	}
	var area units.Area
	var edge units.Length
	var err1, err2 error
	if p, ok := l.Shape.(Polygon); ok { // its sides are looked at once for both
		if err1 = p.check(fn); err1 == nil {
			area, edge = p.area(), p.perimeter()
		}
	} else if area, err1 = l.Shape.Area(); err1 == nil { // else the perimeter complains of the same
		edge, err2 = l.Shape.Perimeter()
	}
	if err1 == nil { // a shape of the caller's own may say anything: a hole below nothing would add floor
		err1 = units.FromZero(fn, "Area", float64(area), 1e10, "m2")
	}
	n := max(l.Count, 1)
	return area * units.Area(n), edge * units.Length(n), errors.Join(err1, err2, units.FromZero(fn, "Count", float64(l.Count), 1e6, "shapes"))
}

// Steps are equal steps of a stair, coated on tread and riser. The floor at
// the top counts with the floor.
type Steps struct {
	Count                int          // 0 to 1e5
	Width, Tread, Riser  units.Length // 0 to 100 m, 5 m, 5 m
	Nosing               units.Length // by which a tread overhangs the riser, 0 to Tread; its underside is coated too
	StringerL, StringerR bool         // the open side is coated: a triangle for each step
}

func (s Steps) check(fn string) error {
	tread, top := span(fn, "Tread", s.Tread, 5), 5.0
	if tread == nil { // a bad tread says nothing about the nosing
		top = float64(s.Tread)
	}
	return errors.Join(units.FromZero(fn, "Count", float64(s.Count), 1e5, "steps"), span(fn, "Width", s.Width, 100), tread, span(fn, "Riser", s.Riser, 5), span(fn, "Nosing", s.Nosing, top))
}

// Area returns Count (Width (Tread + Riser + 2 Nosing) + open sides
// (Tread Riser)/2), where Tread is the going from nosing to nosing: an
// overhang adds its top, hidden in plan by the step above, and its underside.
//
// Accuracy: exact for thin nosings. Source: geometry.
func (s Steps) Area() (units.Area, error) {
	if err := s.check("coverage.Steps.Area"); err != nil {
		return units.Area(math.NaN()), err
	}
	a := s.Width.Times(s.Tread + s.Riser + 2*s.Nosing)
	for _, open := range [...]bool{s.StringerL, s.StringerR} {
		if open {
			a += s.Tread.Times(s.Riser) / 2
		}
	}
	return units.Area(s.Count) * a, nil
}

// Edge returns the length of the nosings, Count Width.
func (s Steps) Edge() (units.Length, error) {
	if err := s.check("coverage.Steps.Edge"); err != nil {
		return units.Length(math.NaN()), err
	}
	return units.Length(s.Count) * s.Width, nil
}
