package aggregate_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
)

func ExampleBuild() {
	// The public two-course overlay: 2.5 and 5 gal/100 ft2, each broadcast to refusal.
	b, err := aggregate.Build([]aggregate.Course{{Film: 2.5 * gal100, Grain: overlay}, {Film: 5 * gal100, Grain: overlay}})
	fmt.Printf("%.1f lb/yd2 held, %.2f in to the peaks, %v\n", float64(b.Held/units.PoundPerSquareYard), float64(b.Height/units.Inch), err)
	// Output: 18.2 lb/yd2 held, 0.29 in to the peaks, <nil>
}

// NCHRP Synthesis 423 p. 36: about 0.25 in, resin about 25 % by weight; here
// with the crust of course 1 filled first, in the trade's real grain.
func TestTwoCourses(t *testing.T) {
	b, err := aggregate.Build([]aggregate.Course{{Film: 2.5 * gal100, Grain: overlay}, {Film: 5 * gal100, Grain: overlay}})
	if err != nil {
		t.Fatal(err)
	}
	resin := float64(b.Film) * 1080
	near(t, "held", float64(b.Held/units.PoundPerSquareYard), 18, 0.10, err, "B1, M1: 25 % of resin leaves 18 lb/yd2; forecast within 10 %")
	if share := resin / (resin + float64(b.Held)); math.Abs(share-0.25) > 0.01 {
		t.Errorf("resin %g by weight; want 0.25 within a point (B1)", share)
	}
	mean := b.Height - b.Beds[1].Open
	near(t, "thickness", float64(mean/units.Inch), 0.25, 0.10, nil, "B1: about 0.25 in; mean height, without the open voids on top")
	if in := float64(mean / units.Inch); in < 1./8 || in > 3./8 {
		t.Errorf("%g in: outside what 14 states build (B4, OB08: MnDOT TRS 1212)", in)
	}
	if b.Held > 24*units.PoundPerSquareYard {
		t.Error("more held than the 24 lb/yd2 applied")
	}
}

// M4: if all 24 lb/yd2 applied were kept, resin would be 20.0 % and phi .6198:
// the print contradicts itself unless the rate applied is not what is retained.
func TestAppliedIsNotRetained(t *testing.T) {
	resin, sand := 6*float64(units.PoundPerSquareYard)/1080, 24*float64(units.PoundPerSquareYard)/2650
	all, err := aggregate.ToRefusal(units.Length(resin), aggregate.Grain{Size: 0.5e-3, Density: 2650, Packing: .6198})
	near(t, "all kept", float64(all.Held/units.PoundPerSquareYard), 24, 1e-3, err, "M4, computed")
	near(t, "thickness", float64(all.Height/units.Mil), 312.1, 1e-3, err, "M4, computed; print has about 250")
	near(t, "solids", sand/float64(all.Height), .6198, 1e-3, err, "M4, computed")
	bed, err := aggregate.ToRefusal(units.Length(resin), aggregate.Grain{Size: 0.5e-3, Density: 2650, Packing: .55})
	if err != nil || bed.Held > 0.8*24*units.PoundPerSquareYard {
		t.Errorf("held %v, %v; want well below the 24 lb/yd2 applied", bed.Held, err)
	}
}

// Every row of testdata/overlays.csv: what it computes is recomputed here, and
// a row without figures says what else it is.
func TestOverlayTable(t *testing.T) {
	range1 := map[string]string{"OB04": "range only: below 1 in, tested in TestTwoCourses", "OB08": "range only: 1/8 to 3/8 in, tested in TestTwoCourses",
		"OB11": "a density, tested below", "OB12": "a density, tested below", "OB17": "mortar 5:1, tested in TestMortar and below", "OB21": "moisture 0.2 %, tested in TestMoisture"}
	checks := 0
	for _, r := range rows(t, "overlays.csv", 16) {
		id := r["id"]
		src := id + " " + r["document"] + " " + r["place"] + "; " + r["how_known"]
		check := func(col string, got, rel float64, err error) {
			if r[col] != "" {
				checks++
				near(t, col, got, number(t, r[col]), rel, err, src)
			}
		}
		const printed = 1e-4 // the table's digits
		film := units.Length(math.NaN())
		if r["resin_gal_per_100ft2_lo"] != "" {
			film = units.Length(number(t, r["resin_gal_per_100ft2_lo"])) * gal100
			check("calc_wet_film_mil_hi", number(t, or(r["resin_gal_per_100ft2_hi"], r["resin_gal_per_100ft2_lo"]))*float64(gal100/units.Mil), printed, nil)
		} else if r["resin_lb_per_yd2"] != "" { // at 9.0 lb/gal
			v := (units.Loading(number(t, r["resin_lb_per_yd2"])) * units.PoundPerSquareYard).Over(units.SquareYard).Volume(9 * units.PoundPerGallon)
			film = v.PerArea(units.SquareYard)
			check("calc_wet_film_mil_hi", float64(film/units.Mil), printed, nil)
		}
		check("calc_wet_film_mil_lo", float64(film/units.Mil), printed, nil)
		check("calc_resin_L_m2_lo", mm(film), 2e-4, nil) // 4 decimals of 0.34
		for _, end := range []string{"lo", "hi"} {
			if text := or(r["agg_lb_per_yd2_"+end], r["agg_lb_per_yd2_lo"]); text != "" {
				m := units.Loading(number(t, text)) * units.PoundPerSquareYard
				check("calc_agg_kg_m2_"+end, float64(m), 2e-4, nil)
				check("calc_agg_solid_mm_"+end, float64(m)/number(t, r["agg_sg_used"]), 4e-4, nil) // 4 decimals of 0.16
			}
		}
		small := aggregate.Grain{Size: 0.1e-3, Density: aggregate.Quartz, Packing: .55}
		for _, end := range []string{"lo", "hi"} {
			f := film
			if end == "hi" && r["resin_gal_per_100ft2_hi"] != "" {
				f = units.Length(number(t, r["resin_gal_per_100ft2_hi"])) * gal100
			}
			if f > 0 {
				bed, err := aggregate.ToRefusal(f, small)
				check("calc_sat_bed_mil_phi055_"+end, float64(bed.Height/units.Mil), 2e-4, err)
				check("calc_sat_bed_agg_lb_yd2_phi055_"+end, float64(bed.Held/units.PoundPerSquareYard), 2e-4, err)
			}
		}
		if why := range1[id]; (r["calc_agg_kg_m2_lo"] == "" && r["calc_wet_film_mil_lo"] == "") != (why != "") {
			t.Errorf("%s: neither computed nor explained", id)
		}
	}
	if checks < 55 {
		t.Errorf("only %d figures checked", checks)
	}
	for _, tc := range []struct{ film, lb float64 }{{2.5, 2.03}, {5, 4.05}} {
		m := (units.Length(tc.film) * gal100).Over(units.SquareYard).Mass(9 * units.PoundPerGallon)
		near(t, "resin", float64(m/units.Pound), tc.lb, 3e-3, nil, "B2 at 9.0 lb/gal: agrees with the 2 and 4 lb/yd2 of B1")
	}
	// OB13: published 0.43-0.65 kg/m2 on D50 spheres covers only 0.18-0.27 of the plan: light.
	ohio := aggregate.Band{{4.75e-3, 1, 1}, {2.36e-3, .90, 1}, {0.85e-3, .05, .15}, {0.3e-3, 0, .05}}
	mid, _ := ohio.Middle()
	d50, err := mid.Size(0.5)
	for _, tc := range []struct{ rate, lo, hi float64 }{{0.80, .17, .19}, {1.2, .26, .28}} {
		bed, err2 := aggregate.Broadcast(units.Loading(tc.rate)*units.PoundPerSquareYard, 0.3e-3, aggregate.Grain{Size: d50, Density: 2650, Packing: .55})
		if c := float64(bed.Coverage); errors.Join(err, err2) != nil || c < tc.lo || c > tc.hi || !bed.Light {
			t.Errorf("OB13, B6: %g lb/yd2 of D50 %v cover %g, light %t; want %g to %g, light", tc.rate, d50, c, bed.Light, tc.lo, tc.hi)
		}
	}
	// OB11, OB12 (Maryland SHA 505; AASHTO MP 41-19): bauxite of 3.1, held by the same film in the ratio of densities.
	q, err1 := aggregate.ToRefusal(1e-3, aggregate.Grain{Size: 1e-4, Density: 2650, Packing: .55})
	x, err2 := aggregate.ToRefusal(1e-3, aggregate.Grain{Size: 1e-4, Density: 3100, Packing: .55})
	near(t, "bauxite", float64(x.Held/q.Held), 3.1/2.65, 1e-12, errors.Join(err1, err2), "OB11, OB12")
	// OB17: at least 5:1 by weight is at most 16.67 % resin.
	resin, sand, err := aggregate.Mortar{SandToResin: 5, SandDensity: 2650, ResinDensity: 1100, Bulk: .79}.For(1)
	m := float64(resin) * 1100
	near(t, "resin by weight", 100*m/(m+float64(sand)), 16.67, 1e-3, err, "OB17, F1: UFGS 03930 1.4.1")
}

func or(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

func TestStarved(t *testing.T) {
	thin, err := aggregate.ToRefusal(0.1e-3, overlay)
	if err != nil {
		t.Fatal(err)
	}
	bed, err := thin.Next(thin.Open/2, overlay)
	if !errors.Is(err, aggregate.ErrStarved) || !math.IsNaN(float64(bed.Held)) {
		t.Errorf("half the voids' worth of film: %+v, %v; want starved", bed, err)
	}
	thin.Fill = 0.4
	if _, err := thin.Next(thin.Open/2, overlay); err != nil {
		t.Errorf("40 %% of the voids: %v", err)
	}
	b, err := aggregate.Build([]aggregate.Course{{Film: 0.1e-3, Grain: overlay}, {Film: 0.1e-3, Grain: overlay}})
	if !errors.Is(err, aggregate.ErrStarved) || !strings.HasPrefix(err.Error(), "course 2: ") || !math.IsNaN(float64(b.Held+units.Loading(b.Height+b.Film))) {
		t.Errorf("%+v, %v; want course 2 starved", b, err)
	}
	for name, c := range map[string][]aggregate.Course{"none": nil, "no film": {{Grain: overlay}}, "no grain": {{Film: 1e-3}}, "fill": {{Film: 1e-3, Grain: overlay, Fill: 2}}, "rate": {{Film: 1e-3, Grain: overlay, Rate: -1}}, "second": {{Film: 1e-3, Grain: overlay}, {Film: 1e-3}}} {
		if b, err := aggregate.Build(c); !errors.Is(err, units.ErrRange) || !math.IsNaN(float64(b.Held)) || b.Beds != nil {
			t.Errorf("%s: %+v, %v; want a range error", name, b, err)
		}
	}
}

func TestBuildBalances(t *testing.T) { // all volume below the peaks is film, grain or a void
	rapid.Check(t, func(t *rapid.T) {
		var courses []aggregate.Course
		for range rapid.IntRange(1, 4).Draw(t, "courses") {
			c := aggregate.Course{Film: units.Length(rapid.Float64Range(1e-4, 5e-3).Draw(t, "film")), Fill: units.Fraction(rapid.Float64Range(0.01, 1).Draw(t, "fill")),
				Grain: aggregate.Grain{Size: units.Length(rapid.Float64Range(1e-4, 3e-3).Draw(t, "d")), Density: 2650, Packing: units.Fraction(rapid.Float64Range(0.5, 0.65).Draw(t, "phi"))}}
			if rapid.Bool().Draw(t, "stated") {
				c.Rate = units.Loading(rapid.Float64Range(0.1, 10).Draw(t, "rate"))
			}
			courses = append(courses, c)
		}
		b, err := aggregate.Build(courses)
		if errors.Is(err, aggregate.ErrStarved) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		film, grain, voids, held := 0.0, 0.0, 0.0, 0.0
		for i, c := range courses {
			film += float64(c.Film)
			held += float64(b.Beds[i].Held)
			grain += float64(b.Beds[i].Held) / 2650
			if i < len(courses)-1 {
				voids += float64(b.Beds[i].Open) * (1 - float64(c.Fill))
			} else {
				voids += float64(b.Beds[i].Open)
			}
		}
		if gap := float64(b.Height) - film - grain - voids; math.Abs(gap) > 1e-12*float64(b.Height) {
			t.Fatalf("%g m do not add up: %+v", gap, b)
		}
		if math.Abs(float64(b.Film)-film) > 1e-15 || math.Abs(float64(b.Held)-held) > 1e-12*held {
			t.Fatalf("sums %+v, want %g and %g", b, film, held)
		}
		// A job in US units is the same job.
		us := make([]aggregate.Course, len(courses))
		for i, c := range courses {
			us[i] = c
			us[i].Film = units.Length(float64(c.Film/units.Mil)) * units.Mil
			us[i].Grain.Size = units.Length(float64(c.Grain.Size/units.Inch)) * units.Inch
			us[i].Rate = units.Loading(float64(c.Rate/units.PoundPerSquareFoot)) * units.PoundPerSquareFoot
		}
		if u, err := aggregate.Build(us); err != nil || math.Abs(float64(u.Height/b.Height)-1) > 1e-12 || math.Abs(float64(u.Held/b.Held)-1) > 1e-12 {
			t.Fatalf("US %+v, SI %+v, %v", u, b, err)
		}
	})
}

func BenchmarkNext(b *testing.B) {
	b.ReportAllocs() // 0 allocs/op
	bed, _ := aggregate.ToRefusal(2.5*gal100, overlay)
	for b.Loop() {
		bed.Next(5*gal100, overlay)
	}
}
