package aggregate

import (
	"errors"

	"github.com/tackfree/tackfree/data/units"
)

// Water is the density of water by which ASTM C29 turns a relative density
// (specific gravity) into a density: 998 kg/m3, 62.3 lb/ft3. Road practice
// takes 62.4 lb/ft3 instead; voids differ by 0.1 point.
const Water units.Density = 998

// Quartz is the density of quartz grain: 2.65 to 2.67 by specific gravity
// (FM 5-472 / NAVFAC MO 330).
const Quartz units.Density = 2650

// RelativeDensity returns the density of grain of a relative density, over
// [Water].
//
// Range: 0.1 to 20.
func RelativeDensity(sg float64) (units.Density, error) {
	if err := units.InRange("aggregate.RelativeDensity", "sg", sg, 0.1, 20, "of water"); err != nil {
		return nanOf[units.Density](), err
	}
	return units.Density(sg) * Water, nil
}

// BulkDensity returns the loose or rodded density of dry grain that fills a measure.
//
// Range: net above 0 to 1000 kg, measure above 0 to 1 m3.
// Source: ASTM C29.
func BulkDensity(net units.Mass, measure units.Volume) (units.Density, error) {
	const fn = "aggregate.BulkDensity"
	if err := errors.Join(above(fn, "net", float64(net), 1000, "kg"), above(fn, "measure", float64(measure), 1, "m3")); err != nil {
		return nanOf[units.Density](), err
	}
	return net.PerVolume(measure), nil
}

// SurfaceDry returns the bulk density with the water that the grain soaks up,
// its surface dry: M (1 + absorption).
//
// Range: bulk 10 to 20 000 kg/m3, absorption 0 to 50 % of the dry mass.
// Source: ASTM C29.
func SurfaceDry(bulk units.Density, absorption units.Fraction) (units.Density, error) {
	const fn = "aggregate.SurfaceDry"
	if err := errors.Join(units.InRange(fn, "bulk", float64(bulk), 10, 20000, "kg/m3"), units.FromZero(fn, "absorption", pct(absorption), 50, "%")); err != nil {
		return nanOf[units.Density](), err
	}
	return bulk * units.Density(1+absorption), nil
}

// Voids returns the share of a bed that is not grain, 1 - bulk/grain.
//
// Range: grain 100 to 20 000 kg/m3, bulk above 0 to grain.
// Source: ASTM C29, 100 (S W - M)/(S W), with grain = S W.
func Voids(bulk, grain units.Density) (units.Fraction, error) {
	const fn = "aggregate.Voids"
	if err := grainDensity(fn, "grain", grain); err != nil {
		return nanOf[units.Fraction](), err
	}
	if err := above(fn, "bulk", float64(bulk), float64(grain), "kg/m3"); err != nil {
		return nanOf[units.Fraction](), err
	}
	return max(0, 1-units.Fraction(bulk/grain)), nil // InRange gives way by 1e-9
}

// Bulk returns the density of the loose bed, Density Packing.
func (g Grain) Bulk() (units.Density, error) {
	if err := g.check("aggregate.Grain.Bulk"); err != nil {
		return nanOf[units.Density](), err
	}
	return g.Density * units.Density(g.Packing), nil
}

// Moisture returns the water in grain as a share of the dry mass, from its mass
// wet and dried. Overlay specifications allow kiln-dried grain 0.2 %.
//
// Range: dry above 0 to 1000 kg, wet from dry to twice dry.
// Source: ASTM C566.
func Moisture(wet, dry units.Mass) (units.Fraction, error) {
	const fn = "aggregate.Moisture"
	if err := above(fn, "dry", float64(dry), 1000, "kg"); err != nil {
		return nanOf[units.Fraction](), err
	}
	if err := units.InRange(fn, "wet", float64(wet), float64(dry), 2*float64(dry), "kg"); err != nil {
		return nanOf[units.Fraction](), err
	}
	return max(0, units.Fraction((wet-dry)/dry)), nil // InRange gives way by 1e-9
}

// DryMass returns the grain in a mass that holds moisture, wet/(1 + moisture).
//
// Range: wet above 0 to 1e6 kg, moisture 0 to 100 % of the dry mass.
func DryMass(wet units.Mass, moisture units.Fraction) (units.Mass, error) {
	const fn = "aggregate.DryMass"
	if err := errors.Join(above(fn, "wet", float64(wet), 1e6, "kg"), units.FromZero(fn, "moisture", pct(moisture), 100, "%")); err != nil {
		return nanOf[units.Mass](), err
	}
	return wet / units.Mass(1+moisture), nil
}
