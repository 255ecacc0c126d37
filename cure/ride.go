package cure

import (
	"sort"
	"time"

	"github.com/tackfree/tackfree/climate"
)

// A ride goes along a trace from one time to another, in pieces over which the
// temperature is linear, with the ends of the trace held.
type ride struct {
	t       climate.Trace
	i       int
	now, to time.Duration
	k       float64 // K, now
}

func newRide(t climate.Trace, from, to time.Duration) ride {
	here, _ := t.At(from)
	return ride{t, sort.Search(len(t), func(i int) bool { return t[i].At > from }), from, to, here.Kelvin()}
}

// next returns a piece from at on, in which a kelvin becomes b in dt seconds.
func (r *ride) next() (at time.Duration, a, b, dt float64, ok bool) {
	if r.now >= r.to {
		return r.now, r.k, r.k, 0, false
	}
	at, a = r.now, r.k
	if r.i < len(r.t) && r.t[r.i].At <= r.to {
		r.now, r.k = r.t[r.i].At, r.t[r.i].Temp.Kelvin()
		r.i++
	} else {
		last, _ := r.t.At(r.to)
		r.now, r.k = r.to, last.Kelvin()
	}
	return at, a, r.k, float64(r.now-at) * 1e-9, true
}
