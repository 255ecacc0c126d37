package aggregate

import (
	"errors"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// A SealCoat is the design of a road's one-stone-deep seal after McLeod: chips
// one deep, lying on their flattest side after traffic, the voids of a loose
// bed V closing to 0.4 V. It is here to check broadcasts of one layer against
// another trade's theory; its binder loses water, and traffic beds its chips.
//
// Do not carry its voids over to a resin floor: another published design
// ([VoidFactorBinder]) puts down a third less chips on the same layer, and
// spheres at a plan coverage of 0.82 keep 45 % of voids where McLeod has 20 %.
type SealCoat struct {
	Median    units.Length   // D50 of the chips, 0.5 to 50 mm
	Flakiness units.Fraction // share of flat chips, 0 to 100 %
	Loose     units.Density  // of the loose bed
	Grain     units.Density  // of the chips themselves
	Wastage   units.Fraction // chips whipped off by traffic, 0 to 30 %
	Traffic   units.Fraction // share of the voids that binder fills, 40 % to 100 %; 60 % to 85 % in use (memory)
	Surface   units.Length   // binder that the old surface takes (or, negative, gives), -1 to 1 mm
	Absorbed  units.Length   // binder that the chips soak up, 0 to 1 mm
	Residual  units.Fraction // of the binder that stays when water is gone, 30 % to 100 %
}

func (s SealCoat) check(fn string) error {
	if err := grainDensity(fn, "Grain", s.Grain); err != nil {
		return err
	}
	return errors.Join(units.InRange(fn, "Median", mm(s.Median), 0.5, 50, "mm"), units.FromZero(fn, "Flakiness", pct(s.Flakiness), 100, "%"), above(fn, "Loose", float64(s.Loose), float64(s.Grain), "kg/m3"),
		units.FromZero(fn, "Wastage", pct(s.Wastage), 30, "%"), units.InRange(fn, "Traffic", pct(s.Traffic), 40, 100, "%"), units.InRange(fn, "Surface", mm(s.Surface), -1, 1, "mm"),
		units.FromZero(fn, "Absorbed", mm(s.Absorbed), 1, "mm"), units.InRange(fn, "Residual", pct(s.Residual), 30, 100, "%"))
}

// LeastDimension returns the average least dimension of the chips, the height
// of the finished layer: H = M/(1.139285 + 0.011506 FI), FI in percent.
//
// Source: Minnesota Seal Coat Handbook ch. 4 (McLeod), from memory.
func (s SealCoat) LeastDimension() (units.Length, error) {
	if err := s.check("aggregate.SealCoat.LeastDimension"); err != nil {
		return nanOf[units.Length](), err
	}
	return s.height(), nil
}

func (s SealCoat) height() units.Length {
	return s.Median / units.Length(1.139285+0.011506*pct(s.Flakiness))
}

// Voids returns those of the loose bed, V = 1 - loose/grain.
func (s SealCoat) Voids() (units.Fraction, error) {
	if err := s.check("aggregate.SealCoat.Voids"); err != nil {
		return nanOf[units.Fraction](), err
	}
	return s.voids(), nil
}

func (s SealCoat) voids() units.Fraction { return max(0, 1-units.Fraction(s.Loose/s.Grain)) }

// Chips returns the loading to spread, C = (1 - 0.4 V) H G E with E = 1 + Wastage.
//
// Accuracy: the equation to 1e-12; its US constant 46.8 is 62.4 lb/ft3 x 9/12.
// Source: as [SealCoat.LeastDimension].
func (s SealCoat) Chips() (units.Loading, error) {
	if err := s.check("aggregate.SealCoat.Chips"); err != nil {
		return nanOf[units.Loading](), err
	}
	return units.Loading(float64(1-0.4*s.voids()) * float64(s.height()) * float64(s.Grain) * float64(1+s.Wastage)), nil
}

// Binder returns the volume per area of binder to spray,
// B = (0.40 H T V + S + A)/R.
//
// Accuracy: the equation to 1e-12; its US constant 2.244 is 0.40 x 5.6104 rounded (7e-5).
// Source: as [SealCoat.LeastDimension].
func (s SealCoat) Binder() (units.Length, error) {
	const fn = "aggregate.SealCoat.Binder"
	if err := s.check(fn); err != nil {
		return nanOf[units.Length](), err
	}
	b := float64(0.4*s.height())*float64(s.Traffic)*float64(s.voids()) + float64(s.Surface+s.Absorbed)
	if err := units.FromZero(fn, "binder", b*1e3, 100, "mm"); err != nil { // the old surface gives more than the chips take
		return nanOf[units.Length](), err
	}
	return units.Length(b / float64(s.Residual)), nil
}

// VoidFactorBinder returns the binder of a seal by voids factor:
// factor x least dimension x emulsion factor + allowances, carried unrounded.
//
// Range: factor 0 to 1, least dimension 1 to 50 mm, emulsion 1 to 2,
// allowances -2 to 2 mm (litres per square metre), the sum no less than 0.
// Source: Austroads AGPT04K-18 Appendix C.
func VoidFactorBinder(factor units.Fraction, least units.Length, emulsion float64, allowances units.Length) (units.Length, error) {
	const fn = "aggregate.VoidFactorBinder"
	if err := errors.Join(units.FromZero(fn, "factor", pct(factor), 100, "%"), units.InRange(fn, "least", mm(least), 1, 50, "mm"),
		units.InRange(fn, "emulsion", emulsion, 1, 2, "times"), units.InRange(fn, "allowances", mm(allowances), -2, 2, "mm")); err != nil {
		return nanOf[units.Length](), err
	}
	b := least*units.Length(factor)*units.Length(emulsion) + allowances
	if err := units.FromZero(fn, "binder", mm(b), 102, "mm"); err != nil {
		return nanOf[units.Length](), err
	}
	return b, nil
}

// ChipSpread returns the area that a loose volume of chips covers one deep,
// share/least dimension: with share 0.900 the loose chips stand 1.11 least
// dimensions deep.
//
// Range: share 50 % to 150 %, least dimension 1 to 50 mm.
// Source: Austroads AGPT04K-18 Appendix C, 900/ALD and 950/ALD in m2/m3 and mm.
func ChipSpread(share units.Fraction, least units.Length) (units.Spread, error) {
	const fn = "aggregate.ChipSpread"
	if err := errors.Join(units.InRange(fn, "share", pct(share), 50, 150, "%"), units.InRange(fn, "least", mm(least), 1, 50, "mm")); err != nil {
		return nanOf[units.Spread](), err
	}
	return units.Spread(float64(share) / float64(least)), nil
}

// A BoardTest is a tray on which chips are laid one deep by hand and weighed.
type BoardTest struct {
	Loading units.Loading // on the board, 0.5 to 100 kg/m2
	Loose   units.Density // of the loose bed
	Grain   units.Density // of the chips themselves
}

// Depth returns the mean depth of the mat, loading over loose density: Q/W 12/9
// in inches. Print has 1.33 for the 12/9.
//
// Source: modified Kearby, AASHTO PP 82, from memory.
func (b BoardTest) Depth() (units.Length, error) {
	if err := b.check("aggregate.BoardTest.Depth"); err != nil {
		return nanOf[units.Length](), err
	}
	return units.Length(float64(b.Loading) / float64(b.Loose)), nil
}

// Binder returns the residual binder that embeds the mat to a share of its
// depth: e d (1 - W/62.4G) T + V, V the surface's correction.
//
// Range: embedment 0 to 100 %, traffic 40 % to 200 %, surface -1 to 1 mm, the sum no less than 0.
// Source: as [BoardTest.Depth].
func (b BoardTest) Binder(embedment, traffic units.Fraction, surface units.Length) (units.Length, error) {
	const fn = "aggregate.BoardTest.Binder"
	if err := errors.Join(b.check(fn), units.FromZero(fn, "embedment", pct(embedment), 100, "%"), units.InRange(fn, "traffic", pct(traffic), 40, 200, "%"), units.InRange(fn, "surface", mm(surface), -1, 1, "mm")); err != nil {
		return nanOf[units.Length](), err
	}
	voids := math.Max(0, 1-float64(b.Loose)/float64(b.Grain))
	v := float64(b.Loading)/float64(b.Loose)*float64(embedment)*voids*float64(traffic) + float64(surface)
	if err := units.FromZero(fn, "binder", v*1e3, 1e3, "mm"); err != nil {
		return nanOf[units.Length](), err
	}
	return units.Length(v), nil
}

func (b BoardTest) check(fn string) error {
	if err := grainDensity(fn, "Grain", b.Grain); err != nil {
		return err
	}
	return errors.Join(units.InRange(fn, "Loading", float64(b.Loading), 0.5, 100, "kg/m2"), above(fn, "Loose", float64(b.Loose), float64(b.Grain), "kg/m3"))
}
