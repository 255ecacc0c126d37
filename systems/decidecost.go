package systems

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/minor"
)

// What a decision for least cost costs, line by line as package money bills a plan:
//
//   - the kits and bags of the order, those of several sizes by their own prices
//     where the material gives them;
//   - the hours of the hands, those of overtime and of waiting as the plan's days
//     have them;
//   - what goes to waste, where its disposal has a price;
//   - the fuel of each heater until the floor is handed over;
//   - equipment, for every day from the job's start until the hand-over, or for
//     as many as the job says.
//
// The search takes the order before what more batches than one leave in their
// buckets, which hangs on when they are mixed, and each hour at the plain price,
// for overtime and waiting hang on all the work of a day: what is left hangs on
// the materials alone, but for the last two lines, and those never fall as the
// hand-over comes later: so the search's proof holds for what it counts. What it
// leaves out is never below nothing, but that more left in buckets is less left
// in the kits to dispose of: less that, the search's cost is one that no plan's
// whole bill is below (see low), but for the rounding of hours to a thousandth
// and of a line to a minor unit. By it the weighing proves its choice, or says how
// much less another could cost.

// A CostLine is one line of a decision's cost.
type CostLine struct {
	For      string `json:"for"` // "material", "labour", "overtime", "waiting", "disposal", "fuel" or "equipment"
	What     string `json:"what"`
	Quantity string `json:"quantity"` // "7 kit", "57.250 h"
	Price    string `json:"price"`    // of one
	Minor    int64  `json:"minor"`    // in minor units of the currency
}

// checkPrices looks at the prices of the goal least cost.
func (g *Goal) checkPrices(bad func(field, format string, args ...any) error) error {
	p := g.Prices
	if p == nil {
		return bad("prices", "not given: want them for the goal %s, in the job's [prices]", LeastCost)
	}
	if p.Digits < 0 || p.Digits > 4 {
		return bad("prices.digits", "found %d: want 0 to 4", p.Digits)
	}
	check := func(field string, x Price, words ...string) error {
		if x.Minor < 0 || x.Minor > minor.Most {
			return bad("prices."+field, "found %d minor units: want 0 to %d", x.Minor, int64(minor.Most))
		}
		one := math.NaN()
		switch q := x.One.(type) {
		case units.Volume:
			one = float64(q)
		case units.Mass:
			one = float64(q)
		case units.Energy:
			one = float64(q)
		case nil:
			if slices.Contains(words, x.Per) {
				return nil
			}
		}
		if !(one > 0 && one < math.Inf(1)) {
			return bad("prices."+field, "found a price per %q of %v: want a quantity above zero", x.Per, x.One)
		}
		return nil
	}
	if p.Labour != nil {
		if err := check("labour", *p.Labour, "h"); err != nil {
			return err
		}
	}
	for _, x := range []struct {
		field string
		of    map[string]Price
		words []string
	}{{"materials", p.Materials, []string{"kit", "bag"}}, {"fuels", p.Fuels, nil}, {"disposal", p.Disposal, []string{"kit"}}} {
		for _, id := range slices.Sorted(maps.Keys(x.of)) {
			if err := check(x.field+"."+id, x.of[id], x.words...); err != nil {
				return err
			}
		}
	}
	for _, e := range p.Equipment {
		if err := check("equipment."+e.Name, e.Price, "day"); err != nil {
			return err
		}
		if e.Days < 0 || e.Days > 10000 {
			return bad("prices.equipment."+e.Name+".days", "found %d: want 0 (every day) to 10000", e.Days)
		}
	}
	return nil
}

// whole is a line of so many kits, bags or days.
func (x Price) whole(what, of string, n int64, unit string) (CostLine, error) {
	cost, err := minor.MulDiv(x.Minor, n, 1)
	return CostLine{what, of, fmt.Sprintf("%d %s", n, unit), x.Text, cost}, costError(what, of, err)
}

// part is a line of a quantity in the unit of the price, to a thousandth.
func (x Price) part(what, of string, q float64) (CostLine, error) {
	n, err := minor.Thousandths(q)
	if err != nil {
		return CostLine{}, costError(what, of, err)
	}
	cost, err := minor.MulDiv(x.Minor, n, 1000)
	return CostLine{what, of, fmt.Sprintf("%d.%03d %s", n/1000, n%1000, x.Per), x.Text, cost}, costError(what, of, err)
}

func costError(what, of string, err error) error {
	if err != nil {
		return fmt.Errorf("systems.Decide: prices: %s %s: %w", what, of, err)
	}
	return nil
}

// fixed returns what of the cost hangs on the materials alone, and what of it has
// no price.
func (p *Prices) fixed(q *planner) (lines []CostLine, missing []string, err error) {
	return p.lines(q, q.handHours(), 0, 0)
}

// billed returns what of a plan's cost does not hang on when the floor is handed
// over, with its batches and its days. Where some of the work has no day, for it
// is never ready, no hour is overtime.
func (p *Prices) billed(q *planner, whole bool) ([]CostLine, error) {
	if !whole {
		lines, _, err := p.fixed(q)
		return lines, err
	}
	fresh := &planner{j: q.j, used: map[string]Limit{}} // as Outcome.Working has it
	if err := fresh.index(); err != nil {
		return nil, err
	}
	var w Working
	w.days(fresh, q.o)
	done, worked, shift := w.ByDay()
	for i := range worked {
		worked[i] += done[i]
	}
	plain, over, wait, err := p.Paid(worked, shift, q.j.Crew.Hands, q.j.Crew.To-q.j.Crew.From)
	if err != nil {
		return nil, err
	}
	lines, _, err := p.lines(q, plain, over, wait)
	return lines, err
}

// leftOver and hands are what lines are of.
const leftOver, allHands = "liquid left over", "hands"

// low returns what no plan's bill is below that the search takes for so much: see
// above.
func (p *planner) low(lines []CostLine, cost int64) int64 {
	if !slices.ContainsFunc(p.j.Recipe.order, func(id string) bool { return p.needs[id] != nil && p.step(id).Residue.Q > 0 }) {
		return cost
	}
	for _, l := range lines {
		if l.For == "disposal" && l.What == leftOver {
			cost -= l.Minor
		}
	}
	return cost
}

// lines lists the order, hand-hours and what goes to waste.
func (p *Prices) lines(q *planner, plain, over, wait time.Duration) (lines []CostLine, missing []string, err error) {
	add := func(l CostLine, e error) {
		if err == nil {
			lines, err = append(lines, l), e
		}
	}
	var empties int64
	var left units.Volume
	for i := range q.o.Order {
		l := &q.o.Order[i]
		if l.UnitVolume > 0 {
			empties, left = empties+int64(l.Units), left+l.LeftVolume
		}
		id, _, _ := strings.Cut(l.Material, "@")
		if l.Price > 0 { // by size
			for _, k := range l.Kits {
				one := Price{Minor: int64(math.Round(k.Price / float64(k.N) * math.Pow10(p.Digits))), Per: "kit"}
				one.Text = minor.Text(one.Minor, p.Digits) + " per kit"
				add(one.whole("material", strings.TrimSpace(l.Material+" "+k.Name), int64(k.N), "kit"))
			}
			continue
		}
		x, ok := p.Materials[l.Material]
		if !ok {
			x, ok = p.Materials[id]
		}
		switch one := x.One.(type) {
		case units.Volume:
			all := l.UnitVolume * units.Volume(l.Units)
			if len(l.Kits) > 0 {
				all = 0
				for _, k := range l.Kits {
					all += k.Volume * units.Volume(k.N)
				}
			}
			add(x.part("material", l.Material, float64(all/one)))
		case units.Mass:
			add(x.part("material", l.Material, float64(l.UnitMass)*float64(l.Units)/float64(one)))
		default:
			if !ok {
				missing = append(missing, "materials."+id)
				continue
			}
			add(x.whole("material", l.Material, int64(l.Units), l.Unit))
		}
	}
	switch {
	case plain+over == 0 && wait == 0:
	case p.Labour == nil:
		missing = append(missing, "labour")
	default:
		add(p.Labour.part("labour", allHands, plain.Hours()))
		if over > 0 {
			hour, e := p.OvertimeHour()
			if e != nil {
				return nil, nil, costError("overtime", allHands, e)
			}
			add(hour.part("overtime", allHands+", beyond "+units.Format(units.Span(p.Overtime.After), units.SI)+" a day", over.Hours()))
		}
		if p.Waiting && wait > 0 {
			add(p.Labour.part("waiting", "hands that wait", wait.Hours()))
		}
	}
	var vacuumed units.Mass
	for _, n := range q.needs {
		vacuumed += n.Vacuumed
	}
	for _, x := range []struct {
		key, what string
		q         float64
	}{{Leftover, leftOver, float64(left)}, {Vacuumed, "grain vacuumed back", float64(vacuumed)}, {Empties, "empty kits", float64(empties)}} {
		price, ok := p.Disposal[x.key]
		if !ok || x.q <= 0 {
			continue
		}
		switch one := price.One.(type) {
		case units.Volume:
			add(price.part("disposal", x.what, x.q/float64(one)))
		case units.Mass:
			add(price.part("disposal", x.what, x.q/float64(one)))
		default:
			add(price.whole("disposal", x.what, empties, "kit"))
		}
	}
	return lines, missing, err
}

// handHours adds up the hours of all hands at the steps, as a plan has them.
func (p *planner) handHours() (all time.Duration) {
	q := *p
	q.asked = 0
	for _, id := range q.j.Recipe.order {
		if !q.active(id) {
			continue
		}
		s, on := q.step(id), q.places(id)
		share := 1 / float64(len(on))
		for _, section := range on {
			crew := q.crewAt(id, section, share)
			if d, ok := q.done[spot{id, section}]; ok && s.Does != Condition && q.status(id, section, d) == WorkDone {
				crew = q.crewDone(id, section, share, d)
			}
			all += time.Duration(float64(crew.Round(time.Second)) * q.hands(s))
		}
	}
	return all
}

// unpriced lists the fuels of the job's heaters that have no price.
func (p *Prices) unpriced(s *Site) (missing []string) {
	if s == nil {
		return nil
	}
	for _, x := range s.Heaters {
		id := fuelID(x)
		price, ok := p.Fuels[id]
		if _, energy := price.One.(units.Energy); !ok || id == Electricity && !energy {
			missing = append(missing, "fuels."+id)
		}
	}
	return missing
}

func fuelID(x SiteHeater) string {
	if x.Fuel.ID == "" {
		return Electricity
	}
	return x.Fuel.ID
}

// running returns what hangs on when the floor is handed over: fuel and equipment.
func (p *Prices) running(q *planner, h *heatWay, until time.Duration) (lines []CostLine, err error) {
	add := func(l CostLine, e error) {
		if err == nil {
			lines, err = append(lines, l), e
		}
	}
	if s := h.job.Site; s != nil {
		for i, x := range s.Heaters {
			name, price := x.Fuel.Name, p.Fuels[fuelID(x)]
			if x.Fuel.ID == "" {
				name = "electricity"
			}
			mass, energy := h.burned(i, until)
			what := x.Name + ", " + name
			switch one := price.One.(type) {
			case units.Mass:
				add(price.part("fuel", what, float64(mass/one)))
			case units.Volume:
				add(price.part("fuel", what, float64(mass.Volume(x.Fuel.Density.Q)/one)))
			case units.Energy:
				add(price.part("fuel", what, float64(energy/one)))
			}
		}
	}
	days := int64(q.shiftDay(until)-q.shiftDay(0)) + 1
	for _, e := range p.Equipment {
		n := int64(e.Days)
		if n == 0 {
			n = max(days, 1)
		}
		add(e.Price.whole("equipment", e.Name, n, "day"))
	}
	return lines, err
}

// money writes an amount with its currency.
func (p *Prices) money(amount int64) string {
	return strings.TrimSpace(minor.Text(amount, p.Digits) + " " + p.Currency)
}

// sum adds lines up.
func sum(lines []CostLine) (all int64, err error) {
	for _, l := range lines {
		if all, err = minor.Add(all, l.Minor); err != nil {
			return 0, fmt.Errorf("systems.Decide: prices: %w", err)
		}
	}
	return all, nil
}
