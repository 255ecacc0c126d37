package cure_test

import (
	"errors"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
)

// overPressure is the table of a film whose front comes as 1 over the vapour
// pressure in the air: 10 h at 23 °C and 50 %.
func overPressure(t *testing.T, temps, rh []float64) cure.HumidTable {
	p := func(c, rh float64) float64 {
		v, err := climate.Air{Temp: units.Celsius(c), RH: units.Fraction(rh / 100)}.VapourPressure()
		if err != nil {
			t.Fatal(err)
		}
		return float64(v)
	}
	tab := cure.HumidTable{By: cure.MoistureCured}
	for _, v := range rh {
		tab.RH = append(tab.RH, units.Fraction(v/100))
	}
	for _, c := range temps {
		tab.Temps = append(tab.Temps, units.Celsius(c))
		var row []time.Duration
		for _, v := range rh {
			row = append(row, hours(10*p(23, 50)/p(c, v)))
		}
		tab.Times = append(tab.Times, row)
	}
	return tab
}

// Depth of a moisture-cured film goes as the root of pressure times time (Comyn, from
// memory), so that time goes as 1/p: at 10 °C and 50 % 2.288843 times that at 23 °C
// and 50 %, with the vapour pressure of Wagner and Pruss (notes, section 4). With rows
// there it is that, within the 0.1 % by which pressures differ; from rows 30 K
// apart the stated 1 %.
func TestHumidTable(t *testing.T) {
	near := overPressure(t, []float64{10, 23, 35}, []float64{30, 50, 80})
	far := overPressure(t, []float64{5, 35}, []float64{30, 80})
	for _, tc := range []struct {
		c, rh, want float64 // want: times those 10 h
	}{{23, 50, 1}, {10, 50, 2.288843}, {23, 80, 1405.48 / 2248.76}, {35, 50, 1405.48 / 2814.53}} {
		for _, x := range []struct {
			tab cure.HumidTable
			tol float64
		}{{near, 1e-3}, {far, 1e-2}} {
			d, err := x.tab.Time(units.Celsius(tc.c), units.Fraction(tc.rh/100))
			if err != nil || math.Abs(d.Hours()/10/tc.want-1) > x.tol {
				t.Errorf("%v °C, %v %%: %v, %v; want %v ± %v", tc.c, tc.rh, d.Hours()/10, err, tc.want, x.tol)
			}
		}
	}
	// Damp is faster with the one and slower with the other; half way in the axis is
	// the geometric mean, by hand.
	wet := cure.HumidTable{By: cure.Waterborne, Temps: []units.Temperature{units.Celsius(20)}, RH: []units.Fraction{0.2, 0.8}, Times: [][]time.Duration{{2 * h, 8 * h}}}
	if d, err := wet.Time(units.Celsius(20), 0.6); err != nil || math.Abs(d.Hours()-4) > 1e-9 { // 1 - 0.6 = sqrt(0.8 x 0.2)
		t.Errorf("%v, %v; want 4h", d, err)
	}
	dry := cure.HumidTable{By: cure.MoistureCured, Temps: []units.Temperature{units.Celsius(20)}, RH: []units.Fraction{0.2, 0.8}, Times: [][]time.Duration{{8 * h, 2 * h}}}
	if d, err := dry.Time(units.Celsius(20), 0.4); err != nil || math.Abs(d.Hours()-4) > 1e-9 { // 0.4 = sqrt(0.8 x 0.2)
		t.Errorf("%v, %v; want 4h", d, err)
	}
	row, err := near.At(0.5)
	if err != nil || len(row) != 3 || math.Abs(row[1].Time.Hours()-10) > 1e-9 {
		t.Errorf("%v, %v; want 10h at 23 °C", row, err)
	}
	if at, err := cure.Reach(row, climate.Trace{{At: 0, Temp: units.Celsius(23)}}, 0); err != nil || (at-10*h).Abs() > 10 {
		t.Errorf("%v, %v; want 10h", at, err)
	}
}

func TestHumidTableErrors(t *testing.T) {
	good := func() cure.HumidTable { return overPressure(t, []float64{5, 35}, []float64{30, 80}) }
	for name, spoil := range map[string]func(*cure.HumidTable){
		"no dependence": func(h *cure.HumidTable) { h.By = 0 }, "no rows": func(h *cure.HumidTable) { h.Times = nil },
		"a row short": func(h *cure.HumidTable) { h.Times[1] = h.Times[1][:1] }, "no time": func(t *cure.HumidTable) { t.Times[0][0] = 0 },
		"RH falls": func(h *cure.HumidTable) { h.RH[1] = 0.1 }, "dry air": func(h *cure.HumidTable) { h.RH[0] = 0 },
		"wet air": func(h *cure.HumidTable) { h.By, h.RH[1] = cure.Waterborne, 1 }, "NaN": func(h *cure.HumidTable) { h.RH[0] = units.Fraction(math.NaN()) },
		"temperatures fall": func(h *cure.HumidTable) { h.Temps[1] = h.Temps[0] }, "no temperature": func(h *cure.HumidTable) { h.Temps[0] = units.Temperature{} },
	} {
		tab := good()
		spoil(&tab)
		if d, err := tab.Time(units.Celsius(20), 0.5); !errors.Is(err, units.ErrRange) || d != 0 {
			t.Errorf("%s: %v, %v; want a range error", name, d, err)
		}
	}
	for _, at := range [][2]float64{{20, 0.2}, {20, 0.9}, {0, 0.5}, {40, 0.5}, {20, math.NaN()}, {math.NaN(), 0.5}} {
		if d, err := good().Time(units.Celsius(at[0]), units.Fraction(at[1])); !errors.Is(err, units.ErrRange) || d != 0 {
			t.Errorf("%v: %v, %v; want a range error", at, d, err)
		}
	}
}

// Every row is met; in between it is between its four corners.
func TestHumidTableBetweenItsCorners(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tab := cure.HumidTable{By: rapid.SampledFrom([]cure.Dependence{cure.MoistureCured, cure.Waterborne}).Draw(t, "by"),
			Temps: []units.Temperature{units.Celsius(5), units.Celsius(15), units.Celsius(40)}, RH: []units.Fraction{0.2, 0.5, 0.9}}
		for range tab.Temps {
			var row []time.Duration
			for range tab.RH {
				row = append(row, hours(rapid.Float64Range(0.01, 500).Draw(t, "h")))
			}
			tab.Times = append(tab.Times, row)
		}
		i, j := rapid.IntRange(0, 1).Draw(t, "i"), rapid.IntRange(0, 1).Draw(t, "j")
		d, err := tab.Time(tab.Temps[i], tab.RH[j])
		if err != nil || (d-tab.Times[i][j]).Abs() > 1+d/1e9 {
			t.Fatalf("row %d, column %d: %v, %v; want %v", i, j, d, err, tab.Times[i][j])
		}
		x := units.TempDelta(rapid.Float64Range(0, 1).Draw(t, "x"))
		y := units.Fraction(rapid.Float64Range(0, 1).Draw(t, "y"))
		d, err = tab.Time(tab.Temps[i].Add(x*tab.Temps[i+1].Sub(tab.Temps[i])), tab.RH[j]+y*(tab.RH[j+1]-tab.RH[j]))
		a, b, c, e := tab.Times[i][j], tab.Times[i+1][j], tab.Times[i][j+1], tab.Times[i+1][j+1]
		if err != nil || d < min(a, b, c, e)-10 || d > max(a, b, c, e)+10+d/1e9 {
			t.Fatalf("%v, %v; want %v, %v, %v, %v around it", d, err, a, b, c, e)
		}
	})
}
