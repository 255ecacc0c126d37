package draw

import (
	"bytes"
	"errors"
	"fmt"
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

// weekJob is a week of our own invention (common practice, no source).
func weekJob(system units.System) JobSheet {
	at := func(h float64, f float64) climate.Sample {
		return climate.Sample{At: time.Duration(h * float64(time.Hour)), Temp: units.Fahrenheit(f)}
	}
	h := func(a, b float64) []Stretch {
		return []Stretch{{time.Duration(a * float64(time.Hour)), time.Duration(b * float64(time.Hour))}}
	}
	return JobSheet{Title: "Press room", Place: "Quill Yard", Start: time.Date(2026, 4, 6, 7, 0, 0, 0, time.FixedZone("", -5*3600)), System: system, To: 120 * time.Hour,
		Slab: climate.Trace{at(0, 48), at(60, 58), at(120, 47)}, Air: climate.Trace{at(0, 60), at(70, 64), at(120, 42)}, Dew: climate.Trace{at(0, 40), at(120, 36)},
		Margin: 5 * units.FahrenheitDelta,
		Bands:  []Band{{Name: "prime", Low: units.Fahrenheit(50), High: units.Fahrenheit(90), From: 24 * time.Hour, To: 32 * time.Hour}, {Name: "body", Low: units.Fahrenheit(50), From: 72 * time.Hour, To: 90 * time.Hour}},
		Tanks:  []Tank{{Name: "rented", Left: []Fuel{{0, 100 * units.Pound}, {90 * time.Hour, 0}, {120 * time.Hour, 0}}}},
		Rows:   []Row{{Name: "Grind", Work: h(0, 9)}, {Name: "Prime", Work: h(24, 26), Wet: h(26, 32), Open: h(36, 84)}, {Name: "Body coat", Work: h(72, 75), Wet: h(75, 90), Open: h(100, 160)}},
		Marks:  []Mark{{At: 90 * time.Hour, Text: "STOP tank runs dry"}, {At: 84 * time.Hour, Text: "prime: window closes", Faint: true}},
		Buy:    []Order{{"Epoxy, standard", "7 kits", "6", "7", "8"}, {"Quartz, medium", "8 bags", "8", "9", "9"}},
		Note:   "To watch besides: uptake unmeasured."}
}

// fullJob has as much as a sheet takes.
func fullJob(system units.System) JobSheet {
	n := weekJob(system)
	n.Title, n.Place = strings.Repeat("A very long name of a job ", 7), strings.Repeat("far away ", 20)
	for i := len(n.Rows); i < 40; i++ {
		from := time.Duration(i) * 3 * time.Hour
		n.Rows = append(n.Rows, Row{Name: strings.Repeat("a long step ", 1+i%9), Work: []Stretch{{from, from + time.Hour}, {from + 40*time.Hour, from + 41*time.Hour}}, Open: []Stretch{{from + 5*time.Hour, from + 300*time.Hour}}})
	}
	for i := len(n.Marks); i < 60; i++ {
		n.Marks = append(n.Marks, Mark{At: time.Duration(i*i) * 2 * time.Minute, Text: strings.Repeat("something wrong ", 1+i%5), Faint: i%3 == 0})
	}
	for i := len(n.Buy); i < 30; i++ {
		n.Buy = append(n.Buy, Order{strings.Repeat("Material ", 1+i%8), "12 kits", "11", "12", "14"})
	}
	n.Note = strings.Repeat("more to watch; ", 90)
	return n
}

func jobSheet(t testing.TB, n *JobSheet) *sheet {
	t.Helper()
	p, err := n.ready("svg")
	if err != nil {
		t.Fatal(err)
	}
	if err := p.fit("svg", n.Width, n.DPI); err != nil {
		t.Fatal(err)
	}
	w, h := points(n.Width), points(p.Height)
	s, err := compose(vgdraw.NewCanvas(vgsvg.New(w, h), w, h), p)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestLookJob writes pictures for the eye where TACKFREE_PICTURES says.
func TestLookJob(t *testing.T) {
	dir := os.Getenv("TACKFREE_PICTURES")
	if dir == "" {
		t.Skip("no TACKFREE_PICTURES")
	}
	for name, n := range map[string]JobSheet{"job": weekJob(units.US), "job-full": fullJob(units.SI)} {
		for size, width := range map[string]units.Length{"": 0, "-phone": 400. / 96 * units.Inch} {
			n.Width = width
			var b bytes.Buffer
			if err := Job(&b, "png", n); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(dir+"/"+name+size+".png", b.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// No text stands on another or leaves the sheet (no source: what a reader needs).
func TestJobTextsApart(t *testing.T) {
	bare := weekJob(units.US)
	bare.Bands, bare.Tanks, bare.Marks, bare.Buy, bare.Note = nil, nil, nil, nil, ""
	long := weekJob(units.SI)
	long.To = 45 * 24 * time.Hour
	for name, base := range map[string]JobSheet{"week": weekJob(units.US), "full": fullJob(units.SI), "bare": bare, "45 days": long} {
		for _, width := range []units.Length{0, 400. / 96, 8.27, 16.5, 30} {
			n := base
			n.Width = width * units.Inch
			s := jobSheet(t, &n)
			for i, a := range s.boxes {
				if a.x0 < 0 || a.y0 < 0 || a.x1 > s.c.Max.X || a.y1 > s.c.Max.Y {
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

// The hours are by hand: Monday 07:00 and 24, 72, 84 and 90 h.
func TestJobTexts(t *testing.T) {
	var b bytes.Buffer
	n := weekJob(units.SI)
	if err := Job(&b, "svg", n); err != nil {
		t.Fatal(err)
	}
	got := texts(t, b.Bytes())
	for _, want := range []string{"Mon 07:00 Grind", "Tue 07:00 Prime", "Thu 07:00 Body coat", "Fri 01:00 STOP tank runs dry", "Thu 19:00 prime: window closes", "rented", "Fuel left, kg",
		"work", "wet", "recoat window", "To buy", "plan", "5 in 10", "9 in 10", "Quartz, medium", "8 bags", "To watch besides: uptake unmeasured.", "prime: 10 to 32.2 °C", "body: at least 10 °C"} {
		if !slices.Contains(got, want) {
			t.Errorf("no %q in %q", want, got)
		}
	}
	var again bytes.Buffer
	if err := Job(&again, "svg", n); err != nil || !bytes.Equal(b.Bytes(), again.Bytes()) {
		t.Errorf("the same sheet gave other bytes (%v)", err)
	}
	n.System, n.To = units.US, 200*time.Hour
	b.Reset()
	if err := Job(&b, "svg", n); err != nil {
		t.Fatal(err)
	}
	if got := texts(t, b.Bytes()); !slices.Contains(got, "Tue 7, 7 am Prime") { // more than a week: with the date
		t.Errorf("no date in %q", got)
	}
}

// By hand: 120 h over the axis, so that 36 h is at 30 % of it; beyond the
// sheet a window has no end, and what is before or after it is not drawn.
func TestJobStretches(t *testing.T) {
	n := weekJob(units.US)
	s := jobSheet(t, &n)
	a, b, ok := s.cut(Stretch{36 * time.Hour, 84 * time.Hour})
	wide := s.x1 - s.x0
	if !ok || max(a-s.x0-0.3*wide, b-s.x0-0.7*wide, -(a-s.x0-0.3*wide), -(b-s.x0-0.7*wide)) > 1e-6 {
		t.Errorf("from %v to %v of %v: want 30 %% and 70 %%", a-s.x0, b-s.x0, wide)
	}
	if _, b, ok := s.cut(Stretch{100 * time.Hour, 160 * time.Hour}); !ok || b != s.x1 {
		t.Errorf("a window beyond the sheet ends at %v: want %v", b, s.x1)
	}
	for _, x := range []Stretch{{-5 * time.Hour, -time.Hour}, {121 * time.Hour, 130 * time.Hour}} {
		if _, _, ok := s.cut(x); ok {
			t.Errorf("%v is drawn", x)
		}
	}
}

// A sheet of A4 stays one where its type may be smaller; a phone's grows.
func TestJobHeight(t *testing.T) {
	n := weekJob(units.US)
	for i := len(n.Rows); i < 13; i++ {
		n.Rows = append(n.Rows, n.Rows[1])
	}
	s := jobSheet(t, &n)
	if s.n.Height != 210*units.Millimetre {
		t.Errorf("A4: %v high", s.n.Height)
	}
	n = fullJob(units.US)
	n.Width = 100 * units.Millimetre
	if s := jobSheet(t, &n); s.n.Height < 400*units.Millimetre {
		t.Errorf("a full sheet for a phone: %v high", s.n.Height)
	}
	n.Height = 150 * units.Millimetre
	if err := Job(new(bytes.Buffer), "svg", n); !errors.Is(err, units.ErrRange) || !strings.Contains(err.Error(), "Height = 150 mm: want at least") {
		t.Errorf("too low: %v", err)
	}
}

func TestJobRefused(t *testing.T) {
	for want, change := range map[string]func(*JobSheet){
		"Start: want":                  func(n *JobSheet) { n.Start = time.Time{} },
		"System = 7":                   func(n *JobSheet) { n.System = 7 },
		"From = 0s, To = 1m0s":         func(n *JobSheet) { n.To = time.Minute },
		"Slab":                         func(n *JobSheet) { n.Slab = nil },
		"Dew":                          func(n *JobSheet) { n.Dew = climate.Trace{{At: 0}} },
		"Margin = -1":                  func(n *JobSheet) { n.Margin = -1 },
		"Rows: 0: want 1 to 40":        func(n *JobSheet) { n.Rows = nil },
		"Rows[0].Work: none":           func(n *JobSheet) { n.Rows[0].Work = nil },
		"Rows[1]: a stretch from":      func(n *JobSheet) { n.Rows[1].Open = []Stretch{{2, 1}} },
		"Tanks[0].Left: 1":             func(n *JobSheet) { n.Tanks[0].Left = n.Tanks[0].Left[:1] },
		"Tanks[0].Left[1].At":          func(n *JobSheet) { n.Tanks[0].Left[1].At = -1 },
		"Bands[0]: neither":            func(n *JobSheet) { n.Bands[0].Low, n.Bands[0].High = units.Temperature{}, units.Temperature{} },
		"Marks[0].Text has the charac": func(n *JobSheet) { n.Marks[0].Text = "a\nb" },
		"Buy[1] has the character":     func(n *JobSheet) { n.Buy[1].P90 = "\x00" },
		"Note: 1600 bytes":             func(n *JobSheet) { n.Note = strings.Repeat("abcdefgh", 200) },
		"Width = 10 mm":                func(n *JobSheet) { n.Width = 10 * units.Millimetre },
	} {
		n := weekJob(units.US)
		change(&n)
		var b bytes.Buffer
		if err := Job(&b, "svg", n); !errors.Is(err, units.ErrRange) || !strings.Contains(fmt.Sprint(err), want) || b.Len() > 0 {
			t.Errorf("%s: got %v, %d bytes", want, err, b.Len())
		}
	}
	if err := Job(new(bytes.Buffer), "pdf", weekJob(units.US)); err == nil {
		t.Error("a pdf was drawn")
	}
}

// A job that types one temperature has one reading: its sheet shows it over all
// of the days, and holds the bands of the coats against the slab, not against
// another line (common practice, no source).
func TestJobOneReading(t *testing.T) {
	all := weekJob(units.SI)
	all.Slab, all.Air, all.Dew = all.Slab[:1], all.Air[:1], all.Dew[:1]
	slab := weekJob(units.SI)
	slab.Slab = slab.Slab[:1] // 48 °F, below the 50 °F of both bands
	away := weekJob(units.SI)
	away.From = 121 * time.Hour
	away.To = 130 * time.Hour
	for name, n := range map[string]JobSheet{"all": all, "slab": slab, "away": away} {
		s := jobSheet(t, &n)
		temps := n.strips()[0]
		first := temps.series[0]
		if first.name != "slab surface" || first.points[0].t != n.From.Hours() || first.points[len(first.points)-1].t != n.To.Hours() {
			t.Errorf("%s: %+v", name, first)
		}
		if want := name != "away"; s.broken != want {
			t.Errorf("%s: outside a limit is %v, want %v", name, s.broken, want)
		}
	}
}
