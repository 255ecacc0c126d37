package coverage

import (
	"errors"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// Volatiles are what an amount of coating, as mixed and thinned, gives off.
// Which compounds are exempt, and which of the two figures counts, the local
// rule says: this is its arithmetic only.
type Volatiles struct {
	Volume        units.Volume // of the coating
	Organic       units.Mass   // volatile organic compounds, without water and exempt ones
	Water, Exempt units.Volume // of them in the coating
}

// VolatilesOf returns the volatiles of a volume of coating whose sheet states
// its content per volume, and which has no water and no exempt compounds.
//
// Range: see [Volatiles.Actual].
func VolatilesOf(v units.Volume, content units.Density) (Volatiles, error) {
	const fn = "coverage.VolatilesOf"
	err := errors.Join(units.FromZero(fn, "v", float64(v), 1e9, "m3"), units.FromZero(fn, "content", float64(content), 20000, "g/L"))
	if err != nil {
		return noVolatiles(), err
	}
	return Volatiles{Volume: v, Organic: v.Mass(content)}, nil
}

// VolatilesByWeight returns the volatiles of a volume of coating from its
// density and its shares of water and solids by weight; what is neither is
// organic. water is the density of water that the rule in force uses: one
// public rule prints both 0.995 kg/L and 8.321 lb/gal (0.9971 kg/L).
//
// Range: v 0 to 1e9 m3; densities 100 to 20 000 kg/m3; shares 0 to 100 %,
// together at most 100 %.
// Accuracy: exact arithmetic. Source: R. Joseph, Q&A March 2004.
func VolatilesByWeight(v units.Volume, density units.Density, waterShare, solids units.Fraction, water units.Density) (Volatiles, error) {
	const fn = "coverage.VolatilesByWeight"
	err := errors.Join(units.FromZero(fn, "v", float64(v), 1e9, "m3"), units.InRange(fn, "density", float64(density), 100, 20000, "kg/m3"),
		units.FromZero(fn, "waterShare", percent(waterShare), 100, "%"), units.FromZero(fn, "solids", percent(solids), 100, "%"),
		units.InRange(fn, "water", float64(water), 100, 20000, "kg/m3"))
	if err == nil {
		err = units.FromZero(fn, "waterShare + solids", percent(waterShare+solids), 100, "%")
	}
	if err != nil {
		return noVolatiles(), err
	}
	mass := v.Mass(density)
	return Volatiles{Volume: v, Organic: mass * units.Mass(max(1-waterShare-solids, 0)), Water: (mass * units.Mass(waterShare)).Volume(water)}, nil
}

func noVolatiles() Volatiles {
	nan := math.NaN()
	return Volatiles{units.Volume(nan), units.Mass(nan), units.Volume(nan), units.Volume(nan)}
}

// Plus returns the volatiles of two amounts poured together: a part, a thinner.
// Volumes are added (ideal mixing).
func (v Volatiles) Plus(w Volatiles) Volatiles {
	return Volatiles{v.Volume + w.Volume, v.Organic + w.Organic, v.Water + w.Water, v.Exempt + w.Exempt}
}

// Actual returns the organic compounds per volume of coating, Organic/Volume.
// Low-solids rules ask for this one.
//
// Range: Volume above 0 to 1e9 m3; Organic 0 to 20 000 kg for each m3 of it;
// Water and Exempt 0 to Volume.
// Accuracy: exact arithmetic. Source: 40 CFR 59.406(a)(2), from memory.
func (v Volatiles) Actual() (units.Density, error) {
	if err := v.check("coverage.Volatiles.Actual"); err != nil {
		return units.Density(math.NaN()), err
	}
	return v.Organic.PerVolume(v.Volume), nil
}

// LessWater returns the organic compounds per volume of coating less water and
// exempt compounds, Organic/(Volume - Water - Exempt), the figure that most
// limits are in.
//
// Range: see [Volatiles.Actual]; at least a millionth of Volume is neither
// water nor exempt.
// Accuracy: exact arithmetic. Source: 40 CFR 59.104(a)(1); 59.406(a)(1) is the
// same for architectural coatings, from memory.
func (v Volatiles) LessWater() (units.Density, error) {
	const fn = "coverage.Volatiles.LessWater"
	if err := v.check(fn); err != nil {
		return units.Density(math.NaN()), err
	}
	rest := v.Volume - v.Water - v.Exempt
	if !(rest >= 1e-6*v.Volume) {
		return units.Density(math.NaN()), &units.RangeError{Func: fn, Arg: "Water + Exempt", Got: float64(v.Water + v.Exempt), Lo: 0, Hi: float64(v.Volume), Unit: "m3"}
	}
	return v.Organic.PerVolume(rest), nil
}

func (v Volatiles) check(fn string) error {
	if err := aboveZero(fn, "Volume", float64(v.Volume), float64(v.Volume), 1e9, "m3"); err != nil {
		return err // the others are measured against it
	}
	return errors.Join(units.FromZero(fn, "Organic", float64(v.Organic), 20000*float64(v.Volume), "kg"),
		units.FromZero(fn, "Water", float64(v.Water), float64(v.Volume), "m3"), units.FromZero(fn, "Exempt", float64(v.Exempt), float64(v.Volume), "m3"))
}

// A VOCLimit is a bound that the user names, with who asks for it. Limits
// differ by place, class and date: local rules decide.
type VOCLimit struct {
	Owner  string        // rule and date
	Most   units.Density // 0 to 20 000 g/L
	Actual bool          // the limit is for [Volatiles.Actual], not [Volatiles.LessWater]
}

// Met reports whether a coating is within the limit, and its figure. A figure
// at the limit is within it; a billionth over still is.
//
// Range: see the figure's function.
func (l VOCLimit) Met(v Volatiles) (bool, units.Density, error) {
	if err := units.FromZero("coverage.VOCLimit.Met", "Most", float64(l.Most), 20000, "g/L"); err != nil {
		return false, units.Density(math.NaN()), err
	}
	figure := Volatiles.LessWater
	if l.Actual {
		figure = Volatiles.Actual
	}
	got, err := figure(v)
	return err == nil && got <= l.Most*(1+1e-9), got, err
}
