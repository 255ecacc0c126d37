package climate_test

import (
	"math"
	"testing"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// Floors that are no ground slab: a steel plate, a board on insulation, an underside
// held at another temperature than the floor starts at, under air that jumps at 0
// and then stays or goes straight to its last sample.
//
// Source: the exact solution by the layers' transfer matrices (Carslaw and Jaeger
// 1959, 3.7 and 12.8), inverted from Laplace space by mpmath 1.2.1 (Talbot, 60 digits).
// Tolerance: the doc comment's.
func TestSlabLaplace(t *testing.T) {
	c := units.Celsius
	s := func(v float64) time.Duration { return time.Duration(v * 1e9) }
	at := [5]time.Duration{15 * time.Minute, time.Hour, 4 * time.Hour, 12 * time.Hour, 48 * time.Hour}
	for i, tc := range []struct {
		slab    climate.Slab
		initial units.Temperature
		air     climate.Trace
		want    [5]float64 // surface in °C at each of at
	}{
		{climate.Slab{Layers: []climate.Layer{{0.002, 1.2, 1600, 1250}, {0.1, 0.035, 30, 1400}, {0.3, 50, 7800, 460}}, Film: 25, Deep: units.Temperature{}}, c(13.6938535), climate.Trace{{At: 0, Temp: c(-7.4734032)}},
			[5]float64{-6.601424, -7.137804, -7.182443, -7.185118, -7.196824}},
		{climate.Slab{Layers: []climate.Layer{{0.002, 1.95, 2240, 900}}, Film: 5.88, Deep: units.Temperature{}}, c(-3.43032223), climate.Trace{{At: 0, Temp: c(18.3559657)}, {At: s(42330.9354), Temp: c(6.79165604)}},
			[5]float64{12.379511, 17.443521, 14.609385, 6.844536, 6.791656}},
		{climate.Slab{Layers: []climate.Layer{{0.1, 0.035, 30, 1400}, {0.05, 50, 7800, 460}, {0.02, 1.4, 2300, 880}}, Film: 1, Deep: c(7.84473672)}, c(21.9995121), climate.Trace{{At: 0, Temp: c(29.0943409)}},
			[5]float64{25.575160, 25.849563, 23.712470, 23.606936, 23.606931}},
		{climate.Slab{Layers: []climate.Layer{{0.1, 50, 7800, 460}}, Film: 5.88, Deep: c(14.559265)}, c(24.9947171), climate.Trace{{At: 0, Temp: c(10.7284975)}},
			[5]float64{15.099497, 14.514789, 14.514739, 14.514739, 14.514739}},
		{climate.Slab{Layers: []climate.Layer{{0.15, 1.4, 2300, 880}, {0.15, 50, 7800, 460}}, Film: 8, Deep: c(10.2803133)}, c(22.1665258), climate.Trace{{At: 0, Temp: c(9.10433777)}, {At: s(20269.6476), Temp: c(28.9267229)}},
			[5]float64{20.390788, 19.129388, 16.765385, 18.940589, 19.014446}},
		{climate.Slab{Layers: []climate.Layer{{0.05, 0.2, 1200, 1500}, {1, 1.4, 2300, 880}}, Film: 1, Deep: c(8.68150748)}, c(19.6612614), climate.Trace{{At: 0, Temp: c(20.7575212)}},
			[5]float64{19.720470, 19.774757, 19.863158, 19.933531, 19.539122}},
		{climate.Slab{Layers: []climate.Layer{{0.1, 1.95, 2240, 900}}, Film: 25, Deep: c(5.1642033)}, c(11.4584042), climate.Trace{{At: 0, Temp: c(26.8330011)}},
			[5]float64{16.142417, 17.101521, 17.335491, 17.337685, 17.337685}},
		{climate.Slab{Layers: []climate.Layer{{0.002, 50, 7800, 460}, {0.05, 0.035, 30, 1400}, {0.3, 0.2, 1200, 1500}}, Film: 8, Deep: c(12.5112985)}, c(-0.712456207), climate.Trace{{At: 0, Temp: c(19.0390248)}, {At: s(11628.942), Temp: c(4.65577808)}},
			[5]float64{10.401345, 14.044828, 4.370286, 4.330068, 4.586948}},
	} {
		for _, accuracy := range []units.TempDelta{0, 0.003} {
			tc.slab.Accuracy = accuracy
			f, err := tc.slab.Forecast(tc.initial, tc.air, 48*time.Hour, 15*time.Minute)
			if err != nil {
				t.Fatal(err)
			}
			allowed := accuracy
			if allowed == 0 {
				allowed = 0.01
			}
			for j, want := range tc.want {
				got, err := f.At(at[j])
				if err != nil || math.Abs(got.Celsius()-want) > float64(allowed) {
					t.Errorf("%d, accuracy %v: at %v %.4f °C, %v; want %.4f", i, accuracy, at[j], got.Celsius(), err, want)
				}
			}
		}
	}
}

// A layer on insulation after a jump of the air, from a sheet to a thick slab, at
// all times of a day. Source: [climate.Layer.WallFilm], Incropera eq. 5.42 with all terms.
func TestSlabThin(t *testing.T) {
	from, to := units.Celsius(5), units.Celsius(35)
	for _, accuracy := range []units.TempDelta{0, 0.001} {
		for _, film := range []units.FilmCoefficient{1, 6, 10, 25, 100} {
			for _, in := range []units.Length{0.002, 0.01, 0.02, 0.05, 0.15} {
				for _, l := range []climate.Layer{concrete, {0, 50, 7800, 460}, {0, 0.2, 1200, 1500}} {
					l.Thickness = in
					f, err := climate.Slab{Layers: []climate.Layer{l}, Film: film, Accuracy: accuracy}.Forecast(from, climate.Trace{{Temp: to}}, 24*time.Hour, 5*time.Minute)
					if err != nil {
						t.Fatal(err)
					}
					worst, when := 0.0, time.Duration(0)
					for _, x := range f {
						want, err := l.WallFilm(from, to, film, 0, x.At)
						if err != nil {
							t.Fatal(err)
						}
						if d := math.Abs(float64(x.Temp.Sub(want))); d > worst {
							worst, when = d, x.At
						}
					}
					allowed := float64(accuracy)
					if allowed == 0 {
						allowed = 0.01
					}
					if worst > allowed {
						t.Errorf("film %v, %v of %v, accuracy %v: %.4f K off at %v", film, in, l.Conductivity, accuracy, worst, when)
					}
				}
			}
		}
	}
}
