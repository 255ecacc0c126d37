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

const h = time.Hour

var sheet = cure.Table{{units.Fahrenheit(75), 8 * h}, {units.Fahrenheit(50), 22 * h}, {units.Fahrenheit(60), 14 * h}}

func ExampleReach() {
	night := climate.Trace{{At: 0, Temp: units.Fahrenheit(62)}, {At: 12 * h, Temp: units.Fahrenheit(52)}}
	at, err := cure.Reach(sheet, night, 0)
	fmt.Println(at.Round(time.Minute), err)
	_, err = sheet.Time(units.Fahrenheit(40))
	fmt.Println(err)
	// Output:
	// 16h56m0s <nil>
	// cure.Table.Time: temp = 4.44444444 °C: want 10 to 23.8888889
}

// law is Arrhenius with an activation energy given as Q = Ea/R, for the checks.
type law struct {
	q, ref float64 // K
	at     time.Duration
}

func (l law) Time(t units.Temperature) (time.Duration, error) {
	return time.Duration(float64(l.at) * math.Exp(l.q*(1/t.Kelvin()-1/l.ref))), nil
}

// equivalent ages of ASTM C1074 form: an event that takes t_e at the reference
// temperature comes at the end of the history with that equivalent age.
func TestReachAgainstEquivalentAge(t *testing.T) {
	const q55 = 55000 / 8.31446261815324
	c := units.Celsius
	for _, tc := range []struct {
		name string
		law  law
		tr   climate.Trace
		want time.Duration
		src  string
	}{
		{"R1", law{5000, 296.15, hours(10.602709064)}, climate.Trace{{At: 0, Temp: c(10)}, {At: 12 * h, Temp: c(30)}}, 12 * h, "cure notes R1, exponential integral, 1e-9"},
		{"R2", law{q55, 296.15, hours(10.422266903)}, climate.Trace{{At: 0, Temp: c(10)}, {At: 12 * h, Temp: c(30)}}, 12 * h, "cure notes R2"},
		{"R4", law{5000, 296.15, hours(7.872867230)}, climate.Trace{{At: 0, Temp: c(25)}, {At: 10 * h, Temp: c(12)}}, 10 * h, "cure notes R4"},
		{"C5", law{q55, 296.15, hours(30.521426924)}, climate.Trace{{At: 0, Temp: c(10)}, {At: 12 * h, Temp: c(30)}}, 24 * h, "cure notes C5, ramp then held"},
		{"C3", law{q55, 296.15, hours(14.152368250)}, climate.Trace{{At: 0, Temp: c(25)}, {At: 8 * h, Temp: c(25)}, {At: 8*h + 1, Temp: c(8)}}, 24 * h, "cure notes C3, step"},
		{"C4", law{q55, 296.15, hours(12.276144358)}, climate.Trace{{At: 0, Temp: c(8)}, {At: 16 * h, Temp: c(8)}, {At: 16*h + 1, Temp: c(22)}}, 24 * h, "cure notes C4, step"},
		{"E1", law{5000, 293.15, hours(34.066112)}, climate.Trace{{At: 0, Temp: c(15)}, {At: 12 * h, Temp: c(15)}, {At: 12*h + 1, Temp: c(20)}, {At: 24 * h, Temp: c(20)}, {At: 24*h + 1, Temp: c(10)}}, 48 * h, "cure notes E1, ASTM C1074 form"},
	} {
		got, err := cure.Reach(tc.law, tc.tr, 0)
		if err != nil || math.Abs(float64(got-tc.want)) > 1e-6*float64(tc.want) {
			t.Errorf("%s: %v, %v; want %v ± 1e-6 (%s)", tc.name, got, err, tc.want, tc.src)
		}
	}
}

func hours(x float64) time.Duration { return time.Duration(x * float64(h)) }

// Minimum cure of the first course of an epoxy overlay by temperature bin:
// AASHTO-AGC-ARTBA Task Force 34 guide specification (1995), from memory.
func TestOverlayTable(t *testing.T) {
	f := units.Fahrenheit
	table := cure.Table{{f(62), 4 * h}, {f(67), 3 * h}, {f(72), 150 * time.Minute}, {f(77), 2 * h}, {f(82), 90 * time.Minute}}
	for _, p := range table {
		if got, err := table.Time(p.Temp); err != nil || got != p.Time {
			t.Errorf("%v: %v, %v; want the row, %v", p.Temp, got, err, p.Time)
		}
		if at, err := cure.Reach(table, climate.Trace{{At: 0, Temp: p.Temp}}, 3*h); err != nil || (at-3*h-p.Time).Abs() > time.Microsecond {
			t.Errorf("held at %v from 3h: %v, %v; want %v later", p.Temp, at, err, p.Time)
		}
	}
	// ln t linear in 1/T half-way in 1/T: the geometric mean. By hand.
	mid := units.Kelvin(2 / (1/f(62).Kelvin() + 1/f(67).Kelvin()))
	if got, err := table.Time(mid); err != nil || math.Abs(got.Hours()-math.Sqrt(12)) > 1e-9 {
		t.Errorf("half-way: %v, %v; want sqrt(4 x 3) h", got, err)
	}
}

func TestBeyondTheRows(t *testing.T) {
	f := units.Fahrenheit
	cold := climate.Trace{{At: 0, Temp: f(45)}}
	if _, err := cure.Reach(sheet, cold, 0); !errors.Is(err, units.ErrRange) {
		t.Errorf("strict table in the cold: %v; want a range error", err)
	}
	if _, err := cure.Reach(sheet.NotBefore(), cold, 0); !errors.Is(err, cure.ErrNotReached) {
		t.Errorf("nothing proceeds in the cold: %v; want ErrNotReached", err)
	}
	if at, err := cure.Reach(sheet.NotAfter(), cold, 0); err != nil || at != 22*h {
		t.Errorf("latest in the cold: %v, %v; want the coldest row, 22h", at, err)
	}
	// Cold for 10 h, then at 60 °F: 24 h. A step in 1 ns.
	if at, err := cure.Reach(sheet.NotBefore(), climate.Trace{{At: 0, Temp: f(45)}, {At: 10 * h, Temp: f(45)}, {At: 10*h + 1, Temp: f(60)}}, 0); err != nil || (at-24*h).Abs() > time.Second {
		t.Errorf("cold then warm: %v, %v; want 24h", at, err)
	}
	if at, err := sheet.NotBefore().Time(f(95)); err != nil || at != 8*h {
		t.Errorf("earliest in the heat: %v, %v; want no less than 8h", at, err)
	}
	if at, err := sheet.NotAfter().Time(f(95)); err != nil || at >= 8*h {
		t.Errorf("latest in the heat: %v, %v; want less than 8h", at, err)
	}
	if at, err := (cure.Table{{f(73), h}}).NotAfter().Time(f(91)); err != nil || at != h/2 {
		t.Errorf("one row, 10 K hotter: %v, %v; want half (common practice, no source)", at, err)
	}
	for _, bad := range []cure.Table{nil, {{f(50), 0}}, {{f(50), h}, {f(50), 2 * h}}, {{units.Temperature{}, h}}} {
		if _, err := bad.Time(f(50)); err == nil {
			t.Errorf("%v: want an error", bad)
		}
		if _, err := cure.Reach(bad.NotBefore(), cold, 0); err == nil {
			t.Errorf("%v: want an error", bad)
		}
	}
}

func history(t *rapid.T) climate.Trace {
	var tr climate.Trace
	at := time.Duration(0)
	for range rapid.IntRange(1, 12).Draw(t, "samples") {
		tr = append(tr, climate.Sample{At: at, Temp: units.Celsius(rapid.Float64Range(10, 23.8).Draw(t, "°C"))})
		at += time.Duration(rapid.IntRange(1, 1200).Draw(t, "minutes")) * time.Minute
	}
	return tr
}

func TestReachProperties(t *testing.T) { // its progress is 1; warmer is never later; a split history adds up
	rapid.Check(t, func(t *rapid.T) {
		tr := history(t)
		start := time.Duration(rapid.IntRange(0, 600).Draw(t, "start")) * time.Minute
		at, err := cure.Reach(sheet, tr, start)
		if err != nil || at <= start {
			t.Fatal(at, err)
		}
		p, err := cure.Progress(sheet, tr, start, at)
		if err != nil || math.Abs(float64(p)-1) > 1e-9 {
			t.Fatalf("progress at the event: %v, %v", float64(p), err)
		}
		mid := start + (at-start)/3
		a, _ := cure.Progress(sheet, tr, start, mid)
		b, _ := cure.Progress(sheet, tr, mid, at)
		if math.Abs(float64(a+b-p)) > 1e-9 {
			t.Fatalf("%v + %v != %v", a, b, p)
		}
		warmer := append(climate.Trace(nil), tr...)
		for i := range warmer {
			warmer[i].Temp = warmer[i].Temp.Add(0.08)
		}
		if sooner, err := cure.Reach(sheet, warmer, start); err != nil || sooner > at {
			t.Fatalf("warmer: %v, %v; colder: %v", sooner, err, at)
		}
	})
}

func FuzzReach(f *testing.F) {
	f.Add(10.0, 20.0, int64(h), int64(8*h), int64(0))
	f.Add(10.0, 20.0, int64(math.MaxInt64), int64(8*h), int64(math.MinInt64))
	f.Add(10.0, 20.0, int64(h), int64(1), int64(math.MaxInt64))
	f.Fuzz(func(t *testing.T, a, b float64, at, life, start int64) {
		tr := climate.Trace{{At: 0, Temp: units.Celsius(a)}, {At: time.Duration(at), Temp: units.Celsius(b)}}
		table := cure.Table{{units.Celsius(10), time.Duration(life)}, {units.Celsius(20), time.Duration(life / 2)}}
		for _, l := range []cure.Law{table, table.NotBefore(), table.NotAfter()} {
			if got, err := cure.Reach(l, tr, time.Duration(start)); err == nil && got < time.Duration(start) {
				t.Fatalf("reached at %v before its start %v", got, time.Duration(start))
			}
		}
	})
}

func BenchmarkReach(b *testing.B) { // 72 h at 5 min: at most 50 us asked for; 25 measured
	var tr climate.Trace
	for i := range 865 {
		tr = append(tr, climate.Sample{At: time.Duration(i) * 5 * time.Minute, Temp: units.Celsius(16 + 5*math.Sin(float64(i)/46))})
	}
	long := cure.Table{{units.Celsius(10), 120 * h}, {units.Celsius(22), 71 * h}}
	l := cure.Law(long.NotBefore())
	b.ReportAllocs() // 0 allocs/op
	for b.Loop() {
		if _, err := cure.Reach(l, tr, 0); err != nil {
			b.Fatal(err)
		}
	}
}
