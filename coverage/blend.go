package coverage

import (
	"errors"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// With returns m with one more part: a filler, a pigment, a thinner. Its Ratio
// is an amount per amount of the whole of m without air, by volume or by mass
// as by says: 0.1 ByVolume is 10 % of thinner, 5 ByMass is five of sand to one
// of binder. Parts per hundred of resin go straight into a mix ByMass, whose
// first part is the resin with Ratio 100.
//
// Range: Ratio above 0 to 1e6; m and the part as [Mix.Density] takes them.
// Accuracy: exact arithmetic. Source: mass balance, volumes added.
func (m Mix) With(part Part, by Basis) (Mix, error) {
	const fn = "coverage.Mix.With"
	more := Mix{Parts: []Part{part}, By: by}
	if err := errors.Join(m.check(fn), more.check(fn)); err != nil {
		return Mix{}, err
	}
	v, mass := m.sums()
	whole := v // amount of m, in what by measures
	if by == ByMass {
		whole = mass
	}
	part.Ratio *= whole
	switch {
	case m.By == ByMass && by == ByVolume:
		part.Ratio *= float64(part.Density)
	case m.By == ByVolume && by == ByMass:
		part.Ratio /= float64(part.Density)
	}
	parts := make([]Part, 0, len(m.Parts)+1)
	with := Mix{Parts: append(append(parts, m.Parts...), part), By: m.By, Air: m.Air}
	if err := with.check(fn); err != nil { // an extreme part may be out of a ratio's range
		return Mix{}, err
	}
	return with, nil
}

// PerHundred returns every part by mass per hundred of the first one.
//
// Accuracy: exact arithmetic. Source: mass balance.
func (m Mix) PerHundred() ([]float64, error) {
	if err := m.check("coverage.Mix.PerHundred"); err != nil {
		return nil, err
	}
	phr := make([]float64, len(m.Parts))
	first := m.volume(m.Parts[0]) * float64(m.Parts[0].Density)
	for i, p := range m.Parts {
		phr[i] = 100 * m.volume(p) * float64(p.Density) / first
	}
	return phr, nil
}

// Yield returns the volume of the mix that a volume of its first part makes:
// mortar per resin.
//
// Accuracy: exact arithmetic. Source: mass balance, volumes added, Air on top.
func (m Mix) Yield() (float64, error) {
	if err := m.check("coverage.Mix.Yield"); err != nil {
		return math.NaN(), err
	}
	v, _ := m.sums()
	return v / m.volume(m.Parts[0]) / float64(1-m.Air), nil
}

// sums are the volume of the parts and their mass, in units of the ratio.
func (m Mix) sums() (v, mass float64) {
	for _, p := range m.Parts {
		v += m.volume(p)
		mass += m.volume(p) * float64(p.Density)
	}
	return v, mass
}

// Volatiles returns what a volume of a mix gives off, whose parts have the
// given content of organic compounds per volume, in the order of the parts,
// without water and exempt compounds.
//
// Range: a content for each part, 0 to 20 000 g/L; total 0 to 1e9 m3.
// Accuracy: exact arithmetic. Source: mass balance.
func (m Mix) Volatiles(total units.Volume, contents []units.Density) (Volatiles, error) {
	const fn = "coverage.Mix.Volatiles"
	if len(contents) != len(m.Parts) {
		return noVolatiles(), &units.RangeError{Func: fn, Arg: "contents", Got: float64(len(contents)), Lo: float64(len(m.Parts)), Hi: float64(len(m.Parts)), Unit: "contents"}
	}
	shares, err := m.Split(total)
	if err != nil {
		return noVolatiles(), err
	}
	sum := Volatiles{}
	for i, s := range shares {
		v, err := VolatilesOf(s.Volume, contents[i])
		if err != nil {
			return noVolatiles(), err
		}
		sum = sum.Plus(v)
	}
	return sum, nil
}
