package systems_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/systems"
)

// Prices that are none: each is an error with its line and what is wanted; none is
// read as another. Hostile texts of our own, no source.
func TestPriceErrors(t *testing.T) {
	for _, tc := range []struct{ lines, key, want string }{
		{`labour = "12.345 per h"`, "prices.labour", "at most 2 more"},
		{`labour = "-12.00 per h"`, "prices.labour", "no sign, comma"},
		{`labour = "+12.00 per h"`, "prices.labour", "no sign, comma"},
		{`labour = "12,50 per h"`, "prices.labour", "no sign, comma"},
		{`labour = "1 200.00 per h"`, "prices.labour", "no sign, comma"},
		{`labour = "1e3 per h"`, "prices.labour", "no sign, comma"},
		{`labour = "NaN per h"`, "prices.labour", "no sign, comma"},
		{`labour = "١٢ per h"`, "prices.labour", "no sign, comma"},
		{`labour = "12. per h"`, "prices.labour", "behind a point"},
		{`labour = ".50 per h"`, "prices.labour", "behind a point"},
		{`labour = "1.2.3 per h"`, "prices.labour", "no sign, comma"},
		{`labour = " per h"`, "prices.labour", "behind a point"},
		{`labour = ""`, "prices.labour", `such as "118.00 per h"`},
		{`labour = "12.00"`, "prices.labour", `such as "118.00 per h"`},
		{`labour = "12.00 per hour"`, "prices.labour", "want per one of h"},
		{`labour = "99999999999999999999999999 per h"`, "prices.labour", "at most 10^12"},
		{`labour = "10000000000.01 per h"`, "prices.labour", "at most 10^12"},
		{`labour = 12.5`, "prices.labour", "text"},
		{`digits = 5`, "prices.digits", "want 0 to 4"},
		{"digits = 0\nlabour = \"12.5 per h\"", "prices.labour", "want whole digits"},
		{`waiting = true`, "prices.waiting", "the price of an hour too"},
		{"labour = \"1 per h\"\n[prices.overtime]\nafter = \"8h\"", "prices.overtime", "want both"},
		{"labour = \"1 per h\"\n[prices.overtime]\nafter = \"25h\"\ntimes = \"150 %\"", "prices.overtime.after", "want 0h to 24h"},
		{"labour = \"1 per h\"\n[prices.overtime]\nafter = \"8h\"\ntimes = \"50 %\"", "prices.overtime.times", "want 100 %"},
		{"[prices.overtime]\nafter = \"8h\"\ntimes = \"150 %\"", "prices.overtime", "the price of an hour too"},
		{"[prices.materials]\nepoxy-standart = \"1.00 per kit\"", "prices.materials.epoxy-standart", "epoxy-standard"},
		{"[prices.materials]\nepoxy-standard = \"1.00 per bag\"", "prices.materials.epoxy-standard", "want per one of kit"},
		{"[prices.materials]\nquartz-medium = \"1.00 per gal\"", "prices.materials.quartz-medium", "want per one of bag"},
		{"[prices.fuels]\npropan = \"1.00 per lb\"", "prices.fuels.propan", "propane"},
		{"[prices.fuels]\nelectricity = \"1.00 per lb\"", "prices.fuels.electricity", "kWh"},
		{"[prices.equipment]\ngrinder = { price = \"1.00 per h\" }", "prices.equipment.grinder.price", "want per one of day"},
		{"[prices.equipment]\ngrinder = { days = 2 }", "prices.equipment.grinder", `such as "118.00 per day"`},
		{"[prices.equipment]\ngrinder = { price = \"1.00 per day\", days = 0 }", "prices.equipment.grinder.days", "want 1 to 10000"},
		{"[prices.disposal]\npaint = \"1.00 per gal\"", "prices.disposal.paint", "left-over"},
		{"[prices.disposal]\nvacuumed = \"1.00 per gal\"", "prices.disposal.vacuumed", "want per one of"},
		{"labor = \"1.00 per h\"", "prices.labor", "labour"},
	} {
		_, err := systems.ReadJob(strings.NewReader(baseJob+"[prices]\n"+tc.lines+"\n"), builtin(t))
		var f *systems.FileError
		if !errors.As(err, &f) || !strings.Contains(err.Error(), tc.want) || !strings.Contains(err.Error(), tc.key) || f.Line < strings.Count(baseJob, "\n") {
			t.Errorf("%q:\n got %v\nwant %s ... %q", tc.lines, err, tc.key, tc.want)
		}
	}
}

// A kit's own price is a decimal of the same money, and the only one that its
// material has. Hostile prices of our own, no source.
func TestKitPriceErrors(t *testing.T) {
	for _, tc := range []struct{ prices, pail, key, want string }{
		{"", "195.005", "materials.epoxy-standard@1.2.0.kits.pail.price", `found amount "195.005": want digits, and behind a point at most 2 more`},
		{"", "0.004", "materials.epoxy-standard@1.2.0.kits.pail.price", "at most 2 more"},
		{"", "1e-9", "materials.epoxy-standard@1.2.0.kits.pail.price", "at most 2 more"},
		{"digits = 0", "195.5", "materials.epoxy-standard@1.2.0.kits.pail.price", "want whole digits"},
		{"digits = 4", "999999999", "materials.epoxy-standard@1.2.0.kits.pail.price", "at most 10^12"},
		{"", "-1", "materials.epoxy-standard@1.2.0.kits.pail.price", "want 0 (not known) to 1000000000"},
		{"", "nan", "materials.epoxy-standard@1.2.0.kits.pail.price", "want 0 (not known) to 1000000000"},
		{"", "inf", "materials.epoxy-standard@1.2.0.kits.pail.price", "want 0 (not known) to 1000000000"},
		{"[prices.materials]\nepoxy-standard = \"65.00 per gal\"", "195", "materials.epoxy-standard@1.2.0.kits.pail.price", `found 195 beside prices.materials.epoxy-standard = "65.00 per gal": want one of them`},
		{"[prices.materials]\n\"epoxy-standard@1.2.0\" = \"65.00 per gal\"", "195", "materials.epoxy-standard@1.2.0.kits.pail.price", "want one of them"},
	} {
		_, err := systems.ReadJob(strings.NewReader(baseJob+"[prices]\n"+tc.prices+"\n[materials.\"epoxy-standard@1.2.0\".kits.pail]\nprice = "+tc.pail+"\n[materials.\"epoxy-standard@1.2.0\".kits.drum]\nprice = 870\n"), builtin(t))
		var f *systems.FileError
		if !errors.As(err, &f) || !strings.Contains(err.Error(), tc.want) || !strings.Contains(err.Error(), tc.key) || f.Line < strings.Count(baseJob, "\n") {
			t.Errorf("%s, %s:\n got %v\nwant %s ... %q", tc.prices, tc.pail, err, tc.key, tc.want)
		}
	}
}

// The price of a version stands beside that of the kits of its name too. Our own, no source.
func TestKitPriceOfVersion(t *testing.T) {
	_, err := systems.ReadJob(strings.NewReader(baseJob+"[prices]\n[prices.materials]\n\"epoxy-standard@1.2.0\" = \"65.00 per gal\"\n[materials.epoxy-standard.kits.pail]\nprice = 195\n[materials.epoxy-standard.kits.drum]\nprice = 870\n"), builtin(t))
	if want := `materials.epoxy-standard.kits.pail.price: found 195 beside prices.materials.epoxy-standard@1.2.0 = "65.00 per gal": want one of them`; err == nil || !strings.Contains(err.Error(), want) {
		t.Errorf("got %v, want %q", err, want)
	}
}

// Prices are read exactly: what a float would lose is kept. Decimal arithmetic.
func TestPricesExact(t *testing.T) {
	for _, tc := range []struct {
		digits int
		text   string
		minor  int64
	}{{2, "0.29 per h", 29}, {2, "1.1 per h", 110}, {2, "10000000000.00 per h", 1_000_000_000_000}, {0, "7 per h", 7}, {4, "0.0001 per h", 1}, {3, "0.007 per h", 7}, {2, "0 per h", 0}, {2, "007.50 per h", 750}} {
		o := planOf(t, fmt.Sprintf("%s[prices]\ndigits = %d\nlabour = %q\n", baseJob, tc.digits, tc.text))
		w, err := o.Working()
		if err != nil || w.Prices == nil || w.Prices.Labour.Minor != tc.minor {
			t.Errorf("%s with %d digits: %+v, %v; want %d", tc.text, tc.digits, w.Prices, err, tc.minor)
		}
	}
	if w, err := planOf(t, baseJob).Working(); err != nil || w.Prices != nil {
		t.Errorf("a job without prices: %+v, %v", w.Prices, err)
	}
}

// Past jobs are ratios of two amounts of one kind, and nothing else.
func TestPast(t *testing.T) {
	for _, tc := range []struct{ lines, want string }{
		{`waste = { planned = "1 gal", used = "2 lb" }`, "want two amounts of one kind"},
		{`waste = { planned = "1 gal" }`, "want two amounts of one kind"},
		{`waste = { planned = "1", used = "2" }`, "want two amounts of one kind"},
		{`waste = { planned = "0 gal", used = "2 gal" }`, "want both above nothing"},
		{`waste = { planned = "1 gal", used = "21 gal" }`, "at most 20 times the other"},
		{`wast = { planned = "1 gal", used = "2 gal" }`, "waste"},
		{`waste = "2 gal"`, "table"},
	} {
		_, err := systems.ReadJob(strings.NewReader(baseJob+"[past.a]\n"+tc.lines+"\n"), builtin(t))
		var f *systems.FileError
		if !errors.As(err, &f) || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s:\n got %v\nwant %q", tc.lines, err, tc.want)
		}
	}
	w, err := planOf(t, baseJob+`[past.barn]
waste = { planned = "4 L", used = "1.5 gal" }
hours = { planned = "10h", used = "12h 30m" }
[past.shed]
patch-depth = { planned = "20 mm", used = "25 mm" }
`).Working()
	if err != nil || len(w.Past) != 3 {
		t.Fatalf("%+v, %v", w.Past, err)
	}
	for i, want := range []struct {
		job, id string
		ratio   float64 // 1.5 gal = 5.678118 L
	}{{"barn", "waste", 1.4195294}, {"barn", "hours", 1.25}, {"shed", "patch-depth", 1.25}} {
		if p := w.Past[i]; p.Job != want.job || p.Scatter != want.id || math.Abs(float64(p.Ratio)-want.ratio) > 1e-6 {
			t.Errorf("%+v, want %+v", p, want)
		}
	}
}

// The stints add up to the schedule's hours, day by day in the shifts. The job's
// grinding, 800 ft2 at 300 ft2/h a hand with two grits, hands = 2: 5.33 hand-hours,
// 2 h 40 m of the crew, and 30 m of setting up for both. Arithmetic.
func TestStints(t *testing.T) {
	for _, text := range []string{strings.Replace(baseJob, "[crew]", "[grind]\ngrits = [\"30\", \"60\"]\n[crew]", 1), string(systems.DemoJob()),
		strings.NewReplacer("from = \"07:00\"", "from = \"21:00\"", "to = \"17:00\"", "to = \"05:00\"", "hands = 3", "hands = 1").Replace(baseJob)} {
		o := planOf(t, text)
		w, err := o.Working()
		if err != nil {
			t.Fatal(err)
		}
		by := map[string]time.Duration{}
		for _, s := range w.Stints {
			by[s.Step] += s.Hands
			inside := false
			for _, d := range w.Days {
				inside = inside || d.Equal(s.Day)
			}
			if !inside || s.Hands <= 0 {
				t.Errorf("%s: %v on %v, which is no day on site", s.Step, s.Hands, s.Day)
			}
			if s.Hands > 3*24*time.Hour {
				t.Errorf("%s: %v on one day", s.Step, s.Hands)
			}
		}
		for _, x := range o.Schedule {
			if crew := x.Crew.Duration(); crew > 0 && (by[x.Step] < crew || by[x.Step] > 3*crew*time.Duration(o.Sections)) {
				t.Errorf("%s: %v of hand-hours for %v of the crew", x.Step, by[x.Step], crew)
			}
		}
		if strings.Contains(text, `grits = ["30", "60"]`) && strings.Contains(text, "800 ft2") {
			if got := by["grind"].Minutes(); math.Abs(got-(320+60)) > 0.1 {
				t.Errorf("grinding %.2f hand-minutes, want 380", got)
			}
		}
	}
}

// Hands that wait for so long that no Duration holds their hours are an error, and
// never less than nothing. Source: int64 nanoseconds hold 2.56 million hours.
func TestPaidHolds(t *testing.T) {
	var p systems.Prices
	for days, ok := range map[int]bool{106: true, 107: false} { // of 24000 hand-hours
		_, _, wait, err := p.Paid(make([]time.Duration, days), slices.Repeat([]bool{true}, days), 1000, 24*time.Hour)
		if want := time.Duration(days) * 24000 * time.Hour; (err == nil) != ok || ok && wait != want {
			t.Errorf("%d days: %v, %v", days, wait, err)
		}
	}
}
