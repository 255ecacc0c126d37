package coverage_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

func ExampleTakeOff() {
	floor, err := coverage.TakeOff([]coverage.Line{
		{Name: "hall", Shape: coverage.Rectangle{Length: 50 * units.Foot, Width: 25 * units.Foot}},
		{Name: "columns", Count: 4, Shape: coverage.Circle{Diameter: 2 * units.Foot}, Deduct: true},
		{Name: "pit", Shape: coverage.Rectangle{Length: 6 * units.Foot, Width: 4 * units.Foot}, Deduct: true},
	})
	fmt.Println(units.Format(floor.Area, units.US), units.Format(floor.Deducted, units.US), units.Format(floor.Edge, units.US), err)
	// Output: 1213 ft2 36.57 ft2 195 ft <nil>
}

func TestShapes(t *testing.T) {
	const by = "by hand"
	for _, tc := range []struct {
		what       string
		shape      coverage.Shape
		area, edge float64
	}{
		{"rectangle", coverage.Rectangle{Length: 4, Width: 3}, 12, 14},
		{"circle", coverage.Circle{Diameter: 2}, math.Pi, 2 * math.Pi},
		{"triangle 3-4-5", coverage.Polygon{{0, 0}, {4, 0}, {0, 3}}, 6, 12},
		{"the other way round", coverage.Polygon{{0, 3}, {4, 0}, {0, 0}}, 6, 12},
		{"an L", coverage.Polygon{{0, 0}, {5, 0}, {5, 2}, {2, 2}, {2, 4}, {0, 4}}, 14, 18},
		{"far from the origin", coverage.Polygon{{9e4, 9e4}, {9e4 + 4, 9e4}, {9e4, 9e4 + 3}}, 6, 12},
		{"a corner on a side", coverage.Polygon{{0, 0}, {2, 0}, {4, 0}, {4, 3}, {0, 3}}, 12, 14},
		{"no floor", coverage.Rectangle{Length: 4}, 0, 8},
	} {
		a, err := tc.shape.Area()
		near(t, tc.what, float64(a), tc.area, 1e-12, err, by)
		p, err := tc.shape.Perimeter()
		near(t, tc.what, float64(p), tc.edge, 1e-12, err, by)
	}
	nan := units.Length(math.NaN())
	for name, bad := range map[string]coverage.Shape{
		"length": coverage.Rectangle{Length: -1e-9, Width: 1}, "width": coverage.Rectangle{Length: 1, Width: nan}, "diameter": coverage.Circle{Diameter: 2e5},
		"two corners": coverage.Polygon{{0, 0}, {1, 1}}, "NaN": coverage.Polygon{{0, 0}, {1, nan}, {1, 1}}, "far": coverage.Polygon{{0, 0}, {1, 0}, {2e5, 1}},
	} {
		refused(t, name, bad.Area)
		refused(t, name, bad.Perimeter)
		if f, err := coverage.TakeOff([]coverage.Line{{Name: name, Shape: bad}}); !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(f.Area)) {
			t.Errorf("%s in a take-off: %+v, %v", name, f, err)
		}
	}
	for name, bad := range map[string]coverage.Polygon{
		"bow tie": {{0, 0}, {2, 2}, {2, 0}, {0, 2}}, "touches a corner": {{0, 0}, {4, 0}, {4, 4}, {2, 0}, {0, 4}}, "turns back": {{0, 0}, {4, 0}, {2, 0}, {2, 2}},
		"same corner twice": {{0, 0}, {0, 0}, {1, 0}, {1, 1}}, "one corner three times": {{1, 1}, {1, 1}, {1, 1}}, "crosses the first side": {{0, 0}, {4, 0}, {4, 4}, {2, -1}},
	} {
		for what, f := range map[string]func() (float64, error){
			"area":      func() (float64, error) { v, err := bad.Area(); return float64(v), err },
			"perimeter": func() (float64, error) { v, err := bad.Perimeter(); return float64(v), err },
		} {
			if v, err := f(); !errors.Is(err, coverage.ErrCrossing) || !math.IsNaN(v) {
				t.Errorf("%s, %s: %v, %v; want ErrCrossing", name, what, v, err)
			}
		}
	}
}

// star is a polygon of n corners round a middle, one at each step of angle.
func star(t *rapid.T) coverage.Polygon {
	n := rapid.IntRange(3, 24).Draw(t, "corners")
	var p coverage.Polygon
	for i := range n {
		r, a := rapid.Float64Range(1, 20).Draw(t, "r"), 2*math.Pi*float64(i)/float64(n)
		p = append(p, coverage.Point{X: units.Length(r * math.Cos(a)), Y: units.Length(r * math.Sin(a))})
	}
	return p
}

func TestPolygonProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := star(t)
		a, err1 := p.Area()
		edge, err2 := p.Perimeter()
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		var sum float64 // the triangles round the middle, from their sides (Heron) and not from corners
		for i := range p {
			q := p[(i+1)%len(p)]
			x, y, z := math.Hypot(float64(p[i].X), float64(p[i].Y)), math.Hypot(float64(q.X), float64(q.Y)), math.Hypot(float64(p[i].X-q.X), float64(p[i].Y-q.Y))
			s := (x + y + z) / 2
			sum += math.Sqrt(max(s*(s-x)*(s-y)*(s-z), 0))
		}
		if len(p) > 3 && math.Abs(float64(a)-sum) > 1e-6*sum {
			t.Fatalf("%v, by triangles %v", a, sum)
		}
		if float64(a) > float64(edge*edge)/(4*math.Pi)*(1+1e-12) {
			t.Fatalf("more area %v than a circle of the perimeter %v", a, edge)
		}
		turned := coverage.Polygon{} // moved, turned and begun elsewhere it is the same
		k := rapid.IntRange(0, len(p)-1).Draw(t, "first")
		sin, cos := math.Sincos(rapid.Float64Range(0, 7).Draw(t, "turn"))
		for i := range p {
			c := p[(i+k)%len(p)]
			turned = append(turned, coverage.Point{X: 1000 + c.X*units.Length(cos) - c.Y*units.Length(sin), Y: -500 + c.X*units.Length(sin) + c.Y*units.Length(cos)})
		}
		b, err := turned.Area()
		if err != nil || math.Abs(float64(a-b)) > 1e-9*float64(a) {
			t.Fatalf("%v, turned %v, %v", a, b, err)
		}
	})
}

func TestTakeOffAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		side := func(name string) units.Length { return units.Length(rapid.Float64Range(0.1, 50).Draw(t, name)) }
		a, b, c := side("a"), side("b"), side("c")
		n := rapid.IntRange(1, 9).Draw(t, "count")
		whole, err1 := coverage.TakeOff([]coverage.Line{{Shape: coverage.Rectangle{Length: a + b, Width: c}, Count: n}})
		split, err2 := coverage.TakeOff([]coverage.Line{{Shape: coverage.Rectangle{Length: a, Width: c}, Count: n}, {Shape: coverage.Rectangle{Length: b, Width: c}, Count: n}})
		left, err3 := coverage.TakeOff([]coverage.Line{{Shape: coverage.Rectangle{Length: a + b, Width: c}, Count: n}, {Shape: coverage.Rectangle{Length: b, Width: c}, Count: n, Deduct: true}})
		if err := errors.Join(err1, err2, err3); err != nil {
			t.Fatal(err)
		}
		alone := a.Times(c) * units.Area(n)
		if math.Abs(float64(whole.Area-split.Area)) > 1e-12*float64(whole.Area) || math.Abs(float64(left.Area-alone)) > 1e-12*float64(whole.Area) {
			t.Fatalf("whole %v, split %v, less a part %v", whole, split, left)
		}
		if want := whole.Edge + 2*c*units.Length(n); math.Abs(float64(split.Edge-want)) > 1e-12*float64(want) {
			t.Fatalf("edge %v, want %v: the common side twice", split.Edge, want)
		}
	})
	for name, lines := range map[string][]coverage.Line{
		"hole in nothing": {{Shape: coverage.Circle{Diameter: 1}, Deduct: true}}, "count": {{Shape: coverage.Circle{Diameter: 1}, Count: -1}},
	} {
		refused(t, name, func() (units.Area, error) { f, err := coverage.TakeOff(lines); return f.Area, err })
	}
	if f, err := coverage.TakeOff([]coverage.Line{{Name: "nothing"}}); err == nil || !math.IsNaN(float64(f.Edge)) {
		t.Errorf("no shape: %+v, %v; want an error", f, err)
	}
	if f, err := coverage.TakeOff(nil); err != nil || f != (coverage.Floor{}) {
		t.Errorf("no lines: %+v, %v", f, err)
	}
}

func TestSteps(t *testing.T) {
	s := coverage.Steps{Count: 12, Width: 1.2, Tread: 0.28, Riser: 0.17, Nosing: 0.02}
	a, err := s.Area()
	near(t, "steps", float64(a), 12*1.2*(0.28+0.17+0.04), 1e-12, err, "by hand")
	s.StringerL = true
	a, err = s.Area()
	near(t, "one open side", float64(a), 12*(1.2*0.49+0.28*0.17/2), 1e-12, err, "by hand")
	s.StringerR = true
	a, err = s.Area()
	near(t, "both", float64(a), 12*(1.2*0.49+0.28*0.17), 1e-12, err, "by hand")
	e, err := s.Edge()
	near(t, "nosings", float64(e), 14.4, 1e-12, err, "by hand")
	for name, bad := range map[string]coverage.Steps{"count": {Count: -1}, "width": {Width: -1}, "tread": {Tread: 6}, "riser": {Riser: units.Length(math.NaN())}, "nosing": {Tread: 0.28, Nosing: 0.3}} {
		refused(t, name, bad.Area)
		refused(t, name, bad.Edge)
	}
}

// lines is a take-off of 500: rooms as polygons, columns and pits.
func lines() []coverage.Line {
	var l []coverage.Line
	room := coverage.Polygon{{0, 0}, {5, 0}, {5, 2}, {2, 2}, {2, 4}, {0, 4}}
	for i := range 500 {
		switch i % 4 {
		case 0:
			l = append(l, coverage.Line{Name: "room", Shape: room})
		case 1:
			l = append(l, coverage.Line{Name: "column", Shape: coverage.Circle{Diameter: 0.5}, Deduct: true})
		default:
			l = append(l, coverage.Line{Name: "bay", Shape: coverage.Rectangle{Length: 6, Width: 4}})
		}
	}
	return l
}

func BenchmarkTakeOff500(b *testing.B) {
	l := lines()
	b.ReportAllocs() // 0 allocs/op; at most 100 us
	for b.Loop() {
		coverage.TakeOff(l)
	}
}

// below is a shape of somebody else's that says less than nothing.
type below struct{}

func (below) Area() (units.Area, error)        { return -3, nil }
func (below) Perimeter() (units.Length, error) { return 0, nil }

// A hole below nothing would add floor: it is refused (geometry, no other source).
func TestTakeOffBelowNothing(t *testing.T) {
	for _, lines := range [][]coverage.Line{{{Name: "floor", Shape: below{}}}, {{Name: "floor", Shape: coverage.Circle{Diameter: 10}}, {Name: "hole", Shape: below{}, Deduct: true}}} {
		if f, err := coverage.TakeOff(lines); !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(f.Area)) {
			t.Errorf("%v, %v", f, err)
		}
	}
}
