package systems

import (
	"fmt"
	"maps"
	"slices"
)

// Bases counts the plan's figures by how they are known.
func (o *Outcome) Bases() map[Basis]int {
	n := map[Basis]int{}
	for _, f := range o.Figures {
		n[f.Basis]++
	}
	return n
}

// Share says in one sentence how many of the plan's figures nobody published or
// measured, or "" if there are none.
func (o *Outcome) Share() string {
	n := o.Bases()
	if loose := n[Illustrative] + n[CommonPractice]; loose > 0 {
		are := "are"
		if loose == 1 {
			are = "is"
		}
		return fmt.Sprintf("%d of %d figures %s illustrative or common practice: replace them by your product's sheet.", loose, len(o.Figures), are)
	}
	return ""
}

// Figures lists the figures of m that were given, in a fixed order, each with
// where it comes from.
func (m *Material) Figures() []Figure { return figuresOf("", m.origins()) }

func figuresOf(where string, all []origin) []Figure {
	out := make([]Figure, len(all))
	for i, o := range all {
		out[i] = Figure{Where: where + o.where, Text: o.text, Origin: o.Origin}
	}
	return out
}

// Figures lists every figure of the catalog, older versions too, in a fixed
// order: materials, recipes, limits, marks and heat.
func (c *Catalog) Figures() []Figure {
	var all []Figure
	for _, key := range slices.Sorted(maps.Keys(c.materials)) {
		m := c.materials[key]
		all = append(all, figuresOf(key+" ", m.origins())...)
	}
	for _, key := range slices.Sorted(maps.Keys(c.recipes)) {
		r := c.recipes[key]
		var own origins
		own.add("build", r.Build.text(), r.Build.Origin)
		own.add("relief", r.Relief.Text, r.Relief.Origin)
		all = append(all, figuresOf(key+" ", own)...)
		for _, id := range r.order {
			s := r.Steps[id]
			var step origins
			step.add("slab", s.Slab.text(), s.Slab.Origin)
			for _, o := range slices.Sorted(maps.Keys(s.Options)) {
				step.add("options."+o+".film", s.Options[o].Film.Text, s.Options[o].Film.Origin)
			}
			all = append(all, figuresOf(key+" "+id+" ", append(s.figures(), step...))...)
		}
	}
	for _, s := range c.sets {
		for _, key := range s.order {
			l := s.limits[key]
			all = append(all, Figure{Where: "limit " + key + "@" + s.Version, Text: l.Value, Origin: Origin{Basis: l.Basis, Source: l.Source, At: l.At, Note: l.Note}})
		}
		for _, key := range slices.Sorted(maps.Keys(s.grits)) {
			g := s.grits[key]
			var own origins
			own.add("size", g.Size.Text, g.Size.Origin)
			own.add("scratch", g.Scratch.Text, g.Scratch.Origin)
			all = append(all, figuresOf("grit "+key+"@"+s.Version+" ", own)...)
		}
		all = append(all, s.heat.figures(s.Version)...)
	}
	return all
}

// figures lists those of one file of heat.
func (h *heat) figures(version string) []Figure {
	var all origins
	add := func(kind, key, what, text string, o Origin) { all.add(kind+" "+key+"@"+version+" "+what, text, o) }
	for _, key := range slices.Sorted(maps.Keys(h.fuels)) {
		f := h.fuels[key]
		add("fuel", key, "hhv", f.HHV.Text, f.HHV.Origin)
		add("fuel", key, "lhv", f.LHV.Text, f.LHV.Origin)
		add("fuel", key, "water", f.Water.Text, f.Water.Origin)
		add("fuel", key, "co2", f.CO2.Text, f.CO2.Origin)
		add("fuel", key, "density", f.Density.Text, f.Density.Origin)
	}
	for _, key := range slices.Sorted(maps.Keys(h.heaters)) {
		add("heater", key, "efficiency", h.heaters[key].Efficiency.Text, h.heaters[key].Efficiency.Origin)
	}
	for _, key := range slices.Sorted(maps.Keys(h.envelopes)) {
		e := h.envelopes[key]
		add("envelope", key, "walls", e.Walls.Text, e.Walls.Origin)
		add("envelope", key, "roof", e.Roof.Text, e.Roof.Origin)
		add("envelope", key, "air_changes", e.AirChanges.Text, e.AirChanges.Origin)
	}
	for _, key := range slices.Sorted(maps.Keys(h.films)) {
		add("film", key, "film", h.films[key].Film.Text, h.films[key].Film.Origin)
	}
	for _, key := range slices.Sorted(maps.Keys(h.layers)) {
		l := h.layers[key]
		add("layer", key, "conductivity", l.Conductivity.Text, l.Conductivity.Origin)
		add("layer", key, "density", l.Density.Text, l.Density.Origin)
		add("layer", key, "heat", l.Heat.Text, l.Heat.Origin)
	}
	return figuresOf("", all)
}

// Sources lists the keys of the documents that figures are published in.
func (c *Catalog) Sources() []string { return slices.Sorted(maps.Keys(c.sources)) }

// Source returns the document of that key, and whether there is one.
func (c *Catalog) Source(key string) (Source, bool) {
	s, ok := c.sources[key]
	return s, ok
}
