package coverage_test

import (
	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// twoToOne is 2:1 by volume, 9.2 and 8.1 lb/gal.
func twoToOne() coverage.Mix {
	return coverage.Mix{Parts: []coverage.Part{{"A", 2, 9.2 * units.PoundPerGallon}, {"B", 1, 8.1 * units.PoundPerGallon}}}
}

// paint is the formula of rows A2-09.
func paint() coverage.Formula {
	return coverage.Formula{
		{"resin", 100 * units.Pound, 9.7 * units.PoundPerGallon, coverage.Stays},
		{"pigment", 50 * units.Pound, 33.3 * units.PoundPerGallon, coverage.Stays},
		{"solvent", 30 * units.Pound, 7.25 * units.PoundPerGallon, coverage.Solvent},
	}
}

// mixes computes part A2: equivalents, ratios, formulas, kits.
func mixes() map[string]value {
	const gal, lbgal = units.Gallon, units.PoundPerGallon
	composition := func(pick func(coverage.Composition) float64) value {
		return func() (float64, error) { c, err := paint().Composition(); return pick(c), err }
	}
	voc := func(unit units.Density) value {
		return in(unit, func() (units.Density, error) {
			c, err := paint().Composition()
			if err != nil {
				return 0, err
			}
			return c.Volatiles.LessWater() // no water in it: the same as the actual one
		})
	}
	order := func(loss coverage.Loss) (units.Volume, error) {
		return coverage.Need(1250*units.SquareFoot, 16*units.Mil, 1, loss)
	}
	return map[string]value{
		"A2-01 EEW of blend g/eq": func() (float64, error) {
			return coverage.BlendEquivalent([]coverage.Reactive{{80, 189}, {10, 183}, {10, 0}})
		},
		"A2-03 AHEW g/eq":         func() (float64, error) { return coverage.AmineEquivalent(103, 5) },
		"A2-03 phr parts per 100": func() (float64, error) { return coverage.HardenerPerHundred(20.6, 200) },
		"A2-05 isocyanate eq wt g/eq": func() (float64, error) {
			return coverage.IsocyanateEquivalent(21.8 * units.Percent)
		},
		"A2-05 polyol eq wt g/eq": func() (float64, error) { return coverage.PolyolEquivalent(140) },
		"A2-05 isocyanate per 100 g polyol g": func() (float64, error) {
			nco, err := coverage.IsocyanateEquivalent(21.8 * units.Percent)
			if err != nil {
				return 0, err
			}
			oh, err := coverage.PolyolEquivalent(140)
			if err != nil {
				return 0, err
			}
			return coverage.IsocyanatePerHundred(nco, oh, 1.05)
		},
		"A2-06 A:B by weight -": func() (float64, error) {
			s, err := twoToOne().Split(gal)
			if err != nil {
				return 0, err
			}
			return float64(s[0].Mass / s[1].Mass), nil
		},
		"A2-06 B per 100 A parts by weight": func() (float64, error) {
			phr, err := twoToOne().PerHundred()
			if err != nil {
				return 0, err
			}
			return phr[1], nil
		},
		"A2-06 mixed density lb/gal":                      in(lbgal, func() (units.Density, error) { return twoToOne().Density() }),
		"A2-08 1 g/mL lb/gal":                             of(float64(units.GramPerMillilitre / lbgal)),
		"A2-08 1 lb/gal g/L":                              of(float64(lbgal)),
		"A2-09 total volume gal":                          composition(func(c coverage.Composition) float64 { return float64(c.Volume / gal) }),
		"A2-09 volume solids -":                           composition(func(c coverage.Composition) float64 { return float64(c.VolumeSolids) }),
		"A2-09 weight solids -":                           composition(func(c coverage.Composition) float64 { return float64(c.WeightSolids) }),
		"A2-09 density lb/gal":                            composition(func(c coverage.Composition) float64 { return float64(c.Density / lbgal) }),
		"A2-09 VOC lb/gal":                                voc(lbgal),
		"A2-09 VOC g/L":                                   voc(1),
		"A2-09 cross-check VOC = d_solvent*(1-VS) lb/gal": composition(func(c coverage.Composition) float64 { return 7.25 * (1 - float64(c.VolumeSolids)) }),
		"A2-11 net gal":                                   in(gal, func() (units.Volume, error) { return order(coverage.Loss{}) }),
		"A2-11 order gal":                                 in(gal, func() (units.Volume, error) { return order(coverage.Loss{Waste: 0.05}) }),
		"A2-11 kits kits": func() (float64, error) {
			v, err := order(coverage.Loss{Waste: 0.05})
			if err != nil {
				return 0, err
			}
			n, err := coverage.Kits(v, 3*gal)
			return float64(n), err
		},
	}
}
