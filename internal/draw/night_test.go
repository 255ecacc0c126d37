package draw

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"image/png"
	"io"
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

// night is a cold shop of 1600 ft2 in January: an unvented propane heater whose
// tank runs dry about 2 a.m. and is refilled at 7 a.m. Of our own invention: common
// practice, no source.
func night(t testing.TB, system units.System) NightSheet {
	t.Helper()
	propane, err := climate.Formula{Carbon: 3, Hydrogen: 8, Formation: -103.85e3}.Burned()
	if err != nil {
		t.Fatal(err)
	}
	at := func(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }
	var out climate.Weather
	for i, f := range []float64{27, 24, 21, 19, 17, 16, 15, 16, 20, 24} {
		out = append(out, climate.Reading{At: at(float64(2 * i)), Temp: units.Fahrenheit(f), RH: 80 * units.Percent})
	}
	r := climate.Room{Volume: 1600 * 14 * units.CubicFoot, Envelope: 210, AirChanges: 0.6 * units.PerHour,
		Floor: 1600 * units.SquareFoot, Contents: 4000,
		Slab: climate.Slab{Film: 8, Deep: units.Celsius(9), Layers: []climate.Layer{
			{Thickness: 0.15, Conductivity: 1.8, Density: 2300, HeatCapacity: 880},
			{Thickness: 1.5, Conductivity: 1.2, Density: 1800, HeatCapacity: 1200}}},
		Air: units.Fahrenheit(62), RH: 40 * units.Percent, Surface: units.Fahrenheit(53),
		Thermostat: []climate.Setting{{At: 0, Temp: units.Fahrenheit(68)}},
		Heaters:    []climate.Heater{{Fuel: propane, Max: 60000 * units.BtuPerHour, Unvented: true, Tank: 18.7 * units.Pound, Refills: []climate.Refill{{At: at(13), Add: 40 * units.Pound}}}},
		Watch:      climate.Watch{Margin: 5 * units.FahrenheitDelta, Surface: units.Fahrenheit(50), RH: 85 * units.Percent}}
	f, err := r.Forecast(out, at(17), 10*time.Minute)
	if err != nil {
		t.Fatal(err)
	}
	return NightSheet{Title: "Quill Yard shop: the first night on the primer", Place: "Bay 2, slab 1600 ft2",
		Start:  time.Date(2026, 1, 15, 18, 0, 0, 0, time.FixedZone("", -6*3600)),
		System: system, Forecast: f, Outdoors: out, Limits: r.Watch,
		Bands: []Band{{Name: "Primer", Low: units.Fahrenheit(50), High: units.Fahrenheit(85), From: at(0.5), To: at(10)}, {Name: "Body coat", Low: units.Fahrenheit(55), From: at(13.5), To: at(30)}},
		Marks: []Mark{{At: at(0.5), Text: "primer goes down"}, {At: at(8.4), Text: "primer tack-free"}, {At: at(13.5), Text: "body coat goes down"}}}
}

// wet is a tight shop with two heaters, one vented, where every limit breaks.
func wet(t testing.TB, system units.System) NightSheet {
	n := night(t, system)
	propane, err := climate.Formula{Carbon: 3, Hydrogen: 8, Formation: -103.85e3}.Burned()
	if err != nil {
		t.Fatal(err)
	}
	at := func(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }
	r := climate.Room{Volume: 700, Envelope: 260, AirChanges: 0.15 * units.PerHour, Floor: 150,
		Slab: climate.Slab{Film: 8, Deep: units.Celsius(6), Layers: []climate.Layer{{Thickness: 0.2, Conductivity: 1.8, Density: 2300, HeatCapacity: 880}}},
		Air:  units.Celsius(12), RH: 0.6, Surface: units.Celsius(9), Thermostat: []climate.Setting{{Temp: units.Celsius(20)}},
		Heaters: []climate.Heater{{Fuel: propane, Max: 14 * units.Kilowatt, Unvented: true, Tank: 4, Refills: []climate.Refill{{At: at(13), Add: 20}}},
			{Fuel: propane, Max: 10 * units.Kilowatt, Efficiency: 0.8, Tank: 6}},
		Watch: climate.Watch{Margin: 3, Surface: units.Celsius(10), RH: 0.85, CO2: 0.005}}
	if n.Forecast, err = r.Forecast(n.Outdoors, at(17), 10*time.Minute); err != nil {
		t.Fatal(err)
	}
	n.Limits = r.Watch
	n.Bands = []Band{{Name: "Primer", Low: units.Celsius(10), High: units.Celsius(30), From: at(1), To: at(9)}, {Name: "Body coat", Low: units.Celsius(12), High: units.Celsius(15), From: at(7), To: at(30)}}
	n.Tanks = []string{"torpedo's tank", "cabinet's tank"}
	return n
}

// crowd adds events until there are so many.
func crowd(n NightSheet, count int) NightSheet {
	f := *n.Forecast
	for i := len(f.Events); i < count; i++ {
		at := time.Duration(i*i%997) * time.Minute
		f.Events = append(f.Events, climate.Event{At: at, What: []string{climate.HeatersHold, climate.HeatersAtMaximum, climate.MarginBroken, climate.SurfaceBelow}[i%4]})
	}
	n.Forecast = &f
	return n
}

// resize gives a sheet other sides, in inches.
func resize(n NightSheet, width, height units.Length, dpi int) NightSheet {
	n.Width, n.Height, n.DPI = width*units.Inch, height*units.Inch, dpi
	return n
}

func picture(t testing.TB, format string, n NightSheet) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Night(&b, format, n); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestLook writes pictures for the eye where TACKFREE_PICTURES says.
func TestLook(t *testing.T) {
	dir := os.Getenv("TACKFREE_PICTURES")
	if dir == "" {
		t.Skip("no TACKFREE_PICTURES")
	}
	save := func(name, format string, n NightSheet) {
		if err := os.WriteFile(dir+"/"+name, picture(t, format, n), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	n := night(t, units.US)
	t.Log(n.Forecast.Events)
	save("a4.png", "png", n)
	save("a4.svg", "svg", n)
	save("si.png", "png", night(t, units.SI))
	save("phone.png", "png", resize(n, 400./96, 0, 96))
	save("wet-phone.png", "png", resize(wet(t, units.SI), 400./96, 0, 96))
	save("wet.png", "png", wet(t, units.SI))
	save("crowd.png", "png", crowd(night(t, units.US), 40))
	save("crowd-phone.png", "png", resize(crowd(night(t, units.US), 40), 400./96, 0, 96))
}

// texts returns the texts of an svg, which must be well-formed.
func texts(t testing.TB, svg []byte) []string {
	t.Helper()
	var out []string
	d := xml.NewDecoder(bytes.NewReader(svg))
	in := false
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
		switch e := tok.(type) {
		case xml.StartElement:
			in = e.Name.Local == "text"
		case xml.CharData:
			if in {
				out = append(out, string(e))
			}
		case xml.EndElement:
			in = false
		}
	}
}

// drawing returns the svg without its fonts.
func drawing(svg []byte) string {
	_, after, _ := strings.Cut(string(svg), "</defs>")
	return after
}

func TestTextsOfTheSVG(t *testing.T) {
	for _, tc := range []struct {
		n    NightSheet
		want []string
	}{
		{night(t, units.US), []string{"slab surface", "room air", "dew point", "outdoors", "heaters", "tank", "humidity", "margin", "CO2", "limit 50 °F", "limit 5 °F", "limit 85 %",
			"Temperature, °F", "Power taken in by the heaters, 1000 Btu/h", "Fuel left, lb", "Relative humidity in the room, %", "Margin of the slab above the dew point, °F",
			"Primer: 50 to 85 °F", "Body coat: at least 55 °F", "1:06 am tank empty", "7 am tank refilled", "6:30 pm primer goes down", "2:24 am primer tack-free", "midnight", "Thu, Jan 15", "Fri, Jan 16"}},
		{night(t, units.SI), []string{"Temperature, °C", "Power taken in by the heaters, kW", "Fuel left, kg", "Margin of the slab above the dew point, K", "limit 10 °C", "limit 2.8 K", "01:06 tank empty", "00:00", "Thu 15 Jan"}},
		{wet(t, units.SI), []string{"torpedo's tank", "cabinet's tank", "limit 5000 ppm", "Body coat: 12 to 15 °C", "outside a limit"}},
	} {
		svg := picture(t, "svg", tc.n)
		got := texts(t, svg)
		for _, w := range tc.want {
			if !slices.Contains(got, w) {
				t.Errorf("no %q in %q", w, got)
			}
		}
		all := strings.Join(got, "\n")
		for _, m := range tc.n.moments() {
			if !strings.Contains(all, m.text) {
				t.Errorf("no %q", m.text)
			}
		}
		if d := drawing(svg); strings.Contains(d, "NaN") || strings.Contains(d, "Inf") || len(d) < 1000 {
			t.Errorf("a number is none, or nothing is drawn")
		}
	}
}

func TestSameBytes(t *testing.T) {
	for _, format := range []string{"svg", "png"} {
		n := wet(t, units.US)
		if !bytes.Equal(picture(t, format, n), picture(t, format, n)) {
			t.Errorf("two %s of one sheet differ", format)
		}
	}
}

func TestSize(t *testing.T) {
	for _, tc := range []struct {
		n    NightSheet
		w, h int
	}{
		{night(t, units.US), 1754, 1240}, // A4 at 150 dpi
		{resize(night(t, units.US), 400./96, 720./96, 96), 400, 720},
		{resize(night(t, units.SI), 8, 11, 100), 800, 1100},
	} {
		img, err := png.Decode(bytes.NewReader(picture(t, "png", tc.n)))
		if err != nil {
			t.Fatal(err)
		}
		if b := img.Bounds(); b.Dx() != tc.w || b.Dy() != tc.h {
			t.Errorf("%d x %d, want %d x %d", b.Dx(), b.Dy(), tc.w, tc.h)
		}
	}
}

// No text stands on another or leaves the sheet, whatever the night and the size.
func TestTextsApart(t *testing.T) {
	long := night(t, units.US)
	long.Title = strings.Repeat("A very long name of a job ", 7)
	long.Place = strings.Repeat("far away ", 20)
	long.Marks = append(long.Marks, Mark{At: 17 * time.Hour, Text: strings.Repeat("the last of all ", 12)}, Mark{At: 17 * time.Hour, Text: "end"}, Mark{Text: "start"})
	long.Bands = append(long.Bands, Band{Name: strings.Repeat("Sealer ", 20), High: units.Celsius(25), From: 16 * time.Hour, To: 40 * time.Hour})
	many := night(t, units.SI)
	for i := range 12 - len(many.Bands) {
		many.Bands = append(many.Bands, Band{Name: "Coat", Low: units.Celsius(float64(5 + i)), From: time.Duration(i) * time.Hour, To: time.Duration(i+3) * time.Hour})
	}
	for name, base := range map[string]NightSheet{"night": night(t, units.US), "wet": wet(t, units.SI), "crowd": crowd(night(t, units.US), 40), "mob": crowd(wet(t, units.US), 150), "long": long, "many bands": many, "one time": together(night(t, units.SI))} {
		for _, size := range [][2]units.Length{{0, 0}, {400. / 96, 0}, {8.27, 11.69}, {16.5, 11.7}, {11, 8.5}, {30, 30}} {
			if testing.Short() && size[0] > 5 {
				continue
			}
			n := resize(base, size[0], size[1], 0)
			n.defaults()
			if err := n.check("svg"); err != nil {
				t.Fatal(err)
			}
			w, h := points(n.Width), points(n.Height)
			s, err := compose(vgdraw.NewCanvas(vgsvg.New(w, h), w, h), n.page())
			if err != nil {
				t.Errorf("%s at %v: %v", name, size, err)
				continue
			}
			for i, a := range s.boxes {
				if a.x0 < 0 || a.y0 < 0 || a.x1 > w || a.y1 > h {
					t.Errorf("%s at %v: %q leaves the sheet", name, size, a.text)
				}
				for _, b := range s.boxes[:i] {
					if a.overlaps(b) {
						t.Errorf("%s at %v: %q stands on %q", name, size, a.text, b.text)
					}
				}
			}
		}
	}
}

// together lets all events happen at once.
func together(n NightSheet) NightSheet {
	f := *n.Forecast
	f.Events = nil
	for range 40 {
		f.Events = append(f.Events, climate.Event{At: 5 * time.Hour, What: climate.MarginBroken})
	}
	n.Forecast = &f
	return n
}

// All 40 events of a crowd are written, also on a phone.
func TestFortyEvents(t *testing.T) {
	for _, width := range []units.Length{0, 400. / 96} {
		n := resize(crowd(night(t, units.US), 40), width, 0, 0)
		all := strings.Join(texts(t, picture(t, "svg", n)), "\n")
		for i, m := range n.moments() {
			if want := fmt.Sprintf("%d  %s %s", i+1, clock(n.Start.Add(m.at), n.System), m.text); !strings.Contains(all, want) {
				t.Errorf("no %q at width %v", want, width)
			}
		}
	}
}

func TestRefused(t *testing.T) {
	good := night(t, units.US)
	states := func(change func(s []climate.RoomState) []climate.RoomState) func(n *NightSheet) {
		return func(n *NightSheet) {
			f := *n.Forecast
			f.States = change(slices.Clone(f.States))
			n.Forecast = &f
		}
	}
	for _, tc := range []struct {
		field  string
		change func(n *NightSheet)
	}{
		{"Forecast", func(n *NightSheet) { n.Forecast = nil }},
		{"Forecast.States", func(n *NightSheet) { n.Forecast = &climate.RoomForecast{} }},
		{"Forecast.States", states(func(s []climate.RoomState) []climate.RoomState { return s[:1] })},
		{"Forecast.States", states(func(s []climate.RoomState) []climate.RoomState { return s[:2] })}, // 10 min
		{"Forecast.States[1].At", states(func(s []climate.RoomState) []climate.RoomState { s[1].At = s[0].At; return s })},
		{"Forecast.States[3].Air", states(func(s []climate.RoomState) []climate.RoomState { s[3].Air = units.NaNTemperature(); return s })},
		{"Forecast.States[3].RH", states(func(s []climate.RoomState) []climate.RoomState { s[3].RH = units.Fraction(math.NaN()); return s })},
		{"Forecast.States[3].Power", states(func(s []climate.RoomState) []climate.RoomState { s[3].Power = units.Power(math.Inf(1)); return s })},
		{"Forecast.States[3].Fuel[2]", states(func(s []climate.RoomState) []climate.RoomState { s[3].Fuel[2] = units.Mass(math.NaN()); return s })},
		{"Forecast.Events[0].Heater", func(n *NightSheet) {
			n.Forecast = &climate.RoomForecast{States: n.Forecast.States, Events: []climate.Event{{What: climate.TankEmpty, Heater: 9}}}
		}},
		{"Forecast.Events[0].At", func(n *NightSheet) {
			n.Forecast = &climate.RoomForecast{States: n.Forecast.States, Events: []climate.Event{{What: climate.TankEmpty, At: -1}}}
		}},
		{"Start", func(n *NightSheet) { n.Start = time.Time{} }},
		{"System", func(n *NightSheet) { n.System = 7 }},
		{"Title", func(n *NightSheet) { n.Title = "a\nb" }},
		{"Title", func(n *NightSheet) { n.Title = "\xff" }},
		{"Place", func(n *NightSheet) { n.Place = "\x00" }},
		{"Outdoors", func(n *NightSheet) { n.Outdoors = climate.Weather{{}} }},
		{"Limits.Margin", func(n *NightSheet) { n.Limits.Margin = -1 }},
		{"Tanks[0]", func(n *NightSheet) { n.Tanks = []string{"a\tb"} }},
		{"Bands[0]", func(n *NightSheet) { n.Bands = []Band{{From: 0, To: time.Hour}} }},
		{"Bands[0]", func(n *NightSheet) { n.Bands = []Band{{Low: units.Celsius(10), From: time.Hour, To: time.Hour}} }},
		{"Bands[0]", func(n *NightSheet) {
			n.Bands = []Band{{Low: units.Celsius(10), From: 100 * time.Hour, To: 101 * time.Hour}}
		}},
		{"Bands[0]: Low", func(n *NightSheet) {
			n.Bands = []Band{{Low: units.Celsius(20), High: units.Celsius(10), To: time.Hour}}
		}},
		{"Bands[0].High", func(n *NightSheet) { n.Bands = []Band{{High: units.NaNTemperature(), To: time.Hour}} }},
		{"Bands", func(n *NightSheet) { n.Bands = make([]Band, 13) }},
		{"Marks[0].At", func(n *NightSheet) { n.Marks = []Mark{{At: 18 * time.Hour}} }},
		{"Marks[0].Text", func(n *NightSheet) { n.Marks = []Mark{{Text: "\x07"}} }},
		{"Width", func(n *NightSheet) { n.Width = -1 }},
		{"Width", func(n *NightSheet) { n.Width = units.Length(math.NaN()) }},
		{"Width", func(n *NightSheet) { n.Width = 1 * units.Millimetre }},
		{"Height", func(n *NightSheet) { n.Height = 1e9 }},
		{"Height", func(n *NightSheet) { n.Height = 90 * units.Millimetre }}, // too low for six strips
		{"DPI", func(n *NightSheet) { n.DPI = 100000 }},
		{"DPI", func(n *NightSheet) { n.Width, n.Height, n.DPI = 2, 2, 600 }},
	} {
		n := good
		tc.change(&n)
		var b bytes.Buffer
		err := Night(&b, "png", n)
		if err == nil || !errors.Is(err, units.ErrRange) || !strings.Contains(err.Error(), tc.field) || b.Len() > 0 {
			t.Errorf("%s: error %v, %d bytes", tc.field, err, b.Len())
		}
	}
	if err := Night(io.Discard, "jpeg", good); err == nil || !strings.Contains(err.Error(), "format") {
		t.Errorf("a jpeg: %v", err)
	}
}

// The hours follow the clock on the wall, also when it is put forward.
func TestHours(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Skip(err)
	}
	from := time.Date(2026, 3, 28, 21, 30, 0, 0, zone)
	got := ""
	for _, h := range hours(from, from.Add(9*time.Hour), 120) {
		got += h.Format("15:04 ")
	}
	if got != "22:00 00:00 03:00 04:00 06:00 " { // 02:00 does not exist
		t.Error(got)
	}
}

func TestScale(t *testing.T) {
	for _, tc := range []struct {
		lo, hi, least float64
		want          string
	}{{0, 10, 3, "0 5 10"}, {-1, 1, 0.4, "-1.0 -0.5 0 0.5 1.0"}, {0, 60000, 11000, "0 20,000 40,000 60,000"}, {30, 90, 22, "50 75"}} {
		s := newScale(tc.lo, tc.hi, tc.least)
		var got []string
		for _, v := range s.ticks {
			got = append(got, s.label(v, ","))
		}
		if strings.Join(got, " ") != tc.want {
			t.Errorf("%v: %q", tc, got)
		}
	}
}

// What is below a limit, and only in its time.
func TestWrong(t *testing.T) {
	line := []point{{0, 2}, {2, 0}, {4, 2}}
	if got := wrong(line, 0, 4, 1, true); len(got) != 1 || got[0][0] != (point{1, 1}) || got[0][2] != (point{3, 1}) {
		t.Error(got)
	}
	if got := wrong(line, 0, 2, 1, true); len(got) != 1 || got[0][1] != (point{2, 0}) {
		t.Error(got)
	}
	if got := wrong(line, 0, 4, 1, false); len(got) != 2 {
		t.Error(got)
	}
	if got := wrong(line, 0, 4, -1, true); got != nil {
		t.Error(got)
	}
}
