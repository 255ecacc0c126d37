package units

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// Text -> value -> text -> value is exact, for every kind and any finite value.
// Run once with -rapid.checks=1000000.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := math.Float64frombits(rapid.Uint64().Draw(t, "bits"))
		if rapid.Bool().Draw(t, "everyday") {
			v = rapid.Float64Range(-1e6, 1e6).Draw(t, "value")
		}
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return
		}
		k := rapid.SampledFrom(kinds()).Draw(t, "kind")
		text := k.text(v)
		back, err := k.parse(text)
		if err != nil || back != v {
			t.Fatalf("%s: %g -> %q -> %g, %v", k.name, v, text, back, err)
		}
		if again := k.text(back); again != text {
			t.Fatalf("%q -> %q", text, again)
		}
		if v > 0 {
			var u Temperature
			if err := u.UnmarshalText([]byte(Kelvin(v).String())); err != nil || u != Kelvin(v) {
				t.Fatalf("%g K -> %q -> %v, %v", v, Kelvin(v), u, err)
			}
			d := time.Duration(rapid.Int64Min(0).Draw(t, "ns"))
			if got, err := ParseDuration(DurationText(d)); err != nil || got != d {
				t.Fatalf("%d ns -> %q -> %d, %v", d, DurationText(d), got, err)
			}
		}
	})
}

// Texts that data sheets and crews write, and what they are not taken for.
// Common practice, no source.
func TestRefused(t *testing.T) {
	for _, tc := range []struct{ text, kind, hint string }{
		{"3 oz", "volume", "mass or a volume"}, {"3 oz", "mass", "mass or a volume"}, {"2 ton", "mass", "short, long or metric"}, {"1 gallon(imp)", "volume", "US liquid"},
		{"1,000 mil", "length", "thousands separators"}, {"1'000 mil", "length", "thousands separators"}, {"1 000 mil", "length", "two numbers"}, {"0,5 mm", "length", "decimal commas"},
		{"10 mil wet", "length", "unknown symbol"}, {"10", "length", "no unit"}, {"mil", "length", "does not begin"}, {"NaN mil", "length", "does not begin"}, {"Inf mil", "length", "does not begin"},
		{"+Inf m", "length", "does not begin"}, {"1e400 m", "length", "too large"}, {"1e-400 m", "length", "too small"}, {"1e999 m", "length", "too large"}, {"-1e99999999999999999999 m", "length", "too large"}, {"1e-99999999999999999999 m", "length", "too small"}, {"10 lb", "length", "unit of mass"}, {"10 °F", "length", "unit of temperature difference"},
		{"10 Mil", "length", "unknown symbol"}, {"0x1p4 m", "length", "unknown symbol"}, {"--5 m", "length", "does not begin"}, {"", "length", "empty"}, {"  ", "length", "empty"}, {"40 MBtu/h", "power", "thousand or a million"},
		{"1e m", "length", "unknown symbol"}, {"١ m", "length", "does not begin"},
	} {
		for _, k := range kinds() {
			if k.name != tc.kind {
				continue
			}
			v, err := k.parse(tc.text)
			var p *ParseError
			if !errors.As(err, &p) || !math.IsNaN(v) || !strings.Contains(p.Reason, tc.hint) || !strings.Contains(err.Error(), k.symbols[0].name) {
				t.Errorf("%s %q: %v, %v; want %q and the symbols", tc.kind, tc.text, v, err, tc.hint)
			}
		}
	}
	for _, bad := range []string{"", "5", "-5m", "5x", "1h1h", "1m1h", "1e3s", "300y", "400000d", "h", "1.h.", "5 m 3"} {
		if d, err := ParseDuration(bad); !errors.Is(err, ErrParse) {
			t.Errorf("duration %q: %v, %v; want an error", bad, d, err)
		}
	}
	for text, want := range map[string]time.Duration{"4h30m": 270 * time.Minute, "7d": 168 * time.Hour, "1.5h": 90 * time.Minute, "45 min": 45 * time.Minute, "2w": 336 * time.Hour, "1d 2h": 26 * time.Hour, "90s": 90 * time.Second} {
		if d, err := ParseDuration(text); err != nil || d != want {
			t.Errorf("duration %q: %v, %v; want %v", text, d, err, want)
		}
	}
}

// What a contractor reads, US and SI; conversions by GNU units.
func TestFormat(t *testing.T) {
	for _, tc := range []struct {
		q      Quantity
		us, si string
	}{
		{10 * Mil, "10 mil", "254 um"}, {0.25 * Inch, "0.25 in", "6.35 mm"}, {42 * Foot, "42 ft", "12.8 m"}, {1250 * SquareFoot, "1250 ft2", "116.1 m2"}, {40000 * SquareFoot, "40000 ft2", "3716 m2"},
		{3 * Gallon, "3 gal", "11.4 L"}, {0.1 * Gallon, "12.8 fl oz", "379 mL"}, {50 * Pound, "50 lb", "22.7 kg"}, {0.45 * PoundPerSquareFoot, "0.45 lb/ft2", "2.2 kg/m2"}, {9.2 * PoundPerGallon, "9.2 lb/gal", "1.1 kg/L"},
		{250 * SquareFootPerGallon, "250 ft2/gal", "6.14 m2/L"}, {60 * Percent, "60 %", "60 %"}, {Fahrenheit(50), "50 °F", "10 °C"}, {Celsius(-5), "23 °F", "-5 °C"}, {3 * KelvinDelta, "5.4 °F", "3 K"}, {5 * FahrenheitDelta, "5 °F", "2.8 K"},
		{40000 * BtuPerHour, "40000 Btu/h", "11.7 kW"}, {Span(270 * time.Minute), "4h 30m", "4h 30m"}, {Length(0), "0 mil", "0 um"}, {3 * PoundPerThousandSquareFeetDay, "3 lb/(1000 ft2 d)", "14.6 g/(m2 d)"},
	} {
		if us, si := Format(tc.q, US), Format(tc.q, SI); us != tc.us || si != tc.si {
			t.Errorf("%v: %q, %q; want %q, %q", tc.q, us, si, tc.us, tc.si)
		}
	}
}

func FuzzText(f *testing.F) {
	for _, s := range []string{"10 mil", "50 °F", "4h30m", "-1e-3 m", "1/h", "0.5 1/h", "60 %", "1e999 m"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, k := range kinds() {
			if v, err := k.parse(s); err == nil {
				if back, err := k.parse(k.text(v)); err != nil || back != v {
					t.Fatalf("%q is %g, written %q, read as %g, %v", s, v, k.text(v), back, err)
				}
			}
		}
		var u Temperature
		if u.UnmarshalText([]byte(s)) == nil {
			var w Temperature
			if err := w.UnmarshalText([]byte(u.String())); err != nil || w != u {
				t.Fatalf("%q is %v, read as %v, %v", s, u, w, err)
			}
		}
		if d, err := ParseDuration(s); err == nil {
			if back, err := ParseDuration(DurationText(d)); err != nil || back != d {
				t.Fatalf("%q is %v, read as %v, %v", s, d, back, err)
			}
		}
	})
}
