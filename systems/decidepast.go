package systems

import (
	"slices"
	"time"

	"github.com/tackfree/tackfree/climate"
)

// What is begun when a job is decided stays as it is: only steps not begun are
// decided, from now on, in the state that the past leaves. A coat begun on any
// section keeps its material, and heat can be had from now on.

// A begunWork is what of a job was begun, as the planner places it.
type begunWork struct {
	done           map[spot]placed
	free           time.Duration // when the crew is free of it
	stops, watches int           // found while it was placed
}

// layPast places what was begun with a planner that has placed nothing yet.
func (pr *problem) layPast(q *planner) (w begunWork, err error) {
	w.done = map[spot]placed{}
	if len(q.j.Done) == 0 {
		return w, nil
	}
	if w.free, err = q.placePast(pr.prep, pr.seq); err != nil {
		return w, err
	}
	for at, d := range q.done {
		w.done[at] = d
	}
	w.stops, w.watches = tally(q.o.Findings)
	q.o.Findings, q.o.Schedule = nil, nil
	return w, nil
}

// inOrder reports whether what was begun is the first of the coats and what
// comes with them: the search forward over the steps goes on from there.
func (pr *problem) inOrder(w *begunWork) bool {
	open := false
	for _, id := range pr.seq {
		_, begun := w.done[spot{id, 1}]
		if begun && open {
			return false
		}
		open = open || !begun
	}
	return true
}

// from returns the settings that hold until now and then those of later.
func settingsFrom(was, later []climate.Setting, now time.Duration) (all []climate.Setting) {
	if now == 0 {
		return later
	}
	for _, s := range was {
		if s.At < now {
			all = append(all, s)
		}
	}
	set := climate.Setting{At: now}
	for _, s := range later {
		if s.At <= now {
			set.Temp = s.Temp
		}
	}
	all = append(all, set)
	for _, s := range later {
		if s.At > now {
			all = append(all, s)
		}
	}
	return all
}

// refillsFrom returns the refills up to now and then those of later.
func refillsFrom(was, later []climate.Refill, now time.Duration) (all []climate.Refill) {
	if now == 0 {
		return later
	}
	for _, r := range was {
		if r.At <= now {
			all = append(all, r)
		}
	}
	i := slices.IndexFunc(later, func(r climate.Refill) bool { return r.At > now })
	if i < 0 {
		return all
	}
	return append(all, later[i:]...)
}

// startsFrom returns the starts of the work: of those up to now one.
func startsFrom(starts []time.Duration, now time.Duration) []time.Duration {
	i := 0
	for i+1 < len(starts) && starts[i+1] <= now {
		i++
	}
	return starts[i:]
}
