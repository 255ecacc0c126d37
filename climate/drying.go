package climate

import (
	"errors"
	"fmt"
	"math"
	"sort"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// Evaporation returns the water that evaporates from a wet surface into air,
// per area and time; it is negative where vapour condenses on it.
//
// Model: the Lewis relation, m = hc/(rho cp Le^(2/3)) (cs - ca), the vapour's
// concentrations by the ideal gas at the mean temperature of surface and air,
// Le = 0.86; the surface wet throughout. With each at its own temperature, as
// textbooks write it for air as warm as the surface, a surface some tenths of a
// kelvin below the dew point of warmer air would still dry.
// Range: surface -5 °C to 60 °C, convection (see [FloorConvection],
// [ForcedConvection]) 0.1 to 100 W/(m2 K). Accuracy: that of convection, 20 %.
// Source: Incropera eq. 6.60 and section 6.7.
func Evaporation(surface units.Temperature, air Air, convection units.FilmCoefficient) (units.MassFlux, error) {
	const fn = "climate.Evaporation"
	t, rh, p, err := air.check(fn)
	if err := errors.Join(err, checkEvaporation(fn, surface, convection)); err != nil {
		return units.MassFlux(math.NaN()), err
	}
	l, _ := lnWater(t)
	return units.MassFlux(evaporation(surface.Kelvin(), rh*math.Exp(l), p, float64(convection))), nil
}

func checkEvaporation(fn string, surface units.Temperature, convection units.FilmCoefficient) error {
	return errors.Join(units.InRange(fn, "surface", surface.Celsius(), -5, 60, "°C"), units.InRange(fn, "convection", float64(convection), 0.1, 100, "W/(m2 K)"))
}

// evaporation is [Evaporation] with the surface in K and the vapour pressure e of
// the air at pressure p, Pa, h in W/(m2 K); kg/(m2 s).
func evaporation(ts, e, p, h float64) float64 {
	l, _ := lnWater(ts)
	return evaporates(math.Exp(l), e, p, h)
}

// evaporates is evaporation with the saturation pressure at the surface, Pa.
func evaporates(saturated, e, p, h float64) float64 {
	const le = 0.9043 // 0.86^(2/3)
	// rho = p/(Rdry T) and c = e/(Rvapour T) at one T, which cancels; Rdry/Rvapour = epsilon.
	return h / (cpAir * le) * epsilon * (saturated - e) / p
}

// A Drying is a wet waterborne coat. It dries at the rate of a wet surface until
// Critical of its water is left; from then on the rate falls with what is left.
// Data sheets' "recoat in a few hours" holds for their 23 °C and 50 %: in cold
// damp air the same film takes a multiple. Coalescence and cure, which also slow
// down in the cold, are not in it.
type Drying struct {
	Water      units.Loading         // in the film as laid, 0.001 kg/m2 to 5 kg/m2: see [WaterIn]
	Critical   units.Fraction        // 1 % to 100 %; zero: 30 %, common practice
	Left       units.Fraction        // at which it counts as dry, 0.1 % to 50 %; zero: 5 %, common practice
	Convection units.FilmCoefficient // see [Evaporation]; 0.1 to 100 W/(m2 K)
}

// WaterIn returns the water in a wet film, if all that is not solid in it is water.
//
// Range: wet film 0 to 5 mm, solids by volume 0 % to 100 %.
func WaterIn(wet units.Length, solids units.Fraction) (units.Loading, error) {
	const fn = "climate.WaterIn"
	if err := errors.Join(units.FromZero(fn, "wet", float64(wet)*1e6, 5000, "um"), units.FromZero(fn, "solids", 100*float64(solids), 100, "%")); err != nil {
		return units.Loading(math.NaN()), err
	}
	return units.Loading(998 * float64(wet) * max(0, 1-float64(solids))), nil // water at 20 °C, kg/m3; solids give way above 1
}

func (d Drying) check(fn string) (Drying, error) {
	if d.Critical == 0 {
		d.Critical = 0.3
	}
	if d.Left == 0 {
		d.Left = 0.05
	}
	return d, errors.Join(units.InRange(fn, "Water", float64(d.Water), 1e-3, 5, "kg/m2"), units.InRange(fn, "Critical", 100*float64(d.Critical), 1, 100, "%"),
		units.InRange(fn, "Left", 100*float64(d.Left), 0.1, 50, "%"), units.InRange(fn, "Convection", float64(d.Convection), 0.1, 100, "W/(m2 K)"))
}

// work is the water that a surface staying wet would give off in the coat's
// drying time, kg/m2: (1 - c) m0 at the full rate k, then dm/dt = -k m/(c m0).
func (d Drying) work() float64 {
	c, r := float64(d.Critical), float64(d.Left)
	if r >= c {
		return float64(d.Water) * (1 - r)
	}
	return float64(d.Water) * (1 - c + c*math.Log(c/r))
}

// ErrNeverDry says that the air takes up no water from the coat.
var ErrNeverDry = errors.New("climate: never dries")

// Time returns how long the coat dries on a surface under air that both stay as
// they are. The thin film has the surface's temperature. It is [ErrNeverDry]
// where vapour condenses instead, or the time is beyond a year.
//
// Source: [Evaporation]; the falling rate proportional to the water left is
// that of Perry's Chemical Engineers' Handbook section 12, equilibrium moisture
// neglected (from memory).
func (d Drying) Time(surface units.Temperature, air Air) (time.Duration, error) {
	const fn = "climate.Drying.Time"
	d, err := d.check(fn)
	if err != nil {
		return 0, err
	}
	k, err := Evaporation(surface, air, d.Convection)
	if err != nil {
		return 0, err
	}
	s := d.work() / float64(k)
	if !(s > 0 && s < 366*86400) {
		return 0, fmt.Errorf("%w: %s: the air takes up %v", ErrNeverDry, fn, k)
	}
	return time.Duration(s * 1e9), nil
}

// Reach returns when the coat, wet at start, has dried along a history of
// surface and room: the moment on their clock. Condensation in between counts
// as no drying. Past the ends of the histories their last values are held; it is
// [ErrNeverDry] if that is not enough within a year.
//
// Accuracy: 0.1 % of the time (the potential is taken straight over at most 5 min,
// and from sample to sample).
// Source: see [Drying.Time].
func (d Drying) Reach(surface Trace, room Weather, start time.Duration) (time.Duration, error) {
	const fn = "climate.Drying.Reach"
	d, err := d.check(fn)
	if err := errors.Join(err, surface.Validate(), room.Validate()); err != nil {
		return 0, err
	}
	left, at := d.work(), time.Duration(-1)
	err = d.along(fn, surface, room, start, start+366*24*time.Hour, func(from, to time.Duration, k0, k1 float64) bool {
		s := (to - from).Seconds()
		if done := (k0 + k1) / 2 * s; done < left {
			left -= done
			return true
		}
		// left = k0 x + (k1 - k0) x^2/2 over the stretch's share x
		a, b := (k1-k0)/2*s, k0*s
		x := 2 * left / (b + math.Sqrt(max(0, b*b+4*a*left)))
		at, left = from+time.Duration(min(x, 1)*float64(to-from)), 0
		return false
	})
	if err != nil {
		return 0, err
	}
	if left > 0 {
		return 0, fmt.Errorf("%w: %s: within a year", ErrNeverDry, fn)
	}
	return at, nil
}

// LeftAt returns the share of its water that a coat, wet at start, has left at a
// moment along a history of surface and room.
//
// Range: at from start to a year later. Accuracy and source: see [Drying.Reach].
func (d Drying) LeftAt(surface Trace, room Weather, start, at time.Duration) (units.Fraction, error) {
	const fn = "climate.Drying.LeftAt"
	nan := units.Fraction(math.NaN())
	d, err := d.check(fn)
	if err := errors.Join(err, surface.Validate(), room.Validate()); err != nil {
		return nan, err
	}
	if at < start || at > start+366*24*time.Hour {
		return nan, fmt.Errorf("%w: %s: at = %v: want from start, %v, to a year later", units.ErrRange, fn, at, start)
	}
	work := 0.0
	if err := d.along(fn, surface, room, start, start+366*24*time.Hour, func(from, to time.Duration, k0, k1 float64) bool {
		if to > at { // the same straight stretch as Reach's, as far as at
			k1 = k0 + (k1-k0)*float64(at-from)/float64(to-from)
		}
		work += (k0 + k1) / 2 * (min(to, at) - from).Seconds()
		return to < at
	}); err != nil {
		return nan, err
	}
	c := float64(d.Critical)
	switch gone := work / float64(d.Water); { // as in work
	case gone <= 1-c:
		return units.Fraction(1 - gone), nil
	default:
		return units.Fraction(c * math.Exp(-(gone-(1-c))/c)), nil
	}
}

// along goes through the straight stretches from start to end, of at most 5 min
// and from sample to sample, with the rate of a wet surface at both ends of each,
// kg/(m2 s), until yield wants no more.
func (d Drying) along(fn string, surface Trace, room Weather, start, end time.Duration, yield func(from, to time.Duration, k0, k1 float64) bool) error {
	if start < -farthest || start > farthest {
		return fmt.Errorf("%w: %s: start = %v: want within 73 years of 0", units.ErrRange, fn, start)
	}
	rate := func(at time.Duration) (float64, error) {
		t, err1 := surface.At(at)
		a, err2 := room.At(at)
		if err := errors.Join(err1, err2); err != nil {
			return 0, err
		}
		k, err := Evaporation(t, a, d.Convection)
		return max(0, float64(k)), err
	}
	const step = 5 * time.Minute
	k0, err := rate(start)
	if err != nil {
		return err
	}
	ends := max(surface[len(surface)-1].At, room[len(room)-1].At)
	i := sort.Search(len(surface), func(i int) bool { return surface[i].At > start })
	j := sort.Search(len(room), func(j int) bool { return room[j].At > start })
	for at := start; at < end; {
		if at >= ends { // held from here on
			yield(at, end, k0, k0)
			return nil
		}
		next := min(at+step, end)
		if i < len(surface) {
			next = min(next, surface[i].At)
		}
		if j < len(room) {
			next = min(next, room[j].At)
		}
		k1, err := rate(next)
		if err != nil {
			return err
		}
		if !yield(at, next, k0, k1) {
			return nil
		}
		k0, at = k1, next
		for i < len(surface) && surface[i].At <= at {
			i++
		}
		for j < len(room) && room[j].At <= at {
			j++
		}
	}
	return nil
}
