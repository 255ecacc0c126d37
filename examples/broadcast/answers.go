package main

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
)

// answers returns one line for each question, and the bed. Fill 0 of a bed
// stands for 1, so that a grout that fills nothing is not asked for here.
func answers(w *wishes) (string, aggregate.Bed, error) {
	var b strings.Builder
	q := func(x units.Quantity) string { return units.Format(x, w.sys) }
	var graded string
	if w.grading != "" {
		g, err := grading(w.grading)
		if err == nil {
			graded, err = grade(g, w)
		}
		if err != nil {
			return "", aggregate.Bed{}, err
		}
	}
	grain := aggregate.Grain{Size: w.size, Density: w.density, Packing: w.packing}
	bed, err := aggregate.ToRefusal(w.film, grain)
	if w.rate != 0 {
		bed, err = aggregate.Broadcast(w.rate, w.film, grain)
	}
	if err != nil {
		return "", bed, err
	}
	bed.Fill = w.fill
	retention := w.retention
	if w.rate != 0 {
		retention = units.Fraction(bed.Held / w.rate) // what was thrown is known
	}
	thrown, back, err := aggregate.Thrown(bed.Held, retention)
	grout, err2 := bed.Grout(w.above)
	if err := errors.Join(err, err2, units.InRange("broadcast", "area", float64(w.area), 0, 1e8, "m2"), units.InRange("broadcast", "sections", float64(w.sections), 1, 1000, "in number")); err != nil {
		return "", bed, err
	}
	light := ""
	if bed.Light {
		light = fmt.Sprintf(": a light broadcast, covering %s where refusal takes %s or more", q(bed.Coverage), q(aggregate.Jamming))
	}
	fmt.Fprintf(&b, "holds %s, bed %s high, grain embedded %s%s\n", q(bed.Held), q(bed.Height), q(bed.Embedment), light)
	fmt.Fprintf(&b, "throw %s, vacuum back %s, grout %s\n", q(thrown.Over(w.area)), q(back.Over(w.area)), q(grout.Over(w.area)))

	sections := make([]units.Area, w.sections)
	for i := range sections {
		sections[i] = w.area / units.Area(w.sections)
	}
	bought, left, err := aggregate.Reuse{Held: bed.Held, Retention: retention, Usable: w.usable}.Bought(sections)
	if err != nil {
		return "", bed, err
	}
	fmt.Fprintf(&b, "buy %s when %s of what is vacuumed is thrown again over %d sections; %s left\n", q(bought), q(w.usable), w.sections, q(left))

	crew := aggregate.Throw{Window: w.window.Duration(), Lead: w.lead.Duration(), Spread: w.spreading, Thrower: w.throwing}
	most, err := crew.Most()
	if err != nil {
		return "", bed, err
	}
	if math.IsInf(float64(most), 1) {
		fmt.Fprintf(&b, "throwing keeps up with spreading: no bound on the area in one go\n")
	} else {
		fmt.Fprintf(&b, "spread at most %s in one go, so that the grain falls within %s\n", q(most), q(w.window))
	}

	kit, err := bed.GroutArea(w.kit, w.above)
	after, err2 := bed.Grouted()
	if err := errors.Join(err, err2); err != nil {
		return "", bed, err
	}
	fmt.Fprintf(&b, "one kit of %s grouts %s; voids of %s stay open for a second grout\n", q(w.kit), q(kit), q(after.Open))

	next, err := bed.Next(w.second, grain)
	switch {
	case errors.Is(err, aggregate.ErrStarved):
		fmt.Fprintf(&b, "a second course of %s starves: the open voids take it all\n", q(w.second))
	case err != nil:
		return "", bed, err
	default:
		fmt.Fprintf(&b, "a second course of %s holds %s more and ends %s high\n", q(w.second), q(next.Held), q(bed.Peaks()+next.Peaks()))
	}

	liquid := aggregate.Liquid{Density: w.resin, Viscosity: w.viscosity, Tension: 0.035, Angle: 30}
	pore, err := grain.Pore()
	if err != nil {
		return "", bed, err
	}
	rise, err1 := liquid.RiseTime(pore, bed.Height)
	sink, err2 := liquid.Sink(grain)
	if err := errors.Join(err1, err2); errors.Is(err, units.ErrRange) {
		fmt.Fprintf(&b, "sinking and climbing of this resin: %s\n", strings.ReplaceAll(err.Error(), "\n", "; "))
	} else if sink > 0 {
		fmt.Fprintf(&b, "grain crosses the film in %s; resin climbs the bed in %s: its amount decides what is held\n", seconds(sink.Time(w.film)), seconds(rise))
	} else {
		fmt.Fprintf(&b, "grain floats on this resin; resin climbs the bed in %s\n", seconds(rise))
	}
	if bulk, err := grain.Bulk(); err != nil {
		return "", bed, err
	} else if w.size >= 0.5*units.Millimetre && w.size <= 50*units.Millimetre {
		road := aggregate.SealCoat{Median: w.size, Loose: bulk, Grain: w.density, Traffic: 70 * units.Percent, Residual: 1}
		chips, err1 := road.Chips()
		binder, err2 := road.Binder()
		if err := errors.Join(err1, err2); err != nil {
			return "", bed, err
		}
		fmt.Fprintf(&b, "a road's design lays this grain one deep as %s in %s of binder\n", q(chips), q(binder))
	}
	b.WriteString(graded)
	if err := mixes(&b, w); err != nil {
		return "", bed, err
	}
	return b.String(), bed, nil
}

func seconds(d time.Duration) string { return fmt.Sprintf("%.2g s", d.Seconds()) }

// mixes tells of mortars with one and with two gradings, and of flake.
func mixes(b *strings.Builder, w *wishes) error {
	q := func(x units.Quantity) string { return units.Format(x, w.sys) }
	mortar := aggregate.Mortar{SandToResin: w.sandToResin, SandDensity: w.density, ResinDensity: w.resin, Bulk: w.packing}
	resin, sand, err := mortar.For(w.patch)
	air, err2 := mortar.Air()
	if err := errors.Join(err, err2); err != nil {
		return err
	}
	fmt.Fprintf(b, "a patch of %s of %.3g:1 mortar takes %s of resin and %s of sand, %s air\n", q(w.patch), w.sandToResin, q(resin), q(sand), q(air))

	coarse, fine := aggregate.Portion{Size: w.size, Packing: w.packing}, aggregate.Portion{Size: w.fineSize, Packing: w.packing}
	share, phi, err := aggregate.BestFines(coarse, fine, func(m aggregate.Mix) (units.Fraction, error) { return m.CompressiblePacking(aggregate.Poured) })
	if err != nil {
		return err
	}
	mortar.Bulk = min(phi, 0.8)
	if air, err = mortar.Air(); err != nil {
		return err
	}
	fmt.Fprintf(b, "with %s of %s sand in it the sand packs to %s and that mortar holds %s air\n", q(share), units.Format(w.fineSize, units.SI), q(phi), q(air))

	chip := aggregate.Flake{Thickness: w.flakeThickness, Density: 1500}
	hidden, err := chip.Hidden(w.flake)
	one := units.Pound
	if w.sys == units.SI {
		one = units.Kilogram
	}
	area, err2 := chip.Covers(one)
	full, err3 := chip.Loading(95 * units.Percent)
	if err := errors.Join(err, err2, err3); err != nil {
		return err
	}
	fmt.Fprintf(b, "flake instead: %s hides %s; %s has %s of face; %s hides 95 %%\n", q(w.flake), q(hidden), q(one), q(area), q(full))
	return nil
}

// grading reads "No. 16:100 1/2 in.:40 0.6 mm:0".
func grading(text string) (aggregate.Gradation, error) {
	var g aggregate.Gradation
	rest := strings.TrimSpace(text)
	for rest != "" {
		name, tail, ok := strings.Cut(rest, ":")
		share, after, _ := strings.Cut(strings.TrimSpace(tail), " ")
		v, err := strconv.ParseFloat(strings.TrimSuffix(share, "%"), 64)
		if !ok || err != nil {
			return nil, fmt.Errorf("grading: %q: want a sieve, a colon and the percent that passes, such as No. 16:100", rest)
		}
		var d units.Length
		if s, known := aggregate.FindSieve(name); known {
			d = s.Opening
		} else if err := d.UnmarshalText([]byte(name)); err != nil {
			return nil, fmt.Errorf("grading: %q: want a sieve such as No. 16 or 3/8 in., or an opening such as 1.18 mm", name)
		}
		g = append(g, aggregate.Passing{Opening: d, Share: units.Fraction(v) * units.Percent})
		rest = strings.TrimSpace(after)
	}
	return g, nil
}

// grade tells of a gradation, and takes its middle size.
func grade(g aggregate.Gradation, w *wishes) (string, error) {
	q := func(x units.Quantity) string { return units.Format(x, units.SI) } // sieves are millimetres
	d10, err1 := g.Size(10 * units.Percent)
	d50, err2 := g.Size(50 * units.Percent)
	d90, err3 := g.Size(90 * units.Percent)
	cu, err4 := g.Uniformity()
	cc, err5 := g.Curvature()
	fm, err6 := g.FinenessModulus()
	for _, err := range []error{err1, err2, err3, err4, err5, err6} {
		if err != nil {
			return "", err
		}
	}
	w.size = d50
	return fmt.Sprintf("grading: D10 %s, D50 %s, D90 %s, Cu %.2f, Cc %.2f, fineness modulus %.2f\n", q(d10), q(d50), q(d90), cu, cc, fm), nil
}
