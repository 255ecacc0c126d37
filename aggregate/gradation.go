package aggregate

import (
	"errors"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// Passing is one sieve of a gradation.
type Passing struct {
	Opening units.Length   // 1 um to 200 mm
	Share   units.Fraction // of the mass that passes, 0 to 100 %
}

// A Gradation is a sieve analysis: what passes each of 2 to 100 sieves by
// mass, from coarse to fine or from fine to coarse. Between two sieves the
// share is linear in the logarithm of the opening, as a grading curve on paper
// is drawn; [Gradation.SizeLinear] takes the opening itself.
type Gradation []Passing

// at returns the sieves from coarse to fine.
func (g Gradation) at(i int) (opening, share float64) {
	if g[0].Opening < g[len(g)-1].Opening {
		i = len(g) - 1 - i
	}
	return float64(g[i].Opening), min(1, float64(g[i].Share)) // 1 + 1e-9 passes the check
}

func (g Gradation) check(fn string) error {
	if err := units.InRange(fn, "sieves", float64(len(g)), 2, 100, "in number"); err != nil {
		return err
	}
	var all error
	for i, p := range g {
		if err := units.InRange(fn, "Opening", mm(p.Opening), 0.001, 200, "mm"); err != nil {
			all = errors.Join(all, numbered(err, i))
		}
		if err := units.FromZero(fn, "Share", pct(p.Share), 100, "%"); err != nil {
			all = errors.Join(all, numbered(err, i))
		}
	}
	if all != nil {
		return all
	}
	for i := 1; i < len(g); i++ {
		d0, s0 := g.at(i - 1)
		d1, s1 := g.at(i)
		if !(d1 < d0) {
			return numbered(&units.RangeError{Func: fn, Arg: "Opening", Got: d1 * 1e3, Lo: 0.001, Hi: d0 * 1e3, Unit: "mm, in order from coarse to fine"}, i)
		}
		if s1 > s0 {
			return numbered(&units.RangeError{Func: fn, Arg: "Share", Got: s1 * 100, Lo: 0, Hi: s0 * 100, Unit: "%, no more than through the coarser sieve"}, i)
		}
	}
	return nil
}

// FromRetained returns the gradation of a sieve analysis as weighed: the mass
// on each sieve, coarse to fine, and in the pan.
//
// Range: 2 to 100 openings, one mass each, 0 to 1000 kg and not all 0.
// Source: ASTM C136, from memory.
func FromRetained(openings []units.Length, retained []units.Mass, pan units.Mass) (Gradation, error) {
	const fn = "aggregate.FromRetained"
	err := units.FromZero(fn, "pan", float64(pan), 1000, "kg")
	if len(retained) != len(openings) {
		n := float64(len(openings))
		return nil, errors.Join(err, &units.RangeError{Func: fn, Arg: "masses", Got: float64(len(retained)), Lo: n, Hi: n, Unit: "in number"})
	}
	total := float64(pan) // from the fine end, as below: an empty pan is exactly 0, an empty top sieve exactly 1
	for i := len(retained) - 1; i >= 0; i-- {
		if e := units.FromZero(fn, "retained", float64(retained[i]), 1000, "kg"); e != nil {
			err = errors.Join(err, numbered(e, i))
		}
		total += float64(retained[i])
	}
	if err == nil {
		err = above(fn, "total mass", total, 1e6, "kg")
	}
	if err != nil {
		return nil, err
	}
	g := make(Gradation, len(openings))
	under := float64(pan)
	for i := len(openings) - 1; i >= 0; i-- {
		g[i] = Passing{openings[i], units.Fraction(min(1, under/total))}
		under += float64(retained[i])
	}
	if err := g.check(fn); err != nil {
		return nil, err
	}
	return g, nil
}

// Size returns the opening through which a share of the mass passes: D10 to
// D90, D50 the middle size.
//
// Special cases are: where the curve is level at share (a gap), the coarse end
// of the gap at the curve's foot and its fine end elsewhere.
//
// Range: share within what the sieves span; nothing is extrapolated.
// Accuracy: the interpolation to 1e-12; between sieves a factor of 2 apart it
// differs from [Gradation.SizeLinear] by up to 6 %.
// Source: interpolation, as ASTM D2487 draws the curve.
func (g Gradation) Size(share units.Fraction) (units.Length, error) {
	return g.size("aggregate.Gradation.Size", share, true)
}

// SizeLinear is [Gradation.Size] with the share linear in the opening.
func (g Gradation) SizeLinear(share units.Fraction) (units.Length, error) {
	return g.size("aggregate.Gradation.SizeLinear", share, false)
}

func (g Gradation) size(fn string, share units.Fraction, log bool) (units.Length, error) {
	if err := g.check(fn); err != nil {
		return nanOf[units.Length](), err
	}
	n := len(g)
	_, most := g.at(0)
	fine, least := g.at(n - 1)
	if err := units.InRange(fn, "share", pct(share), least*100, most*100, "%"); err != nil {
		return nanOf[units.Length](), err
	}
	s := min(max(float64(share), least), most) // within the rounding that InRange allows
	for i := n - 2; i >= 0; i-- {
		d0, s0 := g.at(i + 1)
		d1, s1 := g.at(i)
		switch {
		case s0 == s1 && s1 == least:
			fine = d1 // level at the foot
		case s0 <= s && s <= s1 && s0 < s1:
			u := (s - s0) / (s1 - s0)
			if log {
				return units.Length(d0 * math.Pow(d1/d0, u)), nil
			}
			return units.Length(d0 + u*(d1-d0)), nil
		}
	}
	return units.Length(fine), nil // all sieves pass the same
}

// Through returns the share that passes an opening, between the sieves of g.
// Beyond them it is 1 where the coarsest passes all and 0 where the finest
// passes nothing, and an error otherwise.
func (g Gradation) Through(opening units.Length) (units.Fraction, error) {
	const fn = "aggregate.Gradation.Through"
	if err := errors.Join(g.check(fn), units.InRange(fn, "opening", mm(opening), 0.001, 200, "mm")); err != nil {
		return nanOf[units.Fraction](), err
	}
	s, ok := g.through(float64(opening))
	if !ok {
		hi, _ := g.at(0)
		lo, _ := g.at(len(g) - 1)
		return nanOf[units.Fraction](), &units.RangeError{Func: fn, Arg: "opening", Got: mm(opening), Lo: lo * 1e3, Hi: hi * 1e3, Unit: "mm"}
	}
	return units.Fraction(s), nil
}

func (g Gradation) through(d float64) (float64, bool) {
	const same = 1e-9 // 0.6 mm and 600 um
	n := len(g)
	if d0, s0 := g.at(0); d >= d0 {
		return s0, s0 >= 1-same || d <= d0*(1+same)
	}
	for i := 1; i < n; i++ {
		d0, s0 := g.at(i - 1)
		d1, s1 := g.at(i)
		if d >= d1 {
			return s1 + (s0-s1)*math.Log(d/d1)/math.Log(d0/d1), true
		}
	}
	d1, s1 := g.at(n - 1)
	return s1, s1 == 0 || d >= d1*(1-same)
}

// finenessSeries are the sieves of the fineness modulus, mm.
var finenessSeries = [...]float64{150, 75, 37.5, 19, 9.5, 4.75, 2.36, 1.18, 0.6, 0.3, 0.15}

// FinenessModulus returns the sum of the shares retained on the series 150 mm,
// 75 mm, 37.5 mm and so on by halves to 150 um.
//
// A sieve of the series that lies between two of g is interpolated. The
// coarsest sieve of g must pass all. Finer than the finest sieve of g nothing
// passes; that is taken to be so where it passes 1 % or less (at most 0.01 too
// high for each sieve of the series left out), and is an error where it passes more.
//
// Range: as [Gradation]. Accuracy: 1e-12 where all sieves of the series are given.
// Source: ASTM C136, from memory; PCA, Design and Control of Concrete Mixtures.
func (g Gradation) FinenessModulus() (float64, error) {
	const fn = "aggregate.Gradation.FinenessModulus"
	if err := g.check(fn); err != nil {
		return math.NaN(), err
	}
	_, top := g.at(0)
	fine, foot := g.at(len(g) - 1)
	var err error
	if top < 1-1e-9 {
		err = &units.RangeError{Func: fn, Arg: "Share of the coarsest sieve", Got: top * 100, Lo: 100, Hi: 100, Unit: "%"}
	}
	if fine > 0.15e-3*(1+1e-9) {
		err = errors.Join(err, units.FromZero(fn, "Share of the finest sieve, above 0.15 mm", foot*100, 1, "%"))
	}
	if err != nil {
		return math.NaN(), err
	}
	sum := 0.0
	for _, d := range finenessSeries {
		s := 0.0
		if d/1e3 >= fine*(1-1e-9) {
			s, _ = g.through(d / 1e3)
		}
		sum += 1 - s
	}
	return sum, nil
}

// Uniformity returns the coefficient of uniformity D60/D10: below about 2 the
// grain is of nearly one size.
//
// Range: the sieves span 10 % to 60 %. Source: ASTM D2487.
func (g Gradation) Uniformity() (float64, error) {
	d10, err1 := g.size("aggregate.Gradation.Uniformity", 0.1, true)
	d60, err2 := g.size("aggregate.Gradation.Uniformity", 0.6, true)
	if err := first(err1, err2); err != nil {
		return math.NaN(), err
	}
	return float64(d60 / d10), nil
}

// Curvature returns the coefficient of curvature D30^2/(D10 D60): 1 to 3 in a
// well graded sand.
//
// Range: the sieves span 10 % to 60 %. Source: ASTM D2487.
func (g Gradation) Curvature() (float64, error) {
	d10, err1 := g.size("aggregate.Gradation.Curvature", 0.1, true)
	d30, err2 := g.size("aggregate.Gradation.Curvature", 0.3, true)
	d60, err3 := g.size("aggregate.Gradation.Curvature", 0.6, true)
	if err := first(err1, err2, err3); err != nil {
		return math.NaN(), err
	}
	return float64(d30 * d30 / (d10 * d60)), nil
}

// first returns the first error: a bad gradation fails each of several calls alike.
func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// LargestStep returns the largest share held between two sieves next to each
// other. ASTM C33 allows a concrete sand at most 45 %.
func (g Gradation) LargestStep() (units.Fraction, error) {
	if err := g.check("aggregate.Gradation.LargestStep"); err != nil {
		return nanOf[units.Fraction](), err
	}
	most := 0.0
	for i := 1; i < len(g); i++ {
		_, a := g.at(i - 1)
		_, b := g.at(i)
		most = max(most, a-b)
	}
	return units.Fraction(most), nil
}
