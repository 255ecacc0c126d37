package coverage

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/tackfree/tackfree/data/units"
)

// A Size is a kit that is sold: its mixed volume, its price in any currency,
// and how many kits a shelf unit (a case) holds.
type Size struct {
	Kit   units.Volume // above 0 to 1000 m3
	Price float64      // of a kit, above 0 to 1e9
	Case  int          // kits sold together; 0 is 1, at most 1e6
}

// A Cover is what is bought to cover a need.
type Cover struct {
	Kits   []int        // of each size, in the order given
	Cases  []int        // shelf units of each size
	Volume units.Volume // of all that is bought
	Price  float64
	Left   units.Volume // bought and not needed
}

// ErrHardCover says that the search for the cheapest cover was ended before it
// was proved.
var ErrHardCover = errors.New("cheapest cover not proved")

// Cheapest returns the kits of several sizes that cover the needs for the
// least money, and among equal prices (1e-12) with the least left over.
//
// With partial, kits may be opened and weighed out in parts: the needs are
// added up and covered as one, by whole shelf units, and the cover is the
// cheapest there is. Without it every need (a step, a batch) is covered by
// whole kits of its own, each the cheapest at the price of single kits; the
// kits are added up, and the shelf units rounded up last, so that a cover may
// be dearer where cases are large.
//
// It searches all counts, the size with the cheapest volume first, and leaves
// out what a bound shows to be dearer: the rest at the cheapest price per
// volume. That is exact; after 5 million counts, all needs together, it gives up with
// [ErrHardCover], which many needs of thousands of kits of sizes at nearly one
// price per volume may come to.
//
// Range: 1 to 8 sizes, their fields as the comments say; needs 0 to 1e6 m3, at
// most 1e6 of the smallest kits.
// Accuracy: a need that is covered but for a billionth is covered.
// Source: integer programming (unbounded knapsack cover) by branch and bound.
func Cheapest(needs []units.Volume, sizes []Size, partial bool) (Cover, error) {
	const fn = "coverage.Cheapest"
	if err := coverable(fn, needs, sizes); err != nil {
		return Cover{Volume: units.Volume(math.NaN()), Price: math.NaN(), Left: units.Volume(math.NaN())}, err
	}
	total := units.Volume(0)
	for _, n := range needs {
		total += n
	}
	c := Cover{Kits: make([]int, len(sizes)), Cases: make([]int, len(sizes))}
	each := []units.Volume{total}
	if !partial {
		each = needs
	}
	steps := 0 // of all needs together
	for _, need := range each {
		s := search{need: float64(need), steps: steps}
		for i, z := range sizes {
			per := 1.0
			if partial {
				per = float64(max(z.Case, 1))
			}
			s.items = append(s.items, item{at: i, volume: float64(z.Kit) * per, price: z.Price * per})
		}
		counts, err := s.run()
		steps = s.steps
		if err != nil {
			return Cover{Volume: units.Volume(math.NaN()), Price: math.NaN(), Left: units.Volume(math.NaN())}, fmt.Errorf("%s: %w", fn, err)
		}
		for i, z := range sizes {
			if partial {
				c.Cases[i] += counts[i]
			} else {
				c.Kits[i] += counts[i]
				c.Cases[i] = (c.Kits[i] + max(z.Case, 1) - 1) / max(z.Case, 1)
			}
		}
	}
	for i, z := range sizes {
		c.Kits[i] = c.Cases[i] * max(z.Case, 1)
		c.Volume += z.Kit * units.Volume(c.Kits[i])
		c.Price += z.Price * float64(c.Kits[i])
	}
	c.Left = max(c.Volume-total, 0) // a need covered but for a billionth leaves nothing
	return c, nil
}

func coverable(fn string, needs []units.Volume, sizes []Size) error {
	err := units.InRange(fn, "sizes", float64(len(sizes)), 1, 8, "sizes")
	smallest := units.Volume(math.Inf(1))
	for i, z := range sizes {
		of := fmt.Sprintf(" of size %d", i+1)
		err = errors.Join(err, aboveZero(fn, "Kit"+of, float64(z.Kit), float64(z.Kit), 1000, "m3"),
			aboveZero(fn, "Price"+of, z.Price, z.Price, 1e9, "a kit"), units.FromZero(fn, "Case"+of, float64(z.Case), 1e6, "kits"))
		smallest = min(smallest, z.Kit)
	}
	if err != nil {
		return err
	}
	var total units.Volume
	for i, n := range needs {
		err = errors.Join(err, units.FromZero(fn, fmt.Sprintf("need %d", i+1), float64(n), 1e6, "m3"))
		total += n
	}
	if err == nil && total > 1e6*smallest {
		err = &units.RangeError{Func: fn, Arg: "needs", Got: float64(total / smallest), Lo: 0, Hi: 1e6, Unit: "kits"}
	}
	return err
}

type item struct {
	at            int
	volume, price float64
}

// A search is one need's branch and bound.
type search struct {
	need   float64
	items  []item // cheapest volume first
	counts [8]int
	best   [8]int
	price  float64
	volume float64
	steps  int
}

func (s *search) run() ([8]int, error) {
	slices.SortStableFunc(s.items, func(a, b item) int {
		switch x, y := a.price*b.volume, b.price*a.volume; {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	s.price, s.volume = math.Inf(1), math.Inf(1)
	s.branch(0, 0, 0)
	if s.steps > 5e6 {
		return [8]int{}, fmt.Errorf("after %d counts at price %.9g: %w", s.steps, s.price, ErrHardCover)
	}
	return s.best, nil
}

// branch tries counts of item i and of those after it, with a price and a
// volume already taken.
func (s *search) branch(i int, price, volume float64) {
	if s.steps++; s.steps > 5e6 {
		return
	}
	slack := 1e-9 * s.need
	left := s.need - volume - slack
	if left <= 0 {
		s.take(price, volume)
		return
	}
	if i == len(s.items) {
		return
	}
	it := s.items[i]
	if s.hopeless(price+left*it.price/it.volume, volume+left) {
		return
	}
	if i == len(s.items)-1 { // the last one must cover the rest, by the fewest
		s.counts[it.at] = int(math.Ceil(left / it.volume))
		s.take(price+float64(s.counts[it.at])*it.price, volume+float64(s.counts[it.at])*it.volume)
		s.counts[it.at] = 0
		return
	}
	for n := int(math.Ceil(left / it.volume)); n >= 0; n-- {
		s.counts[it.at] = n
		s.branch(i+1, price+float64(n)*it.price, volume+float64(n)*it.volume)
		// With fewer of this one the rest is no cheaper than the next one's volume: the bound only rises.
		if i+1 < len(s.items) && n > 0 {
			next := s.items[i+1]
			rest := left - float64(n-1)*it.volume
			if s.hopeless(price+float64(n-1)*it.price+rest*next.price/next.volume, volume+left) {
				break
			}
		}
	}
	s.counts[it.at] = 0
}

// hopeless reports whether nothing at least so dear and so much is better than
// what was found.
func (s *search) hopeless(price, volume float64) bool {
	if price > s.price*(1+1e-12) {
		return true
	}
	return price >= s.price*(1-1e-12) && volume >= s.volume*(1-1e-12)
}

func (s *search) take(price, volume float64) {
	if s.hopeless(price, volume) {
		return
	}
	s.price, s.volume, s.best = price, volume, s.counts
}
