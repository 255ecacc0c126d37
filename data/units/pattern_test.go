package units

import (
	"regexp"
	"strings"
	"testing"
)

// The pattern of a kind and its parser take the same texts: every symbol of
// every kind, and what is near to one. Common practice, no source.
func TestPatterns(t *testing.T) {
	all := map[*kind]Quantity{}
	for _, q := range []Quantity{Length(0), Area(0), Volume(0), Mass(0), Density(0), Loading(0), Spread(0), Fraction(0), Pressure(0), Speed(0), AreaRate(0), Rate(0), TempDelta(0), MassFlux(0), FilmCoefficient(0), SpecificEnergy(0), Temperature{}} {
		k, _ := q.quantity()
		all[k] = q
	}
	texts := []string{"", " ", "1", "m", "1,5 m", "1..2 m", "--1 m", "1e m", "1 M", "1 m m", "x 1 m", ".5 m", "5. m", "\u22121 K", "+2e-3\u00a0m", "1e3 mil"}
	for k := range all {
		for _, s := range k.symbols {
			texts = append(texts, "1 "+s.name, "2.5"+s.name, "1 "+s.name+"x", strings.ToUpper("1 "+s.name))
			for _, also := range strings.Fields(s.also) {
				texts = append(texts, "1 "+also, "1 "+strings.ReplaceAll(also, "_", " "))
			}
		}
	}
	for k, q := range all {
		re := regexp.MustCompile(Pattern(q))
		taken := 0
		for _, text := range texts {
			_, err := k.parse(text)
			if got := re.MatchString(text); got != (err == nil) {
				t.Errorf("%q as a %s: matches %v, parsed %v", text, k.name, got, err)
			}
			if err == nil {
				taken++
			}
		}
		if taken < len(k.symbols) {
			t.Errorf("%s takes %d texts of %d symbols", k.name, taken, len(k.symbols))
		}
	}
	re := regexp.MustCompile(Pattern(Span(0)))
	for _, text := range []string{"4h30m", "7d", "1.5h", "45 min", "1h 30m 20s", "1d2h", "", " ", "5", "h", "30m4h", "-1h", "4h30", "1h1h", "2 weeks", "1w", "1ms", "3us2ns", "1e3 s", "1m2min", "1 h", ".5h", "5.h"} {
		_, err := ParseDuration(text)
		if got := re.MatchString(text); got != (err == nil) {
			t.Errorf("%q as a duration: matches %v, parsed %v", text, got, err)
		}
	}
}
