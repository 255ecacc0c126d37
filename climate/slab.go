package climate

import (
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// A Slab is a floor in layers, top first, under air and over an underside that
// is insulated, or held at the temperature Deep: the ground's below some metres
// of soil, or a cellar's air.
type Slab struct {
	Layers []Layer               // 1 to 20, top first
	Film   units.FilmCoefficient // between air and surface, radiation in it: 0.1 W/(m2 K) to 1e5 W/(m2 K)
	Deep   units.Temperature     // of the underside; zero: no heat passes there

	// Accuracy is the error allowed in the surface's temperature, 0.0001 K to
	// 1 K; zero: 0.01 K. Grid and steps are chosen from it.
	Accuracy units.TempDelta
}

func (s *Slab) check(fn string) error {
	err := errors.Join(units.InRange(fn, "Film", float64(s.Film), 0.1, 1e5, "W/(m2 K)"))
	if n := len(s.Layers); n < 1 || n > 20 {
		err = errors.Join(err, fmt.Errorf("%w: %s: %d Layers: want 1 to 20", units.ErrRange, fn, n))
	}
	for i := range s.Layers {
		if e := s.Layers[i].check(fn, ""); e != nil {
			err = errors.Join(err, fmt.Errorf("layer %d: %w", i, e))
		}
	}
	if s.Deep != (units.Temperature{}) {
		err = errors.Join(err, inTrace(fn, "Deep", s.Deep))
	}
	if s.Accuracy != 0 {
		err = errors.Join(err, units.InRange(fn, "Accuracy", float64(s.Accuracy), 1e-4, 1, "K"))
	}
	return err
}

// inTrace checks a temperature against the range of a [Trace].
func inTrace(fn, arg string, t units.Temperature) error {
	return units.InRange(fn, arg, t.Celsius(), -60, 100, "°C")
}

func checkSteps(fn string, span, step time.Duration) error {
	var err error
	if span <= 0 || span > maxSpan {
		err = fmt.Errorf("%w: %s: span = %v: want above 0 to 50 years", units.ErrRange, fn, span)
	}
	if step < time.Second || step > 30*24*time.Hour {
		err = errors.Join(err, fmt.Errorf("%w: %s: step = %v: want 1 s to 30 days", units.ErrRange, fn, step))
	}
	if err == nil && span/step > 2_000_000 {
		err = fmt.Errorf("%w: %s: span/step = %d: want at most 2 000 000 steps", units.ErrRange, fn, span/step)
	}
	return err
}

// Forecast returns the temperature of the surface every step from 0 to span
// (and at span), for a slab that was at initial throughout, under air of the
// trace, whose clock it shares.
//
// Model: transient conduction in layers, rho c dT/dt = d/dx(k dT/dx), with
// h (Tair - Ts) into the surface; control volumes on a grid that widens
// downward, TR-BDF2 in time, shorter steps after a jump of the air and where the
// surface's course bends. Where Deep is not the temperature beside it at the
// start, the grid is fine at the underside too.
// Range: temperatures -60 °C to 100 °C.
// Accuracy: Accuracy at the surface, for changes of the air up to 40 K.
// Source: Patankar (1980) ch. 4 for the volumes; Hosea and Shampine (1996) for
// the steps.
func (s Slab) Forecast(initial units.Temperature, air Trace, span, step time.Duration) (Trace, error) {
	const fn = "climate.Slab.Forecast"
	err := errors.Join(s.check(fn), inTrace(fn, "initial", initial), air.Validate(), checkSteps(fn, span, step))
	if err != nil {
		return nil, err
	}
	var r slabRun
	r.uniform(&s, initial, air, nil)
	return r.forecast(air, span, step), nil
}

// ForecastFrom is [Slab.Forecast] from a profile of temperatures over depth, as
// [Slab.Steady] or [Slab.Profile] returns it.
func (s Slab) ForecastFrom(initial Profile, air Trace, span, step time.Duration) (Trace, error) {
	const fn = "climate.Slab.ForecastFrom"
	err := errors.Join(s.check(fn), initial.check(fn), air.Validate(), checkSteps(fn, span, step))
	if err != nil {
		return nil, err
	}
	var r slabRun
	r.from(&s, initial, air, nil)
	return r.forecast(air, span, step), nil
}

// Profile returns the temperatures over depth at a time after 0, for a slab
// that was at initial throughout: at the depths asked for, or where there are
// none at those of the grid.
//
// Accuracy: as [Slab.Forecast]; below the surface the same, but for the first
// hours near an underside held at another temperature than initial.
func (s Slab) Profile(initial units.Temperature, air Trace, at time.Duration, depths ...units.Length) (Profile, error) {
	const fn = "climate.Slab.Profile"
	err := errors.Join(s.check(fn), inTrace(fn, "initial", initial), air.Validate(), checkElapsed(fn, "at", at))
	if len(depths) > 50 {
		err = errors.Join(err, fmt.Errorf("%w: %s: %d depths: want at most 50", units.ErrRange, fn, len(depths)))
	}
	total := 0.0
	for _, l := range s.Layers {
		total += float64(l.Thickness)
	}
	cut := make([]float64, len(depths))
	for i, d := range depths {
		err = errors.Join(err, units.FromZero(fn, "depth", float64(d), total, "m"))
		cut[i] = float64(d)
	}
	if err != nil {
		return nil, err
	}
	var r slabRun
	r.uniform(&s, initial, air, cut)
	if at > 0 {
		r.to(air, 0, at)
	}
	all := r.profile()
	if len(depths) == 0 {
		return all, nil
	}
	out := make(Profile, len(depths))
	for i, d := range depths {
		out[i] = Depth{d, all.at(float64(d))}
	}
	return out, nil
}

// ProfileFrom is [Slab.Profile] from a profile of temperatures over depth, at the
// depths of the grid: the state that a slab was brought to, for a forecast that
// goes on from there.
func (s Slab) ProfileFrom(initial Profile, air Trace, at time.Duration) (Profile, error) {
	const fn = "climate.Slab.ProfileFrom"
	err := errors.Join(s.check(fn), initial.check(fn), air.Validate(), checkElapsed(fn, "at", at))
	if err != nil {
		return nil, err
	}
	var r slabRun
	r.from(&s, initial, air, nil)
	if at > 0 {
		r.to(air, 0, at)
	}
	return r.profile(), nil
}

// Steady returns the profile of a slab whose surface has long been at a
// temperature, straight in each layer between there and Deep; one temperature
// throughout where no heat passes the underside. It is the start for a surface
// reading when nothing else is known.
func (s Slab) Steady(surface units.Temperature) (Profile, error) {
	const fn = "climate.Slab.Steady"
	if err := errors.Join(s.check(fn), inTrace(fn, "surface", surface)); err != nil {
		return nil, err
	}
	total := 0.0
	for _, l := range s.Layers {
		total += float64(l.Thickness) / float64(l.Conductivity)
	}
	drop := 0.0
	if s.Deep != (units.Temperature{}) {
		drop = float64(surface.Sub(s.Deep)) / total
	}
	p := Profile{{0, surface}}
	x, r := units.Length(0), 0.0
	for _, l := range s.Layers {
		x += l.Thickness
		r += float64(l.Thickness) / float64(l.Conductivity)
		p = append(p, Depth{x, surface.Add(units.TempDelta(-drop * r))})
	}
	return p, nil
}

// A Depth is a temperature at a depth below the surface.
type Depth struct {
	Depth units.Length
	Temp  units.Temperature
}

// A Profile is a course of temperature over depth: linear between its points,
// held past its ends.
type Profile []Depth

func (p Profile) check(fn string) error {
	if len(p) == 0 || len(p) > 1000 {
		return fmt.Errorf("%w: %s: a profile of %d points: want 1 to 1000", units.ErrRange, fn, len(p))
	}
	for i, d := range p {
		if err := errors.Join(units.FromZero(fn, "profile depth", float64(d.Depth), 1e4, "m"), inTrace(fn, "profile temperature", d.Temp)); err != nil {
			return err
		}
		if i > 0 && d.Depth <= p[i-1].Depth {
			return fmt.Errorf("%w: %s: profile depth %v after %v: want rising depths", units.ErrRange, fn, d.Depth, p[i-1].Depth)
		}
	}
	return nil
}

// At returns the temperature at a depth.
func (p Profile) At(depth units.Length) (units.Temperature, error) {
	const fn = "climate.Profile.At"
	if err := errors.Join(p.check(fn), units.FromZero(fn, "depth", float64(depth), 1e4, "m")); err != nil {
		return units.NaNTemperature(), err
	}
	return p.at(float64(depth)), nil
}

func (p Profile) at(x float64) units.Temperature {
	i := 0
	for i < len(p) && float64(p[i].Depth) < x {
		i++
	}
	switch {
	case i == 0:
		return p[0].Temp
	case i == len(p):
		return p[i-1].Temp
	}
	a, b := p[i-1], p[i]
	return between(a.Temp, b.Temp, (x-float64(a.Depth))/float64(b.Depth-a.Depth))
}

// slabRun is a slab under way.
type slabRun struct {
	col     column
	st      state
	f       [6]factor // of the lengths of step used last
	used    int
	tol     float64          // K
	jump    float64          // stepJump or bareJump
	longest float64          // s
	limit   float64          // the longest step now, s
	felt    [octaves]float64 // heat capacity that a jump has reached after shortest*2^i, J/(m2 K)
	lo, hi  float64          // between which every temperature stays, K
	heat    float64          // J/m2 that came in through the film
	past    history          // of the surface, since the air last changed its course

	out        Trace         // where the surface's temperatures go
	due, every time.Duration // when the next one is due
}

// Sizes of grid and steps, found by comparison with the closed forms and with
// runs of a hundredth of the error (see TestSlabAccuracy).
const (
	gridJump  = 6.0  // over which h J dx/k is the error of a jump J in a first cell of dx
	stepJump  = 0.2  // of the surface's change in the step after a jump is its error, of a room
	bareJump  = 0.3  // and of a slab by itself, which may be of steel
	growth    = 0.13 // by which cells grow downward
	stepError = 0.05 // of tol a step may make
	shortest  = 1e-3 // s
	octaves   = 22   // from shortest to more than longest
)

// uniform starts at one temperature.
func (r *slabRun) uniform(s *Slab, initial units.Temperature, air Trace, cut []float64) {
	jumps := r.below(s, initial)
	r.start(s, air, initial.Kelvin(), initial.Kelvin(), cut)
	for i := range r.col.n {
		r.st.t[i] = initial.Kelvin()
	}
	a, _ := air.At(0)
	r.after(math.Abs(a.Kelvin() - initial.Kelvin()))
	r.rise(jumps)
}

// from starts from a profile.
func (r *slabRun) from(s *Slab, p Profile, air Trace, cut []float64) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, d := range p {
		lo, hi = min(lo, d.Temp.Kelvin()), max(hi, d.Temp.Kelvin())
	}
	depth := 0.0
	for _, l := range s.Layers {
		depth += float64(l.Thickness)
	}
	jumps := r.below(s, p.at(depth))
	r.start(s, air, lo, hi, cut)
	for i := range r.col.n {
		r.st.t[i] = p.at(r.col.x[i]).Kelvin()
	}
	a, _ := air.At(0)
	flow := r.col.g[0] * (r.st.t[0] - r.st.t[1]) // what goes down
	r.after(math.Abs(a.Kelvin() - r.st.t[0] - flow/r.col.h))
	r.rise(jumps)
}

// start chooses grid and steps.
func (r *slabRun) start(s *Slab, air Trace, lo, hi float64, cut []float64) {
	for _, a := range air {
		lo, hi = min(lo, a.Temp.Kelvin()), max(hi, a.Temp.Kelvin())
	}
	if s.Deep != (units.Temperature{}) {
		lo, hi = min(lo, s.Deep.Kelvin()), max(hi, s.Deep.Kelvin())
	}
	r.lo, r.hi = lo, hi
	r.size(s, hi-lo, cut)
	r.jump = bareJump
}

// size chooses grid and steps for temperatures that differ by span.
func (r *slabRun) size(s *Slab, span float64, cut []float64) {
	r.tol, r.jump = float64(s.Accuracy), stepJump
	if r.tol == 0 {
		r.tol = 0.01
	}
	l := s.Layers[0]
	fine := math.Sqrt(r.tol / 0.01)
	first := gridJump * r.tol * float64(l.Conductivity) / (float64(s.Film) * max(span, 1))
	first = min(max(first, 1e-5), 0.01*fine, float64(l.Thickness)/2)
	r.col.divide(s, first, min(growth*fine, 0.5), cut)
	r.longest = min(900*fine, 1800)
	r.limit = r.longest
	i, sum := 0, 0.0 // heat travels sqrt(a t)
	for o := range r.felt {
		for ; i < r.col.n && r.col.scaled[i]*r.col.scaled[i] <= shortest*float64(int(1)<<o); i++ {
			sum += r.col.cap[i]
		}
		r.felt[o] = sum
	}
}

// after shortens the steps for a jump of the air by j.
func (r *slabRun) after(j float64) { r.kink(j/shortest, shortest) }

// below makes the grid fine at the underside too where that is held at another
// temperature than t beside it, and reports whether it is.
func (r *slabRun) below(s *Slab, t units.Temperature) bool {
	r.col.below = s.Deep != (units.Temperature{}) && math.Abs(float64(s.Deep.Sub(t))) > 1e-6
	return r.col.below
}

// rise shortens the steps after a jump at the underside to a part of the time in
// which it comes up to the surface.
func (r *slabRun) rise(jumps bool) {
	if jumps {
		r.limit = min(r.limit, max(0.02*r.col.up*r.col.up, shortest))
	}
}

// kink shortens the steps where the air's slope changes by ds (K/s) next to a
// stretch of the length seg (s), to where the change of the surface that it
// brings in one step is tol/jump: h min(ds dt, ds seg) dt over the heat
// capacity felt by then.
func (r *slabRun) kink(ds, seg float64) {
	if ds == 0 {
		return
	}
	dt := shortest
	for o := 0; o+1 < octaves; o++ {
		next := 2 * dt
		if r.jump*r.col.h*ds*min(next, seg)*next > r.tol*r.felt[o+1] {
			break
		}
		dt = next
	}
	r.limit = min(r.limit, dt)
}

// factor returns what steps of dt need, made before or now.
func (r *slabRun) factor(dt float64) *factor {
	for i := range r.f {
		if r.f[i].dt == dt {
			return &r.f[i]
		}
	}
	f := &r.f[r.used]
	r.used = (r.used + 1) % len(r.f)
	r.col.factorise(f, dt)
	return f
}

// next returns the length of the next step, with left until something happens.
func (r *slabRun) next(left float64) float64 {
	if left <= 1.25*r.limit {
		return left
	}
	if left < 2*r.limit {
		return left / 2
	}
	return r.limit
}

// grow lets the steps be longer again.
func (r *slabRun) grow() { r.limit = min(1.4*r.limit, r.longest) }

// history holds the surface before the last steps, newest first.
type history struct {
	n int
	h [3]float64 // lengths of the steps since, s
	t [4]float64 // K; t[0] now
}

// local is the error of the last step by its third difference, 0.0404 h³ T”' for
// TR-BDF2 (Hosea and Shampine 1996), and 0 while there are fewer than three steps.
func (p *history) local(h, t0, t1 float64) float64 {
	if p.n == 0 {
		p.t[0] = t0
	}
	copy(p.t[1:], p.t[:3])
	copy(p.h[1:], p.h[:2])
	p.t[0], p.h[0] = t1, h
	if p.n++; p.n < 3 {
		return 0
	}
	a, b, c := p.h[0], p.h[1], p.h[2]
	first, second, third := (p.t[0]-p.t[1])/a, (p.t[1]-p.t[2])/b, (p.t[2]-p.t[3])/c
	dd := ((first-second)/(a+b) - (second-third)/(b+c)) / (a + b + c) // T'''/6
	return 0.0404 * 6 * math.Abs(dd) * h * h * h
}

// pace lets the steps be longer, or shorter, by the error that the last one made:
// with stepError of tol each, those of a decay add up to less than tol.
func (r *slabRun) pace(h, t0 float64) {
	switch e, allowed := r.past.local(h, t0, r.st.t[0]), stepError*r.tol*math.Sqrt(r.tol/0.01); {
	case e > allowed:
		r.limit = h / 1.4
	case e < allowed/2.8: // longer by 1.4 it is within allowed
		r.grow()
	}
}

// straight advances from one time to another under air that goes straight from
// a0 to a1.
func (r *slabRun) straight(from, to time.Duration, a0, a1 float64) {
	dt := (to - from).Seconds()
	for done := 0.0; done < dt; {
		h := r.next(dt - done)
		p, q := done/dt, (done+h)/dt
		if dt-done == h {
			q = 1
		}
		u, v := a0+(a1-a0)*p, a0+(a1-a0)*q
		t0 := r.st.t[0]
		r.heat += r.col.step(r.factor(h), &r.st, u, u+(v-u)*gamma, v)
		end := to
		if q < 1 {
			end = from + time.Duration((done+h)*1e9)
		}
		r.write(from+time.Duration(done*1e9), end, t0)
		r.pace(h, t0)
		if q == 1 {
			return
		}
		done += h
	}
}

// write puts out the surface's temperatures that are due in a step just made,
// from its start, its middle stage and its end, by the parabola through them.
func (r *slabRun) write(from, to time.Duration, t0 float64) {
	for r.due <= to && len(r.out) < cap(r.out) {
		v := r.st.t[0]
		if r.due < to {
			x := (r.due - from).Seconds() / (to - from).Seconds()
			v = parabola(x, t0, r.st.a[0], v)
		}
		r.out = append(r.out, Sample{r.due, r.bound(v)})
		r.due += r.every
	}
}

// bound keeps a temperature between the extremes of what drives the slab, as
// the maximum principle of conduction has it: the scheme may overshoot them by
// a part of its error.
func (r *slabRun) bound(t float64) units.Temperature { return units.Kelvin(min(max(t, r.lo), r.hi)) }

// parabola goes through t0 at 0, tm at gamma and t1 at 1.
func parabola(x, t0, tm, t1 float64) float64 {
	c := ((t1-tm)/(1-gamma) - (tm-t0)/gamma)
	return t0 + x*((tm-t0)/gamma+c*(x-gamma))
}

// to advances from one time to another along the air's trace.
func (r *slabRun) to(air Trace, from, to time.Duration) {
	i := 0
	for i < len(air) && air[i].At <= from {
		i++
	}
	for from < to {
		end := to
		if i < len(air) && air[i].At < to {
			end = air[i].At
		}
		a0, slope := line(air, i, from)
		r.straight(from, end, a0, a0+slope*(end-from).Seconds())
		from = end
		if i < len(air) && air[i].At <= from {
			_, s0 := line(air, i, from)
			seg := math.Inf(1)
			if i > 0 {
				seg = (air[i].At - air[i-1].At).Seconds()
			}
			i++
			_, s1 := line(air, i, from)
			if i < len(air) {
				seg = min(seg, (air[i].At - air[i-1].At).Seconds())
			}
			r.kink(math.Abs(s1-s0), seg)
			r.past.n = 0
		}
	}
}

// line returns the air's temperature at a time in the stretch before sample i,
// and its slope there, K/s.
func line(air Trace, i int, at time.Duration) (t, slope float64) {
	switch {
	case i == 0:
		return air[0].Temp.Kelvin(), 0
	case i == len(air):
		return air[i-1].Temp.Kelvin(), 0
	}
	a, b := air[i-1], air[i]
	slope = float64(b.Temp.Sub(a.Temp)) / (b.At - a.At).Seconds()
	return a.Temp.Kelvin() + slope*(at-a.At).Seconds(), slope
}

func (r *slabRun) forecast(air Trace, span, step time.Duration) Trace {
	n := int(span/step) + 1
	if span%step != 0 {
		n++
	}
	r.out, r.every, r.due = make(Trace, 0, n), step, step
	r.out = append(r.out, Sample{0, r.bound(r.st.t[0])})
	r.to(air, 0, span)
	if len(r.out) < n {
		r.out = append(r.out, Sample{span, r.bound(r.st.t[0])})
	}
	return r.out
}

func (r *slabRun) profile() Profile {
	p := make(Profile, 0, r.col.n+1)
	for i := range r.col.n {
		p = append(p, Depth{units.Length(r.col.x[i]), r.bound(r.st.t[i])})
	}
	if r.col.deep != 0 {
		p = append(p, Depth{units.Length(r.col.last), units.Kelvin(r.col.deep)})
	}
	return p
}
