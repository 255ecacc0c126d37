package aggregate_test

import (
	"errors"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
)

var syrup = aggregate.Liquid{Density: 1100, Viscosity: 0.5, Tension: 0.035, Angle: 30}

func TestSink(t *testing.T) {
	// ASTM D422 Table 3 (memory): K = .01365 for 2.65 in water of 20 °C: in 1 min a grain of K sqrt(10) mm falls 10 cm.
	// Tolerance: K has 4 digits, and its g and viscosity of water differ by 0.5 %.
	water := aggregate.Liquid{Density: 998.2, Viscosity: 1.002e-3}
	d := 0.01365 * math.Sqrt(10)
	v, err := water.Sink(aggregate.Grain{Size: units.Length(d) * units.Millimetre, Density: 2650, Packing: .55})
	near(t, "hydrometer", float64(v)*60, 0.10, 0.01, err, "ASTM D422 Table 3, from memory")
	// 0.6 mm quartz in 0.5 Pa s: (2650-1100) 9.80665 (6e-4)^2/9 = 0.608 mm/s, by hand: a 10 mil film is crossed in half a second.
	v, err = syrup.Sink(aggregate.Grain{Size: 0.6e-3, Density: 2650, Packing: .55})
	near(t, "quartz", float64(v)*1e3, 0.6080, 1e-3, err, "by hand")
	v, err = syrup.Sink(aggregate.Grain{Size: 0.6e-3, Density: 800, Packing: .55})
	if err != nil || v >= 0 {
		t.Errorf("light grain sinks at %v, %v; want it to float", v, err)
	}
	if v, err := water.Sink(aggregate.Grain{Size: 1e-3, Density: 2650, Packing: .55}); !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(v)) {
		t.Errorf("1 mm in water, Reynolds far above 1: %v, %v; want a range error", v, err)
	}
}

func TestRise(t *testing.T) {
	pore := 50 * units.Micrometre
	h, err := syrup.Rise(pore, time.Minute)
	near(t, "W1", mm(h), 9.536, 1e-3, err, "Lucas-Washburn, computed")
	top, err := syrup.Highest(pore)
	near(t, "W1", mm(top), 112.36, 1e-3, err, "Jurin, computed")
	bed := aggregate.Grain{Size: 0.6e-3, Density: 2650, Packing: .55}
	r, err := bed.Pore()
	near(t, "W2", float64(r/units.Micrometre), 163.64, 1e-4, err, "eps d/(3(1-eps)), computed")
	s, err := syrup.RiseTime(r, 2e-3)
	near(t, "W2", s.Seconds(), .8065, 1e-3, err, "2 mm, computed")
	top, err = syrup.Highest(r)
	near(t, "W2", mm(top), 34.3, 1.5e-3, err, "Jurin, computed, printed to 3 digits")
	// Reading of section 6: a few grain heights take seconds, so the resin's amount limits; at 50 Pa s it takes a minute and more.
	thick := syrup
	thick.Viscosity = 50
	if slow, err := thick.RiseTime(r, 2e-3); err != nil || slow < time.Minute || math.Abs(slow.Seconds()/s.Seconds()-100) > 1e-6 {
		t.Errorf("50 Pa s: %v, %v; want 100 times %v", slow, err, s)
	}
}

func TestLiquidProperties(t *testing.T) { // there and back; slower with viscosity
	rapid.Check(t, func(t *rapid.T) {
		l := aggregate.Liquid{Density: 1100, Viscosity: rapid.Float64Range(0.1, 100).Draw(t, "eta"), Tension: rapid.Float64Range(0.01, 0.07).Draw(t, "gamma"), Angle: rapid.Float64Range(0, 60).Draw(t, "theta")}
		r := units.Length(rapid.Float64Range(1e-5, 5e-4).Draw(t, "r"))
		top, err := l.Highest(r)
		h := top * units.Length(rapid.Float64Range(0.01, 0.5).Draw(t, "share"))
		s, err2 := l.RiseTime(r, h)
		if err := errors.Join(err, err2); err != nil {
			t.Fatal(err)
		}
		if s > time.Millisecond && s < 700*time.Hour {
			if back, err := l.Rise(r, s); err != nil || math.Abs(float64(back/h)-1) > 1e-5 { // a nanosecond of a millisecond
				t.Fatalf("%v after %v, want %v (%v)", back, s, h, err)
			}
		}
		g := aggregate.Grain{Size: r, Density: 2650, Packing: .55}
		v, err1 := l.Sink(g)
		l.Viscosity *= 2
		w, err2 := l.Sink(g)
		if err := errors.Join(err1, err2); err != nil || math.Abs(float64(v/w)-2) > 1e-12 {
			t.Fatalf("%v and %v, %v", v, w, err)
		}
	})
}

func TestLiquidRefusals(t *testing.T) {
	g := aggregate.Grain{Size: 1e-4, Density: 2650, Packing: .55}
	for name, l := range map[string]aggregate.Liquid{"none": {}, "viscosity": {1100, math.NaN(), .035, 0}, "density": {0, .5, .035, 0}} {
		v, err := l.Sink(g)
		if !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(v)) {
			t.Errorf("%s: %v, %v; want NaN and a range error", name, v, err)
		}
	}
	for name, l := range map[string]aggregate.Liquid{"none": {}, "angle": {1100, .5, .035, 120}, "tension": {1100, .5, 0, 0}} {
		a, err1 := l.Rise(1e-4, time.Second)
		b, err2 := l.Highest(1e-4)
		_, err3 := l.RiseTime(1e-4, 1e-3)
		if !errors.Is(err1, units.ErrRange) || !errors.Is(err2, units.ErrRange) || !errors.Is(err3, units.ErrRange) || !math.IsNaN(float64(a)) || !math.IsNaN(float64(b)) {
			t.Errorf("%s: %v %v, %v %v, %v", name, a, err1, b, err2, err3)
		}
	}
	_, err1 := syrup.RiseTime(1e-4, 1)
	_, err2 := syrup.Rise(1e-4, -time.Second)
	_, err3 := syrup.Sink(aggregate.Grain{})
	p, err4 := aggregate.Grain{}.Pore()
	for _, err := range []error{err1, err2, err3, err4} {
		if !errors.Is(err, units.ErrRange) {
			t.Errorf("%v; want a range error", err)
		}
	}
	if !math.IsNaN(float64(p)) {
		t.Errorf("pore of no grain: %v", p)
	}
}

func BenchmarkLiquid(b *testing.B) {
	g := aggregate.Grain{Size: 1e-4, Density: 2650, Packing: .55}
	for name, f := range map[string]func(){"Sink": func() { syrup.Sink(g) }, "Rise": func() { syrup.Rise(1e-4, time.Second) }, "RiseTime": func() { syrup.RiseTime(1e-4, 1e-3) }} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs() // 0 allocs/op
			for b.Loop() {
				f()
			}
		})
	}
}
