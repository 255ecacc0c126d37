package aggregate

import (
	"errors"

	"github.com/tackfree/tackfree/data/units"
)

// Grouted returns the bed after a grout that filled the share Fill of its open
// voids: what a second grout finds open.
//
// Range: as [Bed.Grout].
func (b Bed) Grouted() (Bed, error) {
	filled, err := b.Grout(0)
	if err != nil {
		return nanBed(), err
	}
	b.Open -= filled
	b.Fill = 0
	return b, nil
}

// GroutArea returns the area that a kit of grout covers on the bed at a film
// above the peaks.
//
// Range: kit above 0 to 10 m3; film as [Bed.Grout], and voids and film not both 0.
func (b Bed) GroutArea(kit units.Volume, film units.Length) (units.Area, error) {
	const fn = "aggregate.Bed.GroutArea"
	need, err := b.Grout(film)
	if err := errors.Join(err, above(fn, "kit", float64(kit), 10, "m3")); err != nil {
		return nanOf[units.Area](), err
	}
	if err := above(fn, "grout", mm(need), 2*thickestFilm, "mm"); err != nil {
		return nanOf[units.Area](), err
	}
	return units.Area(float64(kit) / float64(need)), nil
}
