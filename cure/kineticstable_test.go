package cure_test

import (
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
)

// kineticSets are the parameters of testdata/kinetics.csv. K1 to K4, K7 and K8
// are illustrative; K5 and K6 are those of an infusion resin, doi
// 10.1016/j.tca.2015.11.014 Table 5, seen second-hand.
var kineticSets = func() map[string]cure.Kinetics {
	const kJ = units.KilojoulePerMole
	k3 := cure.Kinetics{A1: 1.2e5, Ea1: 60 * kJ, A2: 5e5, Ea2: 55 * kJ, M: 1, N: 2}
	k5 := cure.Kinetics{A1: 35982, Ea1: 54.960 * kJ, A2: 3574.1, Ea2: 44.289 * kJ, M: 0.39845, N: 1.5361}
	k6, k7, k8 := k5, k3, k3
	k6.Glass = cure.Glass{Uncured: units.Celsius(-57), Cured: units.Celsius(91), Lambda: 0.36903}
	k6.Diffusion = cure.FreeVolume{A: 7e18, Ea: 137.3 * kJ, B: 0.009, Expansion: 4.8e-4, AtTg: 0.025}
	k7.Diffusion = cure.ChernPoehlein{C: 30, Critical: -1.55, PerKelvin: 0.008}
	k8.Glass = cure.Glass{Uncured: units.Celsius(-20), Cured: units.Celsius(70), Lambda: 0.4}
	k8.Diffusion = cure.WLF{AtTg: 2e-4, C1: 40.2, C2: 51.6}
	return map[string]cure.Kinetics{
		"K1": {A1: 1e5, Ea1: 55 * kJ, N: 2},
		"K2": {A1: 1.5e5, Ea1: 60 * kJ, A2: 3e5, Ea2: 55 * kJ, M: 1, N: 1},
		"K3": k3,
		"K4": {A1: 1.6e4, Ea1: 55 * kJ, A2: 5e5, Ea2: 55 * kJ, M: 0.8, N: 1.6},
		"K5": k5, "K6": k6, "K7": k7, "K8": k8, "X": k3,
	}
}()

// kineticTrace is the history of testdata/kinetics.csv by its name.
func kineticTrace(name string) climate.Trace {
	points := func(text string) (t climate.Trace) { // "hours:°C ..."
		for _, p := range strings.Fields(text) {
			var at, c float64
			fmt.Sscanf(p, "%g:%g", &at, &c)
			t = append(t, climate.Sample{At: time.Duration(at * float64(h)), Temp: units.Celsius(c)})
		}
		return t
	}
	jump := func(a float64, at time.Duration, b float64) climate.Trace { // within 1 ns
		return climate.Trace{{At: at, Temp: units.Celsius(a)}, {At: at + 1, Temp: units.Celsius(b)}}
	}
	switch name {
	case "diurnal":
		// 18 + 7 sin(2 pi (t - 9 h)/24 h), by chords of 10 s: at most 4.7e-7 K off.
		var t climate.Trace
		for at := time.Duration(0); at <= 72*h; at += 10 * time.Second {
			t = append(t, climate.Sample{At: at, Temp: units.Celsius(18 + 7*math.Sin(2*math.Pi*(at.Hours()-9)/24))})
		}
		return t
	case "ramp10to30":
		return points("0:10 12:30 24:30")
	case "logger":
		return points("0:16 3:21 7:26 11:22 16:14 22:11 24:13 30:20 36:24 48:12")
	case "stepA":
		return jump(25, 8*h, 8)
	case "stepB":
		return jump(8, 16*h, 22)
	}
	c, err := strconv.ParseFloat(strings.TrimPrefix(name, "iso"), 64)
	if err != nil {
		panic(name)
	}
	return climate.Trace{{Temp: units.Celsius(c)}}
}

type kineticRow struct {
	id, set, history, quantity string
	at, want                   float64 // want is NaN if not reached by 72 h
}

func kineticRows(t testing.TB) (rows []kineticRow) {
	f, err := os.Open("testdata/kinetics.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range all[1:] {
		k := kineticRow{id: c[0], set: c[1], history: c[2], quantity: c[3], want: math.NaN()}
		k.at, _ = strconv.ParseFloat(c[4], 64)
		if c[5] != "-" {
			if k.want, err = strconv.ParseFloat(c[5], 64); err != nil {
				t.Fatal(err)
			}
		}
		rows = append(rows, k)
	}
	if len(rows) != 508 {
		t.Fatalf("%d rows: want 508", len(rows))
	}
	return rows
}

// Every conversion and time of the table. Conversions: 2e-9, which is the
// table's last decimal and the accuracy that Convert states. Times: 1e-6 h, as
// TimeTo states, or what 1e-9 of the conversion takes: the table gives its own
// conversions with 9 decimals. The diurnal history adds what its chords are off:
// 1e-7 of either.
func TestKineticsTable(t *testing.T) {
	seen := 0
	for _, r := range kineticRows(t) {
		if r.set == "X" {
			continue // TestExothermTable
		}
		seen++
		k, trace := kineticSets[r.set], kineticTrace(r.history)
		chords := 0.0
		if r.history == "diurnal" {
			chords = 1e-7
		}
		switch r.quantity {
		case "conversion":
			got, err := k.Convert(trace, []time.Duration{time.Duration(r.at * float64(h))})
			if err != nil || !(math.Abs(float64(got[0])-r.want) <= 2e-9+chords*r.want) {
				t.Errorf("%s %s %s at %g h: got %.10f, %v; want %.10f", r.id, r.set, r.history, r.at, got, err, r.want)
			}
		case "time_to_conversion":
			at := r.at
			if at == 0.577350269 {
				at = 1 / math.Sqrt(3)
			}
			got, err := k.TimeTo(trace, units.Fraction(at))
			if math.IsNaN(r.want) { // not by 72 h: later, or never
				if !(err == nil && got > 72*h) && !errors.Is(err, cure.ErrNotReached) {
					t.Errorf("%s %s %s to %g: got %v, %v; want later than 72 h", r.id, r.set, r.history, r.at, got, err)
				}
				continue
			}
			temp, _ := trace.At(got)
			rate, rerr := k.Rate(temp, units.Fraction(at))
			tol := 1e-6 + chords*r.want + 1e-9/(float64(rate)*3600)
			if err != nil || rerr != nil || !(math.Abs(got.Hours()-r.want) <= tol) {
				t.Errorf("%s %s %s to %g: got %.9f h, %v; want %.9f ± %.2g", r.id, r.set, r.history, r.at, got.Hours(), err, r.want, tol)
			}
		default:
			t.Errorf("%s: unknown quantity %q", r.id, r.quantity)
		}
	}
	if seen != 436 {
		t.Errorf("%d rows: want 436", seen)
	}
}
