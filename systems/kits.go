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
	names, sizes, priced := m.sizes()
	var c coverage.Cover
	var err error
	if m.Whole {
		c = wholes(p.batchesOf(l), sizes)
	} else if c, err = coverage.Cheapest([]units.Volume{l.Volume}, sizes, true); errors.Is(err, coverage.ErrHardCover) {
		p.find(Finding{Key: "kits-not-proved", Severity: Note, Found: Amount{l.Volume}, Owner: "this plan", Limit: l.Material})
		c, err = plainCover(l.Volume, sizes)
	}
	if err != nil {
		return err
	}
	l.Unit, l.Units = "kit", 0
	var all units.Volume
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
			l.Price += k.Price
		}
		l.Kits = append(l.Kits, k)
		l.Units += n
		all += k.Volume * units.Volume(n)
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
