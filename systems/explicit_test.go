package systems

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// The coupled space by another route: Euler's explicit scheme with steps of about
// a second over cells with their temperature in the middle, from the equations of
// the design's section 5. It shares no code with package climate, only the figures
// of the room. Source: the zone balance, Fourier's law, Lewis's relation, as they
// stand in DESIGN section 5 and in the doc comments of [climate.Room.Forecast]
// and [climate.Evaporation]; saturation by Hyland and Wexler (1983), below 0 °C by
// Murphy and Koop (2005) eq. 10, both over water.

// saturated is the saturation pressure over water, Pa, at t K.
func saturated(t float64) float64 {
	if t >= 273.15 {
		return math.Exp(-5800.2206/t + 1.3914993 - 0.048640239*t + 4.1764768e-5*t*t - 1.4452093e-8*t*t*t + 6.5459673*math.Log(t))
	}
	return math.Exp(54.842763 - 6763.22/t - 4.21*math.Log(t) + 0.000367*t + math.Tanh(0.0415*(t-218.8))*(53.878-1331.22/t-9.44523*math.Log(t)+0.014025*t))
}

// dewed is the temperature, K, at which e Pa saturate, by halving.
func dewed(e float64) float64 {
	lo, hi := 200.0, 350.0
	for hi-lo > 1e-7 {
		if mid := (lo + hi) / 2; saturated(mid) < e {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// An euler is a room under way.
type euler struct {
	r   climate.Room
	out climate.Weather

	dx, k, c, temp         []float64 // of the cells: m, W/(m K), J/(m3 K), K
	air, surface, w        float64   // K, K, kg/kg
	fuel, left             []float64 // kg; kg/m2
	mass, capacity         float64   // kg; J/K
	heat, evaporates, burn float64   // W, kg/s, kg/s now
}

type eulerState struct {
	at                time.Duration
	air, surface, dew float64
}

const eulerP = 101325.0

// start divides the slab into cells of first m, each wider than the last by
// growth, and sets its start: the surface's temperature, straight to what is deep.
func (e *euler) start(first, growth float64) {
	r := &e.r
	size, depth, resist := first, 0.0, 0.0
	var mid []float64
	for _, l := range r.Slab.Layers {
		for left := float64(l.Thickness); left > 1e-9; {
			d := min(size, left)
			if left-d < d/2 {
				d = left
			}
			e.dx, e.k, e.c = append(e.dx, d), append(e.k, float64(l.Conductivity)), append(e.c, float64(l.Density)*float64(l.HeatCapacity))
			resist += d / 2 / float64(l.Conductivity)
			mid = append(mid, resist)
			resist += d / 2 / float64(l.Conductivity)
			left, depth, size = left-d, depth+d, size*growth
		}
	}
	e.surface = r.Surface.Kelvin()
	for _, x := range mid {
		t := e.surface
		if d := r.Slab.Deep.Kelvin(); d != 0 {
			t += (d - t) * x / resist
		}
		e.temp = append(e.temp, t)
	}
	e.air = r.Air.Kelvin()
	v := float64(r.RH) * saturated(e.air)
	e.w = 0.621945 * v / (eulerP - v)
	e.mass = eulerP / (287.042 * e.air) * float64(r.Volume)
	e.capacity = e.mass*1006 + float64(r.Contents)*500
	for _, h := range r.Heaters {
		e.fuel = append(e.fuel, float64(h.Tank))
	}
	for _, c := range r.Coats {
		e.left = append(e.left, float64(c.Water))
	}
}

// outdoors returns temperature and humidity ratio, the vapour pressure straight
// between readings.
func (e *euler) outdoors(s float64) (t, w float64) {
	at := time.Duration(s * 1e9)
	i := 0
	for i < len(e.out) && e.out[i].At <= at {
		i++
	}
	a, b := e.out[max(i-1, 0)], e.out[min(i, len(e.out)-1)]
	x := 0.0
	if b.At > a.At {
		x = float64(at-a.At) / float64(b.At-a.At)
	}
	v := (1-x)*float64(a.RH)*saturated(a.Temp.Kelvin()) + x*float64(b.RH)*saturated(b.Temp.Kelvin())
	return (1-x)*a.Temp.Kelvin() + x*b.Temp.Kelvin(), 0.621945 * v / (eulerP - v)
}

// step goes on by dt from s.
func (e *euler) step(s, dt float64) {
	r := &e.r
	at := time.Duration(s * 1e9)
	to, wo := e.outdoors(s)
	n := float64(r.AirChanges)
	for _, o := range r.Openings {
		if at >= o.From && at < o.To {
			n += float64(o.AirChanges)
		}
	}
	set := 0.0
	for _, x := range r.Thermostat {
		if x.At <= at {
			set = x.Temp.Kelvin()
		}
	}

	// Water from coats and slab, at the surface's temperature.
	area, h := float64(r.Floor), float64(r.Slab.Film)
	v := e.w * eulerP / (0.621945 + e.w)
	wet := max(0, (saturated(e.surface)-v)/eulerP*0.621945/(1006*math.Pow(0.86, 2./3)))
	e.evaporates = 0
	for i, c := range r.Coats {
		if c.At > at || c.Covered != 0 && c.Covered <= at {
			continue
		}
		critical := 0.3 // of its water; from there on the rate falls with what is left
		m := wet * float64(c.Convection) * min(1, e.left[i]/(critical*float64(c.Water)))
		m = min(m, e.left[i]/dt)
		e.left[i] -= m * dt
		e.evaporates += m * float64(c.Area)
	}
	for _, x := range r.Emissions {
		if at >= x.From && at < x.To {
			e.evaporates += float64(x.Flux) * float64(x.Area)
		}
	}

	// The slab: the surface has no heat capacity.
	top := e.k[0] / (e.dx[0] / 2)
	e.surface = (h*e.air + top*e.temp[0] - 2.45e6*e.evaporates/area) / (h + top)
	flow := top * (e.surface - e.temp[0])
	last := len(e.temp) - 1
	for i := range e.temp {
		next := 0.0
		switch d := r.Slab.Deep.Kelvin(); {
		case i < last:
			next = (e.temp[i] - e.temp[i+1]) / (e.dx[i]/2/e.k[i] + e.dx[i+1]/2/e.k[i+1])
		case d != 0:
			next = (e.temp[i] - d) / (e.dx[i] / 2 / e.k[i])
		}
		e.temp[i] += dt * (flow - next) / (e.c[i] * e.dx[i])
		flow = next
	}

	// The air: the thermostat gives what reaches the set temperature, if it can.
	gain := (float64(r.Envelope)+e.mass*1006*n)*(to-e.air) + h*area*(e.surface-e.air)
	ask := 0.0
	if set != 0 {
		ask = max(0, (set-e.air)*e.capacity/dt-gain)
	}
	e.heat, e.burn = 0, 0
	for i, x := range r.Heaters {
		share := float64(x.Efficiency)
		if x.Unvented {
			share = float64(x.Fuel.LHV) / float64(x.Fuel.HHV)
		}
		for _, f := range x.Refills {
			if f.At > at-time.Duration(dt*1e9) && f.At <= at {
				e.fuel[i] += float64(f.Add)
			}
		}
		if e.fuel[i] <= 0 {
			continue
		}
		p := min(ask-e.heat, float64(x.Max)*share)
		burn := p / share / float64(x.Fuel.HHV)
		e.fuel[i] = max(0, e.fuel[i]-burn*dt)
		e.heat += p
		if x.Unvented {
			e.burn += burn * float64(x.Fuel.Water)
		}
	}
	e.air += dt * (gain + e.heat) / e.capacity
	e.w += dt * (n*(wo-e.w) + (e.evaporates+e.burn)/e.mass)
}

// run returns the states every step, and when a tank ran dry, a coat dried, or a
// limit of the room's Watch was crossed.
func (e *euler) run(span, every time.Duration, dt float64) (states []eulerState, events []climate.Event) {
	state := func(s float64) eulerState {
		return eulerState{time.Duration(s * 1e9), e.air, e.surface, dewed(e.w * eulerP / (0.621945 + e.w))}
	}
	type watched struct {
		below, above string
		of           func() float64
	}
	r := &e.r
	margin := func(k float64) func() float64 { // the dew point is costly to find
		return func() float64 { return saturated(e.surface-k) - e.w*eulerP/(0.621945+e.w) }
	}
	watch := []watched{{climate.Condensing, climate.NotCondensing, margin(0)},
		{climate.MarginBroken, climate.MarginKept, margin(float64(r.Watch.Margin))},
		{climate.SurfaceBelow, climate.SurfaceAbove, func() float64 { return e.surface - r.Watch.Surface.Kelvin() }},
		{climate.RHBelow, climate.RHAbove, func() float64 {
			return e.w*eulerP/(0.621945+e.w)/saturated(e.air) - float64(r.Watch.RH)
		}}}
	was := make([]float64, len(watch))
	for i, x := range watch {
		was[i] = x.of()
	}
	states = append(states, state(0))
	states[0].surface = r.Surface.Kelvin()
	n := int(math.Round(span.Seconds() / dt))
	each := int(math.Round(every.Seconds() / dt))
	for k := range n {
		s := float64(k) * dt
		fuel, left := slices.Clone(e.fuel), slices.Clone(e.left)
		e.step(s, dt)
		now := time.Duration((s + dt) * 1e9)
		for i := range fuel {
			if fuel[i] > 0 && e.fuel[i] == 0 {
				events = append(events, climate.Event{At: now, What: climate.TankEmpty, Heater: i})
			}
		}
		for i := range left {
			if dry := 0.05 * float64(r.Coats[i].Water); left[i] > dry && e.left[i] <= dry {
				events = append(events, climate.Event{At: now, What: climate.CoatDry, Coat: i})
			}
		}
		for i, x := range watch {
			v := x.of()
			if k > 0 && (v < 0) != (was[i] < 0) {
				what := x.above
				if v < 0 {
					what = x.below
				}
				events = append(events, climate.Event{At: now, What: what})
			}
			was[i] = v
		}
		if (k+1)%each == 0 {
			states = append(states, state(s+dt))
		}
	}
	return states, events
}

// withRoom is a small floor of the recipe with a space.
func withRoom(recipe, moisture, room string) string {
	return "name = \"n\"\nrecipe = \"" + recipe + "\"\nstart = \"2026-04-07T07:00:00-04:00\"\n[areas.a]\narea = \"1000 ft2\"\nuptake = \"2 mil\"\n[crew]\nhands = 3\nfrom = \"07:00\"\nto = \"18:00\"\n" + moisture + room
}

// explicitRooms are the spaces that are followed twice: the demo's, the demo's with
// unvented heat, and two coats of water one after the other in a space without heat.
func explicitRooms() map[string]string {
	demo := string(DemoJob())
	unvented := strings.NewReplacer(`class = "propane-vented"`, `class = "propane-unvented"`, `envelope = "old-insulated"`, "envelope = \"old-insulated\"\nair_changes = \"1.5 1/h\"", `emission = "2.5 lb`, `emission = "6 lb`).Replace(demo)
	return map[string]string{
		"demo": demo, "demo, unvented": unvented,
		"two coats": withRoom("roll-coat", "sections = 2\n[moisture]\nemission = \"4 lb/(1000 ft2 d)\"\n", `
[room]
height = "11 ft"
envelope = "masonry"
air_changes = "2 1/h"
air = "62 °F"
rh = "60 %"
[room.slab]
thickness = "5 in"
under = "clay-silt"
under_depth = "2 m"
deep = "56 °F"
surface = "60 °F"
film = "stirred"
[outdoors.air]
"0h" = "58 °F"
"7h" = "75 °F"
"21h" = "55 °F"
"31h" = "78 °F"
"45h" = "60 °F"
"55h" = "74 °F"
"69h" = "57 °F"
"96h" = "66 °F"
[outdoors.rh]
"0h" = "70 %"
"7h" = "45 %"
"21h" = "75 %"
"31h" = "40 %"
"45h" = "70 %"
"96h" = "60 %"
`),
	}
}

func TestExplicit(t *testing.T) {
	const kelvin, late = 0.05, 2 * time.Minute
	c := builtin(t)
	for name, text := range explicitRooms() {
		j, err := ReadJob(strings.NewReader(text), c)
		if err != nil {
			t.Fatal(err)
		}
		p, err := run(context.Background(), &j, nil)
		if err != nil {
			t.Fatal(err)
		}
		s := p.j.Site
		if len(s.Room.Coats) == 0 || len(s.Room.Emissions) == 0 {
			t.Fatalf("%s: nothing dries: %+v", name, s.Room)
		}
		room := s.Room
		room.Watch = climate.Watch{Margin: 3, Surface: units.Celsius(12), RH: 0.7}
		f, err := room.Forecast(s.Outdoors, s.Span, s.Steps)
		if err != nil {
			t.Fatal(err)
		}
		e := &euler{r: room, out: s.Outdoors}
		e.start(0.004, 1.06)
		states, events := e.run(s.Span, s.Steps, 1)
		var got []climate.Event
		for _, x := range f.Events {
			if x.What != climate.HeatersAtMaximum && x.What != climate.HeatersHold && x.What != climate.TankRefilled && x.At > 0 {
				got = append(got, x)
			}
		}
		order := func(a, b climate.Event) int {
			if a.What != b.What {
				return strings.Compare(a.What, b.What)
			}
			return int(a.At - b.At)
		}
		slices.SortFunc(got, order)
		slices.SortFunc(events, order)
		if !slices.EqualFunc(got, events, func(a, b climate.Event) bool {
			return a.What == b.What && a.Heater == b.Heater && a.Coat == b.Coat
		}) {
			t.Errorf("%s: events\n%v, explicitly\n%v", name, got, events)
			continue
		}
		var off time.Duration
		for i := range got {
			if d := (got[i].At - events[i].At).Abs(); d > late {
				t.Errorf("%s: %v, explicitly %v", name, got[i], events[i])
			}
			off = max(off, (got[i].At - events[i].At).Abs())
		}
		var worst [3]float64
		for i, x := range states {
			y := f.States[i]
			if slices.ContainsFunc(events, func(e climate.Event) bool {
				return e.What == climate.TankEmpty && x.at >= e.At-late && x.at < e.At+time.Hour
			}) {
				continue // as early or late as the tank: between the two times at which it runs dry, one of the two rooms is heated and one is not
			}
			for k, d := range [3]float64{y.Air.Kelvin() - x.air, y.Surface.Kelvin() - x.surface, y.DewPoint.Kelvin() - x.dew} {
				if math.Abs(d) > kelvin {
					t.Errorf("%s at %v: %v off by %.3f K", name, x.at, [3]string{"air", "surface", "dew point"}[k], d)
				}
				worst[k] = max(worst[k], math.Abs(d))
			}
		}
		t.Logf("%s: %d cells, %d states, air %.4f K, surface %.4f K, dew point %.4f K; %d events, %v", name, len(e.temp), len(states), worst[0], worst[1], worst[2], len(got), off)
	}
}
