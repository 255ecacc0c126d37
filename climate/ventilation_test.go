package climate_test

import (
	"errors"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

const (
	ppm  = 1e-6 * units.Fraction(1)
	cfm  = 0.3048 * 0.3048 * 0.3048 / 60 * units.Flow(1)
	pint = 3.785411784e-3 / 8 // m3
)

// ppm and mg/m3 at 25 °C: the conversion by the customary 24.45 L/mol, 0.063 % more
// than by the gas constant (24.465), and what the limits' owners print beside it.
func TestConcentration(t *testing.T) {
	for _, tc := range []struct {
		share units.Fraction
		molar float64
		want  float64 // mg/m3
		print float64
		tol   float64 // of the print
		src   string
	}{
		{50 * ppm, 28.01, 57.2801635992, 55, 2.4, "OSHA, carbon monoxide; 55 is an old rounding, the formula gives 57.3"},
		{35 * ppm, 28.01, 40.0961145194, 40, 0.2, "NIOSH, carbon monoxide"},
		{200 * ppm, 28.01, 229.120654397, 229, 0.5, "NIOSH, carbon monoxide"},
		{25 * ppm, 28.01, 28.6400817996, 29, 0.5, "carbon monoxide, 25 ppm"},
		{0.005 * ppm, 250.25, 0.0511758691207, 0.05, 0.002, "NIOSH, MDI"},
		{0.02 * ppm, 250.25, 0.204703476483, 0.2, 0.01, "OSHA, MDI"},
		{0.02 * ppm, 174.16, 0.142462167689, 0.14, 0.005, "OSHA, 2,4-TDI"},
	} {
		c, err := climate.Concentration(tc.share, tc.molar, units.Celsius(25), 0)
		if got := float64(c) * 1e6; err != nil || math.Abs(got/tc.want*24.4654/24.45-1) > 1e-5 || math.Abs(got-tc.print) > tc.tol {
			t.Errorf("%v ppm of %v g/mol: %v, %v; want %v, printed %v within %v (%s)", float64(tc.share)*1e6, tc.molar, got, err, tc.want, tc.print, tc.tol, tc.src)
		}
	}
}

func TestDilutionAir(t *testing.T) {
	for _, tc := range []struct {
		name   string
		rate   float64 // kg/s
		molar  float64
		limit  units.Fraction
		mixing float64
		temp   units.Temperature
		want   float64 // cfm
		tol    float64
		src    string
	}{
		{"toluene adhesive", 3. / 8 * 0.4 * 3.785411784e-3 * 870 / 3600, 92, 80 * ppm, 5, units.Kelvin(293), 4745.40827233, 2e-3, "Abulencia and Theodore example 20.2 p. 269, computed"},
		{"toluene adhesive", 3. / 8 * 0.4 * 3.785411784e-3 * 870 / 3600, 92, 80 * ppm, 5, units.Kelvin(293), 134375 / 28.316846592, 2e-3, "the same, printed 134 375 L/min with 2.15 L/min of vapour"},
		{"toluene adhesive", 3. / 8 * 0.4 * 3.785411784e-3 * 870 / 3600, 92, 80 * ppm, 5, units.Fahrenheit(70), 4763.72282609, 5e-3, "the same by ACGIH's 403, at 70 °F"},
		// 2 pt in 60 min, B 0.7, a tenth of 1 % LEL: 403 x 0.88 x 100 x 10/(106 x 1 x 0.7) x 2/60 = 159 of standard air
		{"xylene below its LEL", 2 * pint * 880 / 3600, 106, 0.01 / 10 * 0.7, 1, units.Fahrenheit(70), 159.317160827, 2e-2, "ACGIH Industrial Ventilation (from memory); its 403 takes a pint as 1.045 lb, 8.36 lb/gal"},
		// one pint of water, 18.015 g/mol, per minute to 100 %: 403.5 ft3 with 8.345 lb/gal
		{"a pint of water", 8.345 * 0.45359237 / 8 / 60, 18.015, 1, 1, units.Fahrenheit(70), 403.485909276 / 18.015, 2e-3, "ACGIH's 403, computed: per molar mass"},
		// a pound mole a minute: 387 ft3
		{"a pound mole", 0.45359237 * 28.01 / 60, 28.01, 1, 1, units.Fahrenheit(70), 386.7862208, 1e-3, "ACGIH's 387, computed"},
	} {
		q, err := climate.DilutionAir(units.MassFlow(tc.rate), tc.molar, tc.limit, 0, tc.mixing, tc.temp, 0)
		if got := float64(q / cfm); err != nil || math.Abs(got/tc.want-1) > tc.tol {
			t.Errorf("%s: %.4f cfm, %v; want %v within %v (%s)", tc.name, got, err, tc.want, tc.tol, tc.src)
		}
	}
	// R1 of the combustion table: 2.5098 kg/h of CO2, 0.5 changes of 146.79 m3 at
	// 15 °C hold 18 792 ppm over 420; 1 %: the table's air is dry.
	q, err := climate.DilutionAir(2.5098/3600, 44.009, 18792*ppm, 420*ppm, 1, units.Celsius(15), 0)
	if want := 0.5 / 3600 * 146.79; err != nil || math.Abs(float64(q)/want-1) > 0.01 {
		t.Errorf("R1: %v, %v; want %v m3/s", q, err, want)
	}
}

// A room of 20 x 14 x 12 ft, 500 cfm, from 100 to 25 ppm: 9.31590 min; its volume
// 3360 ft3 is printed in USAF apprentice notes, the rest computed; 1e-9.
func TestPurgeTime(t *testing.T) {
	v := 3360 * units.CubicFoot
	d, err := climate.PurgeTime(v, 500*cfm, 100*ppm, 25*ppm, 0)
	if err != nil || math.Abs(d.Minutes()/9.31589810673-1) > 1e-9 {
		t.Errorf("%v, %v; want 9.3159 min", d, err)
	}
	if n := float64(500*cfm) * 3600 / float64(v); math.Abs(n/8.92857142857-1) > 1e-9 {
		t.Errorf("%v air changes, want 8.92857", n)
	}
	// 800 ft3 and 800 cfm are 60 air changes an hour (one page says 1): 1/e in a minute.
	if d, err := climate.PurgeTime(800*units.CubicFoot, 800*cfm, 1, units.Fraction(math.Exp(-1)), 0); err != nil || math.Abs(d.Seconds()-60) > 1e-6 {
		t.Errorf("%v, %v; want 1 min", d, err)
	}
	for name, tc := range map[string]struct{ from, to, outdoors units.Fraction }{"to the outdoors": {100 * ppm, 20 * ppm, 20 * ppm}, "below": {100 * ppm, 10 * ppm, 20 * ppm}, "to nothing": {100 * ppm, 0, 0}, "worse outdoors": {100 * ppm, 50 * ppm, 200 * ppm}} {
		if d, err := climate.PurgeTime(v, 500*cfm, tc.from, tc.to, tc.outdoors); !errors.Is(err, climate.ErrNeverPurged) || d != 0 {
			t.Errorf("%s: %v, %v; want ErrNeverPurged", name, d, err)
		}
	}
	if d, err := climate.PurgeTime(v, 500*cfm, 20*ppm, 20*ppm, 0); err != nil || d != 0 {
		t.Errorf("there already: %v, %v", d, err)
	}
}

func TestVentilationProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		temp, p, molar := units.Celsius(f("c", -40, 60)), units.Pressure(f("p", 50e3, 110e3)), f("molar", 2, 1000)
		// The air that DilutionAir asks for carries what is given off, at the limit's concentration.
		rate := f("rate", 1e-9, 1)
		out := f("outdoors", 0, 0.5)
		limit := out + f("over", 1e-9, 0.5)
		mixing := f("mixing", 1, 10)
		q, err1 := climate.DilutionAir(units.MassFlow(rate), molar, units.Fraction(limit), units.Fraction(out), mixing, temp, p)
		c, err2 := climate.Concentration(units.Fraction(limit-out), molar, temp, p)
		if err := errors.Join(err1, err2); err != nil || math.Abs(float64(q)*float64(c)/(rate*mixing)-1) > 1e-9 {
			t.Fatalf("%v of air at %v carries %v, want %v x %v, %v", q, c, float64(q)*float64(c), rate, mixing, err)
		}
		// Two purges in a row take as long as one; the volume over the flow scales it.
		v, flow := units.Volume(f("v", 1, 1e5)), units.Flow(f("flow", 0.01, 100))
		to := f("to", 0.001, 0.9)
		mid := to + f("mid", 0, 1)*(1-to)
		whole, err1 := climate.PurgeTime(v, flow, 1, units.Fraction(to), 0.0005)
		a, err2 := climate.PurgeTime(v, flow, 1, units.Fraction(mid), 0.0005)
		b, err3 := climate.PurgeTime(v, flow, units.Fraction(mid), units.Fraction(to), 0.0005)
		twice, err4 := climate.PurgeTime(2*v, flow, 1, units.Fraction(to), 0.0005)
		if err := errors.Join(err1, err2, err3, err4); err != nil || (whole-a-b).Abs() > 10+whole/1e9 || (twice-2*whole).Abs() > 10+whole/1e9 {
			t.Fatalf("%v, in two %v and %v, twice the room %v, %v", whole, a, b, twice, err)
		}
	})
}

// A room purges as PurgeTime says: carbon dioxide of a heater that stops.
func TestPurgeOfARoom(t *testing.T) {
	r := shop(t)
	r.AirChanges = 2 * units.PerHour
	r = r.HeatStops(2 * time.Hour)
	f, err := r.Forecast(climate.Weather{{Temp: units.Celsius(5), RH: 0.7}}, 5*time.Hour, 15*time.Minute)
	if err != nil {
		t.Fatal(err)
	}
	from, to := f.States[8].CO2, f.States[16].CO2
	d, err := climate.PurgeTime(r.Volume, units.Flow(float64(r.Volume)*float64(r.AirChanges)), from, to, 420*ppm)
	if err != nil || math.Abs(d.Hours()-2) > 0.01 { // the forecast's 0.1 K of dew point are 0.6 % of what is in the air
		t.Errorf("from %v to %v in %v, %v; want 2 h", from, to, d, err)
	}
}

func TestVentilationRefusals(t *testing.T) {
	c, nan := units.Celsius(20), math.NaN()
	dilute := func(rate units.MassFlow, molar float64, limit, out units.Fraction, mixing float64, temp units.Temperature, p units.Pressure) error {
		q, err := climate.DilutionAir(rate, molar, limit, out, mixing, temp, p)
		if (err == nil) == math.IsNaN(float64(q)) || math.IsInf(float64(q), 0) {
			t.Errorf("%v beside %v", q, err)
		}
		return err
	}
	purge := func(v units.Volume, q units.Flow, from, to, out units.Fraction) error {
		return second(climate.PurgeTime(v, q, from, to, out))
	}
	for name, err := range map[string]error{
		"share above 1": second(climate.Concentration(1.1, 28, c, 0)), "share NaN": second(climate.Concentration(units.Fraction(nan), 28, c, 0)), "share below": second(climate.Concentration(-1e-12, 28, c, 0)),
		"molar": second(climate.Concentration(0.1, 0.028, c, 0)), "molar NaN": second(climate.Concentration(0.1, nan, c, 0)), "zero temperature": second(climate.Concentration(0.1, 28, units.Temperature{}, 0)),
		"hPa for Pa": second(climate.Concentration(0.1, 28, c, 1013)), "pressure NaN": second(climate.Concentration(0.1, 28, c, units.Pressure(nan))),
		"rate below": dilute(-1, 28, 0.1, 0, 1, c, 0), "rate NaN": dilute(units.MassFlow(nan), 28, 0.1, 0, 1, c, 0), "limit at the outdoors": dilute(1, 28, 0.1, 0.1, 1, c, 0), "limit NaN": dilute(1, 28, units.Fraction(nan), 0, 1, c, 0),
		"outdoors NaN": dilute(1, 28, 0.1, units.Fraction(nan), 1, c, 0), "limit above 1": dilute(1, 28, 50, 0, 1, c, 0), "mixing 0": dilute(1, 28, 0.1, 0, 0, c, 0), "mixing NaN": dilute(1, 28, 0.1, 0, nan, c, 0), "no limit": dilute(1, 28, 5e-324, 0, 1, c, 0),
		"no room": purge(0, 1, 0.1, 0.01, 0), "room NaN": purge(units.Volume(nan), 1, 0.1, 0.01, 0), "no flow": purge(10, 0, 0.1, 0.01, 0), "flow below": purge(10, -5e-6, 0.1, 0.01, 0), "flow NaN": purge(10, units.Flow(nan), 0.1, 0.01, 0),
		"from above 1": purge(10, 1, 100, 0.01, 0), "from NaN": purge(10, 1, units.Fraction(nan), 0.01, 0), "to NaN": purge(10, 1, 0.1, units.Fraction(nan), 0), "purge, outdoors NaN": purge(10, 1, 0.1, 0.01, units.Fraction(nan)),
	} {
		if !errors.Is(err, units.ErrRange) {
			t.Errorf("%s: %v; want a range error", name, err)
		}
	}
}

func BenchmarkDilutionAir(b *testing.B) { // 0 allocs/op
	b.ReportAllocs()
	for b.Loop() {
		if _, err := climate.DilutionAir(1e-4, 92, 80*ppm, 0, 5, units.Celsius(20), 0); err != nil {
			b.Fatal(err)
		}
	}
}
