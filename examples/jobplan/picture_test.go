package main

import (
	"bytes"
	"context"
	"html"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/tackfree/tackfree/systems"
)

// A sheet has one clock: on a US sheet that of twelve hours, for what is asked what if
// too, elsewhere that of twenty-four. Common practice, no source.
func TestPictureClock(t *testing.T) {
	name := filepath.Join(t.TempDir(), "plan.svg")
	for _, tc := range []struct{ units, want, not string }{
		{"us", "WHAT IF the heat stops Fri, Apr 10, 11:00 pm for good", "23:00"},
		{"si", "WHAT IF the heat stops Fri 10 Apr 23:00 for good", "11:00 pm"},
	} {
		var out, errs bytes.Buffer
		if code := run([]string{"-picture", name, "-units", tc.units, "-whatif", "heat stops 88h"}, &out, &errs); code != 0 {
			t.Fatalf("%d %s", code, &errs)
		}
		raw, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		svg := html.UnescapeString(string(raw))
		text := strings.Join(strings.Fields(strings.NewReplacer("</text>", " ", "<", " <").Replace(svg)), " ")
		if !strings.Contains(text, tc.want) || strings.Contains(text, tc.not) {
			i := strings.Index(text, "WHAT IF")
			t.Errorf("%s: want %q and no %q, found %.80q", tc.units, tc.want, tc.not, text[max(i, 0):])
		}
	}
}

// Common practice, no source: the sheet on the wall shows every finding that
// has a time, every step and every thing to buy; what is shown is what the text
// plan of the same job says.
func TestPicture(t *testing.T) {
	name := filepath.Join(t.TempDir(), "plan.svg")
	for _, path := range []string{"", "warehouse.toml", "every-finding.toml", "cove.toml"} {
		args := []string{"-picture", name}
		if path != "" {
			args = append(args, filepath.Join("../../systems/testdata", path))
		}
		var out, errs bytes.Buffer
		if code := run(args, &out, &errs); code != 0 {
			t.Fatalf("%v: %d %s", args, code, &errs)
		}
		raw, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		svg := html.UnescapeString(string(raw))
		j, err := read(args[2:])
		if err != nil {
			t.Fatal(err)
		}
		o, err := systems.Plan(context.Background(), j)
		if err != nil {
			t.Fatal(err)
		}
		for _, w := range o.Schedule {
			if !strings.Contains(svg, w.Title) {
				t.Errorf("%s: no step %q", path, w.Title)
			}
		}
		for _, l := range o.Order {
			if !strings.Contains(svg, l.Name) {
				t.Errorf("%s: no %q to buy", path, l.Name)
			}
		}
		if path == "" && !(strings.Contains(svg, "1x15 + 2x3 gal") && strings.Contains(svg, "8 bags")) { // kits of two sizes, in few words
			t.Error("the demo's kits are not told by size")
		}
		text := strings.Join(strings.Fields(strings.NewReplacer("</text>", " ", "<", " <").Replace(svg)), " ")
		for _, f := range o.Findings {
			if last := strings.Fields(words(f, o.Sections)); !strings.Contains(text, last[len(last)-1]) {
				t.Errorf("%s: nothing of %q", path, words(f, o.Sections))
			}
		}
	}
	// On a phone's width the demo's names and kits still stand in full.
	var out, errs bytes.Buffer
	if code := run([]string{"-picture", name, "-width", "106 mm", "-units", "si"}, &out, &errs); code != 0 {
		t.Fatalf("%d %s", code, &errs)
	}
	raw, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Epoxy, 100 % solids, standard cure", "Epoxy primer, waterborne, pigmented", "1x56.8 + 2x11.4 L", "79.5 L"} {
		if !strings.Contains(html.UnescapeString(string(raw)), want) {
			t.Errorf("on a phone: no %q", want)
		}
	}
	for _, args := range [][]string{{"-picture", name, "-decide", "earliest"}, {"-picture", name, "-whatif", "no such"}, {"-picture", "plan.pdf"}, {"-picture", name, "-width", "3 mm"}, {"-picture", filepath.Join(t.TempDir(), "no", "such.svg")}} {
		var out, errs bytes.Buffer
		if code := run(args, &out, &errs); code != 1 || strings.Count(errs.String(), "\n") != 1 {
			t.Errorf("%v: %d %q", args, code, &errs)
		}
	}
}

// The stories' sheets, as their notes say how to draw them: each shows what its
// story is about, at A4 and on a phone. The words are the plans' own findings;
// common practice, no source.
func TestStorySheets(t *testing.T) {
	for _, tc := range []struct {
		story, whatif string
		shows         []string
	}{
		{"night-stop", "night", []string{"Tue 22:00 WHAT IF the heat stops", "Tue 22:32 STOP body: air too cold before tack free", "Light foot traffic never"}},
		{"night-stop", "", []string{"Light foot traffic from Thu 12 Nov 18:16"}},
		{"unvented-heat", "", []string{"Mon 09:06 STOP prime: dew point margin before tack free", "slab's least", "STOP carbon dioxide"}},
		{"tight-weekend", "", []string{"Light foot traffic from Sun 18 Oct 21:39", "Sun 12:29 Seal"}},
	} {
		for _, width := range []string{"297 mm", "106 mm"} {
			name := filepath.Join(t.TempDir(), "sheet.svg")
			args := []string{"-units", "si", "-picture", name, "-width", width}
			if tc.whatif != "" {
				args = append(args, "-whatif", tc.whatif)
			}
			var out, errs bytes.Buffer
			if code := run(append(args, filepath.Join("../../systems/testdata/stories", tc.story+".toml")), &out, &errs); code != 0 {
				t.Fatalf("%s: %d %s", tc.story, code, &errs)
			}
			raw, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			svg := html.UnescapeString(string(raw))
			for _, text := range tc.shows {
				if !strings.Contains(svg, text) {
					t.Errorf("%s at %s: nothing of %q", tc.story, width, text)
				}
			}
			note, err := os.ReadFile(filepath.Join("../../systems/testdata/stories", tc.story+".md"))
			if err != nil {
				t.Fatal(err)
			}
			if want := "-picture " + tc.story + ".svg systems/testdata/stories/" + tc.story + ".toml"; !strings.Contains(string(note), want) {
				t.Errorf("the note of %s does not say %q", tc.story, want)
			}
		}
	}
}

// A sheet holds 45 days: of a longer job it says so, and until when the work goes
// on. Common practice, no source.
func TestSheetOfALongJob(t *testing.T) {
	text, err := os.ReadFile("../../systems/testdata/warehouse.toml")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	name, long := filepath.Join(dir, "plan.svg"), filepath.Join(dir, "long.toml")
	if err := os.WriteFile(long, bytes.Replace(text, []byte("hands = 6"), []byte("hands = 2"), 1), 0o644); err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]bool{long: true, "../../systems/testdata/warehouse.toml": false} {
		var out, errs bytes.Buffer
		if code := run([]string{"-picture", name, path}, &out, &errs); code != 0 {
			t.Fatalf("%d %s", code, &errs)
		}
		svg, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(html.UnescapeString(string(svg)), "goes on beyond this sheet"); got != want {
			t.Errorf("%s: says that work goes on %v, want %v", path, got, want)
		}
	}
}

// A sheet says what time it is where the past is told, what goes otherwise in
// full even if that is more than a line, which section a finding is about
// (common practice, no source).
func TestPictureSays(t *testing.T) {
	dir := t.TempDir()
	long := "heat stops 76h, for 20h, door 80h, door for 20h, air changes 5 1/h, colder 4 K, hands short 1, delay grout 5h, option body cold"
	for _, tc := range []struct {
		args []string
		want []string
	}{
		{[]string{"testdata/thursday.toml"}, []string{"NOW: what is before is done"}},
		{[]string{"-whatif", long}, []string{"WHAT IF begins, see below", "low-temperature"}},
		{[]string{"../../systems/testdata/whatif/two-tanks.toml"}, []string{"prime [2]: air too cold", "grout [3]: slab too cold"}},
	} {
		path := filepath.Join(dir, "p.svg")
		var stdout, stderr bytes.Buffer
		if code := run(append([]string{"-units", "si", "-picture", path}, tc.args...), &stdout, &stderr); code != 0 {
			t.Fatalf("%v: %s", tc.args, stderr.String())
		}
		b, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		for _, want := range tc.want {
			if !strings.Contains(string(b), want) {
				t.Errorf("%v: no %q on the sheet", tc.args, want)
			}
		}
	}
}
