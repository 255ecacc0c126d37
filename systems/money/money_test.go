package money_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/still"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/confidence"
	"github.com/tackfree/tackfree/systems/money"
)

var loaded = sync.OnceValues(systems.Builtin)

func plan(t testing.TB, text string, c *systems.Catalog) *systems.Outcome {
	t.Helper()
	j, err := systems.ReadJob(strings.NewReader(text), c)
	if err != nil {
		t.Fatal(err)
	}
	o, err := systems.Plan(context.Background(), j)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

func builtin(t testing.TB) *systems.Catalog {
	t.Helper()
	c, err := loaded()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// floor is a job that can be reckoned on paper: 900 ft2, two hands from 07:00 to
// 15:00 (a shift of 8 h), steps of round rates, one coat at 10 mil, no waste, of a
// material in one kit of 3 gal. Its
// numbers are our own; common practice, no source.
const floor = `name = "on paper"
recipe = "quartz-broadcast@1.1.0"
start = "2026-05-04T07:00:00-04:00"
[areas.a]
area = "900 ft2"
uptake = "0 mil"
profile = "0 mil"
[grind]
grits = ["30", "60"]
[steps.sound]
rate = "450 ft2/h"
[steps.grind]
rate = "90 ft2/h"
setup = "0m"
[steps.clean]
rate = "225 ft2/h"
[steps.prime]
skip = true
[steps.throw]
skip = true
[steps.sweep]
skip = true
[steps.grout]
skip = true
[steps.seal]
skip = true
[steps.body]
rate = "150 ft2/h"
setup = "30m"
waste = "0 %"
material = "epoxy-standard@1.1.0"
[materials.epoxy-standard]
solids = "100 %"
[crew]
hands = 2
from = "07:00"
to = "15:00"
[temperatures.slab]
"0h" = "65 °F"
[temperatures.air]
"0h" = "68 °F"
[temperatures.rh]
"0h" = "50 %"
[prices]
currency = "groats"
labour = "40.00 per h"
`

func bill(t testing.TB, text string) *money.Bill {
	t.Helper()
	b, err := money.Of(plan(t, text, builtin(t)), nil)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// lines writes a bill's lines short.
func lines(b *money.Bill) (all []string) {
	for _, l := range b.Lines {
		all = append(all, fmt.Sprintf("%s | %s | %s | %s", l.For, l.What, l.Quantity, l.Amount))
	}
	return all
}

// The bill of floor, by hand.
//
// Hours of two hands: sound 900/450 = 2 hand-hours; grind, at most 2 hands, two
// grits: 900 x 2/90 = 20; clean 900/225 = 4; body 900/150 = 6, with 30 min of
// setting up for two hands 1: 33 hand-hours in all, 16.5 h of the crew.
//
// Time: Monday 07:00 sound 1 h to 08:00, grind 10 h: 7 h to 15:00 and 3 h on Tuesday
// to 10:00, clean 2 h to 12:00; body 3.5 h would end at 15:30, so Wednesday from
// 07:00 to 10:30. Three days on site. Hand-hours by the day 16, 10, 7.
//
// Liquid: 900 ft2 x 10 mil/1604.1667 = 5.6104 gal: 2 kits of 3 gal, 0.3896 gal left:
// 0.390 gal.
func TestBillByHand(t *testing.T) {
	b := bill(t, floor+`
[prices.materials]
epoxy-standard = "198.00 per kit"
[prices.equipment]
grinder = { price = "180.00 per day", days = 2 }
vacuum = { price = "55.50 per day" }
[prices.disposal]
left-over = "6.25 per gal"
empties = "1.10 per kit"
`)
	want := []string{
		"material | epoxy-standard@1.1.0 | 2 kit | 396.00",
		"labour | hands | 33.000 h | 1320.00", // 33 x 40.00
		"equipment | grinder | 2 day | 360.00",
		"equipment | vacuum | 3 day | 166.50",            // 3 x 55.50
		"disposal | liquid left over | 0.390 gal | 2.44", // 0.390 x 6.25 = 2.4375
		"disposal | empty kits | 2 kit | 2.20",           // 2 x 1.10
	}
	if d := cmp.Diff(want, lines(b)); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
	// 396.00 + 1320.00 + 360.00 + 166.50 + 2.44 + 2.20 = 2247.14
	if b.Total.String() != "2247.14" || b.Days != 3 || b.Currency != "groats" || len(b.Missing) != 0 {
		t.Errorf("total %s, %d days, %q, missing %q", b.Total, b.Days, b.Currency, b.Missing)
	}
	// 2247.14/900 = 2.49682; 900 ft2 = 83.6127 m2, as billed 83.613: 2247.14/83.613 = 26.87549
	if b.PerFt2.String() != "2.50" || b.PerM2.String() != "26.88" {
		t.Errorf("%s per ft2, %s per m2; want 2.50 and 26.88", b.PerFt2, b.PerM2)
	}
	if b.Day.Total.String() != "55.50" || b.Day.Waiting.String() != "0.00" {
		t.Errorf("one more day %+v: want the vacuum alone", b.Day)
	}
	sum := int64(0)
	for _, s := range b.Sums {
		sum += s.Amount.Minor
	}
	if sum != b.Total.Minor {
		t.Errorf("the sums add up to %d, the total is %d", sum, b.Total.Minor)
	}
	whole, err := json.Marshal(b)
	if err != nil || !bytes.Contains(whole, []byte(`"total":"2247.14"`)) {
		t.Errorf("JSON: %s, %v", whole, err)
	}
}

// Overtime beyond 6 h a hand and day, 12 hand-hours: Monday 16 - 12 = 4, the other
// days none. 29 x 40.00 = 1160.00; an hour at 162.5 % is 65.00: 4 x 65.00 = 260.00.
// Waiting: of 16 hand-hours a shift, Monday none, Tuesday 6, Wednesday 9: 15 x 40.00
// = 600.00. One more day then is 16 x 40.00 = 640.00.
func TestOvertimeAndWaiting(t *testing.T) {
	b := bill(t, floor+"waiting = true\novertime = { after = \"6h\", times = \"162.5 %\" }\n")
	want := []string{"labour | hands | 29.000 h | 1160.00", "overtime | hands, beyond 6h a day | 4.000 h | 260.00", "waiting | hands that wait | 15.000 h | 600.00"}
	if d := cmp.Diff(want, lines(b)); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
	if b.Day.Waiting.String() != "640.00" || b.Day.Total.String() != "640.00" {
		t.Errorf("one more day %+v", b.Day)
	}
	// The price of an overtime hour is rounded first: 40.01 x 1.5 = 60.015, 60.02; x 4 = 240.08.
	b = bill(t, strings.Replace(floor, "40.00 per h", "40.01 per h", 1)+"overtime = { after = \"6h\", times = \"150 %\" }\n")
	if got := b.Lines[1].Amount.String(); got != "240.08" {
		t.Errorf("overtime %s, want 240.08", got)
	}
}

// The share of an hour that overtime costs is taken as written: 40.00 x 1.3333 = 53.332,
// 53.33; x 1.1255 = 45.02; of a thousand times that labour, in a money of 4 digits,
// 40000.0000 x 1.23456 = 49382.4. 4 h of it, as above. Decimal arithmetic.
func TestOvertimeAsWritten(t *testing.T) {
	for _, x := range []struct{ labour, digits, times, want string }{{"40.00", "2", "133.33 %", "213.32"}, {"40.00", "2", "112.55 %", "180.08"},
		{"40000.0000", "4", "123.456 %", "197529.6000"}, {"40", "0", "101 %", "160"}, {"40.000", "3", "100.0125 %", "160.020"}} {
		b := bill(t, strings.Replace(floor, "40.00 per h", x.labour+" per h", 1)+"digits = "+x.digits+"\novertime = { after = \"6h\", times = \""+x.times+"\" }\n")
		if got := b.Lines[1]; got.For != money.Overtime || got.Amount.String() != x.want {
			t.Errorf("%s at %s: %+v, want %s", x.labour, x.times, got, x.want)
		}
	}
}

// A price may be for a measure in place of a kit or bag: 2 kits are 6.000 gal, or
// 22.712 L. 6.000 x 66.01 = 396.06; 22.712 x 17.44 = 396.0973, 396.10.
func TestPriceOfMeasure(t *testing.T) {
	for price, want := range map[string]string{"66.01 per gal": "396.06", "17.44 per L": "396.10", "0.00 per kit": "0.00"} {
		b := bill(t, floor+"[prices.materials]\nepoxy-standard = \""+price+"\"\n")
		if got := b.Lines[0]; got.For != money.Material || got.Amount.String() != want {
			t.Errorf("%s: %+v, want %s", price, got, want)
		}
	}
	b := bill(t, floor+"[prices.materials]\nepoxy-standard = \"198.00 per kit\"\n\"epoxy-standard@1.1.0\" = \"200.00 per kit\"\n")
	if b.Lines[0].Amount.String() != "400.00" {
		t.Errorf("the price of the version does not come first: %+v", b.Lines[0])
	}
	b = bill(t, strings.Replace(floor, "40.00 per h", "4 per h", 1)+"digits = 0\n")
	if b.Lines[0].Amount.String() != "132" { // 33 x 4
		t.Errorf("without minor digits: %+v", b.Lines[0])
	}
}

// Kits of several sizes, by hand. 3150 ft2 x 10 mil/1604.1667 = 19.6364 gal of pails of
// 3 gal at 195.00 and drums of 15 gal at 870.00: 7 pails are 1365.00, a drum and 2
// pails 870.00 + 390.00 = 1260.00, 2 drums 1740.00. 21 - 19.6364 = 1.364 gal left, x 6.25
// = 8.525, 8.53; 3 empty kits x 1.10 = 3.30. Without prices 7 pails and a drum with 2
// pails leave the same, and the larger are taken: 21.000 gal x 65.00 = 1365.00.
func TestPriceOfKits(t *testing.T) {
	text := strings.NewReplacer(`"900 ft2"`, `"3150 ft2"`, "epoxy-standard@1.1.0", "epoxy-standard@1.2.0").Replace(floor)
	kits := func(pail, drum string) string {
		return "[materials.epoxy-standard.kits.pail]\nprice = " + pail + "\n[materials.epoxy-standard.kits.drum]\nprice = " + drum + "\n"
	}
	only := func(b *money.Bill) (all []string) {
		for _, l := range lines(b) {
			if !strings.HasPrefix(l, money.Labour) {
				all = append(all, l)
			}
		}
		return all
	}
	b := bill(t, text+"[prices.disposal]\nleft-over = \"6.25 per gal\"\nempties = \"1.10 per kit\"\n"+kits("195", "870"))
	want := []string{"material | epoxy-standard@1.2.0 drum | 1 kit | 870.00", "material | epoxy-standard@1.2.0 pail | 2 kit | 390.00",
		"disposal | liquid left over | 1.364 gal | 8.53", "disposal | empty kits | 3 kit | 3.30"}
	if d := cmp.Diff(want, only(b)); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
	b = bill(t, text+"[prices.materials]\nepoxy-standard = \"65.00 per gal\"\n")
	if d := cmp.Diff([]string{"material | epoxy-standard@1.2.0 | 21.000 gal | 1365.00"}, only(b)); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
	// A price of a kit does not say of which.
	b = bill(t, text+"[prices.materials]\nepoxy-standard = \"198.00 per kit\"\n")
	if len(only(b)) != 0 || !strings.Contains(strings.Join(b.Missing, "; "), `no price given for epoxy-standard: "198.00 per kit" does not say of which kit, drum or pail`) {
		t.Errorf("%v, missing %q", only(b), b.Missing)
	}
	// In the draws each buys its own kits: at the middle the planned ones.
	o := plan(t, text+kits("195.50", "870"), alone(t, "film-squeegee", "shape = \"normal\"\nmean = \"100 %\"\nspread = \"20 %\""))
	c, err := confidence.Of(context.Background(), o, confidence.Options{Draws: 2000})
	if err != nil {
		t.Fatal(err)
	}
	if b, err = money.Of(o, c); err != nil {
		t.Fatal(err)
	}
	// 19.6364 gal x (1 + 0.2 x 1.28155) = 24.669 gal: a drum and 4 pails, 870.00 + 782.00, are less than 2 drums;
	// at 80 %, 1 + 0.2 x 0.84162: 22.942 gal, a drum and 3 pails. NIST/SEMATECH e-Handbook 1.3.6.7.1.
	if p50, p80, p90 := b.Drawn.Order50.Minor-b.Total.Minor, b.Drawn.Order80.Minor-b.Drawn.Order50.Minor, b.Drawn.Order90.Minor-b.Drawn.Order80.Minor; p50 != 0 || p80 != 19550 || p90 != 19550 {
		t.Errorf("orders %+v of a bill of %v: want it, a pail more and another", b.Drawn, b.Total)
	}
	if d := b.Drawn.P90.Minor - b.Total.Minor; d != 2*19550 {
		t.Errorf("nine of ten come to %d more, want 2 pails", d)
	}
}

// Grain that is thrown again is neither bought nor got rid of twice: of 4 sections
// each throws T/4, of whose loose 30 % the usable 60 % goes on the next one. Bought
// T (1 - 0.18 x 3/4) = 0.865 T, got rid of 0.865 T - 0.7 T = 0.165 T. Mass balance.
func TestVacuumedOnce(t *testing.T) {
	text := strings.NewReplacer("quartz-broadcast@1.1.0", "quartz-broadcast@1.2.0", "[steps.throw]\nskip = true\n", "", "hands = 2", "hands = 2\nsections = 4").Replace(floor)
	o := plan(t, text+"[prices.disposal]\nvacuumed = \"1.00 per kg\"\n", builtin(t))
	for _, l := range lines(func() *money.Bill {
		b, err := money.Of(o, nil)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}()) {
		if strings.Contains(l, "vacuumed") {
			for _, n := range o.TakeOff {
				if n.Thrown > 0 {
					if want := fmt.Sprintf("| %.3f kg |", 0.165*float64(n.Thrown)); !strings.Contains(l, want) {
						t.Errorf("%s, want %s", l, want)
					}
					return
				}
			}
		}
	}
	t.Error("nothing vacuumed is got rid of")
}

// What has no price is listed, and in no sum.
func TestMissing(t *testing.T) {
	b := bill(t, strings.Replace(floor, "labour = \"40.00 per h\"\n", "", 1))
	want := []string{"no price given for epoxy-standard", "no price given for labour (33.0 hand-hours)", "no price given for disposal of liquid left over", "no price given for disposal of empty kits", "no equipment is priced"}
	if d := cmp.Diff(want, b.Missing); d != "" || b.Total.Minor != 0 || len(b.Lines) != 0 {
		t.Errorf("total %s (-want +got)\n%s", b.Total, d)
	}
	if _, err := money.Of(plan(t, floor[:strings.Index(floor, "[prices]")], builtin(t)), nil); !errors.Is(err, money.ErrNoPrices) {
		t.Errorf("no prices: %v", err)
	}
	if _, err := money.Of(&systems.Outcome{}, nil); err == nil {
		t.Error("an outcome of nowhere has a price")
	}
}

// A sum that does not fit is an error, not a wrong sum: 10^12 minor units per
// mL, 6 gal are 22 712 mL, times 900 floors.
func TestTooLarge(t *testing.T) {
	text := strings.Replace(floor, "900 ft2", "6000000 ft2", 1) + "[prices.materials]\nepoxy-standard = \"10000000000.00 per mL\"\n"
	for _, x := range []string{"450 ft2/h", "90 ft2/h", "225 ft2/h", "150 ft2/h"} {
		text = strings.Replace(text, x, "900000 ft2/h", 1)
	}
	if _, err := money.Of(plan(t, text, builtin(t)), nil); !errors.Is(err, money.ErrTooLarge) {
		t.Errorf("%v, want %v", err, money.ErrTooLarge)
	}
}

// Hours that no crew can have are an error too, and no draw without labour: past jobs
// of 20 times and a twentieth of the hours planned, in turn. Hostile, no source.
func TestHoursWithoutEnd(t *testing.T) {
	o := plan(t, floor, builtin(t))
	var past []systems.PastUse
	for i := range 50 {
		past = append(past, systems.PastUse{Job: fmt.Sprint(i), Scatter: systems.ScatterHours, Ratio: []units.Fraction{20, 0.05}[i%2]})
	}
	c, err := confidence.Of(context.Background(), o, confidence.Options{Draws: 10000, Workers: 2, Past: past})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := money.Of(o, c); err == nil || !strings.Contains(err.Error(), "look at the past jobs of hours") {
		t.Errorf("%v", err)
	}
}

// alone is [still.Catalog] of one scatter.
func alone(t testing.TB, id, lines string) *systems.Catalog {
	t.Helper()
	c, err := still.Catalog(map[string]string{id: lines})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// The draws' totals, where only the hours scatter, are the plan's with the hours at
// their levels: a triangle from 80 % to 120 % has 50 % at 1, and 90 % at
// 1.2 - 0.2 sqrt(0.2) = 1.110557, 80 % at 1.2 - 0.2 sqrt(0.4) = 1.073509.
// 33 h x 40.00 x those: 1320.00, 1417.03, 1465.94; all else 0. Tolerance: 0.3, of
// 2000 draws. The triangle's quantile: NIST/SEMATECH e-Handbook, from memory.
func TestDrawnTotals(t *testing.T) {
	c := alone(t, "hours", "shape = \"triangular\"\nmean = \"100 %\"\nlow = \"80 %\"\nhigh = \"120 %\"")
	o := plan(t, floor, c)
	r, err := confidence.Of(context.Background(), o, confidence.Options{Draws: 2000})
	if err != nil {
		t.Fatal(err)
	}
	b, err := money.Of(o, r)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct {
		got  money.Amount
		want float64
	}{{b.Drawn.P50, 1320}, {b.Drawn.P80, 1417.03}, {b.Drawn.P90, 1465.94}, {b.Drawn.Order50, 1320}, {b.Drawn.Order90, 1320}} {
		if got := float64(x.got.Minor) / 100; got < x.want-0.3 || got > x.want+0.3 {
			t.Errorf("%.2f, want %.2f", got, x.want)
		}
	}
	if len(b.Drawn.Drivers) != 1 || b.Drawn.Drivers[0].What != "hours" {
		t.Errorf("driven by %v, want the hours alone", b.Drawn.Drivers)
	}
	if d := strings.Join(b.Notes, " "); !strings.Contains(d, "No material has a price") {
		t.Errorf("notes %q", d)
	}
}

// Hours that are over do not scatter. At 10:00 on Tuesday floor's sounding and grinding
// are done as planned, 2 + 20 hand-hours; 4 + 7 are to come, and have the triangle of
// TestDrawnTotals: 22 + 11 x 1, x 1.073509 and x 1.110557, at 40.00.
func TestDrawnHoursToCome(t *testing.T) {
	c := alone(t, "hours", "shape = \"triangular\"\nmean = \"100 %\"\nlow = \"80 %\"\nhigh = \"120 %\"")
	o := plan(t, "now = \"27h\"\n"+floor+"[done.sound]\nstart = \"0h\"\nend = \"1h\"\n[done.grind]\nstart = \"1h\"\nend = \"27h\"\n", c)
	r, err := confidence.Of(context.Background(), o, confidence.Options{Draws: 2000})
	if err != nil {
		t.Fatal(err)
	}
	b, err := money.Of(o, r)
	if err != nil {
		t.Fatal(err)
	}
	if got := lines(b)[0]; got != "labour | hands | 33.000 h | 1320.00" {
		t.Errorf("%s, want 33 h", got)
	}
	for _, x := range []struct {
		got  money.Amount
		want float64
	}{{b.Drawn.P50, 1320}, {b.Drawn.P80, 1352.34}, {b.Drawn.P90, 1368.65}} {
		if got := float64(x.got.Minor) / 100; got < x.want-0.2 || got > x.want+0.2 {
			t.Errorf("%.2f, want %.2f", got, x.want)
		}
	}
}

// The levels of the demo's total rise, are the same for the same seed whatever the
// workers, and confidence of another plan is refused. Our own demo, no source.
func TestDemo(t *testing.T) {
	o := plan(t, string(systems.DemoJob()), builtin(t))
	var first []byte
	for _, workers := range []int{1, 2} {
		r, err := confidence.Of(context.Background(), o, confidence.Options{Draws: 2000, Workers: workers})
		if err != nil {
			t.Fatal(err)
		}
		b, err := money.Of(o, r)
		if err != nil {
			t.Fatal(err)
		}
		d := b.Drawn
		if !(d.P50.Minor < d.P80.Minor && d.P80.Minor < d.P90.Minor && d.Order50.Minor <= d.Order80.Minor && d.Order80.Minor <= d.Order90.Minor) {
			t.Errorf("%+v", d)
		}
		text, err := json.Marshal(b)
		if err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = text
		} else if !bytes.Equal(first, text) {
			t.Errorf("two workers:\n%s\none:\n%s", text, first)
		}
		if _, err := money.Of(plan(t, floor, builtin(t)), r); err == nil || !strings.Contains(err.Error(), "same plan") {
			t.Errorf("another plan's confidence: %v", err)
		}
	}
	// 224.749 lb of propane at 1.15 are 258.46; over a forecast of 8 days that is 32.31 a day.
	var fuel string
	b, err := money.Of(o, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range b.Lines {
		if l.For == money.Fuel {
			fuel = l.Quantity
			if want := int64(float64(l.Amount.Minor)/8 + 0.5); b.Day.Heat.Minor != want {
				t.Errorf("a day's heat %s, want %d", b.Day.Heat, want)
			}
		}
	}
	if !strings.HasSuffix(fuel, " lb") {
		t.Errorf("fuel %q, want it in lb", fuel)
	}
}
