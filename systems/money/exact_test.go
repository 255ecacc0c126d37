package money_test

import (
	"context"
	"fmt"
	"math/big"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/internal/minor"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/confidence"
	"github.com/tackfree/tackfree/systems/money"
)

// halfAway is the product of two decimals, to so many digits, half away from zero, in
// minor units. Source: the rule of invoices (EN 16931, from memory), by math/big.
func halfAway(a, b string, digits int) (string, bool) {
	x, ok1 := new(big.Rat).SetString(a)
	y, ok2 := new(big.Rat).SetString(b)
	if !ok1 || !ok2 {
		return "", false
	}
	ten := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(digits)), nil)
	p := new(big.Rat).Mul(new(big.Rat).Mul(x, y), new(big.Rat).SetInt(ten))
	p.Add(p, big.NewRat(1, 2))
	return new(big.Int).Div(p.Num(), p.Denom()).String(), true // all from zero up
}

// Whatever the job and the prices, of any number of digits: every line is its quantity
// times its price as both are written on the bill, rounded once; the lines add up to
// the total, and so do the sums by kind; levels of draws rise. All job files of
// systems. Exact rationals: math/big.
func TestLinesAreTheirProducts(t *testing.T) {
	files, err := filepath.Glob("../testdata/*.toml")
	if err != nil || len(files) < 15 {
		t.Fatalf("%d job files, %v", len(files), err)
	}
	c := builtin(t)
	texts := map[string]string{"dairy": dairy[:strings.Index(dairy, "[prices]")], "demo": string(systems.DemoJob())[:strings.Index(string(systems.DemoJob()), "# Prices of the place")]}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(text), "[prices") && !strings.Contains(string(text), "warehouse") {
			texts[filepath.Base(file)] = string(text)
		}
	}
	type planned struct {
		text    string
		liquids []string
		grains  []string
	}
	var names []string
	jobs := map[string]planned{}
	for name, text := range texts {
		j := planned{text: text}
		for _, l := range plan(t, text, c).Order {
			id, _, _ := strings.Cut(l.Material, "@")
			switch {
			case l.Price > 0: // its kits have prices of their own
			case l.UnitVolume > 0:
				j.liquids = append(j.liquids, id)
			default:
				j.grains = append(j.grains, id)
			}
		}
		jobs[name], names = j, append(names, name)
	}
	rapid.Check(t, func(t *rapid.T) {
		j := jobs[rapid.SampledFrom(names).Draw(t, "job")]
		digits := rapid.IntRange(2, 4).Draw(t, "digits") // kits of some jobs have two
		price := func(of string, per ...string) string {
			n := rapid.Int64Range(0, 2_000_000).Draw(t, "price of "+of)
			return fmt.Sprintf("%q", minor.Text(n, digits)+" per "+rapid.SampledFrom(per).Draw(t, "per"))
		}
		text := j.text + fmt.Sprintf("\n[prices]\ndigits = %d\nlabour = %s\nwaiting = %t\n", digits, price("labour", "h"), rapid.Bool().Draw(t, "waiting"))
		if rapid.Bool().Draw(t, "overtime") {
			text += fmt.Sprintf("overtime = { after = \"%dm\", times = \"%g %%\" }\n", rapid.IntRange(0, 600).Draw(t, "after"), float64(rapid.IntRange(10000, 30000).Draw(t, "times"))/100)
		}
		text += "[prices.materials]\n"
		for _, id := range j.liquids {
			text += id + " = " + price(id, "kit", "gal", "L", "fl oz", "m3") + "\n"
		}
		for _, id := range j.grains {
			text += id + " = " + price(id, "bag", "lb", "kg", "t") + "\n"
		}
		text += "[prices.fuels]\npropane = " + price("propane", "lb", "kg", "gal", "kWh") + "\nelectricity = " + price("electricity", "kWh", "MJ") + "\n[prices.equipment]\nvacuum = { price = " + price("vacuum", "day") + " }\n" +
			"[prices.disposal]\nleft-over = " + price("left-over", "gal", "L") + "\nvacuumed = " + price("vacuumed", "lb", "t") + "\nempties = " + price("empties", "kit") + "\n"
		job, err := systems.ReadJob(strings.NewReader(text), c)
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		o, err := systems.Plan(context.Background(), job)
		if err != nil {
			t.Fatal(err)
		}
		r, err := confidence.Of(context.Background(), o, confidence.Options{Draws: 100, Seed: rapid.Uint64().Draw(t, "seed")})
		if err != nil {
			t.Fatal(err)
		}
		b, err := money.Of(o, r)
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		sum, kinds := new(big.Int), new(big.Int)
		for _, l := range b.Lines {
			quantity, unit, _ := strings.Cut(l.Quantity, " ")
			each, per, _ := strings.Cut(l.Price, " per ")
			want, ok := halfAway(quantity, each, digits)
			if got := fmt.Sprint(l.Amount.Minor); !ok || got != want || unit != per {
				t.Fatalf("%+v is %s minor units, want %s", l, got, want)
			}
			sum.Add(sum, big.NewInt(l.Amount.Minor))
		}
		for _, s := range b.Sums {
			kinds.Add(kinds, big.NewInt(s.Amount.Minor))
		}
		if total := big.NewInt(b.Total.Minor); sum.Cmp(total) != 0 || kinds.Cmp(total) != 0 {
			t.Fatalf("lines of %v, sums of %v, total %v", sum, kinds, total)
		}
		if d := b.Drawn; !(d.P50.Minor <= d.P80.Minor && d.P80.Minor <= d.P90.Minor) {
			t.Fatalf("levels %+v", d)
		}
	})
}
