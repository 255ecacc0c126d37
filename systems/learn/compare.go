package learn

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// middle is the median of some sensors at a time.
func middle(all []*sensor, t time.Duration) (float64, bool) {
	var v []float64
	for _, s := range all {
		if !s.out && s.covers(t) {
			v = append(v, s.value(t))
		}
	}
	return median(v), len(v) > 0
}

// against finds what is wrong with a sensor by the median of the others: the
// kind that leaves the least of the difference, where what it finds is beyond
// its bound and it explains most of the difference.
func (s *sensor) against(others []*sensor) (Flag, bool) {
	at, d := s.off(others, 0, 1)
	if len(d) < 8 {
		return Flag{}, false
	}
	best, found := size(d), Flag{}
	whole := best
	take := func(left float64, f Flag) {
		if left < best {
			best, found = left, f
		}
	}
	n, last := len(s.v), len(s.v)-1
	if by := median(slices.Clone(d)); math.Abs(by) > mostOffset {
		take(size(less(d, func(int) float64 { return by })), s.flag(Offset, units.TempDelta(by), 0, last, n, leftOut))
	}
	if a, b := straight(at, d); math.Abs(b*float64(at[len(at)-1]-at[0])) > mostDrift {
		take(size(less(d, func(i int) float64 { return a + b*float64(at[i]) })), s.flag(Drift, units.TempDelta(b*float64(at[len(at)-1]-at[0])), 0, last, n, leftOut))
	}
	if left, f, ok := s.jumps(at, d); ok {
		take(left, f)
	}
	step := max(1, len(s.at)/300) // enough of a long log
	for tau := -8 * time.Hour; tau <= 8*time.Hour; tau += 5 * time.Minute {
		if tau.Abs() < mostShift {
			continue
		}
		if _, e := s.off(others, tau, step); len(e)*step*3 > 2*len(d) {
			take(size(e), s.flag(Shifted, units.Span(-tau), 0, last, n, leftOut))
		}
	}
	if found.Wrong == "" || best > 0.6*whole {
		return Flag{}, false
	}
	return found, true
}

// off is by how much every so manyth reading is off the median of others, and when,
// if its clock is tau behind.
func (s *sensor) off(others []*sensor, tau time.Duration, step int) (at []time.Duration, d []float64) {
	for i := 0; i < len(s.at); i += step {
		if m, ok := middle(others, s.at[i]+tau); ok {
			at, d = append(at, s.at[i]), append(d, s.v[i]-m)
		}
	}
	return at, d
}

// jumps finds the jump that leaves the least of differences d, if one is beyond its
// bound: of a long log first to a hundredth of it, then to the reading.
func (s *sensor) jumps(at []time.Duration, d []float64) (least float64, found Flag, ok bool) {
	n, last := len(s.v), len(s.v)-1
	where := 0
	try := func(k int) {
		a, b := median(slices.Clone(d[:k])), median(slices.Clone(d[k:]))
		if math.Abs(a-b) <= mostJump {
			return
		}
		left := size(less(d, func(i int) float64 {
			if i < k {
				return a
			}
			return b
		}))
		if ok && left >= least {
			return
		}
		from := sort.Search(n, func(i int) bool { return s.at[i] >= at[k] })
		found = s.flag(Jump, units.TempDelta(b-a), min(from, last), last, n-from, leftOut)
		if math.Abs(a) > math.Abs(b) { // it was wrong before, and was mended
			found = s.flag(Jump, units.TempDelta(b-a), 0, max(0, from-1), from, leftOut)
		}
		least, where, ok = left, k, true
	}
	for step, lo, hi := max(1, len(d)/100), 3, len(d)-3; ; step = max(1, step/8) {
		for k := lo; k <= hi; k += step {
			try(k)
		}
		if step == 1 || !ok {
			return least, found, ok
		}
		lo, hi = max(3, where-step), min(len(d)-3, where+step)
	}
}

// size is the mean of the sizes of differences, the largest tenth left out.
func size(d []float64) float64 {
	a := make([]float64, len(d))
	for i, v := range d {
		a[i] = math.Abs(v)
	}
	slices.Sort(a)
	a = a[:max(1, len(a)-len(a)/10)]
	sum := 0.0
	for _, v := range a {
		sum += v
	}
	return max(sum/float64(len(a)), sensorNoise)
}

func less(d []float64, by func(i int) float64) []float64 {
	out := make([]float64, len(d))
	for i := range d {
		out[i] = d[i] - by(i)
	}
	return out
}

// straight is Theil and Sen's line through d: the median of the slopes. Source:
// Sen (1968), from memory.
func straight(at []time.Duration, d []float64) (a, b float64) {
	var slopes []float64
	step := max(1, len(d)/60)
	for i := 0; i < len(d); i += step {
		for j := i + 1; j < len(d); j += step {
			slopes = append(slopes, (d[j]-d[i])/float64(at[j]-at[i]))
		}
	}
	b = median(slopes)
	return median(less(d, func(i int) float64 { return b * float64(at[i]) })), b
}

// compare examines sensors of one kind by each other. Three or more outvote one;
// of two that do not agree both are told.
func compare(all []*sensor) (flags []Flag) {
	for range all {
		left := believed(all)
		if len(left) < 3 {
			break
		}
		worst, found := -1, Flag{}
		most := 0.0
		for i, s := range left {
			others := slices.Delete(slices.Clone(left), i, i+1)
			if f, ok := s.against(others); ok {
				if by := apart(s, others); by > most {
					worst, found, most = i, f, by
				}
			}
		}
		if worst < 0 {
			break
		}
		s := left[worst]
		flags = append(flags, found)
		if found.Wrong == Jump {
			s.keep(func(i int) bool { return s.at[i] < found.From || s.at[i] > found.To })
			if len(s.at) >= 3 {
				continue
			}
		}
		s.out = true
	}
	return flags
}

// apart is how far a sensor is off the median of others.
func apart(s *sensor, others []*sensor) float64 {
	_, d := s.off(others, 0, 1)
	if len(d) == 0 {
		return 0
	}
	return size(d)
}

func believed(all []*sensor) (left []*sensor) {
	for _, s := range all {
		if !s.out && len(s.at) > 0 {
			left = append(left, s)
		}
	}
	return left
}

// twins examines two sensors of the air that no third outvotes: apart by more than
// places in a space are, nothing says which is wrong, and neither drives a model.
func twins(all []*sensor) (flags []Flag) {
	left := believed(all)
	if len(left) != 2 {
		return nil
	}
	by := apart(left[0], left[1:])
	if !(by > mostOffset) {
		return nil
	}
	did := "the middle of both is taken"
	if by > mostTwins {
		did = leftOut
	}
	for i, s := range left {
		f := s.flag(Apart, units.TempDelta(by), 0, len(s.at)-1, len(s.at), did)
		if f.Note = "of two loggers nothing says which is wrong"; i == 0 {
			f.Note = fmt.Sprintf("of two loggers (%s and %s) nothing says which is wrong: put a third beside them", s.name, left[1].name)
		}
		flags, s.out = append(flags, f), by > mostTwins
	}
	return flags
}
