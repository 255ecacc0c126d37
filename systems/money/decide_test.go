package money_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/money"
)

// What a decision for least cost costs is what the bill of its plan has, line by
// line, overtime and waiting too, but for the fuel and the days of equipment,
// which the bill counts to its own ends. Two routes to one sum; common practice,
// no source.
func TestDecidedCostIsTheBill(t *testing.T) {
	const prices = `
[prices.materials]
epoxy-standard = "66.10 per gal"
[prices.equipment]
grinder = { price = "180.00 per day", days = 2 }
[prices.disposal]
left-over = "6.25 per gal"
empties = "1.10 per kit"
[decide]
goal = "cost"
[decide.materials]
body = ["own"]
`
	broadcast := strings.NewReplacer("[steps.throw]\nskip = true\n", "", "[steps.sweep]\nskip = true\n", "").Replace(floor)
	for name, text := range map[string]string{
		"on paper":  floor + prices,
		"hours":     strings.Replace(floor, "labour = \"40.00 per h\"\n", "labour = \"40.01 per h\"\nwaiting = true\novertime = { after = \"6h\", times = \"150 %\" }\n", 1) + prices,
		"broadcast": broadcast + strings.Replace(prices, "[prices.disposal]", "[prices.disposal]\nvacuumed = \"0.04 per lb\"", 1) + "[prices.fuels]\npropane = \"1.15 per lb\"\n",
		"demo":      strings.Replace(string(systems.DemoJob()), "[decide]\n", "[decide]\ngoal = \"cost\"\n", 1),
	} {
		text = strings.Replace(text, "[prices.materials]\nepoxy-standard", "[prices.materials]\nquartz-medium = \"31.75 per bag\"\nepoxy-standard", 1)
		j, err := systems.ReadJob(strings.NewReader(text), builtin(t))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		j.Goal.NoRelax = true
		d, err := systems.Decide(context.Background(), j, j.Goal)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		b, err := money.Of(d.Outcome, nil)
		if err != nil {
			t.Fatal(err)
		}
		alike := func(kind, what string) bool {
			return kind != money.Fuel && (kind != money.Equipment || name != "demo")
		}
		var got, want []string
		var sum int64
		for _, l := range d.Cost {
			if sum += l.Minor; alike(l.For, l.What) {
				got = append(got, fmt.Sprintf("%s | %s | %s | %s | %d", l.For, l.What, l.Quantity, l.Price, l.Minor))
			}
		}
		for _, l := range b.Lines {
			if alike(l.For, l.What) {
				want = append(want, fmt.Sprintf("%s | %s | %s | %s | %d", l.For, l.What, l.Quantity, l.Price, l.Amount.Minor))
			}
		}
		slices.Sort(got)
		slices.Sort(want)
		if diff := cmp.Diff(want, got); diff != "" || len(want) < 4 {
			t.Errorf("%s: (-bill +decision)\n%s", name, diff)
		}
		if more := slices.ContainsFunc(d.Changed, func(s string) bool { return strings.Contains(s, "than the search took it for") }); more != (name == "demo" || name == "hours") {
			t.Errorf("%s: changed %q", name, d.Changed)
		}
		if name == "hours" && (!slices.ContainsFunc(d.Cost, func(l systems.CostLine) bool { return l.For == money.Overtime }) || !slices.ContainsFunc(d.Cost, func(l systems.CostLine) bool { return l.For == money.Waiting })) {
			t.Errorf("%s: %+v: want overtime and waiting", name, d.Cost)
		}
		if d.Score.Cost == nil || sum != *d.Score.Cost || sum == 0 {
			t.Errorf("%s: lines of %d, cost %v", name, sum, d.Score.Cost)
		}
	}
}
