package systems

import (
	"sort"
	"time"
)

// A target is a coat laid in the grid, held back until hold at the latest.
type target struct {
	hold time.Duration
	c    *cell
}

// targets lists where a coat may be laid in the grid, by when it is held back:
// of all times that lead to one start the last.
func (f *forward) targets(q *planner, at *sight, option int) (all []target, err error) {
	key := at.key(q, option)
	if all, ok := f.grids[key]; ok {
		return all, nil
	}
	for _, hold := range f.grid {
		if hold <= q.j.held[at.id] {
			continue
		}
		d, _, err := q.when(at.id, 1, 1, hold, "")
		if err != nil {
			return nil, err
		}
		c, err := f.h.cell(q, &f.g, at, option, 1, d)
		if err != nil {
			return nil, err
		}
		if n := len(all); n > 0 && all[n-1].c == c {
			all[n-1].hold = hold
			continue
		}
		all = append(all, target{hold, c})
	}
	f.grids[key] = all
	return all, nil
}

// closed returns the first target from first on from which on all windows that a
// coat must meet after x have closed, but those that never do.
func (f *forward) closed(at *sight, x *state, targets []target, soonest []time.Duration, first int) int {
	if first == len(targets) {
		return first
	}
	late := time.Duration(-1 << 62) // a start after it is after them all
	c := targets[first].c.d
	for _, w := range at.window {
		shut := f.other(at, x, w).shut[w.event]
		if y := earlier(shut, c); y != forever {
			late = max(late, y)
		}
	}
	return first + sort.Search(len(targets)-first, func(i int) bool { return soonest[first+i] > late })
}

// earlier returns the start after which a coat, as long as c, misses a closing;
// forever if it never does.
func earlier(shut closing, c placed) time.Duration {
	at := forever
	if shut.wet != forever {
		at = min(at, shut.wet-(c.wet-c.start))
	}
	if shut.end != forever {
		at = min(at, shut.end-(c.end-c.start))
	}
	return at
}

// open counts the windows that never close after x.
func (f *forward) open(at *sight, x *state) (n int) {
	for _, w := range at.window {
		if f.other(at, x, w).shut[w.event] == (closing{forever, forever}) {
			n++
		}
	}
	return n
}
