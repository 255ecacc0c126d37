package climate_test

import (
	"errors"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

func TestTraceRefusals(t *testing.T) {
	c := units.Celsius
	for name, tr := range map[string]climate.Trace{
		"empty":            nil,
		"zero temperature": {{}},
		"NaN":              {{Temp: units.NaNTemperature()}},
		"101 °C":           {{Temp: c(101)}},
		"a hair over":      {{Temp: c(100 + 1.7e-7)}},
		"-61 °C":           {{Temp: c(-61)}},
		"twice":            {{Temp: c(1)}, {Temp: c(2)}},
		"backwards":        {{At: 2, Temp: c(1)}, {At: 1, Temp: c(2)}},
		"out of time":      {{At: math.MaxInt64, Temp: c(1)}},
		"out of time too":  {{At: math.MinInt64, Temp: c(1)}},
	} {
		if err := tr.Validate(); !errors.Is(err, units.ErrRange) {
			t.Errorf("%s: %v; want a range error", name, err)
		}
	}
	if v, err := (climate.Trace{}).At(0); !errors.Is(err, units.ErrRange) || !v.IsNaN() {
		t.Errorf("empty: %v, %v", v, err)
	}
	for _, d := range []float64{0, 1e-8, 1e-7, 1.3e-7} { // limits give way by a billionth of the span, 1.6e-7 K
		if err := (climate.Trace{{Temp: c(100 + d)}, {At: 1, Temp: c(-60 - d)}}).Validate(); err != nil {
			t.Errorf("%v K over: %v", d, err)
		}
	}
}

func TestTraceProperties(t *testing.T) { // through its samples, between neighbours, held past its ends
	rapid.Check(t, func(t *rapid.T) {
		var tr climate.Trace
		at := time.Duration(rapid.Int64Range(-1<<61, 1<<60).Draw(t, "first"))
		for range rapid.IntRange(1, 6).Draw(t, "n") {
			tr = append(tr, climate.Sample{At: at, Temp: units.Celsius(rapid.Float64Range(-60, 100).Draw(t, "c"))})
			at += time.Duration(rapid.Int64Range(1, 1<<57).Draw(t, "gap"))
		}
		if err := tr.Validate(); err != nil {
			t.Fatal(err)
		}
		for i, s := range tr {
			if v, err := tr.At(s.At); err != nil || v != s.Temp {
				t.Fatalf("%v at sample %d, %v", v, i, err)
			}
			if i == 0 {
				continue
			}
			a := tr[i-1]
			x := time.Duration(rapid.Int64Range(int64(a.At), int64(s.At)).Draw(t, "between"))
			v, err := tr.At(x)
			lo, hi := min(a.Temp.Kelvin(), s.Temp.Kelvin()), max(a.Temp.Kelvin(), s.Temp.Kelvin())
			if k := v.Kelvin(); err != nil || !(k >= lo-1e-12 && k <= hi+1e-12) {
				t.Fatalf("%v at %v, between %v and %v K, %v", v, x, lo, hi, err)
			}
		}
		first, _ := tr.At(math.MinInt64)
		last, _ := tr.At(math.MaxInt64)
		if first != tr[0].Temp || last != tr[len(tr)-1].Temp {
			t.Fatalf("past the ends %v and %v", first, last)
		}
	})
}
