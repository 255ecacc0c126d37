package units_test

import (
	"math"
	"testing"

	"github.com/tackfree/tackfree/data/units"
)

// A unit's constant is what its symbol reads. Source: NIST SP 811 (2008), appendix B.
func TestConstantsReadAlike(t *testing.T) {
	same := func(text string, want float64, read func(*float64, []byte) error) {
		var got float64
		if err := read(&got, []byte(text)); err != nil || math.Abs(got/want-1) > 2e-16 {
			t.Errorf("%s: %v, %v; want %v", text, got, err, want)
		}
	}
	length := func(v *float64, b []byte) error {
		var q units.Length
		err := q.UnmarshalText(b)
		*v = float64(q)
		return err
	}
	pressure := func(v *float64, b []byte) error {
		var q units.Pressure
		err := q.UnmarshalText(b)
		*v = float64(q)
		return err
	}
	flow := func(v *float64, b []byte) error {
		var q units.Flow
		err := q.UnmarshalText(b)
		*v = float64(q)
		return err
	}
	same("1 km", float64(units.Kilometre), length)
	same("1 cm", float64(units.Centimetre), length)
	same("1 mil", float64(units.Mil), length)
	same("1 hPa", float64(units.Hectopascal), pressure)
	same("1 bar", float64(units.Bar), pressure)
	same("1 psi", float64(units.PoundPerSquareInch), pressure)
	same("1 L/min", float64(units.LitrePerMinute), flow)
	same("1 gal/min", float64(units.GallonPerMinute), flow)
	var e units.Energy
	var p units.Power
	if e.UnmarshalText([]byte("1 GJ")) != nil || e != units.Gigajoule || p.UnmarshalText([]byte("1 MW")) != nil || p != units.Megawatt {
		t.Errorf("%v, %v; want 1 GJ and 1 MW", e, p)
	}
}
