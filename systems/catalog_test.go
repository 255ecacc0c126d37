package systems_test

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/tackfree/tackfree/data"
	"github.com/tackfree/tackfree/systems"
)

// A released data file is never edited: its digest stands in the golden file,
// and a new version stands beside it. Not a source: a guard.
func TestDataDigests(t *testing.T) {
	var b strings.Builder
	err := fs.WalkDir(data.Files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || name == "sources.toml" { // sources are added to
			return err
		}
		text, err := fs.ReadFile(data.Files, name)
		fmt.Fprintf(&b, "%x  %s\n", sha256.Sum256(text), name)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	const golden = "testdata/data.sha256"
	if *update {
		if err := os.WriteFile(golden, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil || string(want) != b.String() {
		t.Errorf("a released data file was edited, or one is new and not yet in %s (%v):\n%s", golden, err, b.String())
	}
}

// tree copies the built-in data with one text replaced in one file.
func tree(t *testing.T, file, old, new string) fs.FS {
	t.Helper()
	m := fstest.MapFS{}
	err := fs.WalkDir(data.Files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := fs.ReadFile(data.Files, name)
		if name == file {
			if !strings.Contains(string(text), old) {
				t.Fatalf("%s has no %q", file, old)
			}
			text = []byte(strings.Replace(string(text), old, new, 1))
		}
		m[name] = &fstest.MapFile{Data: text}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// Every fault of a recipe is told, in the order of its lines. Common practice, no
// source.
func TestRecipeTellsAllFaults(t *testing.T) {
	text := `kind = "recipe"
id = "own"
version = "1.0.0"
name = "Own"
margin = "dew-point-3k"

[steps.prime]
does = "coat"
material = "epoxy-standard"
film = "30 mm"
waste = "95 %"

[steps.throw]
does = "brodcast"

[steps.body]
does = "coat"
material = "epoxy-standard"
film = "10 mil"
after = { prime = "recoat-erliest", cleen = "done" }
hands = -1

[steps.throw2]
does = "broadcast"
material = "quartz-medium"
into = "bdy"
`
	_, err := systems.LoadLayers(systems.BuiltinLayer(), systems.DataLayer{Name: "own", Files: fstest.MapFS{"recipes/own/1.0.0.toml": {Data: []byte(text)}}})
	want := `own/recipes/own/1.0.0.toml:10: steps.prime.film: found "30 mm": want a film above 0 mm and at most 25 mm
own/recipes/own/1.0.0.toml:11: steps.prime.waste: found "95 %": want 0 % to 90 %
own/recipes/own/1.0.0.toml:14: steps.throw.does: found "brodcast": want one of survey, patch, joint, crack, cove, condition, grind, clean, coat, broadcast, sweep (nearest: broadcast)
own/recipes/own/1.0.0.toml:20: steps.body.after.cleen: found step "cleen": want an earlier step
own/recipes/own/1.0.0.toml:20: steps.body.after.prime: found event "recoat-erliest": want one of broadcast-latest, tack-free, grindable, recoat-earliest, recoat-latest, foot, service, or done of a step to wait for (nearest: recoat-earliest)
own/recipes/own/1.0.0.toml:21: steps.body.hands: found -1: want 0 to 1000
own/recipes/own/1.0.0.toml:26: steps.throw2.into: found "bdy": want an earlier step (nearest: body)`
	if err == nil || err.Error() != want {
		t.Errorf("got\n%v\nwant\n%s", err, want)
	}
}

// Rows stand coldest first, as the task asks: a row out of order is more often a
// slip of a digit than a habit. Common practice, no source.
func TestRowsInOrder(t *testing.T) {
	const epoxy = "materials/epoxy-standard-1.0.0.toml"
	_, err := systems.Load(tree(t, epoxy, `"50 °F" = "18h"`, `"500 °F" = "18h"`))
	if err == nil || !strings.Contains(err.Error(), `" below row "500 °F": want the rows in order, the coldest first`) {
		t.Errorf("got %v", err)
	}
}

func TestCatalogErrors(t *testing.T) {
	const epoxy, recipe, dew = "materials/epoxy-standard-1.0.0.toml", "recipes/quartz-broadcast/1.0.0.toml", "limits/dew-point-1.0.0.toml"
	for _, tc := range []struct{ file, old, new, want string }{
		{epoxy, `solids = { value = "100 %"`, `solids = { value = "100"`, "a number alone has no unit"},
		{epoxy, `solids = { value = "100 %", low = "97 %", high = "100 %"`, `solids = { value = "120 %", low = "97 %", high = "130 %"`, "want 5 % to 100 %"},
		{epoxy, `solids = {`, `Solids = {`, "unknown key"},
		{epoxy, `version = "1.0.0"`, `version = "1.0"`, "want a version such as 1.0.0"},
		{epoxy, `version = "1.0.0"`, `version = "1.0.1"`, "want the file named"},
		{epoxy, `mix = "2:1"`, `mix = "2:1:1"`, "one number for each"},
		{epoxy, `[times.tack-free]`, `[times.tackfree]`, "want one of pot-life"},
		{epoxy, `"50 °F" = "18h"`, `"50 °F" = "18"`, "no unit"},
		{epoxy, `"50 °F" = "18h"`, `"10 °C" = "18h"` + "\n" + `"283.15 K" = "17h"`, "same temperature"},
		{epoxy, `basis = "common-practice"`, `basis = "hearsay"`, "want published, common-practice or illustrative"},
		{epoxy, `"amine"`, `"amin"`, `found "amin"`},
		{epoxy, `moisture-f2170-75`, `moisture-f2170-76`, "want a limit"},
		{recipe, `material = "epoxy-fast"`, `material = "epoxy-fest"`, `no material "epoxy-fest"`},
		{recipe, `into = "body"`, `into = "seal"`, "want an earlier step"},
		{recipe, `into = "body"`, `into = "clean"`, "want an earlier coat"},
		{recipe, `margin = "dew-point-3k"`, `margin = "dew-point-4k"`, `no limit "dew-point-4k"`},
		{recipe, `does = "grind"`, `does = "polish"`, "want one of survey"},
		{"recipes/two-course-overlay/1.0.0.toml", `source = "nchrp-423"`, `source = "nchrp"`, "want a key of sources.toml"},
		{"materials/quartz-medium-1.0.0.toml", `"0.6 mm" = "50 %"`, `"0.6 mm" = "150 %"`, "want 0 % to 100 %"},
		{dew, `source = "imo-pspc"`, `source = "imo"`, "want a key of sources.toml"},
		{dew, `"3 K"`, `"3 ft"`, "unit of length"},
		{epoxy, `solids = { value = "100 %"`, `solids = { value = "90 %"`, "outside its own range"},
		{dew, `owner = "IMO MSC.215(82) PSPC"`, `owner = ""`, "want who asks for it"},
	} {
		_, err := systems.Load(tree(t, tc.file, tc.old, tc.new))
		var f *systems.FileError
		if !errors.As(err, &f) || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s with %q:\n got %v\nwant %q", tc.file, tc.new, err, tc.want)
		}
	}
}

func TestVersions(t *testing.T) {
	c := builtin(t)
	for name, want := range map[string]string{"quartz-broadcast": "1.2.0", "quartz-broadcast@1.2.0": "1.2.0", "quartz-broadcast@1.1.0": "1.1.0", "quartz-broadcast@1.0.0": "1.0.0"} {
		if r, err := c.Recipe(name); err != nil || r.Version != want || r.ID != "quartz-broadcast" {
			t.Errorf("%s: %s@%s, %v", name, r.ID, r.Version, err)
		}
	}
	if _, err := c.Recipe("quartz-broadcast@9.0.0"); err == nil || !strings.Contains(err.Error(), "1.0.0") {
		t.Errorf("an unknown version: %v; want an error that lists those there are", err)
	}
}

// The newest version of a file of limits, cautions or marks counts, whatever
// the order in which the files are read (1.10.0 sorts before 1.9.0); the limits
// of an older one answer to their version. Common practice, no source.
func TestNewestLimitsCount(t *testing.T) {
	limit := func(value string) string {
		return "[limits.lift]\nwhat = \"a lift\"\nvalue = \"" + value + "\"\nquantity = \"length\"\nowner = \"nobody\"\nbasis = \"illustrative\"\n"
	}
	file := func(kind, id, version, rest string) *fstest.MapFile {
		return &fstest.MapFile{Data: []byte("kind = \"" + kind + "\"\nid = \"" + id + "\"\nversion = \"" + version + "\"\n" + rest)}
	}
	data := fstest.MapFS{
		"limits/work-1.9.0.toml":  file("limits", "work", "1.9.0", limit("9 in")),
		"limits/work-1.10.0.toml": file("limits", "work", "1.10.0", limit("10 in")),
		"limits/work-1.2.0.toml":  file("limits", "work", "1.2.0", limit("2 in")),
		"marks/grits-1.0.0.toml":  file("marks", "grits", "1.0.0", "[grits.30]\nscratch = \"1 mil\"\n"),
		"marks/grits-1.1.0.toml":  file("marks", "grits", "1.1.0", "[grits.40]\nscratch = \"2 mil\"\n"),
		"limits/say-1.0.0.toml":   file("cautions", "say", "1.0.0", "[cautions.a]\ntitle = \"old\"\n"),
		"limits/say-1.1.0.toml":   file("cautions", "say", "1.1.0", "[cautions.b]\ntitle = \"new\"\n"),
	}
	c, err := systems.Load(data)
	if err != nil {
		t.Fatal(err)
	}
	for id, want := range map[string]string{"lift": "10 in", "lift@1.10.0": "10 in", "lift@1.9.0": "9 in", "lift@1.2.0": "2 in"} {
		if l, err := c.Limit(id); err != nil || l.Value != want || l.ID != "lift" {
			t.Errorf("%s: %+v, %v; want %s", id, l, err, want)
		}
	}
	if ids := c.LimitIDs(); len(ids) != 1 || ids[0] != "lift" {
		t.Errorf("listed: %v", ids)
	}
	bad := func(what, want string) {
		t.Helper()
		var f *systems.FileError
		if _, err := systems.Load(data); !errors.As(err, &f) || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v; want %q", what, err, want)
		}
	}
	data["recipes/r/1.0.0.toml"] = file("recipe", "r", "1.0.0", "margin = \"lift\"\ncautions = [\"a\"]\n[steps.s]\ndoes = \"survey\"\n")
	bad("a caution of an older version", `found "a", which no cautions file has`)
	delete(data, "recipes/r/1.0.0.toml")
	data["limits/other-1.0.0.toml"] = file("limits", "other", "1.0.0", limit("3 in"))
	bad("one limit in two files", `found limit "lift" again`)
	delete(data, "limits/other-1.0.0.toml")
	data["limits/work-1.2.0.toml"] = file("limits", "work", "1.2.0", limit("2 gal"))
	bad("a fault in an older version", "unit of volume")
}
