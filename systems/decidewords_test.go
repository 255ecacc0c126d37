package systems

import (
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// What a decision writes into a job file is as people write it and reads as just
// the same; where no few figures do, it is exact in SI. Common practice, no source.
func TestExactText(t *testing.T) {
	for _, tc := range []struct{ is, like, want string }{
		{"6 mil", "8 mil", "6 mil"},
		{"10 mil", "8 mil", "10 mil"},
		{"2.5 mil", "4 mil", "2.5 mil"},
		{"0.25 in", "0.3 in", "0.25 in"},
		{"150 um", "0.2 mm", "0.15 mm"},
		{"1234567 mil", "8 mil", ""}, // in SI, whatever its figures
		{"1 mil", "8 furlong", "25.4 um"},
	} {
		var l units.Length
		if err := l.UnmarshalText([]byte(tc.is)); err != nil {
			t.Fatal(err)
		}
		got := exactText(l, tc.like)
		var again units.Length
		if err := again.UnmarshalText([]byte(got)); err != nil || again != l {
			t.Errorf("%s is written %s, which is not that: %v", tc.is, got, err)
		}
		if tc.want != "" && got != tc.want {
			t.Errorf("%s like %q: %s, want %s", tc.is, tc.like, got, tc.want)
		}
	}
	if got := exactText(units.Fahrenheit(66), "°F"); got != "66 °F" {
		t.Error(got)
	}
	if got := exactText(units.Celsius(20), "°F"); got != "20 °C" {
		t.Error(got)
	}
	if got := exactText(100*units.Pound, "lb"); got != "100 lb" {
		t.Error(got)
	}
	if got := exactText(units.Mass(40), "lb"); got != "40 kg" {
		t.Error(got)
	}
}

// Numbers of choices are plain words, and the sentence does not claim choices that
// there are none of. Common practice, no source.
func TestManyChoices(t *testing.T) {
	for n, want := range map[float64]string{12: "12", 999999: "999999", 1e6: "some 1 million", 3.04e9: "some 3 billion", 2.56e7: "some 26 million", 9.99e11: "some 1 trillion",
		999e12: "some 1000 trillion", 1e300: "more than 1000 trillion"} {
		if got := manyWords(n); got != want {
			t.Errorf("%g: %q, want %q", n, got, want)
		}
	}
	at := time.Date(2026, 5, 4, 7, 0, 0, 0, time.UTC)
	d := Decision{Goal: Earliest, Score: Score{HandOver: &at}, Searched: true, Ways: 3e9, States: 10, Weighed: make([]Weighed, 3)}
	for _, tc := range []struct {
		counts  bool
		weighed int
		want    string
	}{
		{true, 3, "Of some 3 billion choices the search without the water of coats and slab went to its end, by 10 states; 3 were planned with that, and this is the best of these and of all that the search counts fully."},
		{false, 3, "; 3 were planned with that, and this is the best of these."},
		{false, 1, "; 1 was planned with that."},
	} {
		d.counts, d.Weighed = tc.counts, make([]Weighed, tc.weighed)
		if said := strings.Join(d.Sentences(units.SI), " "); !strings.Contains(said, tc.want) {
			t.Errorf("%s\nwant %s", said, tc.want)
		}
	}
	d.Optimal, d.Weighed = true, nil
	if said := strings.Join(d.Sentences(units.SI), " "); !strings.Contains(said, "No other of some 3 billion choices is better") {
		t.Error(said)
	}
}
