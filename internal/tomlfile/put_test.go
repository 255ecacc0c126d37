package tomlfile

import (
	"strings"
	"testing"
)

// A key put into a text by hand; all else stays, comments too. By hand, no source.
func TestPut(t *testing.T) {
	const text = "name = \"a\" # the job\n\n[room]\nair = \"46 °F\"\n\n[room.slab]\nfilm = \"stirred\" # by eye\nlist = [\n  \"a\",\n]\n[areas.\"shop 1\"]\nuptake = \"2 mil\"\n"
	for _, tc := range []struct {
		key, literal, want string // what stands in the result
	}{
		{"room.slab.film", `"6 W/(m2 K)"`, "[room.slab]\nfilm = \"6 W/(m2 K)\" # by eye\n"},
		{"room.slab.deep", `"48 °F"`, "  \"a\",\n]\ndeep = \"48 °F\"\n[areas"}, // after the last line, for rows that rise
		{"room.ua", `"9 W/K"`, "[room]\nair = \"46 °F\"\nua = \"9 W/K\"\n\n[room.slab]"},
		{"name", `"b"`, "name = \"b\" # the job\n"},
		{"now", `"3h"`, "now = \"3h\"\nname = \"a\""},
		{"room.slab.list", `["b"]`, "list = [\"b\"]\n[areas"},
		{"areas.shop 1.uptake", `"3 mil"`, "[areas.\"shop 1\"]\nuptake = \"3 mil\"\n"},
		{"areas.shop 1.porosity", "", "[areas.\"shop 1\"]\nuptake = \"2 mil\"\n"},
		{"areas.shop 1.uptake", "", "[areas.\"shop 1\"]\n"},
		{"room.slab", "", "air = \"46 °F\"\n\n[areas.\"shop 1\"]\n"},
		{"areas.shop 1", "", "  \"a\",\n]\n"},
		{"steps.body.rate", `{ value = "300 ft2/h", note = "learned # 3" }`, "\n[steps.body]\nrate = { value = \"300 ft2/h\", note = \"learned # 3\" }\n"},
		{"steps.my body.rate", `"1"`, "[steps.\"my body\"]\nrate = \"1\"\n"},
	} {
		got, err := Put(text, strings.Split(tc.key, "."), tc.literal)
		if err != nil || !strings.Contains(got, tc.want) {
			t.Errorf("%s: %v\n%s", tc.key, err, got)
		}
	}
	for _, bad := range [][3]string{
		{"areas = { shop = { area = \"1 m2\" } }\n", "areas.shop.uptake", `"2 mil"`},
		{"a.b = 1\n", "a.c", "2"},
		{"[x]\na = 1\n[x.y]\nb = 1\n", "x", ""}, // with a table below it
		{"x = [", "x", "1"},
		{"x = 1", "x", "[1"},
		{"x = 1", "x.y", "1"},
		{"x = 1", "x", "2\ny = 3"}, // a literal that brings a key of its own
	} {
		if got, err := Put(bad[0], strings.Split(bad[1], "."), bad[2]); err == nil {
			t.Errorf("%s into %q: got %q, want an error", bad[1], bad[0], got)
		}
	}
}
