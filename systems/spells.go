package systems

import (
	"cmp"
	"math"
	"slices"
	"sort"
	"time"
)

// A spell is a time without a break in which the weather breaks one limit of a
// material. Breaks shorter than a grain do not part spells.
type spell struct {
	limit    int // place in limits
	from, to time.Duration
	latest   time.Duration // of the ends of this spell and those before it

	first int       // its first sample
	by    []float64 // by how much the limit is broken at its samples
	tail  []int32   // by sample: which of it and those after it is the worst
}

// forever is the end of a spell that goes on after the last reading.
const forever = time.Duration(math.MaxInt64)

// of returns the spells of a material from the job's start on, by their beginnings.
func (s *sky) of(m *Material) []spell {
	name := [2]string{m.ID, m.Version}
	if all, ok := s.spells[name]; ok {
		return all
	}
	var all []spell
	var last [len(limits)]int // for each of limits 1 + the place of its last spell, or 0
	for i, x := range s.samples {
		for limit, by := range s.broken(m, x.conditions) {
			j := last[limit] - 1
			open := j >= 0 && all[j].to == forever
			switch {
			case by == 0 && open:
				all[j].to = s.crossing(m, limit, s.samples[i-1].at, x.at)
			case by == 0:
			case !open:
				from := x.at
				if i > 0 {
					from = s.crossing(m, limit, s.samples[i-1].at, x.at)
				}
				if j < 0 || from-all[j].to >= grain {
					all = append(all, spell{limit: limit, from: from, first: i})
					j = len(all) - 1
					last[limit] = j + 1
				}
				all[j].to = forever
				fallthrough
			default:
				for len(all[j].by) < i-all[j].first {
					all[j].by = append(all[j].by, 0) // in a break
				}
				all[j].by = append(all[j].by, by)
			}
		}
	}
	for j := range all {
		p := &all[j]
		p.tail = make([]int32, len(p.by))
		worst := len(p.by) - 1
		for k := worst; k >= 0; k-- {
			if !(p.by[k] < p.by[worst]) {
				worst = k
			}
			p.tail[k] = int32(worst)
		}
	}
	slices.SortStableFunc(all, func(a, b spell) int { return cmp.Compare(a.from, b.from) })
	for j := range all {
		all[j].latest = all[j].to
		if j > 0 {
			all[j].latest = max(all[j].to, all[j-1].latest)
		}
	}
	s.spells[name] = all
	return all
}

// crossing returns when, between two samples, one of limits begins or ceases to
// be broken, to the second.
func (s *sky) crossing(m *Material, limit int, a, b time.Duration) time.Duration {
	first := s.broken(m, s.weather(a))[limit] == 0
	for b-a > time.Second {
		mid := a + (b-a)/2
		if is := s.broken(m, s.weather(mid))[limit] == 0; is == first {
			a = mid
		} else {
			b = mid
		}
	}
	return b
}

// against returns the spells of a material that reach into the time from from
// to to, in order, until yield wants no more.
func (s *sky) against(m *Material, from, to time.Duration) func(yield func(spell) bool) {
	return func(yield func(spell) bool) {
		all := s.of(m)
		first := sort.Search(len(all), func(i int) bool { return all[i].latest > from })
		for _, x := range all[first:] {
			if x.from > to || x.from == to && to > from {
				return
			}
			if x.to > from && !yield(x) {
				return
			}
		}
	}
}

// blocked returns the first spell that keeps m from going down between from
// and to, if there is one.
func (s *sky) blocked(m *Material, from, to time.Duration) (spell, bool) {
	for x := range s.against(m, from, to) {
		return x, true
	}
	return spell{}, false
}

// cut returns when a spell is between from and to, when it is worst there and
// by how much; false if it is not.
func (s *sky) cut(m *Material, x spell, from, to time.Duration) (is times, worst time.Duration, by float64, ok bool) {
	from, to = max(from, x.from), min(to, x.to)
	if from > to {
		return times{}, 0, 0, false
	}
	look := [3]time.Duration{from, to, from}
	lo := max(0, s.after(from)-x.first)
	switch hi := min(len(x.by), s.after(to)-x.first); {
	case lo >= hi:
	case hi == len(x.by):
		look[2] = s.samples[x.first+int(x.tail[lo])].at
	default:
		top := lo
		for k := lo; k < hi; k++ {
			if x.by[k] > x.by[top] {
				top = k
			}
		}
		look[2] = s.samples[x.first+top].at
	}
	for _, t := range look {
		if over := s.broken(m, s.weather(t))[x.limit]; over > by || math.IsNaN(over) {
			worst, by, ok = t, over, true
		}
	}
	return times{from, to}, worst, by, ok
}

// after returns the place of the first sample after t.
func (s *sky) after(t time.Duration) int {
	return sort.Search(len(s.samples), func(i int) bool { return s.samples[i].at > t })
}
