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
	i, end  int // the next sample, and the first after to
	now, to time.Duration
	k       float64 // K, now
}

func newRide(t climate.Trace, from, to time.Duration) ride {
	here, _ := t.At(from)
	after := func(d time.Duration) int {
		return sort.Search(len(t), func(i int) bool { return t[i].At > d })
	}
	return ride{t, after(from), after(to), from, to, here.Kelvin()}
}

// whole returns the samples from now on up to to, if now is one of them; else
// none.
func (r *ride) whole() climate.Trace {
	if r.i == 0 || r.i >= r.end || r.t[r.i-1].At != r.now {
		return nil
	}
	return r.t[r.i-1 : r.end]
}

// skip goes n pieces of whole on.
func (r *ride) skip(n int) {
	if n > 0 {
		r.i += n
		r.now, r.k = r.t[r.i-1].At, r.t[r.i-1].Temp.Kelvin()
	}
}

// next returns a piece from at on, in which a kelvin becomes b in dt seconds.
func (r *ride) next() (at time.Duration, a, b, dt float64, ok bool) {
	if r.now >= r.to {
		return r.now, r.k, r.k, 0, false
	}
	at, a = r.now, r.k
	if r.i < r.end {
		r.now, r.k = r.t[r.i].At, r.t[r.i].Temp.Kelvin()
		r.i++
	} else {
		last, _ := r.t.At(r.to)
		r.now, r.k = r.to, last.Kelvin()
	}
	return at, a, r.k, float64(r.now-at) * 1e-9, true
}
