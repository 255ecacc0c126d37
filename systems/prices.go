package systems

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/minor"
	"github.com/tackfree/tackfree/internal/tomlfile"
)

// Prices are the user's own, of a job's [prices]. The library knows none and
// assumes no currency; package money works with them.
type Prices struct {
	Currency  string           // echoed; "" if none is named
	Digits    int              // of the currency's minor unit: 2 where a hundred make one
	Labour    *Price           // per hour of one hand
	Overtime  *Overtime        // nil: every hour costs the same
	Waiting   bool             // hands are paid for the whole of each shift on site
	Materials map[string]Price // by id, or id@version
	Fuels     map[string]Price // by id of the fuel; [Electricity] for electric heat
	Equipment []Equipment      // in the order of the file
	Disposal  map[string]Price // by what is disposed of: [Leftover], [Vacuumed], [Empties]
}

// A Price is an amount in minor units for one of something. Of Per "kit", "bag",
// "day" and "h" nothing more is known; otherwise One is the quantity of it.
type Price struct {
	Minor int64          // at least 0, at most 1e12
	Per   string         // "kit", "bag", "day", "h", or a symbol such as "gal"
	One   units.Quantity // a Volume, Mass or Energy of 1 Per; nil of the words
	Text  string         // as it was written
}

// Overtime is what the hours of a day beyond some cost.
type Overtime struct {
	After time.Duration  // per hand and day
	Times units.Fraction // of the price of an hour
}

// Paid parts hand-hours by the day into those at the plain price, those of
// overtime, and those of hands that wait: worked are the hand-hours of each day,
// shift whether one begins on it (as many as worked), hands those of the crew, long
// how long a shift is. The day's work is shared evenly among the crew. Without [Prices].Overtime no
// hours are over; waiting hours are returned whether or not they are paid.
//
// Range: as many hours, worked and waited, as a Duration holds, 2.5 million; beyond
// that an error.
func (p *Prices) Paid(worked []time.Duration, shift []bool, hands int, long time.Duration) (plain, over, wait time.Duration, err error) {
	n, all := time.Duration(hands), 0.0
	for _, h := range worked {
		all += max(h, long*n).Hours()
	}
	if most := time.Duration(math.MaxInt64).Hours(); !(all < most) {
		return 0, 0, 0, fmt.Errorf("systems: prices: found %.3g hand-hours on site, with those that wait: want less than %.3g", all, most)
	}
	for i, h := range worked {
		if o := p.Overtime; o != nil {
			if beyond := h - o.After*n; beyond > 0 {
				over += beyond
				plain -= beyond
			}
		}
		plain += h
		if idle := long*n - h; shift[i] && idle > 0 {
			wait += idle
		}
	}
	return plain, over, wait, nil
}

// OvertimeHour returns the price of an hour of overtime, rounded to a minor unit:
// the hour, not the share, such as 133.33 %. It is an error where Labour or Overtime
// is not given, and beyond 10^12 minor units.
func (p *Prices) OvertimeHour() (Price, error) {
	const fine = 1_000_000_000
	if p.Labour == nil || p.Overtime == nil {
		return Price{}, errors.New("systems: prices: found no price of labour or of overtime: want both")
	}
	hour, err := minor.MulDiv(p.Labour.Minor, int64(math.Round(float64(p.Overtime.Times)*fine)), fine)
	if err != nil {
		return Price{}, err
	}
	return Price{Minor: hour, Per: "h", Text: minor.Text(hour, p.Digits) + " per h"}, nil
}

// Equipment is a thing that costs by the day.
type Equipment struct {
	Name  string
	Price Price
	Days  int // 0: every day on site
}

// What prices may be of, beside ids.
const (
	Electricity = "electricity" // in place of a fuel
	Leftover    = "left-over"   // liquid left in the kits, which is disposed of
	Vacuumed    = "vacuumed"    // grain vacuumed back
	Empties     = "empties"     // empty kits
)

type equipmentFile struct {
	Price string `toml:"price"`
	Days  *int64 `toml:"days"`
}

type pricesFile struct {
	Currency  string                   `toml:"currency"`
	Digits    *int64                   `toml:"digits"`
	Labour    string                   `toml:"labour"`
	Waiting   bool                     `toml:"waiting"`
	Materials map[string]string        `toml:"materials"`
	Fuels     map[string]string        `toml:"fuels"`
	Equipment map[string]equipmentFile `toml:"equipment"`
	Disposal  map[string]string        `toml:"disposal"`
	Overtime  struct {
		After *units.Span     `toml:"after"`
		Times *units.Fraction `toml:"times"`
	} `toml:"overtime"`
}

// priceOf reads a price such as "118.00 per kit". words are those that may stand
// behind per, kinds the quantities whose symbols may.
func priceOf(text string, digits int, words []string, kinds ...units.Quantity) (Price, error) {
	amount, per, ok := strings.Cut(text, " per ")
	var allowed []string
	allowed = append(allowed, words...)
	for _, k := range kinds {
		allowed = append(allowed, units.Symbols(k)...)
	}
	if !ok {
		return Price{}, fmt.Errorf("found %q: want an amount and what it is for, such as \"118.00 per %s\"", text, allowed[0])
	}
	n, err := minor.Parse(strings.TrimSpace(amount), digits)
	if err != nil {
		return Price{}, err
	}
	p := Price{Minor: n, Per: strings.TrimSpace(per), Text: text}
	if slices.Contains(words, p.Per) {
		return p, nil
	}
	for _, k := range kinds {
		var err error
		switch k.(type) {
		case units.Volume:
			var q units.Volume
			err = q.UnmarshalText([]byte("1 " + p.Per))
			p.One = q
		case units.Mass:
			var q units.Mass
			err = q.UnmarshalText([]byte("1 " + p.Per))
			p.One = q
		case units.Energy:
			var q units.Energy
			err = q.UnmarshalText([]byte("1 " + p.Per))
			p.One = q
		}
		if err == nil {
			return p, nil
		}
	}
	return Price{}, fmt.Errorf("found %q: want per one of %s", text, strings.Join(allowed, ", "))
}

// prices reads [prices].
func (p jobReader) prices() error {
	if !p.d.Defined("prices") {
		return nil
	}
	f := p.f.Prices
	x := &Prices{Currency: f.Currency, Digits: 2, Waiting: f.Waiting, Materials: map[string]Price{}, Fuels: map[string]Price{}, Disposal: map[string]Price{}}
	if f.Digits != nil {
		if *f.Digits < 0 || *f.Digits > 4 {
			return p.bad("prices/digits", "found %d: want 0 to 4 digits of the smallest unit", *f.Digits)
		}
		x.Digits = int(*f.Digits)
	}
	var errs []error
	read := func(at, text string, words []string, kinds ...units.Quantity) Price {
		price, err := priceOf(text, x.Digits, words, kinds...)
		if err != nil {
			errs = append(errs, p.bad("prices/"+at, "%w", err))
		}
		return price
	}
	if p.d.Defined("prices", "labour") {
		labour := read("labour", f.Labour, []string{"h"})
		x.Labour = &labour
	}
	if p.d.Defined("prices", "overtime") {
		o := f.Overtime
		switch {
		case o.After == nil || o.Times == nil:
			errs = append(errs, p.bad("prices/overtime", "found no after or no times: want both, such as after = \"8h\" and times = \"150 %%\""))
		case o.After.Duration() < 0 || o.After.Duration() > day:
			errs = append(errs, p.bad("prices/overtime/after", "found %v: want 0h to 24h", o.After.Duration()))
		case !(*o.Times >= 1 && *o.Times <= 10):
			errs = append(errs, p.bad("prices/overtime/times", "found %v: want 100 %% to 1000 %%", *o.Times))
		default:
			x.Overtime = &Overtime{o.After.Duration(), *o.Times}
		}
		if x.Labour == nil {
			errs = append(errs, p.bad("prices/overtime", "found overtime without labour: want the price of an hour too"))
		}
	}
	if x.Waiting && x.Labour == nil {
		errs = append(errs, p.bad("prices/waiting", "found waiting without labour: want the price of an hour too"))
	}
	for _, id := range p.d.Under("prices", "materials") {
		m, err := p.c.Material(id)
		if err != nil {
			errs = append(errs, p.bad("prices/materials/"+id, "%w", err))
			continue
		}
		if m.Kind == "liquid" {
			x.Materials[id] = read("materials/"+id, f.Materials[id], []string{"kit"}, units.Volume(0))
		} else {
			x.Materials[id] = read("materials/"+id, f.Materials[id], []string{"bag"}, units.Mass(0))
		}
	}
	for _, id := range p.d.Under("prices", "fuels") {
		if id == Electricity {
			x.Fuels[id] = read("fuels/"+id, f.Fuels[id], nil, units.Energy(0))
			continue
		}
		if _, err := p.c.Fuel(id); err != nil {
			errs = append(errs, p.bad("prices/fuels/"+id, "%w, or %s", err, Electricity))
			continue
		}
		x.Fuels[id] = read("fuels/"+id, f.Fuels[id], nil, units.Mass(0), units.Volume(0), units.Energy(0))
	}
	for _, name := range p.d.Under("prices", "equipment") {
		e := Equipment{Name: name, Price: read("equipment/"+name+"/price", f.Equipment[name].Price, []string{"day"})}
		if n := f.Equipment[name].Days; n != nil {
			if *n < 1 || *n > 10000 {
				errs = append(errs, p.bad("prices/equipment/"+name+"/days", "found %d: want 1 to 10000, or none for every day on site", *n))
			}
			e.Days = int(*n)
		}
		x.Equipment = append(x.Equipment, e)
	}
	for _, what := range p.d.Under("prices", "disposal") {
		at, text := "disposal/"+what, f.Disposal[what]
		switch what {
		case Leftover:
			x.Disposal[what] = read(at, text, nil, units.Volume(0))
		case Vacuumed:
			x.Disposal[what] = read(at, text, nil, units.Mass(0))
		case Empties:
			x.Disposal[what] = read(at, text, []string{"kit"})
		default:
			errs = append(errs, p.bad("prices/"+at, "found %q: want %s", what, tomlfile.OneOf(what, []string{Empties, Leftover, Vacuumed})))
		}
	}
	p.j.prices = x
	return errors.Join(errs...)
}

// kitPrices looks at the prices that the job gives to kits of several sizes where
// [prices] counts in them too: they are decimals of the same money, and a material
// has its price in one of the two.
func (p jobReader) kitPrices() error {
	x := p.j.prices
	if x == nil {
		return nil
	}
	var errs []error
	for _, id := range slices.Sorted(maps.Keys(p.j.overrides)) {
		m := p.j.overrides[id]
		for _, name := range slices.Sorted(maps.Keys(m.Kits)) {
			at := []string{"materials", id, "kits", name, "price"}
			k := m.Kits[name]
			if k.Price == 0 || !p.d.Defined(at...) {
				continue
			}
			if _, err := minor.Decimal(k.Price, x.Digits); err != nil {
				errs = append(errs, p.d.Errorf(at, "%w", err))
			}
			for _, key := range []string{m.ID, m.ID + "@" + m.Version} {
				if price, ok := x.Materials[key]; ok {
					errs = append(errs, p.d.Errorf(at, "found %v beside prices.materials.%s = %q: want one of them", k.Price, key, price.Text))
				}
			}
		}
	}
	return errors.Join(errs...)
}

// A PastUse is one kind of amount of one of the contractor's own past jobs: what
// was planned and what it came to.
type PastUse struct {
	Job     string         `json:"job"`
	Scatter string         `json:"scatter"` // id of what it is of
	Ratio   units.Fraction `json:"ratio"`   // used by planned
}

type pastFile struct {
	Planned string `toml:"planned"`
	Used    string `toml:"used"`
}

// past reads [past.<job>], each a table of amounts planned and used.
func (p jobReader) past() error {
	var errs []error
	for _, job := range p.d.Under("past") {
		for _, id := range p.d.Under("past", job) {
			at := "past/" + job + "/" + id
			if _, err := p.c.Scatter(id); err != nil {
				errs = append(errs, p.bad(at, "%w", err))
				continue
			}
			f := p.f.Past[job][id]
			ratio, err := ratioOf(f.Used, f.Planned)
			if err != nil {
				errs = append(errs, p.bad(at, "%w", err))
				continue
			}
			p.j.past = append(p.j.past, PastUse{job, id, ratio})
		}
	}
	return errors.Join(errs...)
}

// ratioOf divides two amounts of one kind.
func ratioOf(used, planned string) (units.Fraction, error) {
	for _, read := range []func(string) (float64, error){number[units.Volume], number[units.Mass], number[units.Length], number[units.Area], number[units.Loading], number[units.Fraction], number[units.Energy],
		func(s string) (float64, error) { d, err := parse[units.Span](s); return d.Duration().Seconds(), err }} {
		u, err1 := read(used)
		v, err2 := read(planned)
		if err1 != nil || err2 != nil {
			continue
		}
		if !(u > 0 && v > 0 && u/v >= 0.05 && u/v <= 20) {
			return 0, fmt.Errorf("found used %q of planned %q: want both above nothing, and one at most 20 times the other", used, planned)
		}
		return units.Fraction(u / v), nil
	}
	return 0, fmt.Errorf("found used %q and planned %q: want two amounts of one kind, such as \"11 gal\" and \"10 gal\"", used, planned)
}

func number[Q ~float64](text string) (float64, error) {
	q, err := parse[Q](text)
	if err != nil {
		return math.NaN(), err
	}
	return float64(q), nil
}
