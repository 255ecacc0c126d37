package coverage_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

func ExampleCheapest() {
	// 13.12 gal from kits of 3 gal at 150 or 15 gal at 690.
	sizes := []coverage.Size{{Kit: 3 * units.Gallon, Price: 150}, {Kit: 15 * units.Gallon, Price: 690}}
	c, err := coverage.Cheapest([]units.Volume{13.12 * units.Gallon}, sizes, true)
	fmt.Printf("%v, %.0f, %.2f gal left, %v\n", c.Kits, c.Price, float64(c.Left/units.Gallon), err)
	// Output: [0 1], 690, 1.88 gal left, <nil>
}

// bruteForce tries every count of up to three items and returns the least
// price, and the least volume at it.
func bruteForce(need float64, items [][2]float64) (price, volume float64) {
	price, volume = math.Inf(1), math.Inf(1)
	var try func(i int, p, v float64)
	try = func(i int, p, v float64) {
		if v >= need*(1-1e-9) {
			if p < price*(1-1e-12) || p <= price*(1+1e-12) && v < volume {
				price, volume = p, v
			}
			return
		}
		if i == len(items) {
			return
		}
		for n := 0; n <= int(need/items[i][0])+1; n++ {
			try(i+1, p+float64(n)*items[i][1], v+float64(n)*items[i][0])
		}
	}
	try(0, 0, 0)
	return price, volume
}

func drawSizes(t *rapid.T) []coverage.Size {
	var sizes []coverage.Size
	for range rapid.IntRange(1, 3).Draw(t, "sizes") {
		sizes = append(sizes, coverage.Size{Kit: units.Volume(rapid.IntRange(1, 12).Draw(t, "kit")) / 4, // ties are common
			Price: float64(rapid.IntRange(1, 30).Draw(t, "price")), Case: rapid.IntRange(0, 4).Draw(t, "case")})
	}
	return sizes
}

func TestCheapestIsOptimal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sizes := drawSizes(t)
		need := rapid.Float64Range(0, 8).Draw(t, "need")
		if rapid.Bool().Draw(t, "whole") {
			need = math.Round(need*4) / 4
		}
		var cases, kits [][2]float64
		for _, z := range sizes {
			n := float64(max(z.Case, 1))
			cases = append(cases, [2]float64{float64(z.Kit) * n, z.Price * n})
			kits = append(kits, [2]float64{float64(z.Kit), z.Price})
		}
		parts := []units.Volume{units.Volume(need / 4), units.Volume(need * 3 / 4)}
		c, err := coverage.Cheapest(parts, sizes, true)
		price, volume := bruteForce(need, cases)
		if err != nil || math.Abs(c.Price-price) > 1e-9 || math.Abs(float64(c.Volume)-volume) > 1e-9 || math.Abs(float64(c.Left)-max(volume-need, 0)) > 1e-8 {
			t.Fatalf("%+v, %v; brute force %v for %v", c, err, price, volume)
		}
		for i := range sizes { // sold singly, a need with whole kits of its own
			sizes[i].Case = 0
		}
		one, err := coverage.Cheapest([]units.Volume{units.Volume(need)}, sizes, false)
		price, volume = bruteForce(need, kits)
		if err != nil || math.Abs(one.Price-price) > 1e-9 || math.Abs(float64(one.Volume)-volume) > 1e-9 || !slices.Equal(one.Kits, one.Cases) {
			t.Fatalf("%+v, %v; brute force %v for %v", one, err, price, volume)
		}
		apart, err1 := coverage.Cheapest(parts, sizes, false) // opened kits save money, never cost any
		both, err2 := coverage.Cheapest(parts, sizes, true)
		if err1 != nil || err2 != nil || both.Price > apart.Price*(1+1e-12) {
			t.Fatalf("together %+v, apart %+v (%v, %v)", both, apart, err1, err2)
		}
		if len(sizes) == 1 { // one size is [coverage.Kits]
			if n, err := coverage.Kits(units.Volume(need), sizes[0].Kit); err != nil || n != one.Kits[0] {
				t.Fatalf("Kits %d, %+v, %v", n, one, err)
			}
		}
	})
}

func TestCases(t *testing.T) {
	const gal = units.Gallon
	six := []coverage.Size{{Kit: gal, Price: 50, Case: 6}}
	c, err := coverage.Cheapest([]units.Volume{2.5 * gal, 2.5 * gal}, six, false)
	if err != nil || c.Kits[0] != 6 || c.Cases[0] != 1 || c.Price != 300 || math.Abs(float64(c.Left/gal)-1) > 1e-9 {
		t.Errorf("3 and 3 kits in one case of six: %+v, %v; want 1 case, 1 gal over what is needed (by hand)", c, err)
	}
	c, err = coverage.Cheapest([]units.Volume{3.5 * gal, 2.5 * gal}, six, false)
	if err != nil || c.Cases[0] != 2 {
		t.Errorf("4 and 3 kits: %+v, %v; want 2 cases", c, err)
	}
	c, err = coverage.Cheapest([]units.Volume{3.5 * gal, 2.5 * gal}, six, true)
	if err != nil || c.Cases[0] != 1 {
		t.Errorf("6 gal from opened kits: %+v, %v; want 1 case", c, err)
	}
	c, err = coverage.Cheapest(nil, six, true)
	if err != nil || c.Kits[0] != 0 || c.Price != 0 || c.Left != 0 {
		t.Errorf("nothing needed: %+v, %v", c, err)
	}
	// Large orders are still proved: 4321 of 3 and 5 at 10 a unit, and 0.7 for 7.5 rather than another unit for 10.
	big, err := coverage.Cheapest([]units.Volume{4321.7}, []coverage.Size{{Kit: 3, Price: 30}, {Kit: 5, Price: 50}, {Kit: 0.7, Price: 7.5}}, true)
	if err != nil || big.Left > 1e-6 || math.Abs(big.Price-43217.5) > 1e-6 {
		t.Errorf("4321.7: %+v, %v; want 43217.5 and nothing left (by hand)", big, err)
	}
	_, err = coverage.Cheapest([]units.Volume{1e5}, []coverage.Size{{Kit: math.Pi, Price: math.Pi}, {Kit: math.E, Price: math.E}, {Kit: math.Sqrt2, Price: math.Sqrt2}}, true)
	if !errors.Is(err, coverage.ErrHardCover) {
		t.Errorf("three sizes without common measure at one price: %v; want the search to end", err)
	}
	ok := []coverage.Size{{Kit: 1, Price: 1}}
	nan := math.NaN()
	for name, tc := range map[string]struct {
		needs []units.Volume
		sizes []coverage.Size
	}{
		"no sizes": {nil, nil}, "nine sizes": {nil, slices.Repeat(ok, 9)}, "no kit": {nil, []coverage.Size{{0, 1, 0}}}, "free": {nil, []coverage.Size{{1, 0, 0}}},
		"price NaN": {nil, []coverage.Size{{1, nan, 0}}}, "case": {nil, []coverage.Size{{1, 1, -1}}}, "need": {[]units.Volume{1, -1}, ok},
		"need NaN": {[]units.Volume{units.Volume(nan)}, ok}, "too many": {[]units.Volume{1e6}, []coverage.Size{{1e-3, 1, 0}}},
	} {
		for _, partial := range []bool{false, true} {
			if c, err := coverage.Cheapest(tc.needs, tc.sizes, partial); !errors.Is(err, units.ErrRange) || !math.IsNaN(c.Price) || !math.IsNaN(float64(c.Volume)) || c.Kits != nil {
				t.Errorf("%s: %+v, %v; want a range error and NaN", name, c, err)
			}
		}
	}
}

func BenchmarkCheapest(b *testing.B) {
	sizes := []coverage.Size{{Kit: 3 * units.Gallon, Price: 150}, {Kit: 15 * units.Gallon, Price: 690}, {Kit: 1 * units.Gallon, Price: 55}}
	needs := []units.Volume{213 * units.Gallon, 88 * units.Gallon}
	for b.Loop() {
		if _, err := coverage.Cheapest(needs, sizes, true); err != nil {
			b.Fatal(err)
		}
	}
}
