package systems

import (
	"errors"
	"maps"
	"math"
	"slices"
	"sort"
	"strings"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// A Site is the job's space with its heat, as package climate takes it, and how
// it fares through the weather outdoors. Where the job does not type in or log
// the slab's temperature, the air's or the humidity, the plan takes them from
// Forecast.
type Site struct {
	Room     climate.Room
	Outdoors climate.Weather
	Heaters  []SiteHeater // as Room.Heaters
	Span     time.Duration
	Forecast *climate.RoomForecast // every quarter of an hour

	Steps    time.Duration    // of the forecast
	moments  []time.Duration  // at which it has states too: stateAt finds them
	bare     *Site            // of a plan's own space: it without what the plan does to it
	coupling coupling         // what the plan does to it
	costed   bool             // vented and wouldUse are worked out
	past     *sitePast        // nil: the forecast starts with the job
	last     *leg             // of a forecast with a past: the one from now on
	vented   *units.TempDelta // the least margin with every heater's exhaust led outdoors; nil if none is unvented
	wouldUse [4]units.Mass    // fuel by heater if no tank ran dry
	envelope EnvelopeClass
	film     FilmClass
	layers   []LayerClass
}

// A SiteHeater is one heater of the job, or several alike.
type SiteHeater struct {
	Name  string
	Class HeaterClass
	Fuel  FuelClass // zero: electric
	Count int
}

type roomFile struct {
	Height     *units.Length      `toml:"height"`
	Volume     *units.Volume      `toml:"volume"`
	Envelope   string             `toml:"envelope"`
	Walls      *units.Area        `toml:"walls"`
	Roof       *units.Area        `toml:"roof"`
	UA         *units.Conductance `toml:"ua"`
	AirChanges *units.Rate        `toml:"air_changes"`
	Contents   *units.Mass        `toml:"contents"`
	Altitude   *units.Length      `toml:"altitude"`
	Air        *units.Temperature `toml:"air"`
	RH         *units.Fraction    `toml:"rh"`

	Slab struct {
		Thickness    *units.Length       `toml:"thickness"`
		Material     string              `toml:"material"`
		Conductivity *units.Conductivity `toml:"conductivity"` // of the material, measured or learned
		Under        string              `toml:"under"`
		UnderDepth   *units.Length       `toml:"under_depth"`
		Deep         *units.Temperature  `toml:"deep"`
		Film         string              `toml:"film"` // a class, or a film coefficient of the job's own
		Surface      *units.Temperature  `toml:"surface"`
	} `toml:"slab"`

	Thermostat map[string]string     `toml:"thermostat"`
	Heaters    map[string]heaterFile `toml:"heaters"`
	Doors      map[string]doorFile   `toml:"doors"`
}

type heaterFile struct {
	Class      string                `toml:"class"`
	Max        *units.Power          `toml:"max"`
	Count      *int64                `toml:"count"`
	Efficiency *units.Fraction       `toml:"efficiency"`
	Tank       *units.Mass           `toml:"tank"`
	Left       *units.Mass           `toml:"left"` // in the tank now, as read
	Refills    map[string]units.Mass `toml:"refills"`
}

type doorFile struct {
	From       string      `toml:"from"`
	To         string      `toml:"to"`
	AirChanges *units.Rate `toml:"air_changes"`
}

type outdoorsFile struct {
	Air map[string]units.Temperature `toml:"air"`
	RH  map[string]units.Fraction    `toml:"rh"`
}

// roomStep is the step of a site's forecast.
const roomStep = 15 * time.Minute

// room reads [room] and [outdoors] and forecasts the site.
func (p jobReader) room() error {
	if !p.d.Defined("room") {
		if p.d.Defined("outdoors") {
			return p.bad("outdoors", "found weather outdoors without a room: want [room] too")
		}
		return nil
	}
	f := &p.f.Room
	s := &Site{Steps: roomStep}
	r := &s.Room
	for _, a := range p.j.Areas {
		r.Floor += a.Plan
	}
	switch {
	case (f.Height == nil) == (f.Volume == nil):
		return p.bad("room", "found height and volume, or neither: want one of them")
	case f.Height != nil:
		if err := within(p, "room/height", *f.Height, 1, 100, "1 m to 100 m"); err != nil {
			return err
		}
		r.Volume = r.Floor.Times(*f.Height)
	default:
		if err := within(p, "room/volume", *f.Volume, r.Floor.Times(1), r.Floor.Times(100), "the floor times 1 m to 100 m"); err != nil {
			return err
		}
		r.Volume = *f.Volume
	}
	if err := p.envelope(s); err != nil {
		return err
	}
	if f.Contents != nil {
		if err := within(p, "room/contents", *f.Contents, 0, 1e7, "0 kg to 10 000 t"); err != nil {
			return err
		}
		r.Contents = *f.Contents
	}
	if f.Altitude != nil {
		pressure, err := climate.PressureAt(*f.Altitude)
		if err != nil {
			return p.bad("room/altitude", "found %v: want -500 m to 5000 m", *f.Altitude)
		}
		r.Pressure = pressure
	}
	if f.Air == nil || f.RH == nil {
		return p.bad("room", "found no air or no rh: want both, as they are at the start")
	}
	if c := f.Air.Celsius(); !(c >= -40-1e-9 && c <= 60+1e-9) {
		return p.bad("room/air", "found %s: want "+warm, units.Format(*f.Air, units.SI))
	}
	if err := within(p, "room/rh", *f.RH, 0.01, 1, "1 % to 100 %"); err != nil {
		return err
	}
	r.Air, r.RH = *f.Air, *f.RH
	for _, read := range []func(*Site) error{p.siteSlab, p.siteHeat, p.doors, p.outdoors} {
		if err := read(s); err != nil {
			return err
		}
	}
	if s.Span = s.Span.Truncate(roomStep); s.Span < time.Hour || s.Span > 60*day {
		return p.bad("outdoors", "found weather that ends %v after the start: want 1 h to 60 d", units.DurationText(s.Span))
	}
	p.j.Site = s
	if p.j.Now > 0 { // once the past is read
		return nil
	}
	if err := s.forecast(); err != nil {
		return p.bad("room", "%w", oneLine(err))
	}
	return nil
}

// forecast works out how the space fares.
func (s *Site) forecast() (err error) {
	if s.past != nil {
		if err := s.joinedForecast(); err != nil {
			return err
		}
		return s.costs()
	}
	if s.Forecast, err = s.Room.ForecastAt(s.Outdoors, s.Span, s.Steps, s.moments...); err != nil {
		return err
	}
	return s.costs()
}

// stateAt returns the place of the forecast's last state that is not after a time.
func (s *Site) stateAt(t time.Duration) int {
	return max(sort.Search(len(s.Forecast.States), func(i int) bool { return s.Forecast.States[i].At > t })-1, 0)
}

// costs works out what heat of another kind would do: from tanks that do not run
// dry, and vented.
func (s *Site) costs() (err error) {
	s.costed = true
	if s.past != nil {
		return s.joinedCosts()
	}
	if s.wouldUse, err = s.Forecast.WouldBurn(); err != nil {
		return err
	}
	s.vented = nil
	if slices.ContainsFunc(s.Room.Heaters, func(h climate.Heater) bool { return h.Unvented }) {
		_, vented, err := s.Room.UnventedCost(s.Outdoors, s.Span)
		if err != nil {
			return err
		}
		s.vented = &vented
	}
	return nil
}

// elsewhere returns the job with its space changed, forecast again, and its
// weather after that. change must not write into slices that the space has now.
func (j *Job) elsewhere(change func(*Site)) (Job, error) {
	out := *j
	if j.Site == nil {
		return out, errors.New("the job has no [room]: want one, with [outdoors]")
	}
	s := *j.Site
	if s.bare != nil {
		s = *s.bare
	}
	change(&s)
	if err := s.forecast(); err != nil {
		return out, err
	}
	out.Site, out.Weather = &s, j.given.over(s.weather())
	return out, nil
}

// oneLine puts joined errors on one line.
func oneLine(err error) error {
	return errors.New(strings.ReplaceAll(err.Error(), "\n", "; "))
}

func (p jobReader) envelope(s *Site) error {
	f, r := &p.f.Room, &s.Room
	if f.Envelope == "" && (f.UA == nil || f.AirChanges == nil) {
		return p.bad("room", "found no envelope: want one of %s, or ua and air_changes", names(p.c.heat.envelopes))
	}
	if f.Envelope != "" {
		e, err := p.c.Envelope(f.Envelope)
		if err != nil {
			return p.bad("room/envelope", "%w", err)
		}
		s.envelope = e
		height := r.Volume.PerArea(r.Floor)
		walls := units.Length(4 * math.Sqrt(float64(r.Floor))).Times(height) // of a square room
		roof := r.Floor
		if f.Walls != nil {
			walls = *f.Walls
		}
		if f.Roof != nil {
			roof = *f.Roof
		}
		if err := errors.Join(within(p, "room/walls", walls, 0, 1e6, "0 m2 to 1 000 000 m2"), within(p, "room/roof", roof, 0, 1e6, "0 m2 to 1 000 000 m2")); err != nil {
			return err
		}
		r.Envelope = units.Conductance(float64(e.Walls.Q)*float64(walls) + float64(e.Roof.Q)*float64(roof))
		r.AirChanges = e.AirChanges.Q
	} else if f.Walls != nil || f.Roof != nil {
		return p.bad("room", "found walls or roof without an envelope: want an envelope, or ua alone")
	}
	if f.UA != nil {
		r.Envelope = *f.UA
	}
	if f.AirChanges != nil {
		r.AirChanges = *f.AirChanges
	}
	return errors.Join(within(p, "room/ua", r.Envelope, 0, 1e6, "0 W/K to 1 000 000 W/K"), within(p, "room/air_changes", r.AirChanges, 0, 100./3600, "0 1/h to 100 1/h"))
}

func (p jobReader) siteSlab(s *Site) error {
	f, r := &p.f.Room.Slab, &s.Room
	if f.Thickness == nil || f.Surface == nil {
		return p.bad("room/slab", "found no thickness or no surface: want both (surface is its temperature at the start)")
	}
	if err := within(p, "room/slab/thickness", *f.Thickness, 0.01, 5, "10 mm to 5 m"); err != nil {
		return err
	}
	layer := func(key, id, usual string, thickness units.Length) error {
		if id == "" {
			id = usual
		}
		l, err := p.c.Layer(id)
		if err != nil {
			return p.bad("room/slab/"+key, "%w", err)
		}
		s.layers = append(s.layers, l)
		r.Slab.Layers = append(r.Slab.Layers, l.Layer(thickness))
		return nil
	}
	if err := layer("material", f.Material, "concrete", *f.Thickness); err != nil {
		return err
	}
	if k := f.Conductivity; k != nil {
		if err := within(p, "room/slab/conductivity", *k, 0.01, 500, "0.01 W/(m K) to 500 W/(m K)"); err != nil {
			return err
		}
		s.layers[0].Conductivity = Value[units.Conductivity]{Q: *k, Text: k.String(), Origin: Origin{Basis: FromJob}}
		r.Slab.Layers[0].Conductivity = *k
	}
	if f.Under != "" {
		depth := 3 * units.Metre
		if f.UnderDepth != nil {
			depth = *f.UnderDepth
		}
		if err := within(p, "room/slab/under_depth", depth, 0.001, 50, "1 mm to 50 m"); err != nil {
			return err
		}
		if err := layer("under", f.Under, "", depth); err != nil {
			return err
		}
	} else if f.UnderDepth != nil {
		return p.bad("room/slab/under_depth", "found a depth without under: want what lies there")
	}
	film := f.Film
	if film == "" {
		film = "still-cold-floor"
	}
	c, err := p.c.Film(film)
	var own units.FilmCoefficient
	if own.UnmarshalText([]byte(film)) == nil {
		if err := within(p, "room/slab/film", own, 0.1, 1000, "0.1 W/(m2 K) to 1000 W/(m2 K), or the name of a film"); err != nil {
			return err
		}
		c, err = FilmClass{Class: Class{ID: "of the job"}, Film: Value[units.FilmCoefficient]{Q: own, Text: film, Origin: Origin{Basis: FromJob}}}, nil
	}
	if err != nil {
		return p.bad("room/slab/film", "%w, or a film coefficient such as \"9 W/(m2 K)\"", err)
	}
	s.film = c
	r.Slab.Film = c.Film.Q
	for _, t := range []struct {
		key  string
		from *units.Temperature
		to   *units.Temperature
	}{{"deep", f.Deep, &r.Slab.Deep}, {"surface", f.Surface, &r.Surface}} {
		if t.from == nil {
			continue
		}
		if c := t.from.Celsius(); !(c >= -40-1e-9 && c <= 60+1e-9) {
			return p.bad("room/slab/"+t.key, "found %s: want "+warm, units.Format(*t.from, units.SI))
		}
		*t.to = *t.from
	}
	return nil
}

func (p jobReader) siteHeat(s *Site) error {
	f, r := &p.f.Room, &s.Room
	last := time.Duration(math.MinInt64)
	for _, key := range p.d.Under("room", "thermostat") {
		at, err := moment(key, p.j.Start)
		full := []string{"room", "thermostat", key}
		if err != nil {
			return p.d.Errorf(full, "%v", err)
		}
		if at < last {
			return p.d.Errorf(full, "found time %q before the one above it: want rising times", key)
		}
		last = at
		set := climate.Setting{At: at}
		if text := f.Thermostat[key]; text != "off" {
			if err := set.Temp.UnmarshalText([]byte(text)); err != nil {
				return p.d.Errorf(full, "%w, or off", err)
			}
			if c := set.Temp.Celsius(); !(c >= -40-1e-9 && c <= 50+1e-9) {
				return p.d.Errorf(full, "found %q: want -40 °C to 50 °C, or off", text)
			}
		}
		r.Thermostat = append(r.Thermostat, set)
	}
	for _, name := range p.d.Under("room", "heaters") {
		h, at := f.Heaters[name], "room/heaters/"+name
		class, err := p.c.Heater(h.Class)
		if err != nil {
			return p.bad(at+"/class", "%w", err)
		}
		x := SiteHeater{Name: name, Class: class, Count: int(count(h.Count))}
		if x.Count < 1 || x.Count > 1000 {
			return p.bad(at+"/count", "found %d: want 1 to 1000", x.Count)
		}
		if h.Max == nil {
			return p.bad(at, "found no max: want the most that one takes in, such as \"150000 Btu/h\" or \"30 kW\"")
		}
		if err := within(p, at+"/max", *h.Max, 10, 1e7, "10 W to 10 MW"); err != nil {
			return err
		}
		c := climate.Heater{Max: *h.Max * units.Power(x.Count), Efficiency: class.Efficiency.Q, Unvented: class.Unvented}
		if class.Fuel != "" {
			if x.Fuel, err = p.c.Fuel(class.Fuel); err != nil {
				return p.bad(at+"/class", "%w", err)
			}
			c.Fuel = x.Fuel.Fuel()
		}
		if h.Efficiency != nil {
			if class.Unvented {
				return p.bad(at+"/efficiency", "found one for an unvented heater: want none, it follows from the fuel")
			}
			top, want := units.Fraction(1), "5 % to 100 %"
			if class.Fuel == "" {
				top, want = 8, "5 % to 800 %"
			}
			if err := within(p, at+"/efficiency", *h.Efficiency, 0.05, top, want); err != nil {
				return err
			}
			c.Efficiency = *h.Efficiency
		}
		if (h.Tank != nil || len(h.Refills) > 0) && class.Fuel == "" {
			return p.bad(at, "found a tank of an electric heater: want none")
		}
		if h.Left != nil {
			if p.j.Now == 0 {
				return p.bad(at+"/left", "found what is left in the tank without now: want now, or tank as it is at the start")
			}
			if h.Tank == nil && len(h.Refills) == 0 {
				return p.bad(at+"/left", "found what is left of a heater without a tank: want tank too, as it was at the start")
			}
			if err := within(p, at+"/left", *h.Left, 0, 1e5, "0 kg to 100 t"); err != nil {
				return err
			}
		}
		if h.Tank != nil {
			if err := within(p, at+"/tank", *h.Tank, 0, 1e5, "0 kg to 100 t"); err != nil {
				return err
			}
			c.Tank = max(*h.Tank, emptyTank) // told as empty
		}
		last := time.Duration(math.MinInt64)
		for _, key := range p.d.Under("room", "heaters", name, "refills") {
			when, err := moment(key, p.j.Start)
			full := []string{"room", "heaters", name, "refills", key}
			if err != nil {
				return p.d.Errorf(full, "%v", err)
			}
			if when < last {
				return p.d.Errorf(full, "found time %q before the one above it: want rising times", key)
			}
			last = when
			add := h.Refills[key]
			if !(add > 0 && add <= 1e5) {
				return p.d.Errorf(full, "found %v: want above 0 kg to 100 t", add)
			}
			c.Refills = append(c.Refills, climate.Refill{At: when, Add: add})
		}
		if h.Left != nil {
			most := c.Tank
			for _, f := range c.Refills {
				if f.At <= p.j.Now {
					most += f.Add
				}
			}
			if *h.Left > most*(1+1e-9) {
				return p.bad(at+"/left", "found %v, and tank and refills up to now come to %v: want at most that, or what was filled in too in refills", *h.Left, most)
			}
		}
		r.Heaters = append(r.Heaters, c)
		s.Heaters = append(s.Heaters, x)
	}
	if len(r.Heaters) > 4 {
		return p.bad("room/heaters", "found %d: want at most 4 kinds (count says how many of one)", len(r.Heaters))
	}
	if (len(r.Heaters) == 0) != (len(r.Thermostat) == 0) {
		return p.bad("room", "found heaters without a thermostat, or a thermostat without heaters: want both or neither")
	}
	return nil
}

func (p jobReader) doors(s *Site) error {
	for _, name := range p.d.Under("room", "doors") {
		f, at := p.f.Room.Doors[name], "room/doors/"+name
		from, err := moment(f.From, p.j.Start)
		if err != nil {
			return p.bad(at+"/from", "%v", err)
		}
		to, err := moment(f.To, p.j.Start)
		if err != nil {
			return p.bad(at+"/to", "%v", err)
		}
		if to <= from {
			return p.bad(at+"/to", "found %q: want a time after from", f.To)
		}
		if f.AirChanges == nil {
			return p.bad(at, "found no air_changes: want how many the open door adds, such as \"10 1/h\"")
		}
		if err := within(p, at+"/air_changes", *f.AirChanges, 0, 500./3600, "0 1/h to 500 1/h"); err != nil {
			return err
		}
		s.Room.Openings = append(s.Room.Openings, climate.Opening{From: from, To: to, AirChanges: *f.AirChanges})
	}
	return nil
}

func (p jobReader) outdoors(s *Site) error {
	f := &p.f.Outdoors
	air, err := p.temperatures(f.Air, "outdoors", "air")
	if err != nil {
		return err
	}
	rh, err := p.humidities(f.RH, "outdoors", "rh")
	if err != nil {
		return err
	}
	if len(air) == 0 || len(rh) == 0 {
		return p.bad("outdoors", "found no air or no rh: want [outdoors.air] and [outdoors.rh]")
	}
	for _, x := range []struct {
		name string
		s    Series
	}{{"air", air}, {"rh", rh}} {
		if x.s[0].At > 0 {
			return p.bad("outdoors/"+x.name, "found the first reading %v after the start: want one at the start or before", units.DurationText(x.s[0].At))
		}
	}
	s.Span = min(air[len(air)-1].At, rh[len(rh)-1].At)
	at := map[time.Duration]bool{}
	for _, r := range append(slices.Clone(air), rh...) {
		at[r.At] = true
	}
	for _, t := range slices.Sorted(maps.Keys(at)) {
		s.Outdoors = append(s.Outdoors, climate.Reading{At: t, Temp: units.Kelvin(air.At(t)), RH: units.Fraction(rh.At(t))})
	}
	return nil
}

// weather returns what the plan takes from the forecast, with as few readings
// as keep the slab's temperature to 0.02 K, the air's to 0.05 K and the humidity
// to 0.2 %.
func (s *Site) weather() Weather {
	n := len(s.Forecast.States)
	all := make(Series, 3*n)
	slab, air, rh := all[:n], all[n:2*n], all[2*n:]
	for i := range s.Forecast.States {
		x := &s.Forecast.States[i]
		slab[i] = Reading{x.At, x.Surface.Kelvin()}
		air[i] = Reading{x.At, x.Air.Kelvin()}
		rh[i] = Reading{x.At, float64(min(max(x.RH, 0.01), 1))}
	}
	// The readings are parted where the plan acts on the space: those before do
	// not hang on what comes after.
	var parts []int
	part := func(at time.Duration) {
		if i := s.stateAt(at); at > 0 && i < n-1 {
			parts = append(parts, i)
		}
	}
	for _, c := range s.coupling.coats {
		part(c.At)
		part(c.Covered)
	}
	for _, e := range s.coupling.emissions {
		part(e.To)
	}
	slices.Sort(parts)
	parts = slices.Compact(append(parts, n-1))
	thin := func(of Series, tol float64) Series {
		out, from := make(Series, 0, n/4), 0
		for _, to := range parts {
			out = of[from:to+1].thin(out, tol)
			from = to
		}
		return out
	}
	w := Weather{thin(slab, 0.02), thin(air, 0.05), thin(rh, 0.002)}
	if s.past != nil {
		return s.past.join(w)
	}
	return w
}

// thin adds to out s without the readings that lie within tol of the straight
// lines between those kept. The last of out, if any, is the first of s.
func (s Series) thin(out Series, tol float64) Series {
	if len(out) == 0 {
		out = append(out, s[0])
	}
	for from := 0; from < len(s)-1; {
		to := from + 1
		// The slopes from s[from] that pass every reading since within tol.
		lo, hi := math.Inf(-1), math.Inf(1)
		for i := from + 1; i < len(s); i++ {
			dt := float64(s[i].At - s[from].At)
			slope := (s[i].V - s[from].V) / dt
			if slope >= lo && slope <= hi {
				to = i
			} else if i > to+8 || lo > hi { // a few more may still be reached
				break
			}
			lo, hi = max(lo, (s[i].V-tol-s[from].V)/dt), min(hi, (s[i].V+tol-s[from].V)/dt)
			if lo > hi {
				break
			}
		}
		out = append(out, s[to])
		from = to
	}
	return out
}
