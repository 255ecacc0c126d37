package coverage_test

import (
	"math"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// Sources stand by each row of testdata/reference.csv. films computes part A1: films, spreads, losses, joints.
func films() map[string]value {
	const gal, mil, ft2 = units.Gallon, units.Mil, units.SquareFoot
	rate := func(dry units.Length, solids units.Fraction) value {
		return in(units.SquareFootPerGallon, func() (units.Spread, error) { return coverage.SpreadRate(dry, solids) })
	}
	// film is the film at which a gallon covers that many ft2.
	film := func(area float64) value {
		return in(mil, func() (units.Length, error) {
			b, err := coverage.Achieved(units.Area(area)*ft2, gal, 1, coverage.Loss{})
			return b.Wet, err
		})
	}
	metric := func(area float64) value {
		return in(units.SquareMetrePerLitre, func() (units.Spread, error) {
			b, err := coverage.Achieved(units.Area(area)*ft2, gal, 1, coverage.Loss{})
			return b.Spread, err
		})
	}
	// cost is what the liquid of one ft2 costs.
	cost := func(solids units.Fraction, price float64) value {
		return func() (float64, error) {
			v, err := coverage.Need(ft2, 2.5*mil, solids, coverage.Loss{})
			return float64(v/gal) * price, err
		}
	}
	// beads is the loading of beads dropped at a mass per volume on a film of 15 mil.
	beads := func(lb units.Density) value {
		return of(float64((15 * mil).Over(100*ft2).Mass(lb*units.PoundPerGallon) / units.Pound))
	}
	profile := func(unit units.Length) value {
		return in(unit, func() (units.Length, error) { return coverage.ProfileFill(100*units.Micrometre, 0.5) })
	}
	joint := func(feet, width, depth units.Length) (units.Volume, error) {
		return coverage.Joint{Length: feet * units.Foot, Width: width * units.Inch, Depth: depth * units.Inch}.Fill()
	}
	perGallon := func(width, depth units.Length) value {
		return func() (float64, error) { v, err := joint(1, width, depth); return float64(gal / v), err }
	}
	wet := func(dry units.Length, solids, thinner units.Fraction) (units.Length, error) {
		return coverage.WetFilm(dry*mil, solids*units.Percent, thinner*units.Percent)
	}
	return map[string]value{
		"A1-01 constant ft2*mil/gal":              rate(mil, 1),
		"A1-02 constant m2*um/L":                  in(units.SquareMetrePerLitre, func() (units.Spread, error) { return coverage.SpreadRate(units.Micrometre, 1) }),
		"A1-02 m2/L for VS 65 %, DFT 125 um m2/L": in(units.SquareMetrePerLitre, func() (units.Spread, error) { return coverage.SpreadRate(125*units.Micrometre, 0.65) }),
		"A1-03 ft2/gal ft2/gal":                   of(float64(units.SquareMetrePerLitre / units.SquareFootPerGallon)),
		"A1-04 WFT mil":                           in(mil, func() (units.Length, error) { return wet(4, 65, 0) }),
		"A1-06 spreading rate (1604.1667) ft2/gal": func() (float64, error) {
			v, err := coverage.Need(ft2, 1.5*mil, 0.52, coverage.Loss{Waste: 0.65}) // 35 % arrive
			return float64(gal / v), err
		},
		"A1-07 A rate ft2/gal":                   rate(2.5*mil, 0.46),
		"A1-07 B rate ft2/gal":                   rate(2.5*mil, 0.56),
		"A1-07 A cost $/ft2":                     cost(0.46, 43.50),
		"A1-07 B cost $/ft2":                     cost(0.56, 44.75),
		"A1-08 DFT mil":                          in(mil, func() (units.Length, error) { return coverage.DryFilm(15*mil, 0.58, 0) }),
		"A1-10 kg/m2 kg/m2":                      of(float64((31 * units.Pound).PerArea(100 * ft2))),
		"A1-10 kg per 10 m2 kg/10 m2":            of(float64((31 * units.Pound).PerArea(100 * ft2).Over(10))),
		"A1-11 120 ft2/gal m2/L":                 metric(120),
		"A1-11 150 ft2/gal m2/L":                 metric(150),
		"A1-11 200 ft2/gal m2/L":                 metric(200),
		"A1-11 wet film at 120 mil":              film(120),
		"A1-11 wet film at 150 mil":              film(150),
		"A1-11 wet film at 200 mil":              film(200),
		"A1-12 1 gal L":                          of(float64(gal / units.Litre)),
		"A1-12 100 ft2 m2":                       of(float64(100 * ft2)),
		"A1-12 125 ft2 m2":                       of(float64(125 * ft2)),
		"A1-12 150 ft2 m2":                       of(float64(150 * ft2)),
		"A1-12 wet film at 100 ft2/gal mil":      film(100),
		"A1-14 2 lb/yd2 kg/m2":                   of(float64(2 * units.PoundPerSquareYard)),
		"A1-14 4 lb/yd2 kg/m2":                   of(float64(4 * units.PoundPerSquareYard)),
		"A1-14 10 lb/yd2 kg/m2":                  of(float64(10 * units.PoundPerSquareYard)),
		"A1-14 14 lb/yd2 kg/m2":                  of(float64(14 * units.PoundPerSquareYard)),
		"A1-16 low ft2/gal":                      of(float64((5 * gal).PerArea(175*ft2).Spread() / units.SquareFootPerGallon)),
		"A1-16 high ft2/gal":                     of(float64((5 * gal).PerArea(200*ft2).Spread() / units.SquareFootPerGallon)),
		"A1-16 wet film at 35 mil":               film(35),
		"A1-16 wet film at 40 mil":               film(40),
		"A1-17 coverage ft2/gal":                 rate(15*mil, 1),
		"A1-17 10 lb/gal lb/100 ft2":             beads(10),
		"A1-17 6 lb/gal lb/100 ft2":              beads(6),
		"A1-18 minimum wet film mil":             film(80),
		"A1-19 0.5 mm mil":                       of(float64(0.5 * units.Millimetre / mil)),
		"A1-19 spreading rate at 20 mil ft2/gal": rate(20*mil, 1),
		"A1-19 0.5 mm as volume L/m2":            of(float64((0.5 * units.Millimetre).Over(1) / units.Litre)),
		"A1-21 practical rate ft2/gal": func() (float64, error) {
			v, err := coverage.Need(100*ft2, gal.PerArea(100*ft2), 1, coverage.Loss{Waste: 0.3})
			return 100 / float64(v/gal), err
		},
		"A1-21 quantity multiplier for the same loss -": func() (float64, error) {
			v, err := coverage.Need(1, 1e-4, 1, coverage.Loss{Waste: 0.3})
			return float64(v) / 1e-4, err
		},
		"A1-23 effective VS -": func() (float64, error) { l, err := coverage.DryFilm(1, 0.65, 0.1); return float64(l), err },
		"A1-23 WFT mil":        in(mil, func() (units.Length, error) { return wet(5, 65, 10) }),
		"A1-23 rate per gal of thinned paint ft2/gal": in(units.SquareFootPerGallon, func() (units.Spread, error) {
			l, err := wet(5, 65, 10)
			return l.Spread(), err
		}),
		"A1-23 rate per gal of unthinned paint ft2/gal": rate(5*mil, 0.65),
		"A1-25 dead volume L/m2":                        profile(units.Millimetre), // 1 L/m2 is 1 mm
		"A1-25 equivalent film um":                      profile(units.Micrometre),
		"A1-25 dead volume gal/1000 ft2":                profile(gal.PerArea(1000 * ft2)),
		"A1-27 1/4 in ft2/gal":                          rate(units.Inch/4, 1),
		"A1-27 3/16 in ft2/gal":                         rate(units.Inch*3/16, 1),
		"A1-27 1/8 in ft2/gal":                          rate(units.Inch/8, 1),
		"A1-27 1/16 in ft2/gal":                         rate(units.Inch/16, 1),
		"A1-27 1 ft3 at 1/4 in ft2": func() (float64, error) {
			v, err := coverage.Patch{Area: ft2, Depth: units.Inch / 4}.Fill()
			return float64(units.CubicFoot / v), err
		},
		"A1-28 yield constant ft*in2/gal":    perGallon(1, 1),
		"A1-28 1/8 x 1-1/2 in joint ft/gal":  perGallon(0.125, 1.5),
		"A1-28 1 x 1 in routed crack ft/gal": perGallon(1, 1),
		"A1-28 100 ft of 1/8 x 1-1/2 in gal": in(gal, func() (units.Volume, error) { return joint(100, 0.125, 1.5) }),
		"A1-30 DFT mil": in(mil, func() (units.Length, error) {
			b, err := coverage.Achieved(100*ft2, (10 * units.Pound).Volume(10*units.PoundPerGallon), 0.5, coverage.Loss{})
			return b.Dry, err
		}),
	}
}

// conversions computes part B2 as far as it is geometry or conversion; a force
// has no unit here, so that the two rows of forces take it in newtons.
func conversions() map[string]value {
	disc := func(d units.Length) (units.Area, error) { return units.Area(math.Pi/4) * d.Times(d), nil }
	psi := units.Pressure(units.Pound) * 9.80665 / units.Pressure(units.SquareInch) // standard gravity
	return map[string]value{
		"B2-09 50 mm area mm2":             in(units.SquareMillimetre, func() (units.Area, error) { return disc(50 * units.Millimetre) }),
		"B2-09 force for 1.5 MPa, 50 mm N": func() (float64, error) { a, err := disc(50 * units.Millimetre); return 1.5e6 * float64(a), err },
		"B2-09 2-in area in2":              in(units.SquareInch, func() (units.Area, error) { return disc(2 * units.Inch) }),
		"B2-09 stress at 628.3 lbf, 2 in psi": func() (float64, error) {
			a, err := disc(2 * units.Inch)
			return 628.3 / float64(a/units.SquareInch), err
		},
		"B2-09 250 psi MPa":          of(float64(250*psi) / 1e6),
		"B2-09 200 psi MPa":          of(float64(200*psi) / 1e6),
		"B2-09 1.5 MPa psi":          of(float64(1.5e6 / psi)),
		"B2-10 5 F spread K (C deg)": of(float64(5 * units.FahrenheitDelta)),
		"B2-10 10 F spread K":        of(float64(10 * units.FahrenheitDelta)),
		"B2-10 15 F spread K":        of(float64(15 * units.FahrenheitDelta)),
		"B2-12 500 ft2 m2":           of(float64(500 * units.SquareFoot)),
		"B2-12 500 yd2 m2":           of(float64(500 * units.SquareYard)),
	}
}
