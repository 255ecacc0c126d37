package learn

import (
	"errors"
	"fmt"
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

// covers reports whether a sensor was read at a time or about it: not before its
// first reading, after its last, or in a gap of hours between two.
func (s *sensor) covers(t time.Duration) bool {
	i, read := slices.BinarySearch(s.at, t)
	if read || i == len(s.at) || i == 0 {
		return read
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

// stretch keeps the longest stretch of what drives a model that was logged without a
// gap of hours, and of other sensors what lies in it: what the driver did elsewhere
// nobody knows. what and of are what it and they are called.
func (s *sensor) stretch(r *Result, what, of string, others []*sensor) {
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
		r.note("%s is known from %s to %s: %s of %s before and after are left", what, units.DurationText(first), units.DurationText(last), count(lost, "reading"), of)
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

// beside are the readings of different sensors at one time, by their places among all
// readings of all: two sensors each, those next to each other in the list.
func beside(all []*sensor) (pairs [][2]int) {
	latest := map[time.Duration]int{}
	n := 0
	for _, s := range all {
		for _, t := range s.at {
			if other, ok := latest[t]; ok {
				pairs = append(pairs, [2]int{other, n})
			}
			latest[t] = n
			n++
		}
	}
	return pairs
}
