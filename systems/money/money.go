// Package money works out what a plan costs, from the user's own prices in the
// job's [prices] and from nothing else: the library knows no price and assumes no
// currency. What has no price is listed, and is in no sum.
//
// Amounts are whole minor units, and sums of them are exact. A line is a price
// times a quantity. Kits, bags, and days are whole. Other quantities are first
// rounded to a thousandth of the unit that the price is for, as the bill states
// them, and the product then to a minor unit; both half away from zero, the rule
// of invoices. A sum of more than 9.2e18 minor units is [ErrTooLarge].
//
// A material's price is of a kit or bag, or of a measure of what is bought. Where
// it is sold in kits of several sizes each has its own price, price in the job's
// [materials.<id>.kits.<name>], which the plan chooses the kits by too; or it has one
// of a measure. A price per kit then is none: it does not say of which, and is
// listed as missing. Both ways at once are an error.
//
// Labour is the schedule's hand-hours. Overtime counts only if the job says from
// how many hours: those of a day beyond that for each hand, the day's work
// shared evenly among the crew; its price of an hour is rounded to a minor unit
// too. Hands are paid for waiting only if the job says so: for each shift on
// site that their work does not fill. Equipment is paid for every day from the
// first work to the last, days of rest in it, unless the job says for how many.
// Fuel is what the heat plan burns until its forecast ends. Hours of work that the
// job tells as done are what they were, in every draw.
package money

import (
	"errors"
	"fmt"
	"slices"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/minor"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/confidence"
)

// What a line is for.
const (
	Material  = "material"
	Labour    = "labour"
	Overtime  = "overtime"
	Waiting   = "waiting"
	Fuel      = "fuel"
	Equipment = "equipment"
	Disposal  = "disposal"
)

// A Bill is what a plan costs.
type Bill struct {
	Currency string   `json:"currency,omitempty"` // as the job names it
	Digits   int      `json:"digits"`
	Lines    []Line   `json:"lines"`
	Total    Amount   `json:"total"`
	Sums     []Sum    `json:"sums"`    // by what the lines are for
	Missing  []string `json:"missing"` // what has no price, and is not in Total
	PerM2    Amount   `json:"per_m2"`  // of floor
	PerFt2   Amount   `json:"per_ft2"`
	Days     int      `json:"days"` // on site
	Day      Day      `json:"day"`
	Drawn    *Drawn   `json:"drawn,omitempty"` // nil without an order's confidence
	Notes    []string `json:"notes"`
}

// A Line is one price times one quantity.
type Line struct {
	For      string `json:"for"`
	What     string `json:"what"`
	Quantity string `json:"quantity"` // "7 kit", "57.250 h"
	Price    string `json:"price"`    // as the job has it: "118.00 per kit"
	Amount   Amount `json:"amount"`
}

// A Sum is all lines of one kind.
type Sum struct {
	For    string `json:"for"`
	Amount Amount `json:"amount"`
}

// A Day is what one more day on site costs, as far as there are prices: all
// equipment that is paid for every day, the heat of an average day, and the
// hands for a shift if the job pays for waiting.
type Day struct {
	Equipment Amount `json:"equipment"`
	Heat      Amount `json:"heat"`
	Waiting   Amount `json:"waiting"`
	Total     Amount `json:"total"`
}

// Drawn is what the draws of an order's confidence come to. In each the job
// buys the kits and bags that it turns out to take; hours and fuel scatter with
// it, the days on site do not.
type Drawn struct {
	P50     Amount              `json:"p50"` // half of such jobs come to no more
	P80     Amount              `json:"p80"`
	P90     Amount              `json:"p90"`
	Drivers []confidence.Driver `json:"drivers"`
	Told    units.Fraction      `json:"told"`

	Order50 Amount `json:"order_p50"` // the bill with the kits and bags that do in half of such jobs, all else as planned
	Order80 Amount `json:"order_p80"`
	Order90 Amount `json:"order_p90"`
}

// ErrNoPrices says that a job has no [prices].
var ErrNoPrices = errors.New("the job gives no prices: want [prices] in it")

// Of works out what a plan costs, and with an order's confidence, which may be
// nil, by how much that may come out otherwise. o must come from [systems.Plan]
// or [systems.Replay], c from that same plan.
func Of(o *systems.Outcome, c *confidence.Order) (*Bill, error) {
	w, err := o.Working()
	if err != nil {
		return nil, err
	}
	if w.Prices == nil {
		return nil, ErrNoPrices
	}
	t, err := newTill(o, w)
	if err != nil {
		return nil, err
	}
	b := &Bill{Currency: w.Prices.Currency, Digits: w.Prices.Digits, Lines: []Line{}, Sums: []Sum{}, Missing: []string{}, Notes: []string{}, Days: len(w.Days)}
	amount := func(minor int64) Amount { return Amount{minor, b.Digits} }
	planned := t.planned()
	sums := map[string]int64{}
	var kinds []string
	var total int64
	err = t.walk(planned, func(x item) error {
		if x.price == nil {
			b.Missing = append(b.Missing, "no price given for "+x.lack)
			return nil
		}
		b.Lines = append(b.Lines, Line{x.kind, x.what, x.text(), x.price.Text, amount(x.minor)})
		if !slices.Contains(kinds, x.kind) {
			kinds = append(kinds, x.kind)
		}
		sums[x.kind] += x.minor // no more than total, which is checked
		total, err = minor.Add(total, x.minor)
		return err
	})
	if err != nil {
		return nil, err
	}
	for _, kind := range kinds {
		b.Sums = append(b.Sums, Sum{kind, amount(sums[kind])})
	}
	if len(w.Prices.Equipment) == 0 {
		b.Missing = append(b.Missing, "no equipment is priced")
	}
	b.Total = amount(total)
	for _, per := range []struct {
		to *Amount
		of units.Area
	}{{&b.PerM2, units.SquareMetre}, {&b.PerFt2, units.SquareFoot}} {
		area, err := minor.Thousandths(float64(o.Floor / per.of))
		if err != nil || area == 0 {
			return nil, fmt.Errorf("money.Of: floor of %v: want one of at least a thousandth of %v", o.Floor, per.of)
		}
		each, err := minor.MulDiv(total, 1000, area)
		if err != nil {
			return nil, err
		}
		*per.to = amount(each)
	}
	if b.Day, err = t.day(sums[Fuel]); err != nil {
		return nil, err
	}
	if h := o.Heat; h != nil {
		b.Notes = append(b.Notes, "Heat is counted until "+h.Until.In(o.Start.Location()).Format("Mon 2 Jan 15:04")+", where its forecast ends.")
	}
	if c != nil {
		if b.Drawn, err = t.drawn(c, planned); err != nil {
			return nil, err
		}
		if t.priced() == 0 {
			b.Notes = append(b.Notes, "No material has a price: the total does not vary with the order.")
		}
	}
	return b, nil
}
