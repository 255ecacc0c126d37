package systems

import (
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// What a decision writes into a job file is as people write it and reads as just
// the same; where no few figures do, it is exact in SI. Common practice, no source.
func TestWritten(t *testing.T) {
	for is, want := range map[string]string{"6 mil": "6 mil", "10 mil": "10 mil", "2.5 mil": "2.5 mil", "0.15 mm": "150 um", "25.4 um": "1 mil", "1234567 mil": "", "0.123456789 um": ""} {
		var l units.Length
		if err := l.UnmarshalText([]byte(is)); err != nil {
			t.Fatal(err)
		}
		got := written(l)
		var again units.Length
		if err := again.UnmarshalText([]byte(got)); err != nil || again != l {
			t.Errorf("%s is written %s, which is not that: %v", is, got, err)
		}
		if want != "" && got != want {
			t.Errorf("%s is written %s, want %s", is, got, want)
		}
	}
	for got, want := range map[string]string{written(units.Fahrenheit(66)): "66 °F", written(100 * units.Pound): "100 lb", written(units.Mass(40)): "40 kg"} {
		if got != want {
			t.Errorf("%s, want %s", got, want)
		}
	}
}

// Numbers of choices are plain words, and the sentence does not claim choices that
// there are none of. Common practice, no source.
func TestManyChoices(t *testing.T) {
	for n, want := range map[float64]string{12: "12", 999999: "999999", 1e6: "1 million", 3.04e9: "3.04 billion", 2.56e7: "25.6 million", 9.996e11: "1 trillion",
		999e12: "999 trillion", 1e300: "1e+300"} {
		if got := howMany(n); got != want {
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
		{true, 3, "Of 3 billion choices the search without the water of coats and slab went to its end, by 10 states; 3 were planned with that, and this is the best of these and of all that the search counts fully."},
		{false, 3, "; 3 were planned with that, and this is the best of these."},
		{false, 1, "; 1 was planned with that."},
	} {
		d.counts, d.Weighed = tc.counts, make([]Weighed, tc.weighed)
		if said := strings.Join(d.Sentences(units.SI), " "); !strings.Contains(said, tc.want) {
			t.Errorf("%s\nwant %s", said, tc.want)
		}
	}
	d.Optimal, d.Weighed = true, nil
	if said := strings.Join(d.Sentences(units.SI), " "); !strings.Contains(said, "No other of the 3 billion choices is better") {
		t.Error(said)
	}
}
