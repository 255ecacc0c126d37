package draw

import (
	"bytes"
	"errors"
	"image/png"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	vgdraw "gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// cureNight is a night of our own invention (common practice, no source): each
// event's progress is a straight line from 18:00 to its time.
func cureNight(system units.System) ProgressSheet {
	h := func(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }
	line := func(name string, at, lo, hi float64) EventCourse {
		return EventCourse{Name: name, Reached: true, At: h(at), Lo: h(lo), Hi: h(hi), Curve: []Done{{0, 0}, {h(at), 1}}}
	}
	return ProgressSheet{Title: "Body coat overnight", Place: "Quill Yard", Start: time.Date(2026, 4, 10, 18, 0, 0, 0, time.FixedZone("", -5*3600)), System: system,
		History: climate.Trace{{At: 0, Temp: units.Fahrenheit(66)}, {At: h(10), Temp: units.Fahrenheit(54)}, {At: h(16), Temp: units.Fahrenheit(62)}},
		To:      h(24), Events: []EventCourse{line("tack free", 8, 7, 9.5), line("recoat earliest", 11, 10, 12.5), line("foot traffic", 20, 17, 30),
			{Name: "full cure", Curve: []Done{{0, 0}, {h(24), 0.3}}}},
		Windows: []Window{{Name: "recoat window", From: h(11), To: h(40)}}}
}

// eight has as many events as a sheet takes, some of them together, and long names.
func eight(system units.System) ProgressSheet {
	n := cureNight(system)
	n.Title, n.Place = strings.Repeat("A very long name of a coat ", 7), strings.Repeat("far away ", 20)
	n.Events = nil
	for i, at := range []int{5, 5, 5, 9, 9, 13, 14, 23} {
		d := time.Duration(at) * time.Hour
		n.Events = append(n.Events, EventCourse{Name: strings.Repeat("a long event ", 1+i), Reached: true, At: d, Curve: []Done{{0, 0}, {d, 1}}})
	}
	for i := range 3 {
		n.Windows = append(n.Windows, Window{Name: strings.Repeat("another window ", i+1), From: time.Duration(5+i) * time.Hour, To: time.Duration(9+4*i) * time.Hour})
	}
	return n
}

func progressSheet(t testing.TB, n ProgressSheet) *sheet {
	t.Helper()
	n.Width, n.Height, n.DPI = sides(n.Width, n.Height, n.DPI, len(n.Events)+2)
	if err := n.check("svg"); err != nil {
		t.Fatal(err)
	}
	w, h := points(n.Width), points(n.Height)
	s, err := compose(vgdraw.NewCanvas(vgsvg.New(w, h), w, h), n.page())
	if err != nil {
		t.Fatalf("%v x %v: %v", n.Width, n.Height, err)
	}
	return s
}

func progress(t testing.TB, format string, n ProgressSheet) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Progress(&b, format, n); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestLookProgress writes pictures for the eye where TACKFREE_PICTURES says.
func TestLookProgress(t *testing.T) {
	dir := os.Getenv("TACKFREE_PICTURES")
	if dir == "" {
		t.Skip("no TACKFREE_PICTURES")
	}
	for name, n := range map[string]ProgressSheet{"progress": cureNight(units.US), "eight": eight(units.SI)} {
		for size, width := range map[string]units.Length{"": 0, "-phone": 400. / 96 * units.Inch} {
			if n.Width = width; width > 0 {
				n.DPI = 96
			}
			if err := os.WriteFile(dir+"/"+name+size+".png", progress(t, "png", n), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// No text stands on another or leaves the sheet (no source: what a reader needs).
func TestProgressTextsApart(t *testing.T) {
	unsure := cureNight(units.US)
	unsure.Within = 3
	early := cureNight(units.SI)
	early.From, early.To = 21*time.Hour, 23*time.Hour // after all but one event
	for name, base := range map[string]ProgressSheet{"night": cureNight(units.US), "unsure": unsure, "eight": eight(units.SI), "a part": early} {
		for _, width := range []units.Length{0, 400. / 96, 8.27, 16.5, 30} {
			n := base
			n.Width = width * units.Inch
			s := progressSheet(t, n)
			for i, a := range s.boxes {
				if a.x0 < 0 || a.y0 < 0 || a.x1 > points(n.Width) && width > 0 {
					t.Errorf("%s at %v in: %q leaves the sheet", name, width, a.text)
				}
				for _, b := range s.boxes[:i] {
					if a.overlaps(b) {
						t.Errorf("%s at %v in: %q stands on %q", name, width, a.text, b.text)
					}
				}
			}
		}
	}
}

// Every curve is named beside itself at A4 and on a phone, and again in the
// rows; the clock of the flags is by hand: 18:00 and 8, 11 and 20 h.
func TestProgressTexts(t *testing.T) {
	for _, width := range []units.Length{0, 400. / 96 * units.Inch} {
		n := cureNight(units.SI)
		n.Width = width
		got := texts(t, progress(t, "svg", n))
		for want, times := range map[string]int{"02:00 tack free": 1, "05:00 recoat earliest": 1, "14:00 foot traffic": 1, "10:00 history ends": 1, "18:00 coat down": 1,
			"tack free": 2, "foot traffic": 2, "full cure": 2, "recoat window": 2, "held": 1, "as given": 1, "Temperature, °C": 1, "Progress, %": 1, "100": 1} {
			if have := len(slices.DeleteFunc(slices.Clone(got), func(s string) bool { return s != want })); have != times {
				t.Errorf("%v: %q stands %d times, want %d; %q", width, want, have, times, got)
			}
		}
	}
	if us := texts(t, progress(t, "svg", cureNight(units.US))); !slices.Contains(us, "2 am tack free") || !slices.Contains(us, "Temperature, °F") {
		t.Errorf("US: %q", us)
	}
}

// By hand: a line from 0 at 0 h to 100 % at 8 h is 25 % at 2 h and 75 % at 6 h;
// one to 200 % at 8 h is cut at 4 h.
func TestProgressCurve(t *testing.T) {
	n := ProgressSheet{From: 2 * time.Hour, To: 6 * time.Hour}
	for _, tc := range []struct {
		end  units.Fraction
		want []point
	}{{1, []point{{2, 25}, {6, 75}}}, {2, []point{{2, 50}, {4, 100}}}, {0, []point{{2, 0}, {6, 0}}}} {
		if got := n.curve(EventCourse{Curve: []Done{{0, 0}, {8 * time.Hour, tc.end}}}); !slices.Equal(got, tc.want) {
			t.Errorf("to %v: %v, want %v", tc.end, got, tc.want)
		}
	}
	past := EventCourse{Reached: true, At: time.Hour, Curve: []Done{{0, 0}, {time.Hour, 1}}}
	if got := n.curve(past); got[0].v != 100 {
		t.Errorf("past: %v", got)
	}
	// What is given ends with the history, at 55 of 50 to 60 after half of it.
	n.History = climate.Trace{{At: 0, Temp: units.Celsius(10)}, {At: 4 * time.Hour, Temp: units.Celsius(20)}}
	given, held := n.history(func(t units.Temperature) float64 { return math.Round(t.Celsius()) })
	if !slices.Equal(given, []point{{2, 15}, {4, 20}}) || !slices.Equal(held, []point{{4, 20}, {6, 20}}) {
		t.Errorf("given %v, held %v", given, held)
	}
}

// An interval is a full line with two caps, or one where it leaves the sheet:
// 3 + 3 + 2 strokes for the night's three, and no more dashes than without.
func TestWhiskers(t *testing.T) {
	with := cureNight(units.US)
	without := cureNight(units.US)
	for i := range without.Events {
		without.Events[i].Lo, without.Events[i].Hi = 0, 0
	}
	a, b := drawing(progress(t, "svg", with)), drawing(progress(t, "svg", without))
	if n := strings.Count(a, "<path") - strings.Count(b, "<path"); n != 8 {
		t.Errorf("%d strokes, want 8", n)
	}
	if n := strings.Count(a, "dasharray") - strings.Count(b, "dasharray"); n != 0 || !strings.Contains(b, "dasharray") {
		t.Errorf("%d more dashes", n)
	}
}

// The ribbon is 1.96 standard deviations to either side: 2 K at 10 °C is 6.08 to
// 13.92 °C, by hand, and the scale holds it.
func TestProgressRibbon(t *testing.T) {
	n := cureNight(units.SI)
	n.History, n.Within = climate.Trace{{At: 0, Temp: units.Celsius(10)}}, 2
	temps := n.strips()[0]
	if r := temps.ribbon; len(r) != 4 || math.Abs(r[0].v-13.92) > 1e-9 || math.Abs(r[3].v-6.08) > 1e-9 || r[0].t != 0 || r[3].t != 0 || r[1].t != 24 {
		t.Errorf("%v", r)
	}
	if s := temps.scale; s.lo > 6.08 || s.hi < 13.92 || !strings.HasSuffix(temps.title, "95 % of the forecast") {
		t.Errorf("%v %q", s, temps.title)
	}
	if n.Within = 0; len(n.strips()[0].ribbon) > 0 {
		t.Error("a ribbon of nothing")
	}
}

// Without colour, looks differ in their dash or, both full, in width.
func TestLooksWithoutColour(t *testing.T) {
	if len(looks) != 8 {
		t.Fatalf("%d looks for 8 events", len(looks))
	}
	for i, a := range looks {
		for _, b := range looks[:i] {
			if slices.Equal(a.dash, b.dash) && math.Abs(float64(a.width-b.width)) < 0.8 {
				t.Errorf("%v and %v look alike", a, b)
			}
		}
	}
}

func TestProgressPNG(t *testing.T) {
	n := cureNight(units.US)
	n.Width, n.DPI = 400./96*units.Inch, 96
	img, err := png.Decode(bytes.NewReader(progress(t, "png", n)))
	if err != nil || img.Bounds().Dx() != 400 || img.Bounds().Dy() != 720 { // 1.8 x 400
		t.Errorf("%v %v", img.Bounds(), err)
	}
}

func TestProgressRefused(t *testing.T) {
	for want, spoil := range map[string]func(*ProgressSheet){
		"Start: want":                           func(n *ProgressSheet) { n.Start = time.Time{} },
		"System = 9":                            func(n *ProgressSheet) { n.System = 9 },
		"want 30 min to 7 days between":         func(n *ProgressSheet) { n.To = n.From },
		"Within = 21 K: want 0 to 20":           func(n *ProgressSheet) { n.Within = 21 },
		"Events: 0: want 1 to 8":                func(n *ProgressSheet) { n.Events = nil },
		"Windows: 5: want at most 4":            func(n *ProgressSheet) { n.Windows = make([]Window, 5) },
		"Events[1].Name: none":                  func(n *ProgressSheet) { n.Events[1].Name = "" },
		"Events[1].Name has the character":      func(n *ProgressSheet) { n.Events[1].Name = "a\nb" },
		"Events[0].Curve: 1 points":             func(n *ProgressSheet) { n.Events[0].Curve = n.Events[0].Curve[:1] },
		"Events[0].Curve[1].At":                 func(n *ProgressSheet) { n.Events[0].Curve[1].At = 0 },
		"Events[0].Curve[1].Share = NaN":        func(n *ProgressSheet) { n.Events[0].Curve[1].Share = units.Fraction(math.NaN()) },
		"Events[0]: Lo = ":                      func(n *ProgressSheet) { n.Events[0].Lo = n.Events[0].Hi },
		"Windows[0]: From = ":                   func(n *ProgressSheet) { n.Windows[0].To = 0 },
		"History":                               func(n *ProgressSheet) { n.History = nil },
		"draw.Progress: Width = 10 mm":          func(n *ProgressSheet) { n.Width = 10 * units.Millimetre },
		"draw.Progress: Height = 80 mm: want a": func(n *ProgressSheet) { n.Width, n.Height = 80*units.Millimetre, 80*units.Millimetre },
	} {
		n := cureNight(units.US)
		spoil(&n)
		var b bytes.Buffer
		err := Progress(&b, "svg", n)
		if err == nil || !strings.Contains(err.Error(), want) || b.Len() > 0 {
			t.Errorf("got %v, want %q", err, want)
		}
		if want != "History" && !errors.Is(err, units.ErrRange) {
			t.Errorf("%v is no ErrRange", err)
		}
	}
	if err := Progress(&bytes.Buffer{}, "gif", cureNight(units.US)); err == nil || !strings.Contains(err.Error(), "want svg or png") {
		t.Error(err)
	}
}
