package aggregate

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

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
// simplex method in whole numbers, so that parts which are nearly alike are
// told apart as well as any.
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
//
// It starts from the part that alone comes nearest: the shares of the others
// and e are free, and each side of a sieve is a row
// sum x_i (P_i - P_part) - e <= Most - P_part, or the negative of it.
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
	shares := make([]units.Fraction, n)
	part, row := nearestPart(p, band)
	shares[part] = 1
	if outside(p, band, shares) == 0 {
		return shares, 0, nil
	}
	t := newTableau(2*m+1, n)
	col := 0
	for c := range n {
		if c == part {
			continue
		}
		for r := range m {
			t.set(2*r, col, p.At(r, c)-p.At(r, part))
			t.set(2*r+1, col, p.At(r, part)-p.At(r, c))
		}
		t.set(2*m, col, 1)
		col++
	}
	for r, s := range band {
		t.set(2*r, n-1, -1)
		t.set(2*r+1, n-1, -1)
		t.set(2*r, n, float64(s.Most)-p.At(r, part))
		t.set(2*r+1, n, p.At(r, part)-float64(s.Least))
	}
	t.set(2*m, n, 1) // the others together; what they leave is the part's
	x := t.least(n-1, row)
	left, col := 1.0, 0
	for c := range n {
		if c == part {
			continue
		}
		shares[c] = units.Fraction(x[col])
		left -= x[col]
		col++
	}
	shares[part] = units.Fraction(max(0, left)) // rounding
	return shares, outside(p, band, shares), nil
}

// nearestPart returns the part that alone comes nearest to a band, and the row
// of blend's programme at which it is farthest off.
func nearestPart(p *mat.Dense, band Band) (part, row int) {
	m, n := p.Dims()
	least := math.Inf(1)
	for c := range n {
		at, worst := 0, math.Inf(-1)
		for r := range m {
			if over := p.At(r, c) - float64(band[r].Most); over > worst {
				at, worst = 2*r, over
			}
			if under := float64(band[r].Least) - p.At(r, c); under > worst {
				at, worst = 2*r+1, under
			}
		}
		if worst < least {
			part, row, least = c, at, worst
		}
	}
	return part, row
}

// outside returns how far a blend is outside a band at most.
func outside(p *mat.Dense, band Band, shares []units.Fraction) units.Fraction {
	off := 0.0
	for r, s := range band {
		v := 0.0
		for c, x := range shares {
			v += float64(x) * p.At(r, c)
		}
		off = max(off, v-float64(s.Most), float64(s.Least)-v)
	}
	if off < 1e-12 {
		off = 0
	}
	return units.Fraction(off)
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
