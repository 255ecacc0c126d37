package cure_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
)

var night = climate.Trace{{At: 0, Temp: units.Celsius(22)}, {At: 8 * h, Temp: units.Celsius(12)}, {At: 12 * h, Temp: units.Celsius(13)}, {At: 20 * h, Temp: units.Celsius(24)}}

// scattered are rows off a law of 55 kJ/mol, 6 h at 20 °C, by about 3 %.
func scattered() []cure.Point {
	c := units.Celsius
	l := cure.Arrhenius{Ea: 55 * units.KilojoulePerMole, Ref: c(20), Time: 6 * h}.Law()
	var rows []cure.Point
	for i, off := range []float64{0.03, -0.04, 0.02, 0.01, -0.03, 0.02} {
		temp := c(8 + 4*float64(i))
		d, _ := l.Time(temp)
		rows = append(rows, cure.Point{Temp: temp, Time: hours(d.Hours() * math.Exp(off))})
	}
	return rows
}

func ExampleReachInterval() {
	fit, err := cure.Fit(scattered())
	if err != nil {
		fmt.Println(err)
		return
	}
	v, err := cure.ReachInterval(fit, night, 0, 1*units.KelvinDelta)
	fmt.Println(v.At.Round(10*time.Minute), v.Lo.Round(10*time.Minute), v.Hi.Round(10*time.Minute), v.Held, err)
	// Output:
	// 7h10m0s 5h30m0s 9h20m0s false <nil>
}

// First order against sampling of both errors: the fit's line from its posterior
// (slope and mean of ln t by Student's t with one scatter, a batch's own besides)
// and the forecast's shift, 40 000 times. Tolerance 2 % of the time, as stated:
// three times what 40 000 draws scatter, and the second order.
func TestReachIntervalAgainstSampling(t *testing.T) {
	fit, err := cure.Fit(scattered())
	if err != nil {
		t.Fatal(err)
	}
	for _, forecast := range []units.TempDelta{0, 1} {
		got, err := cure.ReachInterval(fit, night, 0, forecast)
		if err != nil {
			t.Fatal(err)
		}
		r := rand.New(rand.NewPCG(1, 2))
		n, n2 := distuv.Normal{Mu: 0, Sigma: 1, Src: r}, distuv.ChiSquared{K: float64(fit.DF), Src: r}
		var at []float64
		for range 40000 {
			s := math.Sqrt(float64(fit.DF) / n2.Rand())
			mean := fit.Scatter * s * math.Sqrt(1+1/float64(fit.DF+2)) * n.Rand()
			one := cure.Arrhenius{Ref: fit.Ref, Ea: fit.Ea + fit.StdErr*units.MolarEnergy(s*n.Rand()), Time: time.Duration(float64(fit.Time) * math.Exp(mean))}
			shift := forecast * units.TempDelta(n.Rand())
			warmer := slices.Clone(night)
			for i := range warmer {
				warmer[i].Temp = warmer[i].Temp.Add(shift)
			}
			d, err := cure.Reach(one.Law(), warmer, 0)
			if err != nil {
				t.Fatal(err)
			}
			at = append(at, d.Hours())
		}
		slices.Sort(at)
		lo, hi := stat.Quantile(0.025, stat.Empirical, at, nil), stat.Quantile(0.975, stat.Empirical, at, nil)
		if math.Abs(got.Lo.Hours()/lo-1) > 0.02 || math.Abs(got.Hi.Hours()/hi-1) > 0.02 || got.Lo >= got.At || got.Hi <= got.At {
			t.Errorf("forecast ± %v: %v (%v-%v); sampled %.3f-%.3f h", forecast, got.At, got.Lo, got.Hi, lo, hi)
		}
	}
}

// At one temperature the interval is the estimate's, exactly; a wider forecast widens it.
func TestReachIntervalAtOneTemperature(t *testing.T) {
	fit, err := cure.Fit(scattered())
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []float64{8, 15, 28} {
		held := climate.Trace{{At: 0, Temp: units.Celsius(c)}}
		v, err := cure.ReachInterval(fit, held, h, 0)
		e, err2 := fit.Estimate(units.Celsius(c))
		if err != nil || err2 != nil || (v.Lo-h-e.Lo).Abs() > time.Millisecond || (v.Hi-h-e.Hi).Abs() > time.Millisecond || !v.Held {
			t.Errorf("%v °C: %+v, %v; want %+v, %v an hour later", c, v, err, e, err2)
		}
		last := time.Duration(0)
		for _, forecast := range []units.TempDelta{0, 0.5, 1, 2} {
			v, err := cure.ReachInterval(fit, held, h, forecast)
			if err != nil || v.Hi-v.Lo <= last {
				t.Errorf("%v °C ± %v: %+v, %v; want it wider than %v", c, forecast, v, err, last)
			}
			last = v.Hi - v.Lo
		}
	}
	if _, err := cure.ReachInterval(cure.Arrhenius{Ea: 55e3, Ref: units.Celsius(20), Time: h}, night, 0, 1); !errors.Is(err, cure.ErrNoInterval) {
		t.Errorf("a law by hand: %v; want ErrNoInterval", err)
	}
	if _, err := cure.ReachInterval(fit, climate.Trace{{At: 0, Temp: units.Celsius(5)}}, 0, 1); !errors.Is(err, units.ErrRange) {
		t.Errorf("colder than the rows: %v; want a range error", err)
	}
	if v, err := cure.ReachInterval(fit, night, 0, -1); !errors.Is(err, units.ErrRange) || v.Hi != 0 {
		t.Errorf("a forecast of -1 K: %+v, %v; want a range error", v, err)
	}
}

// The forecast alone: half and double the time 10 K off, by hand with the rule of
// thumb, for a forecast whose 1.96 standard deviations are 10 K.
func TestForecastInterval(t *testing.T) {
	c := units.Celsius
	l := cure.Doubling{Step: 10, Ref: c(20), Time: 8 * h}.Law()
	const sd = 10 / 1.959963984540054 // from memory of any table of the normal distribution
	v, err := cure.ForecastInterval(l, climate.Trace{{At: 0, Temp: c(20)}}, h, sd)
	if err != nil || (v.Lo-5*h).Abs() > time.Millisecond || (v.At-9*h).Abs() > time.Millisecond || (v.Hi-17*h).Abs() > time.Millisecond || !v.Held {
		t.Errorf("%+v, %v; want 9h (5h-17h)", v, err)
	}
	// Colder than the rows it may not come at all.
	v, err = cure.ForecastInterval(cure.Table{{c(15), 10 * h}, {c(30), 4 * h}}.NotBefore(), climate.Trace{{At: 0, Temp: c(20)}}, 0, 4)
	if err != nil || v.Hi != cure.Never || v.Lo >= v.At {
		t.Errorf("%+v, %v; want Hi never", v, err)
	}
	if _, err := cure.ForecastInterval(l, night, 0, units.TempDelta(math.NaN())); !errors.Is(err, units.ErrRange) {
		t.Errorf("a forecast of NaN: %v; want a range error", err)
	}
}

// With no scatter, what remains is the error of Ea, and it is that of the event along
// the history: the interval's ends against Reach with the energy changed by as much.
// Tolerance 1 %, of the half width: the second order of a change of 1 %.
func TestReachIntervalOfEnergyAlone(t *testing.T) {
	fit := cure.Arrhenius{Ea: 55e3, Ref: units.Celsius(30), Time: 3 * h, DF: 4, StdErr: 50}
	const student = 2.7764451052 // 97.5 %, 4 degrees: from memory of any table
	v, err := cure.ReachInterval(fit, night, 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	for sign, end := range map[units.MolarEnergy]time.Duration{1: v.Hi, -1: v.Lo} {
		other := fit
		other.Ea += sign * student * fit.StdErr
		at, err := cure.Reach(other.Law(), night, 0)
		if err != nil || math.Abs(float64(at-v.At)/float64(end-v.At)-1) > 0.01 {
			t.Errorf("%v and %v about %v, %v", end, at, v.At, err)
		}
	}
}
