package tomlfile

import "testing"

// The line of a row of a text, by how it is written. Source: TOML 1.0, "String": a
// line's end right behind the opening quotes is not of the text.
func TestTextLine(t *testing.T) {
	for text, want := range map[string]int{ // of the second row
		"a = \"x\\ny\"\n":               1,
		"# c\na = \"\"\"\nx\ny\n\"\"\"": 4,
		"# c\na = '''\nx\ny\n'''":       4,
		"# c\na = \"\"\"x\ny\n\"\"\"":   3,
		"# c\na = \"\"\"x\\ny\"\"\"\n":  2,
		"# c\na = '''\r\nx\r\ny'''\n":   4,
	} {
		var v struct {
			A string `toml:"a"`
		}
		d, err := Decode("f", []byte(text), &v)
		if err != nil {
			t.Fatal(err)
		}
		if got := d.TextLine(2, "a"); got != want {
			t.Errorf("%q: the second row is on line %d, want %d", text, got, want)
		}
	}
}
