package coverage

import (
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// A Sampling is how much of a film to measure.
type Sampling struct {
	Areas    int // separate areas, of 100 ft2 each; 0 where the rule knows none
	Spots    int // spots over all areas, or single measurements
	Readings int // at least, over all
	Repeats  int // measurements that may be made anew where access was poor
}

// SpotSampling returns the areas, spots and readings of the rule of spot
// averages: every 100 ft2 up to 300 ft2, three areas up to 1000 ft2, one more
// for each further 1000 ft2 or part; five spots an area, three readings a spot.
//
// Range: area above 0 to 1e8 m2.
// Source: SSPC-PA 2 section 8, as read in public summaries of it. Written for
// metal: floors borrow the arithmetic, not the authority.
func SpotSampling(area units.Area) (Sampling, error) {
	if err := aboveZero("coverage.SpotSampling", "area", float64(area), float64(area), 1e8, "m2"); err != nil {
		return Sampling{}, err
	}
	n := 3
	switch ft2 := float64(area / units.SquareFoot); {
	case ft2 <= 300:
		n = ceil(ft2 / 100)
	case ft2 > 1000:
		n += ceil((ft2 - 1000) / 1000)
	}
	return Sampling{Areas: n, Spots: 5 * n, Readings: 15 * n}, nil
}

// ReadingSampling returns the single measurements of the rule of 80 and 20: 5
// up to 1 m2, 10 up to 3 m2, 15 up to 10 m2, 20 up to 30 m2, 30 up to 100 m2,
// and 10 more for each further 100 m2 or part. Of them 1, 2, 3, 4, 6 may be
// made anew, above 100 m2 a fifth.
//
// Range: area above 0 to 1e8 m2.
// Source: ISO 19840:2012 table 1, from memory, not seen: check a licensed copy.
// Written for metal: floors borrow the arithmetic, not the authority.
func ReadingSampling(area units.Area) (Sampling, error) {
	if err := aboveZero("coverage.ReadingSampling", "area", float64(area), float64(area), 1e8, "m2"); err != nil {
		return Sampling{}, err
	}
	for _, row := range [...]struct {
		to         units.Area
		n, repeats int
	}{{1, 5, 1}, {3, 10, 2}, {10, 15, 3}, {30, 20, 4}, {100, 30, 6}} {
		if area <= row.to*(1+1e-9) {
			return Sampling{Spots: row.n, Readings: row.n, Repeats: row.repeats}, nil
		}
	}
	n := 30 + 10*ceil(float64(area)/100-1)
	return Sampling{Spots: n, Readings: n, Repeats: n / 5}, nil
}

// ceil rounds up what is not a whole number but for rounding.
func ceil(v float64) int { return int(math.Ceil(v * (1 - 1e-9))) }
