package systems

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// DecidePrices are the user's own, in the minor units of one currency (cents), for
// the goal [LeastCost]. What is not given costs nothing, but a material of the
// order or a fuel that the heat burns must have its price.
type DecidePrices struct {
	Materials map[string]int64     // of a kit or bag, by the material's id, with or without its version
	Hour      int64                // of one hand
	Fuels     map[string]FuelPrice // by the fuel class's id; "electric" for current
	HeaterDay int64                // of each heater, a day begun until hand-over
	SpaceDay  int64                // of the space and all else that costs by the day, a day begun from the start of the work until hand-over
}

// A FuelPrice is what a mass of fuel costs, or, where PerEnergy is given, an
// energy on the higher heating value.
type FuelPrice struct {
	Price     int64
	Per       units.Mass
	PerEnergy units.Energy
}

// Electric names current among the fuels of [DecidePrices].
const Electric = "electric"

// mostPrice keeps sums of prices far from the end of int64.
const mostPrice = int64(1e12)

func (p *DecidePrices) check() error {
	bad := func(field string, price int64) error {
		return fmt.Errorf("systems.Decide: prices.%s: found %d: want 0 to %d minor units", field, price, mostPrice)
	}
	off := func(price int64) bool { return price < 0 || price > mostPrice }
	for _, id := range slices.Sorted(maps.Keys(p.Materials)) {
		if off(p.Materials[id]) {
			return bad("materials."+id, p.Materials[id])
		}
	}
	for _, id := range slices.Sorted(maps.Keys(p.Fuels)) {
		f := p.Fuels[id]
		if off(f.Price) {
			return bad("fuels."+id, f.Price)
		}
		if !(f.Per > 0) == !(f.PerEnergy > 0) || !finite(float64(f.Per)) || !finite(float64(f.PerEnergy)) {
			return fmt.Errorf("systems.Decide: prices.fuels.%s: found per %v and per %v: want one of them above zero", id, f.Per, f.PerEnergy)
		}
	}
	for _, x := range []struct {
		field string
		price int64
	}{{"hour", p.Hour}, {"heater_day", p.HeaterDay}, {"space_day", p.SpaceDay}} {
		if off(x.price) {
			return bad(x.field, x.price)
		}
	}
	return nil
}

// A CostLine is one sum of a decision's cost, in minor units.
type CostLine struct {
	What string `json:"what"`
	Cost int64  `json:"cost"`
}

// priced returns price times n, rounded to a minor unit.
func priced(price int64, n float64) (int64, error) {
	x := math.Round(float64(price) * n)
	if !(math.Abs(x) < 1e15) { // above it a float64 is no longer exact to a minor unit
		return 0, fmt.Errorf("systems.Decide: a sum of %g minor units: want smaller prices", x)
	}
	return int64(x), nil
}

// fixed returns what of the cost hangs on the materials alone: kits, bags and
// hands.
func (p *DecidePrices) fixed(q *planner) (lines []CostLine, err error) {
	add := func(what string, price int64, n float64) {
		cost, e := priced(price, n)
		if e != nil {
			err = e
		}
		lines = append(lines, CostLine{what, cost})
	}
	for _, l := range q.o.Order {
		id, _, _ := strings.Cut(l.Material, "@")
		price, ok := p.Materials[l.Material]
		if !ok {
			price, ok = p.Materials[id]
		}
		if !ok {
			return nil, fmt.Errorf("systems.Decide: prices.materials: found none for a %s of %s: want one", l.Unit, l.Material)
		}
		add(l.Name, price, float64(l.Units))
	}
	var hours float64
	for _, id := range q.j.Recipe.order {
		if q.active(id) {
			s := q.step(id)
			hours += (q.crewTime(id, 1) + time.Duration(s.Setup.Q)).Hours() * q.hands(s)
		}
	}
	add("hands", p.Hour, hours)
	return lines, err
}

// running returns what hangs on when the floor is handed over: fuel and days.
func (p *DecidePrices) running(h *heatWay, start, until time.Duration) (lines []CostLine, err error) {
	add := func(what string, price int64, n float64) {
		cost, e := priced(price, n)
		if e != nil {
			err = e
		}
		lines = append(lines, CostLine{what, cost})
	}
	days := func(d time.Duration) float64 { return math.Ceil(max(0, d.Seconds()) / day.Seconds()) }
	if s := h.job.Site; s != nil {
		heaters := 0
		for i, x := range s.Heaters {
			id, name := x.Fuel.ID, x.Fuel.Name
			if id == "" {
				id, name = Electric, "electricity"
			}
			heaters += x.Count
			f, ok := p.Fuels[id]
			if !ok {
				return nil, fmt.Errorf("systems.Decide: prices.fuels: found none for %s: want one", id)
			}
			mass, energy := h.burned(i, until)
			switch {
			case f.PerEnergy > 0:
				add(name+" of "+x.Name, f.Price, float64(energy/f.PerEnergy))
			case x.Fuel.ID == "":
				return nil, fmt.Errorf("systems.Decide: prices.fuels.%s: found a price by mass: want one by energy", Electric)
			default:
				add(name+" of "+x.Name, f.Price, float64(mass/f.Per))
			}
		}
		if heaters > 0 {
			add("days of heaters", p.HeaterDay, float64(heaters)*days(until))
		}
	}
	add("days of the space", p.SpaceDay, days(until-start))
	return lines, err
}

// sum adds lines up.
func sum(lines []CostLine) (all int64) {
	for _, l := range lines {
		all += l.Cost
	}
	return all
}
