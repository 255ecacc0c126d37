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

func TestWeatherRefusals(t *testing.T) {
	c := units.Celsius
	for name, w := range map[string]climate.Weather{
		"empty":            nil,
		"zero temperature": {{RH: 0.5}},
		"NaN":              {{Temp: units.NaNTemperature(), RH: 0.5}},
		"61 °C":            {{Temp: c(61), RH: 0.5}},
		"-41 °C":           {{Temp: c(-41), RH: 0.5}},
		"no humidity":      {{Temp: c(10)}},
		"humidity NaN":     {{Temp: c(10), RH: units.Fraction(math.NaN())}},
		"Percent missed":   {{Temp: c(10), RH: 75}},
		"twice":            {{Temp: c(1), RH: 0.5}, {Temp: c(2), RH: 0.5}},
		"backwards":        {{At: 2, Temp: c(1), RH: 0.5}, {At: 1, Temp: c(2), RH: 0.5}},
		"out of time":      {{At: math.MaxInt64, Temp: c(1), RH: 0.5}},
		"out of time too":  {{At: math.MinInt64, Temp: c(1), RH: 0.5}},
	} {
		if err := w.Validate(); !errors.Is(err, units.ErrRange) {
			t.Errorf("%s: %v; want a range error", name, err)
		}
		r := shop(t)
		if _, err := r.Forecast(w, time.Hour, time.Minute); !errors.Is(err, units.ErrRange) {
			t.Errorf("%s: the room takes it: %v", name, err)
		}
	}
	if a, err := (climate.Weather{}).At(0); !errors.Is(err, units.ErrRange) || !a.Temp.IsNaN() || !math.IsNaN(float64(a.RH)) {
		t.Errorf("empty: %v, %v", a, err)
	}
}

// Half way between 0 °C 100 % and 20 °C 50 %: 10 °C and the mean of 611.2 Pa and
// 1169.6 Pa over 1228.1 Pa, 72.5 % (saturation pressures by IAPWS, by hand; the
// mean of the humidities would be 75 %). Between two saturated readings it is
// fog, 100 %.
func TestWeatherBetween(t *testing.T) {
	w := climate.Weather{{Temp: units.Celsius(0), RH: 1}, {At: 2 * time.Hour, Temp: units.Celsius(20), RH: 0.5}}
	a, err := w.At(time.Hour)
	if want := (611.21 + 2339.19/2) / 2 / 1228.11; err != nil || math.Abs(a.Temp.Celsius()-10) > 1e-9 || math.Abs(float64(a.RH)-want) > 5e-4 { // 0.05 %: Hyland-Wexler against IAPWS
		t.Errorf("%v, %v; want 10 °C, %.4f", a, err, want)
	}
	w[1].RH = 1
	if a, err = w.At(time.Hour); err != nil || a.RH != 1 {
		t.Errorf("%v, %v; want fog", a, err)
	}
	if tr := w.Temps(); len(tr) != 2 || tr[1] != (climate.Sample{At: 2 * time.Hour, Temp: units.Celsius(20)}) {
		t.Errorf("%v", tr)
	}
}

func TestWeatherProperties(t *testing.T) { // valid readings give valid air, through the readings, held past the ends
	rapid.Check(t, func(t *rapid.T) {
		var w climate.Weather
		at := time.Duration(rapid.Int64Range(-1<<61, 1<<60).Draw(t, "first"))
		for range rapid.IntRange(1, 6).Draw(t, "n") {
			w = append(w, climate.Reading{At: at, Temp: units.Celsius(rapid.Float64Range(-40, 60).Draw(t, "c")), RH: units.Fraction(rapid.Float64Range(0.01, 1).Draw(t, "rh"))})
			at += time.Duration(rapid.Int64Range(1, 1<<57).Draw(t, "gap"))
		}
		if err := errors.Join(w.Validate(), w.Temps().Validate()); err != nil {
			t.Fatal(err)
		}
		for i, r := range w {
			a, err := w.At(r.At)
			if err != nil || a.Temp != r.Temp || math.Abs(float64(a.RH-r.RH)) > 1e-12 {
				t.Fatalf("%v at reading %d, %v", a, i, err)
			}
			if i == 0 {
				continue
			}
			mid, err := w.At(time.Duration(rapid.Int64Range(int64(w[i-1].At), int64(r.At)).Draw(t, "between")))
			if err != nil {
				t.Fatal(err)
			}
			e, err := mid.VapourPressure()
			e0, err0 := climate.Air{Temp: w[i-1].Temp, RH: w[i-1].RH}.VapourPressure()
			e1, err1 := climate.Air{Temp: r.Temp, RH: r.RH}.VapourPressure()
			if err := errors.Join(err, err0, err1); err != nil || e > max(e0, e1)*(1+1e-9) || mid.RH < 1 && e < min(e0, e1)*(1-1e-9) {
				t.Fatalf("%v between %v and %v: %v", e, e0, e1, err)
			}
		}
		first, _ := w.At(math.MinInt64)
		last, _ := w.At(math.MaxInt64)
		if first.Temp != w[0].Temp || last.RH != w[len(w)-1].RH {
			t.Fatalf("past the ends %v and %v", first, last)
		}
	})
}

// Weather that begins late or ends early is held, in a room too: one reading at
// any time is the same weather.
func TestWeatherHeld(t *testing.T) {
	r := shop(t)
	var want *climate.RoomForecast
	for _, at := range []time.Duration{0, -1000 * time.Hour, 3 * time.Hour, 1000 * time.Hour} {
		f, err := r.Forecast(climate.Weather{{At: at, Temp: units.Celsius(-5), RH: 0.8}}, 6*time.Hour, time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		if want == nil {
			want = f
		}
		for i := range f.States { // a reading ends a step, which is all that differs
			if d := float64(f.States[i].DewPoint.Sub(want.States[i].DewPoint)); math.Abs(d) > 1e-3 || math.Abs(float64(f.States[i].Air.Sub(want.States[i].Air))) > 1e-3 {
				t.Errorf("reading at %v: %v off at %v", at, d, f.States[i].At)
			}
		}
	}
}

func BenchmarkWeatherAt(b *testing.B) { // 0 allocs/op
	b.ReportAllocs()
	w := climate.Weather{{Temp: units.Celsius(0), RH: 1}, {At: 2 * time.Hour, Temp: units.Celsius(20), RH: 0.5}}
	for b.Loop() {
		if _, err := w.At(time.Hour); err != nil {
			b.Fatal(err)
		}
	}
}
