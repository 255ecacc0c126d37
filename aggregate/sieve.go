package aggregate

import (
	"math"
	"slices"
	"strings"

	"github.com/tackfree/tackfree/data/units"
)

// A Sieve is a woven wire test sieve.
type Sieve struct {
	Opening units.Length // as in use since 1970: No. 20 is 850 um, no longer 841
	Name    string       // "No. 20", "3/8 in."
	Inches  units.Length // the opening as rounded in inches beside the name; do not compute with it
}

// sieveTable is ASTM E11-01 Table 1, the rows that the trade uses. From
// 125 mm to 3.35 mm read; the finer ones from memory of the same table.
var sieveTable = [...]Sieve{
	{125 * units.Millimetre, "5 in.", 5 * units.Inch},
	{106 * units.Millimetre, "4.24 in.", 4.24 * units.Inch},
	{100 * units.Millimetre, "4 in.", 4 * units.Inch},
	{90 * units.Millimetre, "3 1/2 in.", 3.5 * units.Inch},
	{75 * units.Millimetre, "3 in.", 3 * units.Inch},
	{63 * units.Millimetre, "2 1/2 in.", 2.5 * units.Inch},
	{50 * units.Millimetre, "2 in.", 2 * units.Inch},
	{45 * units.Millimetre, "1 3/4 in.", 1.75 * units.Inch},
	{37.5 * units.Millimetre, "1 1/2 in.", 1.5 * units.Inch},
	{31.5 * units.Millimetre, "1 1/4 in.", 1.25 * units.Inch},
	{25 * units.Millimetre, "1.00 in.", 1 * units.Inch},
	{19 * units.Millimetre, "3/4 in.", 0.75 * units.Inch},
	{16 * units.Millimetre, "5/8 in.", 0.625 * units.Inch},
	{13.2 * units.Millimetre, "0.530 in.", 0.53 * units.Inch},
	{12.5 * units.Millimetre, "1/2 in.", 0.5 * units.Inch},
	{11.2 * units.Millimetre, "7/16 in.", 0.438 * units.Inch},
	{9.5 * units.Millimetre, "3/8 in.", 0.375 * units.Inch},
	{8 * units.Millimetre, "5/16 in.", 0.312 * units.Inch},
	{6.3 * units.Millimetre, "1/4 in.", 0.25 * units.Inch},
	{5.6 * units.Millimetre, "No. 3 1/2", 0.223 * units.Inch},
	{4.75 * units.Millimetre, "No. 4", 0.187 * units.Inch},
	{4 * units.Millimetre, "No. 5", 0.157 * units.Inch},
	{3.35 * units.Millimetre, "No. 6", 0.132 * units.Inch},
	{2.36 * units.Millimetre, "No. 8", 0.0937 * units.Inch},
	{2 * units.Millimetre, "No. 10", 0.0787 * units.Inch},
	{1.18 * units.Millimetre, "No. 16", 0.0469 * units.Inch},
	{1 * units.Millimetre, "No. 18", 0.0394 * units.Inch},
	{0.85 * units.Millimetre, "No. 20", 0.0331 * units.Inch},
	{0.6 * units.Millimetre, "No. 30", 0.0234 * units.Inch},
	{0.5 * units.Millimetre, "No. 35", 0.0197 * units.Inch},
	{0.425 * units.Millimetre, "No. 40", 0.0165 * units.Inch},
	{0.3 * units.Millimetre, "No. 50", 0.0117 * units.Inch},
	{0.25 * units.Millimetre, "No. 60", 0.0098 * units.Inch},
	{0.15 * units.Millimetre, "No. 100", 0.0059 * units.Inch},
	{0.075 * units.Millimetre, "No. 200", 0.0029 * units.Inch},
	{0.045 * units.Millimetre, "No. 325", 0.0017 * units.Inch},
	{0.038 * units.Millimetre, "No. 400", 0.0015 * units.Inch},
}

// Sieves returns the test sieves of ASTM E11, coarse to fine. The slice is the
// caller's own.
func Sieves() []Sieve { return slices.Clone(sieveTable[:]) }

// FindSieve returns the sieve of a name ("No. 8", "no 8", "#8", "3/8 in.").
// An unknown name is false.
func FindSieve(name string) (Sieve, bool) {
	want := plainSieve(name)
	for _, s := range sieveTable {
		if plainSieve(s.Name) == want {
			return s, true
		}
	}
	return Sieve{}, false
}

// plainSieve strips a sieve's name to what tells it from the others.
func plainSieve(name string) string {
	name = strings.ToLower(strings.TrimSpace(name))
	name = strings.TrimSuffix(strings.TrimSuffix(name, "."), "in")
	if rest, ok := strings.CutPrefix(name, "#"); ok {
		name = "no" + rest
	}
	if rest, ok := strings.CutPrefix(name, "no"); ok {
		return "no " + strings.TrimLeft(rest, ". ")
	}
	return strings.TrimSpace(name)
}

// Tolerance returns how far the average opening of the sieve may be off, plus
// or minus: Y = w^0.98/27 + 1.6 with w and Y in um.
//
// Range: Opening 20 um to 125 mm.
// Accuracy: each of the 23 tolerances printed from 125 mm to 3.35 mm is this
// within one unit of its last digit (the print rounds now up, now down); the
// finer ones have no printed check here.
// Source: ISO 3310-1 and ASTM E11, from memory.
func (s Sieve) Tolerance() (units.Length, error) {
	w := float64(s.Opening / units.Micrometre)
	if err := units.InRange("aggregate.Sieve.Tolerance", "Opening", w, 20, 125000, "um"); err != nil {
		return nanOf[units.Length](), err
	}
	return units.Length(math.Pow(w, 0.98)/27+1.6) * units.Micrometre, nil
}
