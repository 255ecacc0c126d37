package cure

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/mat"

	"github.com/tackfree/tackfree/data/units"
)

// A Vogel is one event's time where ln t bends over 1/T, as [Fit] doubts with
// [Curved]: near the glass, where a cold cure takes longer than one activation
// energy says, or for what the resin's viscosity sets:
//
//	t(T) = Time exp(B (1/(T - Offset) - 1/(Ref - Offset)))
//
// T and Offset are in K from absolute zero. With Offset 0 it is Arrhenius with
// Ea = R B; above 0 the times rise without bound as T falls to it; below 0 they
// bend the other way.
//
// Range: B 0 to 1e6 K; Offset -1000 K to 1 K below Coldest; Ref between Coldest and
// Hottest, which are -60 °C to 1000 °C; Time above zero.
// Source: Vogel, Fulcher, Tammann, from memory.
type Vogel struct {
	B, Offset units.TempDelta
	Ref       units.Temperature
	Time      time.Duration // at Ref

	BStdErr, OffsetStdErr units.TempDelta // standard errors; zero with DF 0: unknown
	Scatter               float64         // standard deviation about the law: share of the time, or of the rows' own errors
	DF                    int             // degrees of freedom: rows less three
	Residuals             []float64       // ln of each row's time over the law's, in the rows' order

	Coldest, Hottest units.Temperature // of the rows
}

// FitVogel returns the law of three parameters by least squares through rows, in
// any order. With errs nil every row is off by the same share of its time, as
// printed and rounded times are; else by errs, its standard error, row for row.
//
// Few sheets have rows enough: of three the law goes through all, with DF 0 and
// no standard errors. Rows whose bend is not worth a third parameter, as those
// that [Fit] does not doubt, have an Offset with an error as large as itself.
//
// It is an error if the best law lies at an end of its range: rows that fall on
// a line in T, or that no such law describes.
//
// Range: three temperatures or more, -60 °C to 1000 °C; times and errs above zero.
// Accuracy: 1e-7 of certified values (NIST StRD MGH10).
// Source: Gauss-Newton with Marquardt's damping, from the best of a line over
// 1/(T - Offset) for many Offsets; from memory.
func FitVogel(rows []Point, errs []time.Duration) (Vogel, error) {
	const fn = "cure.FitVogel"
	var err error
	if errs != nil && len(errs) != len(rows) {
		return Vogel{}, fmt.Errorf("%w: %s: %d errs for %d rows: want one for each, or nil", units.ErrRange, fn, len(errs), len(rows))
	}
	f := vogelFit{x: make([]float64, len(rows)), y: make([]float64, len(rows)), s: make([]float64, len(rows))}
	for i, p := range rows {
		bad := errors.Join(celsius(fn, "Temp", p.Temp, coldest, hottestRef), checkTime(fn, "Time", p.Time))
		f.x[i], f.y[i] = p.Temp.Kelvin(), p.Time.Seconds()
		if errs != nil {
			bad = errors.Join(bad, checkTime(fn, "errs", errs[i]))
			f.s[i] = errs[i].Seconds()
		}
		if bad != nil {
			err = errors.Join(err, fmt.Errorf("row %d: %w", i, bad))
		}
	}
	if err != nil {
		return Vogel{}, err
	}
	temps := slices.Clone(f.x)
	slices.Sort(temps)
	temps = slices.CompactFunc(temps, func(a, b float64) bool { return math.Abs(a-b) < 1e-3 })
	if len(temps) < 3 {
		return Vogel{}, fmt.Errorf("%w: %s: %d rows at %d temperatures: want three temperatures or more", units.ErrRange, fn, len(rows), len(temps))
	}
	if errs == nil {
		f.s = nil
	}
	f.lo, f.hi = -1000, temps[0]-1
	for _, x := range f.x {
		f.ref += x / float64(len(f.x))
	}
	p, err := f.refine(f.start())
	if err != nil {
		return Vogel{}, fmt.Errorf("%s: %w", fn, err)
	}
	v := Vogel{B: units.TempDelta(p[1]), Offset: units.TempDelta(p[2]), Ref: units.Kelvin(f.ref), Time: duration(math.Exp(p[0])),
		DF: len(rows) - 3, Coldest: units.Kelvin(temps[0]), Hottest: units.Kelvin(temps[len(temps)-1])}
	for i := range f.x {
		v.Residuals = append(v.Residuals, math.Log(f.y[i])-f.ln(p, f.x[i]))
	}
	if err := v.Validate(); err != nil {
		return Vogel{}, fmt.Errorf("%s: the law that comes out: %w", fn, err)
	}
	if v.DF > 0 {
		cov, scatter, err := f.covariance(p)
		if err != nil {
			return Vogel{}, fmt.Errorf("%s: %w", fn, err)
		}
		v.Scatter = scatter
		v.BStdErr, v.OffsetStdErr = units.TempDelta(math.Sqrt(cov.At(1, 1))), units.TempDelta(math.Sqrt(cov.At(2, 2)))
	}
	return v, nil
}

// Validate returns an error unless v is in range.
func (v Vogel) Validate() error {
	const fn = "cure.Vogel"
	err := errors.Join(celsius(fn, "Coldest", v.Coldest, coldest, hottestRef), checkTime(fn, "Time", v.Time), units.FromZero(fn, "B", float64(v.B), 1e6, "K"))
	if err != nil {
		return err
	}
	return errors.Join(celsius(fn, "Hottest", v.Hottest, v.Coldest.Kelvin(), hottestRef), celsius(fn, "Ref", v.Ref, v.Coldest.Kelvin(), v.Hottest.Kelvin()),
		units.InRange(fn, "Offset", float64(v.Offset), -1000, v.Coldest.Kelvin()-1, "K"))
}

// Law returns v as a law between Coldest and Hottest; outside them it is an error:
// it bends, so that what it says beyond its rows is worth even less than a line.
// Of a Vogel that is not valid the law's error is [Vogel.Validate]'s.
//
// Accuracy: along a history 1e-9, as any law that is smooth in temperature.
func (v Vogel) Law() Law {
	return vogelLaw{v, v.Validate()}
}

type vogelLaw struct {
	v   Vogel
	err error
}

// Time returns the event's time.
func (l vogelLaw) Time(temp units.Temperature) (time.Duration, error) {
	if l.err != nil {
		return 0, l.err
	}
	v := l.v
	if err := celsius("cure.Vogel", "temp", temp, v.Coldest.Kelvin(), v.Hottest.Kelvin()); err != nil {
		return 0, err
	}
	off := float64(v.Offset)
	ln := float64(v.B) * (1/(temp.Kelvin()-off) - 1/(v.Ref.Kelvin()-off))
	return max(1, duration(v.Time.Seconds()*math.Exp(ln))), nil
}

// A vogelFit is the rows of a fit. Its parameters are ln of the time at ref, B
// and Offset: about the middle of the rows the first hardly hangs on the others.
type vogelFit struct {
	x, y, s []float64 // K, s, and the standard errors in s; s nil: of ln y
	ref     float64   // K
	lo, hi  float64   // of Offset
}

// ln is ln of the time at x, NaN for an Offset out of range.
func (f *vogelFit) ln(p [3]float64, x float64) float64 {
	if !(p[2] >= f.lo && p[2] <= f.hi) {
		return math.NaN()
	}
	return p[0] + p[1]*(1/(x-p[2])-1/(f.ref-p[2]))
}

// residuals returns what is left of each row, and the sum of its squares.
func (f *vogelFit) residuals(p [3]float64) (r []float64, sum float64) {
	r = make([]float64, len(f.x))
	for i, x := range f.x {
		ln := f.ln(p, x)
		if f.s == nil {
			r[i] = math.Log(f.y[i]) - ln
		} else {
			r[i] = (f.y[i] - math.Exp(ln)) / f.s[i]
		}
		sum += r[i] * r[i]
	}
	return r, sum
}

// slopes returns the derivatives of the law, as residuals has it, by each parameter.
func (f *vogelFit) slopes(p [3]float64) *mat.Dense {
	j := mat.NewDense(len(f.x), 3, nil)
	for i, x := range f.x {
		scale := 1.0
		if f.s != nil {
			scale = math.Exp(f.ln(p, x)) / f.s[i]
		}
		a, b := 1/(x-p[2]), 1/(f.ref-p[2])
		j.SetRow(i, []float64{scale, scale * (a - b), scale * p[1] * (a - b) * (a + b)})
	}
	return j
}

// start returns the best straight line of ln y over 1/(x - Offset).
func (f *vogelFit) start() [3]float64 {
	best, least := [3]float64{}, math.Inf(1)
	u, v := make([]float64, len(f.x)), make([]float64, len(f.x))
	const n = 60
	for k := range n { // densely near the coldest row, from 1 K below it
		off := f.hi - (f.hi-f.lo)*math.Pow(float64(k)/n, 3)
		for i, x := range f.x {
			u[i], v[i] = 1/(x-off)-1/(f.ref-off), math.Log(f.y[i])
		}
		l := straight(u, v)
		p := [3]float64{l.y - l.slope*l.x, l.slope, off}
		if _, sum := f.residuals(p); sum < least {
			best, least = p, sum
		}
	}
	return best
}

var (
	errVogel     = fmt.Errorf("%w: no law of this form fits the rows best: want rows whose ln t bends over 1/T", units.ErrRange)
	errVogelLine = fmt.Errorf("%w: the best Offset is -1000 K or lower: ln t of these rows falls on a line in T, or bends the other way; want it to bend over 1/T, steeper where it is cold", units.ErrRange)
	errVogelWall = fmt.Errorf("%w: the best Offset is at the coldest row: want rows whose times do not rise without bound there", units.ErrRange)
)

// refine takes p to the least sum of squares.
func (f *vogelFit) refine(p [3]float64) ([3]float64, error) {
	r, sum := f.residuals(p)
	damp := 1e-3
	for range 10_000 {
		j := f.slopes(p)
		n := len(f.x)
		a, b := mat.NewDense(n+3, 3, nil), mat.NewVecDense(n+3, nil)
		a.Slice(0, n, 0, 3).(*mat.Dense).Copy(j)
		for i, v := range r {
			b.SetVec(i, v)
		}
		var size [3]float64
		for c := range 3 {
			size[c] = mat.Norm(j.ColView(c), 2)
			if !(size[c] > 0) || math.IsInf(size[c], 0) {
				return p, errVogel
			}
			for i := range n { // of one size, so that no digits are lost
				a.Set(i, c, a.At(i, c)/size[c])
			}
			a.Set(n+c, c, math.Sqrt(damp))
		}
		var qr mat.QR
		qr.Factorize(a)
		var d mat.VecDense
		if err := qr.SolveVecTo(&d, false, b); err != nil && !errors.As(err, new(mat.Condition)) {
			return p, errVogel
		}
		next, step := p, 0.0
		for c := range 3 {
			next[c] += d.AtVec(c) / size[c]
			step = max(step, math.Abs(d.AtVec(c)/size[c])/[3]float64{1, math.Abs(p[1]) + 1, f.ref - p[2]}[c])
		}
		left, less := f.residuals(next)
		if less <= sum {
			p, r, sum = next, left, less
			damp = max(damp/10, 1e-20)
			if step < 1e-11 {
				return p, f.inside(p)
			}
			continue
		}
		if step < 1e-13 { // rounding is all that is left
			return p, f.inside(p)
		}
		if damp = max(damp, 1e-12) * 10; damp > 1e20 {
			return p, f.inside(p)
		}
	}
	return p, errVogel
}

// inside refuses a law at an end of its range, which is not the best but for that.
func (f *vogelFit) inside(p [3]float64) error {
	switch {
	case p[2] < f.lo+1:
		return errVogelLine
	case p[2] > f.hi-1e-3:
		return errVogelWall
	}
	return nil
}

// covariance returns that of the parameters, and the standard deviation about the law.
func (f *vogelFit) covariance(p [3]float64) (*mat.Dense, float64, error) {
	_, sum := f.residuals(p)
	s2 := sum / float64(len(f.x)-3)
	j := f.slopes(p)
	var size [3]float64
	for c := range 3 {
		size[c] = mat.Norm(j.ColView(c), 2)
		for i := range f.x {
			j.Set(i, c, j.At(i, c)/size[c])
		}
	}
	var jj, inv mat.Dense
	jj.Mul(j.T(), j)
	if err := inv.Inverse(&jj); err != nil {
		return nil, 0, errVogel
	}
	for i := range 3 {
		for k := range 3 {
			inv.Set(i, k, inv.At(i, k)*s2/size[i]/size[k])
		}
	}
	return &inv, math.Sqrt(s2), nil
}
