package main

import (
	"bytes"
	"fmt"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/cli/clitest"
)

// Events and nights of these tests are of our own invention, worked by hand
// (common practice, no source).
const (
	evenSheet = `name = "Even coat"
[events.even] # the same at all temperatures: no energy, no scatter
"50 °F" = "10h"
"60 °F" = "10h"
"70 °F" = "10h"
[events.open]
"50 °F" = "22h"
"60 °F" = "14h"
[events.shut]
"50 °F" = "60h"
"60 °F" = "40h"
[windows.recoat]
opens = "open"
closes = "shut"
`
	steadyNight = `start = "2026-04-10T18:00:00-05:00"
[temperatures]
"0h" = "60 °F"
"12h" = "60 °F"
`
)

func file(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func out(t *testing.T, code int, sheet, night string, args ...string) string {
	t.Helper()
	return clitest.Main(run).Out(t, code, append([]string{"-sheet", file(t, "sheet.toml", sheet), "-night", file(t, "night.toml", night)}, args...)...)
}

// row returns the cells of a line that begins with name.
func row(t *testing.T, got, name string) string {
	t.Helper()
	for line := range strings.Lines(got) {
		if strings.HasPrefix(line, name+" ") {
			return strings.Join(strings.Fields(line), " ")
		}
	}
	t.Fatalf("no line %q in %q", name, got)
	return ""
}

// Held at 60 °F the rows of 60 °F are the times: 18:00 and 10, 14 and 40 h. The
// night is known for 12 h.
func TestEvenNight(t *testing.T) {
	got := out(t, 0, evenSheet, steadyNight, "-by", "07:00", "-now", "20h")
	for name, want := range map[string]string{
		"even": "even Sat 04:00 10h Sat 04:00 to Sat 04:00 rows",
		"open": "open Sat 08:00 14h not known: two rows held",
		"shut": "shut Sun 10:00 1d16h not known: two rows held",
	} {
		if have := row(t, got, name); have != want {
			t.Errorf("%q, want %q", have, want)
		}
	}
	// By 07:00, 13 h after the start: begun 3 h after it, or 1 h before it.
	clitest.Want(t, got, "even by Sat 07:00: start Fri 21:00 at the latest; for the late end of its interval Fri 21:00\n")
	clitest.Want(t, got, "open by Sat 07:00: start Fri 10 Apr 2026 17:00 at the latest (before the first reading, which is held)\n")
	clitest.Want(t, got, "recoat: open Sat 08:00 to Sun 10:00, for 1d2h\n")
	clitest.Want(t, got, "recoat: at Sat 14:00 open for another 20h\n")
	if strings.Contains(got, "shut by") { // nobody waits for a window to close
		t.Errorf("%q", got)
	}
	clitest.Want(t, out(t, 0, evenSheet, steadyNight, "-now", "13h"), "recoat: at Sat 07:00 opens in 1h, closes in 1d3h\n")
	clitest.Want(t, out(t, 0, evenSheet, steadyNight, "-now", "43h"), "recoat: at Sun 13:00 closed for 3h\n")
	if one := out(t, 0, evenSheet, steadyNight, "-by", "2026-04-11T07:00:00-05:00", "-event", "shut"); !strings.Contains(one, "shut by Sat 07:00: start Thu 9 Apr 2026 15:00") || strings.Contains(one, "even by") {
		t.Errorf("%q", one)
	}
	// Begun 2 h later all come 2 h later.
	clitest.Want(t, row(t, out(t, 0, evenSheet, steadyNight, "-from", "2h"), "even"), "Sat 06:00 10h")
	// With the ends changed about it closes before it opens.
	clitest.Want(t, out(t, 0, strings.NewReplacer(`opens = "open"`, `opens = "shut"`, `closes = "shut"`, `closes = "open"`).Replace(evenSheet), steadyNight), "recoat: never open: it would close Sat 08:00, before it opens Sun 10:00")
}

// The interval of three rows by the prediction interval of simple regression
// (NIST/SEMATECH e-Handbook 4.5.2.1) with t(0.975, 1) = 12.706; that of two by
// their line, 1.96 K colder and warmer. Printed to the minute.
func TestIntervals(t *testing.T) {
	sheet := "[events.three]\n\"50 °F\" = \"20h\"\n\"60 °F\" = \"13h\"\n\"70 °F\" = \"8h20m\"\n[events.two]\n\"50 °F\" = \"22h\"\n\"70 °F\" = \"10h\"\n"
	kelvin := func(f float64) float64 { return (f-32)/1.8 + 273.15 }
	x := []float64{1 / kelvin(50), 1 / kelvin(60), 1 / kelvin(70)}
	y := []float64{math.Log(20), math.Log(13), math.Log(8 + 1./3)}
	mx, my := (x[0]+x[1]+x[2])/3, (y[0]+y[1]+y[2])/3
	sxx, sxy := 0.0, 0.0
	for i := range x {
		sxx += (x[i] - mx) * (x[i] - mx)
		sxy += (x[i] - mx) * (y[i] - my)
	}
	b, ss := sxy/sxx, 0.0
	for i := range x {
		r := y[i] - my - b*(x[i]-mx)
		ss += r * r
	}
	mid := my + b*(x[1]-mx)
	half := 12.7062 * math.Sqrt(ss*(1+1./3+(x[1]-mx)*(x[1]-mx)/sxx))
	start := time.Date(2026, 4, 10, 18, 0, 0, 0, time.UTC)
	at := func(lnHours float64) string {
		return start.Add(time.Duration(math.Exp(lnHours) * float64(time.Hour))).Round(time.Minute).Format("Mon 15:04")
	}
	got := out(t, 0, sheet, steadyNight)
	clitest.Want(t, row(t, got, "three"), fmt.Sprintf("%s to %s rows", at(mid-half), at(mid+half)))
	clitest.Want(t, row(t, got, "three"), "three "+at(mid))

	line := func(k float64) float64 {
		return math.Log(22) + (1/k-x[0])/(x[2]-x[0])*(math.Log(10)-math.Log(22))
	}
	got = out(t, 0, sheet, steadyNight, "-within", "1 K")
	clitest.Want(t, row(t, got, "two"), fmt.Sprintf("%s to %s forecast alone: two rows", at(line(kelvin(60)+1.959964)), at(line(kelvin(60)-1.959964))))
	clitest.Want(t, row(t, got, "three"), "rows and forecast")
	fore := 1.959964 * b / (kelvin(60) * kelvin(60)) // d ln t = b d(1/T)
	both := math.Hypot(half, fore)
	clitest.Want(t, row(t, got, "three"), fmt.Sprintf("%s to %s rows and forecast", at(mid-both), at(mid+both)))
}

// Of two rows the late end is their line 1.96 K colder, and the latest start for
// it that much before the time asked for; the safe ends of a window likewise.
func TestSafeEnds(t *testing.T) {
	kelvin := func(f float64) float64 { return (f-32)/1.8 + 273.15 }
	hours := func(cold, warm, d float64) float64 { // of rows at 50 and 70 °F, at 60 °F and d
		share := (1/(kelvin(60)+d) - 1/kelvin(50)) / (1/kelvin(70) - 1/kelvin(50))
		return math.Exp(math.Log(cold) + share*math.Log(warm/cold))
	}
	sheet := func(shutCold, shutWarm string) string {
		return "[events.open]\n\"50 °F\" = \"22h\"\n\"70 °F\" = \"10h\"\n[events.shut]\n\"50 °F\" = \"" + shutCold + "\"\n\"70 °F\" = \"" + shutWarm + "\"\n[windows.w]\nopens = \"open\"\ncloses = \"shut\"\n"
	}
	const d = 1.959964
	start := time.Date(2026, 4, 10, 18, 0, 0, 0, time.UTC)
	at := func(h float64) string {
		return start.Add(time.Duration(h * float64(time.Hour))).Round(time.Minute).Format("Mon 15:04")
	}
	got := out(t, 0, sheet("60h", "30h"), steadyNight, "-within", "1 K", "-by", "30h")
	clitest.Want(t, got, "by the safe ends of both intervals "+at(hours(22, 10, -d))+" to "+at(hours(60, 30, d))+"\n")
	clitest.Want(t, got, "for the late end of its interval "+at(30-hours(22, 10, -d))+"\n")
	clitest.Want(t, out(t, 0, sheet("23h", "10h30m"), steadyNight, "-within", "1 K"), "by the safe ends of both intervals not at all\n")
	// Known for 15 h, the event of 14h50m comes within that, its late end after it.
	clitest.Want(t, row(t, out(t, 0, sheet("60h", "30h"), strings.ReplaceAll(steadyNight, "12h", "15h"), "-within", "1 K"), "open"), "held for the late end")
}

// The curves begin at 0 % and end at 100 %, or at the end of the picture; it
// goes on an hour after the last event. All times are the same at any temperature.
func TestShown(t *testing.T) {
	even := strings.NewReplacer("22h", "14h", "60h", "40h", "\"60 °F\" = \"14h\"", "\"70 °F\" = \"14h\"", "\"60 °F\" = \"40h\"", "\"70 °F\" = \"40h\"").Replace(evenSheet)
	s, err := readSheet("sheet.toml", []byte(even))
	if err != nil {
		t.Fatal(err)
	}
	h, err := readHistory("night.toml", []byte(steadyNight))
	if err != nil {
		t.Fatal(err)
	}
	w := wishes{within: 1, given: map[string]bool{}}
	for _, hours := range []time.Duration{0, 20} {
		if hours > 0 {
			w.given["hours"] = true
		}
		w.hours = units.Span(hours * time.Hour)
		all, err := w.answers(s, h, time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		n, err := w.shown(s, h, all, time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		if hours > 0 && n.To != 20*time.Hour || hours == 0 && n.To.Round(time.Second) != 42*time.Hour {
			t.Errorf("to %v", n.To)
		}
		for i, want := range []time.Duration{11, 15, 41} {
			e := n.Events[i]
			last := e.Curve[len(e.Curve)-1]
			end, share := want*time.Hour, 1.0
			if n.To < end {
				end, share = n.To, 19./40 // 19 h of 40 are gone
			}
			if e.Curve[0].At != time.Hour || e.Curve[0].Share != 0 || last.At-end > time.Second || end-last.At > time.Second || math.Abs(float64(last.Share)-share) > 1e-6 {
				t.Errorf("%s: %v to %v, want %v %v", e.Name, e.Curve[0], last, end, share)
			}
			if !e.Reached || e.Lo != all[i].Lo || e.Hi != all[i].Hi || e.Hi < e.At || e.Hi == 0 {
				t.Errorf("%s: %v %v %v", e.Name, e.Lo, e.At, e.Hi)
			}
		}
		for hi, want := range map[time.Duration]time.Duration{45: 45, 100: 51} { // 100 h goes on beyond a quarter of the way of 40 h
			late := slices.Clone(all)
			late[2].Hi = hi * time.Hour
			if n, err := w.shown(s, h, late, time.Hour); err != nil || hours == 0 && n.To.Round(time.Second) != want*time.Hour {
				t.Errorf("interval to %d h: shown to %v, want %d h; %v", hi, n.To, want, err)
			}
		}
		if len(n.Windows) != 1 || n.Windows[0].From != n.Events[1].At || n.Windows[0].To != n.Events[2].At {
			t.Errorf("%v", n.Windows)
		}
	}
}

// The demo's night, logged, tells what it tells forecast; its CSV also takes
// the unit at every reading.
func TestLogged(t *testing.T) {
	want := clitest.Main(run).Out(t, 0, "-demo", "-within", "2 degF")
	_, want, _ = strings.Cut(want, "coldest") // below the head, which names the place
	got := clitest.Main(run).Out(t, 0, "-sheet", "sheet.toml", "-night", "night.csv", "-within", "2 degF")
	clitest.Want(t, got, want)
	text := file(t, "night.csv", "\ufefftime,temperature\n2026-04-10T18:00:00-05:00, 60 °F\n\n2026-04-11T06:00:00-05:00,288.7055555555 K\n")
	clitest.Want(t, clitest.Main(run).Out(t, 0, "-sheet", file(t, "s.toml", evenSheet), "-night", text), "even   Sat 04:00  10h")
}

// Colder than the rows is an error without -beyond; with it two rows wait.
func TestBeyond(t *testing.T) {
	cold := strings.ReplaceAll(steadyNight, "60 °F", "45 °F")
	clitest.Want(t, out(t, 1, evenSheet, cold), "even: the night leaves the rows of the sheet (cure.Arrhenius: temp = 7.2")
	got := out(t, 0, evenSheet, cold, "-beyond", "-by", "40h")
	clitest.Want(t, row(t, got, "even"), "Sat 04:00 10h")
	clitest.Want(t, row(t, got, "open"), "never held: no progress at it")
	clitest.Want(t, row(t, got, "shut"), "Mon 06:00 2d12h") // no longer than at 50 °F
	clitest.Want(t, got, "recoat: never opens")
	clitest.Want(t, got, "open by Sun 10:00: no start is early enough")
	clitest.Want(t, got, "beyond the rows")
}

func TestRefused(t *testing.T) {
	swap := strings.Replace
	for _, tc := range []struct{ sheet, night, want string }{
		{swap(evenSheet, `"60 °F" = "14h"`, `"60 °F" = "14"`, 1), steadyNight, `sheet.toml:8: events.open.60 °F: `},
		{swap(evenSheet, `"60 °F" = "14h"`, `"60" = "14h"`, 1), steadyNight, `sheet.toml:8: events.open.60: `},
		{swap(evenSheet, `"60 °F" = "14h"`, `"60 °F" = "0h"`, 1), steadyNight, `events.open.60 °F: found "0h": want a time above zero`},
		{swap(evenSheet, `"60 °F" = "14h"`, ``, 1), steadyNight, `sheet.toml:6: events.open: found 1 rows: want 2 or more`},
		{swap(evenSheet, `"60 °F" = "14h"`, `"10 °C" = "14h"`, 1), steadyNight, `sheet.toml:6: events.open: `},
		{swap(evenSheet, `"50 °F" = "10h"`, `"50 °F" = "1h"`, 1), steadyNight, `sheet.toml:2: events.even: the line through its rows: `},
		{swap(evenSheet, `opens = "open"`, `opens = "opne"`, 1), steadyNight, `sheet.toml:13: windows.recoat.opens: found "opne": want one of the events even, open, shut`},
		{swap(evenSheet, `opens = "open"`, `opens = "shut"`, 1), steadyNight, `windows.recoat.closes: found "shut", which opens it too`},
		{evenSheet + "[windows.late]\nopens = \"shut\"\ncloses = \"even\"\n", steadyNight, `sheet.toml:16: windows.late.opens: found "shut", which closes a window`},
		{swap(evenSheet, `opens`, `begins`, 1), steadyNight, `sheet.toml:13: windows.recoat.begins: `},
		{swap(evenSheet, `"Even coat"`, `"a\nb"`, 1), steadyNight, `sheet.toml:1: name: found the text "a\nb"`},
		{`name = "none"`, steadyNight, `sheet.toml: events: found 0 events: want 1 to 8`},
		{evenSheet, swap(steadyNight, `-05:00`, ``, 1), `night.toml:1: start: found "2026-04-10T18:00:00": want a time with its offset`},
		{evenSheet, swap(steadyNight, `"0h"`, `"1h"`, 1), `night.toml:3: temperatures.1h: found the first reading at 1h: want it at 0h`},
		{evenSheet, swap(steadyNight, `"12h"`, `"0.0h"`, 1), `night.toml:4: temperatures.0.0h: found a time that is not after`},
		{evenSheet, swap(steadyNight, `"60 °F"`, `"60 F"`, 1), `night.toml:3: temperatures.0h: `},
		{evenSheet, swap(steadyNight, `"60 °F"`, `"600 °F"`, 1), `night.toml:3: temperatures.0h: found 315.6 °C: want -60 to 100 °C`},
		{evenSheet, swap(steadyNight, `"12h"`, `"100d"`, 1), `want one night, or some days`},
		{evenSheet, `start = "2026-04-10T18:00:00-05:00"`, `night.toml: temperatures: found none`},
	} {
		got := out(t, 1, tc.sheet, tc.night)
		clitest.Want(t, got, tc.want)
	}
	for text, want := range map[string]string{
		"":                              "night.csv: found no rows",
		"time,temperature °F\n":         "night.csv: found a head and no readings",
		"when,temperature °F\n":         `night.csv:1: head: found "when,temperature °F": want time,temperature °F`,
		"time,temperature °F\n18:00,60": `night.csv:2: time: found "18:00": want a time with its offset`,
		"time,temperature °F\n# a\n2026-04-10T18:00:00Z,sixty":                        `night.csv:3: temperature °F: found "sixty": want a number`,
		"time,temperature °F\n2026-04-10T18:00:00Z,NaN":                               `night.csv:2: temperature °F: `,
		"time,temperature\n2026-04-10T18:00:00Z,60":                                   `night.csv:2: temperature: `,
		"time,temperature °F\n2026-04-10T18:00:00Z,60,1":                              "night.csv:2: row: found 3 columns: want 2",
		"time,temperature °F\n2026-04-10T18:00:00Z,60\n2026-04-10T18:00:00Z,61":       "night.csv:3: time or temperature: found a time that is not after",
		"time,temperature °F\n\"2026-04-10T18:00:00Z,60":                              "night.csv:2: found a row that is no CSV",
		"time,temperature °C\n2026-04-10T18:00:00Z,60\n2026-04-10T19:00:00Z,150":      "night.csv:3: time or temperature: found 150 °C: want -60 to 100 °C",
		"time,temperature °F\n0001-01-01T00:00:00Z,60\n9999-01-01T00:00:00Z,60\n":     "night.csv:3: time or temperature: found a reading more than 60 days",
		"time,temperature °F\n2026-04-10T18:00:00Z,60\n2026-04-10T17:00:00-05:00,1e9": "night.csv:3: ",
	} {
		clitest.Want(t, clitest.Main(run).Out(t, 1, "-sheet", "sheet.toml", "-night", file(t, "night.csv", text)), want)
	}
	for want, args := range map[string][]string{
		"want both, or -demo":               {"-sheet", "sheet.toml"},
		"found -demo beside":                {"-demo", "-night", "night.csv"},
		"found -times beside":               {"-demo", "-times", "50 °F=2h"},
		"found -within: want":               {"-within", "1 K"},
		"found -width: want -picture":       {"-demo", "-width", "1 ft"},
		"want .csv or .toml":                {"-sheet", "sheet.toml", "-night", "main.go"},
		"none.toml":                         {"-sheet", "none.toml", "-night", "night.csv"},
		"want 0 to 20 K":                    {"-demo", "-within", "30 K"},
		"-within = -1":                      {"-demo", "-within", "-1 K"},
		"-from = ":                          {"-demo", "-from", "100h"},
		`-by: found "soon"`:                 {"-demo", "-by", "soon"},
		"within 60 days after":              {"-demo", "-by", "2026-04-09T07:00:00-05:00"},
		`-event = "dry": want one of tack-`: {"-demo", "-by", "13h", "-event", "dry"},
		"want -by beside it":                {"-demo", "-event", "tack-free"},
		"-now = 3h: want it not before":     {"-demo", "-from", "4h", "-now", "3h"},
		"ends in .svg or .png":              {"-demo", "-picture", "cure.gif"},
		"want 30 min to 7d":                 {"-demo", "-picture", "cure.svg", "-hours", "1m"},
		"before the end of the picture":     {"-demo", "-picture", "cure.svg", "-hours", "1h", "-from", "2h"},
		"want 80 to 2000":                   {"-demo", "-picture", "cure.svg", "-width", "1 in"},
		"want 50 to 600":                    {"-demo", "-picture", "cure.png", "-dpi", "1"},
	} {
		clitest.Want(t, clitest.Main(run).Out(t, 1, args...), want)
	}
}

// Without windows there is nothing to tell from a time on; a sheet whose rows
// end on one time gets its doubt told.
func TestSheetOfItsOwn(t *testing.T) {
	capped := "[events.dry]\n\"40 °F\" = \"48h\"\n\"50 °F\" = \"48h\"\n\"60 °F\" = \"24h\"\n\"70 °F\" = \"12h\"\n\"80 °F\" = \"6h\"\n"
	clitest.Want(t, out(t, 1, capped, steadyNight, "-now", "3h"), "-now = 3h: the sheet has no windows")
	got := out(t, 0, capped, steadyNight)
	clitest.Want(t, got, "doubt about the fit of dry: ")
	clitest.Want(t, got, "coldest 60 °F (Fri 18:00), last 60 °F (Sat 06:00), which is held")
}

func TestPicture(t *testing.T) {
	for _, name := range []string{"cure.svg", "cure.png"} {
		path := filepath.Join(t.TempDir(), name)
		clitest.Want(t, clitest.Main(run).Out(t, 0, "-demo", "-units", "si", "-width", "4.16666667 in", "-dpi", "96", "-hours", "30h", "-picture", path), "picture in "+path)
		b, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if strings.HasSuffix(name, ".png") {
			if img, err := png.Decode(bytes.NewReader(b)); err != nil || img.Bounds().Dx() != 400 {
				t.Errorf("%v, want 400 dots wide", err)
			}
			continue
		}
		for _, part := range []string{"<svg", "23:42 tack free", "recoat window", "to 22:00 Saturday 11 April 2026"} { // 16:00 and 30 h
			if !bytes.Contains(b, []byte(part)) {
				t.Errorf("no %q", part)
			}
		}
	}
}

// Whatever a file holds: a history that is valid, or one line.
func FuzzFiles(f *testing.F) {
	f.Add(evenSheet, steadyNight)
	f.Add("[events.a.b]\n\"1 K\" = \"1h\"", "time,temperature °F\n2026-04-10T18:00:00Z,60")
	f.Add("events = 3", "\"")
	f.Add("[events]\na = { \"50 °F\" = \"9h\", \"60 °F\" = \"9h\" }", "time,temperature\n,")
	f.Fuzz(func(t *testing.T, sheet, night string) {
		if _, err := readSheet("sheet.toml", []byte(sheet)); err != nil && !strings.HasPrefix(err.Error(), "sheet.toml") {
			t.Errorf("%q", err)
		}
		for _, name := range []string{"night.toml", "night.csv"} {
			h, err := readHistory(name, []byte(night))
			if err == nil {
				err = h.trace.Validate()
				if err != nil {
					t.Errorf("%q: %v", night, err)
				}
			} else if !strings.HasPrefix(err.Error(), name) {
				t.Errorf("%q", err)
			}
		}
	})
}
