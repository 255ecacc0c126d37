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

var concrete = climate.Layer{Thickness: 0.1, Conductivity: 1.4, Density: 2300, HeatCapacity: 880}
var soil = climate.Layer{Thickness: 6, Conductivity: 1.2, Density: 1600, HeatCapacity: 1250}

// The concrete rows of conduction.csv: slabs on insulation (exact series), on
// soil (exact Laplace solution, here with 6 m of soil: what lies deeper is not
// felt in a week) and half spaces, at the surface and below, to the rows' own
// tolerance of 0.01 K (0.005 K for half spaces, with half of it as Accuracy).
func TestSlabTable(t *testing.T) {
	n := 0
	for _, r := range rows(t, "conduction.csv") {
		s := climate.Slab{Layers: []climate.Layer{concrete}, Film: units.FilmCoefficient(number(r, "h"))}
		switch r["kind"] {
		case "slab_concrete":
			s.Layers[0].Thickness = units.Length(number(r, "L"))
		case "slab_on_soil_1D":
			s.Layers[0].Thickness = units.Length(number(r, "L"))
			s.Layers = append(s.Layers, soil)
		case "semi_infinite_concrete":
			s.Layers[0].Thickness = 3
			s.Accuracy = 0.0025
		default:
			continue
		}
		n++
		ti, air := units.Celsius(number(r, "Ti")), climate.Trace{{At: 0, Temp: units.Celsius(number(r, "Tf_or_Ts"))}}
		at, x := time.Duration(number(r, "t")*1e9), units.Length(number(r, "x"))
		want, tol := number(r, "recomputed"), number(r, "tol_abs")
		p, err := s.Profile(ti, air, at, x)
		if err != nil || math.Abs(p[0].Temp.Celsius()-want) > tol {
			t.Errorf("%s: %v, %v; want %v ± %v (%s)", r["id"], p, err, want, tol, r["source"])
		}
		if x == 0 {
			f, err := s.Forecast(ti, air, at, 5*time.Minute)
			if err != nil || f[len(f)-1].At != at || math.Abs(f[len(f)-1].Temp.Celsius()-want) > tol {
				t.Errorf("%s: forecast %v, %v; want %v ± %v", r["id"], f[len(f)-1], err, want, tol)
			}
		}
	}
	if n != 41+16+35 {
		t.Errorf("%d rows, want 92", n)
	}
}

// night is an air trace of hourly samples with a jump at 20 h.
func night() climate.Trace {
	var t climate.Trace
	for h := range 73 {
		c := 12 + 8*math.Sin(2*math.Pi*(float64(h)-9)/24)
		if h == 20 {
			t = append(t, climate.Sample{At: 20*time.Hour - time.Second, Temp: units.Celsius(c)})
		}
		if h >= 20 && h < 40 {
			c -= 10
		}
		t = append(t, climate.Sample{At: time.Duration(h) * time.Hour, Temp: units.Celsius(c)})
	}
	return t
}

func onSoil(in units.Length, h units.FilmCoefficient) climate.Slab {
	c := concrete
	c.Thickness = in
	return climate.Slab{Layers: []climate.Layer{c, soil}, Film: h, Deep: units.Celsius(10)}
}

// The doc comment's accuracy, against a run with a hundredth of the error
// allowed: steps of the air, swings, ramps; thin and thick, still air and wind.
func TestSlabAccuracy(t *testing.T) {
	worst := 0.0
	for _, h := range []units.FilmCoefficient{1, 6, 10, 25} {
		for _, in := range []units.Length{0.05, 0.15, 0.4} {
			for name, air := range map[string]climate.Trace{"night": night(), "step": {{At: 0, Temp: units.Celsius(35)}}, "late step": {{At: 5 * time.Hour, Temp: units.Celsius(0)}, {At: 5*time.Hour + time.Second, Temp: units.Celsius(25)}},
				"ramp": {{At: 0, Temp: units.Celsius(0)}, {At: time.Hour, Temp: units.Celsius(0)}, {At: 2 * time.Hour, Temp: units.Celsius(20)}}} {
				s := onSoil(in, h)
				got, err := s.Forecast(units.Celsius(5), air, 72*time.Hour, 5*time.Minute)
				s.Accuracy = 1e-4
				ref, err2 := s.Forecast(units.Celsius(5), air, 72*time.Hour, 5*time.Minute)
				if err != nil || err2 != nil {
					t.Fatal(err, err2)
				}
				off, at := 0.0, 0
				for i := range got {
					if d := math.Abs(float64(got[i].Temp.Sub(ref[i].Temp))); d > off {
						off, at = d, i
					}
				}
				if off > 0.01 {
					t.Errorf("film %v, %v, %s: %.4f K off at %v", h, in, name, off, got[at].At)
				}
				worst = max(worst, off)
			}
		}
	}
	if worst < 1e-5 {
		t.Errorf("worst %v K: the two runs do not differ", worst)
	}
}

// A slab under one temperature stays; a steady profile stays steady; a profile
// taken half way goes on as if it had not been taken.
func TestSlabRests(t *testing.T) {
	s := onSoil(0.15, 6)
	same, err := s.Forecast(units.Celsius(10), climate.Trace{{Temp: units.Celsius(10)}}, 100*time.Hour, time.Hour)
	if err != nil || math.Abs(same[100].Temp.Celsius()-10) > 1e-9 {
		t.Errorf("%v, %v; want 10 °C", same[100], err)
	}
	p, err := s.Steady(units.Celsius(16))
	if err != nil {
		t.Fatal(err)
	}
	// flow down 6 K/(0.15/1.4 + 6/1.2) = 1.1748 W/m2, so air of 16 + 1.1748/6 °C; by hand
	flow := 6 / (0.15/1.4 + 6/1.2)
	air := climate.Trace{{Temp: units.Celsius(16 + flow/6)}}
	f, err := s.ForecastFrom(p, air, 1000*time.Hour, 10*time.Hour)
	if err != nil || math.Abs(f[100].Temp.Celsius()-16) > 1e-6 {
		t.Errorf("after 1000 h %v, %v; want 16 °C", f[100], err)
	}
	mid, err := s.Profile(units.Celsius(5), night(), 30*time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	var rest climate.Trace
	for _, a := range night() {
		rest = append(rest, climate.Sample{At: a.At - 30*time.Hour, Temp: a.Temp})
	}
	whole, err1 := s.Forecast(units.Celsius(5), night(), 72*time.Hour, time.Hour)
	second, err2 := s.ForecastFrom(mid, rest, 42*time.Hour, time.Hour)
	if err1 != nil || err2 != nil {
		t.Fatal(err1, err2)
	}
	for i := range second {
		if d := math.Abs(float64(second[i].Temp.Sub(whole[30+i].Temp))); d > 0.01 {
			t.Errorf("%v after: %v K off", second[i].At, d)
		}
	}
}

// drawSlab draws a slab and an air trace that no floor has.
func drawSlab(t *rapid.T) (climate.Slab, units.Temperature, climate.Trace) {
	log := func(name string, lo, hi float64) float64 {
		return math.Pow(10, rapid.Float64Range(lo, hi).Draw(t, name))
	}
	var s climate.Slab
	for range rapid.IntRange(1, 5).Draw(t, "layers") {
		s.Layers = append(s.Layers, climate.Layer{Thickness: units.Length(log("log thickness", -4, 2)), Conductivity: units.Conductivity(log("log k", -2, 2.6)),
			Density: units.Density(log("log rho", 0, 4.39)), HeatCapacity: units.SpecificHeat(log("log c", 2, 4))})
	}
	s.Film = units.FilmCoefficient(log("log h", -1, 5))
	c := rapid.Float64Range(-60, 100)
	if rapid.Bool().Draw(t, "deep?") {
		s.Deep = units.Celsius(c.Draw(t, "deep"))
	}
	var air climate.Trace
	at := time.Duration(rapid.Int64Range(-1e15, 1e14).Draw(t, "first"))
	for range rapid.IntRange(1, 6).Draw(t, "samples") {
		air = append(air, climate.Sample{At: at, Temp: units.Celsius(c.Draw(t, "air"))})
		at += time.Duration(log("log gap", 0, 14))
	}
	return s, units.Celsius(c.Draw(t, "initial")), air
}

func TestSlabProperties(t *testing.T) { // between the extremes of its drivers, whatever the slab
	rapid.Check(t, func(t *rapid.T) {
		s, initial, air := drawSlab(t)
		span := time.Duration(math.Pow(10, rapid.Float64Range(9, 14.5).Draw(t, "log span")))
		f, err := s.Forecast(initial, air, span, max(time.Second, span/20))
		if err != nil {
			t.Fatal(err)
		}
		lo, hi := initial.Kelvin(), initial.Kelvin()
		for _, a := range air {
			lo, hi = min(lo, a.Temp.Kelvin()), max(hi, a.Temp.Kelvin())
		}
		if s.Deep != (units.Temperature{}) {
			lo, hi = min(lo, s.Deep.Kelvin()), max(hi, s.Deep.Kelvin())
		}
		for i, x := range f {
			if k := x.Temp.Kelvin(); !(k >= lo-1e-9 && k <= hi+1e-9) {
				t.Fatalf("%v at %v, outside %v to %v", x.Temp, x.At, lo, hi)
			}
			if i > 0 && x.At <= f[i-1].At {
				t.Fatalf("time %v after %v", x.At, f[i-1].At)
			}
		}
		if f[len(f)-1].At != span || f.Validate() != nil {
			t.Fatalf("ends at %v, %v; want %v", f[len(f)-1].At, f.Validate(), span)
		}
	})
}

func TestSlabRefusals(t *testing.T) {
	good, air := onSoil(0.15, 6), night()
	c5 := units.Celsius(5)
	none, thin, hot := good, good, good
	none.Layers = nil
	thin.Layers = []climate.Layer{{}}
	hot.Deep = units.Celsius(200)
	film := good
	film.Film = units.FilmCoefficient(math.NaN())
	for name, err := range map[string]error{
		"no layers":    second(none.Forecast(c5, air, time.Hour, time.Minute)),
		"empty layer":  second(thin.Forecast(c5, air, time.Hour, time.Minute)),
		"deep":         second(hot.Forecast(c5, air, time.Hour, time.Minute)),
		"film NaN":     second(film.Forecast(c5, air, time.Hour, time.Minute)),
		"zero initial": second(good.Forecast(units.Temperature{}, air, time.Hour, time.Minute)),
		"no span":      second(good.Forecast(c5, air, 0, time.Minute)),
		"no step":      second(good.Forecast(c5, air, time.Hour, 0)),
		"fine step":    second(good.Forecast(c5, air, 40*365*24*time.Hour, time.Second)),
		"too deep":     second(good.Profile(c5, air, time.Hour, 7)),
		"no profile":   second(good.ForecastFrom(nil, air, time.Hour, time.Minute)),
		"falling":      second(good.ForecastFrom(climate.Profile{{1, c5}, {0.5, c5}}, air, time.Hour, time.Minute)),
	} {
		if !errors.Is(err, units.ErrRange) {
			t.Errorf("%s: %v; want a range error", name, err)
		}
	}
	if _, err := good.Forecast(c5, nil, time.Hour, time.Minute); err == nil {
		t.Error("no air: want an error")
	}
}

func BenchmarkSlabForecast(b *testing.B) { // 72 h in steps of 5 min: at most 0.6 ms, 1 allocation
	b.ReportAllocs()
	s, air := onSoil(0.15, 6), night()
	for b.Loop() {
		if _, err := s.Forecast(units.Celsius(5), air, 72*time.Hour, 5*time.Minute); err != nil {
			b.Fatal(err)
		}
	}
}

// A slab followed to a moment and from its profile there on fares as in one run.
// Source: the run itself; the error of both is the slab's Accuracy.
func TestProfileFrom(t *testing.T) {
	s := climate.Slab{Film: 9, Deep: units.Celsius(8), Layers: []climate.Layer{{Thickness: 0.15, Conductivity: 1.4, Density: 2300, HeatCapacity: 880}, {Thickness: 2, Conductivity: 2, Density: 2000, HeatCapacity: 1000}}}
	air := climate.Trace{{At: 0, Temp: units.Celsius(18)}, {At: 30 * time.Hour, Temp: units.Celsius(18)}, {At: 40 * time.Hour, Temp: units.Celsius(0)}}
	steady, err := s.Steady(units.Celsius(5))
	if err != nil {
		t.Fatal(err)
	}
	whole, err := s.ForecastFrom(steady, air, 60*time.Hour, time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	const at = 33 * time.Hour
	there, err := s.ProfileFrom(steady, air, at)
	if err != nil {
		t.Fatal(err)
	}
	later := make(climate.Trace, len(air))
	for i, a := range air {
		later[i] = climate.Sample{At: a.At - at, Temp: a.Temp}
	}
	rest, err := s.ForecastFrom(there, later, 27*time.Hour, time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	for i, x := range rest {
		if d := math.Abs(float64(x.Temp.Sub(whole[33+i].Temp))); d > 0.02 {
			t.Errorf("%v after %v: %.3f K off one run", x.At, at, d)
		}
	}
	if same, err := s.ProfileFrom(steady, air, 0); err != nil || math.Abs(float64(same[0].Temp.Sub(units.Celsius(5)))) > 1e-9 {
		t.Errorf("at 0: %v, %v", same, err)
	}
	if _, err := s.ProfileFrom(nil, air, at); err == nil {
		t.Error("no profile, no error")
	}
	if _, err := s.ProfileFrom(steady, air, -time.Hour); err == nil {
		t.Error("before 0, no error")
	}
}
