package coverage_test

import (
	"errors"
	"testing"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// What is missing or no choice is an error over units.ErrRange, as a number out
// of range is. Source: DESIGN.md section 7.
func TestMissingIsOutOfRange(t *testing.T) {
	part := coverage.Part{Ratio: 1, Density: 1100}
	_, none := coverage.Mix{}.Density()
	_, basis := coverage.Mix{Parts: []coverage.Part{part}, By: 2}.Density()
	_, shape := coverage.TakeOff([]coverage.Line{{Name: "bay"}})
	_, _, bands := coverage.ProfileBands{}.For(units.Mil)
	_, rule := coverage.Judge([]units.Length{units.Mil}, units.Mil, coverage.Rule{Below: 1})
	_, readings := coverage.Judge(nil, units.Mil, coverage.Rule{Low: 1})
	_, coats := coverage.Layers(1, coverage.Surface{}, nil)
	_, formula := coverage.Formula{}.Composition()
	for name, err := range map[string]error{"no parts": none, "no such basis": basis, "no shape": shape, "no bands": bands,
		"a rule that asks nothing": rule, "no readings": readings, "no coats": coats, "no ingredients": formula} {
		if !errors.Is(err, units.ErrRange) {
			t.Errorf("%s: %v; want an error over units.ErrRange", name, err)
		}
	}
}
