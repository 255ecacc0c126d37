package coverage_test

import (
	"fmt"
	"slices"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// Sources stand by each row of testdata/reference.csv. readings computes part A3: sampling and verdicts; a pass is 1.
func readings() map[string]value {
	const mil, um = units.Mil, units.Micrometre
	rows := map[string]value{}
	for id, area := range map[string]units.Area{"A3-01": 12500, "A3-02a": 250, "A3-02b": 300, "A3-02d": 1000, "A3-02f": 2000, "A3-02h": 5000} {
		number := func(what string, pick func(coverage.Sampling) int) {
			rows[id+" "+what+" -"] = func() (float64, error) {
				s, err := coverage.SpotSampling(area * units.SquareFoot)
				return float64(pick(s)), err
			}
		}
		number("areas", func(s coverage.Sampling) int { return s.Areas })
		number("spots", func(s coverage.Sampling) int { return s.Spots })
		most := "readings"
		if id == "A3-01" {
			most = "gage readings minimum"
		}
		number(most, func(s coverage.Sampling) int { return s.Readings })
	}
	for _, m2 := range []float64{0.8, 2, 8, 25, 80, 250} {
		rows[fmt.Sprintf("A3-15 measurements at %g m2 -", m2)] = func() (float64, error) {
			s, err := coverage.ReadingSampling(units.Area(m2))
			return float64(s.Readings), err
		}
		rows[fmt.Sprintf("A3-15 may be repeated at %g m2 -", m2)] = func() (float64, error) {
			s, err := coverage.ReadingSampling(units.Area(m2))
			return float64(s.Repeats), err
		}
	}
	// judge is the verdict on spots, each given as its PerSpot like readings.
	judge := func(spots []float64, unit, target units.Length, rule coverage.Rule) (coverage.Verdict, error) {
		var all []units.Length
		for _, s := range spots {
			for range max(rule.PerSpot, 1) {
				all = append(all, units.Length(s)*unit)
			}
		}
		return coverage.Judge(all, target, rule)
	}
	pass := func(v coverage.Verdict, err error) (float64, error) {
		if v.Pass {
			return 1, err
		}
		return 0, err
	}
	spots := func(level int, spots ...float64) (coverage.Verdict, error) {
		rule, err := coverage.SpotLevel(level, 12*mil)
		if err != nil {
			return coverage.Verdict{}, err
		}
		return judge(spots, mil, 8*mil, rule)
	}
	rows["A3-03 spot mil"] = func() (float64, error) {
		v, err := coverage.Judge([]units.Length{2.4 * mil, 2.6 * mil, 2.9 * mil}, mil, coverage.Rule{PerSpot: 3})
		return float64(v.Least / mil), err
	}
	// The limits of a spot are found by asking: what breaks says its limit.
	rows["A3-04 spot minimum mil"] = func() (float64, error) { v, err := spots(3, 1, 10); return float64(v.Breaches[0].Limit / mil), err }
	rows["A3-04 spot maximum mil"] = func() (float64, error) {
		v, err := spots(3, 8, 15)
		return float64(v.Breaches[0].Limit / mil), err
	}
	for id, s := range map[string][]float64{"A3-05": {6.9, 8.8, 9.4, 10.2, 13.6}, "A3-06": {6.3, 9, 10, 10, 11}, "A3-09": {6.4, 8, 8, 8.6, 9}} {
		rows[id+" area average mil"] = func() (float64, error) { v, err := spots(3, s...); return float64(v.Mean / mil), err }
		for level := 1; level <= 5; level++ {
			rows[fmt.Sprintf("%s level %d verdict", id, level)] = func() (float64, error) { return pass(spots(level, s...)) }
		}
	}
	many := func(v float64, n int, more ...float64) []float64 {
		return append(slices.Repeat([]float64{v}, n), more...)
	}
	for id, s := range map[string][]float64{"A3-12": many(230, 16, 165, 170, 180, 190), "A3-13": many(230, 17, 165, 170, 190)} {
		run := func() (coverage.Verdict, error) { return judge(s, um, 200*um, coverage.EightyTwenty()) }
		rows[id+" mean um"] = func() (float64, error) { v, err := run(); return float64(v.Mean / um), err }
		rows[id+" share in 80..100 % -"] = func() (float64, error) { v, err := run(); return float64(v.Below), err } // none is below 80 %
		rows[id+" minimum um"] = func() (float64, error) { v, err := run(); return float64(v.Least / um), err }
		rows[id+" verdict verdict"] = func() (float64, error) { return pass(run()) }
	}
	for id, s := range map[string][]float64{"A3-16": many(330, 18, 290, 300), "A3-18": many(330, 19, 287)} {
		run := func() (coverage.Verdict, error) { return judge(s, um, 320*um, coverage.NinetyTen()) }
		rows[id+" share >= NDFT -"] = func() (float64, error) { v, err := run(); return 1 - float64(v.Below), err }
		rows[id+" floor 0.9*NDFT um"] = func() (float64, error) {
			v, err := judge([]float64{100}, um, 320*um, coverage.NinetyTen())
			return float64(v.Breaches[0].Limit / um), err
		}
		rows[id+" minimum um"] = func() (float64, error) { v, err := run(); return float64(v.Least / um), err }
		rows[id+" verdict verdict"] = func() (float64, error) { return pass(run()) }
	}
	return rows
}
