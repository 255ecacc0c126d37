package cure_test

import (
	"errors"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
)

// How many calls the two hostile tests make; a million is some minutes of each.
var (
	hostileCalls = flag.Int("hostile", 0, "calls of TestHostileInputs and of TestHostileKinetics; else as many as take a second")
	hostileSeed  = flag.Uint64("hostile-seed", 14, "of their figures")
)

func hostileN(few int) int {
	if *hostileCalls > 0 {
		return *hostileCalls
	}
	return few
}

// usual is a value that gets through, most of the time.
func (r hostile) usual(lo, hi float64) float64 {
	if r.IntN(60) == 0 {
		return r.float(lo, hi)
	}
	return lo + (hi-lo)*r.Float64()
}

func (r hostile) room() units.Temperature { return units.Celsius(r.usual(-10, 60)) }

// short is a history of one or two hours, which keeps an integration short.
func (r hostile) short() climate.Trace {
	var tr climate.Trace
	for i := range 1 + r.IntN(3) {
		tr = append(tr, climate.Sample{At: time.Duration(i)*h + time.Duration(r.Int64N(int64(h/2))), Temp: r.room()})
	}
	if r.IntN(20) == 0 {
		return r.trace()
	}
	return tr
}

func (r hostile) span() time.Duration {
	if r.IntN(20) == 0 {
		return r.time()
	}
	return time.Duration(r.Int64N(int64(5 * h)))
}

func (r hostile) kinetics() cure.Kinetics {
	k := cure.Kinetics{A1: r.usual(0, 1e6), A2: r.usual(0, 1e6), Ea1: units.MolarEnergy(r.usual(30e3, 80e3)), Ea2: units.MolarEnergy(r.usual(30e3, 80e3)), M: r.usual(0, 2), N: r.usual(0, 3)}
	switch r.IntN(6) {
	case 0:
		k.M, k.N = 1, 2
	case 1:
		k.A1, k.A2 = math.Pow(10, r.usual(-30, 30)), math.Pow(10, r.usual(-30, 30)) // any speed
	case 2:
		k.M, k.N = r.usual(0, 10), r.usual(0, 10)
	}
	if r.IntN(2) == 0 {
		k.Glass = cure.Glass{Uncured: units.Celsius(r.usual(-60, 0)), Cured: units.Celsius(r.usual(40, 150)), Lambda: r.usual(0.01, 1)}
	}
	switch r.IntN(5) {
	case 0:
		k.Diffusion = cure.ChernPoehlein{C: r.usual(0, 100), Critical: r.usual(-3, 1), PerKelvin: r.usual(0, 0.01)}
	case 1:
		k.Diffusion = cure.WLF{AtTg: units.Rate(math.Pow(10, r.usual(-8, 0))), C1: r.usual(0, 60), C2: units.TempDelta(r.usual(1, 100))}
	case 2:
		k.Diffusion = cure.FreeVolume{A: r.usual(0, 1e19), Ea: units.MolarEnergy(r.usual(0, 140e3)), B: r.usual(0, 1), Expansion: r.usual(1e-6, 1e-3), AtTg: units.Fraction(r.usual(0, 0.1))}
	}
	return k
}

func (r hostile) mix() cure.Mix {
	return cure.Mix{Kinetics: r.kinetics(), Heat: units.SpecificEnergy(r.usual(1e3, 6e5)), Specific: units.SpecificHeat(r.usual(500, 4000)), Density: units.Density(r.usual(600, 3000)),
		Conductivity: units.Conductivity(r.usual(0.05, 2)), Workable: units.Fraction(r.usual(0.01, 0.6))}
}

func (r hostile) vessel() cure.Vessel {
	film := func() units.FilmCoefficient { return units.FilmCoefficient(r.usual(0, 20)) }
	switch r.IntN(8) {
	case 0:
		return nil
	case 1, 2, 3:
		return cure.Pool{Depth: units.Length(r.usual(1e-4, 0.1)), Top: film(), Bottom: film()}
	}
	return cure.Pail{Diameter: units.Length(r.usual(0.01, 1)), Top: film(), Side: film(), Bottom: film()}
}

func (r hostile) mass() units.Mass { return units.Mass(math.Pow(10, r.usual(-3, 3))) }

// A property, common practice, no source. Hostile calls of the chemistry, over short
// histories: none panics, and each returns an error, with NaN or zero beside it, or
// numbers that are finite and where they can be; of figures in range the only error
// is ErrNotReached, or ErrTooStiff with diffusion and constants of no resin.
func TestHostileKinetics(t *testing.T) {
	r := hostile{rand.New(rand.NewPCG(3, *hostileSeed))}
	stiff := 0
	tooStiff := func(k cure.Kinetics, err error) bool {
		if !errors.Is(err, cure.ErrTooStiff) || k.Diffusion == nil || max(k.A1, k.A2) < 1e12 {
			return false
		}
		stiff++
		return true
	}
	good, calls, slow := map[string]int{}, map[string]int{}, map[string]time.Duration{}
	for i := range hostileN(6_000) {
		var in []any
		var name, wrong string
		kind := i % 14
		switch { // those that integrate most, seldom
		case i%200 == 7:
			kind = 14
		case kind == 10 && i%5 > 0:
			kind = 0
		}
		fail := func(err error, zero, fine bool) {
			switch {
			case err != nil && !zero:
				wrong = fmt.Sprint("a value beside an error: ", err)
			case err == nil && !fine:
				wrong = "a value that cannot be"
			case err == nil || errors.Is(err, cure.ErrNotReached):
				good[name]++
			}
		}
		nan := func(v ...float64) bool {
			for _, x := range v {
				if !math.IsNaN(x) {
					return false
				}
			}
			return true
		}
		share := func(v ...units.Fraction) bool {
			for _, x := range v {
				if !(x >= 0 && x <= 1) {
					return false
				}
			}
			return true
		}
		real := func(x float64) bool { return x >= 0 && x <= math.MaxFloat64 }
		begun := time.Now()
		func() {
			defer func() {
				if p := recover(); p != nil {
					wrong = fmt.Sprint("panic: ", p)
				}
			}()
			switch kind {
			case 0:
				name = "Convert"
				k, tr, at := r.kinetics(), r.short(), []time.Duration{r.span(), r.span(), r.span()}
				in = []any{k, tr, at}
				a, err := k.Convert(tr, at)
				fail(err, a == nil, len(a) == 3 && share(a...))
				if err == nil && (a[0] < a[1]) != (at[0] < at[1]) && a[0] != a[1] {
					wrong = "falls"
				}
				if bad := k.Validate() != nil || tr.Validate() != nil; err != nil && !bad && min(at[0], at[1], at[2]) >= 0 && max(at[0], at[1], at[2]) <= 1<<61 && !tooStiff(k, err) {
					wrong = fmt.Sprint("an error of good figures: ", err)
				}
			case 1:
				name = "TimeTo"
				k, tr, a := r.kinetics(), r.short(), units.Fraction(r.usual(0, 1))
				in = []any{k, tr, a}
				d, err := k.TimeTo(tr, a)
				fail(err, d == 0, d >= 0)
				if bad := k.Validate() != nil || tr.Validate() != nil || !share(a); err != nil && !bad && !errors.Is(err, cure.ErrNotReached) && !tooStiff(k, err) {
					wrong = fmt.Sprint("an error of good figures: ", err)
				}
			case 2:
				name = "Vitrify"
				k, tr := r.kinetics(), r.short()
				if k.Glass == (cure.Glass{}) {
					k.Glass = cure.Glass{Uncured: units.Celsius(-20), Cured: units.Celsius(70), Lambda: 0.4}
				}
				in = []any{k, tr}
				d, a, err := k.Vitrify(tr)
				fail(err, d == 0 && nan(float64(a)), d >= 0 && share(a))
				if bad := k.Validate() != nil || tr.Validate() != nil; err != nil && !bad && !errors.Is(err, cure.ErrNotReached) && !tooStiff(k, err) {
					wrong = fmt.Sprint("an error of good figures: ", err)
				}
			case 3:
				name = "Rate"
				k, temp, a := r.kinetics(), r.temp(), units.Fraction(r.usual(0, 1))
				in = []any{k, temp, a}
				v, err := k.Rate(temp, a)
				fail(err, nan(float64(v)), real(float64(v)))
			case 4:
				name = "FastestRate"
				k, temp := r.kinetics(), r.temp()
				in = []any{k, temp}
				v, a, err := k.FastestRate(temp)
				fail(err, nan(float64(v), float64(a)), real(float64(v)) && share(a))
			case 5:
				name = "Stall"
				k, temp, slow := r.kinetics(), r.temp(), units.Rate(math.Pow(10, r.usual(-15, 0)))
				in = []any{k, temp, slow}
				a, err := k.Stall(temp, slow)
				fail(err, nan(float64(a)), share(a))
			case 6:
				name = "WarmUp"
				k, cold, warm, d1, d2 := r.kinetics(), r.room(), r.room(), r.span(), r.span()
				in = []any{k, cold, warm, d1, d2}
				w, err := k.WarmUp(cold, d1, warm, d2)
				fail(err, nan(float64(w.Cold), float64(w.Warmed), float64(w.Straight)), share(w.Cold, w.Warmed, w.Straight) && w.Warmed >= w.Cold-1e-9)
			case 7:
				name = "Gel and Glass"
				g, ratio := cure.Gel{Amine: r.usual(1, 8), Epoxide: r.usual(1, 4)}, units.Fraction(r.usual(0.01, 2))
				gl := cure.Glass{Uncured: r.temp(), Cured: units.Celsius(r.usual(50, 300)), Lambda: r.usual(0.01, 1)}
				temp, a := r.temp(), units.Fraction(r.usual(0, 1))
				in = []any{g, ratio, gl, temp, a}
				e, am, err := g.Point(ratio)
				fail(err, nan(float64(e), float64(am)), share(e, am))
				lo, hi, err := g.Ratios()
				fail(err, nan(float64(lo), float64(hi)), lo > 0 && hi >= lo && real(float64(hi)))
				c, err := gl.Conversion(temp)
				fail(err, nan(float64(c)), share(c))
				tg, err := gl.Tg(a)
				fail(err, tg.IsNaN(), tg.Kelvin() > 0 && tg.Kelvin() < 1000)
			case 8:
				name = "MixRatio"
				m, g, ratio, h := cure.MixRatio{EEW: units.Mass(r.usual(0.05, 10)), AHEW: units.Mass(r.usual(0.01, 10))}, cure.Gel{Amine: r.usual(1, 8), Epoxide: r.usual(1, 4)}, units.Fraction(r.usual(0.01, 100)), units.MolarEnergy(r.usual(0, 500e3))
				in = []any{m, g, ratio, h}
				x, err := m.Hardener(ratio)
				fail(err, nan(float64(x)), x > 0 && real(float64(x)))
				q, err := m.Heat(h, ratio)
				fail(err, nan(float64(q)), real(float64(q)))
				o, err := m.OffRatio(g, ratio)
				fail(err, nan(float64(o.Epoxide), float64(o.Amine), float64(o.Excess)), share(o.Epoxide, o.Amine, o.Excess) && (share(o.Gel) || !o.Gels && nan(float64(o.Gel))))
				x, err = m.Ratio(r.mass(), r.mass())
				fail(err, nan(float64(x)), x > 0 && real(float64(x)))
			case 9:
				name = "AdiabaticRise and Filled"
				heat, cp, filler, inert := units.SpecificEnergy(r.usual(0, 1e6)), units.SpecificHeat(r.usual(100, 1e4)), units.Fraction(r.usual(0, 0.99)), units.SpecificHeat(r.usual(100, 1e4))
				in = []any{heat, cp, filler, inert}
				d, err := cure.AdiabaticRise(heat, cp)
				fail(err, nan(float64(d)), real(float64(d)))
				q, c, err := cure.Filled(heat, cp, filler, inert)
				fail(err, nan(float64(q), float64(c)), real(float64(q)) && c > 0 && real(float64(c)))
			case 10:
				name = "Exotherm"
				e := cure.Exotherm{Kinetics: r.kinetics(), Heat: units.SpecificEnergy(r.usual(0, 6e5)), Specific: units.SpecificHeat(r.usual(500, 4000)), Cooling: time.Duration(r.usual(1e10, 1e13))}
				start, ambient, temp, a := r.room(), r.room(), r.temp(), units.Fraction(r.usual(0, 1))
				in = []any{e, start, ambient, temp, a}
				p, err := e.Peak(start, ambient)
				fail(err, p.At == 0 && p.Temp.IsNaN(), p.At >= 0 && share(p.Conversion) && p.Temp.Kelvin() > 200 && p.Temp.Kelvin() < 2000)
				d, err := e.TimeTo(start, ambient, a)
				fail(err, d == 0, d >= 0)
				d, err = e.TimeToTemp(start, ambient, temp)
				fail(err, d == 0, d >= 0)
				run, err := e.Run(start, ambient, []time.Duration{r.span(), r.span()})
				fail(err, run == nil, len(run) == 2 && share(run[0].Conversion, run[1].Conversion) && run[1].Temp.Kelvin() > 200 && run[1].Temp.Kelvin() < 2000)
			case 11:
				name = "critical"
				m, v, temp, f := r.mix(), r.vessel(), r.temp(), cure.Form(r.IntN(5))
				in = []any{m, v, temp, f}
				d, err := m.CriticalCooling(temp)
				fail(err, d == 0, d >= 0)
				d, err = m.InductionTime(temp)
				fail(err, d == 0, d >= 0)
				x, err := m.CriticalSize(f, temp)
				fail(err, nan(float64(x)), x >= 0 && real(float64(x)))
				kg, err := m.CriticalMass(v, temp)
				fail(err, nan(float64(kg)), kg > 0 && real(float64(kg)))
			case 12:
				name = "Cooling and Mix.Exotherm"
				m, v, kg := r.mix(), r.vessel(), r.mass()
				in = []any{m, v, kg}
				d, err := m.Cooling(v, kg)
				fail(err, d == 0, d > 0)
				e, err := m.Exotherm(v, kg)
				fail(err, e == cure.Exotherm{}, e.Cooling >= 0)
			case 13:
				name = "SelfHeating and SlabCentre"
				temp, ea, delta := r.temp(), units.MolarEnergy(r.usual(1e3, 400e3)), units.Fraction(r.usual(0, 1))
				in = []any{temp, ea, delta}
				d, err := cure.SelfHeating(temp, ea)
				fail(err, nan(float64(d)), real(float64(d)))
				x, err := cure.SlabCentre(delta)
				fail(err, nan(float64(x)), real(float64(x)))
			case 14:
				name = "PotLife"
				m, v, kg := r.mix(), r.vessel(), r.mass()
				sheet := cure.Table{{Temp: units.Celsius(r.usual(5, 25)), Time: time.Duration(r.usual(6e10, 7.2e12))}}
				if r.IntN(3) == 0 {
					sheet = append(sheet, cure.Point{Temp: units.Celsius(r.usual(26, 40)), Time: time.Duration(r.usual(6e10, 7.2e12))})
				}
				temp, other, life := r.room(), r.mass(), r.span()
				in = []any{m, v, kg, sheet, temp, other, life}
				p, err := m.PotLife(v, kg, sheet)
				if err != nil {
					return
				}
				d, err := p.Life(v, other, temp)
				fail(err, d == 0, d > 0)
				d, err = p.Spread(cure.Pool{Depth: units.Length(r.usual(1e-4, 0.1)), Top: 8}, temp)
				fail(err, d == 0, d > 0)
				if r.IntN(20) == 0 { // a search of many lives
					x, err := p.LargestMass(v, temp, life, other)
					fail(err, nan(float64(x)), x > 0 && x <= other)
				}
			}
		}()
		calls[name]++
		slow[name] += time.Since(begun)
		if wrong != "" {
			t.Fatalf("call %d, %s(%#v): %s", i, name, in, wrong)
		}
	}
	if stiff > 1+hostileN(0)/20_000 {
		t.Errorf("%d are too stiff", stiff)
	}
	t.Logf("%d are too stiff", stiff)
	for name, c := range calls { // each gets through to its arithmetic often enough
		if good[name] < c/20 {
			t.Errorf("%s: only %d of %d calls are answered", name, good[name], c)
		}
		t.Logf("%s: %d of %d calls answered, %v each", name, good[name], c, slow[name]/time.Duration(c))
	}
}
