package systems

import (
	"testing"
	"time"
)

// Work told as one stretch, of which each section has its part: they follow one
// another and end with it, also a year in as many sections as a job may have, in
// which the nanoseconds times the section no longer fit. Common practice, no source.
func TestBegunSections(t *testing.T) {
	for _, x := range []struct {
		sections int
		from, to time.Duration
	}{{3, time.Hour, 11 * time.Hour}, {7, 0, 100}, {1000, time.Hour, farthest}, {1, 0, 0}} {
		p := &planner{j: &Job{Done: map[string]DoneWork{"body": {Whole: &DoneSpan{x.from, &x.to}}}}, o: &Outcome{Sections: x.sections}}
		last := x.from
		for section := 1; section <= x.sections; section++ {
			got, ok := p.begun("body", section)
			if !ok || got.Start != last || *got.End < last || (*got.End-got.Start-(x.to-x.from)/time.Duration(x.sections)).Abs() > 1 {
				t.Fatalf("%d of %d: %v to %v after %v", section, x.sections, got.Start, *got.End, last)
			}
			last = *got.End
		}
		if last != x.to {
			t.Errorf("%d sections end %v, want %v", x.sections, last, x.to)
		}
	}
}
