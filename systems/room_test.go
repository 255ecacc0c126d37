package systems_test

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

func job(t testing.TB, text string) systems.Job {
	t.Helper()
	j, err := systems.ReadJob(strings.NewReader(text), builtin(t))
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// The demo's space worked out by hand: 42 x 28 + 298 ft2 of floor, less plinth and columns, and three steps,
// 13 ft high; 2250 ft2 of walls at 1.0 and its floor of roof at 0.8 W/(m2 K).
func TestSite(t *testing.T) {
	j := job(t, string(systems.DemoJob()))
	r := j.Site.Room
	const ft2, floor = 0.09290304, 42*28 - 6*68.875/12 - 2*math.Pi/4 + 298 + 3*4 // without plinth and columns; of the steps what they cover
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"volume m3", float64(r.Volume), floor * 13 * 0.028316846592},
		{"envelope W/K", float64(r.Envelope), 2250*ft2*1.0 + floor*ft2*0.8},
		{"air changes 1/h", float64(r.AirChanges) * 3600, 0.8},
		{"heater W", float64(r.Heaters[0].Max), 150000 * 1055.05585262 / 3600},
		{"tank kg", float64(r.Heaters[0].Tank), 150 * 0.45359237},
		{"efficiency", float64(r.Heaters[0].Efficiency), 0.8},
		{"slab m", float64(r.Slab.Layers[0].Thickness), 0.1524},
		{"soil m", float64(r.Slab.Layers[1].Thickness), 3},
		{"deep K", r.Slab.Deep.Kelvin(), (48.-32)/1.8 + 273.15},
	} {
		if math.Abs(c.got/c.want-1) > 1e-9 {
			t.Errorf("%s: %v, want %v", c.what, c.got, c.want)
		}
	}
	o := planOf(t, string(systems.DemoJob()))
	h := o.Heat.Heaters[0]
	// A tank of 150 lb runs dry once; of the refill of 200 lb the rest is in it at the end.
	left := o.Heat.Hours[len(o.Heat.Hours)-1].Fuel[0]
	if len(h.Empty) != 1 || len(h.Refilled) != 1 || math.Abs(float64((h.Burned+left)/units.Pound)-350) > 0.01 || h.WouldUse <= h.Burned {
		t.Errorf("%+v, left %v", h, left)
	}
	// 224 lb of propane at 0.5033 kg/L: 201.7 L = 53.3 gal; by hand.
	if g := float64(h.Volume / units.Gallon); math.Abs(g-float64(h.Burned)/0.5033/3.785411784) > 0.01 {
		t.Errorf("%v gal", g)
	}
	// The plan goes by the forecast: at the body coat's start its slab is that of the
	// hour, and the primer's water has cooled it by a tenth of a kelvin.
	body := works(o, "body")[0]
	at := body.Start.Sub(o.Start)
	hour := o.Heat.Hours[int(at/time.Hour)]
	if !hour.At.Equal(body.Start) || math.Abs(float64(body.Slab.Sub(hour.Slab))) > 0.05 {
		t.Errorf("slab at the body coat %v, forecast %v", body.Slab, hour.Slab)
	}
	if d := float64(j.Site.Forecast.States[int(at/(15*time.Minute))].Surface.Sub(hour.Slab)); !(d > 0.05 && d < 0.2) {
		t.Errorf("without the coats' water the slab is %.3f K warmer", d)
	}
	if f := found(o, "tank-runs-dry"); len(f) != 1 || !f[0].When.Equal(h.Empty[0]) || !f[0].Until.Equal(h.Refilled[0]) || f[0].Limit != "rented" {
		t.Errorf("%+v", f)
	}
	for _, key := range []string{"carbon-monoxide", "heater-burn"} {
		ok := false
		for _, c := range o.Cautions {
			ok = ok || c.Key == key
		}
		if !ok {
			t.Errorf("no caution %s", key)
		}
	}
	kinds := map[string]bool{}
	for _, f := range o.Files {
		kinds[f.Kind] = true
	}
	for _, kind := range []string{"fuels", "heaters", "envelopes", "floors"} {
		if !kinds[kind] {
			t.Errorf("the plan does not name its file of %s", kind)
		}
	}
}

// Typed readings win over the forecast, series by series.
func TestTypedReadingsWin(t *testing.T) {
	demo := string(systems.DemoJob())
	j := job(t, demo+"[temperatures.slab]\n\"0h\" = \"57 °F\"\n\"200h\" = \"57 °F\"\n")
	if got := j.Weather.Slab.At(30 * time.Hour); math.Abs(got-287.0388888888889) > 1e-9 {
		t.Errorf("slab %v K, want 57 °F", got)
	}
	if got, want := j.Weather.Air.At(30*time.Hour), units.Fahrenheit(64).Kelvin(); math.Abs(got-want) > 0.05 {
		t.Errorf("air %v K, want that of the thermostat", got)
	}
}

// What goes wrong with heat, each from the demo's space with one thing changed.
// Common practice, no source.
func TestHeatFindings(t *testing.T) {
	demo := string(systems.DemoJob())
	with := func(pairs ...string) *systems.Outcome {
		text := demo
		for i := 0; i < len(pairs); i += 2 {
			if !strings.Contains(text, pairs[i]) {
				t.Fatalf("the demo has no %q", pairs[i])
			}
			text = strings.Replace(text, pairs[i], pairs[i+1], 1)
		}
		return planOf(t, text)
	}
	full := []string{`tank = "150 lb"`, `tank = "1000 lb"`}
	if o := with(full...); len(found(o, "tank-runs-dry")) != 0 || len(found(o, "unvented-heat-damps")) != 0 || len(found(o, "heaters-at-maximum")) != 0 || o.Heat.VentedMargin != nil {
		t.Errorf("enough vented heat: %+v", o.Findings)
	}
	// Unvented in a tight room: its water costs the margin, its carbon dioxide passes the limit.
	o := with(append(full, `class = "propane-vented"`, `class = "propane-unvented"`, `envelope = "old-insulated"`, "envelope = \"old-insulated\"\nair_changes = \"0.2 1/h\"")...)
	f := found(o, "unvented-heat-damps")
	if len(f) != 1 || o.Heat.VentedMargin == nil || *o.Heat.VentedMargin < o.Heat.LowestMargin+1 {
		t.Errorf("unvented heat: %+v, margin %v, vented %v", f, o.Heat.LowestMargin, o.Heat.VentedMargin)
	}
	if f := found(o, "carbon-dioxide"); len(f) != 1 || f[0].Severity != systems.Stop || o.Heat.CO2 < 0.005 {
		t.Errorf("carbon dioxide: %+v, %v", f, o.Heat.CO2)
	}
	if f := found(o, "slab-sweats"); len(f) == 0 {
		t.Errorf("a damp room over a cold slab does not sweat: margin %v", o.Heat.LowestMargin)
	}
	o = with(append(full, `max = "150000 Btu/h"`, `max = "30000 Btu/h"`)...)
	if f := found(o, "heaters-at-maximum"); len(f) == 0 || f[0].Asked.Q != units.Quantity(units.Fahrenheit(64)) {
		t.Errorf("too small a heater: %+v", f)
	}
}

// Two heaters half as strong take in what one does, each its own part of it: the current
// is paid for once. By hand; the balance of the forecast is the sum.
func TestTwoElectricHeaters(t *testing.T) {
	demo := string(systems.DemoJob())
	demo = demo[:strings.Index(demo, "[decide]")]
	heat, door := strings.Index(demo, "[room.heaters.rented]"), strings.Index(demo, "[room.doors.delivery]")
	with := func(heaters string) *systems.Outcome { return planOf(t, demo[:heat]+heaters+demo[door:]) }
	const fans = "[room.heaters.a]\nclass = \"electric\"\nmax = \"10 kW\"\n[room.heaters.b]\nclass = \"electric\"\nmax = \"10 kW\"\n"
	one, two := with("[room.heaters.a]\nclass = \"electric\"\nmax = \"20 kW\"\n").Heat.Heaters, with(fans).Heat.Heaters
	if sum := two[0].TakenIn + two[1].TakenIn; math.Abs(float64(sum/one[0].TakenIn)-1) > 1e-9 || !(two[1].TakenIn > 0 && two[1].TakenIn < two[0].TakenIn) { // the first gives what it has before the second does
		t.Errorf("two take in %v and %v, one twice as strong %v", two[0].TakenIn, two[1].TakenIn, one[0].TakenIn)
	}
	mixed := with(fans + "[room.heaters.c]\nclass = \"propane-vented\"\nmax = \"20 kW\"\n").Heat.Heaters
	if mixed[2].Burned <= 0 || math.Abs(float64(mixed[2].TakenIn)/float64(mixed[2].Burned)/50.34e6-1) > 1e-9 { // data/heat/fuels
		t.Errorf("propane beside them: %+v", mixed[2])
	}
}

// One thing wrong in the space: the message names line and key, and what is allowed.
func TestRoomErrors(t *testing.T) {
	demo := string(systems.DemoJob())
	c := builtin(t)
	for _, tc := range []struct{ old, new, key, want string }{
		{`height = "13 ft"`, `height = "1 ft"`, "room.height", "want 1 m to 100 m"},
		{`height = "13 ft"`, "", "room", "want one of them"},
		{`envelope = "old-insulated"`, `envelope = "barn"`, "room.envelope", "want one of insulated, masonry"},
		{`envelope = "old-insulated"`, ``, "room", "or ua and air_changes"},
		{`thickness = "6 in"`, `thickness = "6 mi"`, "room.slab.thickness", "want 10 mm to 5 m"},
		{`under = "sand-gravel"`, `under = "cheese"`, "room.slab.under", "want one of clay-silt"},
		{`film = "stirred"`, `film = "calm"`, "room.slab.film", "still-cold-floor"},
		{`class = "propane-vented"`, `class = "propane"`, "room.heaters.rented.class", "want one of butane-unvented"},
		{`class = "propane-vented"`, `class = "electric"`, "room.heaters.rented", "a tank of an electric heater"},
		{`max = "150000 Btu/h"`, `max = "150000 Btu"`, "room.heaters.rented.max", "one of: W"},
		{`tank = "150 lb"`, `tank = "-1 lb"`, "room.heaters.rented.tank", "want 0 kg to 100 t"},
		{`"144h" = "200 lb"`, `"144h" = "0 lb"`, "room.heaters.rented.refills.144h", "want above 0 kg"},
		{`"0h" = "64 °F"`, `"0h" = "warm"`, "room.thermostat.0h", "or off"},
		{`"0h" = "64 °F"`, `"0h" = "640 °F"`, "room.thermostat.0h", "want -40 °C to 50 °C"},
		{`to = "27h"`, `to = "25h"`, "room.doors.delivery.to", "after from"},
		{`air_changes = "6 1/h"`, `air_changes = "6"`, "room.doors.delivery.air_changes", "no unit"},
		{`"0h" = "38 °F"`, `"1h" = "38 °F"`, "outdoors.air", "want one at the start or before"},
		{`"0h" = "85 %"`, `"0h" = "0 %"`, "outdoors.rh.0h", "found 0 %: want 1 % to 100 %"},
		{`"0h" = "38 °F"`, `"0h" = "638 °F"`, "outdoors.air.0h", "found 336.7 °C: want -40 °C to 60 °C"},
		{`surface = "44 °F"`, `surface = "144 °F"`, "room.slab.surface", "found 62.2 °C: want -40 °C to 60 °C"},
		{`rh = "70 %"`, ``, "room", "as they are at the start"},
		{`contents = "1.5 t"`, `content = "1.5 t"`, "room.content", "unknown key"},
	} {
		if !strings.Contains(demo, tc.old) {
			t.Fatalf("the demo has no %q", tc.old)
		}
		_, err := systems.ReadJob(strings.NewReader(strings.Replace(demo, tc.old, tc.new, 1)), c)
		var f *systems.FileError
		if !errors.As(err, &f) || f.Line == 0 || f.Key != tc.key || !strings.Contains(f.Problem, tc.want) {
			t.Errorf("%s:\n got %v\nwant %s, %q", tc.new, err, tc.key, tc.want)
		}
	}
}

// The fuels of the data against the stoichiometry of their molecules, and the
// carbon dioxide per heat of 40 CFR 98 Table C-1 (propane 62.87, distillate
// no. 2 73.96 kg/MMBtu, to 1 %; its kerosene, 75.20, is what no heater kerosene
// gives, its jet kerosene, 72.22, fits).
func TestFuelsAgainstStoichiometry(t *testing.T) {
	c := builtin(t)
	for id, f := range map[string]struct {
		climate.Formula
		tol float64
	}{
		"propane":     {climate.Formula{Carbon: 3, Hydrogen: 8, Formation: -103.85e3}, 3e-4},
		"butane":      {climate.Formula{Carbon: 4, Hydrogen: 10, Formation: -126.15e3}, 1e-3},
		"natural-gas": {climate.Formula{Carbon: 1, Hydrogen: 4, Formation: -74.87e3}, 5e-4},
		"kerosene":    {climate.Formula{Carbon: 12, Hydrogen: 23, Formation: -303e3}, 5e-3},
	} {
		got, err := c.Fuel(id)
		if err != nil {
			t.Fatal(err)
		}
		want, err := f.Burned()
		if err != nil {
			t.Fatal(err)
		}
		x := got.Fuel()
		for _, v := range [][2]float64{{float64(x.HHV), float64(want.HHV)}, {float64(x.LHV), float64(want.LHV)}, {float64(x.Water), float64(want.Water)}, {float64(x.CO2), float64(want.CO2)}} {
			if math.Abs(v[0]/v[1]-1) > f.tol {
				t.Errorf("%s: %v, by stoichiometry %v", id, v[0], v[1])
			}
		}
	}
	for id, kg := range map[string]float64{"propane": 62.87, "kerosene": 72.22, "diesel": 73.96} {
		f, err := c.Fuel(id)
		if err != nil {
			t.Fatal(err)
		}
		per := float64(f.CO2.Q) / float64(f.HHV.Q) * 1055.05585262e6
		if math.Abs(per/kg-1) > 0.01 {
			t.Errorf("%s: %.2f kg/MMBtu, want %v", id, per, kg)
		}
	}
	// ISO 6946: 0.17 and 0.10 m2 K/W; US tables 0.92 and 0.61 h ft2 °F/Btu, 6.17 and 9.31 W/(m2 K).
	for id, w := range map[string]float64{"still-cold-floor": 1 / 0.17, "still-warm-floor": 10, "still-cold-floor-us": 6.17, "still-warm-floor-us": 9.31} {
		f, err := c.Film(id)
		if err != nil || math.Abs(float64(f.Film.Q)/w-1) > 0.002 {
			t.Errorf("%s: %v, %v; want %v", id, float64(f.Film.Q), err, w)
		}
	}
}

// Files of heat with one thing wrong.
func TestHeatDataErrors(t *testing.T) {
	for _, tc := range []struct{ file, old, new, want string }{
		{"heat/fuels-1.0.0.toml", `"50.34 MJ/kg"`, `"50.34 MJ"`, "one of: J/kg"},
		{"heat/fuels-1.0.0.toml", `"46.35 MJ/kg", low = "45.6 MJ/kg", high = "46.4 MJ/kg"`, `"56.35 MJ/kg"`, "want 4 MJ/kg up to hhv"},
		{"heat/fuels-1.0.0.toml", `source = "greet"`, `source = "great"`, "want a key of sources.toml"},
		{"heat/heaters-1.0.0.toml", `fuel = "propane"`, `fuel = "propene"`, "want one of butane, diesel"},
		{"heat/heaters-1.0.0.toml", `"heater-burn"`, `"heater-burns"`, "want some of"},
		{"heat/heaters-1.0.0.toml", "fuel = \"propane\"\nunvented = true", `fuel = "propane"`, "found no efficiency"},
		{"heat/envelopes-1.0.0.toml", `air_changes = { value = "0.5 1/h", low = "0.2 1/h", high = "1 1/h"`, `air_changes = { value = "500 1/h"`, "want 0 1/h to 100 1/h"},
		{"heat/floors-1.0.0.toml", `kind = "floors"`, `kind = "flaws"`, "want fuels, heaters, envelopes or floors"},
		{"heat/floors-1.0.0.toml", `kind = "floors"`, `kind = "envelopes"`, "found tables of floors in a file of kind \"envelopes\": want those of one kind"},
		{"heat/fuels-1.0.0.toml", `kind = "fuels"`, `kind = "floors"`, "found tables of fuels in a file of kind \"floors\""},
		{"heat/floors-1.0.0.toml", `conductivity = { value = "1.4 W/(m K)", low = "1.2 W/(m K)", high = "2.5 W/(m K)"`, `conductivity = { value = "1400 W/(m K)"`, "want 0.01 W/(m K)"},
	} {
		_, err := systems.Load(tree(t, tc.file, tc.old, tc.new))
		var f *systems.FileError
		if !errors.As(err, &f) || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s with %q:\n got %v\nwant %q", tc.file, tc.new, err, tc.want)
		}
	}
}

// A film coefficient and a conductivity of the job's own stand in the place of
// the classes', in the space, the plan's figures and errors. Common practice, no source.
func TestOwnFilm(t *testing.T) {
	demo := string(systems.DemoJob())
	own := strings.Replace(demo, `film = "stirred"`, "film = \"6.4 W/(m2 K)\"\nconductivity = \"1.8 W/(m K)\"", 1)
	j := job(t, own)
	if s := j.Site.Room.Slab; s.Film != 6.4 || s.Layers[0].Conductivity != 1.8 {
		t.Errorf("%+v", s)
	}
	seen := 0
	for _, f := range planOf(t, own).Figures {
		if (f.Text == "6.4 W/(m2 K)" || f.Text == "1.8 W/(m K)") && f.Basis == systems.FromJob {
			seen++
		}
	}
	if seen != 2 {
		t.Errorf("%d of the job's two figures are told", seen)
	}
	for text, want := range map[string]string{`film = "0.01 W/(m2 K)"`: "want 0.1 W/(m2 K) to 1000 W/(m2 K)", `film = "draughty"`: "or a film coefficient such as", "film = \"stirred\"\nconductivity = \"0 W/(m K)\"": "want 0.01 W/(m K)"} {
		if _, err := systems.ReadJob(strings.NewReader(strings.Replace(demo, `film = "stirred"`, text, 1)), builtin(t)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", text, err)
		}
	}
	for text, want := range map[string]string{"left = \"20 lb\"\ntank = \"150 lb\"": "without now"} {
		if _, err := systems.ReadJob(strings.NewReader(strings.Replace(demo, `tank = "150 lb"`, text, 1)), builtin(t)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", text, err)
		}
	}
}
