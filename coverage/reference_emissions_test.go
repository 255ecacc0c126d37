package coverage_test

import (
	"errors"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// emissions computes part A4: volatile organic compounds.
func emissions() map[string]value {
	const gal, lbgal = units.Gallon, units.PoundPerGallon
	actual := func(unit units.Density, f func() (coverage.Volatiles, error)) value {
		return in(unit, func() (units.Density, error) {
			v, err := f()
			if err != nil {
				return 0, err
			}
			return v.Actual()
		})
	}
	less := func(unit units.Density, f func() (coverage.Volatiles, error)) value {
		return in(unit, func() (units.Density, error) {
			v, err := f()
			if err != nil {
				return 0, err
			}
			return v.LessWater()
		})
	}
	rule := func() (coverage.Volatiles, error) {
		const g, l = units.Gram, units.Litre
		return coverage.Volatiles{Volume: l, Organic: 700*g - 300*g - 100*g, Water: 0.3 * l, Exempt: 0.126 * l}, nil
	}
	waterborne := func(water units.Density) func() (coverage.Volatiles, error) {
		return func() (coverage.Volatiles, error) {
			return coverage.VolatilesByWeight(gal, 8.52*lbgal, 53*units.Percent, 20.8*units.Percent, water*lbgal)
		}
	}
	// plus pours v1 at d1 and v2 at d2, in gal and lb/gal, together.
	plus := func(v1 units.Volume, d1 units.Density, v2 units.Volume, d2 units.Density) func() (coverage.Volatiles, error) {
		return func() (coverage.Volatiles, error) {
			a, err1 := coverage.VolatilesOf(v1*gal, d1*lbgal)
			b, err2 := coverage.VolatilesOf(v2*gal, d2*lbgal)
			return a.Plus(b), errors.Join(err1, err2)
		}
	}
	// example3: what is neither water nor solids is organic.
	example3 := func() (coverage.Volatiles, error) {
		f := coverage.Formula{{"water", (0.52 * gal).Mass(8.33 * lbgal), 8.33 * lbgal, coverage.Water},
			{"solids", (0.42 * gal).Mass(10 * lbgal), 10 * lbgal, coverage.Stays},
			{"solvent", (0.06 * gal).Mass(7.36 * lbgal), 7.36 * lbgal, coverage.Solvent}}
		c, err := f.Composition()
		return c.Volatiles, err
	}
	twoParts := func(thinner float64) func() (coverage.Volatiles, error) {
		return func() (coverage.Volatiles, error) {
			m := coverage.Mix{Parts: []coverage.Part{{"A", 2, 1100}, {"B", 1, 970}}}
			contents := []units.Density{180, 60} // g/L
			if thinner > 0 {
				var err error
				if m, err = m.With(coverage.Part{Name: "thinner", Ratio: thinner, Density: 870}, coverage.ByVolume); err != nil {
					return coverage.Volatiles{}, err
				}
				contents = append(contents, 870)
			}
			return m.Volatiles(units.Litre, contents)
		}
	}
	rows := map[string]value{
		"A4-01 example: Wv 700 g, Ww 300 g, Wec 100 g, V 1 L, Vw 0.300 L, Vec 0.126 L g/L": less(1, rule),
		"A4-01 actual (material) VOC of the same g/L":                                      actual(1, rule),
		"A4-02 actual VOC lb/gal":                                                          actual(lbgal, waterborne(8.33)),
		"A4-02 VOC less water lb/gal":                                                      less(lbgal, waterborne(8.33)),
		"A4-02 actual VOC g/L":                                                             actual(1, waterborne(8.33)),
		"A4-02 VOC less water g/L":                                                         less(1, waterborne(8.33)),
		"A4-03 emissions lb": func() (float64, error) {
			v, err := plus(1, 2.5, 0.25, 6.8)()
			return float64(v.Organic / units.Pound), err
		},
		"A4-03 VOC lb/gal":           actual(lbgal, plus(1, 2.5, 0.25, 6.8)),
		"A4-04 VOC lb/gal":           actual(lbgal, plus(5, 15.9/5, 0, 0)),
		"A4-05 with 0.25 gal lb/gal": actual(lbgal, plus(5, 15.9/5, 0.25, 6.4)),
		"A4-05 with 0.50 gal lb/gal": actual(lbgal, plus(5, 15.9/5, 0.5, 6.4)),
		"A4-08 VOC volume gal/gal": func() (float64, error) {
			v, err := example3()
			return float64(v.Organic.Volume(7.36*lbgal) / v.Volume), err
		},
		"A4-08 correct less water lb/gal":    less(lbgal, example3),
		"A4-08 actual VOC lb/gal":            actual(lbgal, example3),
		"A4-11 0.995 kg/L lb/gal":            of(float64(0.995 * units.KilogramPerLitre / lbgal)),
		"A4-11 8.321 lb/gal kg/L":            of(float64(8.321 * lbgal / units.KilogramPerLitre)),
		"A4-11 A4-02 data with 8.321 lb/gal": less(lbgal, waterborne(8.321)),
		"A4-13 A+B g/L":                      less(1, twoParts(0)),
		"A4-13 with thinner g/L":             less(1, twoParts(0.05)),
	}
	// The limits are the users': a coating at one meets it, a thousandth above does not.
	for owner, most := range map[string]units.Density{
		"US national (40 CFR 59 Subpart D Table 1)": 400, "OTC Phase I floor coating": 250, "OTC Phase II floor coating": 100,
		"CARB 2007 suggested control measure": 100, "CARB 2019 suggested control measure": 50, "South Coast AQMD Rule 1113 floor coatings": 50} {
		rows["A4-14 "+owner+" g/L"] = func() (float64, error) {
			limit := coverage.VOCLimit{Owner: owner, Most: most}
			at, got, err1 := limit.Met(coverage.Volatiles{Volume: 1, Organic: units.Mass(most)})
			over, _, err2 := limit.Met(coverage.Volatiles{Volume: 1, Organic: units.Mass(most) * 1.001})
			if err := errors.Join(err1, err2); err != nil || !at || over {
				return 0, errors.Join(err, errors.New("the limit does not divide"))
			}
			return float64(got), nil
		}
	}
	return rows
}
