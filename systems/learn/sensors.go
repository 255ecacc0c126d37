package learn

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// A Logger is one sensor with what it read, its times since the job's start.
type Logger struct {
	Name  string
	Trace climate.Trace
}

// Bounds beyond which a sensor is not believed. Common practice, no source: a
// slab's places differ by less, and loggers of the trade are good to 0.5 K.
const (
	mostOffset  = 1.0              // K
	mostDrift   = 1.2              // K over the readings
	mostJump    = 1.2              // K
	mostShift   = 25 * time.Minute // of the clock
	leastStuck  = 3 * time.Hour    // with at least 6 readings
	mostTwins   = 3.0              // K between two loggers of the air: a door and a heater are that far apart
	mostGap     = 3 * time.Hour    // in the air's log
	mixUpBy     = 8.0              // K off what is possible, that the other unit mends
	sensorNoise = 0.05             // K: the scatter of a logger at best
)

// a sensor is a logger under examination.
type sensor struct {
	name string
	at   []time.Duration
	v    []float64     // K
	out  bool          // not believed at all
	gap  time.Duration // between two readings beyond which nothing is known; once asked for
}

// sensors takes loggers apart and refuses what is no reading.
func sensors(what string, all []Logger) ([]*sensor, error) {
	var out []*sensor
	var errs []error
	for i, l := range all {
		if l.Name == "" {
			l.Name = fmt.Sprintf("%s %d", what, i+1)
		}
		if slices.ContainsFunc(out, func(s *sensor) bool { return s.name == l.Name }) {
			errs = append(errs, fmt.Errorf("learn: %s: found logger %q twice: want names that differ", what, l.Name))
			continue
		}
		if err := l.Trace.Validate(); err != nil {
			errs = append(errs, fmt.Errorf("learn: %s %q: %w", what, l.Name, err))
			continue
		}
		s := &sensor{name: l.Name}
		for _, x := range l.Trace {
			s.at, s.v = append(s.at, x.At), append(s.v, x.Temp.Kelvin())
		}
		out = append(out, s)
	}
	return out, errors.Join(errs...)
}

// value reads a sensor at a time, held past its ends.
func (s *sensor) value(t time.Duration) float64 {
	i := sort.Search(len(s.at), func(i int) bool { return s.at[i] > t })
	switch {
	case i == 0:
		return s.v[0]
	case i == len(s.at):
		return s.v[i-1]
	}
	x := float64(t-s.at[i-1]) / float64(s.at[i]-s.at[i-1])
	return s.v[i-1]*(1-x) + s.v[i]*x
}

// covers reports whether a sensor was read about a time: not before its first
// reading, after its last, or in a gap of hours between two.
func (s *sensor) covers(t time.Duration) bool {
	i := sort.Search(len(s.at), func(i int) bool { return s.at[i] >= t })
	if i == len(s.at) || i == 0 {
		return i < len(s.at) && s.at[i] == t
	}
	if s.gap == 0 && len(s.at) > 1 {
		d := make([]float64, len(s.at)-1)
		for k := range d {
			d[k] = float64(s.at[k+1] - s.at[k])
		}
		s.gap = max(time.Duration(3*median(d)), 2*time.Hour)
	}
	return s.at[i]-s.at[i-1] <= s.gap
}

// keep leaves the readings that ok says.
func (s *sensor) keep(ok func(i int) bool) {
	n := 0
	for i := range s.at {
		if ok(i) {
			s.at[n], s.v[n] = s.at[i], s.v[i]
			n++
		}
	}
	s.at, s.v = s.at[:n], s.v[:n]
}

func (s *sensor) flag(wrong string, by units.Quantity, from, to, n int, did string) Flag {
	f := Flag{Reading: s.name, Wrong: wrong, N: n, Did: did, By: systems.Amount{Q: by}}
	if len(s.at) > 0 {
		f.From, f.To = s.at[from], s.at[to]
	}
	return f
}

const (
	leftOut    = "left out"
	allowedFor = "allowed for in what was learned"
	converted  = "taken in its own unit"
)

// fahrenheitRead is what a sensor of °F shows where °C is read, in K; and back.
func fahrenheitRead(k float64) float64 { return (k-273.15)*1.8 + 32 + 273.15 }
func celsiusRead(k float64) float64    { return (k-273.15-32)/1.8 + 273.15 }

// mixUp mends a sensor that was read in the wrong unit: lo and hi bound what the
// temperature can be.
func (s *sensor) mixUp(lo, hi float64) (Flag, bool) {
	if len(s.v) == 0 {
		return Flag{}, false
	}
	out := func(f func(float64) float64) float64 {
		m := median(slices.Collect(func(yield func(float64) bool) {
			for _, v := range s.v {
				if !yield(f(v)) {
					return
				}
			}
		}))
		return max(lo-m, m-hi, 0)
	}
	is := out(func(v float64) float64 { return v })
	if is < mixUpBy {
		return Flag{}, false
	}
	for _, f := range []func(float64) float64{celsiusRead, fahrenheitRead} { // read as °C what is °F: take it back
		if out(f) < 0.25*is && out(f) < mixUpBy/2 {
			flag := s.flag(MixUp, units.TempDelta(median(slices.Clone(s.v))-f(median(slices.Clone(s.v)))), 0, len(s.v)-1, len(s.v), converted)
			for i := range s.v {
				s.v[i] = f(s.v[i])
			}
			return flag, true
		}
	}
	return Flag{}, false
}

// stuck takes out the stretches in which a sensor shows one value while others
// say that it cannot have stayed.
func (s *sensor) stuck(says func(from, to int) bool) (flags []Flag) {
	drop := make([]bool, len(s.v))
	for i := 0; i < len(s.v); {
		j := i
		for j+1 < len(s.v) && math.Abs(s.v[j+1]-s.v[i]) < 1e-6 {
			j++
		}
		if n := j - i + 1; n >= 6 && s.at[j]-s.at[i] >= leastStuck && says(i, j) {
			flags = append(flags, s.flag(Stuck, units.Kelvin(s.v[i]), i, j, n, leftOut))
			for k := i; k <= j; k++ {
				drop[k] = true
			}
		}
		i = j + 1
	}
	if len(flags) > 0 {
		s.keep(func(i int) bool { return !drop[i] })
	}
	return flags
}

// grain is the least step between two readings that differ: what a sensor can
// show, such as 0.5 °C; 0 of one that shows a single value.
func (s *sensor) grain() (least float64) {
	for i := 1; i < len(s.v); i++ {
		if d := math.Abs(s.v[i] - s.v[i-1]); d > 1e-6 && (least == 0 || d < least) {
			least = d
		}
	}
	return least
}

// during is what a sensor read from one time to another.
func (s *sensor) during(from, to time.Duration) (v []float64) {
	for i, t := range s.at {
		if t >= from && t <= to {
			v = append(v, s.v[i])
		}
	}
	return v
}

// moved is by how much a sensor moved meanwhile, from its lowest reading to its highest.
func (s *sensor) moved(from, to time.Duration) float64 {
	v := s.during(from, to)
	if len(v) < 2 {
		return 0
	}
	return slices.Max(v) - slices.Min(v)
}

// leaves is by how much a sensor goes away from a value meanwhile, by the medians
// of five readings, which single ones do not move.
func (s *sensor) leaves(value float64, from, to time.Duration) (most float64) {
	v := s.during(from, to)
	nearest := math.Inf(1)
	for i := 2; i+2 < len(v); i++ {
		d := math.Abs(median(slices.Clone(v[i-2:i+3])) - value)
		nearest = min(nearest, d)
		most = max(most, d-nearest)
	}
	return most
}

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
	var at []time.Duration
	var d []float64
	for i, t := range s.at {
		if m, ok := middle(others, t); ok {
			at, d = append(at, t), append(d, s.v[i]-m)
		}
	}
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
	for k := 3; k+3 <= len(d); k++ {
		a, b := median(slices.Clone(d[:k])), median(slices.Clone(d[k:]))
		if math.Abs(a-b) > mostJump {
			from := sort.Search(n, func(i int) bool { return s.at[i] >= at[k] })
			f := s.flag(Jump, units.TempDelta(b-a), min(from, last), last, n-from, leftOut)
			if math.Abs(a) > math.Abs(b) { // it was wrong before, and was mended
				f = s.flag(Jump, units.TempDelta(b-a), 0, max(0, from-1), from, leftOut)
			}
			take(size(less(d, func(i int) float64 {
				if i < k {
					return a
				}
				return b
			})), f)
		}
	}
	for tau := -8 * time.Hour; tau <= 8*time.Hour; tau += 5 * time.Minute {
		if tau.Abs() < mostShift {
			continue
		}
		var e []float64
		for i, t := range s.at {
			if m, ok := middle(others, t+tau); ok {
				e = append(e, s.v[i]-m)
			}
		}
		if len(e)*3 > 2*len(d) {
			take(size(e), s.flag(Shifted, units.Span(-tau), 0, last, n, leftOut))
		}
	}
	if found.Wrong == "" || best > 0.6*whole {
		return Flag{}, false
	}
	return found, true
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
	var d []float64
	for i, t := range s.at {
		if m, ok := middle(others, t); ok {
			d = append(d, s.v[i]-m)
		}
	}
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

// stretch keeps the longest stretch of the air that was logged without a gap of
// hours, and of other sensors what lies in it: what the air did elsewhere nobody knows.
func (s *sensor) stretch(r *Result, others []*sensor) {
	if len(s.at) < 2 {
		return
	}
	d := make([]float64, 0, len(s.at))
	for i := 1; i < len(s.at); i++ {
		d = append(d, float64(s.at[i]-s.at[i-1]))
	}
	gap := max(time.Duration(3*median(d)), mostGap)
	from, to, begin := 0, 0, 0
	for i := range s.at {
		if i > 0 && s.at[i]-s.at[i-1] > gap {
			begin = i
		}
		if s.at[i]-s.at[begin] > s.at[to]-s.at[from] {
			from, to = begin, i
		}
	}
	first, last, lost := s.at[from], s.at[to], 0
	for _, x := range others {
		n := len(x.at)
		x.keep(func(i int) bool { return x.at[i] >= first-time.Hour && x.at[i] <= last+time.Hour })
		lost += n - len(x.at)
	}
	s.keep(func(i int) bool { return s.at[i] >= first && s.at[i] <= last })
	if lost > 0 {
		r.note("the air is known from %s to %s: %s of the slab before and after are left", units.DurationText(first), units.DurationText(last), count(lost, "reading"))
	}
}

// merge is the median of the believed sensors at all their times: what drives a model.
func merge(all []*sensor) *sensor {
	left := believed(all)
	if len(left) == 0 {
		return nil
	}
	if len(left) == 1 {
		return left[0]
	}
	times := map[time.Duration]bool{}
	out := &sensor{name: left[0].name}
	for _, s := range left {
		for _, t := range s.at {
			times[t] = true
		}
	}
	for t := range times {
		out.at = append(out.at, t)
	}
	slices.Sort(out.at)
	for _, t := range out.at {
		v, _ := middle(left, t)
		out.v = append(out.v, v)
	}
	return out
}
