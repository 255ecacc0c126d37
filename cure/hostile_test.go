package cure_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
)

// A hostile caller: values at and past every end, and reasonable ones among them
// so that calls get through to the arithmetic.
type hostile struct{ *rand.Rand }

func (r hostile) float(lo, hi float64) float64 {
	if r.IntN(12) == 0 {
		odd := [...]float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, math.Copysign(0, -1), -1, 1e-300, 1e300, math.MaxFloat64, math.SmallestNonzeroFloat64, lo, hi, -lo}
		return odd[r.IntN(len(odd))]
	}
	return lo + (hi-lo)*r.Float64()
}

func (r hostile) temp() units.Temperature {
	if r.IntN(30) == 0 {
		return units.Temperature{}
	}
	return units.Celsius(r.float(-60, 100))
}

func (r hostile) time() time.Duration {
	switch r.IntN(12) {
	case 0:
		odd := [...]time.Duration{0, 1, -1, math.MaxInt64, math.MinInt64, math.MaxInt64 - 1, 1 << 61, -1 << 61, 1<<61 + 1}
		return odd[r.IntN(len(odd))]
	case 1:
		return time.Duration(r.Int64())
	}
	return time.Duration(r.Int64N(int64(100*h))) - 10*h
}

func (r hostile) trace() climate.Trace {
	var tr climate.Trace
	at := time.Duration(0)
	for range r.IntN(5) {
		tr = append(tr, climate.Sample{At: at, Temp: r.temp()})
		if at += time.Duration(r.Int64N(int64(20 * h))); r.IntN(40) == 0 {
			at = r.time()
		}
	}
	return tr
}

func (r hostile) table() cure.Table {
	var t cure.Table
	for range r.IntN(5) {
		t = append(t, cure.Point{Temp: r.temp(), Time: r.time()})
	}
	return t
}

func (r hostile) humidLaw() cure.HumidLaw {
	tab := cure.HumidTable{By: cure.Dependence(1 + r.IntN(2)), RH: []units.Fraction{units.Fraction(r.float(0.01, 0.5)), units.Fraction(r.float(0.5, 0.99))}}
	for i := range 1 + r.IntN(3) {
		tab.Temps = append(tab.Temps, units.Celsius(r.float(-60+50*float64(i), -10+50*float64(i))))
		tab.Times = append(tab.Times, []time.Duration{r.time().Abs(), r.time().Abs()})
	}
	switch r.IntN(3) {
	case 0:
		return tab.Law()
	case 1:
		return tab.NotBefore()
	}
	return tab.NotAfter()
}

func (r hostile) humidity() cure.Humidity {
	var d cure.Humidity
	at := time.Duration(0)
	for range r.IntN(5) {
		d = append(d, cure.Damp{At: at, RH: units.Fraction(r.float(0, 1))})
		if at += time.Duration(r.Int64N(int64(20 * h))); r.IntN(40) == 0 {
			at = r.time()
		}
	}
	return d
}

func (r hostile) arrhenius() cure.Arrhenius {
	a := cure.Arrhenius{Ea: units.MolarEnergy(r.float(0, 500e3)), Ref: r.temp(), Time: r.time()}
	if r.IntN(3) == 0 {
		a.Coldest, a.Hottest, a.DF = r.temp(), r.temp(), r.IntN(5)-1
		a.StdErr, a.Scatter = units.MolarEnergy(r.float(0, 10e3)), r.float(0, 1)
	}
	return a
}

func (r hostile) law(depth int) cure.Law {
	switch r.IntN(12) {
	case 0:
		return nil
	case 1:
		return r.table()
	case 2:
		return r.table().NotBefore()
	case 3:
		return r.table().NotAfter()
	case 4:
		return cure.Doubling{Step: units.TempDelta(r.float(1, 100)), Ref: r.temp(), Time: r.time()}.Law()
	case 5:
		return cure.HansenPedersen(r.time())
	case 6:
		var b cure.Bins
		for range r.IntN(4) {
			b = append(b, cure.Bin{Lo: r.temp(), Hi: r.temp(), Time: r.time()})
		}
		if r.IntN(2) == 0 {
			return b.NotBefore()
		}
		return b.NotAfter()
	case 7:
		if depth > 0 {
			return cure.AtLeast(r.law(depth-1), r.time())
		}
	case 8:
		if depth > 0 {
			return cure.AtMost(r.law(depth-1), r.time())
		}
	case 9:
		if depth > 0 {
			a, b := r.temp(), r.temp()
			return cure.Piecewise{{From: a, To: b, Law: r.law(depth - 1)}, {From: b, To: r.temp(), Law: r.law(depth - 1)}}
		}
	case 10:
		return r.arrhenius().ExtrapolatedLaw()
	}
	return r.arrhenius().Law()
}

// A property, common practice, no source. Hostile calls: none panics, and each returns either an error with NaN or
// zero beside it, or numbers that are finite and where they can be.
func TestHostileInputs(t *testing.T) {
	r := hostile{rand.New(rand.NewPCG(7, *hostileSeed))}
	good, calls := map[string]int{}, map[string]int{}
	for i := range hostileN(150_000) {
		var in []any
		var name, wrong string
		fail := func(err error, zero, fine bool) {
			switch {
			case err != nil && !zero:
				wrong = "a value beside an error"
			case err == nil && !fine:
				wrong = "a value that cannot be"
			case err == nil:
				good[name]++
			}
		}
		finite := func(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
		func() {
			defer func() {
				if p := recover(); p != nil {
					wrong = fmt.Sprint("panic: ", p)
				}
			}()
			switch i % 15 {
			case 0:
				name = "Reach"
				l, tr, start := r.law(2), r.trace(), r.time()
				in = []any{l, tr, start}
				at, err := cure.Reach(l, tr, start)
				fail(err, at == 0, at >= start)
			case 1:
				name = "Progress"
				l, tr, from, to := r.law(2), r.trace(), r.time(), r.time()
				in = []any{l, tr, from, to}
				p, err := cure.Progress(l, tr, from, to)
				fail(err, math.IsNaN(float64(p)), p >= 0 && finite(float64(p)))
			case 2:
				name = "EquivalentAge"
				ea, ref, tr, from, to := units.MolarEnergy(r.float(0, 500e3)), r.temp(), r.trace(), r.time(), r.time()
				in = []any{ea, ref, tr, from, to}
				d, err := cure.EquivalentAge(ea, ref, tr, from, to)
				fail(err, d == 0, d >= 0)
			case 3:
				name = "NurseSaul"
				datum, tr, from, to := r.temp(), r.trace(), r.time(), r.time()
				in = []any{datum, tr, from, to}
				m, err := cure.NurseSaul(datum, tr, from, to)
				fail(err, math.IsNaN(float64(m)), m >= 0 && finite(float64(m)))
			case 4:
				name = "Fit"
				rows := []cure.Point(r.table())
				in = []any{rows}
				a, err := cure.Fit(rows)
				sum := float64(a.Ea) + a.Ref.Kelvin() + float64(a.StdErr+a.CI95[0]+a.CI95[1]) + a.R2 + a.Scatter
				for _, x := range a.Residuals {
					sum += x
				}
				fail(err, a.Ea == 0 && a.Time == 0, finite(sum) && a.Time > 0 && a.Ea >= 0 && a.R2 >= 0 && a.R2 <= 1)
			case 5:
				name = "Time"
				l, temp := r.law(2), r.temp()
				if l == nil {
					return
				}
				in = []any{l, temp}
				d, err := l.Time(temp)
				fail(err, d == 0, d > 0)
			case 6:
				name = "LatestStart"
				l, tr, by := r.law(2), r.trace(), r.time()
				in = []any{l, tr, by}
				d, err := cure.LatestStart(l, tr, by)
				fail(err, d == 0, d <= by)
			case 7:
				name = "ReachAll"
				l, m, tr, start := r.law(1), r.law(1), r.trace(), r.time()
				in = []any{l, m, tr, start}
				all, err := cure.ReachAll([]cure.Law{l, m}, tr, start)
				fail(err, all == nil, len(all) == 2 && (all[0].Never || all[0].At >= start) && (all[1].Never || all[1].At >= start))
			case 8:
				name = "EquivalentAgeBounds"
				ea, eb, ref, tr, from, to := units.MolarEnergy(r.float(0, 500e3)), units.MolarEnergy(r.float(0, 500e3)), r.temp(), r.trace(), r.time(), r.time()
				in = []any{ea, eb, ref, tr, from, to}
				d, e, err := cure.EquivalentAgeBounds(ea, eb, ref, tr, from, to)
				fail(err, d == 0 && e == 0, d >= 0 && e >= d)
			case 9:
				name = "Extrapolated"
				a, temp := r.arrhenius(), r.temp()
				in = []any{a, temp}
				e, err := a.Extrapolated(temp)
				fail(err, e == cure.Estimate{}, e.Lo > 0 && e.Lo <= e.Time && e.Time <= e.Hi && finite(float64(e.Beyond)) && e.Beyond >= 0)
			case 10:
				name = "ReachInterval"
				a, tr, start, sd := r.arrhenius(), r.trace(), r.time(), units.TempDelta(r.float(0, 3))
				a.DF, a.StdErr, a.Scatter = 1+r.IntN(3), units.MolarEnergy(r.float(0, 5e3)), r.float(0, 0.5)
				if r.IntN(2) == 0 {
					a.Coldest, a.Hottest = units.Temperature{}, units.Temperature{}
				}
				in = []any{a, tr, start, sd}
				v, err := cure.ReachInterval(a, tr, start, sd)
				fail(err, v == cure.Interval{}, v.Lo >= start && v.Lo <= v.At && v.At <= v.Hi)
			case 11:
				name = "HumidTable"
				tab := cure.HumidTable{By: cure.Dependence(r.IntN(4)), Temps: []units.Temperature{r.temp(), r.temp()}, RH: []units.Fraction{units.Fraction(r.float(0, 0.5)), units.Fraction(r.float(0.5, 1))}}
				for range r.IntN(2) + 1 + r.IntN(2) {
					tab.Times = append(tab.Times, []time.Duration{r.time(), r.time()})
				}
				temp, rh := r.temp(), units.Fraction(r.float(0, 1))
				in = []any{tab, temp, rh}
				d, err := tab.Time(temp, rh)
				fail(err, d == 0, d > 0)
			case 12:
				name = "ProgressAt and UntilClosed"
				l, tr, start, at := r.law(1), r.trace(), r.time(), []time.Duration{r.time(), r.time()}
				in = []any{l, tr, start, at}
				p, err := cure.ProgressAt(l, tr, start, at)
				fail(err, p == nil, len(p) == 2 && p[0] >= 0 && p[1] >= p[0] && finite(float64(p[1])))
				d, err := cure.UntilClosed(l, tr, start, at[0])
				fail(err, d == 0, d >= start-at[0] || start-at[0] > 0)
				v, err := cure.ForecastInterval(l, tr, start, units.TempDelta(r.float(0, 3)))
				fail(err, v == cure.Interval{}, v.At >= start && v.Lo >= start)
			case 13:
				name = "HumidLaw"
				l, tr, damp, start, to := r.humidLaw(), r.trace(), r.humidity(), r.time(), r.time()
				in = []any{l, tr, damp, start, to}
				at, err := l.Reach(tr, damp, start)
				fail(err, at == 0, at >= start)
				p, err := l.Progress(tr, damp, start, to)
				fail(err, math.IsNaN(float64(p)), p >= 0 && finite(float64(p)))
				at, err = l.LatestStart(tr, damp, to)
				fail(err, at == 0, at <= to)
				d, err := l.Time(r.temp(), units.Fraction(r.float(0, 1)))
				fail(err, d == 0, d > 0)
			case 14:
				name = "HumidityOver"
				var air climate.Weather
				for i := range r.IntN(3) {
					air = append(air, climate.Reading{At: time.Duration(i)*h + r.time()/9, Temp: units.Celsius(r.float(-40, 60)), RH: units.Fraction(r.float(0.01, 1))})
				}
				tr := r.trace()
				in = []any{air, tr}
				damp, err := cure.HumidityOver(air, tr)
				fail(err, damp == nil, damp.Validate() == nil)
			}
		}()
		calls[name]++
		if wrong != "" {
			t.Fatalf("%s(%#v): %s", name, in, wrong)
		}
	}
	for name, c := range calls { // each gets through to its arithmetic often enough
		if good[name] < c/200 {
			t.Errorf("%s: only %d of %d calls are answered", name, good[name], c)
		}
	}
}
