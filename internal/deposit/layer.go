// Package deposit lets equal grains fall at random on a floor and counts what
// comes to lie: the plan coverages that package aggregate takes. Lengths are
// in diameters of the grain. A run is the same for the same seed.
package deposit

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/spatial/r2"

	"github.com/tackfree/tackfree/data/units"
)

// A Layer is the grain that has come to lie on a square floor whose edges are
// joined, so that it has no border.
type Layer struct {
	Side    float64  // of the floor
	Centres []r2.Vec // within 0 to Side
	Thrown  int

	cells []int32 // at most one centre in each; -1 is empty
	m     int     // cells along a side
}

const least, most = 5.0, 2000.0 // sides

func newLayer(fn string, side float64) (*Layer, error) {
	if err := units.InRange(fn, "side", side, least, most, "diameters"); err != nil {
		return nil, err
	}
	m := int(math.Ceil(side * math.Sqrt2)) // a cell's diagonal is no longer than a diameter
	l := &Layer{Side: side, cells: make([]int32, m*m), m: m}
	for i := range l.cells {
		l.cells[i] = -1
	}
	return l, nil
}

// Coverage returns the share of the floor under the grain, seen from above.
func (l *Layer) Coverage() float64 {
	return float64(len(l.Centres)) * math.Pi / 4 / (l.Side * l.Side)
}

// rng returns the generator of a seed.
func rng(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 0x7461636b66726565)) }

// wrap returns the shortest way over the joined edges.
func (l *Layer) wrap(v r2.Vec) r2.Vec {
	h := l.Side / 2
	if v.X > h {
		v.X -= l.Side
	} else if v.X < -h {
		v.X += l.Side
	}
	if v.Y > h {
		v.Y -= l.Side
	} else if v.Y < -h {
		v.Y += l.Side
	}
	return v
}

// home returns the point on the floor itself.
func (l *Layer) home(p r2.Vec) r2.Vec {
	f := func(x float64) float64 {
		if x = math.Mod(x, l.Side); x < 0 {
			x += l.Side
		}
		if x >= l.Side { // -1e-20 + Side
			x = 0
		}
		return x
	}
	return r2.Vec{X: f(p.X), Y: f(p.Y)}
}

func (l *Layer) cell(x float64) int { return min(l.m-1, int(x*float64(l.m)/l.Side)) }

// nearest returns the centre nearest to p within one diameter, or -1.
func (l *Layer) nearest(p r2.Vec) (int32, float64) {
	cx, cy, m := l.cell(p.X), l.cell(p.Y), l.m
	if cx < 2 || cy < 2 || cx >= m-2 || cy >= m-2 {
		return l.nearEdge(p, cx, cy)
	}
	best, d2 := int32(-1), 1.0
	at := cy*m + cx
	look := func(row []int32) {
		for _, i := range row {
			if i < 0 {
				continue
			}
			c := &l.Centres[i]
			x, y := p.X-c.X, p.Y-c.Y
			if n := x*x + y*y; n < d2 {
				best, d2 = i, n
			}
		}
	}
	look(l.cells[at-m-1 : at-m+2])
	look(l.cells[at-1 : at+2])
	look(l.cells[at+m-1 : at+m+2])
	if a := l.Side / float64(m); d2 <= a*a { // cells further out are further away
		return best, d2
	}
	look(l.cells[at-2*m-2 : at-2*m+3])
	look(l.cells[at+2*m-2 : at+2*m+3])
	for k := -m; k <= m; k += m {
		look(l.cells[at+k-2 : at+k-1])
		look(l.cells[at+k+2 : at+k+3])
	}
	return best, d2
}

// nearEdge is nearest where the way may go over the joined edges.
func (l *Layer) nearEdge(p r2.Vec, cx, cy int) (int32, float64) {
	best, d2 := int32(-1), 1.0
	for dy := -2; dy <= 2; dy++ {
		for dx := -2; dx <= 2; dx++ {
			i := l.cells[(cy+dy+l.m)%l.m*l.m+(cx+dx+l.m)%l.m]
			if i < 0 {
				continue
			}
			if n := r2.Norm2(l.wrap(r2.Sub(p, l.Centres[i]))); n < d2 {
				best, d2 = i, n
			}
		}
	}
	return best, d2
}

// rest puts a grain down for good.
func (l *Layer) rest(p r2.Vec) int32 {
	i := int32(len(l.Centres))
	l.Centres = append(l.Centres, p)
	l.cells[l.cell(p.Y)*l.m+l.cell(p.X)] = i
	return i
}

func throws(fn string, side, tau float64) (*Layer, int, error) {
	l, err := newLayer(fn, side)
	if err != nil {
		return nil, 0, err
	}
	if err := units.FromZero(fn, "tau", tau, 1e5, "floors' worth of grain"); err != nil {
		return nil, 0, err
	}
	return l, int(math.Round(tau * side * side * 4 / math.Pi)), nil
}
