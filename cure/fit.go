package cure

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"github.com/tackfree/tackfree/data/units"
)

// A Doubt is a reason not to take a fit for Arrhenius, in plain words.
type Doubt string

// The doubts of [Fit].
const (
	// Two rows leave no degree of freedom: the line goes through both, whatever they are.
	TwoRows Doubt = "two rows: nothing to judge the line by"
	// Neighbouring rows stand at one time: a floor or a cap, which [AtLeast]
	// and [AtMost] put on after scaling; leave those rows out.
	Plateau Doubt = "rows at different temperatures stand at one time: a floor or a cap"
	// A warmer row takes longer than a colder one.
	Rising Doubt = "a warmer row takes longer"
	// ln t bends over 1/T: significant at 5 % by Student's t of a quadratic
	// term, and worth more than 5 % of the time.
	Curved Doubt = "ln t bends over 1/T"
	// The rows scatter by more than a quarter of the time (common practice, no source).
	Scattered Doubt = "the rows scatter by more than 25 % about the line"
)

const largestScatter, largestBend = 0.25, 0.05 // ln units

// Fit returns the Arrhenius law by ordinary least squares of ln t on 1/T through
// rows, in any order; rows at one temperature are replicates. Its interval is
// Student's t with two degrees fewer than rows. Two rows give their line, with
// DF 0, no interval and the doubt [TwoRows].
//
// Rows which are no scaled times, those of a floor, a cap or a recoat-latest
// that a table ends with, spoil a fit. Fit leaves none out: it names its [Doubt].
// Of [Curved] rows that are none of those see [FitVogel].
//
// Range: two rows at two temperatures or more, -60 °C to 1000 °C; times above
// zero; the energy that comes out 0 to 500 kJ/mol.
// Accuracy: 1e-6 of published regressions; straight line of NIST StRD to 1e-9.
// Source: ordinary least squares, NIST/SEMATECH e-Handbook 4.1.4.1, from memory.
func Fit(rows []Point) (Arrhenius, error) {
	const fn = "cure.Fit"
	if len(rows) < 2 {
		return Arrhenius{}, fmt.Errorf("%w: %s: %d rows: want two or more", units.ErrRange, fn, len(rows))
	}
	x, y := make([]float64, len(rows)), make([]float64, len(rows))
	var err error
	for i, p := range rows {
		if bad := errors.Join(celsius(fn, "Temp", p.Temp, coldest, hottestRef), checkTime(fn, "Time", p.Time)); bad != nil {
			err = errors.Join(err, fmt.Errorf("row %d: %w", i, bad))
		}
		x[i], y[i] = 1/p.Temp.Kelvin(), math.Log(p.Time.Seconds())
	}
	if err != nil {
		return Arrhenius{}, err
	}
	// Floats of one temperature by two ways differ by 1e-13 K; 1 mK is no step.
	if 1/slices.Min(x)-1/slices.Max(x) < 1e-3 {
		return Arrhenius{}, fmt.Errorf("%w: %s: every row is at %v: want two temperatures or more", units.ErrRange, fn, rows[0].Temp)
	}
	l := straight(x, y)
	ea := units.MolarEnergy(l.slope * arrheniusR)
	if math.Abs(l.slope) < 1e-9/(slices.Max(x)-slices.Min(x)) {
		ea = 0 // every time is the same, but for rounding
	}
	if err := checkEa(fn, "Ea", ea); err != nil {
		return Arrhenius{}, err
	}
	a := Arrhenius{
		Ea: ea, Ref: units.Kelvin(1 / l.x), Time: duration(math.Exp(l.y)),
		R2: l.r2, DF: len(rows) - 2, Residuals: l.residuals,
		Coldest: units.Kelvin(1 / slices.Max(x)), Hottest: units.Kelvin(1 / slices.Min(x)),
	}
	if a.DF > 0 {
		a.Scatter, a.StdErr = l.scatter, units.MolarEnergy(l.stdErr*arrheniusR)
		half := units.MolarEnergy(student95(a.DF)) * a.StdErr
		a.CI95 = [2]units.MolarEnergy{ea - half, ea + half}
	}
	if err := checkTime(fn, "Time", a.Time); err != nil {
		return Arrhenius{}, err
	}
	a.Doubts = doubts(rows, x, l)
	return a, nil
}

// student95 is the half width of a 95 % interval in standard errors.
func student95(df int) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(df)}.Quantile(0.975)
}

// A regression is a straight line y + slope (x' - x) by least squares.
type regression struct {
	x, y, slope     float64 // the means, and the slope
	scatter, stdErr float64 // standard deviation about the line, and of the slope
	r2              float64
	residuals       []float64
}

func straight(x, y []float64) regression {
	l := regression{x: stat.Mean(x, nil), residuals: make([]float64, len(x))}
	d := make([]float64, len(x)) // about the mean, where the sums keep their digits
	sxx, most := 0.0, 0.0
	for i := range x {
		d[i] = x[i] - l.x
		sxx += d[i] * d[i]
		most = max(most, math.Abs(y[i]))
	}
	l.y, l.slope = stat.LinearRegression(d, y, nil, false)
	rss, tss, mean := 0.0, 0.0, stat.Mean(y, nil)
	for i := range x {
		l.residuals[i] = y[i] - l.y - l.slope*d[i]
		rss += l.residuals[i] * l.residuals[i]
		tss += (y[i] - mean) * (y[i] - mean)
	}
	if tss > 1e-24*most*most { // else all y are the same: nothing to explain
		l.r2 = max(0, 1-rss/tss) // a least-squares line is no worse than the mean
	}
	if n := float64(len(x)); n > 2 {
		l.scatter = math.Sqrt(rss / (n - 2))
		l.stdErr = l.scatter / math.Sqrt(sxx)
	}
	return l
}

// doubts names what of the rows is not Arrhenius.
func doubts(rows []Point, x []float64, l regression) []Doubt {
	var list []Doubt
	if len(rows) == 2 {
		list = append(list, TwoRows)
	}
	plateau, rising := false, false
	o := slices.Clone(rows)
	slices.SortStableFunc(o, func(p, q Point) int {
		if p.Temp.Less(q.Temp) {
			return -1
		} else if q.Temp.Less(p.Temp) {
			return 1
		}
		return int(min(1, max(-1, q.Time-p.Time)))
	})
	for i := range o[1:] {
		p, q := o[i], o[i+1]
		if q.Temp.Sub(p.Temp) < 1e-3 {
			continue // replicates
		}
		plateau = plateau || p.Time == q.Time
		rising = rising || p.Time < q.Time
	}
	if plateau {
		list = append(list, Plateau)
	}
	if rising {
		list = append(list, Rising)
	}
	if bends(x, l) {
		list = append(list, Curved)
	}
	if l.scatter > largestScatter {
		list = append(list, Scattered)
	}
	return list
}

// bends reports whether a quadratic term in x is significant and large.
func bends(x []float64, l regression) bool {
	n := len(x)
	if n < 4 {
		return false
	}
	scale := 0.0
	for _, v := range x {
		scale = max(scale, math.Abs(v-l.x))
	}
	u, u2 := make([]float64, n), make([]float64, n)
	for i, v := range x {
		u[i] = (v - l.x) / scale
		u2[i] = u[i] * u[i]
	}
	z := straight(u, u2).residuals // what of the square the line does not have
	zr, zz, rss, most := 0.0, 0.0, 0.0, 0.0
	for i := range z {
		zr += z[i] * l.residuals[i]
		zz += z[i] * z[i]
		rss += l.residuals[i] * l.residuals[i]
		most = max(most, math.Abs(z[i]))
	}
	if zz < 1e-12 { // two temperatures only
		return false
	}
	c := zr / zz
	if math.Abs(c)*most < largestBend {
		return false
	}
	left := max(0, rss-c*c*zz)
	return math.Abs(c)*math.Sqrt(zz*float64(n-3)) > student95(n-3)*math.Sqrt(left)
}

// ErrNoInterval says that a law is not from a fit with a degree of freedom.
var ErrNoInterval = errors.New("cure: no interval: want a fit of three rows or more")

// An Estimate is a time with the 95 % interval of one more row: a batch mixed,
// not the mean of many.
type Estimate struct {
	Time, Lo, Hi time.Duration   // [Never] where a time.Duration cannot say it
	Beyond       units.TempDelta // how far outside the rows, colder or hotter; 0 within
}

// Estimate returns the event's time at temp with its interval. Outside the rows
// it is an error; see [Arrhenius.Extrapolated].
//
// The interval is exp(± t s sqrt(1 + 1/n + (1/T - 1/Ref)²/Sxx)) of the time,
// with Student's t. Ref, StdErr, Scatter and DF must be the fit's.
//
// Source: prediction interval of simple regression, NIST/SEMATECH e-Handbook
// 4.5.2.1, from memory.
func (a Arrhenius) Estimate(temp units.Temperature) (Estimate, error) {
	if err := a.Validate(); err != nil {
		return Estimate{}, err
	}
	if err := celsius("cure.Arrhenius.Estimate", "temp", temp, a.Coldest.Kelvin(), a.Hottest.Kelvin()); err != nil && !a.Coldest.IsZero() {
		return Estimate{}, err
	}
	return a.Extrapolated(temp)
}

// Extrapolated is [Arrhenius.Estimate] from -60 °C to 150 °C also where no row
// is. The interval widens with the distance from the rows, as a line's does, and
// Beyond says how far that is: no interval knows whether the line goes on, and a
// cold cure that turns glassy stalls.
func (a Arrhenius) Extrapolated(temp units.Temperature) (Estimate, error) {
	const fn = "cure.Arrhenius.Extrapolated"
	if err := errors.Join(a.Validate(), celsius(fn, "temp", temp, coldest, max(hottest, a.Hottest.Kelvin()))); err != nil {
		return Estimate{}, err
	}
	if err := a.fitted(fn); err != nil {
		return Estimate{}, err
	}
	ln := float64(a.Ea)/arrheniusR*(1/temp.Kelvin()-1/a.Ref.Kelvin()) + math.Log(a.Time.Seconds())
	half := student95(a.DF) * a.sigma(1/temp.Kelvin())
	e := Estimate{Time: max(1, duration(math.Exp(ln))), Lo: max(1, duration(math.Exp(ln-half))), Hi: max(1, duration(math.Exp(ln+half)))}
	if !a.Coldest.IsZero() {
		e.Beyond = max(0, a.Coldest.Sub(temp), temp.Sub(a.Hottest))
	}
	return e, nil
}

// fitted returns an error unless a has what an interval needs.
func (a Arrhenius) fitted(fn string) error {
	if a.DF < 1 {
		return ErrNoInterval
	}
	return errors.Join(
		units.FromZero(fn, "StdErr", float64(a.StdErr/units.KilojoulePerMole), 1e6, "kJ/mol"),
		units.FromZero(fn, "Scatter", a.Scatter, 100, ""))
}

// sigma is the standard deviation of ln t of one more row at x = 1/T.
func (a Arrhenius) sigma(x float64) float64 {
	s, b := a.Scatter, float64(a.StdErr)/arrheniusR*(x-1/a.Ref.Kelvin())
	return math.Sqrt(s*s*(1+1/float64(a.DF+2)) + b*b)
}
