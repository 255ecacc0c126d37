package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// A coat is what the flags say.
type coat struct {
	dry, primer, scratch, allowed         units.Length
	solids, thinner, seals                units.Fraction
	area                                  units.Area
	kit, used                             units.Volume
	voc, vocThinner, limit                units.Density
	causes                                coverage.Causes
	kits, room, holes, joint, base, parts string
	readings, rule, comb                  string
	more
}

// answers writes a line for each question.
func (c *coat) answers(s units.System) (string, error) {
	var text strings.Builder
	var total units.Volume
	for _, line := range []func(units.System) (string, error){c.film, func(s units.System) (string, error) {
		t, err := c.causes.Tell(c.area, c.dry, c.solids)
		if err != nil {
			return "", err
		}
		total = t.Total
		return c.order(s, t)
	}, func(s units.System) (string, error) { return c.cheapest(s, total) },
		c.thinned(&total), c.layers, c.measure, c.sample, c.fill, c.cove, c.mix, c.marks, c.wet, c.judge, c.crew, c.achieved, c.volatiles,
		c.solidsOf, c.pores, c.class, c.shapes, c.cuts, c.air} {
		t, err := line(s)
		if err != nil {
			return "", err
		}
		text.WriteString(t)
	}
	return text.String(), nil
}

func (c *coat) film(s units.System) (string, error) {
	wet, err := coverage.WetFilm(c.dry, c.solids, c.thinner)
	if err != nil {
		return "", err
	}
	spread, err := coverage.SpreadRate(c.dry, c.solids)
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("wet film %s, without losses %s\n", units.Format(wet, s), units.Format(spread, s)), nil
}

func (c *coat) order(s units.System, t coverage.Tally) (string, error) {
	n, err := coverage.Kits(t.Total, c.kit)
	if err != nil {
		return "", err
	}
	more := ""
	if t.Edges+t.Faces+t.Texture > 0 {
		more = fmt.Sprintf(", edges %s, faces %s, crust %s", units.Format(t.Edges, s), units.Format(t.Faces, s), units.Format(t.Texture, s))
	}
	return fmt.Sprintf("order %s for %s: %d kits of %s\nof it film %s, texture %s, pores %s, tools %s, buckets %s, waste %s%s\n",
		units.Format(t.Total, s), units.Format(c.area, s), n, units.Format(c.kit, s), units.Format(t.Film, s), units.Format(t.Profile, s),
		units.Format(t.Uptake, s), units.Format(t.Tools, s), units.Format(t.Residue, s), units.Format(t.Waste, s), more), nil
}

func (c *coat) thinned(total *units.Volume) func(units.System) (string, error) {
	return func(s units.System) (string, error) {
		if c.thinner == 0 {
			return "", nil
		}
		return fmt.Sprintf("spread and order are of the liquid before thinning; thinner %s\n", units.Format(*total*units.Volume(c.thinner), s)), nil
	}
}

func (c *coat) cheapest(s units.System, need units.Volume) (string, error) {
	var sizes []coverage.Size
	for _, one := range list(c.kits) {
		kit, price, _ := strings.Cut(one, "=")
		var z coverage.Size
		if err := z.Kit.UnmarshalText([]byte(strings.TrimSpace(kit))); err != nil {
			return "", err
		}
		if err := number("-kits: price", price, &z.Price); err != nil {
			return "", err
		}
		sizes = append(sizes, z)
	}
	if len(sizes) == 0 {
		return "", nil
	}
	needs := []units.Volume{need}
	if c.whole && c.causes.Batch > 0 { // kits are not opened in part: each batch has its own
		n, each, err := coverage.Batches(need, c.causes.Batch)
		if err != nil {
			return "", err
		}
		needs = slices.Repeat([]units.Volume{each}, n)
	}
	cover, err := coverage.Cheapest(needs, sizes, !c.whole)
	if err != nil {
		return "", err
	}
	var kits []string
	for i, n := range cover.Kits {
		if n > 0 {
			kits = append(kits, fmt.Sprintf("%d of %s", n, units.Format(sizes[i].Kit, s)))
		}
	}
	how := ""
	if c.whole {
		how = ", each batch of whole kits"
	}
	return fmt.Sprintf("cheapest: %s for %.2f, %s left%s\n", strings.Join(kits, ", "), cover.Price, units.Format(cover.Left, s), how), nil
}

func (c *coat) layers(s units.System) (string, error) {
	if c.primer == 0 {
		return "", nil
	}
	on := coverage.Surface{Profile: c.causes.Profile, Uptake: c.causes.Uptake}
	n, err := coverage.Layers(c.area, on, []coverage.Coat{{Name: "primer", Dry: c.primer, Solids: 1, Seals: c.seals, Waste: c.causes.Waste},
		{Name: "coat", Dry: c.dry, Solids: c.solids, Thinner: c.thinner, Waste: c.causes.Waste}})
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("over a primer of 100 %% solids (%s, %s) the coat takes %s and builds %s\n",
		units.Format(c.primer, s), units.Format(n[0].Order, s), units.Format(n[1].Order, s), units.Format(n[1].Built, s)), nil
}

func (c *coat) measure(s units.System) (string, error) {
	if c.room == "" {
		return "", nil
	}
	var lines []coverage.Line
	for i, one := range append([]string{c.room}, list(c.holes)...) {
		l, err := sides(one, 2)
		if err != nil {
			return "", err
		}
		lines = append(lines, coverage.Line{Name: one, Shape: coverage.Rectangle{Length: l[0], Width: l[1]}, Deduct: i > 0})
	}
	f, err := coverage.TakeOff(lines)
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("floor of %s less %s: %s, edges %s\n", c.room, units.Format(f.Deducted, s), units.Format(f.Area, s), units.Format(f.Edge, s)), nil
}

func (c *coat) fill(s units.System) (string, error) {
	if c.joint == "" {
		return "", nil
	}
	l, err := sides(c.joint, 3)
	if err != nil {
		return "", err
	}
	square, err := coverage.Joint{Length: l[0], Width: l[1], Depth: l[2]}.Fill()
	if err != nil {
		return "", err
	}
	vee, err := coverage.VCut{Length: l[0], Width: l[1], Depth: l[2]}.Fill()
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("joint of %s: %s, cut to a V %s\n", c.joint, units.Format(square, s), units.Format(vee, s)), nil
}

func (c *coat) cove(s units.System) (string, error) {
	if c.base == "" {
		return "", nil
	}
	l, err := sides(c.base, 3)
	if err != nil {
		return "", err
	}
	b := coverage.CoveBase{Length: l[0], Height: l[1], Radius: l[2]}
	face, err := b.Face()
	if err != nil {
		return "", err
	}
	lost, err := b.FloorLost()
	if err != nil {
		return "", err
	}
	mortar, err := b.Fillet()
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("cove base of %s: face %s, mortar behind it %s, floor less by %s\n", c.base, units.Format(face, s), units.Format(mortar, s), units.Format(lost, s)), nil
}

func (c *coat) mix(s units.System) (string, error) {
	var m coverage.Mix
	for i, one := range list(c.parts) {
		ratio, density, _ := strings.Cut(one, " x ")
		p := coverage.Part{Name: string(rune('A' + i%26))}
		if err := number("-parts: ratio", ratio, &p.Ratio); err != nil {
			return "", err
		}
		if err := p.Density.UnmarshalText([]byte(strings.TrimSpace(density))); err != nil {
			return "", err
		}
		m.Parts = append(m.Parts, p)
	}
	if len(m.Parts) == 0 {
		return "", nil
	}
	d, err := m.Density()
	if err != nil {
		return "", err
	}
	phr, err := m.PerHundred()
	if err != nil {
		return "", err
	}
	by := make([]string, len(phr))
	for i, v := range phr {
		by[i] = fmt.Sprintf("%.4g", v)
	}
	filled, err := c.filled(s, m)
	return fmt.Sprintf("mix of %s, by mass %s\n", units.Format(d, s), strings.Join(by, " : ")) + filled, err
}

func (c *coat) marks(s units.System) (string, error) {
	if c.scratch == 0 {
		return "", nil
	}
	m, err := coverage.Telegraph(c.scratch, c.allowed, []coverage.Coat{{Name: "coat", Dry: c.dry, Solids: c.solids, Thinner: c.thinner}})
	if err != nil {
		return "", err
	}
	word := "hides"
	switch {
	case !m[0].Flooded:
		word = "does not flood it"
	case m[0].Shows:
		word = "may show it"
	}
	return fmt.Sprintf("scratch of %s: the coat %s; levelled it leaves %s\n", units.Format(c.scratch, s), word, units.Format(m[0].Relief, s)), nil
}

func (c *coat) achieved(s units.System) (string, error) {
	if c.used == 0 {
		return "", nil
	}
	b, err := coverage.Achieved(c.area, c.used, c.solids, coverage.Loss{Waste: c.causes.Waste, Profile: c.causes.Profile, Uptake: c.causes.Uptake})
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("%s used on %s: %s, mean dry film %s\n", units.Format(c.used, s), units.Format(c.area, s), units.Format(b.Spread, s), units.Format(b.Dry, s)), nil
}

func (c *coat) volatiles(s units.System) (string, error) {
	coating, err := coverage.VolatilesOf(1, c.voc)
	if err != nil {
		return "", err
	}
	thinner, err := coverage.VolatilesOf(units.Volume(c.thinner), c.vocThinner)
	if err != nil {
		return "", err
	}
	ok, got, err := coverage.VOCLimit{Owner: "yours", Most: c.limit}.Met(coating.Plus(thinner))
	if err != nil {
		return "", err
	}
	word := "above"
	if ok {
		word = "within"
	}
	return fmt.Sprintf("volatile compounds as applied %s: %s the limit of %s; local rules decide\n", content(got, s), word, content(c.limit, s)), nil
}

// content writes compounds per volume as rules do.
func content(d units.Density, s units.System) string {
	if s == units.SI {
		return fmt.Sprintf("%.0f g/L", float64(d))
	}
	return fmt.Sprintf("%.2f lb/gal", float64(d/units.PoundPerGallon))
}
