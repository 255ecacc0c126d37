package aggregate

import (
	"errors"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// Jamming is the plan coverage at which grains that fall at random and stay
// where they touch the floor leave no room for another: below it a broadcast
// is light, not to refusal. Source: random sequential adsorption of discs,
// 0.547 (Feder 1980).
const Jamming units.Fraction = 0.547

// PlanCoverage is the plan coverage of one layer broadcast to refusal, for a
// [Grain] that gives none: random close packing of discs, 0.82 +- 0.02 (from
// memory). Grain neither sticks where it lands nor orders, so that the real
// one lies between 0.547 and 0.82. Grain that rolls off what it falls on covers
// [RolledCoverage], 0.6105; internal/deposit lets both kinds fall.
const PlanCoverage units.Fraction = 0.82

// A Grain is an aggregate of one middle size.
type Grain struct {
	Size     units.Length   // middle size, 1 um to 100 mm
	Density  units.Density  // of the grain, 100 to 20 000 kg/m3
	Packing  units.Fraction // solids of the loose bed, 20 % to 80 %
	Coverage units.Fraction // plan coverage of one full layer, 54.7 % to 90.69 %; 0 stands for [PlanCoverage]
}

func (g Grain) check(fn string) error {
	err := errors.Join(units.InRange(fn, "Size", float64(g.Size/units.Millimetre), 0.001, 100, "mm"),
		units.InRange(fn, "Density", float64(g.Density), 100, 20000, "kg/m3"),
		units.InRange(fn, "Packing", float64(g.Packing/units.Percent), 20, 80, "%"))
	if g.Coverage != 0 {
		err = errors.Join(err, units.InRange(fn, "Coverage", float64(g.Coverage/units.Percent), 54.7, 90.69, "%"))
	}
	return err
}

func (g Grain) coverage() float64 {
	if g.Coverage == 0 {
		return float64(PlanCoverage)
	}
	return float64(g.Coverage)
}

// A Bed is a broadcast after the loose grain is off.
type Bed struct {
	Held      units.Loading  // grain that stays
	Height    units.Length   // thin: one grain; thick: mean height, resin and grain by volume
	Open      units.Length   // voids per area between the surface and the plane through the peaks
	Embedment units.Fraction // of the grain's height, in one layer; 1 in a thick bed
	Coverage  units.Fraction // plan coverage of the layer
	Light     bool           // not to refusal
	Fill      units.Fraction // share of Open that a grout fills, 0 to 1; 0 stands for 1
}

const thickestFilm = 100.0 // mm

// ToRefusal returns the bed that a wet film holds when grain is thrown until
// no more stays: a balance of the resin's volume.
//
// A thin film, t/d <= 1 - 2c/3 with c the plan coverage of one layer, holds one
// layer of (2/3) c d rho, embedded to e where t/d = e - c (2 e^2 - 4 e^3/3)
// (spheres: the volume of caps). A thicker one rises through grain packed at
// phi to h = t/(1 - phi) and holds rho t phi/(1 - phi), but no less than the
// layer that a thinner film holds: more resin never holds less.
//
// Open is d (1 - 2c/3) - t over one layer. Over a thick bed the grain that
// stands proud of the mean height is taken as half a layer, d (1/2 - c/3),
// times the share of the next layer that has begun, (h - d)/d up to 1; that is
// our assumption, illustrative: a sand-patch reading (ASTM E965) is better.
//
// Where one regime gives way to the other (t/d = 1 - 2c/3) the two agree for
// packings near 2c/3 (0.547 for the usual c). A denser grain jumps there: at
// 0.64 the bed holds 47 % more than the layer. Near that film, look at both.
//
// Range: film above 0 to 100 mm; g as its fields say.
// Accuracy: the equations to 1e-9; as a forecast of a floor about 10 %.
// Source: volume balance; checked against NCHRP Synthesis 423 (2011) p. 36.
func ToRefusal(film units.Length, g Grain) (Bed, error) {
	const fn = "aggregate.ToRefusal"
	if err := errors.Join(filmRange(fn, film), g.check(fn)); err != nil {
		return nanBed(), err
	}
	t, d, c, rho, phi := float64(film), float64(g.Size), g.coverage(), float64(g.Density), float64(g.Packing)
	if full := 1 - 2*c/3; t/d <= full {
		return Bed{
			Held:      units.Loading(2. / 3 * c * d * rho),
			Height:    g.Size,
			Open:      units.Length(math.Max(0, d*full-t)), // rounding
			Embedment: units.Fraction(embedment(t/d, c)),
			Coverage:  units.Fraction(c),
		}, nil
	}
	h, held := t/(1-phi), t*phi/(1-phi)
	if layer := 2. / 3 * c * d; held < layer { // loose packing: the bed has not yet overtaken the layer, which stays
		h, held = t+layer, layer
	}
	next := math.Min(1, math.Max(0, (h-d)/d))
	return Bed{
		Held:      units.Loading(rho * held),
		Height:    units.Length(h),
		Open:      units.Length(d * (0.5 - c/3) * next),
		Embedment: 1,
		Coverage:  units.Fraction(c),
	}, nil
}

// Broadcast returns the bed of a stated rate of grain in a wet film. If the
// grain covers less than [Jamming] it is light: all of it stays, in one layer
// of its own coverage. At or above refusal it is the bed of [ToRefusal].
// Between the two all of it stays, in a layer of its own coverage where the
// film is thin, and in a bed with resin left above it where the film is thick.
//
// Range: rate above 0 to 1000 kg/m2; film and g as [ToRefusal].
func Broadcast(rate units.Loading, film units.Length, g Grain) (Bed, error) {
	const fn = "aggregate.Broadcast"
	rateErr := units.InRange(fn, "rate", float64(rate), 0, 1000, "kg/m2")
	if rate <= 0 {
		rateErr = &units.RangeError{Func: fn, Arg: "rate", Got: float64(rate), Lo: 0, Hi: 1000, Unit: "kg/m2", Above: true}
	}
	if err := errors.Join(rateErr, filmRange(fn, film), g.check(fn)); err != nil {
		return nanBed(), err
	}
	full, err := ToRefusal(film, g)
	if err != nil {
		return nanBed(), err
	}
	t, d := float64(film), float64(g.Size)
	c := float64(rate) / (2. / 3 * d * float64(g.Density))
	light := c < float64(Jamming)
	if rate >= full.Held && !light {
		return full, nil
	}
	if light || c <= g.coverage() {
		e := 1.0
		if t/d < 1-2*c/3 {
			e = embedment(t/d, c)
		}
		return Bed{
			Held: rate, Height: units.Length(math.Max(d, t+2./3*c*d)), Open: units.Length(math.Max(0, d*(1-2*c/3)-t)),
			Embedment: units.Fraction(e), Coverage: units.Fraction(c), Light: light,
		}, nil
	}
	return Bed{ // more than a layer, less than the film takes
		Held: rate, Height: film + units.Length(float64(rate)/float64(g.Density)), Embedment: 1, Coverage: units.Fraction(g.coverage()),
	}, nil
}

// Grout returns the volume per area of a grout over the bed: Open Fill, plus
// film above the peaks.
//
// Range: film 0 to 100 mm, Fill 0 to 1.
func (b Bed) Grout(film units.Length) (units.Length, error) {
	const fn = "aggregate.Bed.Grout"
	if err := errors.Join(units.FromZero(fn, "film", float64(film/units.Millimetre), thickestFilm, "mm"),
		units.FromZero(fn, "Fill", float64(b.Fill/units.Percent), 100, "%"), units.FromZero(fn, "Open", float64(b.Open/units.Millimetre), 100, "mm")); err != nil {
		return units.Length(math.NaN()), err
	}
	fill := units.Length(b.Fill)
	if fill == 0 {
		fill = 1
	}
	return b.Open*fill + film, nil
}

// Thrown returns how much to throw so that held stays, held/retention, and how
// much of it is vacuumed back.
//
// Range: held 0 to 1000 kg/m2, retention 5 % to 100 %.
func Thrown(held units.Loading, retention units.Fraction) (thrown, vacuumed units.Loading, err error) {
	const fn = "aggregate.Thrown"
	if err := errors.Join(units.FromZero(fn, "held", float64(held), 1000, "kg/m2"), units.InRange(fn, "retention", float64(retention/units.Percent), 5, 100, "%")); err != nil {
		nan := units.Loading(math.NaN())
		return nan, nan, err
	}
	thrown = held / units.Loading(retention)
	return thrown, thrown - held, nil
}

func filmRange(fn string, film units.Length) error {
	mm := float64(film / units.Millimetre)
	if film <= 0 {
		return &units.RangeError{Func: fn, Arg: "film", Got: mm, Lo: 0, Hi: thickestFilm, Unit: "mm", Above: true}
	}
	return units.InRange(fn, "film", mm, 0, thickestFilm, "mm")
}

func nanBed() Bed {
	n := math.NaN()
	return Bed{Held: units.Loading(n), Height: units.Length(n), Open: units.Length(n), Embedment: units.Fraction(n), Coverage: units.Fraction(n)}
}

// embedment solves x = e - c (2 e^2 - 4 e^3/3) for e in 0 to 1 by Newton,
// held inside a bracket; the right side rises with e for every c below 1.
func embedment(x, c float64) float64 {
	lo, hi, e := 0.0, 1.0, x
	for range 100 {
		f := e - c*(2*e*e-4./3*e*e*e) - x
		if f > 0 {
			hi = e
		} else {
			lo = e
		}
		next := e - f/(1-c*(4*e-4*e*e))
		if !(next >= lo && next <= hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-e) < 1e-14 {
			return next
		}
		e = next
	}
	return e
}
