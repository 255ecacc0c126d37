package cure

import (
	"errors"
	"fmt"
	"math"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// An Interval is when an event comes, and the times between which it comes in
// 95 of 100 cases: "05:40 (04:50-06:50)".
type Interval struct {
	At, Lo, Hi time.Duration // on the trace's clock; Hi is [Never] if it may not come at all
	Held       bool          // Hi is later than the trace's last sample, whose temperature is held
}

// ReachInterval returns when the event of a fitted law comes along t if it begins
// at start, with its 95 % interval from the fit and from the forecast. The
// forecast errs by one shift of all its temperatures, of standard deviation
// forecast: the worst case, for errors that change sign in the night even out.
//
// To first order in both: ln of the progress that makes the event errs
//
//	by the fit, t s sqrt(1 + 1/n + (x - 1/Ref)²/Sxx), as in [Arrhenius.Estimate],
//	with x the mean of 1/T over the progress, which is exact for small errors of Ea,
//	by the forecast, 1.96 forecast Ea/R x²,
//
// and by the root of their squares together; Lo and Hi are where the progress is
// e to the minus and plus that. Outside the rows is an error, as with
// [Arrhenius.Law]; to plan there, clear Coldest and Hottest of the fit.
//
// Range: forecast 0 to 20 K. A fit with no degree of freedom has the error [ErrNoInterval].
// Accuracy: of At as [Reach]; Lo and Hi against sampling of both errors, 2 % of
// the time for 10 % of scatter and 1 K.
// Source: JCGM 100 (GUM) 5.1, law of propagation of uncertainty, from memory.
func ReachInterval(a Arrhenius, t climate.Trace, start time.Duration, forecast units.TempDelta) (Interval, error) {
	const fn = "cure.ReachInterval"
	if err := errors.Join(a.Validate(), t.Validate(), moment(fn, "start", start), checkForecast(fn, forecast)); err != nil {
		return Interval{}, err
	}
	if err := a.fitted(fn); err != nil {
		return Interval{}, err
	}
	var w walk
	if err := w.take(a.Law()); err != nil {
		return Interval{}, err
	}
	at, err := w.reach(t, start, 1)
	if err != nil {
		return Interval{}, err
	}
	x := meanInverse(a, t, start, at)
	byFit := student95(a.DF) * a.sigma(x)
	byForecast := distuv.UnitNormal.Quantile(0.975) * float64(forecast) * float64(a.Ea) / arrheniusR * x * x
	return w.interval(t, start, at, math.Hypot(byFit, byForecast))
}

// ForecastInterval is [ReachInterval] for any law, which it takes to be right:
// the interval is the forecast's alone, from t shifted by 1.96 times forecast
// up and down. Of a law that is slower where it is warmer, Lo or Hi is At itself.
//
// Range: forecast 0 to 20 K; the law must hold along the shifted histories.
func ForecastInterval(law Law, t climate.Trace, start time.Duration, forecast units.TempDelta) (Interval, error) {
	if err := checkForecast("cure.ForecastInterval", forecast); err != nil {
		return Interval{}, err
	}
	at, err := Reach(law, t, start)
	if err != nil {
		return Interval{}, err
	}
	v := Interval{At: at}
	shifted := make(climate.Trace, len(t))
	for i, end := range [2]*time.Duration{&v.Lo, &v.Hi} {
		d := forecast * units.TempDelta(distuv.UnitNormal.Quantile(0.975))
		if i == 1 {
			d = -d
		}
		for j, s := range t {
			shifted[j] = climate.Sample{At: s.At, Temp: s.Temp.Add(d)}
		}
		*end, err = Reach(law, shifted, start)
		if i == 1 && errors.Is(err, ErrNotReached) {
			*end, err = Never, nil
		}
		if err != nil {
			return Interval{}, fmt.Errorf("with the history %+.3g K: %w", float64(d), err)
		}
	}
	v.Lo, v.Hi = min(v.Lo, at), max(v.Hi, at) // each is found to a nanosecond only
	v.Held = v.Hi > t[len(t)-1].At
	return v, nil
}

func checkForecast(fn string, d units.TempDelta) error {
	return units.FromZero(fn, "forecast", float64(d), 20, "K")
}

// interval finds when the progress is e to the minus and plus half.
func (w *walk) interval(t climate.Trace, start, at time.Duration, half float64) (Interval, error) {
	v := Interval{At: at, Hi: Never}
	var err error
	if v.Lo, err = w.reach(t, start, math.Exp(-half)); err != nil {
		return Interval{}, err
	}
	if need := math.Exp(half); !math.IsInf(need, 1) {
		v.Hi, err = w.reach(t, start, need)
		if errors.Is(err, ErrNotReached) {
			v.Hi, err = Never, nil
		}
		if err != nil {
			return Interval{}, err
		}
	}
	v.Lo, v.Hi = min(v.Lo, at), max(v.Hi, at) // each is found to a nanosecond only
	v.Held = v.Hi > t[len(t)-1].At
	return v, nil
}

// meanInverse is the mean of 1/T over the progress from start to at, 1/K: the
// derivative of ln progress by -Ea/R, taken over 2 J/mol or so.
func meanInverse(a Arrhenius, t climate.Trace, start, at time.Duration) float64 {
	here, _ := t.At(start)
	x0 := 1 / here.Kelvin() // about which the energies act
	if at == start {        // in less than a nanosecond
		return x0
	}
	var ln [2]float64
	const step = 1e-4 // of q, which is Ea/R x0, and as much at Ea 0
	for i, d := range [2]float64{-step, step} {
		w := walk{n: 1}
		w.within("cure.ReachInterval", coldest, hottest)
		w.buf[0] = line{at: 1 / x0, q: -float64(a.Ea)/arrheniusR*x0 + d}
		s, _, _ := w.along(t, start, at, math.Inf(1))
		ln[i] = math.Log(s)
	}
	// d ln s/dq is the mean of 1/(x0 T) - 1.
	return x0 * (1 + (ln[1]-ln[0])/(2*step))
}
