package systems

import (
	"slices"
	"time"
)

// A label is a way to have come to a state: what is to be found on the way, and
// when the floor so far may be handed over.
type label struct {
	stops, watches, before int32
	hand                   time.Duration
	chain                  *laid
}

// A state is all that later steps can see of the steps before them: when the
// crew is free, and where those stand that a later step waits for or must come
// before.
type state struct {
	free   time.Duration
	live   [maxLive]*cell // as sight.live of the step that is next
	labels []label
}

const maxLive = 8

type stateKey struct {
	free time.Duration
	live [maxLive]*cell
}

// beats reports whether a is as good as b in all that counts. start and other are
// of the coat just laid, not yet in their chains.
func (f *forward) beats(a *label, start time.Duration, b *label, other time.Duration) bool {
	if a.stops > b.stops || a.hand > b.hand {
		return false
	}
	if f.g.For == FewestFindings && (a.watches > b.watches || a.before > b.before) {
		return false
	}
	c := compareChains(a.chain, b.chain)
	return c < 0 || c == 0 && start <= other
}

// A level holds the states after a step while they are found.
type level struct {
	f      *forward
	places map[stateKey]*state
	states []*state
}

// put adds a way to a state: after was the way so far, and a coat that starts at
// start (none for other work) was held back until hold.
func (v *level) put(key stateKey, after label, start, hold time.Duration) error {
	if v.f.clear && after.stops > 0 || v.f.idle(&after) {
		return nil
	}
	x := v.places[key]
	if x == nil {
		if v.f.states++; v.f.states > v.f.limit() {
			return errTooLarge
		}
		x = &state{free: key.free, live: key.live}
		v.places[key] = x
		v.states = append(v.states, x)
	}
	x.labels = v.f.keep(x.labels, after, start, hold)
	return nil
}

func (pr *problem) limit() int {
	if pr.g.Nodes > 0 {
		return pr.g.Nodes
	}
	return 2_000_000
}

// keep adds a way to those of a state, and leaves out what is beaten.
func (f *forward) keep(all []label, l label, start, hold time.Duration) []label {
	laidNow := start != none
	last := func(x *label) (label, time.Duration) { // with the coat just laid taken off its chain
		if !laidNow || x.chain == nil {
			return *x, 0
		}
		y := *x
		y.chain = x.chain.before
		return y, x.chain.start
	}
	for i := range all {
		if a, at := last(&all[i]); f.beats(&a, at, &l, start) {
			return all
		}
	}
	all = slices.DeleteFunc(all, func(x label) bool {
		b, at := last(&x)
		return f.beats(&l, start, &b, at)
	})
	if laidNow {
		l.chain = &laid{before: l.chain, start: start, hold: hold}
	}
	return append(all, l)
}
