package cure_test

import (
	"math"
	"testing"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
)

// Tables as steep as a slip of the pen makes them, along a ramp through their
// rows, against the same integral of exp(a + b/T) in a million steps of
// Simpson's rule, good to better than 1e-11 here; tolerance: Reach's stated 1e-9.
func TestSteepTables(t *testing.T) {
	c := units.Celsius
	for _, table := range []cure.Table{
		{{c(10), 240 * h}, {c(11), 6 * time.Minute}},
		{{c(10), 240 * h}, {c(10.1), time.Minute}, {c(30), time.Second}},
		{{c(10), time.Minute}, {c(12), 2000 * h}},
		{{c(10), 16 * h}, {c(30), 4 * h}},
	} {
		lo, hi := table[0].Temp.Kelvin(), table[1].Temp.Kelvin()
		const ramp = 5 * time.Hour
		tr := climate.Trace{{At: 0, Temp: table[0].Temp}, {At: ramp, Temp: table[1].Temp}}
		r0, r1 := 1/table[0].Time.Seconds(), 1/table[1].Time.Seconds()
		rate := func(x float64) float64 {
			k := lo + (hi-lo)*x
			return r0 * math.Exp(math.Log(r1/r0)*(1/k-1/lo)/(1/hi-1/lo))
		}
		const n = 1_000_000
		sum := rate(0) + rate(1)
		for i := 1; i < n; i++ {
			sum += rate(float64(i)/n) * float64(2+2*(i%2))
		}
		want := sum / (3 * n) * ramp.Seconds()
		for _, l := range []cure.Law{table, table.NotBefore(), table.NotAfter()} {
			got, err := cure.Progress(l, tr, 0, ramp)
			if err != nil || math.Abs(float64(got)/want-1) > 1e-9 {
				t.Errorf("%v: %.12g, %v; want %.12g ± 1e-9", table, float64(got), err, want)
			}
			at, err := cure.Reach(l, tr, 0)
			if err != nil || at > ramp {
				continue
			}
			if p, err := cure.Progress(l, tr, 0, at); err != nil || math.Abs(float64(p)-1) > 1e-9+2*rate(float64(at)/float64(ramp))*1e-9 {
				t.Errorf("%v: progress %.12g at the event, %v", table, float64(p), err)
			}
		}
	}
}

// Two rows that all but stand at one temperature end too, and say what they cannot.
func TestSteepestTable(t *testing.T) {
	k := units.Kelvin
	table := cure.Table{{k(283.15), 1000 * h}, {k(283.15 + 1e-9), time.Nanosecond}}
	tr := climate.Trace{{At: 0, Temp: k(270)}, {At: 10 * h, Temp: k(300)}}
	for _, l := range []cure.Law{table.NotBefore(), table.NotAfter()} {
		at, err := cure.Reach(l, tr, 0)
		if want := hours(10 * 13.15 / 30); err != nil || (at-want).Abs() > time.Second {
			t.Errorf("reached at %v, %v; want about %v, where the ramp passes the rows", at, err, want)
		}
		if p, err := cure.Progress(l, tr, 0, 10*h); math.IsNaN(float64(p)) != (err != nil) || math.IsInf(float64(p), 0) {
			t.Errorf("progress %v, %v", float64(p), err)
		}
	}
}

// A law is of the rows that the table had, in whatever order. By the doc comment.
func TestLawsKeepTheirRows(t *testing.T) {
	table := cure.Table{{units.Celsius(10), 10 * h}, {units.Celsius(20), 5 * h}}
	before, after := table.NotBefore(), table.NotAfter()
	table[0].Time = h
	for _, l := range []cure.Law{before, after} {
		if d, err := l.Time(units.Celsius(10)); err != nil || d != 10*h {
			t.Errorf("%v, %v after the table was changed; want 10h", d, err)
		}
	}
}

// long is a table of a hundred thousand rows in no order.
func long() cure.Table {
	var table cure.Table
	for i := range 100_000 {
		table = append(table, cure.Point{Temp: units.Celsius(float64((i*7919)%100_000) / 1000), Time: h})
	}
	return table
}

func BenchmarkValidateLongTable(b *testing.B) { // n log n: below 0.1 s
	table := long()
	for b.Loop() {
		if err := table.Validate(); err != nil {
			b.Fatal(err)
		}
	}
}

// Of a hundred thousand rows two at one temperature are found wherever they
// stand. Common practice, no source.
func TestValidateLongTable(t *testing.T) {
	table := long()
	if err := table.Validate(); err != nil {
		t.Error(err)
	}
	table[99_999].Temp = table[17].Temp
	if err := table.Validate(); err == nil {
		t.Errorf("two rows at %v are taken", table[17].Temp)
	}
}
