package systems

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
)

// Bases counts figures by how they are known.
func Bases(figures []Figure) map[Basis]int {
	n := map[Basis]int{}
	for _, f := range figures {
		n[f.Basis]++
	}
	return n
}

// Share says in one sentence how many of the plan's figures nobody published or
// measured, or "" if there are none.
func (o *Outcome) Share() string {
	n := Bases(o.Figures)
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

// Figures lists every figure of the newest version of each material, recipe,
// limit, grit, profile, medium, fuel, heater, envelope, film, layer and scatter, as a name
// without a version leads to it, with its basis and where it comes from, in a
// fixed order.
func (c *Catalog) Figures() []Figure {
	var all []Figure
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
			all = append(all, figuresOf(m.ID+"@"+m.Version+" ", m.origins())...)
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
		all = append(all, figuresOf(r.ID+"@"+r.Version+" ", own)...)
		for _, id := range r.order {
			s := r.Steps[id]
			var step origins
			step.add("slab", s.Slab.text(), s.Slab.Origin)
			for _, o := range slices.Sorted(maps.Keys(s.Options)) {
				step.add("options."+o+".film", s.Options[o].Film.Text, s.Options[o].Film.Origin)
			}
			all = append(all, figuresOf(r.ID+"@"+r.Version+" "+id+" ", append(s.figures(), step...))...)
		}
	})
	for _, id := range c.LimitIDs() {
		l := c.limits[id]
		all = append(all, Figure{Where: "limit " + id, Text: l.Value, Origin: Origin{Basis: l.Basis, Source: l.Source, At: l.At, Note: l.Note}})
	}
	for _, key := range sortedGrits(c.grits) {
		g := c.grits[key]
		var own origins
		own.add("size", g.Size.Text, g.Size.Origin)
		own.add("scratch", g.Scratch.Text, g.Scratch.Origin)
		all = append(all, figuresOf("grit "+key+" ", own)...)
	}
	all = append(append(all, c.prep.figures()...), c.heat.figures()...)
	for _, id := range c.Scatters() {
		s := c.scatter[id]
		all = append(all, s.Figure())
	}
	return all
}

// figures lists those of the bands, profiles and media.
func (p *preparation) figures() []Figure {
	var all []Figure
	for _, b := range p.bands {
		all = append(all, b.figure())
	}
	var own origins
	for n := range 10 {
		if x, ok := p.profiles[strconv.Itoa(n+1)]; ok {
			own.add(fmt.Sprintf("profile CSP %d method", n+1), x.Method, Origin{Basis: x.Basis, Source: x.Source, At: x.At, Note: x.Note})
		}
	}
	for _, id := range slices.Sorted(maps.Keys(p.media)) {
		m := p.media[id]
		own.add("medium "+id+" size", m.Size.Text, m.Size.Origin)
		if m.Most > 0 {
			own.add("medium "+id+" profile", fmt.Sprintf("CSP %d to %d", m.Least, m.Most), Origin{Basis: m.Basis, Source: m.Source, At: m.At, Note: m.Note})
		}
	}
	return append(all, figuresOf("", own)...)
}

// figures lists those of heat.
func (h *heat) figures() []Figure {
	all := slices.Concat(byKey(h.fuels), byKey(h.heaters), byKey(h.envelopes), byKey(h.films), byKey(h.layers))
	return figuresOf("", all)
}

// byKey lists the figures of entries, by key.
func byKey[T any, P interface {
	*T
	figures() origins
}](m map[string]T) (all origins) {
	for _, key := range slices.Sorted(maps.Keys(m)) {
		x := m[key]
		all = append(all, P(&x).figures()...)
	}
	return all
}

// Sources lists the documents that published figures, by key.
func (c *Catalog) Sources() map[string]Source { return maps.Clone(c.sources) }

// Source returns the document of that key, and whether there is one.
func (c *Catalog) Source(key string) (Source, bool) {
	s, ok := c.sources[key]
	return s, ok
}
