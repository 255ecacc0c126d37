package draw

import (
	"bytes"
	"os"
	"testing"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// night is a cold shop of 1600 ft2 in January: an unvented propane heater whose
// tank runs dry about 2 a.m. and is refilled at 7 a.m.
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
	n.Width, n.DPI = 400./96*units.Inch, 96
	save("phone.png", "png", n)
}
