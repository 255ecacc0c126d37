package cure

import (
	"errors"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// A Diffusion says how the reaction slows as the groups no longer find each
// other: [ChernPoehlein], [WLF] or [FreeVolume].
type Diffusion interface {
	check(fn string) error
	needsGlass() bool
}

// ChernPoehlein multiplies the rate by 1/(1 + exp(C (a - a_c))), where a_c =
// Critical + PerKelvin T is the conversion at which it has halved.
//
// Range: C 0 to 1000, Critical -10 to 10, PerKelvin -0.1 to 0.1.
// Source: Chern and Poehlein, from memory.
type ChernPoehlein struct {
	C         float64
	Critical  float64 // at 0 K, by extrapolation
	PerKelvin float64 // 1/K
}

func (d ChernPoehlein) check(fn string) error {
	return errors.Join(units.FromZero(fn, "Diffusion.C", d.C, 1000, ""),
		units.InRange(fn, "Diffusion.Critical", d.Critical, -10, 10, ""),
		units.InRange(fn, "Diffusion.PerKelvin", d.PerKelvin, -0.1, 0.1, "1/K"))
}

func (ChernPoehlein) needsGlass() bool { return false }

func (d ChernPoehlein) factor(a, t float64) float64 {
	return 1 / (1 + math.Exp(d.C*(a-d.Critical-d.PerKelvin*t)))
}

// WLF limits each rate constant after Rabinowitch, 1/k = 1/k_c + 1/k_d, with
//
//	k_d = AtTg exp(C1 (T - Tg) / (C2 + |T - Tg|)),
//
// Tg by [Kinetics].Glass. C1 near 40 and C2 near 52 K are usual.
//
// Range: AtTg 1e-20 to 1e6 1/s, C1 0 to 100, C2 1 K to 1000 K.
// Source: Rabinowitch; C1 and C2 after Williams, Landel and Ferry; from memory.
type WLF struct {
	AtTg units.Rate
	C1   float64
	C2   units.TempDelta
}

func (d WLF) check(fn string) error {
	return errors.Join(units.InRange(fn, "Diffusion.AtTg", math.Log10(float64(d.AtTg)), -20, 6, "powers of ten of 1/s"),
		units.FromZero(fn, "Diffusion.C1", d.C1, 100, ""),
		units.InRange(fn, "Diffusion.C2", float64(d.C2), 1, 1000, "K"))
}

func (WLF) needsGlass() bool { return true }

func (d WLF) constant(t, tg float64) float64 {
	x := t - tg
	return float64(d.AtTg) * math.Exp(d.C1*x/(float64(d.C2)+math.Abs(x)))
}

// FreeVolume limits each rate constant after Rabinowitch, 1/k = 1/k_c + 1/k_d,
// with a diffusion that needs free volume,
//
//	k_d = A exp(-Ea/(R T)) exp(-B/f),  f = Expansion (T - Tg) + AtTg,
//
// Tg by [Kinetics].Glass. Where f is not above 0 nothing proceeds.
//
// Range: A 0 to 1e30 1/s, Ea 0 to 400 kJ/mol, B 0 to 10, Expansion 1e-6 1/K to
// 0.1 1/K, AtTg 0 to 1.
// Source: Huguenin and Klein, from memory; the form as used in doi
// 10.1016/j.tca.2015.11.014, seen second-hand.
type FreeVolume struct {
	A         float64 // 1/s
	Ea        units.MolarEnergy
	B         float64
	Expansion float64 // 1/K
	AtTg      units.Fraction
}

func (d FreeVolume) check(fn string) error {
	return errors.Join(units.FromZero(fn, "Diffusion.A", d.A, 1e30, "1/s"),
		units.FromZero(fn, "Diffusion.Ea", float64(d.Ea)/1e3, 400, "kJ/mol"),
		units.FromZero(fn, "Diffusion.B", d.B, 10, ""),
		units.InRange(fn, "Diffusion.Expansion", d.Expansion, 1e-6, 0.1, "1/K"),
		units.FromZero(fn, "Diffusion.AtTg", float64(d.AtTg), 1, ""))
}

func (FreeVolume) needsGlass() bool { return true }

func (d FreeVolume) constant(t, tg float64) float64 {
	f := d.Expansion*(t-tg) + float64(d.AtTg)
	if !(f > 0) {
		return 0
	}
	return d.A * math.Exp(-float64(d.Ea)/(molarGas*t)-d.B/f)
}
