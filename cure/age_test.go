package cure_test

import (
	"errors"
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
)

func ExampleEquivalentAge() {
	night := climate.Trace{{At: 0, Temp: units.Celsius(10)}, {At: 12 * h, Temp: units.Celsius(30)}}
	te, err := cure.EquivalentAge(55*units.KilojoulePerMole, units.Celsius(23), night, 0, 12*h)
	fmt.Println(te.Round(time.Second), err)
	m, err := cure.NurseSaul(units.Celsius(0), night, 0, 12*h)
	fmt.Println(units.Format(m, units.SI), err)
	// Output:
	// 10h25m20s <nil>
	// 240 K h <nil>
}

// What shortcuts print for the ramps of the notes (R1, R2), to show that ours is
// none of them: the middle's temperature, and the mean of the two ends' rates.
// Tolerance: the shortcuts' four decimals; ours 1e-8.
func TestRampsAreNotShortcuts(t *testing.T) {
	c := units.Celsius
	for _, tc := range []struct {
		ea                units.MolarEnergy
		exact, mid, trapz float64 // h
	}{{qEa(5000), 10.602709064, 10.0959, 11.6244}, {55e3, 10.422266903, 9.5479, 12.2012}} {
		age := func(temps ...float64) float64 {
			sum := 0.0
			for _, temp := range temps {
				d, err := cure.EquivalentAge(tc.ea, c(23), climate.Trace{{At: 0, Temp: c(temp)}}, 0, 12*h)
				if err != nil {
					t.Error(err)
				}
				sum += d.Hours() / float64(len(temps))
			}
			return sum
		}
		d, err := cure.EquivalentAge(tc.ea, c(23), climate.Trace{{At: 0, Temp: c(10)}, {At: 12 * h, Temp: c(30)}}, 0, 12*h)
		if err != nil || math.Abs(d.Hours()/tc.exact-1) > 1e-8 || math.Abs(d.Hours()/tc.mid-1) < 0.04 || math.Abs(d.Hours()/tc.trapz-1) < 0.08 {
			t.Errorf("%v, %v; want %v h", d.Hours(), err, tc.exact)
		}
		if a, b := age(20), age(10, 30); math.Abs(a-tc.mid) > 1e-4 || math.Abs(b-tc.trapz) > 1e-4 {
			t.Errorf("shortcuts %v and %v; want %v and %v", a, b, tc.mid, tc.trapz)
		}
	}
}

// Two energies, 55 and 60 kJ/mol, in da/dt = (k1 + k2 a)(1-a)², set K3 of the notes
// (A1 1.2e5/s with 60 kJ/mol, A2 5e5/s with 55 kJ/mol). Conversion along the diurnal
// history after 24 h is 0.690381739 (DOP853, rtol 1e-12); at 23 °C its own course
// gives the age at which it is that. One energy's age misses it: by +0.0042 of
// conversion with 55, -0.0006 with 57.5, -0.0052 with 60 (notes, section 1.4).
func TestEquivalentAgeBoundsTwoEnergies(t *testing.T) {
	day, ref := diurnal(24*h), units.Celsius(23)
	iso := func(age time.Duration) float64 { // Runge-Kutta, 1 s steps of hours: far below 1e-9
		k := 296.15 * gasR
		k1, k2 := 1.2e5*math.Exp(-60e3/k), 5e5*math.Exp(-55e3/k)
		f := func(a float64) float64 { return (k1 + k2*a) * (1 - a) * (1 - a) }
		const n = 20000
		a, s := 0.0, age.Seconds()/n
		for range n {
			p := f(a)
			q := f(a + s/2*p)
			r := f(a + s/2*q)
			a += s / 6 * (p + 2*q + 2*r + f(a+s*r))
		}
		return a
	}
	if a := iso(12 * h); math.Abs(a-0.503526270) > 1e-8 {
		t.Fatalf("the reference course is %v at 12 h, want 0.503526270 (notes 2.5)", a)
	}
	const want = 0.690381739
	for ea, miss := range map[float64]float64{55: 0.0042, 57.5: -0.0006, 60: -0.0052} {
		age, err := cure.EquivalentAge(units.MolarEnergy(ea)*units.KilojoulePerMole, ref, day, 0, 24*h)
		if got := iso(age) - want; err != nil || math.Abs(got-miss) > 6e-5 { // four decimals printed
			t.Errorf("%v kJ/mol misses by %.5f, %v; want %v", ea, got, err, miss)
		}
	}
	least, most, err := cure.EquivalentAgeBounds(60*units.KilojoulePerMole, 55*units.KilojoulePerMole, ref, day, 0, 24*h)
	if a, b := iso(least), iso(most); err != nil || !(a < want && want < b && b-a < 0.02) {
		t.Errorf("%v to %v is %v to %v, %v; want %v between them, and no more than 0.02 apart", least, most, a, b, err, want)
	}
}

// Bounds: any mixture of paths lies between them; one energy is exact; the order
// of the energies does not matter. Ages add up over a split, and are the time itself at ref.
func TestAgeProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tr := anyHistory(t)
		ref := units.Celsius(rapid.Float64Range(0, 40).Draw(t, "ref"))
		ea := units.MolarEnergy(rapid.Float64Range(0, 100e3).Draw(t, "ea"))
		eb := units.MolarEnergy(rapid.Float64Range(0, 100e3).Draw(t, "eb"))
		from := time.Duration(rapid.IntRange(-300, 1200).Draw(t, "from")) * time.Minute
		to := from + time.Duration(rapid.IntRange(0, 9000).Draw(t, "minutes"))*time.Minute
		mid := from + (to-from)/3
		age := func(ea units.MolarEnergy, from, to time.Duration) time.Duration {
			d, err := cure.EquivalentAge(ea, ref, tr, from, to)
			if err != nil {
				t.Fatal(err)
			}
			return d
		}
		a, b := age(ea, from, to), age(eb, from, to)
		if d := (age(ea, from, mid) + age(ea, mid, to) - a).Abs(); float64(d) > 3e-10*float64(a)+3 {
			t.Fatalf("the parts are %v off", d)
		}
		least, most, err := cure.EquivalentAgeBounds(ea, eb, ref, tr, from, to)
		if err != nil || least > min(a, b)+2 || most < max(a, b)-2 || least < 0 {
			t.Fatalf("%v to %v, %v; want %v and %v between them", least, most, err, a, b)
		}
		l2, m2, err := cure.EquivalentAgeBounds(eb, ea, ref, tr, from, to)
		if err != nil || l2 != least || m2 != most {
			t.Fatalf("%v to %v, %v with the energies changed over", l2, m2, err)
		}
		l3, m3, err := cure.EquivalentAgeBounds(ea, ea, ref, tr, from, to)
		if err != nil || (l3-a).Abs() > 1+a/1e9 || (m3-a).Abs() > 1+a/1e9 {
			t.Fatalf("one energy: %v to %v, %v; want %v", l3, m3, err, a)
		}
		if d := age(0, from, to); (d - (to - from)).Abs() > 1+d/1e12 {
			t.Fatalf("without an energy the age is %v, want the time, %v", d, to-from)
		}
		// An event of that age is reached then: equal energies make the two agree.
		if a > time.Second && ea > 0 {
			l := cure.Arrhenius{Ea: ea, Ref: ref, Time: a}.Law()
			at, err := cure.Reach(l, tr, from)
			if err != nil || math.Abs(float64(at-to)) > 1e-9*float64(to-from)+2*float64(to-from)/float64(a)+10 {
				t.Fatalf("reached at %v, %v; want %v", at, err, to)
			}
		}
		// Maturity above and below a datum: what is above, less what is below, is the mean's.
		datum := units.Celsius(rapid.Float64Range(-9, 50).Draw(t, "datum"))
		up, err1 := cure.NurseSaul(datum, tr, from, to)
		turned := make(climate.Trace, len(tr))
		for i, s := range tr {
			turned[i] = climate.Sample{At: s.At, Temp: datum.Add(datum.Sub(s.Temp))}
		}
		down, err2 := cure.NurseSaul(datum, turned, from, to)
		deep, err3 := cure.NurseSaul(units.Celsius(-60), tr, from, to) // nothing is below
		all := float64(deep) - (datum.Celsius()+60)*(to-from).Seconds()
		if err1 != nil || err2 != nil || err3 != nil || up < 0 || down < 0 || math.Abs(float64(up-down)-all) > 1e-11*float64(deep)+1e-9 {
			t.Fatalf("%v above less %v below is %v, want %v (%v %v %v)", up, down, float64(up-down), all, err1, err2, err3)
		}
	})
}

// A ramp's part above the datum is a triangle: by hand, exactly. The same from
// the middle of it on, held, and downward.
func TestNurseSaulAcrossTheDatum(t *testing.T) {
	c := units.Celsius
	up := climate.Trace{{At: 0, Temp: c(-8)}, {At: 20 * h, Temp: c(12)}}
	down := climate.Trace{{At: 0, Temp: c(12)}, {At: 20 * h, Temp: c(-8)}}
	for _, tc := range []struct {
		tr       climate.Trace
		datum    float64
		from, to time.Duration
		want     float64 // K h
	}{
		{up, 0, 0, 20 * h, 72}, {down, 0, 0, 20 * h, 72}, {up, 0, 0, 8 * h, 0}, {up, 0, 10 * h, 14 * h, 16},
		{up, 0, 20 * h, 30 * h, 120}, {up, 12, 0, 30 * h, 0}, {up, -8, 0, 20 * h, 200}, {down, 0, -10 * h, 0, 120}, {up, 0, 5 * h, 5 * h, 0},
	} {
		m, err := cure.NurseSaul(c(tc.datum), tc.tr, tc.from, tc.to)
		if err != nil || math.Abs(float64(m/units.KelvinHour)-tc.want) > 1e-9 {
			t.Errorf("datum %v from %v to %v: %v, %v; want %v K h", tc.datum, tc.from, tc.to, float64(m/units.KelvinHour), err, tc.want)
		}
	}
}

// Two bad arguments are two errors, each named.
func TestAgeErrors(t *testing.T) {
	tr := climate.Trace{{At: 0, Temp: units.Celsius(20)}}
	_, err := cure.EquivalentAge(-1, units.Temperature{}, tr, 0, h)
	named := map[string]bool{}
	if j, ok := err.(interface{ Unwrap() []error }); ok {
		for _, e := range j.Unwrap() {
			var r *units.RangeError
			if errors.As(e, &r) {
				named[r.Arg] = true
			}
		}
	}
	if !named["ea"] || !named["ref"] {
		t.Errorf("%v: want ea and ref named", err)
	}
	if _, err := cure.EquivalentAge(500e3, units.Celsius(-60), climate.Trace{{At: 0, Temp: units.Celsius(100)}}, 0, h); !errors.Is(err, units.ErrRange) {
		t.Errorf("an age of ages: %v; want a range error", err)
	}
	if m, err := cure.NurseSaul(units.Celsius(0), tr, h, 0); !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(m)) {
		t.Errorf("backward: %v, %v; want a range error and NaN", m, err)
	}
}

func day5min() climate.Trace { // 72 h at 5 min
	var tr climate.Trace
	for i := range 865 {
		tr = append(tr, climate.Sample{At: time.Duration(i) * 5 * time.Minute, Temp: units.Celsius(16 + 5*math.Sin(float64(i)/46))})
	}
	return tr
}

func BenchmarkEquivalentAge(b *testing.B) { // 72 h at 5 min: at most 60 ns a segment asked for; 25 measured
	tr := day5min()
	b.ReportAllocs() // 0 allocs/op
	for b.Loop() {
		if _, err := cure.EquivalentAge(55e3, units.Celsius(23), tr, 0, 72*h); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/864, "ns/segment")
}

func BenchmarkReachAll(b *testing.B) { // seven events of a mix, 72 h at 5 min
	tr := day5min()
	var mix []cure.Law
	for i := range 7 {
		mix = append(mix, cure.Arrhenius{Ea: 55e3, Ref: units.Celsius(20), Time: time.Duration(i+1) * 7 * h}.Law())
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := cure.ReachAll(mix, tr, 0); err != nil {
			b.Fatal(err)
		}
	}
}

// No call along a history allocates. (units errors do.)
func TestNoAllocations(t *testing.T) {
	tr := day5min()
	long := cure.Table{{units.Celsius(10), 120 * h}, {units.Celsius(22), 71 * h}}
	for name, l := range map[string]cure.Law{"table": long, "not before": long.NotBefore(), "not after": long.NotAfter(),
		"Arrhenius": cure.Arrhenius{Ea: 55e3, Ref: units.Celsius(20), Time: 60 * h}.Law(),
		"limited":   cure.AtLeast(long.NotAfter(), 80*h), "bins": cure.Bins{{units.Celsius(0), units.Celsius(40), 60 * h}}.NotBefore(),
		"cement": cure.HansenPedersen(60 * h)} {
		if n := testing.AllocsPerRun(10, func() {
			if _, err := cure.Reach(l, tr, 0); err != nil {
				t.Error(name, err)
			}
			if _, err := cure.LatestStart(l, tr, 72*h); err != nil {
				t.Error(name, err)
			}
		}); n != 0 {
			t.Errorf("%s: %v allocations", name, n)
		}
	}
	if n := testing.AllocsPerRun(10, func() {
		if _, err := cure.EquivalentAge(55e3, units.Celsius(23), tr, 0, 72*h); err != nil {
			t.Error(err)
		}
		if _, err := cure.NurseSaul(units.Celsius(0), tr, 0, 72*h); err != nil {
			t.Error(err)
		}
	}); n != 0 {
		t.Errorf("ages: %v allocations", n)
	}
}
