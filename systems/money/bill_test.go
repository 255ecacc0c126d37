package money_test

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems/report"
)

// dairy is a floor in SI that can be reckoned on paper: liquids by the kit and by
// measure, grain, overtime, hands that wait, equipment and disposal, in a money of
// three digits. Place and numbers are our own; common practice, no source.
const dairy = `name = "churn room"
place = "Tarn End Dairy"
recipe = "quartz-broadcast@1.1.0"
start = "2026-05-04T07:00:00+02:00"
[areas.churn]
length = "10 m"
width = "8 m"
uptake = "0 um"
profile = "0 um"
[joints.saw]
length = "30 m"
width = "10 mm"
depth = "25 mm"
[steps.sound]
rate = "40 m2/h"
[steps.joint]
waste = "0 %"
pace = "15 m/h"
setup = "0m"
[steps.clean]
rate = "40 m2/h"
[steps.prime]
skip = true
[steps.body]
film = "0.6 mm"
waste = "0 %"
rate = "20 m2/h"
setup = "0m"
material = "epoxy-standard@1.1.0"
[steps.throw]
rate = "40 m2/h"
lag = "0m"
[steps.sweep]
rate = "40 m2/h"
[steps.grout]
skip = true
[steps.seal]
skip = true
[materials."epoxy-standard@1.1.0"]
kit = "10 L"
solids = "100 %"
[materials.joint-polyaspartic]
kit = "4 L"
solids = "100 %"
[materials.quartz-medium]
bag = "25 kg"
[crew]
hands = 2
from = "07:00"
to = "11:00"
[temperatures.slab]
"0h" = "18 °C"
[temperatures.air]
"0h" = "20 °C"
[temperatures.rh]
"0h" = "50 %"
[prices]
currency = "marks"
digits = 3
labour = "12.345 per h"
waiting = true
overtime = { after = "2h 30m", times = "125.5 %" }
[prices.materials]
epoxy-standard = "7.063 per L"
joint-polyaspartic = "61.750 per kit"
quartz-medium = "0.555 per kg"
[prices.equipment]
grinder = { price = "90.005 per day", days = 1 }
vacuum = { price = "21.335 per day" }
[prices.disposal]
left-over = "1.111 per L"
vacuumed = "0.017 per kg"
empties = "0.333 per kit"
`

// The bill of dairy, by hand.
//
// Joints: 30 m x 10 mm x 25 mm = 7.5 L: 2 kits of 4 L, 0.5 L left.
// Body: 80 m2 x 0.6 mm = 48 L: 5 kits of 10 L, 2 L left.
// Quartz: the film is as thick as a grain, 0.6 mm, so it rises through a bed packed at
// 55 %: 2650 x 0.0006 x 0.55/0.45 = 1.943333 kg/m2 stay (NCHRP Synthesis 423 has the
// balance of volumes), on 80 m2 155.4667 kg, which are 70 % of 222.0952 kg: 9 bags of
// 25 kg; 66.6286 kg are vacuumed back.
//
// Hand-hours: sound 80/40 = 2, joints 30/15 = 2, clean 2, body 80/20 = 4, throw 2,
// sweep 2: 14. Two hands from 07:00 to 11:00: sound and joints on Monday to 09:00; clean
// begins when the joints can be ground, and goes over into Tuesday, on which body
// and throw follow in 3 h; sweep on Wednesday, when the coat is hard. Beyond 2.5 h a
// hand are all hours of Monday and Tuesday but 5 each: 4 + 2 + 6 - 10 = 2, as long as
// clean has over 0.5 h on Monday. Waiting: 3 shifts of 8 hand-hours less 14 = 10.
func TestBillInSI(t *testing.T) {
	b := bill(t, dairy)
	want := []string{
		"material | joint-polyaspartic@1.2.0 | 2 kit | 123.500",    // 2 x 61.750
		"material | epoxy-standard@1.1.0 | 50.000 L | 353.150",     // 50 x 7.063
		"material | quartz-medium@1.0.0 | 225.000 kg | 124.875",    // 225 x 0.555
		"labour | hands | 12.000 h | 148.140",                      // 12 x 12.345
		"overtime | hands, beyond 2h 30m a day | 2.000 h | 30.986", // 12.345 x 1.255 = 15.492975, 15.493; x 2
		"waiting | hands that wait | 10.000 h | 123.450",           // 10 x 12.345
		"equipment | grinder | 1 day | 90.005",                     //
		"equipment | vacuum | 3 day | 64.005",                      // 3 x 21.335
		"disposal | liquid left over | 2.500 L | 2.778",            // 2.5 x 1.111 = 2.7775
		"disposal | grain vacuumed back | 66.629 kg | 1.133",       // 66.629 x 0.017 = 1.132693
		"disposal | empty kits | 7 kit | 2.331",                    // 7 x 0.333
	}
	// 123.500 + 353.150 + 124.875 + 148.140 + 30.986 + 123.450 + 90.005 + 64.005 + 2.778 + 1.133 + 2.331 = 1064.353
	if d := cmp.Diff(want, lines(b)); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
	// 1064.353/80 = 13.30441; 80 m2 = 861.113 ft2: 1064.353/861.113 = 1.236020
	if b.Total.String() != "1064.353" || b.PerM2.String() != "13.304" || b.PerFt2.String() != "1.236" || b.Days != 3 || len(b.Missing) != 0 {
		t.Errorf("total %s, %s per m2, %s per ft2, %d days, missing %q", b.Total, b.PerM2, b.PerFt2, b.Days, b.Missing)
	}
	// One more day, by planning it: the sweep waits for Thursday. 21.335 for the vacuum and
	// 8 hand-hours that wait, 98.760, and nothing else.
	later := bill(t, strings.Replace(dairy, "[steps.sweep]", "[steps.sweep]\nnot_before = \"2026-05-07T07:00:00+02:00\"", 1))
	if d := later.Total.Minor - b.Total.Minor; d != b.Day.Total.Minor || b.Day.Total.String() != "120.095" || later.Days != 4 {
		t.Errorf("a day later it costs %d more, on %d days; one more day %+v", d, later.Days, b.Day)
	}
}

// A money without minor digits: each line of dairy rounds half away from zero on its
// own, and the total is the sum of the lines as they stand. 9 x 14 = 126; 12 x 12 = 144;
// an overtime hour 12 x 1.255 = 15.06, 15; 2.5 L x 1 = 2.5, 3; 66.629 x 0 = 0.
func TestBillWithoutMinorDigits(t *testing.T) {
	b := bill(t, strings.NewReplacer("digits = 3", "digits = 0", "12.345 per h", "12 per h", "7.063 per L", "7 per L", "61.750 per kit", "62 per kit", "0.555 per kg", "14 per bag",
		"90.005", "90", "21.335", "21", "1.111", "1", "0.017", "0", "0.333", "1").Replace(dairy))
	want := []string{"124", "350", "126", "144", "30", "120", "90", "63", "3", "0", "7"} // 1057
	var got []string
	for _, l := range b.Lines {
		got = append(got, l.Amount.String())
	}
	if d := cmp.Diff(want, got); d != "" || b.Total.String() != "1057" || b.PerM2.String() != "13" { // 1057/80 = 13.2
		t.Errorf("total %s, %s per m2 (-want +got)\n%s", b.Total, b.PerM2, d)
	}
}

// The text and the JSON of a bill have the same lines, in the same order, and the same
// sums. Two routes to one bill, no source.
func TestTextAndJSONAgree(t *testing.T) {
	o := plan(t, dairy, builtin(t))
	b := bill(t, dairy)
	var text bytes.Buffer
	if err := report.WriteMoney(&text, o, b, units.SI); err != nil {
		t.Fatal(err)
	}
	whole, err := json.Marshal(b)
	if err != nil {
		t.Fatal(err)
	}
	var read struct {
		Total string
		PerM2 string `json:"per_m2"`
		Lines []struct{ For, What, Quantity, Price, Amount string }
	}
	if err := json.Unmarshal(whole, &read); err != nil {
		t.Fatal(err)
	}
	rest := strings.Join(strings.Fields(text.String()), " ")
	for _, l := range read.Lines {
		_, after, ok := strings.Cut(rest, l.Amount+" "+l.For+": "+l.What+", "+l.Quantity+" at "+l.Price)
		if rest = after; !ok {
			t.Fatalf("the text has no line %+v\n%s", l, text.String())
		}
	}
	if !strings.HasPrefix(rest, " "+read.Total+" total; "+read.PerM2+" marks per m2 of floor") {
		t.Errorf("after the lines: %q; want %s, %s per m2", rest, read.Total, read.PerM2)
	}
}

// dairy on Tuesday at 12:00, its joints, cleaning, body and quartz done: hands that
// spread and throw at the same time are paid once. As planned, the two in 3 h, the
// labour is that of the plan, 14 hand-hours; in 3 h 30 m it is
// one hand-hour more, whoever of them was slower. By hand, no source.
func TestHandsAreOneCrew(t *testing.T) {
	done := func(end string) string {
		return "now = \"29h\"\n" + dairy + "[done.sound]\nstart = \"0h\"\nend = \"1h\"\n[done.joint]\nstart = \"1h\"\nend = \"2h\"\n[done.clean]\nstart = \"3h 30m\"\nend = \"24h 30m\"\n" +
			"[done.body]\nstart = \"24h 30m\"\nend = \"" + end + "\"\n[done.throw]\nstart = \"24h 30m\"\nend = \"" + end + "\"\n"
	}
	for end, want := range map[string]string{"27h 30m": "12.000 h 2.000 h 10.000 h", "28h": "12.000 h 3.000 h 9.000 h"} {
		var got []string
		for _, l := range bill(t, done(end)).Lines {
			if strings.HasSuffix(l.Quantity, " h") {
				got = append(got, l.Quantity)
			}
		}
		if hours := strings.Join(got, " "); hours != want {
			t.Errorf("until %s: plain, overtime and waiting %s, want %s", end, hours, want)
		}
	}
}
