package draw

import (
	"fmt"
	"time"

	"gonum.org/v1/plot/vg"
)

// A moment is an event or a mark.
type moment struct {
	at   time.Duration
	text string
	mark bool
}

// A flag is a text on top of a pole at x. It reaches from left to right, in a
// lane counted upward from the panels.
type flag struct {
	x, left, right vg.Length
	lane           int
	text           string
	mark           bool
}

// place puts flags, which come in the order of time, into lanes, so that no two
// texts overlap and no pole crosses a text: a flag hangs to the right of its
// pole, and is higher than the later ones it reaches over. Only at the sheet's
// right edge, where it must hang further left, a pole may pass behind a text.
// It returns how many lanes are taken.
func place(flags []flag, width func(flag) vg.Length, right, gap vg.Length) int {
	lanes := 0
	for i := len(flags) - 1; i >= 0; i-- {
		f := &flags[i]
		w := width(*f)
		f.left = min(f.x, right-w)
		f.right = f.left + w
		f.lane = 0
		for _, g := range flags[i+1:] {
			if min(g.left, g.x) < f.right+gap && f.left < max(g.right, g.x)+gap {
				f.lane = max(f.lane, g.lane+1)
			}
		}
		lanes = max(lanes, f.lane+1)
	}
	return lanes
}

// numbered groups moments closer together than near into flags that carry
// their numbers.
func numbered(all []moment, x func(time.Duration) vg.Length, near vg.Length) []flag {
	var out []flag
	first := 0
	for i, m := range all {
		at := x(m.at)
		if len(out) > 0 && at-out[len(out)-1].x < near {
			f := &out[len(out)-1]
			f.text = fmt.Sprintf("%d-%d", first+1, i+1)
			f.mark = f.mark || m.mark
			continue
		}
		first = i
		out = append(out, flag{x: at, text: fmt.Sprint(i + 1), mark: m.mark})
	}
	return out
}
