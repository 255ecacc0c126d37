package aggregate_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
)

func TestVoids(t *testing.T) {
	const src = "ASTM C29 formula from memory, computed; printed to 0.01 point"
	quartz, err := aggregate.RelativeDensity(2.65)
	near(t, "2.65 of water", float64(quartz), 2644.7, 1e-12, err, "998 x 2.65")
	for _, tc := range []struct {
		id   string
		bulk units.Density
		want float64
	}{
		{"D1", 1600, 39.50}, {"D1", 1500, 43.28},
		{"D3", 90 * units.PoundPerCubicFoot, 45.49}, {"D3", 95 * units.PoundPerCubicFoot, 42.46}, {"D3", 100 * units.PoundPerCubicFoot, 39.43},
		{"D4", 98.5 * units.PoundPerCubicFoot, 40.34},
	} {
		v, err := aggregate.Voids(tc.bulk, quartz)
		if err != nil || math.Abs(100*float64(v)-tc.want) > 0.01 {
			t.Errorf("%s: %v, %v; want %g %% within 0.01 (%s)", tc.id, v, err, tc.want, src)
		}
	}
	// Trap: 62.4 lb/ft3 for the water gives 45.57, 42.55, 39.53 %.
	for _, tc := range []struct{ bulk, road float64 }{{90, 45.57}, {95, 42.55}, {100, 39.53}} {
		bulk := units.Density(tc.bulk) * units.PoundPerCubicFoot
		c29, _ := aggregate.Voids(bulk, quartz)
		road, err := aggregate.Voids(bulk, 2.65*62.4*units.PoundPerCubicFoot)
		if err != nil || math.Abs(100*float64(road)-tc.road) > 0.01 || road-c29 < 0.0005 {
			t.Errorf("62.4 lb/ft3: %v beside %v, %v; want %g %%", road, c29, err, tc.road)
		}
	}
}

func TestBulk(t *testing.T) {
	bulk, err := aggregate.BulkDensity(9.85*units.Pound, 0.1*units.CubicFoot)
	near(t, "D4", float64(bulk/units.PoundPerCubicFoot), 98.5, 1e-12, err, "9.85 lb in 1/10 ft3")
	near(t, "D4", float64(bulk), 1577.8, 1e-4, err, "printed to 5 digits")
	ssd, err := aggregate.SurfaceDry(bulk, 0.3*units.Percent)
	near(t, "D4", float64(ssd/units.PoundPerCubicFoot), 98.80, 1e-4, err, "absorption .3 %, printed to 4 digits")
	for _, tc := range []struct{ phi, kg, lb float64 }{{.55, 1457.5, 90.99}, {.64, 1696, 105.88}} {
		b, err := aggregate.Grain{Size: 1e-3, Density: aggregate.Quartz, Packing: units.Fraction(tc.phi)}.Bulk()
		near(t, "quartz", float64(b), tc.kg, 1e-12, err, "section 3, computed")
		near(t, "quartz", float64(b/units.PoundPerCubicFoot), tc.lb, 1e-4, err, "section 3, printed to 4 digits")
	}
	if sg := float64(aggregate.Quartz) / 1000; sg < 2.60 || sg > 2.80 || sg < 2.65 || sg > 2.67 {
		t.Errorf("quartz %g: want 2.65 to 2.67, inorganic soil 2.60 to 2.80 (D6: FM 5-472 / NAVFAC MO 330)", sg)
	}
}

func TestMoisture(t *testing.T) {
	p, err := aggregate.Moisture(0.510, 0.500)
	near(t, "D7", float64(p), 0.02, 1e-12, err, "510/500: 2.0 %")
	dry, err := aggregate.DryMass(50*units.Pound, 0.2*units.Percent)
	near(t, "D7", float64(dry/units.Pound), 49.900, 1e-5, err, "50 lb at .2 %, the most that TxDOT SS 4190 allows (B8, OB21): 49.900 lb; exact 49.9002")
	p, err = aggregate.Moisture(50*units.Pound, dry)
	near(t, "there and back", float64(p), 0.002, 1e-9, err, "B8")
}

func TestBulkProperties(t *testing.T) { // grain and voids make up the bed; any split of a sack
	rapid.Check(t, func(t *rapid.T) {
		rho := units.Density(rapid.Float64Range(1000, 4000).Draw(t, "rho"))
		phi := units.Fraction(rapid.Float64Range(0.2, 0.8).Draw(t, "phi"))
		bulk, err1 := aggregate.Grain{Size: 1e-3, Density: rho, Packing: phi}.Bulk()
		v, err2 := aggregate.Voids(bulk, rho)
		if err := errors.Join(err1, err2); err != nil || math.Abs(float64(v+phi-1)) > 1e-12 {
			t.Fatalf("voids %v and solids %v, %v", v, phi, err)
		}
		wet, p := units.Mass(rapid.Float64Range(0.01, 100).Draw(t, "wet")), units.Fraction(rapid.Float64Range(0, 0.2).Draw(t, "p"))
		dry, err1 := aggregate.DryMass(wet, p)
		q, err2 := aggregate.Moisture(wet, dry)
		if err := errors.Join(err1, err2); err != nil || math.Abs(float64(q-p)) > 1e-9 {
			t.Fatalf("moisture %v, want %v, %v", q, p, err)
		}
	})
}

func TestBulkRefusals(t *testing.T) {
	nan := math.NaN()
	for name, f := range map[string]func() (float64, error){
		"sg 0":         func() (float64, error) { v, err := aggregate.RelativeDensity(0); return float64(v), err },
		"no mass":      func() (float64, error) { v, err := aggregate.BulkDensity(0, 1e-3); return float64(v), err },
		"no measure":   func() (float64, error) { v, err := aggregate.BulkDensity(1, 0); return float64(v), err },
		"absorption":   func() (float64, error) { v, err := aggregate.SurfaceDry(1500, -0.01); return float64(v), err },
		"bulk > grain": func() (float64, error) { v, err := aggregate.Voids(3000, 2650); return float64(v), err },
		"bulk 0":       func() (float64, error) { v, err := aggregate.Voids(0, 2650); return float64(v), err },
		"grain NaN":    func() (float64, error) { v, err := aggregate.Voids(1500, units.Density(nan)); return float64(v), err },
		"no grain":     func() (float64, error) { v, err := aggregate.Grain{}.Bulk(); return float64(v), err },
		"wet < dry":    func() (float64, error) { v, err := aggregate.Moisture(1, 1.1); return float64(v), err },
		"dry 0":        func() (float64, error) { v, err := aggregate.Moisture(1, 0); return float64(v), err },
		"moisture NaN": func() (float64, error) { v, err := aggregate.DryMass(1, units.Fraction(nan)); return float64(v), err },
		"moisture -":   func() (float64, error) { v, err := aggregate.DryMass(1, -1e-9); return float64(v), err },
	} {
		if v, err := f(); !errors.Is(err, units.ErrRange) || !math.IsNaN(v) {
			t.Errorf("%s: %v, %v; want NaN and a range error", name, v, err)
		}
	}
}

func BenchmarkVoids(b *testing.B) {
	b.ReportAllocs() // 0 allocs/op
	for b.Loop() {
		aggregate.Voids(1500, 2650)
	}
}
