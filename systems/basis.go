package systems

import (
	"maps"
	"slices"
	"strings"
)

// Figures lists every figure of the newest version of each material, recipe,
// limit, grit, profile and medium, with its basis and where it comes from, in
// a fixed order. Those of heat are not in it.
func (c *Catalog) Figures() []Figure {
	var all []Figure
	put := func(of string, figures origins) {
		for _, o := range figures {
			all = append(all, Figure{Where: of + " " + o.where, Text: o.text, Origin: o.Origin})
		}
	}
	latest := func(names []string, f func(id string)) {
		last := ""
		for _, name := range names { // sorted: the versions of an id stand together
			if id, _, _ := strings.Cut(name, "@"); id != last {
				f(id)
				last = id
			}
		}
	}
	latest(c.Materials(), func(id string) {
		if m, err := c.Material(id); err == nil {
			put(m.ID+"@"+m.Version, m.origins())
		}
	})
	latest(c.Recipes(), func(id string) {
		r, err := c.Recipe(id)
		if err != nil {
			return
		}
		var own origins
		own.add("build", r.Build.text(), r.Build.Origin)
		own.add("relief", r.Relief.Text, r.Relief.Origin)
		put(r.ID+"@"+r.Version, own)
		for _, step := range r.order {
			s := r.Steps[step]
			put(r.ID+"@"+r.Version+" "+step, s.figures())
			for _, name := range slices.Sorted(maps.Keys(s.Options)) {
				o := s.Options[name]
				var film origins
				film.add("film", o.Film.Text, o.Film.Origin)
				put(r.ID+"@"+r.Version+" "+step+" "+name, film)
			}
		}
	})
	for _, id := range c.LimitIDs() {
		l := c.limits[id]
		all = append(all, Figure{Where: "limit " + id, Text: l.Value, Origin: Origin{Basis: l.Basis, Source: l.Source, At: l.At, Note: l.Note}})
	}
	for _, g := range sortedGrits(c.grits) {
		var own origins
		own.add("size", c.grits[g].Size.Text, c.grits[g].Size.Origin)
		own.add("scratch", c.grits[g].Scratch.Text, c.grits[g].Scratch.Origin)
		put("grit "+g, own)
	}
	for _, b := range c.prep.bands {
		all = append(all, b.figure())
	}
	for _, id := range slices.Sorted(maps.Keys(c.prep.media)) {
		var own origins
		own.add("size", c.prep.media[id].Size.Text, c.prep.media[id].Size.Origin)
		put("medium "+id, own)
	}
	return all
}

// Sources lists the documents that published figures, by key.
func (c *Catalog) Sources() map[string]Source { return maps.Clone(c.sources) }

// Bases counts figures by how they are known.
func Bases(figures []Figure) map[Basis]int {
	n := map[Basis]int{}
	for _, f := range figures {
		n[f.Basis]++
	}
	return n
}
