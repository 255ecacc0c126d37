package aggregate

import (
	"errors"

	"github.com/tackfree/tackfree/data/units"
)

// A BandSieve is what a specification lets pass one sieve.
type BandSieve struct {
	Opening     units.Length
	Least, Most units.Fraction
}

// A Band is the gradation that a specification asks for: 2 to 100 sieves,
// coarse to fine or fine to coarse. Its edges are gradations themselves.
type Band []BandSieve

// Fine returns the finest gradation in the band: the most passes each sieve.
func (b Band) Fine() (Gradation, error) { return b.edge("aggregate.Band.Fine", 1) }

// Coarse returns the coarsest gradation in the band.
func (b Band) Coarse() (Gradation, error) { return b.edge("aggregate.Band.Coarse", 0) }

// Middle returns the gradation midway between the edges.
func (b Band) Middle() (Gradation, error) { return b.edge("aggregate.Band.Middle", 0.5) }

func (b Band) edge(fn string, u units.Fraction) (Gradation, error) {
	if err := b.check(fn); err != nil {
		return nil, err
	}
	return b.between(u), nil
}

func (b Band) between(u units.Fraction) Gradation {
	g := make(Gradation, len(b))
	for i, s := range b {
		g[i] = Passing{s.Opening, (1-u)*s.Least + u*s.Most} // at the edges they themselves
	}
	return g
}

func (b Band) check(fn string) error {
	for i, s := range b {
		if s.Least > s.Most {
			return numbered(&units.RangeError{Func: fn, Arg: "Least", Got: pct(s.Least), Lo: 0, Hi: pct(s.Most), Unit: "%"}, i)
		}
	}
	return first(b.between(0).check(fn), b.between(1).check(fn))
}

// A Miss is a sieve at which a gradation leaves its band.
type Miss struct {
	BandSieve
	Share units.Fraction // that passes
	By    units.Fraction // above Most (positive) or below Least (negative)
}

// Misses returns the sieves of the band at which g is outside it; none when g
// meets the specification. A sieve of the band that g lacks is interpolated.
func (b Band) Misses(g Gradation) ([]Miss, error) {
	const fn = "aggregate.Band.Misses"
	if err := errors.Join(b.check(fn), g.check(fn)); err != nil {
		return nil, err
	}
	var out []Miss
	var all error
	for i, s := range b {
		p, ok := g.through(float64(s.Opening))
		share := units.Fraction(p)
		if !ok {
			hi, _ := g.at(0)
			lo, _ := g.at(len(g) - 1)
			all = errors.Join(all, numbered(&units.RangeError{Func: fn, Arg: "Opening", Got: mm(s.Opening), Lo: lo * 1e3, Hi: hi * 1e3, Unit: "mm, where the gradation has sieves"}, i))
			continue
		}
		const rounding = 1e-9
		switch {
		case share > s.Most+rounding:
			out = append(out, Miss{s, share, share - s.Most})
		case share < s.Least-rounding:
			out = append(out, Miss{s, share, share - s.Least})
		}
	}
	if all != nil {
		return nil, all
	}
	return out, nil
}
