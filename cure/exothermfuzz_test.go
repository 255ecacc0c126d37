package cure_test

import (
	"errors"
	"math"
	"testing"
	"time"

	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
)

// FuzzMass throws any figures at a mixed mass: an error, with 0 or NaN beside it,
// or a sound answer.
func FuzzMass(f *testing.F) {
	f.Add(430e3, 1800.0, 1100.0, 0.2, 0.3, 10.0, 0.3, 8.0, 8.0, 2.0, 23.0, int64(h/2), 0.19, 0.0425, 1.1)
	f.Add(1e6, 100.0, 500.0, 10.0, 0.99, 1e6, 10.0, 1000.0, 0.0, 0.0, 60.0, int64(time.Minute), 10.0, 0.01, 100.0)
	f.Add(1e3, 1e4, 5000.0, 0.05, 0.001, 1e-6, 0.01, 0.0, 1e-9, 0.0, -20.0, int64(168*h), 0.05, 10.0, 0.01)
	f.Add(860e3, 443.0, 1100.0, 6.4, 0.8999999999999999, 10.0, 9.3, 1.0, 1.0, 5.0, 49.0, int64(1799999999955), 0.19, 0.0425, 43.1) // on the brink
	f.Fuzz(func(t *testing.T, heat, cp, rho, k, workable, mass, size, top, side, bottom, c float64, ns int64, eew, ahew, ratio float64) {
		ok := func(name string, v float64, err error) {
			if err == nil && !(v >= 0 && v < math.Inf(1)) || err != nil && !(v == 0 || math.IsNaN(v)) {
				t.Fatalf("%s: %g, %v", name, v, err)
			}
		}
		m := cure.Mix{Kinetics: kineticSets["K3"], Heat: units.SpecificEnergy(heat), Specific: units.SpecificHeat(cp), Density: units.Density(rho), Conductivity: units.Conductivity(k), Workable: units.Fraction(workable)}
		v := cure.Pail{Diameter: units.Length(size), Top: units.FilmCoefficient(top), Side: units.FilmCoefficient(side), Bottom: units.FilmCoefficient(bottom)}
		pool := cure.Pool{Depth: units.Length(size) / 100, Top: v.Top, Bottom: v.Bottom}
		temp, kg := units.Celsius(c), units.Mass(mass)
		d, err := m.Cooling(v, kg)
		ok("cooling", float64(d), err)
		d, err = m.CriticalCooling(temp)
		ok("critical cooling", float64(d), err)
		d, err = m.InductionTime(temp)
		ok("induction", float64(d), err)
		x, err := m.CriticalMass(v, temp)
		ok("critical mass", float64(x), err)
		for form := cure.Slab; form <= cure.Sphere; form++ {
			l, err := m.CriticalSize(form, temp)
			ok("critical size", float64(l), err)
		}
		if e, err := m.Exotherm(v, kg); err == nil {
			p, err := e.Peak(temp, temp)
			if err == nil && !(p.Temp.Sub(temp) >= 0 && p.Temp.Sub(temp) <= units.TempDelta(heat/cp)+1e-6) || err != nil && !p.Temp.IsNaN() {
				t.Fatalf("peak %v, %v", p, err)
			}
			if err != nil && !errors.Is(err, cure.ErrNotReached) && math.Abs(c) <= 50 {
				t.Fatal(err)
			}
		}
		if p, err := m.PotLife(v, kg, cure.Table{{Temp: temp, Time: time.Duration(ns)}}); err == nil {
			d, err = p.Life(v, kg, temp)
			ok("life", float64(d), err)
			if err != nil || math.Abs(float64(d)/float64(ns)-1) > 1e-6 {
				t.Fatalf("life %v, %v; want %v", d, err, time.Duration(ns))
			}
			d, err = p.Spread(pool, temp)
			ok("spread", float64(d), err)
		}
		mix := cure.MixRatio{EEW: units.Mass(eew), AHEW: units.Mass(ahew)}
		r, err := mix.Hardener(units.Fraction(ratio))
		ok("hardener", float64(r), err)
		r, err = mix.Ratio(kg, units.Mass(ahew))
		ok("ratio", float64(r), err)
		q, err := mix.Heat(units.MolarEnergy(heat), units.Fraction(ratio))
		ok("heat", float64(q), err)
		o, err := mix.OffRatio(cure.Gel{Amine: top, Epoxide: bottom}, units.Fraction(ratio))
		ok("off ratio", float64(o.Epoxide+o.Amine+o.Excess), err)
	})
}
