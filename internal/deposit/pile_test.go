package deposit

import (
	"errors"
	"math"
	"slices"
	"testing"

	"github.com/tackfree/tackfree/data/units"
)

// solids returns the share of spheres between two heights.
func solids(h *Heap, from, to float64) float64 {
	v := 0.0
	for _, c := range h.Centres {
		lo, hi := max(from, c.Z-0.5)-c.Z, min(to, c.Z+0.5)-c.Z
		if hi > lo { // integral of pi (1/4 - z^2)
			v += math.Pi * (hi/4 - hi*hi*hi/3 - lo/4 + lo*lo*lo/3)
		}
	}
	return v / (h.Length * h.Width * (to - from))
}

// Source of the density: random loose packing, P14 of references/aggregate-notes.md.
func TestPile(t *testing.T) {
	h, err := Pile(12, 12, 2000, 1)
	if err != nil {
		t.Fatal(err)
	}
	if phi := solids(h, 2, 8); phi < 0.53 || phi > 0.60 {
		t.Errorf("solids %.3f; want 0.53 to 0.60, about the random loose packing (P14: 0.55 to 0.58 seen)", phi)
	}
	for i, p := range h.Centres {
		for k, q := range h.Centres[:i] {
			dx, dy := math.Abs(p.X-q.X), math.Abs(p.Y-q.Y)
			dx, dy = min(dx, 12-dx), min(dy, 12-dy)
			if d2 := dx*dx + dy*dy + (p.Z-q.Z)*(p.Z-q.Z); d2 < 1-1e-9 {
				t.Fatalf("grains %d and %d are %g apart", i, k, math.Sqrt(d2))
			}
		}
		if p.Z < 0.5 {
			t.Fatalf("grain %d is in the floor: %v", i, p)
		}
	}
	again, _ := Pile(12, 12, 2000, 1)
	if !slices.Equal(h.Centres, again.Centres) {
		t.Error("the same seed makes another heap")
	}
	for _, bad := range [][3]float64{{0, 5, 1}, {5, math.NaN(), 1}, {5, 5, -1}, {5, 5, 1e6}} {
		if h, err := Pile(bad[0], bad[1], int(bad[2]), 1); !errors.Is(err, units.ErrRange) || h != nil {
			t.Errorf("%v: %v; want a range error", bad, err)
		}
	}
}

func TestSpread(t *testing.T) {
	n := 125 // 0.82 x 20 x 6 x 4/pi
	h, err := Spread(20, 6, n, 1)
	if err != nil || len(h.Centres) != n {
		t.Fatal(err)
	}
	for i, p := range h.Centres {
		for _, q := range h.Centres[:i] {
			dx, dy := math.Abs(p.X-q.X), math.Abs(p.Y-q.Y)
			if d := math.Hypot(min(dx, 20-dx), min(dy, 6-dy)); d < 0.99 {
				t.Fatalf("%v and %v are %g apart at the plan coverage of 0.82", p, q, d)
			}
		}
	}
	if h, err := Spread(20, 6, 2*n, 1); !errors.Is(err, units.ErrRange) || h != nil {
		t.Errorf("twice as many: %v; want a range error", err)
	}
}
