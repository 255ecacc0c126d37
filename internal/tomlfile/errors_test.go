package tomlfile

import (
	"errors"
	"fmt"
	"strings"
	"testing"
)

// Several faults at once: each on a line of its own, in the order of the file.
// Common practice, no source.
func TestSeveralFaults(t *testing.T) {
	var v struct {
		Name  string            `toml:"name"`
		Count int               `toml:"count"`
		Notes map[string]string `toml:"notes"`
	}
	_, err := Decode("job", []byte("count = \"x\"\nnam = \"a\"\n[notes]\na = 1\n[nots]\nb = \"c\"\n"), &v)
	want := `job:1: count: found a text in quotes: want a whole number
job:2: nam: unknown key "nam": want one of count, name, notes (nearest: name)
job:4: notes.a: found a whole number: want a text in quotes
job:5: nots: unknown key "nots": want one of count, name, notes (nearest: notes)`
	if err == nil || err.Error() != want {
		t.Errorf("got\n%v\nwant\n%s", err, want)
	}
	var text strings.Builder
	for i := range 45 {
		fmt.Fprintf(&text, "x%d = 1\n", i)
	}
	_, err = Decode("job", []byte(text.String()), &v)
	var many *Errors
	if !errors.As(err, &many) || len(many.All) != MaxErrors || many.More != 25 || strings.Count(err.Error(), "\n") != MaxErrors {
		t.Errorf("45 faults: %v", err)
	}
}

// What is not worth parsing is refused, with its line. Common practice, no source.
func TestSound(t *testing.T) {
	for _, tc := range []struct{ text, want string }{
		{"name = \"a\"\nplace = \"\xff\"\n", "job:2: found a byte that is not UTF-8"},
		{"x = \"" + strings.Repeat("y", 10<<20) + "\"", "job: found a file longer than 8 MiB"},
		{"\n\nx = " + strings.Repeat("[", 1000000), "job:3: found tables or lists more than 32 deep"},
		{"x = 1\n" + strings.Repeat("a.", 1000000) + "a = 1", "job:2: found tables or lists more than 32 deep"},
		{"[" + strings.Repeat("a.", 40) + "a]", "job:1: found tables or lists more than 32 deep"},
		{"x = " + strings.Repeat("{ a = ", 40) + "1" + strings.Repeat("}", 40), "job:1: found tables or lists more than 32 deep"},
	} {
		var v map[string]any
		if _, err := Decode("job", []byte(tc.text), &v); err == nil || !strings.HasPrefix(err.Error(), tc.want) {
			t.Errorf("%.40q: got %.200v, want %s", tc.text, err, tc.want)
		}
	}
	flat := "x = [" + strings.Repeat("1.5, ", 200) + "]\ny = \"" + strings.Repeat("[.", 100) + "\" # " + strings.Repeat("[.", 100) + "\nz = '''\n" + strings.Repeat("[.", 100) + "\n'''\nw = \"\\\"[\"\n"
	var v map[string]any
	if _, err := Decode("job", []byte(flat), &v); err != nil {
		t.Errorf("a flat file: %v", err)
	}
}

// A file of very many keys, all of them wrong, or one of them twice, is read in
// the time of its length. Common practice, no source.
func TestManyKeys(t *testing.T) {
	var text strings.Builder
	for i := range 200000 {
		fmt.Fprintf(&text, "k%d = 1\n", i)
	}
	var v struct {
		A string `toml:"a"`
	}
	_, err := Decode("job", []byte(text.String()), &v)
	var many *Errors
	if !errors.As(err, &many) || len(many.All) != MaxErrors || many.More != 200000-MaxErrors {
		t.Errorf("got %.200v", err)
	}
	var all map[string]int
	if _, err := Decode("job", []byte(text.String()), &all); err != nil || len(all) != 200000 {
		t.Errorf("%d keys, %v", len(all), err)
	}
	if _, err := Decode("job", []byte(text.String()+"k7 = 2\n"), &all); err == nil || err.Error() != `job:200001: k7: found "k7" again: want each key once` {
		t.Errorf("got %v", err)
	}
}

// The nearest word. Distances by hand.
func TestNearest(t *testing.T) {
	known := []string{"length", "width", "base_length", "recoat-earliest", "recoat-latest", "rh"}
	for word, want := range map[string]string{"lenght": "length", "Width": "width", "widht": "width", "recoat_earlyest": "recoat-earliest", "baselength": "base_length", "colour": "", "": "", "RH": "rh", "x": ""} {
		if got := Nearest(word, known); got != want {
			t.Errorf("%q: %q, want %q", word, got, want)
		}
	}
	for _, tc := range []struct {
		a, b string
		want int
	}{{"ca", "abc", 3}, {"kitten", "sitting", 3}, {"ab", "ba", 1}, {"", "abc", 3}, {"same", "same", 0}} {
		if got := distance([]rune(tc.a), []rune(tc.b)); got != tc.want {
			t.Errorf("%s to %s: %d, want %d", tc.a, tc.b, got, tc.want)
		}
	}
}

func FuzzDecode(f *testing.F) {
	for _, s := range []string{"", "a = 1", "[a.b]\nc = \"\"\"x\ny\"\"\"", "x = [[1], {a = '''b'''}]", "\xff", "a = \"\\"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		var v struct {
			A string            `toml:"a"`
			M map[string]string `toml:"m"`
			L []string          `toml:"l"`
		}
		d, err := Decode("f", []byte(text), &v)
		if err != nil {
			return
		}
		for _, k := range d.Under() {
			if n := d.Line(k); n < 1 || n > 1+strings.Count(text, "\n") {
				t.Errorf("%q on line %d", k, n)
			}
		}
	})
}
