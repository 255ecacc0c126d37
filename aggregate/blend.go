package aggregate

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"

	"github.com/tackfree/tackfree/data/units"
)

// Blend returns the gradation of parts mixed by mass, on all the sieves of the
// parts that every part has or spans.
//
// Range: 1 to 20 parts, one share each, which add up to 1 within 1e-6.
// Source: mass balance.
func Blend(parts []Gradation, shares []units.Fraction) (Gradation, error) {
	const fn = "aggregate.Blend"
	err := checkParts(fn, parts)
	if len(shares) != len(parts) {
		n := float64(len(parts))
		return nil, errors.Join(err, &units.RangeError{Func: fn, Arg: "shares", Got: float64(len(shares)), Lo: n, Hi: n, Unit: "in number"})
	}
	sum := 0.0
	for i, s := range shares {
		if e := units.FromZero(fn, "share", pct(s), 100, "%"); e != nil {
			err = errors.Join(err, numbered(e, i))
		}
		sum += float64(s)
	}
	if !(math.Abs(sum-1) <= 1e-6) {
		err = errors.Join(err, &units.RangeError{Func: fn, Arg: "sum of shares", Got: sum * 100, Lo: 100, Hi: 100, Unit: "%"})
	}
	if err != nil {
		return nil, err
	}
	openings := common(parts)
	g := make(Gradation, 0, len(openings))
	for _, d := range openings {
		share := 0.0
		for i, p := range parts {
			s, _ := p.through(d)
			share += float64(shares[i]) / sum * s
		}
		if n := len(g); n > 0 {
			share = min(share, float64(g[n-1].Share)) // rounding
		}
		g = append(g, Passing{units.Length(d), units.Fraction(min(1, share))})
	}
	if err := g.check(fn); err != nil {
		return nil, err
	}
	return g, nil
}

func checkParts(fn string, parts []Gradation) error {
	err := units.InRange(fn, "parts", float64(len(parts)), 1, 20, "in number")
	for i, p := range parts {
		if e := p.check(fn); e != nil {
			err = errors.Join(err, fmt.Errorf("part %d: %w", i, e))
		}
	}
	return err
}

// common returns the openings, coarse to fine, at which all parts are known.
func common(parts []Gradation) []float64 {
	var all []float64
	for _, p := range parts {
		for i := range p {
			d, _ := p.at(i)
			known := true
			for _, q := range parts {
				_, ok := q.through(d)
				known = known && ok
			}
			if known {
				all = append(all, d)
			}
		}
	}
	slices.Sort(all)
	slices.Reverse(all)
	return slices.CompactFunc(all, func(a, b float64) bool { return math.Abs(a-b) <= 1e-9*a })
}

// BlendTo returns the shares of parts whose blend comes nearest to a target,
// and the largest distance that is left at a sieve of the target: the least
// there is. Of several such blends it returns one.
//
// It is a linear programme in the shares and the distance, solved by the
// simplex method of gonum.
//
// Range: 1 to 20 parts, each known at all sieves of target.
// Accuracy: the distance within 1e-9 of the least.
func BlendTo(parts []Gradation, target Gradation) ([]units.Fraction, units.Fraction, error) {
	const fn = "aggregate.BlendTo"
	if err := errors.Join(checkParts(fn, parts), target.check(fn)); err != nil {
		return nil, nanOf[units.Fraction](), err
	}
	band := make(Band, len(target))
	for i, p := range target {
		band[i] = BandSieve{p.Opening, p.Share, p.Share}
	}
	return blend(fn, parts, band)
}

// BlendWithin returns shares of parts whose blend lies in a band; and where
// there is none, of the blend that leaves it least, with the largest distance
// outside it. The distance is 0 when the band is met.
//
// Range, accuracy: as [BlendTo].
func BlendWithin(parts []Gradation, band Band) ([]units.Fraction, units.Fraction, error) {
	const fn = "aggregate.BlendWithin"
	if err := errors.Join(checkParts(fn, parts), band.check(fn)); err != nil {
		return nil, nanOf[units.Fraction](), err
	}
	return blend(fn, parts, band)
}

// blend minimises e over x >= 0, sum x = 1 with
// Least - e <= sum x_i P_i <= Most + e at each sieve.
func blend(fn string, parts []Gradation, band Band) ([]units.Fraction, units.Fraction, error) {
	n, m := len(parts), len(band)
	p := mat.NewDense(m, n, nil)
	var bad error
	for r, s := range band {
		for c, g := range parts {
			share, ok := g.through(float64(s.Opening))
			if !ok {
				lo, _ := g.at(len(g) - 1)
				hi, _ := g.at(0)
				bad = errors.Join(bad, fmt.Errorf("part %d: %w", c, &units.RangeError{Func: fn, Arg: "Opening", Got: mm(s.Opening), Lo: lo * 1e3, Hi: hi * 1e3, Unit: "mm, where the part has sieves"}))
			}
			p.Set(r, c, share)
		}
	}
	if bad != nil {
		return nil, nanOf[units.Fraction](), bad
	}
	// Columns: the shares, e, and a slack for each of the 2m rows; then the sum.
	a := mat.NewDense(2*m+1, n+1+2*m, nil)
	b := make([]float64, 2*m+1)
	cost := make([]float64, n+1+2*m)
	cost[n] = 1
	for r, s := range band {
		for c := range n {
			a.Set(2*r, c, p.At(r, c))
			a.Set(2*r+1, c, p.At(r, c))
		}
		a.Set(2*r, n, -1) // sum - e + slack = Most
		a.Set(2*r, n+1+2*r, 1)
		b[2*r] = float64(s.Most)
		a.Set(2*r+1, n, 1) // sum + e - slack = Least
		a.Set(2*r+1, n+2+2*r, -1)
		b[2*r+1] = float64(s.Least)
	}
	for c := range n {
		a.Set(2*m, c, 1)
	}
	b[2*m] = 1
	_, x, err := lp.Simplex(cost, a, b, 1e-12, nil)
	if err != nil {
		return nil, nanOf[units.Fraction](), fmt.Errorf("%s: %w", fn, err)
	}
	shares, sum := make([]units.Fraction, n), 0.0
	for i := range n {
		shares[i] = units.Fraction(max(0, x[i])) // the simplex gives -1e-17 for 0
		sum += float64(shares[i])
	}
	for i := range shares {
		shares[i] /= units.Fraction(sum)
	}
	off := 0.0 // from the shares themselves, so that the two agree
	for r, s := range band {
		v := 0.0
		for c := range n {
			v += float64(shares[c]) * p.At(r, c)
		}
		off = max(off, v-float64(s.Most), float64(s.Least)-v)
	}
	if off < 1e-12 {
		off = 0
	}
	return shares, units.Fraction(off), nil
}

// BlendForFineness returns the share of a in a blend of a and b that has a
// fineness modulus, which is linear in the shares.
//
// Range: fineness between the moduli of a and b, which must differ.
func BlendForFineness(a, b Gradation, fineness float64) (units.Fraction, error) {
	const fn = "aggregate.BlendForFineness"
	fa, err1 := a.FinenessModulus()
	fb, err2 := b.FinenessModulus()
	if err := errors.Join(err1, err2); err != nil {
		return nanOf[units.Fraction](), err
	}
	if math.Abs(fa-fb) < 1e-9 || !(fineness >= min(fa, fb)-1e-9 && fineness <= max(fa, fb)+1e-9) {
		return nanOf[units.Fraction](), &units.RangeError{Func: fn, Arg: "fineness", Got: fineness, Lo: min(fa, fb), Hi: max(fa, fb), Unit: "between the two parts"}
	}
	return units.Fraction(min(1, max(0, (fineness-fb)/(fa-fb)))), nil
}
