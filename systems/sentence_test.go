package systems

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// Every key that the package gives to a finding has a sentence of its own, in
// whole words and in both systems of units, of what is past too. Common practice, no
// source.
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
	span := units.Span(36 * time.Hour)
	for key := range keys {
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
