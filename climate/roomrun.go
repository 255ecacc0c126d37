package climate

import (
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

const (
	cpAir    = 1006.0   // J/(kg K); ASHRAE Fundamentals 2017 ch. 1 eq. 30
	gasDry   = 287.042  // J/(kg K); the same, eq. 26
	molarDry = 28.966   // g/mol
	molarCO2 = 44.009   // g/mol
	latent   = 2.45e6   // J/kg of water near 20 °C
	roomStep = 300.0    // s, the longest step
	wetStep  = 60.0     // s, the longest step while a coat dries
	roomSlab = 0.005    // K: twice this and a margin that moves by 0.15 K/h breaks 2 min off (see TestScipyRoom)
	settle   = 1.0 / 12 // of the air's time constant, the step after a jump
	bendTemp = 0.2      // K that the weather may turn aside within a step
	bendHum  = 0.02     // of its humidity ratio
	atSet    = 1e-9     // K: the air is at the set temperature
)

// A roomRun is a room under way. Of what the three stages of a step need, the
// first is the state at its start.
type roomRun struct {
	room *Room
	slabRun
	outdoors Weather
	w        []float64 // humidity ratios outdoors

	mass, heatCap float64 // of the air, kg; of air and contents, J/K
	area          float64
	now           time.Duration
	near          int // the reading looked up last
	saved         kept

	air, hum, co2 float64             // K; kg/kg; kg/kg
	fuel, max     [maxHeaters]float64 // kg left; W to the air at most now
	dregs         [maxHeaters]float64 // kg at which a tank counts as empty: 1 mg and a billionth of all its fuel
	left          [maxCoats]float64   // water in the coats, kg/m2

	bal  Balance
	out  RoomForecast
	held string // HeatersAtMaximum, HeatersHold or ""
	was  RoomState
}

// input is what drives the room at a moment.
type input struct {
	temp, hum float64 // outdoors, K, kg/kg
	n         float64 // air changes, 1/s
	set       float64 // K; 0: the heat is off
}

// rates are the flows at one stage.
type rates struct {
	heat, burn, envelope, vent, deep, dry float64 // W
	water, vapour, dried, carbon, gas     float64 // kg/s: burned, vented, dried, CO2 burned, CO2 vented
	fuel                                  [maxHeaters]float64
	flux                                  float64 // W/m2 into the slab from the air
	coat                                  [maxCoats]float64
}

// forecast runs from 0 to span, with states every step, at span and at what else
// is asked for.
func (r *roomRun) forecast(room *Room, outdoors Weather, span, step time.Duration, also ...time.Duration) (*RoomForecast, error) {
	r.begin(room, outdoors)
	n := int(span/step) + 2 + len(also)
	r.out.States = make([]RoomState, 0, n)
	if err := r.put(); err != nil {
		return nil, err
	}
	start := r.store()
	for due := step; ; {
		next := min(due, span)
		for _, t := range also {
			if t > r.now {
				next = min(next, t)
			}
		}
		if err := r.until(next); err != nil {
			return nil, err
		}
		if err := r.put(); err != nil {
			return nil, err
		}
		if next == span {
			break
		}
		if next == due {
			due += step
		}
	}
	end := r.store()
	r.bal.Stored = units.Energy(end.heat - start.heat)
	r.bal.InTheAir = units.Mass(end.water - start.water)
	r.out.Balance = r.bal
	slices.SortStableFunc(r.out.Events, func(a, b Event) int { return int(min(max(a.At-b.At, -1), 1)) })
	out := r.out
	return &out, nil
}

type storage struct{ heat, water float64 }

func (r *roomRun) store() storage {
	s := storage{r.heatCap * r.air, r.mass * r.hum}
	if r.area > 0 {
		s.heat += r.area * r.col.stored(&r.st.t)
	}
	return s
}

func (r *roomRun) begin(room *Room, outdoors Weather) {
	r.room, r.outdoors = room, outdoors
	p := float64(room.Pressure)
	if p == 0 {
		p = 101325
	}
	r.w = make([]float64, len(outdoors))
	lo, hi := room.Air.Kelvin(), room.Air.Kelvin()
	for i, o := range outdoors {
		r.w[i] = ratio(vapour(o), p)
		lo, hi = min(lo, o.Temp.Kelvin()), max(hi, o.Temp.Kelvin())
	}
	for _, s := range room.Thermostat {
		if k := s.Temp.Kelvin(); k > 0 {
			hi = max(hi, k)
		}
	}
	r.air = room.Air.Kelvin()
	l, _ := lnWater(r.air)
	r.hum = ratio(float64(room.RH)*math.Exp(l), p)
	c := float64(room.CO2)
	if c == 0 {
		c = 420e-6
	}
	r.co2 = c * molarCO2 / molarDry
	r.mass = p / (gasDry * r.air) * float64(room.Volume)
	heat := float64(room.ContentsHeat)
	if heat == 0 {
		heat = 500
	}
	r.heatCap = r.mass*cpAir + float64(room.Contents)*heat
	r.area = float64(room.Floor)
	if r.area > 0 {
		surface := room.Surface
		if surface == (units.Temperature{}) {
			surface = room.Air
		}
		profile := room.Profile
		if len(profile) == 0 {
			profile, _ = room.Slab.Steady(surface) // what it checks is checked
		}
		for _, d := range profile {
			lo, hi = min(lo, d.Temp.Kelvin()), max(hi, d.Temp.Kelvin())
		}
		if d := room.Slab.Deep.Kelvin(); d != 0 {
			lo, hi = min(lo, d), max(hi, d)
		}
		slab := room.Slab
		if slab.Accuracy == 0 {
			slab.Accuracy = roomSlab
		}
		r.size(&slab, hi-lo, nil)
		for i := range r.col.n {
			r.st.t[i] = profile.at(r.col.x[i]).Kelvin()
		}
	}
	for i := range room.Heaters {
		r.fuel[i] = float64(room.Heaters[i].Tank)
	}
	for i := range room.Coats {
		r.left[i] = float64(room.Coats[i].Water)
	}
	// Refills at or before the start are in the tank already.
	for i := range room.Heaters {
		for _, f := range room.Heaters[i].Refills {
			if f.At <= 0 {
				r.fuel[i] += float64(f.Add)
			}
			r.dregs[i] += 1e-9 * float64(f.Add)
		}
		r.dregs[i] += 1e-9*float64(room.Heaters[i].Tank) + 1e-6
		if r.fuel[i] < r.dregs[i] {
			r.fuel[i] = 0
		}
	}
	r.longest, r.limit = roomStep, roomStep
	r.jumped()
	r.lo, r.hi = lo, hi
	if r.area > 0 && r.col.n > 1 { // as Slab.ForecastFrom
		r.after(math.Abs(r.air - r.st.t[0] - r.col.g[0]*(r.st.t[0]-r.st.t[1])/r.col.h))
	}
}

// jumped shortens the steps after something changed at once, to a part of the
// air's time constant then.
func (r *roomRun) jumped() {
	n := r.input(r.now).n
	tau := r.heatCap / (float64(r.room.Envelope) + r.mass*cpAir*n + r.area*r.col.h + 1e-9)
	if n > 0 {
		tau = min(tau, 1/n) // of its water
	}
	r.limit = min(r.limit, max(settle*tau, 1e-4))
}

// bend shortens the steps where the weather turns or jumps at a reading, to
// where it turns aside by bendTemp and bendHum, but not below those after a jump.
func (r *roomRun) bend() {
	r.input(r.now)
	i, o := r.near, r.outdoors
	if i == 0 || o[i-1].At != r.now {
		return
	}
	seg := roomStep
	slope := func(j int) (temp, hum float64) {
		if j < 1 || j >= len(o) {
			return 0, 0
		}
		dt := (o[j].At - o[j-1].At).Seconds()
		seg = min(seg, dt)
		return float64(o[j].Temp.Sub(o[j-1].Temp)) / dt, (r.w[j] - r.w[j-1]) / dt
	}
	t0, w0 := slope(i - 1)
	t1, w1 := slope(i)
	turn := max(math.Abs(t1-t0)/bendTemp, math.Abs(w1-w0)/(bendHum*r.w[i-1])) // 1/s
	if turn*seg <= 1 {
		return
	}
	long := r.limit
	r.jumped()
	r.limit = min(long, max(r.limit, 1/turn))
}

// grow lets the steps be longer again.
func (r *roomRun) grow() {
	r.longest = roomStep
	if r.was.Evaporation > 0 {
		r.longest = wetStep
	}
	r.slabRun.grow()
}

// input returns what drives the room at a moment.
func (r *roomRun) input(at time.Duration) input {
	var in input
	o, i := r.outdoors, r.near
	for i < len(o) && o[i].At <= at {
		i++
	}
	for i > 0 && o[i-1].At > at {
		i--
	}
	r.near = i
	switch {
	case i == 0:
		in.temp, in.hum = o[0].Temp.Kelvin(), r.w[0]
	case i == len(o):
		in.temp, in.hum = o[i-1].Temp.Kelvin(), r.w[i-1]
	default:
		x := float64(at-o[i-1].At) / float64(o[i].At-o[i-1].At)
		in.temp = o[i-1].Temp.Kelvin()*(1-x) + o[i].Temp.Kelvin()*x
		in.hum = r.w[i-1]*(1-x) + r.w[i]*x
	}
	in.n = float64(r.room.AirChanges)
	for _, d := range r.room.Openings {
		if at >= d.From && at < d.To {
			in.n += float64(d.AirChanges)
		}
	}
	for _, s := range r.room.Thermostat {
		if s.At > at {
			break
		}
		in.set = s.Temp.Kelvin()
	}
	return in
}

// change returns the next moment after now, at most until, at which something
// begins, ends or bends.
func (r *roomRun) change(until time.Duration) time.Duration {
	next := until
	see := func(t time.Duration) {
		if t > r.now && t < next {
			next = t
		}
	}
	r.input(r.now)
	if r.near < len(r.outdoors) {
		see(r.outdoors[r.near].At)
	}
	for _, d := range r.room.Openings {
		see(d.From)
		see(d.To)
	}
	for _, s := range r.room.Thermostat {
		see(s.At)
	}
	for _, c := range r.room.Coats {
		see(c.At)
	}
	for i := range r.room.Heaters {
		for _, f := range r.room.Heaters[i].Refills {
			see(f.At)
		}
	}
	return next
}

// until advances to a moment.
func (r *roomRun) until(due time.Duration) error {
	for r.now < due {
		steps := 0
		end := r.change(due)
		a, b := r.input(r.now), r.input(end-1) // what jumps at end has not yet
		if end-1 > r.now {
			b.temp += (b.temp - a.temp) / float64(end-1-r.now) // the last ns of a straight line
			b.hum += (b.hum - a.hum) / float64(end-1-r.now)
		}
		from, length := r.now, (end - r.now).Seconds()
		for done := 0.0; done < length; {
			if steps++; steps > 1e5 {
				return fmt.Errorf("climate.Room.Forecast: more than 100 000 steps for a straight stretch at %v", r.now)
			}
			h := r.next(length - done)
			took, err := r.advance(a, b, done, h, length)
			if err != nil {
				return err
			}
			if took == length-done {
				break
			}
			done += took
			r.now = from + time.Duration(done*1e9)
		}
		r.now = end
		r.arrive()
	}
	return nil
}

// arrive looks what happens at the moment now.
func (r *roomRun) arrive() {
	if before, after := r.input(r.now-1), r.input(r.now); before.n != after.n || before.set != after.set {
		r.jumped()
	}
	r.bend()
	for i := range r.room.Heaters {
		for _, f := range r.room.Heaters[i].Refills {
			if f.At == r.now && f.Add > 0 {
				if r.fuel[i] <= r.dregs[i] {
					r.jumped()
				}
				r.fuel[i] += float64(f.Add)
				r.out.Events = append(r.out.Events, Event{r.now, TankRefilled, i})
			}
		}
	}
	for _, c := range r.room.Coats {
		if c.At == r.now {
			r.jumped()
		}
	}
}

// can fills max with what each heater can give and returns the sum, W.
func (r *roomRun) can() float64 {
	sum := 0.0
	for i := range r.room.Heaters {
		h := &r.room.Heaters[i]
		r.max[i] = 0
		if h.endless() || r.fuel[i] > r.dregs[i] {
			r.max[i] = float64(h.Max) * h.share()
		}
		sum += r.max[i]
	}
	return sum
}

// advance makes one step of h out of a stretch of length from input a to b, of
// which done is done, and returns how long it was: less than h where a tank runs
// dry in it.
func (r *roomRun) advance(a, b input, done, h, length float64) (float64, error) {
	at := func(x float64) input {
		in := a
		in.temp += (b.temp - a.temp) * x
		in.hum += (b.hum - a.hum) * x
		return in
	}
	// Not far beyond where the air reaches what is set, since the first stage goes
	// on with the heat of the start.
	h = min(h, r.reachable(at(done/length)))
	saved := &r.saved
	r.keep()
	for try := 0; ; try++ {
		p, q := done/length, (done+h)/length
		var s [3]rates
		r.stages(at(p), at(p+(q-p)*gamma), at(q), h, &s)
		short := 1.0
		for i := range r.room.Heaters {
			if r.room.Heaters[i].endless() || saved.fuel[i] <= r.dregs[i] {
				continue
			}
			used := h * (weight*(s[0].fuel[i]+s[1].fuel[i]) + diag*s[2].fuel[i])
			if used > saved.fuel[i]*(1+1e-12) {
				short = min(short, saved.fuel[i]/used)
			}
		}
		if r.astray() {
			short = min(short, 0.25)
		}
		if short < 1 {
			if try == 40 {
				return 0, fmt.Errorf("climate.Room.Forecast: no step ends with an empty tank or stays within bounds at %v", r.now)
			}
			r.restore(saved)
			h *= math.Pow(short, float64(1+try)) // the rate rises when the step is shorter
			continue
		}
		r.book(&s, h)
		if err := r.tell(at(p), at(q), h, &s[2]); err != nil {
			return 0, err
		}
		r.grow()
		for i := range r.room.Heaters {
			if saved.fuel[i] > r.dregs[i] && r.fuel[i] <= r.dregs[i] && !r.room.Heaters[i].endless() {
				r.fuel[i] = 0
				r.out.Events = append(r.out.Events, Event{r.now + time.Duration(h*1e9), TankEmpty, i})
				r.jumped()
			}
		}
		return h, nil
	}
}

// astray reports whether a step has gone too far: to no water in the air, or to
// temperatures beyond what drives the room and what drying cools.
func (r *roomRun) astray() bool {
	const over, under = 1, 60 // K
	surface := r.air
	if r.area > 0 {
		surface = r.st.t[0]
	}
	lo, hi := min(r.air, surface), max(r.air, surface)
	return !(r.hum > 0 && lo > r.lo-under && hi < r.hi+over)
}

// kept is what a step that is taken back needs.
type kept struct {
	t             [maxNodes]float64
	air, hum, co2 float64
	fuel          [maxHeaters]float64
}

// keep keeps the state.
func (r *roomRun) keep() {
	k := &r.saved
	copy(k.t[:r.col.n], r.st.t[:r.col.n])
	k.air, k.hum, k.co2, k.fuel = r.air, r.hum, r.co2, r.fuel
}

func (r *roomRun) restore(k *kept) {
	copy(r.st.t[:r.col.n], k.t[:r.col.n])
	r.air, r.hum, r.co2 = k.air, k.hum, k.co2
}

// others returns the heat that the air takes up now but for the heaters', W.
func (r *roomRun) others(in input) float64 { return -r.lost(in, r.air, r.st.t[0]) }

// lost returns the heat that air over a surface gives away, W.
func (r *roomRun) lost(in input, air, surface float64) float64 {
	w := (float64(r.room.Envelope) + r.mass*cpAir*in.n) * (air - in.temp)
	if r.area > 0 {
		w += r.area * r.col.h * (air - surface)
	}
	return w
}

// start returns the heat to the air at the start of a step: all that there is
// below what is set, what is lost there, none above.
func (r *roomRun) start(in input) float64 {
	can := r.can()
	switch {
	case in.set == 0 || r.air > in.set+atSet:
		return 0
	case r.air < in.set-atSet:
		return can
	}
	return min(max(-r.others(in), 0), can)
}

// reachable returns the longest step (s) in which the heat of the start lifts
// the air at most over what is set by beyond.
func (r *roomRun) reachable(in input) float64 {
	const beyond = 0.02 // K
	net := r.start(in) + r.others(in)
	if in.set == 0 || r.air >= in.set-atSet || net <= 0 {
		return math.Inf(1)
	}
	return r.heatCap * (in.set - r.air + beyond) / net
}

// stages advances the state by h and fills the rates at its three stages.
func (r *roomRun) stages(a, m, b input, h float64, s *[3]rates) {
	ca := r.heatCap / (diag * h) // W/K
	can := r.can()
	ua := float64(r.room.Envelope)
	var f *factor
	if r.area > 0 {
		f = r.slabRun.factor(h)
	}
	surface := func(t *[maxNodes]float64) float64 {
		if r.area > 0 {
			return t[0]
		}
		return r.air
	}

	// Start: all that is not heat is known; the heat follows from it.
	s0 := &s[0]
	ev := r.evaporation(surface(&r.st.t), r.hum, h)
	ev.put(s0, ev.flow)
	other := r.others(a)
	s0.heat = r.start(a)
	r.flows(s0, a, ua, r.air, r.hum, r.co2, surface(&r.st.t), r.st.t[max(r.col.n-1, 0)])

	// solve finishes a stage from what it starts from: air, water and carbon
	// dioxide; s.water is the stage before's. ev is as it was there, from where the
	// change of the drying with humidity and surface is taken straight.
	solve := func(in input, ev *evaporating, base, hum, co2 float64, t *[maxNodes]float64, s *rates) (air, w, c float64) {
		k := 1 / (diag * h)
		flow, slope, up := ev.flow, 0.0, 0.0
		if r.area > 0 {
			up = r.up(f)
		}
		if flow > 0 {
			w := (k*hum + in.n*in.hum + (s.water+ev.byHum*ev.hum+flow)/r.mass) / (k + in.n + ev.byHum/r.mass)
			flow = min(max(0, flow-ev.byHum*(w-ev.hum)), ev.most)
			slope = ev.byTemp * flow / ev.flow
		}
		for {
			d, n := ca+ua+r.mass*cpAir*in.n, ca*base+(ua+r.mass*cpAir*in.n)*in.temp
			top, inv, hA := 0.0, 0.0, r.area*r.col.h
			if r.area > 0 {
				cool := latent * slope / r.area
				top = up - latent*flow/r.area + cool*ev.temp
				inv = 1 / (1/f.inv[0] + cool)
				d += hA * (1 - r.col.h*inv)
				n += hA * top * inv
			}
			s.heat = 0
			if in.set != 0 {
				s.heat = min(max(in.set*d-n, 0), can)
			}
			air = (n + s.heat) / d
			if s.heat > 0 && s.heat < can {
				air = in.set
			}
			if r.area == 0 {
				break
			}
			v := (top + r.col.h*air) * inv
			more := flow + slope*(v-ev.temp)
			if slope == 0 || more >= 0 && more <= ev.most {
				flow = more
				r.col.down(f, &r.st, t, v)
				break
			}
			flow, slope = min(max(0, more), ev.most), 0 // cooled so far that nothing evaporates, or all there is
		}
		ev.put(s, flow)
		r.share(s)
		w = (k*hum + in.n*in.hum + (s.water+s.dried)/r.mass) / (k + in.n)
		c = (k*co2 + in.n*r.outsideCO2() + s.carbon/r.mass) / (k + in.n)
		r.flows(s, in, ua, air, w, c, surface(t), t[max(r.col.n-1, 0)])
		return air, w, c
	}

	// Middle.
	if r.area > 0 {
		r.col.first(f, &r.st, r.air, -s0.dry/r.area)
	}
	dh := diag * h
	net := s0.heat + other
	s[1].water = s0.water
	am, wm, cm := solve(m, &ev, r.air+dh*net/r.heatCap, r.hum+dh*(a.n*(a.hum-r.hum)+(s0.water+s0.dried)/r.mass), r.co2+dh*(a.n*(r.outsideCO2()-r.co2)+s0.carbon/r.mass), &r.st.a, &s[1])

	// End.
	if r.area > 0 {
		r.col.second(f, &r.st)
	}
	ev = r.evaporation(surface(&r.st.a), wm, h)
	s[2].water = s[1].water
	air, w, c := solve(b, &ev, r.air+blend*(am-r.air), r.hum+blend*(wm-r.hum), r.co2+blend*(cm-r.co2), &r.st.t, &s[2])
	r.air, r.hum, r.co2 = air, w, c
}

// up eliminates the slab from below.
func (r *roomRun) up(f *factor) float64 { return r.col.up(f, &r.st) }

func (r *roomRun) outsideCO2() float64 {
	if r.room.CO2 != 0 {
		return float64(r.room.CO2) * molarCO2 / molarDry
	}
	return 420e-6 * molarCO2 / molarDry
}

// share divides the heat among the heaters, the first first, and sets what they
// take in and give off.
func (r *roomRun) share(s *rates) {
	left := s.heat
	s.burn, s.water, s.carbon = 0, 0, 0
	for i := range r.room.Heaters {
		h := &r.room.Heaters[i]
		p := min(left, r.max[i])
		left -= p
		in := p / h.share()
		s.burn += in
		s.fuel[i] = 0
		if !h.Fuel.electric() {
			s.fuel[i] = in / float64(h.Fuel.HHV)
		}
		if h.Unvented {
			s.water += s.fuel[i] * float64(h.Fuel.Water)
			s.carbon += s.fuel[i] * float64(h.Fuel.CO2)
		}
	}
}

// flows fills in the losses at a stage.
func (r *roomRun) flows(s *rates, in input, ua, air, w, c, surface, under float64) {
	r.share(s)
	s.envelope = ua * (air - in.temp)
	s.vent = r.mass * cpAir * in.n * (air - in.temp)
	s.vapour = r.mass * in.n * (w - in.hum)
	s.gas = r.mass * in.n * (c - r.outsideCO2())
	if r.area > 0 {
		s.flux = r.col.h * (air - surface)
		s.deep = r.area * r.col.g[r.col.n-1] * (under - r.col.deep)
	}
}

// evaporating is what the coats give off at some surface, air and humidity, and
// how that changes.
type evaporating struct {
	temp, hum           float64           // surface, K; kg/kg
	flow, byTemp, byHum float64           // kg/s; more per K; less per kg/kg
	most                float64           // flow with which a coat gives all it has within the step
	part                [maxCoats]float64 // of flow, by coat, 1/m2
}

// put sets the rates of a stage for a flow.
func (e *evaporating) put(s *rates, flow float64) {
	s.dried, s.dry = flow, flow*latent
	s.coat = e.part
	for i := range s.coat {
		s.coat[i] *= flow
	}
}

// evaporation returns what the coats give off, for steps of h.
func (r *roomRun) evaporation(surface, w, h float64) (e evaporating) {
	e.temp, e.hum = surface, w
	if len(r.room.Coats) == 0 {
		return e
	}
	p := float64(r.room.Pressure)
	if p == 0 {
		p = 101325
	}
	pv := w * p / (epsilon + w)
	for i := range r.room.Coats {
		c := &r.room.Coats[i]
		if c.At > r.now || r.left[i] <= 0 {
			continue
		}
		d, _ := c.Drying.check("") // its zeros
		hc := float64(d.Convection)
		k := evaporation(surface, pv, p, hc)
		if k <= 0 {
			continue // what condenses does not go back into the coat
		}
		share := 1.0
		if left := r.left[i] / float64(d.Water); left < float64(d.Critical) {
			share = left / float64(d.Critical)
		}
		area := float64(c.Area)
		if k*share > r.left[i]/h { // the last of it
			e.part[i] = r.left[i] / h
			e.flow += e.part[i] * area
			continue
		}
		e.part[i] = k * share
		e.flow += e.part[i] * area
		e.byTemp += area * share * (evaporation(surface+0.1, pv, p, hc) - k) / 0.1
		e.byHum += area * share * (k - evaporation(surface, pv+1, p, hc)) * (p * epsilon / ((epsilon + w) * (epsilon + w)))
	}
	if e.flow > 0 {
		e.most = math.Inf(1)
		for i := range e.part {
			if e.part[i] > 0 {
				e.most = min(e.most, e.flow*max(1, r.left[i]/(h*e.part[i])))
			}
			e.part[i] /= e.flow
		}
	}
	return e
}

// book adds a step of h to the balances and takes the fuel and the water.
func (r *roomRun) book(s *[3]rates, h float64) {
	b := &r.bal
	for i, w := range [3]float64{weight * h, weight * h, diag * h} {
		x := &s[i]
		b.Heat += units.Energy(w * x.heat)
		b.TakenIn += units.Energy(w * x.burn)
		b.Envelope += units.Energy(w * x.envelope)
		b.Ventilation += units.Energy(w * x.vent)
		b.Deep += units.Energy(w * x.deep)
		b.Evaporation += units.Energy(w * x.dry)
		b.Burned += units.Mass(w * x.water)
		b.Dried += units.Mass(w * x.dried)
		b.Vented += units.Mass(w * x.vapour)
		b.Exhausted += units.Mass(w * x.carbon)
		for k := range r.room.Heaters {
			b.Fuel[k] += units.Mass(w * x.fuel[k])
			if !r.room.Heaters[k].endless() {
				r.fuel[k] = max(0, r.fuel[k]-w*x.fuel[k])
			}
		}
		for k := range r.room.Coats {
			r.left[k] = max(0, r.left[k]-w*x.coat[k])
		}
	}
}

// state returns the room now.
func (r *roomRun) state(s *rates) (RoomState, error) {
	p := float64(r.room.Pressure)
	if p == 0 {
		p = 101325
	}
	l, _ := lnWater(r.air)
	e := r.hum * p / (epsilon + r.hum)
	le := math.Log(e)
	dew, err := dewOf("climate.Room.Forecast", le)
	if err != nil || math.IsNaN(dew) {
		return RoomState{}, fmt.Errorf("climate.Room.Forecast: no dew point at %v, humidity ratio %g", r.now, r.hum)
	}
	surface := r.air
	if r.area > 0 {
		surface = r.st.t[0]
	}
	st := RoomState{At: r.now, Air: units.Kelvin(r.air), Surface: units.Kelvin(surface), DewPoint: units.Kelvin(dew), RH: units.Fraction(math.Exp(le - l)), Margin: units.TempDelta(surface - dew),
		CO2: units.Fraction(r.co2 * molarDry / molarCO2)}
	for i := range r.room.Heaters {
		st.Fuel[i] = units.Mass(r.fuel[i])
	}
	if s != nil {
		st.Power, st.Heat, st.Evaporation = units.Power(s.burn), units.Power(s.heat), units.MassFlow(s.dried)
	}
	return st, nil
}

// put writes the state now.
func (r *roomRun) put() error {
	if r.now == 0 && len(r.out.States) == 0 {
		in := r.input(0)
		var s rates
		s.heat = r.start(in)
		r.share(&s)
		var err error
		if r.was, err = r.state(&s); err != nil {
			return err
		}
		r.held = r.holds(in, &s)
		if r.held == HeatersAtMaximum {
			r.out.Events = append(r.out.Events, Event{0, r.held, 0})
		}
		r.watch(nil, &r.was, 0, 0)
	}
	r.was.At = r.now
	for i := range r.room.Heaters {
		r.was.Fuel[i] = units.Mass(r.fuel[i]) // with what was refilled just now
	}
	r.out.States = append(r.out.States, r.was)
	return nil
}

// holds says what the heaters do.
func (r *roomRun) holds(in input, s *rates) string {
	switch {
	case in.set == 0 || r.can() == 0:
		return ""
	case r.air < in.set-1e-6 && s.heat >= r.can()*(1-1e-12):
		return HeatersAtMaximum
	}
	return HeatersHold
}

// since returns after which part of a step of h, from input a to in, the heaters
// came to do what they do at its end: at once where something jumped, else where
// the air reached what is set, or its losses there the most that the heaters give.
func (r *roomRun) since(a, in input, h float64, held string) float64 {
	const near = 1e-6 // K, as in holds
	air, surface, set, can := r.was.Air.Kelvin(), r.was.Surface.Kelvin(), in.set, r.can()
	switch {
	case held == HeatersHold && air < set-near: // air + v0 t + (v1 - v0) t^2/(2 h) = set
		v0, v1 := h*(can-r.lost(a, air, surface))/r.heatCap, h*(can-r.lost(in, set, r.st.t[0]))/r.heatCap
		up, root := set-air, math.Sqrt(max(v0*v0+2*(v1-v0)*(set-air), 0))
		if v0+root <= 0 {
			return 1
		}
		return min(2*up/(v0+root), 1)
	case held == HeatersAtMaximum && air > set+near:
		return min((air-set)/(air-r.air), 1)
	case held == HeatersAtMaximum && air >= set-near:
		before, after := r.lost(a, set, surface), r.lost(in, set, r.st.t[0])
		if before < can && after > before {
			return min((can-before)/(after-before), 1)
		}
	}
	return 0
}

// tell looks for what happened in a step of h, from input a to in, that just ended.
func (r *roomRun) tell(a, in input, h float64, s *rates) error {
	from, end := r.now, r.now+time.Duration(h*1e9)
	st, err := r.state(s)
	if err != nil {
		return err
	}
	st.At = end
	held := r.holds(in, s)
	if held != r.held && held != "" && (r.held != "" || held == HeatersAtMaximum) {
		at := from + time.Duration(r.since(a, in, h, held)*float64(end-from))
		r.out.Events = append(r.out.Events, Event{at, held, 0})
	}
	r.held = held
	r.watch(&r.was, &st, from, end)
	r.was = st
	return nil
}

// watch tells which limits were crossed between two states; without the first,
// which are broken in the second.
func (r *roomRun) watch(a, b *RoomState, from, end time.Duration) {
	start := a == nil
	if start {
		a = b
	}
	const hair = 1e-9 // K or of 1, which rounding is worth at least
	cross := func(v0, v1, limit, sign float64, broken, kept string) {
		limit += sign * hair
		was, is := sign*v0 > sign*limit, sign*v1 > sign*limit
		switch {
		case start && is:
			r.out.Events = append(r.out.Events, Event{end, broken, 0})
		case !start && was != is:
			what := kept
			if is {
				what = broken
			}
			at := from + time.Duration((limit-v0)/(v1-v0)*float64(end-from))
			r.out.Events = append(r.out.Events, Event{at, what, 0})
		}
	}
	const least, most = -1, 1
	w := r.room.Watch
	if r.area > 0 {
		cross(float64(a.Margin), float64(b.Margin), 0, least, Condensing, NotCondensing)
		if w.Margin > 0 {
			cross(float64(a.Margin), float64(b.Margin), float64(w.Margin), least, MarginBroken, MarginKept)
		}
		if k := w.Surface.Kelvin(); k != 0 {
			cross(a.Surface.Kelvin(), b.Surface.Kelvin(), k, least, SurfaceBelow, SurfaceAbove)
		}
	}
	if w.RH > 0 {
		cross(float64(a.RH), float64(b.RH), float64(w.RH), most, RHAbove, RHBelow)
	}
	if w.CO2 > 0 {
		cross(float64(a.CO2), float64(b.CO2), float64(w.CO2), most, CO2Above, CO2Below)
	}
}
