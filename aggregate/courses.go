package aggregate

import (
	"errors"
	"fmt"

	"github.com/tackfree/tackfree/data/units"
)

// ErrStarved says that the open voids of a crust take all of the next film:
// no grain would be held.
var ErrStarved = errors.New("the open voids below take all of the film")

// Peaks returns the height of the plane through the peaks of the bed: all
// grain, resin and open voids lie below it.
func (b Bed) Peaks() units.Length {
	if b.Embedment < 1 {
		return b.Height // one layer: the grain's own height
	}
	return b.Height + b.Open
}

// Next returns the bed that a second film and broadcast make on b. The film
// first fills the share Fill of b's open voids; what is left of it above the
// peaks takes the grain, to refusal. [ErrStarved] where nothing is left.
//
// Range: film and g as [ToRefusal].
// Source: volume balance; our assumption that the grain does not key into the
// crust below (it does a little, so that the real bed is a bit lower).
func (b Bed) Next(film units.Length, g Grain) (Bed, error) {
	return b.next("aggregate.Bed.Next", Course{Film: film, Grain: g})
}

func (b Bed) next(fn string, c Course) (Bed, error) {
	voids, err := b.Grout(0)
	if err := errors.Join(err, filmRange(fn, c.Film), c.Grain.check(fn)); err != nil {
		return nanBed(), err
	}
	left := c.Film - voids
	if !(left > 0) {
		return nanBed(), fmt.Errorf("%s: a film of %v over %v of voids: %w", fn, c.Film, voids, ErrStarved)
	}
	return c.bed(left)
}

// A Course is a film and what is thrown into it.
type Course struct {
	Film  units.Length
	Grain Grain
	Rate  units.Loading  // 0 throws to refusal
	Fill  units.Fraction // of its open voids, by the next film; 0 stands for 1
}

func (c Course) bed(film units.Length) (b Bed, err error) {
	if c.Rate == 0 {
		b, err = ToRefusal(film, c.Grain)
	} else {
		b, err = Broadcast(c.Rate, film, c.Grain)
	}
	b.Fill = c.Fill
	return b, err
}

// A Buildup is several courses on each other.
type Buildup struct {
	Beds []Bed         // bottom first
	Held units.Loading // grain in all of them
	Film units.Length  // resin in all of them, wet
	// Height of the plane through the last peaks: films, grain, what voids
	// were not filled, and the open voids of the last course.
	Height units.Length
}

// Build returns the build-up of 1 to 20 courses, each filling the voids of the
// last. An error names the course it is of.
//
// Accuracy: the volumes balance to 1e-12; as a forecast of a floor about 10 %.
// Source: volume balance; against NCHRP Synthesis 423 (2011) p. 36.
func Build(courses []Course) (Buildup, error) {
	const fn = "aggregate.Build"
	if err := units.InRange(fn, "courses", float64(len(courses)), 1, 20, "in number"); err != nil {
		return Buildup{Held: nanOf[units.Loading](), Film: nanOf[units.Length](), Height: nanOf[units.Length]()}, err
	}
	var out Buildup
	for i, c := range courses {
		bed, err := c.bed(c.Film)
		if i > 0 {
			bed, err = out.Beds[i-1].next(fn, c)
		}
		if err == nil {
			_, err = bed.Grout(0) // Fill
		}
		if err != nil {
			return Buildup{Held: nanOf[units.Loading](), Film: nanOf[units.Length](), Height: nanOf[units.Length]()}, fmt.Errorf("course %d: %w", i+1, err)
		}
		out.Beds = append(out.Beds, bed)
		out.Held += bed.Held
		out.Film += c.Film
		out.Height += bed.Peaks()
	}
	return out, nil
}
