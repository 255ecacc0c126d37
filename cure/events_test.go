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

func ExampleReachAll() {
	c := units.Celsius
	mix := []cure.Law{ // one event, one law: their energies differ
		cure.Arrhenius{Ea: 55 * units.KilojoulePerMole, Ref: c(20), Time: 7 * h}.Law(),  // tack-free
		cure.Arrhenius{Ea: 50 * units.KilojoulePerMole, Ref: c(20), Time: 10 * h}.Law(), // recoat from
		cure.Table{{Temp: c(10), Time: 48 * h}, {Temp: c(20), Time: 36 * h}, {Temp: c(30), Time: 24 * h}}.NotAfter(),
	}
	night := climate.Trace{{At: 0, Temp: c(18)}, {At: 12 * h, Temp: c(10)}, {At: 24 * h, Temp: c(16)}}
	all, err := cure.ReachAll(mix, night, h)
	for _, a := range all {
		fmt.Println(a.At.Round(time.Minute), a.Held)
	}
	fmt.Println(err)
	// Output:
	// 12h30m0s false
	// 17h27m0s false
	// 42h59m0s true
	// <nil>
}

// anyLaw draws a law of each kind that holds from 0 °C to 40 °C, with times of hours,
// and tells whether it is smooth.
func anyLaw(t *rapid.T) (l cure.Law, smooth bool) {
	c := units.Celsius
	ea := units.MolarEnergy(rapid.Float64Range(20e3, 90e3).Draw(t, "Ea"))
	at20 := hours(rapid.Float64Range(1, 40).Draw(t, "hours at 20 °C"))
	arrhenius := cure.Arrhenius{Ea: ea, Ref: c(20), Time: at20}.Law()
	doubling := cure.Doubling{Step: units.TempDelta(rapid.Float64Range(5, 20).Draw(t, "step")), Ref: c(20), Time: at20}.Law()
	limit := hours(rapid.Float64Range(1, 40).Draw(t, "limit"))
	table := cure.Table{{c(0), 4 * at20}, {c(12), 2 * at20}, {c(20), at20}, {c(40), at20 / 3}}
	which := rapid.IntRange(0, 11).Draw(t, "law")
	return []cure.Law{
		arrhenius, doubling, table, table.NotBefore(), table[1:3].NotAfter(), cure.HansenPedersen(at20),
		cure.AtLeast(arrhenius, limit), cure.AtMost(doubling, limit), cure.AtLeast(cure.AtMost(cure.HansenPedersen(at20), limit), limit/2),
		cure.Piecewise{{c(-5), c(15), cure.AtMost(arrhenius, 100*at20)}, {c(15), c(45), arrhenius}},
		cure.Bins{{units.Temperature{}, c(9), 3 * at20}, {c(10), c(19), 2 * at20}, {c(20), units.Temperature{}, at20}}.NotBefore(),
		law{float64(ea) / gasR, 293.15, at20},
	}[which], which < 2 || which == 11
}

func anyHistory(t *rapid.T) climate.Trace {
	var tr climate.Trace
	at := time.Duration(0)
	for range rapid.IntRange(1, 8).Draw(t, "samples") {
		tr = append(tr, climate.Sample{At: at, Temp: units.Celsius(rapid.Float64Range(0, 40).Draw(t, "°C"))})
		at += time.Duration(rapid.IntRange(1, 1200).Draw(t, "minutes")) * time.Minute
	}
	return tr
}

// slow integrates 1/Time step by step, as DESIGN.md writes it: from sample to
// sample, so that a ramp of a minute has as many steps as a night.
func slow(t *rapid.T, l cure.Law, tr climate.Trace, from, to time.Duration) float64 {
	const n = 5000
	ends := []time.Duration{from}
	for _, s := range tr {
		if s.At > from && s.At < to {
			ends = append(ends, s.At)
		}
	}
	ends = append(ends, to)
	all := 0.0
	for j, end := range ends[1:] {
		begin, sum := ends[j], 0.0
		for i := range n {
			temp, _ := tr.At(begin + time.Duration((float64(i)+0.5)/n*float64(end-begin)))
			d, err := l.Time(temp)
			if err != nil {
				t.Fatal(err)
			}
			if d != cure.Never {
				sum += 1 / d.Hours()
			}
		}
		all += sum * (end - begin).Hours() / n
	}
	return all
}

// Of any law: the walk over its lines is the integral of 1/Time; tolerance 1e-3,
// what the midpoint rule is good to where a law jumps. Its progress is 1 at the
// event; the latest start undoes Reach; many in one pass are each one; all times doubled
// along a history stretched twice come twice as late; nothing beyond the trace but says so.
func TestEventProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, smooth := anyLaw(t)
		tr := anyHistory(t)
		start := time.Duration(rapid.IntRange(-300, 1200).Draw(t, "start")) * time.Minute
		at, err := cure.Reach(l, tr, start)
		if err != nil {
			t.Fatal(err)
		}
		p, err := cure.Progress(l, tr, start, at)
		if err != nil || math.Abs(float64(p)-1) > 1e-9 {
			t.Fatalf("progress %.12g at the event, %v", float64(p), err)
		}
		if got := slow(t, l, tr, start, at); math.Abs(got-1) > 1e-3 {
			t.Fatalf("the sum of 1/Time is %v at the event", got)
		}
		back, err := cure.LatestStart(l, tr, at)
		if err != nil || math.Abs(float64(back-start)) > 1e-9*float64(at-start)+10 {
			t.Fatalf("latest start %v, %v; want %v", back, err, start)
		}
		all, err := cure.ReachAll([]cure.Law{sheet.NotAfter(), l, sheet.NotBefore()}, tr, start)
		// Reach adds up gentle stretches in one go, ReachAll piece by piece: the same sums to rounding.
		like := func(a cure.Arrival, want time.Duration) bool {
			return math.Abs(float64(a.At-want)) <= 1+1e-12*math.Abs(float64(want-start)) && a.Held == (a.At > tr[len(tr)-1].At)
		}
		if err != nil || !like(all[1], at) || all[1].Never {
			t.Fatalf("%+v, %v; want %v", all, err, at)
		}
		late, err := cure.Reach(sheet.NotAfter(), tr, start)
		if err != nil || !like(all[0], late) {
			t.Fatalf("%+v, %v; want %v", all[0], err, late)
		}
		early, err := cure.Reach(sheet.NotBefore(), tr, start)
		if never := errors.Is(err, cure.ErrNotReached); all[2].Never != never || !never && !like(all[2], early) {
			t.Fatalf("%+v; want %v, %v", all[2], early, err)
		}
		now := start + (at-start)*time.Duration(rapid.IntRange(0, 30).Draw(t, "tenths"))/10
		if left, err := cure.UntilClosed(l, tr, start, now); err != nil || left != at-now {
			t.Fatalf("closed in %v, %v; want %v", left, err, at-now)
		}
		mid := start + (at-start)/3
		curve, err := cure.ProgressAt(l, tr, start, []time.Duration{start, mid, mid, at})
		if err != nil || curve[0] != 0 || curve[1] != curve[2] || curve[1] < 0 || curve[3] < curve[2] || math.Abs(float64(curve[3])-1) > 1e-9 {
			t.Fatalf("progress %v, %v", curve, err)
		}
		third, err := cure.Progress(l, tr, start, mid)
		if err != nil || math.Abs(float64(third-curve[1])) > 1e-12 {
			t.Fatalf("progress %v, %v; want %v", third, err, curve[1])
		}
		// Twice the time on a history twice as long, by a law that is asked and not taken
		// apart, whose kinks are not known then: 1e-6 for one without.
		long := make(climate.Trace, len(tr))
		for i, s := range tr {
			long[i] = climate.Sample{At: 2 * s.At, Temp: s.Temp}
		}
		if twice, err := cure.Reach(slower{l}, long, 2*start); smooth && (err != nil || math.Abs(float64(twice-2*at)) > 1e-6*float64(at-start)) {
			t.Fatalf("twice as slow: %v, %v; want %v", twice, err, 2*at)
		}
		warmer := make(climate.Trace, len(tr))
		for i, s := range tr {
			warmer[i] = climate.Sample{At: s.At, Temp: s.Temp.Add(-1e-3 * units.TempDelta(s.Temp.Celsius()-40))}
		}
		if sooner, err := cure.Reach(l, warmer, start); err != nil || sooner > at+1 {
			t.Fatalf("warmer: %v, %v; colder %v", sooner, err, at)
		}
	})
}

// slower takes twice as long. It is asked, not taken apart.
type slower struct{ cure.Law }

func (s slower) Time(t units.Temperature) (time.Duration, error) {
	d, err := s.Law.Time(t)
	if d > cure.Never/2 {
		return cure.Never, err
	}
	return 2 * d, err
}

// Limits and pieces, worked by hand at constant temperature and over one kink.
func TestLimitsByHand(t *testing.T) {
	c := units.Celsius
	l := cure.Doubling{Step: 10, Ref: c(20), Time: 8 * h}.Law()
	for _, tc := range []struct {
		name string
		law  cure.Law
		c    float64
		want time.Duration
	}{
		{"floor in the heat", cure.AtLeast(l, 4*h), 40, 4 * h},
		{"floor in the cold", cure.AtLeast(l, 4*h), 10, 16 * h},
		{"cap in the cold", cure.AtMost(l, 24*h), 0, 24 * h},
		{"cap in the heat", cure.AtMost(l, 24*h), 30, 4 * h},
		{"cap where nothing proceeds", cure.AtMost(cure.Table{{c(10), 10 * h}}.NotBefore(), 24*h), 5, 24 * h},
		{"lower piece", cure.Piecewise{{c(0), c(15), cure.AtMost(l, 9*h)}, {c(15), c(40), l}}, 10, 9 * h},
		{"joint", cure.Piecewise{{c(0), c(20), cure.AtMost(l, 5*h)}, {c(20), c(40), l}}, 20, 8 * h},
	} {
		if d, err := tc.law.Time(c(tc.c)); err != nil || (d-tc.want).Abs() > 10 {
			t.Errorf("%s: %v, %v; want %v", tc.name, d, err, tc.want)
		}
		if at, err := cure.Reach(tc.law, climate.Trace{{At: 0, Temp: c(tc.c)}}, h); err != nil || (at-h-tc.want).Abs() > 10 {
			t.Errorf("%s: reached at %v, %v; want %v later than 1h", tc.name, at, err, tc.want)
		}
	}
	// Ramp from 20 °C to 40 °C in 10 h under a floor of 4 h, which begins at 30 °C: the
	// first 5 h bring 5/8 (2 - 1)/ln 2 of the event, the rest goes at 1/4 an hour.
	gone := 5.0 / 8 / math.Ln2
	want := 5 + (1-gone)*4
	at, err := cure.Reach(cure.AtLeast(l, 4*h), climate.Trace{{At: 0, Temp: c(20)}, {At: 10 * h, Temp: c(40)}}, 0)
	if err != nil || math.Abs(at.Hours()-want) > 1e-9*want {
		t.Errorf("floor along a ramp: %v, %v; want %v h", at, err, want)
	}
}

// Steps of a binned table. By the table's own print and the doc comment.
func TestBins(t *testing.T) {
	data, _ := overlay(t)
	f := units.Fahrenheit
	course := cure.Bins(data["OV1"]) // open above 85 °F
	late := cure.Bins(data["OV9"])   // 60 °F to 120 °F
	for _, tc := range []struct {
		law  cure.Law
		f    float64
		want time.Duration
	}{
		{course.NotBefore(), 60, 4 * h}, {course.NotBefore(), 64, 4 * h}, {course.NotBefore(), 64.5, 4 * h}, {course.NotBefore(), 65, 3 * h},
		{course.NotBefore(), 85, h}, {course.NotBefore(), 140, h}, {course.NotBefore(), 59, cure.Never},
		{course.NotAfter(), 64.5, 3 * h}, {course.NotAfter(), 59, 4 * h}, {course.NotAfter(), 64, 4 * h},
		{late.NotAfter(), 50, 48 * h}, {late.NotAfter(), 120, 2 * h}, {late.NotAfter(), 138, h}, {late.NotBefore(), 138, 2 * h},
	} {
		if d, err := tc.law.Time(f(tc.f)); err != nil || (d-tc.want).Abs() > 10 {
			t.Errorf("%v °F: %v, %v; want %v", tc.f, d, err, tc.want)
		}
		at, err := cure.Reach(tc.law, climate.Trace{{At: 0, Temp: f(min(tc.f, 212))}}, 0)
		if tc.want == cure.Never {
			if !errors.Is(err, cure.ErrNotReached) {
				t.Errorf("%v °F: %v, %v; want never", tc.f, at, err)
			}
		} else if err != nil || (at-tc.want).Abs() > 10 {
			t.Errorf("%v °F: reached at %v, %v; want %v", tc.f, at, err, tc.want)
		}
	}
	shared := cure.Bins{{f(60), f(70), 8 * h}, {f(70), f(80), 6 * h}} // 70 °F is in both
	if d, err := shared.NotBefore().Time(f(70)); err != nil || (d-8*h).Abs() > 10 {
		t.Errorf("%v, %v; want the longer, 8h", d, err)
	}
	if d, err := shared.NotAfter().Time(f(70)); err != nil || (d-6*h).Abs() > 10 {
		t.Errorf("%v, %v; want the shorter, 6h", d, err)
	}
	table, err := course.Table()
	if err != nil || len(table) != 5 || (table[4].Temp.Fahrenheit()-82) > 1e-9 {
		t.Errorf("%v, %v; want the five bins with a middle", table, err)
	}
	for _, bad := range []cure.Bins{nil, {{f(60), f(50), h}}, {{f(50), f(60), 0}}, {{f(50), f(60), h}, {f(55), f(70), h}}, {{f(50), units.Temperature{}, h}, {f(70), f(80), h}}, {{f(50), f(60), h}, {units.Temperature{}, f(70), h}}, {{f(-500), f(60), h}}} {
		if _, err := bad.NotBefore().Time(f(55)); !errors.Is(err, units.ErrRange) {
			t.Errorf("%v: %v; want a range error", bad, err)
		}
		if _, err := bad.Table(); !errors.Is(err, units.ErrRange) {
			t.Errorf("%v: %v; want a range error", bad, err)
		}
	}
	if _, err := (cure.Bins{{units.Temperature{}, units.Temperature{}, h}}).Table(); err == nil {
		t.Error("a bin without ends has a middle")
	}
}

// What a window's end is asked that it cannot say. By the doc comments.
func TestWindowErrors(t *testing.T) {
	c := units.Celsius
	l := cure.Table{{c(10), 30 * h}}.NotAfter()
	held := climate.Trace{{At: 0, Temp: c(10)}}
	if left, err := cure.UntilClosed(l, held, 0, 40*h); err != nil || left != -10*h {
		t.Errorf("%v, %v; want closed 10h ago", left, err)
	}
	if _, err := cure.UntilClosed(l, held, 2*h, h); !errors.Is(err, units.ErrRange) {
		t.Errorf("before its start: %v; want a range error", err)
	}
	slow := cure.Arrhenius{Ea: 0, Ref: c(20), Time: cure.Never - 1 - (1 << 61)}.Law()
	if _, err := cure.UntilClosed(slow, held, -1<<61, -1<<61); err != nil {
		t.Errorf("%v", err)
	}
	if left, err := cure.UntilClosed(slow, held, -(1 << 40), -1<<40); err != nil || left <= 0 {
		t.Errorf("%v, %v; want a time that a time.Duration can say", left, err)
	}
	if at, err := cure.Reach(l, held, 1<<61+1<<59); !errors.Is(err, units.ErrRange) {
		t.Errorf("from beyond 73 years: %v, %v; want a range error", at, err)
	}
	hot := climate.Trace{{At: 0, Temp: c(20)}} // one row, 10 K hotter: half (common practice, no source)
	if at, err := cure.Reach(l, hot, 0); err != nil || (at-15*h).Abs() > 10 {
		t.Errorf("%v, %v; want 15h", at, err)
	}
	if _, err := cure.LatestStart(cure.Table{{c(30), h}}.NotBefore(), held, 0); !errors.Is(err, cure.ErrNotReached) {
		t.Errorf("where nothing proceeds: %v; want ErrNotReached", err)
	}
}
