package aggregate

import (
	"errors"
	"math"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/root"
)

// A Portion is the grain of one size class in a mix.
type Portion struct {
	Size    units.Length   // 1 um to 100 mm; of a sieve fraction the geometric mean of its two openings
	Share   units.Fraction // of the solid volume of the mix
	Packing units.Fraction // solids of a bed of this class alone, 20 % to 80 %
}

// A Mix is grain of 1 to 32 size classes in any order. Its shares add up to 1
// within 1e-6.
type Mix []Portion

func (m Mix) check(fn string) error {
	err := units.InRange(fn, "portions", float64(len(m)), 1, 32, "in number")
	sum := 0.0
	for i, p := range m {
		sum += float64(p.Share)
		for _, e := range [...]error{units.InRange(fn, "Size", mm(p.Size), 0.001, 100, "mm"), units.FromZero(fn, "Share", pct(p.Share), 100, "%"), units.InRange(fn, "Packing", pct(p.Packing), 20, 80, "%")} {
			if e != nil {
				err = errors.Join(err, numbered(e, i))
			}
		}
	}
	if !(math.Abs(sum-1) <= 1e-6) {
		err = errors.Join(err, &units.RangeError{Func: fn, Arg: "sum of shares", Got: sum * 100, Lo: 100, Hi: 100, Unit: "%"})
	}
	return err
}

// wall and loosening are de Larrard's two interactions as functions of the
// ratio of sizes: 0 between grains worlds apart, 1 between equal ones.
func loosening(r float64) float64 { return math.Sqrt(1 - math.Pow(1-r, 1.02)) } // a: fines push coarse grain apart
func wall(r float64) float64      { return 1 - math.Pow(1-r, 1.50) }            // b: fines pack less beside coarse grain

// dominant returns the packing of the mix if class i were the one that jams:
//
//	gamma_i = beta_i / (1 - sum_coarser (1 - beta_i + b beta_i (1 - 1/beta_j)) y_j - sum_finer (1 - a beta_i/beta_j) y_j)
//
// k scales the packings of the classes; ideal leaves the interactions out.
func (m Mix) dominant(i int, k float64, ideal bool) float64 {
	di, bi := float64(m[i].Size), k*float64(m[i].Packing)
	den := 1.0
	for j, p := range m {
		if j == i {
			continue
		}
		dj, bj, y := float64(p.Size), k*float64(p.Packing), float64(p.Share)
		a, b := 0.0, 0.0
		switch {
		case dj == di:
			a, b = 1, 1
		case ideal:
		case dj < di:
			a = loosening(dj / di)
		default:
			b = wall(di / dj)
		}
		if dj > di {
			den -= (1 - bi + b*bi*(1-1/bj)) * y
		} else {
			den -= (1 - a*bi/bj) * y
		}
	}
	return bi / den
}

func (m Mix) tightest(k float64, ideal bool) float64 {
	phi := math.Inf(1)
	for i := range m {
		phi = math.Min(phi, m.dominant(i, k, ideal))
	}
	return phi
}

// IdealPacking returns the packing of a mix whose finer classes fit into the
// voids of the coarser ones as if these had no walls: the upper bound that
// Furnas gives, min(b1/(1 - x), 1/(x/b2 + 1 - x)) of two classes.
//
// Range: as [Mix]. Accuracy: 1e-12 of the equation. Real mixes stay below:
// shaken steel spheres by 2 points with two sizes 1:7 (McGeary 1961, memory).
// Source: Furnas 1929, from memory; the linear model without interactions.
func (m Mix) IdealPacking() (units.Fraction, error) {
	if err := m.check("aggregate.Mix.IdealPacking"); err != nil {
		return nanOf[units.Fraction](), err
	}
	return units.Fraction(m.tightest(1, true)), nil
}

// LinearPacking returns the packing of a mix by the linear packing model: the
// least of the packings at which each class jams, with the wall effect
// b = 1 - (1-r)^1.5 and the loosening a = sqrt(1 - (1-r)^1.02) of a pair of
// sizes with ratio r.
//
// Range: as [Mix]. Accuracy: 1e-9 of the equation; it has a kink at its best
// mix where measured ones are round, and is high there by up to 4 points.
// Source: de Larrard, Concrete Mixture Proportioning (1999), from memory.
func (m Mix) LinearPacking() (units.Fraction, error) {
	if err := m.check("aggregate.Mix.LinearPacking"); err != nil {
		return nanOf[units.Fraction](), err
	}
	return units.Fraction(m.tightest(1, false)), nil
}

// How a bed is put down: the compaction index of the compressible model, from
// memory of de Larrard 1999. Broadcast grain is poured.
const (
	Poured   = 4.1
	Rodded   = 4.5
	Vibrated = 4.75
	Pressed  = 9.0 // vibrated under 10 kPa
)

// CompressiblePacking returns the packing of a mix by the compressible packing
// model: phi with index = sum (y_i/beta_i)/(1/phi - 1/gamma_i), where beta_i =
// Packing (1 + 1/index) is the class packed one grain at a time and gamma_i the
// linear model's on those. Packing of each class is as measured at the index.
//
// Range: as [Mix]; index 0.5 to 1e6.
// Accuracy: 1e-9 of the equation; measured mixes within about 0.8 % rounded,
// 1.8 % crushed (seen in a review of the model).
// Source: de Larrard, Concrete Mixture Proportioning (1999), from memory.
func (m Mix) CompressiblePacking(index float64) (units.Fraction, error) {
	const fn = "aggregate.Mix.CompressiblePacking"
	if err := errors.Join(m.check(fn), units.InRange(fn, "index", index, 0.5, 1e6, "of compaction")); err != nil {
		return nanOf[units.Fraction](), err
	}
	k := 1 + 1/index
	var buf [32]float64
	gamma := buf[:len(m)]
	least := math.Inf(1)
	for i := range m {
		gamma[i] = m.dominant(i, k, false)
		if m[i].Share > 0 {
			least = math.Min(least, gamma[i])
		}
	}
	// index/sum is 1 at the solution and falls from infinity to 0 with phi.
	f := func(phi float64) float64 {
		sum := 0.0
		for i, p := range m {
			if p.Share > 0 {
				sum += float64(p.Share) / (k * float64(p.Packing)) / (1/phi - 1/gamma[i])
			}
		}
		return 1 - index/sum
	}
	top := least * (1 - 1e-15)
	if f(top) <= 0 { // between top and least, where a trace of one class jams
		return units.Fraction(top), nil
	}
	phi, err := root.Brent(f, least*1e-3, top, 1e-14)
	if err != nil {
		return nanOf[units.Fraction](), err
	}
	return units.Fraction(phi), nil
}

// ToufarPacking returns the packing of two classes by the modified Toufar
// model: 1/(y1/phi1 + y2/phi2 - y2 (1/phi2 - 1) kd ks), 1 the finer, with
// kd = (d2 - d1)/(d1 + d2), x = (y1/y2)(phi2/phi1)/(1 - phi2) and
// ks = 0.3881 x/0.4753 below x = 0.4753, else 1 - (1 + 4x)/(1 + x)^4.
//
// Range: as [Mix]; exactly 2 classes.
// Accuracy: 1e-9 of the equation; ks jumps by 0.0006 at x = 0.4753, as published.
// Source: Goltermann, Johansen and Palbol, ACI Materials Journal 1997, from memory.
func (m Mix) ToufarPacking() (units.Fraction, error) {
	const fn = "aggregate.Mix.ToufarPacking"
	if err := m.check(fn); err != nil {
		return nanOf[units.Fraction](), err
	}
	if len(m) != 2 {
		return nanOf[units.Fraction](), &units.RangeError{Func: fn, Arg: "portions", Got: float64(len(m)), Lo: 2, Hi: 2, Unit: "in number"}
	}
	f, c := m[0], m[1]
	if f.Size > c.Size {
		f, c = c, f
	}
	y1, y2, p1, p2 := float64(f.Share), float64(c.Share), float64(f.Packing), float64(c.Packing)
	kd := float64((c.Size - f.Size) / (c.Size + f.Size))
	const x0, k0 = 0.4753, 0.3881
	ks := 1.0 // fines alone
	if y2 > 0 {
		x := y1 / y2 * p2 / p1 / (1 - p2)
		if ks = k0 * x / x0; x >= x0 {
			ks = 1 - (1+4*x)/math.Pow(1+x, 4)
		}
	}
	return units.Fraction(1 / (y1/p1 + y2/p2 - y2*(1/p2-1)*kd*ks)), nil
}

// BestFines returns the share of fine in a mix of coarse and fine grain that
// packs densest by a model, such as [Mix.LinearPacking], and that packing.
// The Share of both portions is not read.
//
// Accuracy: share within 1e-6 for the models here, which have one crest.
func BestFines(coarse, fine Portion, model func(Mix) (units.Fraction, error)) (share, packing units.Fraction, err error) {
	mix := Mix{coarse, fine}
	at := func(x float64) float64 {
		mix[0].Share, mix[1].Share = units.Fraction(1-x), units.Fraction(x)
		phi, e := model(mix)
		if e != nil {
			err = e
			return math.NaN()
		}
		return float64(phi)
	}
	const golden = 0.6180339887498949 // Kiefer 1953: golden-section search
	lo, hi := 0.0, 1.0
	a, b := hi-golden*(hi-lo), lo+golden*(hi-lo)
	fa, fb := at(a), at(b)
	for hi-lo > 1e-9 && err == nil {
		if fa < fb {
			lo, a, fa = a, b, fb
			b = lo + golden*(hi-lo)
			fb = at(b)
		} else {
			hi, b, fb = b, a, fa
			a = hi - golden*(hi-lo)
			fa = at(a)
		}
	}
	x := (lo + hi) / 2
	phi := at(x)
	if err != nil {
		return nanOf[units.Fraction](), nanOf[units.Fraction](), err
	}
	return units.Fraction(x), units.Fraction(phi), nil
}
