package climate

import (
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/root"
)

// The closed forms are for quick answers and for checking [Slab.Forecast]. They
// are linear: temperatures from -200 °C to 3000 °C. HalfSpace forms take the
// solid of a layer without an end and disregard its Thickness; Wall forms are a
// layer of its Thickness with an insulated underside. Depth is from the top.

func (l Layer) closed(fn string, depth units.Length, elapsed time.Duration, temps ...units.Temperature) error {
	err := errors.Join(l.solid(fn, ""), units.FromZero(fn, "depth", float64(depth), 100, "m"), checkElapsed(fn, "elapsed", elapsed))
	for i, t := range temps {
		arg := "initial"
		if i > 0 {
			arg = "temperature at the surface"
		}
		err = errors.Join(err, units.InRange(fn, arg, t.Celsius(), -200, 3000, "°C"))
	}
	return err
}

func (l Layer) wall(fn string, depth units.Length) error {
	return errors.Join(units.InRange(fn, "Thickness", float64(l.Thickness), 1e-4, 100, "m"),
		units.FromZero(fn, "depth", float64(depth), float64(l.Thickness), "m"))
}

func checkFilm(fn string, film units.FilmCoefficient) error {
	return units.InRange(fn, "film", float64(film), 1e-3, 1e5, "W/(m2 K)")
}

func between(a, b units.Temperature, share float64) units.Temperature {
	return a.Add(b.Sub(a) * units.TempDelta(share))
}

// HalfSpaceStep returns the temperature at a depth some time after the surface,
// at initial like all below it, was brought to another temperature and held.
//
// Model: erfc(x/(2 sqrt(a t))) of the step.
// Source: Carslaw and Jaeger (1959) 2.4 eq. 10; Incropera eq. 5.57.
func (l Layer) HalfSpaceStep(initial, surface units.Temperature, depth units.Length, elapsed time.Duration) (units.Temperature, error) {
	if err := l.closed("climate.Layer.HalfSpaceStep", depth, elapsed, initial, surface); err != nil {
		return units.NaNTemperature(), err
	}
	if depth == 0 {
		return surface, nil
	}
	return between(initial, surface, math.Erfc(float64(depth)/(2*math.Sqrt(l.diffusivity()*elapsed.Seconds())))), nil
}

// HalfSpaceFlux returns the temperature at a depth some time after a constant
// heat flux into the surface began.
//
// Source: Carslaw and Jaeger (1959) 2.9 eq. 7; Incropera eq. 5.59.
func (l Layer) HalfSpaceFlux(initial units.Temperature, flux units.HeatFlux, depth units.Length, elapsed time.Duration) (units.Temperature, error) {
	const fn = "climate.Layer.HalfSpaceFlux"
	if err := errors.Join(l.closed(fn, depth, elapsed, initial), units.InRange(fn, "flux", float64(flux), -1e7, 1e7, "W/m2")); err != nil {
		return units.NaNTemperature(), err
	}
	if elapsed == 0 {
		return initial, nil
	}
	r, x := 2*math.Sqrt(l.diffusivity()*elapsed.Seconds()), float64(depth)
	rise := float64(flux) / float64(l.Conductivity) * (r/math.Sqrt(math.Pi)*math.Exp(-x*x/(r*r)) - x*math.Erfc(x/r))
	return initial.Add(units.TempDelta(rise)), nil
}

// HalfSpaceFilm returns the temperature at a depth some time after the air over
// the surface became air, through a film coefficient.
//
// Source: Carslaw and Jaeger (1959) 2.7 eq. 1; Incropera eq. 5.60.
func (l Layer) HalfSpaceFilm(initial, air units.Temperature, film units.FilmCoefficient, depth units.Length, elapsed time.Duration) (units.Temperature, error) {
	const fn = "climate.Layer.HalfSpaceFilm"
	if err := errors.Join(l.closed(fn, depth, elapsed, initial, air), checkFilm(fn, film)); err != nil {
		return units.NaNTemperature(), err
	}
	return between(initial, air, l.halfSpaceFilm(float64(film), float64(depth), elapsed.Seconds())), nil
}

func (l Layer) halfSpaceFilm(h, x, t float64) float64 {
	if t == 0 {
		return 0
	}
	r := math.Sqrt(l.diffusivity() * t)
	e, b := x/(2*r), h*r/float64(l.Conductivity)
	// exp(h x/k + b^2) erfc(e + b) = exp(-e^2) erfcx(e + b): no overflow.
	return max(0, math.Erfc(e)-math.Exp(-e*e)*erfcx(e+b))
}

// erfcx returns exp(x^2) erfc(x) for x >= 0.
//
// Source: DLMF 7.9.1, the continued fraction, from 10 on, where 40 terms leave 1e-16.
func erfcx(x float64) float64 {
	if x < 10 {
		return math.Exp(x*x) * math.Erfc(x)
	}
	f := x
	for n := 40; n > 0; n-- {
		f = x + float64(n)/2/f
	}
	return 1 / (f * math.Sqrt(math.Pi))
}

// WallFilm returns the temperature at a depth of a layer with an insulated
// underside, some time after the air over it became air: a slab on insulation.
//
// Accuracy: 1e-9 of the step.
// Source: Incropera eq. 5.42, all terms; Carslaw and Jaeger (1959) 3.11. Before
// the underside feels it (Fo < 0.01), the half space.
func (l Layer) WallFilm(initial, air units.Temperature, film units.FilmCoefficient, depth units.Length, elapsed time.Duration) (units.Temperature, error) {
	const fn = "climate.Layer.WallFilm"
	if err := errors.Join(l.closed(fn, depth, elapsed, initial, air), l.wall(fn, depth), checkFilm(fn, film)); err != nil {
		return units.NaNTemperature(), err
	}
	return between(initial, air, l.wallFilm(float64(film), float64(depth), elapsed.Seconds())), nil
}

// WallStep is [Layer.WallFilm] with the top itself brought to another temperature.
//
// Source: Incropera eq. 5.42 with Bi without bound, zeta = (n - 1/2) pi.
func (l Layer) WallStep(initial, surface units.Temperature, depth units.Length, elapsed time.Duration) (units.Temperature, error) {
	const fn = "climate.Layer.WallStep"
	if err := errors.Join(l.closed(fn, depth, elapsed, initial, surface), l.wall(fn, depth)); err != nil {
		return units.NaNTemperature(), err
	}
	if depth == 0 {
		return surface, nil
	}
	return between(initial, surface, l.wallFilm(math.Inf(1), float64(depth), elapsed.Seconds())), nil
}

func (l Layer) wallFilm(h, x, t float64) float64 {
	th := float64(l.Thickness)
	fo := l.diffusivity() * t / (th * th)
	if fo < 0.01 {
		if math.IsInf(h, 1) {
			return math.Erfc(x / (2 * math.Sqrt(l.diffusivity()*t)))
		}
		return l.halfSpaceFilm(h, x, t)
	}
	bi := h * th / float64(l.Conductivity)
	sum := 0.0
	for n := 1; n < 100; n++ {
		z := eigenvalue(bi, n)
		decay := math.Exp(-z * z * fo)
		if decay < 1e-18 {
			break
		}
		s := math.Sin(z)
		sum += 4 * s / (2*z + math.Sin(2*z)) * decay * math.Cos(z*(1-x/th))
	}
	return 1 - sum
}

// eigenvalue returns the nth root of z tan z = bi, between (n-1) pi and (n-1/2) pi.
//
// Source: Incropera eq. 5.42c and table 5.1.
func eigenvalue(bi float64, n int) float64 {
	lo, hi := float64(n-1)*math.Pi, (float64(n)-0.5)*math.Pi
	if math.IsInf(bi, 1) {
		return hi
	}
	f := func(z float64) float64 { return z*math.Sin(z) - bi*math.Cos(z) }
	z, err := root.Brent(func(z float64) float64 {
		if n%2 == 0 { // so that it rises from below zero
			return -f(z)
		}
		return f(z)
	}, lo, hi, 1e-15)
	if err != nil {
		panic("climate: eigenvalue: " + err.Error()) // f has opposite signs at the ends for every bi > 0
	}
	return z
}

// ErrNeverWarm says that a layer does not come to the temperature asked.
var ErrNeverWarm = errors.New("climate: never comes to that temperature")

// WarmUp returns how long a layer with an insulated underside takes, under air
// of constant temperature, until its depth has come from initial to target:
// "hours to warm a 6 in slab". On soil it takes much longer: see [Slab].
//
// It is [ErrNeverWarm] where target is not between initial and air, or comes
// within a billionth of the way to air.
// Accuracy: 1 ms. Source: see [Layer.WallFilm].
func (l Layer) WarmUp(initial, air, target units.Temperature, film units.FilmCoefficient, depth units.Length) (time.Duration, error) {
	const fn = "climate.Layer.WarmUp"
	if err := errors.Join(l.closed(fn, depth, 0, initial, air), l.wall(fn, depth), checkFilm(fn, film), units.InRange(fn, "target", target.Celsius(), -200, 3000, "°C")); err != nil {
		return 0, err
	}
	share := float64(target.Sub(initial)) / float64(air.Sub(initial))
	if target == initial {
		return 0, nil
	}
	if !(share > 0 && share < 1-1e-9) {
		return 0, fmt.Errorf("%w: %s: from %v by air of %v to %v", ErrNeverWarm, fn, initial, air, target)
	}
	h, x := float64(film), float64(depth)
	end := 60.0
	for l.wallFilm(h, x, end) < share {
		if end *= 2; end > maxSpan.Seconds() {
			return 0, fmt.Errorf("%w: %s: not within 50 years", ErrNeverWarm, fn)
		}
	}
	s, err := root.Brent(func(t float64) float64 { return l.wallFilm(h, x, t) - share }, 0, end, 1e-4)
	return time.Duration(s * 1e9), err
}

// DampingDepth returns the depth at which a swing of the surface's temperature
// has fallen to 1/e: sqrt(2 a/w) with w = 2 pi/period. (Incropera's "penetration
// depth", example 5.8, is sqrt(a/w), 0.71 of it.)
//
// Source: Carslaw and Jaeger (1959) 2.6.
func (l Layer) DampingDepth(period time.Duration) (units.Length, error) {
	const fn = "climate.Layer.DampingDepth"
	if err := errors.Join(l.solid(fn, ""), checkPeriod(fn, period)); err != nil {
		return units.Length(math.NaN()), err
	}
	return units.Length(math.Sqrt(l.diffusivity() * period.Seconds() / math.Pi)), nil
}

func checkPeriod(fn string, period time.Duration) error {
	if period <= 0 {
		return fmt.Errorf("%w: %s: period = %v: want above 0 to 50 years", units.ErrRange, fn, period)
	}
	return checkElapsed(fn, "period", period)
}

// HalfSpaceSwing returns by which share a swing of the air's temperature comes
// to a depth, and how much later.
//
// Source: Carslaw and Jaeger (1959) 2.6 eqs. 16 to 18.
func (l Layer) HalfSpaceSwing(film units.FilmCoefficient, depth units.Length, period time.Duration) (units.Fraction, time.Duration, error) {
	const fn = "climate.Layer.HalfSpaceSwing"
	if err := errors.Join(l.closed(fn, depth, 0), checkFilm(fn, film), checkPeriod(fn, period)); err != nil {
		return units.Fraction(math.NaN()), 0, err
	}
	// theta = exp(-q x)/(1 + k q/h), q = (1 + i)/d
	d := math.Sqrt(l.diffusivity() * period.Seconds() / math.Pi)
	m, x := float64(l.Conductivity)/(float64(film)*d), float64(depth)/d
	lag := x + math.Atan2(m, 1+m)
	return units.Fraction(math.Exp(-x) / math.Hypot(1+m, m)), time.Duration(lag / (2 * math.Pi) * float64(period)), nil
}

// WallSwing is [Layer.HalfSpaceSwing] for a layer with an insulated underside.
//
// Source: Carslaw and Jaeger (1959) 3.7, with a film at the surface:
// cosh(q (L - x))/(cosh q L + k q/h sinh q L), q = (1 + i)/d.
func (l Layer) WallSwing(film units.FilmCoefficient, depth units.Length, period time.Duration) (units.Fraction, time.Duration, error) {
	const fn = "climate.Layer.WallSwing"
	if err := errors.Join(l.closed(fn, depth, 0), l.wall(fn, depth), checkFilm(fn, film), checkPeriod(fn, period)); err != nil {
		return units.Fraction(math.NaN()), 0, err
	}
	d := math.Sqrt(l.diffusivity() * period.Seconds() / math.Pi)
	th, x := float64(l.Thickness)/d, float64(depth)/d
	m := float64(l.Conductivity) / (float64(film) * d)
	// Both divided by exp(q L)/2, so that nothing overflows: exp(-q x)(1 + exp(-2 q (L - x))).
	up, down := expC(-2*(th-x)), expC(-2*th)
	num := 1 + up
	den := 1 + down + complex(m, m)*(1-down)
	r := num / den
	lag := x - math.Atan2(imag(r), real(r))
	return units.Fraction(math.Exp(-x) * math.Hypot(real(r), imag(r))), time.Duration(lag / (2 * math.Pi) * float64(period)), nil
}

// expC returns exp((1 + i) x).
func expC(x float64) complex128 {
	e := math.Exp(x)
	return complex(e*math.Cos(x), e*math.Sin(x))
}

// Lumped returns the temperature of a body of one temperature (a pail, a mass
// of air) some time after its surroundings became air: the difference falls to
// 1/e in tau, its heat capacity over its conductance.
//
// Source: Incropera eq. 5.6.
func Lumped(initial, air units.Temperature, tau, elapsed time.Duration) (units.Temperature, error) {
	const fn = "climate.Lumped"
	if err := errors.Join(units.InRange(fn, "initial", initial.Celsius(), -200, 3000, "°C"), units.InRange(fn, "air", air.Celsius(), -200, 3000, "°C"),
		checkElapsed(fn, "elapsed", elapsed), checkPeriod(fn, tau)); err != nil {
		return units.NaNTemperature(), err
	}
	return between(initial, air, -math.Expm1(-elapsed.Seconds()/tau.Seconds())), nil
}
