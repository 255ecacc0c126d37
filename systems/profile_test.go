package systems_test

import (
	"context"
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/tackfree/tackfree/systems"
)

// ICRI 310.2R-2013 (from memory): 50 mil to 1/8 in of floor want CSP 4 to 6, 1/8
// to 1/4 in want 5 to 9, 10 to 40 mil want 3 to 5.
func TestProfileForThickness(t *testing.T) {
	for _, tc := range []struct {
		recipe, profile, want string
	}{
		{"quartz-broadcast", "2", "CSP 2, and CSP 3 to 5"}, // 39.6 mil
		{"quartz-broadcast", "3", ""},
		{"quartz-broadcast", "5", ""},
		{"quartz-broadcast", "6", "CSP 6, and CSP 3 to 5"},
		{"slurry-broadcast", "4", "CSP 4, and CSP 5 to 9"}, // 194 mil
		{"trowelled-mortar", "10", ""},                     // 266 mil
		{"roll-coat", "4", "CSP 4, and CSP 1 to 3"},        // 5 mil
	} {
		f := found(planOf(t, changed(t, `"quartz-broadcast@1.1.0"`, `"`+tc.recipe+`"`)+"[grind]\nprofile = "+tc.profile+"\n"), "profile-does-not-fit")
		switch {
		case tc.want == "" && len(f) > 0:
			t.Errorf("%s on CSP %s: %+v", tc.recipe, tc.profile, f)
		case tc.want != "" && (len(f) != 1 || f[0].Limit != tc.want || f[0].Owner != "ICRI 310.2R-2013"):
			t.Errorf("%s on CSP %s: %+v, want %s", tc.recipe, tc.profile, f, tc.want)
		}
	}
	if f := found(planOf(t, baseJob), "profile-does-not-fit"); len(f) > 0 {
		t.Errorf("no profile given: %+v", f)
	}
	if _, err := systems.ReadJob(strings.NewReader(baseJob+"[grind]\nprofile = 11\n"), builtin(t)); err == nil || !strings.Contains(err.Error(), "want a surface profile from 1 to 10") {
		t.Errorf("CSP 11: %v", err)
	}
}

func TestPreparationMedia(t *testing.T) {
	c := builtin(t)
	if n := len(c.Profiles()); n != 10 {
		t.Errorf("%d profiles, want CSP 1 to 10 (ICRI 310.2R-2013)", n)
	}
	m := c.Media()
	// Larger shot, larger size and no finer profile; SAE J444, from memory.
	a, b, z := m["steel-shot-230"], m["steel-shot-330"], m["steel-shot-390"]
	if !(a.Size.Q < b.Size.Q && b.Size.Q < z.Size.Q && a.Most <= b.Most && b.Most <= z.Most) || a.What == "" {
		t.Errorf("shot: %+v %+v %+v", a, b, z)
	}
	const file = "marks/preparation-1.0.0.toml"
	for _, tc := range []struct{ old, new, want string }{
		{"[profiles.10]", "[profiles.11]", "want 1 to 10"},
		{"least = 3\nmost = 5", "least = 6\nmost = 5", "least not above most"},
		{`does = "blast"`, `does = "polish"`, "want one of grind"},
		{`low = "4 mil", high = "10 mil"`, `low = "2 mil", high = "10 mil"`, "one above the other"},
		{`low = "4 mil", high = "10 mil"`, `low = "4 mil"`, "one above the other"}, // without an end it hides those after it
		{`source = "icri-310-2r"`, `source = "icri"`, "want a key of sources.toml"},
		{`value = "0.6 mm", basis`, `value = "60 mm", basis`, "want 10 um to 10 mm"},
		{`basis = "common-practice"` + "\n\n[media.steel-shot-230]", `basis = "hearsay"` + "\n\n[media.steel-shot-230]", "want published"},
	} {
		_, err := systems.Load(tree(t, file, tc.old, tc.new))
		var f *systems.FileError
		if !errors.As(err, &f) || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%q: %v; want %q", tc.new, err, tc.want)
		}
	}
}

// A company's marks go over the built-in ones: profiles and media one by one,
// the bands together; a plan names the file that its band is of.
func TestPreparationInLayers(t *testing.T) {
	own := func(name, text string) systems.DataLayer {
		return systems.DataLayer{Name: "own", Files: fstest.MapFS{name: file(text)}}
	}
	const marks = `kind = "marks"
id = "ours"
version = "1.0.0"
[bands.all]
thickness = { low = "0 mil", basis = "common-practice" }
least = 9
most = 9
[media.steel-shot-230]
what = "our shot"
does = "blast"
basis = "common-practice"
[media.our-disc]
does = "grind"
basis = "illustrative"
`
	c, err := systems.LoadLayers(systems.BuiltinLayer(), own("marks/ours-1.0.0.toml", marks))
	if err != nil {
		t.Fatal(err)
	}
	if m := c.Media(); m["steel-shot-230"].What != "our shot" || m["our-disc"].Does != "grind" || m["steel-shot-390"].What == "" || len(c.Profiles()) != 10 {
		t.Errorf("%+v, %d profiles", m, len(c.Profiles()))
	}
	want := []systems.Override{{Kind: "bands", Name: "thickness", Layer: "own", Over: "built-in"}, {Kind: "medium", Name: "steel-shot-230", Layer: "own", Over: "built-in"}}
	if got := c.Overrides(); !slices.Equal(got, want) {
		t.Errorf("%+v, want %+v", got, want)
	}
	j, err := systems.ReadJob(strings.NewReader(baseJob+"[grind]\nprofile = 3\n"), c)
	if err != nil {
		t.Fatal(err)
	}
	o, err := systems.Plan(context.Background(), j)
	if err != nil {
		t.Fatal(err)
	}
	if f := found(o, "profile-does-not-fit"); len(f) != 1 || f[0].Limit != "CSP 3, and CSP 9 to 9" {
		t.Errorf("%+v", f)
	}
	if !slices.ContainsFunc(o.Files, func(f systems.FileID) bool { return f.Kind == "marks" && f.ID == "ours" && f.Layer == "own" }) {
		t.Errorf("the band's file is not named: %+v", o.Files)
	}
	text, err := json.Marshal(o)
	if err != nil {
		t.Fatal(err)
	}
	again, err := systems.Replay(context.Background(), text, c)
	if err != nil || len(found(again, "profile-does-not-fit")) != 1 {
		t.Errorf("replayed: %v", err)
	}
	_, err = systems.LoadLayers(systems.BuiltinLayer(), own("marks/ours-1.0.0.toml", strings.NewReplacer(`"blast"`, `"polish"`, "least = 9", "least = 10").Replace(marks)))
	if err == nil || !strings.Contains(err.Error(), "want one of grind") || !strings.Contains(err.Error(), "least not above most") {
		t.Errorf("two faults: %v", err)
	}
	two := fstest.MapFS{"marks/ours-1.0.0.toml": file(marks), "marks/theirs-1.0.0.toml": file(strings.Replace(marks, `"ours"`, `"theirs"`, 1))}
	if _, err := systems.Load(two); err == nil || !strings.Contains(err.Error(), "want them in one file") {
		t.Errorf("two files of a layer: %v", err)
	}
}
