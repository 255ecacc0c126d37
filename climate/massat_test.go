package climate_test

import (
	"math"
	"testing"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// A room that goes on from the end of a forecast, with its air, the profile of its
// slab and the mass of its air, goes on as in one run; with the mass of the warmer air
// it holds less. Source: the forecast in one run; the ideal gas law.
func TestForecastGoesOn(t *testing.T) {
	room := climate.Room{
		Volume: 800, Envelope: 300, AirChanges: 0.5 / 3600, Floor: 200,
		Slab: climate.Slab{Layers: []climate.Layer{{Thickness: 150 * units.Millimetre, Conductivity: 1.7, Density: 2300, HeatCapacity: 900}}, Film: 9, Deep: units.Celsius(9)},
		Air:  units.Celsius(6), RH: 0.7, Surface: units.Celsius(7),
		Thermostat: []climate.Setting{{Temp: units.Celsius(18)}},
		Heaters:    []climate.Heater{{Max: 40e3}},
		Coats:      []climate.WetCoat{{At: 30 * time.Hour, Area: 200, Drying: climate.Drying{Water: 0.08, Convection: 4}}},
	}
	out := climate.Weather{{At: 0, Temp: units.Celsius(2), RH: 0.8}, {At: 100 * time.Hour, Temp: units.Celsius(2), RH: 0.8}}
	const part, span, step = 24 * time.Hour, 60 * time.Hour, 15 * time.Minute
	whole, err := room.Forecast(out, span, step)
	if err != nil {
		t.Fatal(err)
	}
	first, err := room.Forecast(out, part, step)
	if err != nil {
		t.Fatal(err)
	}
	end := first.States[len(first.States)-1]
	next := room
	next.MassAt, next.Air, next.RH, next.Profile = room.Air, end.Air, end.RH, first.Profile
	next.Coats = []climate.WetCoat{room.Coats[0]}
	next.Coats[0].At -= part
	goesOn := func(r climate.Room) (surface, dew float64) {
		f, err := r.Forecast(out, span-part, step) // the weather stays as it is
		if err != nil {
			t.Fatal(err)
		}
		for i, x := range f.States {
			y := whole.States[i+int(part/step)]
			surface, dew = max(surface, math.Abs(float64(x.Surface.Sub(y.Surface)))), max(dew, math.Abs(float64(x.DewPoint.Sub(y.DewPoint))))
		}
		return surface, dew
	}
	if surface, dew := goesOn(next); surface > 1e-3 || dew > 1e-3 {
		t.Errorf("surface %.5f K, dew point %.5f K off the forecast in one run", surface, dew)
	}
	next.MassAt = units.Temperature{} // 12 K warmer: 4 % less air
	if _, dew := goesOn(next); dew < 0.05 {
		t.Errorf("with less air the dew point moves by %.3f K only", dew)
	}
	next.MassAt = units.Celsius(99)
	if _, err := next.Forecast(out, span, step); err == nil {
		t.Error("air at 99 °C passed")
	}
}
