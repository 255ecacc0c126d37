package aggregate

import (
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// Packings of equal discs (share of the area) and of equal spheres (share of
// the volume). The regular ones are bounds: grain poured on a floor never
// reaches [CloseSpheres].
const (
	SquareDiscs    units.Fraction = math.Pi / 4                // geometry
	HexagonDiscs   units.Fraction = math.Pi / (2 * sqrt3)      // geometry: the densest, Thue
	CubicSpheres   units.Fraction = math.Pi / 6                // geometry: simple cubic
	BodySpheres    units.Fraction = math.Pi * sqrt3 / 8        // geometry: body-centred cubic
	CloseSpheres   units.Fraction = math.Pi / (3 * math.Sqrt2) // geometry: face-centred, the densest
	RandomClose    units.Fraction = 0.64                       // spheres shaken down, +- 0.01
	RandomLoose    units.Fraction = 0.565                      // spheres settled gently, +- 0.015
	RolledCoverage units.Fraction = 0.6105                     // discs that roll off each other to the floor: Choi, Talbot, Tarjus and Viot 1993, 0.61048 (memory)
	sqrt3                         = 1.7320508075688772935
)

// A Shape is how angular a grain of one size is.
type Shape int

// Shapes.
const (
	Spheres Shape = iota // glass beads
	Rounded              // natural sand
	Angular              // crushed grain, manufactured sand
)

// Loose returns between which solids a bed of grain of one size and shape lies
// when poured.
//
// Source: spheres 55 % to 58 %, the random loose packings of a university's
// page; natural sand 38 % to 45 % of uncompacted voids, manufactured 42 % to
// 50 %, typical results of ASTM C1252, from memory.
func (s Shape) Loose() (least, most units.Fraction, err error) {
	switch s {
	case Spheres:
		return 0.55, 0.58, nil
	case Rounded:
		return 0.55, 0.62, nil
	case Angular:
		return 0.50, 0.58, nil
	}
	return nanOf[units.Fraction](), nanOf[units.Fraction](), &units.RangeError{Func: "aggregate.Shape.Loose", Arg: "shape", Got: float64(s), Lo: 0, Hi: float64(Angular), Unit: "of Spheres, Rounded, Angular"}
}

// VoidRatio returns the voids per solids of a packing, (1 - phi)/phi: the
// geologist's e.
//
// Range: phi 5 % to 100 %.
func VoidRatio(phi units.Fraction) (float64, error) {
	if err := units.InRange("aggregate.VoidRatio", "phi", pct(phi), 5, 100, "%"); err != nil {
		return math.NaN(), err
	}
	return max(0, 1-float64(phi)) / float64(phi), nil
}

// Solids returns the packing of a void ratio, 1/(1 + e).
//
// Range: e 0 to 19.
func Solids(e float64) (units.Fraction, error) {
	if err := units.FromZero("aggregate.Solids", "e", e, 19, "of solids"); err != nil {
		return nanOf[units.Fraction](), err
	}
	return units.Fraction(1 / (1 + e)), nil
}
