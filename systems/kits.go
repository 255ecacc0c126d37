package systems

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// A KitSize is one of several kits that a liquid is sold in.
type KitSize struct {
	Volume Value[units.Volume] `toml:"volume"` // mixed
	Price  float64             `toml:"price"`  // of a kit, in the money of the job; 0 if not known
	Case   int64               `toml:"case"`   // kits sold together; 0 is 1
}

// A KitLine is how many kits of one size to buy.
type KitLine struct {
	Name   string       `json:"name,omitempty"` // "" of a material's only size
	Volume units.Volume `json:"volume"`         // of one
	N      int          `json:"n"`
	Cases  int          `json:"cases,omitempty"` // where they are sold in cases of several
	Price  float64      `json:"price,omitempty"` // of all N
}

// checkKits looks at the kits of a liquid.
func (m *Material) checkKits(bad func(key, format string, args ...any)) {
	if len(m.Kits) > 8 {
		bad("kits", "found %d sizes: want at most 8", len(m.Kits))
	}
	priced, usual := 0, false
	for _, name := range slices.Sorted(maps.Keys(m.Kits)) {
		k, at := m.Kits[name], "kits."+name
		if !(k.Volume.Q >= 1e-6 && k.Volume.Q <= 2) {
			bad(at+".volume", "found %q: want 1 mL to 2 m3", k.Volume.Text)
		}
		if !(k.Price >= 0 && k.Price <= 1e9) {
			bad(at+".price", "found %v: want 0 (not known) to 1000000000", k.Price)
		}
		if k.Case < 0 || k.Case > 1e6 {
			bad(at+".case", "found %d: want 0 to 1000000", k.Case)
		}
		if k.Price > 0 {
			priced++
		}
		usual = usual || units.Compare(k.Volume.Q, m.Kit.Q) == 0
	}
	switch {
	case priced > 0 && priced < len(m.Kits):
		bad("kits", "found %d of %d sizes with a price: want it of all, or of none", priced, len(m.Kits))
	case len(m.Kits) > 0 && !usual:
		bad("kit", "found %q, which is none of the sizes in kits: want the usual one of them", m.Kit.Text)
	}
}

// sizes lists the kits of a liquid, largest first: its kits, or its only kit.
// Without prices each costs as much as it holds, so that the cheapest cover is
// the one that leaves the least.
func (m *Material) sizes() (names []string, sizes []coverage.Size, priced bool) {
	if len(m.Kits) == 0 {
		return []string{""}, []coverage.Size{{Kit: m.Kit.Q, Price: float64(m.Kit.Q)}}, false
	}
	names = slices.Sorted(maps.Keys(m.Kits))
	slices.SortStableFunc(names, func(a, b string) int { return -units.Compare(m.Kits[a].Volume.Q, m.Kits[b].Volume.Q) })
	for _, name := range names {
		k := m.Kits[name]
		z := coverage.Size{Kit: k.Volume.Q, Price: k.Price, Case: int(k.Case)}
		if priced = k.Price > 0; !priced {
			z.Price = float64(z.Kit)
		}
		sizes = append(sizes, z)
	}
	return names, sizes, priced
}

// wholeKit returns the largest kit that is no larger than a batch may be, or
// the smallest there is.
func (m *Material) wholeKit(largest units.Volume) units.Volume {
	_, sizes, _ := m.sizes()
	for _, z := range sizes {
		if z.Kit <= largest*(1+1e-9) {
			return z.Kit
		}
	}
	return sizes[len(sizes)-1].Kit
}

// cover buys kits for a liquid's needs: the cheapest, or without prices those
// that leave the least, and of equal ones the larger. Kits may be opened and
// measured out in parts for several steps, unless the material says that they
// are mixed whole: then each batch is a kit.
func (p *planner) cover(m *Material, l *OrderLine) error {
	var err error
	proved := true
	if m.Whole {
		_, sizes, _ := m.sizes()
		l.Kits = m.kitLines(wholes(p.batchesOf(l), sizes))
	} else if l.Kits, proved, err = m.kitsFor(l.Volume); err != nil {
		return err
	}
	if !proved {
		p.find(Finding{Key: "kits-not-proved", Severity: Note, Found: Amount{l.Volume}, Owner: "this plan", Limit: l.Material})
	}
	l.Unit, l.Units = "kit", 0
	var all units.Volume
	for _, k := range l.Kits {
		l.Price += k.Price
		if p.j.prices != nil && l.Price > 0 {
			l.Currency = p.j.prices.Currency
		}
		l.Units += k.N
		all += k.Volume * units.Volume(k.N)
		l.UnitVolume = max(l.UnitVolume, k.Volume)
	}
	if l.UnitVolume == 0 {
		l.UnitVolume = m.Kit.Q
	}
	l.LeftVolume = max(0, all-l.Volume) // a need covered but for a billionth leaves nothing
	if l.Units > 0 {
		l.Parts, err = parts(m, all)
	}
	return err
}

// kitsFor returns the cheapest kits that cover a need, opened and measured out in
// parts; proved is false where the search was ended, and the largest alone cover it.
func (m *Material) kitsFor(need units.Volume) (kits []KitLine, proved bool, err error) {
	_, sizes, _ := m.sizes()
	c, err := coverage.Cheapest([]units.Volume{need}, sizes, true)
	if proved = !errors.Is(err, coverage.ErrHardCover); !proved {
		c, err = plainCover(need, sizes)
	}
	return m.kitLines(c), proved, err
}

// kitLines lists what a cover buys, largest first.
func (m *Material) kitLines(c coverage.Cover) (all []KitLine) {
	names, sizes, priced := m.sizes()
	for i, n := range c.Kits {
		if n == 0 {
			continue
		}
		k := KitLine{Name: names[i], Volume: sizes[i].Kit, N: n}
		if sizes[i].Case > 1 {
			k.Cases = c.Cases[i]
		}
		if priced {
			k.Price = sizes[i].Price * float64(n)
		}
		all = append(all, k)
	}
	return all
}

// KitsFor returns the kits of a material, by id@version, that the plan would buy
// for a need: the cheapest that cover it, or without prices those that leave the
// least. Of kits that are mixed whole need is what those batches hold, of the
// sizes that the plan mixes; then kits of several sizes are the cheapest of them.
// It is an error for a material that the plan takes no liquid of.
func (w *Working) KitsFor(material string, need units.Volume) ([]KitLine, error) {
	m := w.liquid(material)
	if m == nil {
		return nil, fmt.Errorf("systems.Working.KitsFor: found %q: want a liquid of the plan", material)
	}
	if m.Whole && len(m.Kits) > 0 { // only what its batches are
		only := *m
		only.Kits = maps.Clone(m.Kits)
		maps.DeleteFunc(only.Kits, func(_ string, k KitSize) bool {
			return !slices.ContainsFunc(w.Takings, func(t Taking) bool { return t.Need.Material == material && t.Batch == k.Volume.Q })
		})
		m = &only
	}
	kits, _, err := m.kitsFor(need)
	return kits, err
}

// Kits lists the kits that a liquid of the plan is sold in, one of each and the
// largest first; none of what is no liquid of the plan.
func (w *Working) Kits(material string) (all []KitLine) {
	m := w.liquid(material)
	if m == nil {
		return nil
	}
	names, sizes, priced := m.sizes()
	for i, z := range sizes {
		k := KitLine{Name: names[i], Volume: z.Kit, N: 1}
		if priced {
			k.Price = z.Price
		}
		all = append(all, k)
	}
	return all
}

func (w *Working) liquid(material string) *Material {
	for i := range w.Takings {
		if t := &w.Takings[i]; t.Need.Material == material && t.Material.Kind == "liquid" {
			return &t.Material
		}
	}
	return nil
}

// KitsIn says kits in a few words, such as "1x15 + 2x3 gal".
func KitsIn(kits []KitLine, s units.System) string {
	var parts []string
	last := ""
	for _, k := range slices.Backward(kits) {
		text := units.Format(k.Volume, s)
		at := strings.LastIndex(text, " ") + 1
		number, unit := strings.TrimSpace(text[:at]), text[at:]
		part := fmt.Sprintf("%dx%s", k.N, number)
		if unit != last {
			part += " " + unit
		}
		parts, last = append(parts, part), unit
	}
	slices.Reverse(parts)
	return strings.Join(parts, " + ")
}

// mixed are the batches of one step of a liquid, all alike.
type mixed struct {
	n    int
	each units.Volume
}

// batchesOf lists the batches of the steps that an order is for.
func (p *planner) batchesOf(l *OrderLine) (all []mixed) {
	for _, id := range l.Steps {
		if n := p.needs[id]; n.Batches != nil {
			all = append(all, mixed{n.Batches.N, n.Batches.Each})
		}
	}
	return all
}

// wholes counts the batches of a liquid whose kits are mixed whole.
func wholes(batches []mixed, sizes []coverage.Size) coverage.Cover {
	c := coverage.Cover{Kits: make([]int, len(sizes)), Cases: make([]int, len(sizes))}
	for _, b := range batches {
		for i, z := range sizes {
			if z.Kit == b.each {
				c.Kits[i] += b.n
				break
			}
		}
	}
	for i, z := range sizes {
		per := max(z.Case, 1)
		c.Cases[i] = (c.Kits[i] + per - 1) / per
		c.Kits[i] = c.Cases[i] * per
	}
	return c
}

// plainCover covers a need with the largest size alone.
func plainCover(need units.Volume, sizes []coverage.Size) (coverage.Cover, error) {
	c := coverage.Cover{Kits: make([]int, len(sizes)), Cases: make([]int, len(sizes))}
	per := max(sizes[0].Case, 1)
	n, err := coverage.Kits(need, sizes[0].Kit*units.Volume(per))
	c.Cases[0], c.Kits[0] = n, n*per
	return c, err
}

// kitsText says what sizes there are.
func kitsText(names []string, sizes []coverage.Size, priced bool) string {
	texts := make([]string, len(sizes))
	for i, z := range sizes {
		texts[i] = strings.TrimSpace(names[i] + " " + z.Kit.String())
		if priced {
			texts[i] += fmt.Sprintf(" at %g", z.Price)
		}
		if z.Case > 1 {
			texts[i] += fmt.Sprintf(" in cases of %d", z.Case)
		}
	}
	return strings.Join(texts, ", ")
}
