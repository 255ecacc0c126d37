package deposit

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"github.com/tackfree/tackfree/data/units"
)

// Spread lays n grains one deep in a box as [Pile] has it, pushed apart until
// none overlap by more than 1 % of a diameter: a layer broadcast to refusal,
// denser than grain that only rolls.
//
// Range: length and width 4 to 200; n up to a plan coverage of 0.83, beyond
// which discs at random jam.
func Spread(length, width float64, n int, seed uint64) (*Heap, error) {
	const fn = "deposit.Spread"
	for _, err := range []error{units.InRange(fn, "length", length, 4, 200, "diameters"), units.InRange(fn, "width", width, 4, 200, "diameters")} {
		if err != nil {
			return nil, err
		}
	}
	if err := units.InRange(fn, "coverage", 100*float64(n)*math.Pi/4/(length*width), 0, 83, "%"); err != nil {
		return nil, err
	}
	r := rng(seed)
	h := &Heap{Length: length, Width: width}
	for range n {
		h.Centres = append(h.Centres, r3.Vec{X: length * r.Float64(), Y: width * r.Float64(), Z: 0.5})
	}
	near := func(d, side float64) float64 { return d - side*math.Round(d/side) }
	for range 20000 {
		worst := 0.0
		push := make([]r3.Vec, n)
		for i, p := range h.Centres {
			for k, q := range h.Centres[:i] {
				dx := near(p.X-q.X, length)
				if dx > 1 || dx < -1 {
					continue
				}
				dy := near(p.Y-q.Y, width)
				d := math.Hypot(dx, dy)
				if d >= 1 || d == 0 {
					continue
				}
				worst = max(worst, 1-d)
				f := 0.3 * (1.002 - d) / d
				push[i].X += f * dx
				push[i].Y += f * dy
				push[k].X -= f * dx
				push[k].Y -= f * dy
			}
		}
		if worst < 0.01 {
			return h, nil
		}
		for i := range h.Centres {
			c := &h.Centres[i]
			c.X = math.Mod(c.X+push[i].X+length, length)
			c.Y = math.Mod(c.Y+push[i].Y+width, width)
		}
	}
	return nil, fmt.Errorf("%s: %d grains in %g x %g do not come apart", fn, n, length, width)
}
