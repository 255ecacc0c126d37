package aggregate_test

import (
	"errors"
	"math"
	"testing"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
)

// Source of the bands: AASHTO TF 34 (from memory) and Ohio DOT CMS 2010 512.05.
func TestBand(t *testing.T) {
	mid, err := overlayBand.Middle()
	if err != nil {
		t.Fatal(err)
	}
	if misses, err := overlayBand.Misses(mid); err != nil || len(misses) > 0 {
		t.Errorf("the middle misses its own band: %+v, %v", misses, err)
	}
	// Ohio DOT CMS 2010 512.05: No. 4 100, No. 8 90-100, No. 20 5-15, No. 50 0-5; finer than the overlay's.
	ohio := aggregate.Band{{4.75e-3, 1, 1}, {2.36e-3, .90, 1}, {0.85e-3, .05, .15}, {0.3e-3, 0, .05}}
	misses, err := ohio.Misses(append(mid, aggregate.Passing{Opening: 0.3e-3})) // nothing through No. 50
	if err != nil || len(misses) != 2 {
		t.Fatalf("overlay stone in Ohio's sand: %+v, %v; want misses at No. 8 and No. 20", misses, err)
	}
	near(t, "No. 8", float64(misses[0].By), .525-.90, 1e-9, nil, "by hand")
	near(t, "No. 20", float64(misses[1].Share), .005+.02*math.Log(.85/.6)/math.Log(1.18/.6), 1e-9, nil, "by hand, interpolated")
	fine, _ := ohio.Fine()
	if misses, err := overlayBand.Misses(fine); err != nil || len(misses) != 3 || misses[0].By < 0 {
		t.Errorf("Ohio's finest in the overlay's band: %+v, %v", misses, err)
	}
	for name, b := range map[string]aggregate.Band{"none": nil, "crossed": {{2e-3, 1, 1}, {1e-3, .5, .4}}, "above": {{2e-3, 1, 1.1}, {1e-3, .5, .6}}, "NaN": {{2e-3, 1, 1}, {1e-3, units.Fraction(math.NaN()), .6}}} {
		_, err1 := b.Middle()
		_, err2 := b.Fine()
		_, err3 := b.Coarse()
		_, err4 := b.Misses(mid)
		for _, err := range []error{err1, err2, err3, err4} {
			if !errors.Is(err, units.ErrRange) {
				t.Errorf("%s: %v; want a range error", name, err)
			}
		}
	}
	if m, err := ohio.Misses(graded(2, 100, 1, 50)); !errors.Is(err, units.ErrRange) || m != nil {
		t.Errorf("sieves that the gradation lacks: %v, %v", m, err)
	}
}
