package climate

import (
	"cmp"
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
	roomStep = 300.0    // s, the longest step where the course turns
	longStep = 900.0    // s, the longest of all
	straight = 0.005    // K that the course turns aside from a straight line in a longer step
	wetStep  = 60.0     // s, the longest step while a coat dries
	roomSlab = 0.007    // K: twice this and a margin that moves by 0.15 K/h breaks 2 min off (see TestScipyRoom)
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
	w, e     []float64 // humidity ratios and vapour pressures outdoors
	p        float64   // Pa

	mass, heatCap float64 // of the air, kg; of air and contents, J/K
	area          float64
	near          int // the reading looked up last
	saved         kept
	moment

	max, dregs [maxHeaters]float64 // W to the air at most now; kg at which a tank counts as empty: 1 mg and a billionth of all its fuel
	coats      []Drying            // with what their zeros mean
	part       []float64           // of evaporating
	coatRates  [3][]float64        // of the three stages

	out RoomForecast
}

// A moment is what of a room under way the next step goes on from, beside the slab
// and the length of the steps.
type moment struct {
	now           time.Duration
	turned        float64             // the share of straight that the last step turned aside
	stirred       time.Duration       // when something jumped last
	air, hum, co2 float64             // K; kg/kg; kg/kg
	fuel          [maxHeaters]float64 // kg left
	left          []float64           // water in the coats, kg/m2
	bal           Balance
	held          string // HeatersAtMaximum, HeatersHold or ""
	was           RoomState
}

// input is what drives the room at a moment.
type input struct {
	temp, hum float64 // outdoors, K, kg/kg
	n         float64 // air changes, 1/s
	set       float64 // K; 0: the heat is off
}

// forecast runs from 0 to span, with states every step, at span and at what else
// is asked for. What is like in another forecast, if it is not nil, it takes from
// there, up to a mark of it.
func (r *roomRun) forecast(room *Room, outdoors Weather, span, step time.Duration, like *RoomForecast, m *mark, also ...time.Duration) (*RoomForecast, error) {
	r.begin(room, outdoors)
	n := int(span/step) + 2 + len(also)
	r.out.States = make([]RoomState, 0, n)
	if err := r.put(); err != nil {
		return nil, err
	}
	start := r.store()
	if m != nil {
		r.goOn(m)
		r.out.States = append(r.out.States[:0], like.States[:m.states]...)
	}
	r.out.made = &making{*room, outdoors, step, nil}
	for due := r.now + step; ; {
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
			if len(also) == 0 && len(r.out.States)%markEach == 1 {
				r.out.made.marks = append(r.out.made.marks, r.mark())
			}
		}
	}
	end := r.store()
	r.bal.Stored = units.Energy(end.heat - start.heat)
	r.bal.InTheAir = units.Mass(end.water - start.water)
	r.out.Balance = r.bal
	if r.area > 0 {
		r.out.Profile = r.profile()
	}
	for k := range r.out.Coats {
		c := &r.room.Coats[k]
		r.out.Coats[k].Left = units.Loading(r.left[k])
		r.out.Coats[k].Given = units.Mass(max(0, float64(c.Water)*(1-float64(c.Gone))-r.left[k]) * float64(c.Area)) // rounding
	}
	r.out.Events = slices.Clone(r.out.Events) // the marks have them in the order in which they were found
	slices.SortStableFunc(r.out.Events, func(a, b Event) int { return cmp.Compare(a.At, b.At) })
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
	r.p = p
	both := make([]float64, 2*len(outdoors))
	r.w, r.e = both[:len(outdoors)], both[len(outdoors):]
	lo, hi := room.Air.Kelvin(), room.Air.Kelvin()
	for i, o := range outdoors {
		r.e[i] = vapour(o)
		r.w[i] = ratio(r.e[i], p)
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
	full := r.air
	if room.MassAt != (units.Temperature{}) {
		full = room.MassAt.Kelvin()
	}
	r.mass = p / (gasDry * full) * float64(room.Volume)
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
	if n := len(room.Coats); n > 0 {
		all := make([]float64, 5*n)
		r.left, r.part, r.coatRates = all[:n:n], all[n:2*n:2*n], [3][]float64{all[2*n : 3*n : 3*n], all[3*n : 4*n : 4*n], all[4*n:]}
		r.coats, r.out.Coats = make([]Drying, n), make([]CoatWater, n)
		for i := range room.Coats {
			r.coats[i], _ = room.Coats[i].Drying.check("") // its zeros
			r.left[i] = r.laid(i)
		}
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
			if !room.Heaters[i].endless() {
				r.out.Events = append(r.out.Events, Event{What: TankEmpty, Heater: i})
			}
		}
	}
	r.longest, r.limit = roomStep, roomStep
	r.jumped()
	r.lo, r.hi = lo, hi
	if r.area > 0 && r.col.n > 1 { // as Slab.ForecastFrom
		r.after(math.Abs(r.air - r.st.t[0] - r.col.g[0]*(r.st.t[0]-r.st.t[1])/r.col.h))
	}
}

// laid returns what water a coat has to begin with, kg/m2.
func (r *roomRun) laid(i int) float64 {
	c := &r.room.Coats[i]
	return max(0, float64(c.Water)*(1-float64(c.Gone))) // the check gives way above 100 %
}

// jumped shortens the steps after something changed at once, to a part of the
// air's time constant then.
func (r *roomRun) jumped() {
	r.stirred = r.now
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

// grow lets the steps be longer again after one of h: to parts of longStep, which
// states every quarter of an hour part alike, so that steps of few lengths are
// prepared. What a step turns aside grows with its square. Of air and surface alone:
// for the water and gas in the air, until it has changed thrice since something jumped
// or dried, a long step changes a sixth of it at most.
func (r *roomRun) grow(h float64) {
	r.longest = roomStep
	n, _ := r.changes(r.now)
	if r.was.Evaporation > 0 {
		r.stirred = r.now
	}
	calm := (r.now-r.stirred).Seconds()*n >= 3
	for part := 1.0; part < 3; part++ {
		long := longStep / part
		if x := long / h; r.turned*x*x <= 1 && (calm || long*n <= 1.0/6) {
			r.longest = long
			break
		}
	}
	r.longest = r.wet(r.longest)
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
		in.hum = ratio(r.e[i-1]*(1-x)+r.e[i]*x, r.p) // as Weather has it
	}
	in.n, in.set = r.changes(at)
	return in
}

// changes returns the air changes and what the thermostat is set to at a moment.
func (r *roomRun) changes(at time.Duration) (n, set float64) {
	n = float64(r.room.AirChanges)
	for _, d := range r.room.Openings {
		if at >= d.From && at < d.To {
			n += float64(d.AirChanges)
		}
	}
	for _, s := range r.room.Thermostat {
		if s.At > at {
			break
		}
		set = s.Temp.Kelvin()
	}
	return n, set
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
	for i := range r.room.Coats {
		see(r.room.Coats[i].At)
		see(r.room.Coats[i].Covered)
	}
	for i := range r.room.Emissions {
		see(r.room.Emissions[i].From)
		see(r.room.Emissions[i].To)
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
	n0, set0 := r.changes(r.now - 1)
	if n, set := r.changes(r.now); n != n0 || set != set0 {
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
				r.out.Events = append(r.out.Events, Event{At: r.now, What: TankRefilled, Heater: i})
			}
		}
	}
	for i := range r.room.Coats {
		if c := &r.room.Coats[i]; c.At == r.now || c.Covered == r.now {
			r.jumped()
		}
	}
	for i := range r.room.Emissions {
		if e := &r.room.Emissions[i]; e.From == r.now || e.To == r.now {
			r.jumped()
		}
	}
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
		r.grow(h)
		for i := range r.room.Heaters {
			if saved.fuel[i] > r.dregs[i] && r.fuel[i] <= r.dregs[i] && !r.room.Heaters[i].endless() {
				r.fuel[i] = 0
				r.out.Events = append(r.out.Events, Event{At: r.now + time.Duration(h*1e9), What: TankEmpty, Heater: i})
				r.jumped()
			}
		}
		return h, nil
	}
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
