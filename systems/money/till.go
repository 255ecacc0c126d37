package money

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/minor"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/confidence"
)

// A till adds up one plan, for its own amounts or for those of a draw.
type till struct {
	o      *systems.Outcome
	w      *systems.Working
	lines  []tag           // by line of the order
	done   []time.Duration // hand-hours that are over, by day on site
	worked []time.Duration // and those to come
	shift  []bool          // of those days, on which a shift begins
	scaled []time.Duration // of a draw
	over   *systems.Price  // of an overtime hour
}

// A tag is what a material costs: one price, or one of each kit by its name.
type tag struct {
	price *systems.Price // nil: none
	kits  map[string]*systems.Price
	lack  string // said where there is no price
}

// An item is a quantity with its price, if there is one.
type item struct {
	kind, what string
	price      *systems.Price
	whole      int64 // kits, bags, days; or
	part       int64 // thousandths of the price's unit
	unit       string
	minor      int64
	lack       string // said where there is no price
}

func (x *item) text() string {
	if x.unit != "" {
		return strconv.FormatInt(x.whole, 10) + " " + x.unit
	}
	return fmt.Sprintf("%d.%03d %s", x.part/1000, x.part%1000, x.price.Per)
}

func newTill(o *systems.Outcome, w *systems.Working) (*till, error) {
	t := &till{o: o, w: w, lines: make([]tag, len(o.Order))}
	for i, l := range o.Order {
		var err error
		if t.lines[i], err = tagOf(w, l.Material); err != nil {
			return nil, err
		}
	}
	t.done, t.worked, t.shift = w.ByDay()
	t.scaled = make([]time.Duration, len(t.worked))
	return t, nil
}

// tagOf finds what a material costs: what its kits say in the job, or [prices].
func tagOf(w *systems.Working, name string) (tag, error) {
	x := tag{price: priceFor(w.Prices.Materials, name), lack: bare(name)}
	sizes := w.Kits(name)
	var names []string
	for _, k := range sizes {
		names = append(names, k.Name)
		if k.Price == 0 {
			continue
		}
		at := "materials." + bare(name) + ".kits." + k.Name + ".price"
		if x.price != nil {
			return x, fmt.Errorf("money.Of: prices.materials.%s: found %q beside %s = %g: want one of them", bare(name), x.price.Text, at, k.Price)
		}
		n, err := minor.Decimal(k.Price, w.Prices.Digits)
		if err != nil {
			return x, fmt.Errorf("money.Of: %s: %w", at, err)
		}
		if x.kits == nil {
			x.kits = map[string]*systems.Price{}
		}
		x.kits[k.Name] = &systems.Price{Minor: n, Per: "kit", Text: Amount{n, w.Prices.Digits}.String() + " per kit"}
	}
	if x.price != nil && x.price.Per == "kit" && len(sizes) > 1 {
		x.lack = fmt.Sprintf("%s: %q does not say of which kit, %s (want the price of each in materials.%s.kits, or of a measure, such as per gal)", bare(name), x.price.Text, strings.Join(names, " or "), bare(name))
		x.price = nil
	}
	return x, nil
}

// priceFor finds the price of a material: that of its version before that of all.
func priceFor(all map[string]systems.Price, name string) *systems.Price {
	for _, key := range []string{name, bare(name)} {
		if p, ok := all[key]; ok {
			return &p
		}
	}
	return nil
}

func bare(name string) string {
	for i := range name {
		if name[i] == '@' {
			return name[:i]
		}
	}
	return name
}

// planned is the plan itself as a draw.
func (t *till) planned() *confidence.Draw {
	d := &confidence.Draw{Hours: 1, Fuel: 1}
	for _, l := range t.o.Order {
		need := float64(l.Volume)
		if l.UnitVolume == 0 {
			need = float64(l.Mass)
		}
		d.Units, d.Kits, d.Needs = append(d.Units, l.Units), append(d.Kits, l.Kits), append(d.Needs, need)
	}
	for _, n := range t.o.TakeOff {
		d.Vacuumed += n.Bought - n.Held // what is thrown again is not got rid of
	}
	return d
}

// walk says every item of a draw to f, those without a price too, in a fixed
// order.
func (t *till) walk(d *confidence.Draw, f func(item) error) error {
	p := t.w.Prices
	say := func(x item, q float64) error {
		var err error
		switch {
		case x.price == nil:
		case x.unit != "":
			x.minor, err = minor.MulDiv(x.price.Minor, x.whole, 1)
		default:
			if x.part, err = minor.Thousandths(q); err == nil {
				x.minor, err = minor.MulDiv(x.price.Minor, x.part, 1000)
			}
		}
		if err != nil {
			return fmt.Errorf("%s %s: %w", x.kind, x.what, err)
		}
		return f(x)
	}
	var empties int64
	var left units.Volume
	for i := range t.o.Order {
		l := &t.o.Order[i]
		tag := &t.lines[i]
		x := item{kind: Material, what: l.Material, price: tag.price, whole: int64(d.Units[i]), unit: l.Unit, lack: tag.lack}
		var all units.Volume
		for _, k := range d.Kits[i] {
			all += k.Volume * units.Volume(k.N)
			if tag.kits == nil {
				continue
			}
			one := item{kind: Material, what: strings.TrimSpace(l.Material + " " + k.Name), price: tag.kits[k.Name], whole: int64(k.N), unit: l.Unit, lack: tag.lack}
			if err := say(one, 0); err != nil {
				return err
			}
		}
		if l.UnitVolume > 0 {
			empties += int64(d.Units[i])
			left += max(0, all-units.Volume(d.Needs[i])) // fewer kits than the need leave nothing
		}
		if tag.kits != nil {
			continue
		}
		q := 0.0
		if x.price != nil {
			switch one := x.price.One.(type) {
			case units.Volume:
				x.unit, q = "", float64(all)/float64(one)
			case units.Mass:
				x.unit, q = "", float64(l.UnitMass)*float64(d.Units[i])/float64(one)
			}
		}
		if err := say(x, q); err != nil {
			return err
		}
	}
	if err := t.labour(d, say); err != nil {
		return err
	}
	for _, use := range t.w.Fuels {
		x := item{kind: Fuel, what: use.Heater + ", " + use.Name, lack: "fuel " + use.ID}
		q := 0.0
		if price, ok := p.Fuels[use.ID]; ok {
			x.price = &price
			switch one := price.One.(type) {
			case units.Mass:
				q = float64(use.Mass) / float64(one)
			case units.Volume:
				q = float64(use.Volume) / float64(one)
			case units.Energy:
				q = float64(use.Energy) / float64(one)
			}
		}
		if err := say(x, q*float64(d.Fuel)); err != nil {
			return err
		}
	}
	for i := range p.Equipment {
		e := &p.Equipment[i]
		x := item{kind: Equipment, what: e.Name, price: &e.Price, whole: int64(e.Days), unit: "day"}
		if e.Days == 0 {
			x.whole = int64(len(t.w.Days))
		}
		if err := say(x, 0); err != nil {
			return err
		}
	}
	for _, x := range []struct {
		key, what string
		q         float64
	}{{systems.Leftover, "liquid left over", float64(left)}, {systems.Vacuumed, "grain vacuumed back", float64(d.Vacuumed)}, {systems.Empties, "empty kits", float64(empties)}} {
		if x.q <= 0 {
			continue
		}
		it := item{kind: Disposal, what: x.what, lack: "disposal of " + x.what}
		if price, ok := p.Disposal[x.key]; ok {
			it.price = &price
			switch one := price.One.(type) {
			case units.Volume:
				x.q /= float64(one)
			case units.Mass:
				x.q /= float64(one)
			default:
				it.whole, it.unit = empties, "kit"
			}
		}
		if err := say(it, x.q); err != nil {
			return err
		}
	}
	return nil
}

// labour says the hours: plain, overtime and waiting. Hours are shared out by the
// day, then added up and rounded.
func (t *till) labour(d *confidence.Draw, say func(item, float64) error) error {
	p := t.w.Prices
	const most = 1e6 // hand-hours, such as 100 hands for five years; a Duration holds 2.5 million
	all := 0.0
	for i, worked := range t.worked {
		if all += t.done[i].Hours() + worked.Hours()*float64(d.Hours); !(all <= most) {
			return fmt.Errorf("money.Of: labour: %.3g hand-hours, the hours to come at %.3g times the plan's: want at most %g; where a draw has them, look at the past jobs of hours", all, d.Hours, most)
		}
		t.scaled[i] = t.done[i] + time.Duration(math.Round(float64(worked)*float64(d.Hours)))
	}
	plain, over, wait, err := p.Paid(t.scaled, t.shift, t.w.Hands, t.w.Shift)
	if err != nil {
		return fmt.Errorf("money.Of: labour: %w", err)
	}
	if plain+over > 0 {
		x := item{kind: Labour, what: "hands", price: p.Labour}
		if x.price == nil {
			x.lack = fmt.Sprintf("labour (%.1f hand-hours)", (plain + over).Hours())
		}
		if err := say(x, plain.Hours()); err != nil {
			return err
		}
	}
	if p.Labour == nil {
		return nil
	}
	if p.Overtime != nil && over > 0 {
		if t.over == nil {
			hour, err := p.OvertimeHour()
			if err != nil {
				return err
			}
			t.over = &hour
		}
		if err := say(item{kind: Overtime, what: "hands, beyond " + units.Format(units.Span(p.Overtime.After), units.SI) + " a day", price: t.over}, over.Hours()); err != nil {
			return err
		}
	}
	if p.Waiting && wait > 0 {
		return say(item{kind: Waiting, what: "hands that wait", price: p.Labour}, wait.Hours())
	}
	return nil
}

// day works out what one more day costs. fuel is what the heat plan's comes to.
func (t *till) day(fuel int64) (Day, error) {
	p := t.w.Prices
	var equipment, heat, waiting int64
	var err error
	for _, e := range p.Equipment {
		if e.Days == 0 {
			if equipment, err = minor.Add(equipment, e.Price.Minor); err != nil {
				return Day{}, err
			}
		}
	}
	if len(t.w.Fuels) > 0 && t.w.Fuels[0].Span > 0 {
		if heat, err = minor.MulDiv(fuel, int64(24*time.Hour/time.Second), int64(t.w.Fuels[0].Span/time.Second)); err != nil {
			return Day{}, err
		}
	}
	if p.Waiting {
		h, err := minor.Thousandths(float64(t.w.Hands) * t.w.Shift.Hours())
		if err != nil {
			return Day{}, err
		}
		if waiting, err = minor.MulDiv(p.Labour.Minor, h, 1000); err != nil {
			return Day{}, err
		}
	}
	total, err := minor.Add(equipment, heat)
	if err == nil {
		total, err = minor.Add(total, waiting)
	}
	amount := func(minor int64) Amount { return Amount{minor, p.Digits} }
	return Day{amount(equipment), amount(heat), amount(waiting), amount(total)}, err
}

// total adds a draw up.
func (t *till) total(d *confidence.Draw) (sum int64, err error) {
	err = t.walk(d, func(x item) (err error) {
		sum, err = minor.Add(sum, x.minor)
		return err
	})
	return sum, err
}

// priced counts the materials that have a price.
func (t *till) priced() int {
	n := 0
	for _, p := range t.lines {
		if p.price != nil || p.kits != nil {
			n++
		}
	}
	return n
}

// drawn adds every draw up.
func (t *till) drawn(c *confidence.Order, planned *confidence.Draw) (*Drawn, error) {
	if len(c.Lines) != len(t.o.Order) {
		return nil, fmt.Errorf("money.Of: found confidence of %d materials for an order of %d: want that of the same plan", len(c.Lines), len(t.o.Order))
	}
	for i, l := range c.Lines {
		if l.Material != t.o.Order[i].Material || l.Planned != t.o.Order[i].Units {
			return nil, fmt.Errorf("money.Of: found confidence of %d of %s where the order has %d of %s: want that of the same plan", l.Planned, l.Material, t.o.Order[i].Units, t.o.Order[i].Material)
		}
	}
	totals, y := make([]int64, c.Draws), make([]float64, c.Draws)
	var d confidence.Draw
	for i := range totals {
		if err := c.Draw(i, &d); err != nil {
			return nil, err
		}
		sum, err := t.total(&d)
		if err != nil {
			return nil, err
		}
		totals[i], y[i] = sum, float64(sum)
	}
	out := &Drawn{}
	var err error
	if out.Drivers, out.Told, err = c.Drives(y); err != nil {
		return nil, err
	}
	slices.Sort(totals)
	for _, x := range []struct {
		percent     int
		drawn, with *Amount
		kits        func(*confidence.Line) (int, []systems.KitLine)
	}{{50, &out.P50, &out.Order50, func(l *confidence.Line) (int, []systems.KitLine) { return l.P50, l.Kits50 }},
		{80, &out.P80, &out.Order80, func(l *confidence.Line) (int, []systems.KitLine) { return l.P80, l.Kits80 }},
		{90, &out.P90, &out.Order90, func(l *confidence.Line) (int, []systems.KitLine) { return l.P90, l.Kits90 }}} {
		*x.drawn = Amount{totals[(x.percent*len(totals)+99)/100-1], t.w.Prices.Digits}
		order := *planned
		order.Units, order.Kits = make([]int, len(c.Lines)), make([][]systems.KitLine, len(c.Lines))
		for i := range c.Lines {
			order.Units[i], order.Kits[i] = x.kits(&c.Lines[i])
		}
		sum, err := t.total(&order)
		if err != nil {
			return nil, err
		}
		*x.with = Amount{sum, t.w.Prices.Digits}
	}
	return out, nil
}
