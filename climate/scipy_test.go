package climate_test

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// Source: SciPy 1.10.1, Radau at 1e-8. The cases of testdata/scipy-cases.json and the forecasts of them that
// internal/scipycheck/reference.py made by another route: SciPy's integrators on
// a plain grid, a thermostat of three modes. One physics, two numerics: the
// tolerances are those of the doc comments.

type scipyCases struct {
	Weathers map[string]scipyWeather
	Slabs    []scipySlabCase
	Rooms    []scipyRoomCase
}

type scipyWeather struct{ Seconds, Temp, RH []float64 }

type scipySlab struct {
	Layers [][4]float64 // thickness, conductivity, density, heat capacity
	Film   float64
	Deep   *float64
}

type scipySlabCase struct {
	Name string
	scipySlab
	Initial      float64
	Air          string
	Hours, Every float64
}

type scipyRoomCase struct {
	Name, Weather                     string
	Hours, Every                      float64
	Volume, Envelope, Floor, Contents float64
	AirChanges                        float64 `json:"air_changes"`
	Pressure, Air, RH                 float64
	Surface                           *float64
	Slab                              scipySlab
	Thermostat                        [][2]*float64 // seconds, °C or null
	Openings                          []struct {
		From, To   float64
		AirChanges float64 `json:"air_changes"`
	}
	Heaters []struct {
		Fuel            *struct{ Carbon, Hydrogen, Formation float64 }
		Max, Efficiency float64
		Unvented        bool
		Tank            float64
		Refills         []struct{ At, Add float64 }
	}
	Coats []struct {
		At, Area, Water, Critical, Convection float64
		Covered                               *float64
	}
	Emissions []struct{ From, To, Area, Flux float64 }
	Watch     struct{ Margin, Surface, RH, CO2 *float64 }
}

func orZero(p *float64) float64 {
	if p == nil {
		return 0
	}
	return *p
}

func celsiusOrNone(p *float64) units.Temperature {
	if p == nil {
		return units.Temperature{}
	}
	return units.Celsius(*p)
}

func readCases(t testing.TB) scipyCases {
	text, err := os.ReadFile("testdata/scipy-cases.json")
	if err != nil {
		t.Fatal(err)
	}
	var c scipyCases
	if err := json.Unmarshal(text, &c); err != nil {
		t.Fatal(err)
	}
	return c
}

func (w scipyWeather) at(i int) time.Duration {
	if w.Seconds == nil {
		return time.Duration(i) * time.Hour
	}
	return seconds(w.Seconds[i])
}

func (w scipyWeather) trace() climate.Trace {
	var t climate.Trace
	for i, c := range w.Temp {
		t = append(t, climate.Sample{At: w.at(i), Temp: units.Celsius(c)})
	}
	return t
}

func (w scipyWeather) weather() climate.Weather {
	var out climate.Weather
	for i, c := range w.Temp {
		out = append(out, climate.Reading{At: w.at(i), Temp: units.Celsius(c), RH: units.Fraction(w.RH[i])})
	}
	return out
}

func (s scipySlab) slab() climate.Slab {
	out := climate.Slab{Film: units.FilmCoefficient(s.Film), Deep: celsiusOrNone(s.Deep)}
	for _, l := range s.Layers {
		out.Layers = append(out.Layers, climate.Layer{Thickness: units.Length(l[0]), Conductivity: units.Conductivity(l[1]), Density: units.Density(l[2]), HeatCapacity: units.SpecificHeat(l[3])})
	}
	return out
}

func (c scipyRoomCase) room(t testing.TB) climate.Room {
	r := climate.Room{Volume: units.Volume(c.Volume), Envelope: units.Conductance(c.Envelope), AirChanges: units.Rate(c.AirChanges) * units.PerHour,
		Floor: units.Area(c.Floor), Contents: units.Mass(c.Contents), Pressure: units.Pressure(c.Pressure), Air: units.Celsius(c.Air), RH: units.Fraction(c.RH), Surface: celsiusOrNone(c.Surface),
		Watch: climate.Watch{Margin: units.TempDelta(orZero(c.Watch.Margin)), Surface: celsiusOrNone(c.Watch.Surface), RH: units.Fraction(orZero(c.Watch.RH)), CO2: units.Fraction(orZero(c.Watch.CO2))}}
	if c.Floor > 0 {
		r.Slab = c.Slab.slab()
	}
	for _, s := range c.Thermostat {
		r.Thermostat = append(r.Thermostat, climate.Setting{At: seconds(*s[0]), Temp: celsiusOrNone(s[1])})
	}
	for _, o := range c.Openings {
		r.Openings = append(r.Openings, climate.Opening{From: seconds(o.From), To: seconds(o.To), AirChanges: units.Rate(o.AirChanges) * units.PerHour})
	}
	for _, h := range c.Heaters {
		x := climate.Heater{Max: units.Power(h.Max), Efficiency: units.Fraction(h.Efficiency), Unvented: h.Unvented, Tank: units.Mass(h.Tank)}
		if h.Fuel != nil {
			f, err := climate.Formula{Carbon: h.Fuel.Carbon, Hydrogen: h.Fuel.Hydrogen, Formation: units.MolarEnergy(h.Fuel.Formation)}.Burned()
			if err != nil {
				t.Fatal(err)
			}
			x.Fuel = f
		}
		for _, f := range h.Refills {
			x.Refills = append(x.Refills, climate.Refill{At: seconds(f.At), Add: units.Mass(f.Add)})
		}
		r.Heaters = append(r.Heaters, x)
	}
	for _, k := range c.Coats {
		r.Coats = append(r.Coats, climate.WetCoat{At: seconds(k.At), Covered: seconds(orZero(k.Covered)), Area: units.Area(k.Area), Drying: climate.Drying{Water: units.Loading(k.Water), Critical: units.Fraction(k.Critical), Convection: units.FilmCoefficient(k.Convection)}})
	}
	for _, e := range c.Emissions {
		r.Emissions = append(r.Emissions, climate.Emission{From: seconds(e.From), To: seconds(e.To), Area: units.Area(e.Area), Flux: units.MassFlux(e.Flux)})
	}
	return r
}

// byCase sorts the rows of a table by their case.
func byCase(rows []map[string]string) map[string][]map[string]string {
	m := map[string][]map[string]string{}
	for _, r := range rows {
		m[r["case"]] = append(m[r["case"]], r)
	}
	return m
}

// worst keeps the largest difference of a quantity.
type worst struct {
	off float64
	at  string
}

func (w *worst) see(got, want float64, at time.Duration) {
	if d := math.Abs(got - want); !(d <= w.off) {
		w.off, w.at = d, fmt.Sprintf("%v: %.5f, SciPy %.5f", at, got, want)
	}
}

func TestScipySlab(t *testing.T) {
	const tol = 0.01 // K: Slab.Forecast's Accuracy
	cases, table := readCases(t), byCase(rows(t, "scipy-slab.csv"))
	if len(cases.Slabs) < 7 || len(table) != len(cases.Slabs) {
		t.Errorf("%d cases and forecasts of %d", len(cases.Slabs), len(table))
	}
	for _, c := range cases.Slabs {
		s := c.slab()
		f, err := s.Forecast(units.Celsius(c.Initial), cases.Weathers[c.Air].trace(), seconds(c.Hours*3600), seconds(c.Every))
		if err != nil || len(f) != len(table[c.Name]) {
			t.Errorf("%s: %d samples, %v; want %d", c.Name, len(f), err, len(table[c.Name]))
			continue
		}
		var w worst
		for i, r := range table[c.Name] {
			if f[i].At != seconds(number(r, "seconds")) {
				t.Fatalf("%s: sample %d at %v, SciPy's at %s s", c.Name, i, f[i].At, r["seconds"])
			}
			w.see(f[i].Temp.Celsius(), number(r, "surface_C"), f[i].At)
		}
		if !(w.off <= tol) {
			t.Errorf("%s: surface %.4f K off at %s; want %v", c.Name, w.off, w.at, tol)
		}
		t.Logf("%s: surface off %.6f K at %s", c.Name, w.off, w.at) // compare.sh reads it
	}
}

// byName orders events by what they are, then by time.
func byName(a, b climate.Event) int {
	return cmp.Or(strings.Compare(a.What, b.What), a.Heater-b.Heater, a.Coat-b.Coat, cmp.Compare(a.At, b.At))
}

// scipyRoom returns SciPy's states and, ordered by name, its events.
func scipyRoom(table []map[string]string) (states []map[string]string, events []climate.Event) {
	for _, x := range table {
		if x["kind"] == "event" {
			e := climate.Event{At: seconds(number(x, "seconds")), What: x["what"], Heater: int(number(x, "heater"))}
			if e.What == climate.CoatDry {
				e.Heater, e.Coat = 0, e.Heater
			}
			events = append(events, e)
			continue
		}
		states = append(states, x)
	}
	slices.SortStableFunc(events, byName)
	return states, events
}

// The doc comment's accuracy at every output and for every event. A state up to
// an hour after a tank ran dry is compared with that as long after the
// forecast's own event, which may be two minutes off: the air falls by up to
// 0.8 K in the first.
func TestScipyRoom(t *testing.T) {
	const (
		kelvin = 0.05 // of the dew point too
		co2    = 5e-3 // of it
		fuel   = 1e-3 // of what is burned, of 1 kg at least
		dried  = 5e-3 // of what has dried, of 1 kg at least
		event  = 2 * time.Minute
	)
	cases, table := readCases(t), byCase(rows(t, "scipy-room.csv"))
	if len(cases.Rooms) < 7 || len(table) != len(cases.Rooms) {
		t.Errorf("%d cases and forecasts of %d", len(cases.Rooms), len(table))
	}
	for _, c := range cases.Rooms {
		r, weather := c.room(t), cases.Weathers[c.Weather].weather()
		states, events := scipyRoom(table[c.Name])
		f, err := r.Forecast(weather, seconds(c.Hours*3600), seconds(c.Every))
		if err != nil || len(f.States) != len(states) {
			t.Errorf("%s: %v; want %d states", c.Name, err, len(states))
			continue
		}
		got := slices.Clone(f.Events)
		slices.SortStableFunc(got, byName)
		if !slices.EqualFunc(got, events, func(a, b climate.Event) bool { return a.What == b.What && a.Heater == b.Heater && a.Coat == b.Coat }) {
			t.Errorf("%s: events\n%v\nSciPy's\n%v", c.Name, got, events)
			continue
		}
		late, when := time.Duration(0), climate.Event{}
		for i, e := range got {
			d := e.At - events[i].At
			if d.Abs() > event {
				t.Errorf("%s: %s at %v, SciPy %v; want within %v", c.Name, e.What, e.At, events[i].At, event)
			}
			if d.Abs() > late.Abs() {
				late, when = d, e
			}
		}
		t.Logf("%s: %d events, off %v: %s at %v", c.Name, len(got), late.Round(time.Millisecond), when.What, when.At)

		var air, surface, dew, carbon, burned, dry, calm worst
		for n, x := range states {
			s := f.States[n]
			if s.At != seconds(number(x, "seconds")) {
				t.Fatalf("%s: state %d at %v, SciPy's at %s s", c.Name, n, s.At, x["seconds"])
			}
			end := s.At
			for i, e := range events {
				d := got[i].At - e.At
				if e.What == climate.TankEmpty && s.At > e.At-d.Abs() && s.At < e.At+time.Hour {
					end += d
				}
			}
			// From a forecast that ends there its balances, too.
			var to *climate.RoomForecast
			if s.At > 0 && (end != s.At || n%6 == 0 || n == len(states)-1) {
				if to, err = r.Forecast(weather, end, end); err != nil {
					t.Fatal(err)
				}
				s = to.States[1]
			}
			air.see(s.Air.Celsius(), number(x, "air_C"), s.At)
			surface.see(s.Surface.Celsius(), number(x, "surface_C"), s.At)
			if s.At == f.States[n].At {
				calm.see(s.Air.Celsius(), number(x, "air_C"), s.At)
				calm.see(s.Surface.Celsius(), number(x, "surface_C"), s.At)
			}
			dew.see(s.DewPoint.Celsius(), number(x, "dew_C"), s.At)
			carbon.see(float64(s.CO2)*1e6/number(x, "co2_ppm"), 1, s.At)
			for i, h := range r.Heaters {
				had, left := float64(h.Tank), number(x, fmt.Sprintf("fuel%d_kg", i))
				for _, fill := range h.Refills {
					if fill.At <= s.At { // a state has what is refilled at its moment
						had += float64(fill.Add)
					}
				}
				of := max(had-left, 1)
				if had > 0 {
					burned.see((had-float64(s.Fuel[i]))/of, (had-left)/of, s.At)
				}
				if to != nil {
					burned.see(float64(to.Balance.Fuel[i])/of, (had-left)/of, s.At)
				}
			}
			if to != nil {
				want := -number(x, "coats_kg")
				for _, k := range r.Coats {
					want += float64(k.Water) * float64(k.Area)
				}
				dry.see(float64(to.Balance.Dried)/max(want, 1), want/max(want, 1), s.At)
			}
		}
		t.Logf("%s: air and surface off %.6f K but for the hour after a tank ran dry, events off %.3f s", c.Name, calm.off, late.Abs().Seconds()) // compare.sh reads it
		for _, q := range []struct {
			name string
			w    worst
			tol  float64
		}{{"air (K)", air, kelvin}, {"surface (K)", surface, kelvin}, {"dew point (K)", dew, kelvin}, {"CO2 (of it)", carbon, co2}, {"fuel (of it)", burned, fuel}, {"dried (of it)", dry, dried}} {
			if !(q.w.off <= q.tol) {
				t.Errorf("%s: %s %.5f off at %s; want %v", c.Name, q.name, q.w.off, q.w.at, q.tol)
			}
			if q.w.off > 0 {
				t.Logf("%s: %s off %.6f at %s", c.Name, q.name, q.w.off, q.w.at)
			}
		}
	}
}

// The cases named benchmark are those of the benchmarks, so that compare.sh
// compares the times of one thing.
func TestScipyBenchmarks(t *testing.T) {
	cases := readCases(t)
	i := slices.IndexFunc(cases.Slabs, func(c scipySlabCase) bool { return c.Name == "benchmark" })
	k := slices.IndexFunc(cases.Rooms, func(c scipyRoomCase) bool { return c.Name == "benchmark" })
	if i < 0 || k < 0 {
		t.Fatal("no case named benchmark")
	}
	s, r := cases.Slabs[i], cases.Rooms[k]
	room, weather := benchRoom(t)
	if !reflect.DeepEqual(s.slab(), onSoil(0.15, 6)) || s.Initial != 5 || s.Hours != 72 || s.Every != 300 || r.Hours != 72 || r.Every != 300 {
		t.Errorf("not the benchmarks': %+v, %+v", s, r)
	}
	if got := r.room(t); !reflect.DeepEqual(got, room) {
		t.Errorf("room %+v, want %+v", got, room)
	}
	same := func(a, b climate.Trace) bool {
		return slices.EqualFunc(a, b, func(a, b climate.Sample) bool { return a.At == b.At && math.Abs(float64(a.Temp.Sub(b.Temp))) < 1e-9 })
	}
	got := cases.Weathers[r.Weather].weather()
	if !same(cases.Weathers[s.Air].trace(), night()) || !same(got.Temps(), weather.Temps()) || got[5].RH != weather[5].RH {
		t.Error("the air is not that of the benchmarks")
	}
}
