package cure_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
)

// A moisture-cured coat overnight: the room cools from 20 °C to 14 °C and its air
// dries with the heater on. Of our own invention, illustrative.
func ExampleHumidLaw_Reach() {
	touch := cure.HumidTable{
		By:    cure.MoistureCured,
		Temps: []units.Temperature{units.Celsius(10), units.Celsius(20), units.Celsius(30)},
		RH:    []units.Fraction{0.30, 0.50, 0.80},
		Times: [][]time.Duration{{18 * h, 12 * h, 8 * h}, {9 * h, 6 * h, 4 * h}, {5 * h, 3 * h, 2 * h}},
	}
	air := climate.Weather{{At: 0, Temp: units.Celsius(20), RH: 0.50}, {At: 12 * h, Temp: units.Celsius(14), RH: 0.55}}
	floor := climate.Trace{{At: 0, Temp: units.Celsius(18)}, {At: 12 * h, Temp: units.Celsius(15)}}
	damp, err := cure.HumidityOver(air, floor)
	if err != nil {
		fmt.Println(err)
	}
	at, err := touch.Law().Reach(floor, damp, 0)
	fmt.Println(at.Round(time.Minute), err)
	// Output: 6h38m0s <nil>
}

func humidTable(t *rapid.T) cure.HumidTable {
	tab := cure.HumidTable{By: rapid.SampledFrom([]cure.Dependence{cure.MoistureCured, cure.Waterborne}).Draw(t, "by"),
		Temps: []units.Temperature{units.Celsius(5), units.Celsius(15), units.Celsius(22), units.Celsius(40)}, RH: []units.Fraction{0.2, 0.5, 0.65, 0.9}}
	for range tab.Temps {
		var row []time.Duration
		for range tab.RH {
			row = append(row, hours(rapid.Float64Range(1, 60).Draw(t, "h")))
		}
		tab.Times = append(tab.Times, row)
	}
	return tab
}

// dampNight draws two histories that stay within the rows, with readings at
// different times.
func dampNight(t *rapid.T) (climate.Trace, cure.Humidity) {
	var tr climate.Trace
	var damp cure.Humidity
	for i := range rapid.IntRange(1, 5).Draw(t, "temperatures") {
		tr = append(tr, climate.Sample{At: time.Duration(i)*5*h + time.Duration(rapid.IntRange(0, 3600).Draw(t, "s"))*time.Second, Temp: units.Celsius(rapid.Float64Range(5, 40).Draw(t, "°C"))})
	}
	for i := range rapid.IntRange(1, 6).Draw(t, "humidities") {
		damp = append(damp, cure.Damp{At: time.Duration(i)*4*h + time.Duration(rapid.IntRange(0, 3600).Draw(t, "s"))*time.Second, RH: units.Fraction(rapid.Float64Range(0.2, 0.9).Draw(t, "RH"))})
	}
	return tr, damp
}

// By hand: where the time goes as 1/RH the rate goes as RH, so that a ramp of it
// brings what its mean does; where as 1/(1-RH), as the mean of that.
func TestHumidAlongByHand(t *testing.T) {
	at20 := func(by cure.Dependence, dry, damp time.Duration) cure.HumidLaw {
		return cure.HumidTable{By: by, Temps: []units.Temperature{units.Celsius(20)}, RH: []units.Fraction{0.2, 0.8}, Times: [][]time.Duration{{dry, damp}}}.Law()
	}
	moist, water := at20(cure.MoistureCured, 20*h, 5*h), at20(cure.Waterborne, 5*h, 20*h) // 4 h/RH and 4 h/(1-RH)
	level := climate.Trace{{At: 0, Temp: units.Celsius(20)}}
	for _, tc := range []struct {
		name  string
		law   cure.HumidLaw
		damp  cure.Humidity
		start time.Duration
		want  float64 // h
	}{
		{"held at 40 %", moist, cure.Humidity{{At: 0, RH: 0.4}}, 0, 10},
		{"40 to 60 % in 8 h: 8 h of 50 %", moist, cure.Humidity{{At: 0, RH: 0.4}, {At: 8 * h, RH: 0.6}}, 0, 8},
		{"begun before the first reading", moist, cure.Humidity{{At: 0, RH: 0.4}, {At: 8 * h, RH: 0.6}}, -5 * h, 40 * (math.Sqrt(0.26) - 0.4)}, // 0.4 x + x²/80 = 2
		{"held after it: 3.2 h of RH by 8 h, 0.8 h of it at 60 %", moist, cure.Humidity{{At: 0, RH: 0.2}, {At: 8 * h, RH: 0.6}}, 0, 8 + 0.8/0.6},
		{"held at 60 %, waterborne", water, cure.Humidity{{At: 0, RH: 0.6}}, 0, 10},
		{"60 to 40 % in 8 h, waterborne", water, cure.Humidity{{At: 0, RH: 0.6}, {At: 8 * h, RH: 0.4}}, 0, 8},
	} {
		at, err := tc.law.Reach(level, tc.damp, tc.start)
		if err != nil || math.Abs(at.Hours()-tc.want) > 1e-8 {
			t.Errorf("%s: %v, %v; want %v h", tc.name, at.Hours(), err, tc.want)
		}
	}
}

// Progress against the Gauss-Legendre rule of gonum/integrate with 40 points, of
// 1/Time of the table itself, between the readings and the crossings of rows and
// columns, which are of straight lines: 1e-9, as stated.
func TestHumidProgressAgainstQuadrature(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tab := humidTable(t)
		tr, damp := dampNight(t)
		from := -h + time.Duration(rapid.IntRange(0, 600).Draw(t, "from"))*time.Minute
		to := from + time.Duration(rapid.IntRange(1, 1800).Draw(t, "to"))*time.Minute
		rate := func(s float64) float64 {
			at := time.Duration(math.Round(s * 1e9))
			temp, _ := tr.At(at)
			rh, _ := damp.At(at)
			d, err := tab.Time(temp, rh)
			if err != nil {
				t.Fatal(err)
			}
			return 1 / d.Seconds()
		}
		ends := []float64{from.Seconds(), to.Seconds()}
		cross := func(a, b, s0, s1 float64, rows ...float64) {
			ends = append(ends, s0, s1)
			for _, v := range rows {
				if x := (v - a) / (b - a); x > 0 && x < 1 {
					ends = append(ends, s0+(s1-s0)*x)
				}
			}
		}
		for i := range tr[1:] {
			cross(tr[i].Temp.Celsius(), tr[i+1].Temp.Celsius(), tr[i].At.Seconds(), tr[i+1].At.Seconds(), 5, 15, 22, 40)
		}
		for i := range damp[1:] {
			cross(float64(damp[i].RH), float64(damp[i+1].RH), damp[i].At.Seconds(), damp[i+1].At.Seconds(), 0.2, 0.5, 0.65, 0.9)
		}
		ends = append(ends, tr[0].At.Seconds(), damp[0].At.Seconds())
		slices.Sort(ends)
		want := 0.0
		for i := range ends[1:] {
			if a, b := max(ends[i], from.Seconds()), min(ends[i+1], to.Seconds()); a < b {
				want += quad.Fixed(rate, a, b, 40, nil, 0)
			}
		}
		got, err := tab.Law().Progress(tr, damp, from, to)
		if err != nil || math.Abs(float64(got)/want-1) > 1e-9 {
			t.Fatalf("%.14g, %v; want %.14g", float64(got), err, want)
		}
		// The event is where the progress is 1, and its latest start the start.
		at, err := tab.Law().Reach(tr, damp, from)
		if err != nil {
			t.Fatal(err)
		}
		one, err := tab.Law().Progress(tr, damp, from, at)
		if err != nil || math.Abs(float64(one)-1) > 1e-9 {
			t.Fatalf("progress %.14g at the event at %v, %v", float64(one), at, err)
		}
		begin, err := tab.Law().LatestStart(tr, damp, at)
		if err != nil || (begin-from).Abs() > 2*time.Millisecond { // 1e-9 of 60 days at the most
			t.Fatalf("latest start %v, %v; want %v", begin, err, from)
		}
		mid := from + (to-from)/3
		a, err1 := tab.Law().Progress(tr, damp, from, mid)
		b, err2 := tab.Law().Progress(tr, damp, mid, to)
		if err1 != nil || err2 != nil || math.Abs(float64(a+b-got)) > 1e-9*float64(got) {
			t.Fatalf("the parts %v and %v (%v, %v) are not %v", a, b, err1, err2, got)
		}
	})
}

// At one humidity it is Reach with the table at that humidity, within the 1e-9 of both.
func TestHumidReachAtOneHumidity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tab := humidTable(t)
		tr, damp := dampNight(t)
		damp = cure.Humidity{{At: damp[0].At, RH: damp[0].RH}}
		row, err := tab.At(damp[0].RH)
		if err != nil {
			t.Fatal(err)
		}
		start := time.Duration(rapid.IntRange(-600, 1800).Draw(t, "start")) * time.Minute
		want, err := cure.Reach(row, tr, start)
		if err != nil {
			t.Fatal(err)
		}
		got, err := tab.Law().Reach(tr, damp, start)
		if err != nil || (got-want).Abs() > 10+(want-start)/5e8 {
			t.Fatalf("%v, %v; want %v", got, err, want)
		}
		temp, rh := tr[0].Temp, damp[0].RH
		a, err1 := tab.Time(temp, rh)
		b, err2 := tab.Law().Time(temp, rh)
		if err1 != nil || err2 != nil || (a-b).Abs() > 2+a/1e9 {
			t.Fatalf("%v, %v by the law; want %v, %v", b, err2, a, err1)
		}
	})
}

// Beyond the rows each law is on its own safe side. By the doc comments, with the
// rows' own times.
func TestHumidEdges(t *testing.T) {
	c := units.Celsius
	moist := cure.HumidTable{By: cure.MoistureCured, Temps: []units.Temperature{c(10), c(20)}, RH: []units.Fraction{0.4, 0.8}, Times: [][]time.Duration{{20 * h, 10 * h}, {8 * h, 4 * h}}}
	water := cure.HumidTable{By: cure.Waterborne, Temps: moist.Temps, RH: moist.RH, Times: [][]time.Duration{{10 * h, 20 * h}, {4 * h, 8 * h}}}
	for _, tc := range []struct {
		tab             cure.HumidTable
		temp, rh        float64
		earliest, atest time.Duration // 0: an error
	}{
		{moist, 20, 0.8, 4 * h, 4 * h}, {moist, 5, 0.8, cure.Never, 10 * h}, {moist, 25, 0.8, 4 * h, 0},
		{moist, 20, 0.3, cure.Never, 8 * h}, {moist, 20, 0.95, 4 * h, 0}, {moist, 20, 0, cure.Never, 8 * h}, {moist, 5, 0.3, cure.Never, 20 * h},
		{water, 20, 0.95, cure.Never, 8 * h}, {water, 20, 1.2, cure.Never, 8 * h}, {water, 20, 0, 4 * h, 0}, {water, 5, 0.2, cure.Never, 0},
	} {
		name := fmt.Sprint(tc.tab.By, tc.temp, tc.rh)
		d, err := tc.tab.NotBefore().Time(c(tc.temp), units.Fraction(tc.rh))
		if err != nil || d != cure.Never && (d-tc.earliest).Abs() > 10 || d == cure.Never != (tc.earliest == cure.Never) {
			t.Errorf("%s: not before %v, %v; want %v", name, d, err, tc.earliest)
		}
		d, err = tc.tab.NotAfter().Time(c(tc.temp), units.Fraction(tc.rh))
		if (d-tc.atest).Abs() > 10 || errors.Is(err, units.ErrRange) != (tc.atest == 0) {
			t.Errorf("%s: not after %v, %v; want %v", name, d, err, tc.atest)
		}
		if inside := tc.temp == 20 && tc.rh == 0.8; !inside {
			if d, err := tc.tab.Law().Time(c(tc.temp), units.Fraction(tc.rh)); d != 0 || !errors.Is(err, units.ErrRange) {
				t.Errorf("%s: %v, %v; want a range error", name, d, err)
			}
		}
	}
	// Nothing proceeds while the air is too dry, and goes on after: 4 h at 80 %,
	// none of them in the 10 h at 20 %.
	level := climate.Trace{{At: 0, Temp: c(20)}}
	dip := cure.Humidity{{At: 0, RH: 0.8}, {At: 1, RH: 0.2}, {At: 10 * h, RH: 0.2}, {At: 10*h + 1, RH: 0.8}}
	if at, err := moist.NotBefore().Reach(level, dip, 0); err != nil || (at-14*h).Abs() > time.Microsecond {
		t.Errorf("reached at %v, %v; want 14h", at, err)
	}
	if at, err := moist.NotBefore().LatestStart(level, dip, 12*h); err != nil || at > 0 || (at+2*h).Abs() > time.Microsecond {
		t.Errorf("latest start %v, %v; want -2h", at, err)
	}
	if at, err := moist.NotBefore().Reach(level, cure.Humidity{{RH: 0.2}}, 0); !errors.Is(err, cure.ErrNotReached) || at != 0 {
		t.Errorf("%v, %v; want never", at, err)
	}
	if at, err := moist.NotBefore().LatestStart(level, cure.Humidity{{RH: 0.2}}, 0); !errors.Is(err, cure.ErrNotReached) || at != 0 {
		t.Errorf("%v, %v; want never", at, err)
	}
}

// The air of the notes, 10 °C and 50 %: 614.06 Pa (Wagner and Pruss). Over a floor
// of 15 °C, where 1705.7 Pa saturate, it is at 36.0 %; over one of -0.5 °C it is at
// its dew point. Between readings it is the humidity of Weather within 1e-4 of itself.
func TestHumidityOver(t *testing.T) {
	c := units.Celsius
	air := climate.Weather{{At: 0, Temp: c(10), RH: 0.5}}
	damp, err := cure.HumidityOver(air, climate.Trace{{At: h, Temp: c(15)}})
	if err != nil || len(damp) != 2 || math.Abs(float64(damp[0].RH)-614.06/1705.7) > 1e-4 || damp[1] != (cure.Damp{At: h, RH: damp[0].RH}) {
		t.Errorf("%v, %v; want 36.0 %% twice", damp, err)
	}
	// Vapour that rises to 25 times as much while the floor warms up by 40 K: within a
	// minute of the dry end it changes by 1.6 %. And air that fog comes into between readings.
	for _, c := range []struct {
		air   climate.Weather
		floor climate.Trace
	}{
		{climate.Weather{{At: 0, Temp: c(0.5), RH: 0.125}, {At: 5 * h, Temp: c(17.5), RH: 1}}, climate.Trace{{At: 0, Temp: c(0)}, {At: 4 * h, Temp: c(40)}}},
		{climate.Weather{{At: 0, Temp: c(35), RH: 0.754}, {At: 5 * h, Temp: c(-0.25), RH: 0.281}}, climate.Trace{{At: 0, Temp: c(1)}}},
		{climate.Weather{{At: 0, Temp: c(-35), RH: 1}, {At: 5 * h, Temp: c(-5), RH: 1}}, climate.Trace{{At: 0, Temp: c(0)}, {At: 5 * h, Temp: c(-24)}}},
	} {
		damp, err := cure.HumidityOver(c.air, c.floor)
		if err != nil || damp.Validate() != nil {
			t.Fatal(err, damp.Validate())
		}
		for at := time.Duration(0); at <= 5*h; at += 7 * time.Second {
			a, _ := c.air.At(at)
			s, _ := c.floor.At(at)
			want, _ := a.SurfaceRH(s)
			if got, _ := damp.At(at); math.Abs(float64(got/want)-1) > 1e-4 {
				t.Fatalf("%v at %v; want %v", float64(got), at, float64(want))
			}
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		var air climate.Weather
		var floor climate.Trace
		for i := range rapid.IntRange(1, 4).Draw(t, "readings") {
			air = append(air, climate.Reading{At: time.Duration(i) * 5 * h, Temp: c(rapid.Float64Range(-5, 35).Draw(t, "air")), RH: units.Fraction(rapid.Float64Range(0.05, 1).Draw(t, "RH"))})
		}
		for i := range rapid.IntRange(1, 4).Draw(t, "samples") {
			floor = append(floor, climate.Sample{At: time.Duration(i) * 4 * h, Temp: c(rapid.Float64Range(0, 40).Draw(t, "floor"))})
		}
		damp, err := cure.HumidityOver(air, floor)
		if err != nil || damp.Validate() != nil {
			t.Fatal(err, damp.Validate())
		}
		at := time.Duration(rapid.IntRange(-60, 1200).Draw(t, "at")) * time.Minute
		a, _ := air.At(at)
		s, _ := floor.At(at)
		want, err1 := a.SurfaceRH(s)
		got, err2 := damp.At(at)
		if err1 != nil || err2 != nil || math.Abs(float64(got/want)-1) > 1e-4 {
			t.Fatalf("%v, %v at %v; want %v, %v", float64(got), err2, at, float64(want), err1)
		}
	})
}

// A film that cures as 1 over the vapour pressure (Comyn, from memory) at the
// pressure of 15 °C and 50 % air, 853 Pa, over a floor of 10 °C: 10 h times 1405.48
// Pa over it; 0.2 % for the pressures and the interpolation between near rows.
func TestHumidOverColdFloor(t *testing.T) {
	tab := overPressure(t, []float64{5, 10, 15, 23}, []float64{30, 50, 60, 80})
	air, floor := climate.Weather{{Temp: units.Celsius(15), RH: 0.5}}, climate.Trace{{Temp: units.Celsius(10)}}
	damp, err := cure.HumidityOver(air, floor)
	if err != nil {
		t.Fatal(err)
	}
	at, err := tab.Law().Reach(floor, damp, 0)
	if want := 10 * 1405.48 / 852.9; err != nil || math.Abs(at.Hours()/want-1) > 2e-3 {
		t.Errorf("%v h, %v; want %v", at.Hours(), err, want)
	}
}

func TestHumidAlongErrors(t *testing.T) {
	c := units.Celsius
	tab := cure.HumidTable{By: cure.Waterborne, Temps: []units.Temperature{c(10), c(20)}, RH: []units.Fraction{0.4, 0.8}, Times: [][]time.Duration{{10 * h, 20 * h}, {4 * h, 8 * h}}}
	tr, damp := climate.Trace{{Temp: c(15)}}, cure.Humidity{{RH: 0.5}}
	for name, err := range map[string]error{
		"humidity in percent": errOf(tab.Law().Reach(tr, cure.Humidity{{RH: 50}}, 0)), "NaN": errOf(tab.Law().Reach(tr, cure.Humidity{{RH: units.Fraction(math.NaN())}}, 0)),
		"no humidity": errOf(tab.Law().Reach(tr, nil, 0)), "no temperature": errOf(tab.Law().Reach(nil, damp, 0)), "times fall": errOf(tab.Law().Reach(tr, cure.Humidity{{At: h, RH: 0.5}, {RH: 0.5}}, 0)),
		"bad table": errOf(cure.HumidTable{}.NotAfter().Reach(tr, damp, 0)), "backward": errOf(tab.Law().Progress(tr, damp, h, 0)), "far": errOf(tab.Law().Reach(tr, damp, math.MaxInt64)),
		"far back": errOf(tab.Law().LatestStart(tr, damp, math.MinInt64)), "time": errOf(tab.Law().Time(c(15), -1)), "over nothing": errOf(cure.HumidityOver(nil, tr)),
		"hot floor": errOf(cure.HumidityOver(climate.Weather{{Temp: c(20), RH: 0.5}}, climate.Trace{{Temp: c(90)}})), "of nothing": errOf(cure.Humidity(nil).At(0)),
	} {
		if !errors.Is(err, units.ErrRange) {
			t.Errorf("%s: %v; want a range error", name, err)
		}
	}
	if _, err := (cure.HumidLaw{}).Reach(tr, damp, 0); err == nil {
		t.Error("no error for no law")
	}
	if _, err := cure.HumidityOver(climate.Weather{{Temp: c(40), RH: 1}}, climate.Trace{{Temp: c(1)}}); err == nil || !strings.Contains(err.Error(), "at 0s") {
		t.Errorf("%v; want an error at 0s", err)
	}
	_, err := tab.Law().Reach(tr, cure.Humidity{{RH: 0.5}, {At: 2 * h, RH: 0.9}}, 0)
	if err == nil || !strings.Contains(err.Error(), "from 1h30m0s on: cure.HumidLaw.Reach: rh = 85 %: want 40 to 80") {
		t.Errorf("%v; want the time from which it is outside, rh and its range", err)
	}
	_, err = tab.Law().LatestStart(tr, cure.Humidity{{RH: 0.9}, {At: 2 * h, RH: 0.5}}, 3*h)
	if err == nil || !strings.Contains(err.Error(), "up to 30m0s: cure.HumidLaw.LatestStart: rh") {
		t.Errorf("%v; want the time up to which it is outside, and rh", err)
	}
}

func BenchmarkHumidReach(b *testing.B) { // 72 h at 5 min
	tr := day5min()
	var damp cure.Humidity
	for i, s := range tr {
		damp = append(damp, cure.Damp{At: s.At, RH: units.Fraction(0.5 + 0.2*math.Cos(float64(i)/46))})
	}
	c := units.Celsius
	l := cure.HumidTable{By: cure.Waterborne, Temps: []units.Temperature{c(10), c(15), c(25)}, RH: []units.Fraction{0.2, 0.5, 0.9}, Times: [][]time.Duration{{100 * h, 120 * h, 300 * h}, {70 * h, 90 * h, 200 * h}, {40 * h, 60 * h, 100 * h}}}.Law()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := l.Reach(tr, damp, 0); err != nil {
			b.Fatal(err)
		}
	}
}
