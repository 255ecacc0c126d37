package coverage

import (
	"errors"
	"fmt"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// A Shape is a part of a floor or a hole in one.
type Shape interface {
	Area() (units.Area, error)
	Perimeter() (units.Length, error)
}

// longest is the longest side of a shape.
const longest = 1e5 // m

// A Rectangle has sides of 0 to 100 km.
type Rectangle struct{ Length, Width units.Length }

func (r Rectangle) check(fn string) error {
	return errors.Join(span(fn, "Length", r.Length, longest), span(fn, "Width", r.Width, longest))
}

// Area returns Length Width.
func (r Rectangle) Area() (units.Area, error) {
	if err := r.check("coverage.Rectangle.Area"); err != nil {
		return units.Area(math.NaN()), err
	}
	return r.Length.Times(r.Width), nil
}

// Perimeter returns 2 (Length + Width).
func (r Rectangle) Perimeter() (units.Length, error) {
	if err := r.check("coverage.Rectangle.Perimeter"); err != nil {
		return units.Length(math.NaN()), err
	}
	return 2 * (r.Length + r.Width), nil
}

// A Circle has a diameter of 0 to 100 km. A column is one.
type Circle struct{ Diameter units.Length }

// Area returns pi Diameter^2/4.
func (c Circle) Area() (units.Area, error) {
	if err := span("coverage.Circle.Area", "Diameter", c.Diameter, longest); err != nil {
		return units.Area(math.NaN()), err
	}
	return c.Diameter.Times(c.Diameter) * math.Pi / 4, nil
}

// Perimeter returns pi Diameter.
func (c Circle) Perimeter() (units.Length, error) {
	if err := span("coverage.Circle.Perimeter", "Diameter", c.Diameter, longest); err != nil {
		return units.Length(math.NaN()), err
	}
	return c.Diameter * math.Pi, nil
}

// A Point is a corner in plan.
type Point struct{ X, Y units.Length }

// A Polygon is a shape of straight sides, its corners in order, either way
// round. The last corner joins the first.
type Polygon []Point

// ErrCrossing says that the sides of a polygon cross or touch, so that it has
// no one inside.
var ErrCrossing = errors.New("sides cross")

// Area returns the area by the surveyor's formula, half the sum of
// x(i) y(i+1) - x(i+1) y(i), taken from the first corner so that far
// coordinates keep their digits.
//
// Range: 3 to 1000 corners at -100 to 100 km; sides that do not cross or
// touch, else [ErrCrossing]; corners on a straight side are fine.
// Accuracy: 1e-12 of the polygon's extent squared. Source: geometry.
func (p Polygon) Area() (units.Area, error) {
	if err := p.check("coverage.Polygon.Area"); err != nil {
		return units.Area(math.NaN()), err
	}
	var twice float64
	for i := 1; i+1 < len(p); i++ {
		twice += turn(p[0], p[i], p[i+1])
	}
	return units.Area(math.Abs(twice) / 2), nil
}

// Perimeter returns the length of the sides. Range: see [Polygon.Area].
func (p Polygon) Perimeter() (units.Length, error) {
	if err := p.check("coverage.Polygon.Perimeter"); err != nil {
		return units.Length(math.NaN()), err
	}
	var sum units.Length
	for i, a := range p {
		b := p[(i+1)%len(p)]
		sum += units.Length(math.Hypot(float64(b.X-a.X), float64(b.Y-a.Y)))
	}
	return sum, nil
}

func (p Polygon) check(fn string) error {
	if err := units.InRange(fn, "polygon", float64(len(p)), 3, 1000, "corners"); err != nil {
		return err
	}
	for i, c := range p {
		if units.InRange(fn, "X", float64(c.X), -longest, longest, "m") != nil || units.InRange(fn, "Y", float64(c.Y), -longest, longest, "m") != nil {
			at := fmt.Sprintf(" of corner %d", i+1)
			return errors.Join(units.InRange(fn, "X"+at, float64(c.X), -longest, longest, "m"), units.InRange(fn, "Y"+at, float64(c.Y), -longest, longest, "m"))
		}
	}
	n := len(p)
	for i := range n {
		a, b := p[i], p[(i+1)%n]
		c := p[(i+2)%n]
		if a == b || turn(a, b, c) == 0 && (float64(b.X-a.X)*float64(c.X-b.X)+float64(b.Y-a.Y)*float64(c.Y-b.Y) < 0) {
			return fmt.Errorf("%s: corner %d: no side, or one that turns back: %w", fn, (i+1)%n+1, ErrCrossing)
		}
		for j := i + 2; j < n; j++ {
			if i == 0 && j == n-1 { // they share the first corner
				continue
			}
			if meet(a, b, p[j], p[(j+1)%n]) {
				return fmt.Errorf("%s: side %d and side %d: %w", fn, i+1, j+1, ErrCrossing)
			}
		}
	}
	return nil
}

// turn is twice the signed area of a triangle: above 0 for a left turn at b.
func turn(a, b, c Point) float64 {
	return float64(b.X-a.X)*float64(c.Y-a.Y) - float64(c.X-a.X)*float64(b.Y-a.Y)
}

// meet reports whether two sides have a point in common.
func meet(a, b, c, d Point) bool {
	if max(a.X, b.X) < min(c.X, d.X) || max(c.X, d.X) < min(a.X, b.X) || max(a.Y, b.Y) < min(c.Y, d.Y) || max(c.Y, d.Y) < min(a.Y, b.Y) {
		return false
	}
	return turn(a, b, c)*turn(a, b, d) <= 0 && turn(c, d, a)*turn(c, d, b) <= 0
}
