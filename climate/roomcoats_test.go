package climate_test

import (
	"errors"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// copper is a floor of one temperature, insulated below, that follows the air in
// minutes.
func copper(film units.FilmCoefficient) climate.Slab {
	return climate.Slab{Layers: []climate.Layer{{Thickness: 0.01, Conductivity: 400, Density: 8900, HeatCapacity: 385}}, Film: film}
}

// A slab that gives off E into a space with air changes n: the air's humidity
// goes to Wo + E/(M n) as 1 - exp(-n t), and the surface lies latent E/(A h) below
// the air. Source: the balances of [climate.Room.Forecast], solved by hand.
func TestEmissionByHand(t *testing.T) {
	const flux, area, n, film = 2e-7, 100.0, 0.5, 8.0
	c := units.Celsius(15)
	w0, err := climate.Air{Temp: c, RH: 0.5}.HumidityRatio()
	if err != nil {
		t.Fatal(err)
	}
	r := climate.Room{Volume: 400, Floor: area, Envelope: 1e6, AirChanges: n * units.PerHour, Air: c, RH: 0.5, Slab: copper(film),
		Emissions: []climate.Emission{{From: time.Hour, To: 30 * time.Hour, Area: 0.75 * area, Flux: flux}}}
	f, err := r.Forecast(climate.Weather{{Temp: c, RH: 0.5}}, 60*time.Hour, time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	mass := 101325 / (287.042 * 288.15) * 400
	most := flux * 0.75 * area / (mass * n / 3600)
	for _, s := range f.States {
		h := s.At.Hours()
		want := float64(w0)
		switch {
		case h > 30:
			want += most * (1 - math.Exp(-n*29)) * math.Exp(-n*(h-30))
		case h > 1:
			want += most * (1 - math.Exp(-n*(h-1)))
		}
		got, err := climate.Air{Temp: s.Air, RH: s.RH}.HumidityRatio()
		if err != nil || math.Abs(float64(got)-want) > 3e-4*most {
			t.Errorf("%v: %.7f kg/kg, %v; want %.7f", s.At, got, err, want)
		}
		if h > 10 && h < 30 {
			if d, want := float64(s.Air.Sub(s.Surface)), 2.45e6*flux*0.75/film; math.Abs(d/want-1) > 1e-3 {
				t.Errorf("%v: the surface is %.5f K below the air, want %.5f", s.At, d, want)
			}
		}
	}
	if got, want := float64(f.Balance.Emitted), flux*0.75*area*29*3600; math.Abs(got/want-1) > 1e-9 {
		t.Errorf("emitted %v kg, want %v", got, want)
	}
	if got, want := float64(f.Balance.Evaporation), 2.45e6*flux*0.75*area*29*3600; math.Abs(got/want-1) > 1e-9 {
		t.Errorf("evaporation %v J, want %v", got, want)
	}
}

// A coat that is covered gives off no more: what it gave by then and what it keeps
// are its water. Common practice, no source; the balance is by definition.
func TestCoveredCoat(t *testing.T) {
	c := units.Celsius(18)
	r := climate.Room{Volume: 400, Floor: 100, Envelope: 300, AirChanges: units.PerHour, Air: c, RH: 0.5, Slab: onSoil(0.15, 8)}
	w := climate.Weather{{Temp: units.Celsius(12), RH: 0.6}}
	coat := climate.WetCoat{At: 2 * time.Hour, Area: 100, Drying: climate.Drying{Water: 0.12, Convection: 3}}
	last := math.Inf(1)
	for _, covered := range []time.Duration{2 * time.Hour, 3 * time.Hour, 5 * time.Hour, 0} {
		coat.Covered = covered
		r.Coats = []climate.WetCoat{coat}
		f, err := r.Forecast(w, 72*time.Hour, 15*time.Minute)
		if err != nil {
			t.Fatal(err)
		}
		x := f.Coats[0]
		if off := float64(x.Given) + 100*float64(x.Left) - 12; math.Abs(off) > 1e-9 || math.Abs(float64(x.Given-f.Balance.Dried)) > 1e-9 {
			t.Errorf("covered at %v: %+v of 12 kg, %v dried", covered, x, f.Balance.Dried)
		}
		if !(float64(x.Left) < last) || covered == 2*time.Hour && x.Given != 0 {
			t.Errorf("covered at %v: %v left, of the one covered earlier %v", covered, x.Left, last)
		}
		last = float64(x.Left)
		if e, ok := f.First(climate.CoatDry); ok != x.IsDry || ok && e.At != x.Dry || ok != (covered == 0) {
			t.Errorf("covered at %v: %+v, event %v", covered, x, e)
		}
		for _, s := range f.States {
			if covered != 0 && s.At > covered+5*time.Minute && s.Evaporation != 0 {
				t.Fatalf("covered at %v: %v evaporates at %v", covered, s.Evaporation, s.At)
			}
		}
	}
}

// More water never makes the air drier while it dries: a coat that holds more, and
// a slab that gives off more. To 0.02 K of the dew point, a fifth of what the
// forecast is good for where humidity jumps. Source: the balances; what
// evaporates rises with what is there. (After a slab that gave off more was closed
// it is colder, and a coat on it dries more slowly: not the property's case.)
func TestMoreWaterIsNoDrier(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		area := units.Area(f("floor", 20, 300))
		r := climate.Room{Volume: area.Times(units.Length(f("height", 2.5, 6))), Floor: area, Envelope: units.Conductance(f("ua", 50, 800)), AirChanges: units.Rate(f("n", 0.2, 4)) * units.PerHour,
			Air: units.Celsius(f("air", 8, 24)), RH: units.Fraction(f("rh", 0.2, 0.8)), Surface: units.Celsius(f("surface", 6, 22)), Slab: onSoil(0.15, units.FilmCoefficient(f("film", 5, 12)))}
		w := climate.Weather{{Temp: units.Celsius(f("out 1", -10, 20)), RH: 0.8}, {At: 36 * time.Hour, Temp: units.Celsius(f("out 2", -10, 20)), RH: 0.6}}
		if rapid.Bool().Draw(t, "heated?") {
			r.Thermostat, r.Heaters = []climate.Setting{{Temp: units.Celsius(f("set", 10, 22))}}, []climate.Heater{{Max: units.Power(f("power", 1e3, 5e4))}}
		}
		coat := climate.WetCoat{At: 3 * time.Hour, Area: area, Drying: climate.Drying{Water: units.Loading(f("water", 0.01, 0.2)), Convection: units.FilmCoefficient(f("hc", 0.5, 6))}}
		emission := climate.Emission{To: 48 * time.Hour, Area: area, Flux: units.MassFlux(f("flux", 0, 5e-7))}
		r.Coats, r.Emissions = []climate.WetCoat{coat}, []climate.Emission{emission}
		less, err := r.Forecast(w, 48*time.Hour, 15*time.Minute)
		if err != nil {
			t.Fatal(err)
		}
		coat.Water *= units.Loading(f("more", 1, 3))
		emission.Flux *= units.MassFlux(f("more from the slab", 1, 3))
		r.Coats, r.Emissions = []climate.WetCoat{coat}, []climate.Emission{emission}
		more, err := r.Forecast(w, 48*time.Hour, 15*time.Minute)
		if err != nil {
			t.Fatal(err)
		}
		until := 48 * time.Hour
		if x := more.Coats[0]; x.IsDry {
			until = x.Dry
		}
		for i, s := range less.States {
			if s.At <= until && float64(more.States[i].DewPoint.Sub(s.DewPoint)) < -0.02 {
				t.Fatalf("at %v with more water the dew point is %v, with less %v", s.At, more.States[i].DewPoint, s.DewPoint)
			}
		}
		if a, b := more.Balance.Dried+more.Balance.Emitted, less.Balance.Dried+less.Balance.Emitted; a < b*(1-1e-3) {
			t.Fatalf("%v given off of more, %v of less", a, b)
		}
	})
}

// Bad emissions and covers are told. Common practice, no source.
func TestEmissionRefusals(t *testing.T) {
	good := climate.Room{Volume: 300, Floor: 100, Envelope: 100, Air: units.Celsius(15), RH: 0.5, Slab: onSoil(0.15, 6)}
	w := climate.Weather{{Temp: units.Celsius(10), RH: 0.5}}
	coat := climate.Drying{Water: 0.1, Convection: 3}
	for name, change := range map[string]func(*climate.Room){
		"ends first": func(r *climate.Room) { r.Emissions = []climate.Emission{{From: 2, To: 1, Area: 1, Flux: 1e-7}} },
		"too much":   func(r *climate.Room) { r.Emissions = []climate.Emission{{To: 1, Area: 1, Flux: 2e-5}} },
		"negative":   func(r *climate.Room) { r.Emissions = []climate.Emission{{To: 1, Area: 1, Flux: -1e-7}} },
		"NaN": func(r *climate.Room) {
			r.Emissions = []climate.Emission{{To: 1, Area: units.Area(math.NaN()), Flux: 1e-7}}
		},
		"too large":      func(r *climate.Room) { r.Emissions = []climate.Emission{{To: 1, Area: 101, Flux: 1e-7}} },
		"gone beyond":    func(r *climate.Room) { r.Coats = []climate.WetCoat{{At: -5, Gone: 1.1, Area: 1, Drying: coat}} },
		"gone before":    func(r *climate.Room) { r.Coats = []climate.WetCoat{{At: 5, Gone: 0.1, Area: 1, Drying: coat}} },
		"covered first":  func(r *climate.Room) { r.Coats = []climate.WetCoat{{At: 5, Covered: 4, Area: 1, Drying: coat}} },
		"too many":       func(r *climate.Room) { r.Emissions = make([]climate.Emission, 1001) },
		"too many coats": func(r *climate.Room) { r.Coats = make([]climate.WetCoat, 1001) },
	} {
		r := good
		change(&r)
		if _, err := r.Forecast(w, time.Hour, time.Hour); !errors.Is(err, units.ErrRange) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
