package cure_test

import (
	"errors"
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
)

// Set X of testdata/kinetics.csv: 1e-6 of each value, as the table states, and
// its last decimal.
func TestExothermTable(t *testing.T) {
	seen := 0
	for _, r := range kineticRows(t) {
		if r.set != "X" {
			continue
		}
		seen++
		var c, heat, cp, tau float64
		var cooling string
		fmt.Sscanf(r.history, "%g %s %g %g", &c, &cooling, &heat, &cp)
		e := cure.Exotherm{Kinetics: kineticSets["X"], Heat: units.SpecificEnergy(heat * 1e3), Specific: units.SpecificHeat(cp * 1e3)}
		if cooling != "adiabatic" {
			fmt.Sscanf(cooling, "%g", &tau)
			e.Cooling = time.Duration(math.Round(tau * float64(h)))
		}
		amb := units.Celsius(c)
		var got float64
		var err error
		switch r.quantity {
		case "time_to_gel":
			var at time.Duration
			at, err = e.TimeTo(amb, amb, units.Fraction(1/math.Sqrt(3)))
			got = at.Hours()
		default:
			var p cure.Peak
			p, err = e.Peak(amb, amb)
			switch r.quantity {
			case "peak_temperature":
				got = p.Temp.Celsius()
				if (p.At == cure.Never) != (tau == 0) {
					t.Errorf("%s: peak at %v", r.id, p.At)
				}
			case "peak_time":
				got = p.At.Hours()
			case "conversion_at_peak":
				got = float64(p.Conversion)
			default:
				t.Errorf("%s: unknown quantity %q", r.id, r.quantity)
			}
		}
		if err != nil || !(math.Abs(got-r.want) <= 1e-6*r.want+1e-8) {
			t.Errorf("%s %s %s: got %.9f, %v; want %.8f", r.id, r.history, r.quantity, got, err, r.want)
		}
	}
	if seen != 72 {
		t.Errorf("%d rows: want 72", seen)
	}
}

// The figures are illustrative: a generic epoxy floor binder, unfilled.
func ExampleExotherm() {
	pail := cure.Exotherm{
		Kinetics: cure.Kinetics{A1: 1.2e5, Ea1: 60e3, A2: 5e5, Ea2: 55e3, M: 1, N: 2},
		Heat:     430 * units.KilojoulePerKilogram, Specific: 1800, Cooling: h,
	}
	room := units.Celsius(23)
	peak, err := pail.Peak(room, room)
	fmt.Printf("%v %.1f °C %v\n", peak.At.Round(time.Minute), peak.Temp.Celsius(), err)
	hot, err := pail.TimeToTemp(room, room, units.Celsius(60))
	fmt.Println(hot.Round(time.Minute), err)
	// Output:
	// 4h2m0s 216.7 °C <nil>
	// 3h53m0s <nil>
}

// cure-notes.md X11: 430/1.8 = 238.889 K and 172/1.2 = 143.333 K, the second of 60 %
// filler by mass: 430 kJ/kg less 60 %, 1.2 = 0.4 * 1.8 + 0.6 * 0.8. And M K3 23 °C: an
// adiabatic mass comes to 261.889 °C.
func TestExothermRise(t *testing.T) {
	rise, err := cure.AdiabaticRise(430e3, 1800)
	if err != nil || math.Abs(float64(rise)-238.889) > 0.0005 {
		t.Errorf("got %v, %v; want 238.889 K", rise, err)
	}
	heat, cp, err := cure.Filled(430e3, 1800, 0.6, 800)
	if err != nil || math.Abs(float64(heat)-172e3) > 1e-6 || math.Abs(float64(cp)-1200) > 1e-9 {
		t.Errorf("got %v %v, %v; want 172 kJ/kg, 1.2 kJ/(kg K)", heat, cp, err)
	}
	rise, err = cure.AdiabaticRise(heat, cp)
	if err != nil || math.Abs(float64(rise)-143.333) > 0.0005 {
		t.Errorf("got %v, %v; want 143.333 K", rise, err)
	}
}

// A mass that is hottest late: with an order N below 1 its rate falls from the
// start and rises again, and its temperature has two crests, at 12.5 min and at
// 29.1 min. Source: solve_ivp of SciPy 1.10.1 (DOP853, rtol 1e-12, steps of at most 10 s), the
// crests by brentq; 1e-6 of both, as Peak says.
func TestExothermTwoCrests(t *testing.T) {
	at := func(ea units.MolarEnergy, perHour float64) float64 { // A for a rate at 23 °C
		return perHour / 3600 * math.Exp(float64(ea)/(8.31446261815324*296.15))
	}
	e := cure.Exotherm{Kinetics: cure.Kinetics{A1: at(30e3, math.Pow(10, 0.0625)), A2: at(80e3, math.Pow(10, 0.015625)), Ea1: 30e3, Ea2: 80e3, M: 2, N: 0.4140625},
		Heat: 230388, Specific: 1064.25, Cooling: 92 * time.Second}
	p, err := e.Peak(units.Celsius(16.0625), units.Celsius(19.5625))
	if err != nil || math.Abs(p.Temp.Celsius()/26.783876069-1) > 1e-6 || math.Abs(p.At.Seconds()/1748.238673-1) > 1e-6 || math.Abs(float64(p.Conversion)-0.610588839) > 1e-6 {
		t.Errorf("peak %v at %v, %v; want 26.783876 °C at 1748.2386 s and 61.059 %%", p, p.At, err)
	}
}

func drawExotherm(t *rapid.T) (e cure.Exotherm, start, ambient units.Temperature) {
	e = cure.Exotherm{Kinetics: drawMix(t), Heat: units.SpecificEnergy(rapid.Float64Range(0, 500e3).Draw(t, "heat")), Specific: units.SpecificHeat(rapid.Float64Range(900, 2200).Draw(t, "cp")),
		Cooling: time.Duration(rapid.Float64Range(60, 20000).Draw(t, "cooling s") * 1e9)}
	ambient = units.Celsius(rapid.Float64Range(5, 40).Draw(t, "ambient"))
	start = ambient.Add(units.TempDelta(rapid.Float64Range(-10, 15).Draw(t, "start")))
	return e, start, ambient
}

// The heat is accounted for: T - start is what reacted less what left, by
// Simpson's rule over the moments. No mass passes its adiabatic temperature; the
// peak is the hottest of its moments; a slower loss is never later nor cooler.
func TestExothermProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e, start, ambient := drawExotherm(t)
		p, err := e.Peak(start, ambient)
		if errors.Is(err, cure.ErrNotReached) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		rise := units.TempDelta(float64(e.Heat) / float64(e.Specific))
		if p.Temp.Sub(start) < 0 || p.Temp.Sub(max2(start, ambient)) > rise+1e-6 {
			t.Fatalf("peak %v of start %v, ambient %v, rise %v", p.Temp, start, ambient, rise)
		}
		const n = 200
		var at []time.Duration
		end := min(p.At+h, 14*24*h) // as far as an exotherm is followed
		for i := range n + 1 {
			at = append(at, end*time.Duration(i)/n)
		}
		run, err := e.Run(start, ambient, at)
		if err != nil {
			t.Fatal(err)
		}
		for i, m := range run {
			if m.Temp.Sub(p.Temp) > 1e-6 || i > 0 && m.Conversion < run[i-1].Conversion-1e-15 { // rounding near 1
				t.Fatalf("%v at %v after %v, peak %v at %v; less by %g", m, at[i], run[max(i-1, 0)], p.Temp, p.At, float64(run[max(i-1, 0)].Conversion-m.Conversion))
			}
		}
		slow := e
		slow.Cooling = e.Cooling * 2
		q, err := slow.Peak(ambient, ambient)
		r, err2 := e.Peak(ambient, ambient)
		if err == nil && err2 == nil && q.Temp.Sub(r.Temp) < -1e-6 {
			t.Fatalf("slower loss: %v, was %v", q.Temp, r.Temp)
		}
		a := units.Fraction(rapid.Float64Range(0.01, 0.8).Draw(t, "a"))
		x, err1 := slow.TimeTo(ambient, ambient, a)
		y, err2 := e.TimeTo(ambient, ambient, a)
		slow.Cooling = 0
		z, err3 := slow.TimeTo(ambient, ambient, a)
		if errors.Is(err2, cure.ErrNotReached) {
			return
		}
		if err1 != nil || err2 != nil || err3 != nil || x > y+time.Millisecond || z > x+time.Millisecond {
			t.Fatalf("to %g: %v; slower loss %v; none %v (%v %v %v)", a, y, x, z, err2, err1, err3)
		}
	})
}

func max2(a, b units.Temperature) units.Temperature {
	if a.Less(b) {
		return b
	}
	return a
}

// The balance of heat along a run: what reacted, less what left.
func TestExothermBalance(t *testing.T) {
	e := cure.Exotherm{Kinetics: kineticSets["K3"], Heat: 430e3, Specific: 1800, Cooling: h / 4}
	start, ambient := units.Celsius(28), units.Celsius(23)
	const n = 2000
	var at []time.Duration
	for i := range n + 1 {
		at = append(at, 10*h*time.Duration(i)/n)
	}
	run, err := e.Run(start, ambient, at)
	if err != nil {
		t.Fatal(err)
	}
	left := 0.0 // K h, Simpson
	for i := 0; i+2 <= n; i += 2 {
		f := func(j int) float64 { return float64(run[j].Temp.Sub(ambient)) }
		left += (f(i) + 4*f(i+1) + f(i+2)) / 3 * 10 / n
	}
	want := 430.0/1.8*float64(run[n].Conversion) - left/0.25
	if got := float64(run[n].Temp.Sub(start)); math.Abs(got-want) > 1e-6 {
		t.Errorf("warmed by %.8f K, balance %.8f K", got, want)
	}
	// And with no heat of reaction it cools as exp(-t/tau).
	e.Heat = 0
	run, err = e.Run(start, ambient, []time.Duration{h / 4})
	if err != nil || math.Abs(float64(run[0].Temp.Sub(ambient))-5/math.E) > 1e-8 {
		t.Errorf("got %v, %v; want 5/e K above ambient", run, err)
	}
	if p, err := e.Peak(start, ambient); err != nil || p.At != 0 || p.Temp != start {
		t.Errorf("peak of a mass that only cools: %v, %v", p, err)
	}
}

// In good contact with its surroundings it is the isothermal cure.
func TestExothermIsothermal(t *testing.T) {
	e := cure.Exotherm{Kinetics: kineticSets["K3"], Specific: 1800, Cooling: h}
	gel := units.Fraction(1 / math.Sqrt(3))
	got, err := e.TimeTo(units.Celsius(23), units.Celsius(23), gel)
	if err != nil || math.Abs(got.Hours()-13.71180124) > 1e-6 { // KIN table, K3 23 °C
		t.Errorf("got %.8f h, %v; want 13.71180124", got.Hours(), err)
	}
}

// Orders below 1 end with a jump of the rate: the heat is accounted for all the
// same. A mass that loses next to nothing comes near its adiabatic temperature.
func TestExothermEnds(t *testing.T) {
	for _, n := range []float64{0, 0.125, 0.5} {
		for _, tau := range []time.Duration{time.Minute, h, 8000 * h} {
			e := cure.Exotherm{Kinetics: cure.Kinetics{A1: 170, Ea1: 30e3, A2: 3.6e11, Ea2: 80e3, M: 1, N: n}, Heat: 500e3, Specific: 900, Cooling: tau}
			p, err := e.Peak(units.Celsius(1), units.Celsius(5))
			if err != nil || p.Temp.Celsius() > 1+500/0.9+4 || tau > 10*h && p.Temp.Celsius() < 500/0.9 {
				t.Errorf("order %g, cooling %v: got %v, %v", n, tau, p, err)
			}
		}
	}
}

func TestExothermStates(t *testing.T) {
	e := cure.Exotherm{Kinetics: kineticSets["K3"], Heat: 430e3, Specific: 1800, Cooling: h}
	room := units.Celsius(23)
	if at, err := e.TimeTo(room, room, 1); !errors.Is(err, cure.ErrNotReached) || at != 0 {
		t.Errorf("100 %% of order 2: got %v, %v", at, err)
	}
	if at, err := e.TimeToTemp(room, room, units.Celsius(300)); !errors.Is(err, cure.ErrNotReached) || at != 0 {
		t.Errorf("hotter than its heat: got %v, %v", at, err)
	}
	if at, err := e.TimeToTemp(room, room, units.Celsius(20)); err != nil || at != 0 {
		t.Errorf("hot from the start: got %v, %v", at, err)
	}
	if at, err := e.TimeToTemp(room, room, units.Celsius(216.73)); err != nil || math.Abs(at.Hours()-4.037) > 0.01 { // just below the peak
		t.Errorf("just below the peak: got %v, %v", at, err)
	}
	if at, err := e.TimeToTemp(room, room, units.Celsius(216.74)); !errors.Is(err, cure.ErrNotReached) || at != 0 {
		t.Errorf("above the peak: got %v, %v", at, err)
	}
	slow := e
	slow.Kinetics = cure.Kinetics{A1: 1e-9, A2: 1e-7, M: 1, N: 1}
	if p, err := slow.Peak(room, room); !errors.Is(err, cure.ErrNotReached) || !p.Temp.IsNaN() || !math.IsNaN(float64(p.Conversion)) {
		t.Errorf("too slow: got %v, %v", p, err)
	}
	nan := units.NaNTemperature()
	for name, f := range map[string]func(e *cure.Exotherm, start, amb *units.Temperature){
		"kinetics": func(e *cure.Exotherm, _, _ *units.Temperature) { e.Kinetics.A1 = 0 },
		"heat":     func(e *cure.Exotherm, _, _ *units.Temperature) { e.Heat = -1 },
		"cp":       func(e *cure.Exotherm, _, _ *units.Temperature) { e.Specific = 1.8 },
		"cooling":  func(e *cure.Exotherm, _, _ *units.Temperature) { e.Cooling = -h },
		"start":    func(_ *cure.Exotherm, s, _ *units.Temperature) { *s = nan },
		"ambient":  func(_ *cure.Exotherm, _, a *units.Temperature) { *a = units.Temperature{} },
	} {
		bad, s, a := e, room, room
		f(&bad, &s, &a)
		at, err1 := bad.TimeTo(s, a, 0.5)
		at2, err2 := bad.TimeToTemp(s, a, units.Celsius(60))
		p, err3 := bad.Peak(s, a)
		r, err4 := bad.Run(s, a, []time.Duration{h})
		for _, err := range []error{err1, err2, err3, err4} {
			if countRange(err) != 1 {
				t.Errorf("%s: got %v: want one range error", name, err)
			}
		}
		if at != 0 || at2 != 0 || !p.Temp.IsNaN() || r != nil {
			t.Errorf("%s: got %v %v %v %v beside errors", name, at, at2, p, r)
		}
	}
	if r, err := e.Run(room, room, []time.Duration{h, 0}); err == nil || r != nil {
		t.Errorf("falling times: got %v, %v", r, err)
	}
	if r, err := e.Run(room, room, []time.Duration{-1}); !errors.Is(err, units.ErrRange) || r != nil {
		t.Errorf("before 0: got %v, %v", r, err)
	}
	if r, err := e.Run(room, room, []time.Duration{0}); err != nil || r[0].Temp != room || r[0].Conversion != 0 {
		t.Errorf("at 0: got %v, %v", r, err)
	}
}

func BenchmarkExothermPeak(b *testing.B) {
	b.ReportAllocs()
	e := cure.Exotherm{Kinetics: kineticSets["K3"], Heat: 430e3, Specific: 1800, Cooling: h}
	for b.Loop() {
		if _, err := e.Peak(units.Celsius(23), units.Celsius(23)); err != nil {
			b.Fatal(err)
		}
	}
}
