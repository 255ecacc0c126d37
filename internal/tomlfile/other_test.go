package tomlfile

import (
	"fmt"
	"io/fs"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/BurntSushi/toml"
	pelletier "github.com/pelletier/go-toml/v2"

	"github.com/tackfree/tackfree/data"
)

// What other readers make of a text is the source here. BurntSushi/toml v1.6.0
// reads the same values, and refuses the same texts, but for what TOML 1.1
// brought, and but for tables defined twice, which it takes here and there.
// Whether a key may come again is compared with pelletier/go-toml v2.4.3, whose
// parser is used here, but not what it has for that.

// same reports whether two values are alike. Dates, which no file of ours has,
// are only compared in being there.
func same(a, b any) bool {
	switch b := b.(type) {
	case time.Time:
		_, ok := a.(string)
		return ok
	case map[string]any:
		x, ok := a.(map[string]any)
		if !ok || len(x) != len(b) {
			return false
		}
		for key, v := range b {
			if w, ok := x[key]; !ok || !same(w, v) {
				return false
			}
		}
		return true
	case []map[string]any:
		list := make([]any, len(b))
		for i := range b {
			list[i] = b[i]
		}
		return same(a, list)
	case []any:
		x, ok := a.([]any)
		if !ok || len(x) != len(b) {
			return false
		}
		for i := range b {
			if !same(x[i], b[i]) {
				return false
			}
		}
		return true
	case float64:
		x, ok := a.(float64)
		return ok && (x == b || math.IsNaN(x) && math.IsNaN(b))
	}
	return reflect.DeepEqual(a, b)
}

func plainly(text string) (map[string]any, error) {
	var v map[string]any
	_, err := Decode("f", []byte(text), &v)
	return v, err
}

func TestDataReadsAlike(t *testing.T) {
	err := fs.WalkDir(data.Files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := fs.ReadFile(data.Files, name)
		if err != nil {
			return err
		}
		var theirs map[string]any
		if _, err := toml.Decode(string(text), &theirs); err != nil {
			return err
		}
		if ours, err := plainly(string(text)); err != nil || !same(ours, theirs) {
			t.Errorf("%s reads differently (%v)", name, err)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// Which tables and keys may come again is from TOML 1.0.0, sections Keys, Table,
// Inline Table and Array of Tables.
func TestTablesAndKeys(t *testing.T) {
	for _, tc := range []struct {
		text string
		good bool
	}{
		{"a = 1\na = 2", false},
		{"[a]\nb = 1\n[a]\nc = 2", false},
		{"[a]\nb = 1\n[a.b]\nc = 2", false},
		{"[x.y.z.w]\n[x]", true},
		{"[x.y]\n[x]\n[x]", false},
		{"[fruit]\napple.color = 1\napple.taste.sweet = true\n[fruit.apple.texture]\nsmooth = true", true},
		{"[fruit]\napple.color = 1\n[fruit.apple]", false},
		{"[fruit]\napple.taste.sweet = true\n[fruit.apple.taste]", false},
		{"a.b = 1\na.c = 2", true},
		{"a.b = 1\na.b.c = 2", false},
		{"[a.b.c]\nz = 9\n[a]\nb.c.t = 9", false},
		{"[a.b]\nz = 9\n[a]\nb.t = 9", false},
		{"p = { x = 1 }\np.y = 2", false},
		{"p = { x = 1 }\n[p]", false},
		{"p = { x = 1 }\n[p.q]", false},
		{"p = { x.y = 1, x.z = 2 }", true},
		{"p = { x = { y = 1 }, x.z = 2 }", false},
		{"p = { x = 1, x = 2 }", false},
		{"[p]\nq = { x.y = 1 }\n[p.q.x]", false},
		{"[[a]]\nb = 1\n[[a]]\nb = 2\n[a.c]\nd = 3", true},
		{"a = []\n[[a]]", false},
		{"a = [{ b = 1 }]\n[a.c]", false},
		{"[a]\n[[a]]", false},
		{"[[a]]\n[a]", false},
		{"[a.b]\n[[a]]", false},
		{"[[a.b]]\n[a.b.c]\n[[a.b]]\n[a.b.c]", true},
		{"a.b = 1\n[a]", false},
		{"a = 0x1F\nb = 0o17\nc = 0b11\nd = 1_000\ne = +5\nf = 1e3\ng = -inf\nh = nan\ni = 3_1.4_1", true},
		{"a = 012", false},
		{"a = \"\\u00e9\\n\"\nb = 'c:\\x'\nc = '''\n'\n'''\nd = \"\"\"a \\\n  b\"\"\"", true},
		{"\"a b\".'c.d' = 1\n[ e . \"f\" ]", true},
		{"= 1", false},
		{"a = 1 b = 2", false},
		{"[a\n]", false},
		{"a = 99999999999999999999", false},
	} {
		ours, err := plainly(tc.text)
		var theirs map[string]any
		_, other := toml.Decode(tc.text, &theirs)
		var third map[string]any
		e := pelletier.Unmarshal([]byte(tc.text), &third)
		if (err == nil) != tc.good || (e == nil) != tc.good || tc.good && (other != nil || !same(ours, theirs)) {
			t.Errorf("%q: got %v, %v; the other %v, %v; want good %v", tc.text, ours, err, theirs, other, tc.good)
		}
	}
}

// TOML 1.1 is refused. Source: the change log of TOML 1.1.0, from memory.
func TestOnlyTOML10(t *testing.T) {
	for text, want := range map[string]string{
		"a = 1\nb = { c = 1,\n d = 2 }": "f:2: found a table in braces that goes on",
		"b = { c = 1, }":                "f:1: found a comma before the closing brace",
		"b = \"\\e[0m\"":                `f:1: invalid escape: found \e`,
		"b = \"\"\"\n\\x41\"\"\"":       `f:2: invalid escape: found \x`,
	} {
		if _, err := plainly(text); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%q: got %v, want %s", text, err, want)
		}
	}
	if _, err := plainly("b = { c = [ 1,\n 2, ], d = '{ x,\n' }"); err == nil || !strings.Contains(err.Error(), "literal strings cannot have new lines") {
		t.Errorf("got %v", err)
	}
	if v, err := plainly("b = { c = [ 1,\n 2, ] } # { x,\n"); err != nil || fmt.Sprint(v) != "map[b:map[c:[1 2]]]" {
		t.Errorf("a list in braces may go on in the next line: %v, %v", v, err)
	}
}

func FuzzReadsAlike(f *testing.F) {
	for _, s := range []string{"a = 1\n[b.c]\nd.e = { f = [1, 'x'], g.h = true }\n[[b.i]]\nj = \"\"\"k\"\"\"\n[[b.i]]", "\"a\" = 1_0.5e3\n# c\r\n'b' = -0x1\n", "[a]\nb.c = 1\n[a.b.d]"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if !utf8.ValidString(text) || strings.Contains(text, "\uFEFF") {
			return // that one takes some of it
		}
		ours, err := plainly(text)
		var theirs map[string]any
		_, other := toml.Decode(text, &theirs)
		if err != nil && other == nil && strings.Contains(err.Error(), " again: ") {
			var third map[string]any
			other = pelletier.Unmarshal([]byte(text), &third)
		}
		switch {
		case err == nil && other == nil && !same(ours, theirs):
			t.Errorf("%q: %v here, %v there", text, ours, theirs)
		case err == nil && other != nil && !strings.Contains(text, "-") && !strings.Contains(text, ":"): // a date that there is not
			t.Errorf("%q: taken here, there %v", text, other)
		case err != nil && other == nil && !strings.Contains(err.Error(), "deep in each other") && !strings.Contains(err.Error(), "in braces") && !strings.Contains(err.Error(), "closing brace") && !strings.Contains(err.Error(), "invalid escape"):
			t.Errorf("%q: taken there, here %v", text, err)
		}
	})
}
