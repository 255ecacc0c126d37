package tomlfile

import (
	"strings"
	"testing"
)

// Common practice, no source: lines counted by hand; the traps are those of toml v1.6.0.
func TestErrorsNameTheLine(t *testing.T) {
	type inner struct {
		Length string `toml:"length"`
	}
	type file struct {
		Name  string           `toml:"name"`
		Rest  []string         `toml:"rest"`
		Count int              `toml:"count"`
		Areas map[string]inner `toml:"areas"`
	}
	for _, tc := range []struct{ text, want string }{
		{"name = \"a\"\n[areas.shop]\nLength = \"3 m\"\n", `job:3: areas.shop.Length: unknown key "Length": want one of length`},
		{"name = \"a\"\nnotes = [\n 1,\n 2 ]\n", `job:2: notes: unknown key "notes"`},
		{"name = \"\"\"\nx = 1\n\"\"\"\nwidth = 2\n", `job:4: width: unknown key`},
		{"name = \"a\"\ncount = \"b\"\n", `job:2: count: `},
		{"name = \"a\"\nrest = [[1]]\n", `job:2: rest: found [1] in the list: want texts in quotes`},
		{"name = \"a\"\nrest = [\"b\", 5]\n", `job:2: rest: found 5 in the list`},
		{"name = \"a\n", `job:1`},
		{"\"\\", `job:1: invalid escape`},
		{"name = \"a\"\nrest = \"\\", `job:2: rest: invalid escape`},
		{"name = \"a\"\n\"\\\n", `job:2: invalid escape`},
		{"[areas.\"big \\\"x\\\" room\"]\n\nlenght = \"1 m\"", "job:3: areas"},
	} {
		var v file
		_, err := Decode("job", []byte(tc.text), &v)
		if err == nil || !strings.HasPrefix(err.Error(), tc.want) {
			t.Errorf("%q:\n got %v\nwant %s", tc.text, err, tc.want)
		}
	}
}
