package climate_test

import (
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// A forecast that takes from another one what both have in common is the one from
// the start, to the last digit: states, events, balance, coats and profile. Source:
// none needed, the definition of [climate.RoomForecast.With].
func TestForecastWith(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	wet := func() climate.WetCoat {
		c := climate.WetCoat{At: time.Duration(rng.IntN(200)) * time.Hour / 4, Area: 20, Drying: climate.Drying{Water: 0.08, Convection: 3}}
		if rng.IntN(2) == 0 {
			c.Covered = c.At + time.Duration(1+rng.IntN(40))*time.Hour
		}
		return c
	}
	const span, step = 80 * time.Hour, 15 * time.Minute
	for n := range 60 {
		r, w := job(t, rng)
		r.Coats = []climate.WetCoat{wet(), wet()}
		r.Emissions = []climate.Emission{{To: time.Duration(rng.IntN(80)) * time.Hour, Area: 20, Flux: 2e-7}}
		f, err := r.Forecast(w, span, step)
		if err != nil {
			t.Fatal(err)
		}
		other := r
		other.Coats, other.Emissions = slices.Clone(r.Coats), slices.Clone(r.Emissions)
		switch n % 5 {
		case 0:
			other.Coats = append(other.Coats, wet())
		case 1:
			other.Coats = other.Coats[:n/5%2]
		case 2:
			other.Coats[1].Covered = other.Coats[1].At + 7*time.Hour
		case 3:
			other.Emissions[0].To += time.Hour
		case 4:
			other.Coats[0].Water = 0.06
		}
		want, err := other.Forecast(w, span-20*time.Hour, step)
		if err != nil {
			t.Fatal(err)
		}
		got, err := f.With(other.Coats, other.Emissions, span-20*time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(got.States, want.States) || !reflect.DeepEqual(got.Events, want.Events) || got.Balance != want.Balance || !reflect.DeepEqual(got.Coats, want.Coats) || !reflect.DeepEqual(got.Profile, want.Profile) {
			t.Errorf("%d: not as from the start: balance\n%+v, want\n%+v", n, got.Balance, want.Balance)
		}
	}
}

// What would burn from tanks that do not run out is what the room with endless fuel
// burns, to the last digit. Source: none needed, the definition.
func TestWouldBurn(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	dry := 0
	for range 40 {
		r, w := job(t, rng)
		for i := range r.Heaters {
			if r.Heaters[i].Tank > 0 {
				r.Heaters[i].Tank *= units.Mass(rng.Float64())
			}
		}
		f, err := r.Forecast(w, 80*time.Hour, 15*time.Minute)
		if err != nil {
			t.Fatal(err)
		}
		if _, ok := f.First(climate.TankEmpty); ok {
			dry++
		}
		want, err := r.Endless().Forecast(w, 80*time.Hour, 15*time.Minute)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := f.WouldBurn(); err != nil || got != want.Balance.Fuel {
			t.Errorf("%v, %v, want %v", got, err, want.Balance.Fuel)
		}
	}
	if dry < 5 {
		t.Errorf("a tank ran dry in %d of 40 forecasts, want some", dry)
	}
	var none climate.RoomForecast
	if _, err := none.WouldBurn(); err == nil {
		t.Error("no error of a forecast that no room made")
	}
	if _, err := none.With(nil, nil, time.Hour); err == nil {
		t.Error("no error of a forecast that no room made")
	}
}
