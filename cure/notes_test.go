package cure_test

import (
	"math"
	"testing"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
)

// The remaining values of cure-notes.md, each with its section; the others stand
// with what they check.

// Section 1.3: 24 h of the diurnal history at 55 kJ/mol to 23 °C, by the temperature of
// the middle of 1, 2, 4 and 24 intervals, and by the mean of 18 °C; printed to 4
// decimals. Only the exact age is 17.478693941 h.
func TestStepSizes(t *testing.T) {
	age := func(temp units.Temperature, d time.Duration) float64 {
		got, err := cure.EquivalentAge(55e3, units.Celsius(23), climate.Trace{{Temp: temp}}, 0, d)
		if err != nil {
			t.Error(err)
		}
		return got.Hours()
	}
	for n, want := range map[int]float64{1: 23.9092, 2: 17.4746, 4: 17.4828, 24: 17.478693941} {
		sum := 0.0
		for i := range n {
			x := 24 * (float64(i) + 0.5) / float64(n)
			sum += age(units.Celsius(18+7*math.Sin(2*math.Pi*(x-9)/24)), 24*h/time.Duration(n))
		}
		if math.Abs(sum-want) > 6e-5 {
			t.Errorf("%d intervals: %.5f h, want %.4f", n, sum, want)
		}
	}
	if got := age(units.Celsius(18), 24*h); math.Abs(got-16.3538) > 6e-5 {
		t.Errorf("the mean temperature: %.5f h, want 16.3538", got)
	}
}

// Section 1.4: stepB, 16 h at 8 °C and then 22 °C. One energy's age misses the
// conversion of K3 after 24 h by +0.0121 with 55 kJ/mol and -0.0011 with 57.5, to the
// four decimals printed; conversion at 23 °C by the kinetics themselves.
func TestEquivalentAgeMissesStepB(t *testing.T) {
	k, tr := kineticSets["K3"], kineticTrace("stepB")
	real, err := k.Convert(tr, []time.Duration{24 * h})
	if err != nil {
		t.Fatal(err)
	}
	for ea, miss := range map[float64]float64{55: 0.0121, 57.5: -0.0011} {
		age, err1 := cure.EquivalentAge(units.MolarEnergy(ea)*units.KilojoulePerMole, units.Celsius(23), tr, 0, 24*h)
		iso, err2 := k.Convert(climate.Trace{{Temp: units.Celsius(23)}}, []time.Duration{age})
		if err1 != nil || err2 != nil || math.Abs(float64(iso[0]-real[0])-miss) > 6e-5 {
			t.Errorf("%v kJ/mol misses by %.5f, %v %v; want %.4f", ea, iso[0]-real[0], err1, err2, miss)
		}
	}
}

// Section 2.4: Chern and Poehlein's factor is 0.5 exactly where a is the critical
// conversion, -1.55 + 0.008 T of set K7: at 293.15 K 0.7952. 1e-12 for the product.
func TestHalfAtTheCriticalConversion(t *testing.T) {
	with, err1 := kineticSets["K7"].Rate(units.Kelvin(293.15), 0.7952)
	without, err2 := kineticSets["K3"].Rate(units.Kelvin(293.15), 0.7952)
	if err1 != nil || err2 != nil || math.Abs(float64(with/without)-0.5) > 1e-12 {
		t.Errorf("factor %.15f, %v %v; want 0.5", float64(with/without), err1, err2)
	}
}

// Section 2.1, P6: Tg of a purified monomer is about -22 °C (seen), near which the
// networks of the sets begin. P1 and P2: activation energies of cycloaliphatic amines are 44 to 57 and
// 58.5 ± 1.3 kJ/mol: those of the illustrative sets lie there, within 2.5 kJ/mol.
func TestSetsArePlausible(t *testing.T) {
	for _, name := range []string{"K3", "K4", "K8"} {
		k := kineticSets[name]
		if k.Ea1 < 44e3 || k.Ea1 > 62.3e3 || k.Ea2 < 44e3 || k.Ea2 > 62.3e3 {
			t.Errorf("%s: %v, %v", name, k.Ea1, k.Ea2)
		}
	}
	if tg, err := kineticSets["K8"].Glass.Tg(0); err != nil || math.Abs(tg.Celsius()+22) > 3 {
		t.Errorf("Tg uncured %v, %v; want about -22 °C", tg, err)
	}
}

// Section 4: the front of a moisture-cured film goes as the root of the vapour
// pressure (Comyn, from memory): 0.557139, 0.660986, 1.415112 times as deep as at 23 °C
// and 50 %. The pressures are Wagner and Pruss's, ours within 0.1 %: 5e-4 of the root.
func TestMoistureFront(t *testing.T) {
	p := func(c, rh float64) float64 {
		v, err := climate.Air{Temp: units.Celsius(c), RH: units.Fraction(rh)}.VapourPressure()
		if err != nil {
			t.Error(err)
		}
		return float64(v)
	}
	for _, tc := range []struct{ c, rh, pa, depth float64 }{{5, 0.5, 436.27, 0.557139}, {10, 0.5, 614.06, 0.660986}, {23, 0.5, 1405.48, 1}, {35, 0.5, 2814.53, 1.415112}} {
		if got := p(tc.c, tc.rh); math.Abs(got/tc.pa-1) > 1e-3 || math.Abs(math.Sqrt(got/p(23, 0.5))/tc.depth-1) > 5e-4 {
			t.Errorf("%v °C: %.2f Pa, depth %.6f; want %v, %v", tc.c, got, math.Sqrt(got/p(23, 0.5)), tc.pa, tc.depth)
		}
	}
	// The table that is made of it has those depths: at 10 °C, one over the depth squared.
	d, err := overPressure(t, []float64{5, 10, 23, 35}, []float64{30, 50, 80}).Time(units.Celsius(10), 0.5)
	if err != nil || math.Abs(math.Sqrt(10/d.Hours())/0.660986-1) > 5e-4 {
		t.Errorf("%v, %v; want a depth of 0.660986", d, err)
	}
}

// Section 5: the page of case A8 prints ln A = 37.12; the regression of the table as
// remembered gives 121.488 kJ/mol and ln A 38.925 (3 decimals): 37.12 is asserted as
// wrong for it.
//
// Not tested: NIST's Misra-like y = b1 (1 - exp(-b2 x)), a rise in time that no law
// here fits; MGH10 and Norris are, in vogel_test.go and straight_test.go.
func TestLnAOfA8(t *testing.T) {
	var rows []cure.Point
	for i, k := range []float64{0.00043, 0.00103, 0.00180, 0.00355, 0.00717} {
		temp := []float64{313, 319, 323, 328, 333}[i]
		rows = append(rows, cure.Point{Temp: units.Kelvin(temp), Time: time.Duration(math.Round(1e9 / k))})
	}
	fit, err := cure.Fit(rows)
	lnA := float64(fit.Ea)/(gasR*fit.Ref.Kelvin()) - math.Log(fit.Time.Seconds())
	if err != nil || math.Abs(kj(fit.Ea)-121.488) > 6e-4 || math.Abs(lnA-38.925) > 6e-4 || math.Abs(lnA-37.12) < 1 {
		t.Errorf("%.4f kJ/mol, ln A %.4f, %v; want 121.488, 38.925, not 37.12", kj(fit.Ea), lnA, err)
	}
	// Case A1's page prints ln k with all but one shifted by ln 1000 and one sign wrong:
	// such rows give another energy than 100.633 kJ/mol.
	var wrong []cure.Point
	for i, k := range []float64{0.0787e-5, 1.70e-5, 25.7e-5, 178e-5, 2140e-5} {
		ln := math.Log(k)
		if i == 3 {
			ln = -math.Log(1000) - 0.577 // for +0.577 of ln(k 1000)
		}
		wrong = append(wrong, cure.Point{Temp: units.Kelvin([]float64{273, 293, 313, 333, 353}[i]), Time: time.Duration(math.Round(1e9 / math.Exp(ln)))})
	}
	if fit, err := cure.Fit(wrong); err != nil || math.Abs(kj(fit.Ea)-100.633) < 0.5 {
		t.Errorf("with the page's sign %.3f kJ/mol, %v: want it off 100.633", kj(fit.Ea), err)
	}
}
