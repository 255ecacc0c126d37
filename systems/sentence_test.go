package systems

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// Every key that the package gives to a finding has a sentence of its own, in
// whole words and in both systems of units, of what is past too. Common practice, no
// source. What to do about it stands in the sentence or beside it.
func TestEveryKeyHasASentence(t *testing.T) {
	keys := map[string]bool{}
	for _, l := range limits {
		keys[l.key], keys[l.key+"-before-tack-free"] = true, true
	}
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	given := regexp.MustCompile(`(?:Finding\{Key: |f\.Key(?:, f\.\w+)* = |missed\()"([a-z-]+)"`)
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range given.FindAllStringSubmatch(string(text), -1) {
			keys[m[1]] = true
		}
	}
	if len(keys) < 35 {
		t.Fatalf("found only %d keys: the files are not read", len(keys))
	}
	if got := title(&Step{}, "überzug"); got != "Überzug" { // of a step without a title: by its name
		t.Errorf("a step %q", got)
	}
	said := strings.Fields(`window-missed past-the-shift no-longer-wet broadcast-too-late one-pair-of-hands shift-too-short uptake-unmeasured
		edge-unmeasured patch-too-deep scratch-not-flooded grain-falls-behind kit-above-batch volatiles-not-given done-too-early used-off-plan
		rest-runs-short tank-not-read weather-held dose-beyond-kits tank-runs-dry heaters-at-maximum carbon-dioxide flame-in-vapour
		water-not-given forecast-not-settled held-for-own-water coats-damp-the-air condition-not-met no-time-given figure-outside-class`)
	nothing := []string{"grits-not-used", "order-of-sections-held"} // only told
	for key := range remedies {
		if !keys[key] {
			t.Errorf("a remedy for %s, which is no finding's key", key)
		}
	}
	span := units.Span(36 * time.Hour)
	for key := range keys {
		do := Finding{Key: key}.Remedy()
		if told := slices.Contains(said, key) || slices.Contains(nothing, key); told == (do != "") || do != "" && (!strings.HasSuffix(do, ".") || strings.Contains(do, "-before")) {
			t.Errorf("%s: what to do is %q, told in its sentence: %v", key, do, told)
		}
		f := Finding{Key: key, Found: Amount{span}, Asked: Amount{span}, Owner: "OWNER", Limit: "LIMIT", Event: TackFree, Instead: Foot}
		for _, past := range []bool{false, true} {
			for _, s := range []units.System{units.US, units.SI} {
				f.Past = past
				text, plain := f.Sentence(s), f.Sentence(s)
				if past {
					plain, _ = strings.CutPrefix(text, "Past: ")
				}
				if past == (plain == text) || strings.HasPrefix(plain, f.Key) || !strings.HasSuffix(text, ".") || strings.Contains(text, "  ") || strings.Contains(text, "()") {
					t.Errorf("%s has no sentence: %q", key, text)
				}
				if s == units.SI && regexp.MustCompile(`°F|\bft|\bgal|\blb|\bmil\b`).MatchString(text) {
					t.Errorf("%s in SI: %q", key, text)
				}
				t.Log(text)
			}
		}
	}
}
