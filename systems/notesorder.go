package systems

import (
	"slices"
	"strconv"
	"strings"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// noteOrder says of each line of the order what is needed, what is bought for it
// and what is left over.
func (p *planner) noteOrder(n notes) {
	for i := range p.o.Order {
		l := &p.o.Order[i]
		at := "order." + l.Material + "."
		m := p.ordered(l)
		if m == nil || !p.noteOrdered(n, at, l) {
			continue // a step whose need is not explained
		}
		var whole note
		if l.UnitVolume > 0 {
			whole = p.noteKits(n, at, l, m)
		} else {
			whole = noteBags(n, at, l, m)
		}
		n[at+l.Unit+"s"] = whole
		for _, id := range l.Steps { // of all the steps that take the material
			if x := p.material(id); x.ID+"@"+x.Version == l.Material {
				n["steps."+id+"."+l.Unit+"s"] = whole
			}
		}
	}
}

// ordered returns the material of a line, as the plan has it.
func (p *planner) ordered(l *OrderLine) *Material {
	for _, id := range l.Steps {
		for _, name := range []string{p.step(id).Material, p.step(id).Sand} {
			if x, ok := p.materials[name]; ok && x.ID+"@"+x.Version == l.Material {
				return x
			}
		}
	}
	return nil
}

// noteOrdered adds up what the steps need of a line; it is false if one's need
// is not explained.
func (p *planner) noteOrdered(n notes, at string, l *OrderLine) bool {
	var terms []string
	var in []arg
	for _, id := range l.Steps {
		name, path := "sand of "+id, "steps."+id+".sand"
		switch {
		case l.UnitVolume > 0:
			name, path = "need of "+id, "steps."+id+".gross"
		case p.step(id).Does == Broadcast:
			name, path = "bought for "+id, "steps."+id+".bought"
		}
		if _, ok := n[path]; !ok {
			return false
		}
		terms, in = append(terms, name), append(in, of(name, path))
	}
	total := note{name: "need of " + l.Name, value: l.Mass, formula: strings.Join(terms, " + "), in: in}
	if l.UnitVolume > 0 {
		total.value = l.Volume
	}
	n[at+"need"] = total
	return true
}

// noteBags says how many bags cover what is needed.
func noteBags(n notes, at string, l *OrderLine, m *Material) note {
	one := fromMaterial(m, "bag", m.Bag)
	n[at+"unit"] = note{given: &one, value: one.value}
	if l.LeftMass > 0 { // a need covered but for a billionth leaves nothing
		n[at+"left"] = note{name: "left over of " + l.Name, value: l.LeftMass, formula: "bags * bag - need", in: []arg{of("bags", at+"bags"), one, of("need", at+"need")}}
	}
	return note{name: "bags of " + l.Name, value: l.Units, formula: "need by one bag, rounded up to whole ones", in: []arg{of("need", at+"need"), one}, by: func(x map[string]float64) (float64, error) {
		k, err := coverage.Kits(units.Mass(x["need"]), units.Mass(x["bag"]))
		return float64(k), err
	}}
}

// noteKits says which kits cover what is needed of a liquid, of each size, and
// what they hold and cost together.
func (p *planner) noteKits(n notes, at string, l *OrderLine, m *Material) note {
	names, sizes, priced := m.sizes()
	choice, cover := p.kitsBy(at, l, m)
	whole := choice
	whole.name, whole.value = "kits of "+l.Name, l.Units
	whole.by = func(x map[string]float64) (float64, error) {
		sum := 0
		c, err := cover(x)
		for _, k := range c.Kits {
			sum += k
		}
		return float64(sum), err
	}
	bought := note{name: "bought of " + l.Name}
	price := note{name: "price of " + l.Name, value: l.Price}
	largest := note{name: "largest kit of " + l.Name, value: l.UnitVolume, formula: "the largest that is bought", by: func(x map[string]float64) (float64, error) {
		most := 0.0
		for _, v := range x {
			most = max(most, v)
		}
		return most, nil
	}}
	var terms, prices []string
	var all units.Volume
	for i, k := range l.Kits {
		key, size := at+"kits."+strconv.Itoa(i)+".", slices.Index(names, k.Name)
		kit, count := strings.TrimSpace("kit "+k.Name), strings.TrimSpace("kits "+k.Name)
		one := fromMaterial(m, kit, m.Kit)
		if len(m.Kits) > 0 {
			one = fromMaterial(m, kit, m.Kits[k.Name].Volume)
		}
		x := choice
		x.name, x.value = count+" of "+l.Name, k.N
		x.by = func(x map[string]float64) (float64, error) {
			c, err := cover(x)
			if err != nil {
				return 0, err
			}
			return float64(c.Kits[size]), nil
		}
		n[key+"n"], n[key+"volume"] = x, note{given: &one, value: k.Volume}
		terms, bought.in = append(terms, count+" * "+kit), append(bought.in, of(count, key+"n"), of(kit, key+"volume"))
		all += k.Volume * units.Volume(k.N)
		largest.in = append(largest.in, of(kit, key+"volume"))
		stated := Origin{Basis: FromJob, Note: "of the job, or of the supplier's sheet"}
		if k.Cases > 0 {
			n[key+"cases"] = note{name: "cases of " + kit + " of " + l.Name, value: k.Cases, formula: count + " / in a case", in: []arg{of(count, key+"n"), {name: "in a case", value: sizes[size].Case, origin: stated}}}
		}
		if priced {
			n[key+"price"] = note{name: "price of " + count + " of " + l.Name, value: k.Price, formula: count + " * price of one", in: []arg{of(count, key+"n"), {name: "price of one", value: sizes[size].Price, origin: stated}}}
			prices, price.in = append(prices, "price of "+count), append(price.in, of("price of "+count, key+"price"))
		}
	}
	if len(l.Kits) == 0 { // nothing is needed
		one := fromMaterial(m, "kit", m.Kit)
		n[at+"unit"] = note{given: &one, value: one.value}
		return whole
	}
	n[at+"unit"] = largest
	bought.value, bought.formula = all, strings.Join(terms, " + ")
	n[at+"bought"] = bought
	if priced {
		price.formula = strings.Join(prices, " + ")
		n[at+"price"] = price
	}
	if l.LeftVolume > 0 { // a need covered but for a billionth leaves nothing
		n[at+"left"] = note{name: "left over of " + l.Name, value: l.LeftVolume, formula: "bought - need", in: []arg{of("bought", at+"bought"), of("need", at+"need")}}
	}
	noteParts(n, at+"parts.", m, l.Parts, of("bought", at+"bought"), nil)
	return whole
}

// kitsBy says by what the kits of a liquid are chosen, and chooses them again.
func (p *planner) kitsBy(at string, l *OrderLine, m *Material) (note, func(x map[string]float64) (coverage.Cover, error)) {
	names, sizes, priced := m.sizes()
	need := of("need", at+"need")
	kits := fromMaterial(m, "kit", m.Kit)
	if len(m.Kits) > 0 {
		o := m.Kits[names[0]].Volume.Origin
		kits = arg{name: "kits sold", text: kitsText(names, sizes, priced), origin: o, file: m.fileOf(o)}
	}
	switch {
	case m.Whole:
		x := note{formula: "each batch is a kit", in: []arg{kits}}
		for _, id := range l.Steps {
			x.in = append(x.in, of("batches of "+id, "steps."+id+".batches"), of("one batch of "+id, "steps."+id+".batch"))
		}
		return x, func(x map[string]float64) (coverage.Cover, error) {
			var all []mixed
			for _, id := range l.Steps {
				all = append(all, mixed{int(x["batches of "+id]), units.Volume(x["one batch of "+id])})
			}
			return wholes(all, sizes), nil
		}
	case len(m.Kits) == 0:
		return note{formula: "need by one kit, rounded up to whole ones", in: []arg{need, kits}}, func(x map[string]float64) (coverage.Cover, error) {
			return plainCover(units.Volume(x["need"]), []coverage.Size{{Kit: units.Volume(x["kit"])}})
		}
	case slices.ContainsFunc(p.o.Findings, func(f Finding) bool { return f.Key == "kits-not-proved" && f.Limit == l.Material }):
		return note{formula: "the largest alone, that cover the need: no better choice is proved", in: []arg{need, kits}}, func(x map[string]float64) (coverage.Cover, error) {
			return plainCover(units.Volume(x["need"]), sizes)
		}
	}
	why := "with the least left over"
	if priced {
		why = "at the lowest price"
	}
	return note{formula: "those that cover the need " + why + " (coverage.Cheapest)", in: []arg{need, kits}}, func(x map[string]float64) (coverage.Cover, error) {
		return coverage.Cheapest([]units.Volume{units.Volume(x["need"])}, sizes, true)
	}
}
