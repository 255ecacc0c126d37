package systems_test

import (
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/tackfree/tackfree/data"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// ownSheet is a product's sheet over a class, invented.
const ownSheet = `kind = "liquid"
id = "my-body"
version = "1.0.0"
name = "Body coat as we buy it"
extends = "epoxy-standard@1.1.0"
solids = "98 %"
kit = { value = "15 L", basis = "sheet", at = "p. 1, packaging" }

[sheet]
title = "Body coat, technical data"
edition = "rev. 7, March 2026"
at = "p. 2"

[parts.a]
density = "1.12 kg/L"

[times.pot-life]
amount = "1 gal"
at = "p. 2, table 1, in the pail"
"10 °C" = "50m"
"20 °C" = "28m"
`

// unread is a tree of which one file cannot be read.
type unread struct {
	fs.FS
	name string
}

func (u unread) Open(name string) (fs.File, error) {
	if name == u.name {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrPermission}
	}
	return u.FS.Open(name)
}

// Sources that cannot be read are not those of a tree without any: the fault is told
// of the file that has it. Common practice, no source.
func TestUnreadSources(t *testing.T) {
	_, err := systems.Load(unread{data.Files, "sources.toml"})
	var f *systems.FileError
	if !errors.Is(err, fs.ErrPermission) || !errors.As(err, &f) || f.File != "sources.toml" {
		t.Errorf("got %v, want that sources.toml may not be read", err)
	}
}

func file(text string) *fstest.MapFile { return &fstest.MapFile{Data: []byte(text)} }

func company(text string) systems.DataLayer {
	return systems.DataLayer{Name: "company", Files: fstest.MapFS{"materials/my-body-1.0.0.toml": file(text)}}
}

// A sheet's figures take the place of its class's, keep their text, edition and
// page, and leave the rest. Common practice, no source.
func TestOwnSheet(t *testing.T) {
	c, err := systems.LoadLayers(systems.BuiltinLayer(), company(ownSheet))
	if err != nil {
		t.Fatal(err)
	}
	m, err := c.Material("my-body")
	if err != nil {
		t.Fatal(err)
	}
	class, err := c.Material("epoxy-standard@1.1.0")
	if err != nil {
		t.Fatal(err)
	}
	if m.Solids.Text != "98 %" || m.Solids.Basis != systems.FromSheet || m.Solids.Source != "Body coat, technical data, rev. 7, March 2026" || m.Solids.At != "p. 2" {
		t.Errorf("solids %+v", m.Solids)
	}
	if m.Kit.Text != "15 L" || m.Kit.At != "p. 1, packaging" || m.Kit.Basis != systems.FromSheet {
		t.Errorf("kit %+v", m.Kit)
	}
	pot := m.Times[systems.PotLife]
	if len(pot.Table) != 2 || pot.Texts[0] != [2]string{"10 °C", "50m"} || pot.Basis != systems.FromSheet || pot.At != "p. 2, table 1, in the pail" {
		t.Errorf("pot life %+v", pot)
	}
	if a := m.Parts["a"]; a.Name != class.Parts["a"].Name || a.Density.Text != "1.12 kg/L" || a.Density.Basis != systems.FromSheet {
		t.Errorf("part a %+v", a)
	}
	if m.Parts["b"].Density.Text != class.Parts["b"].Density.Text || m.Parts["b"].Density.Basis != systems.CommonPractice || m.Surface.LowText != class.Surface.LowText || m.Mixing.Text != class.Mixing.Text {
		t.Error("what the sheet does not state is not the class's")
	}
	if again, err := c.Material("epoxy-standard@1.1.0"); err != nil || again.Solids.Text != "100 %" || len(again.Times[systems.PotLife].Table) != 5 || again.Parts["a"].Density.Text != "9.4 lb/gal" {
		t.Errorf("the class changed: %+v, %v", again.Solids, err)
	}
}

// A plan with an own sheet names its file and its class's, and its figures say
// that they are the sheet's.
func TestPlanWithOwnSheet(t *testing.T) {
	c, err := systems.LoadLayers(systems.BuiltinLayer(), company(ownSheet))
	if err != nil {
		t.Fatal(err)
	}
	o := planWith(t, c, baseJob+"[steps.body]\nmaterial = \"my-body\"\n")
	var files []string
	for _, f := range o.Files {
		if f.Kind == "material" && (f.ID == "my-body" || f.ID == "epoxy-standard") {
			files = append(files, f.ID+"@"+f.Version+" "+f.Layer)
		}
	}
	if !slices.Equal(files, []string{"epoxy-standard@1.1.0 ", "epoxy-standard@1.2.0 ", "my-body@1.0.0 company"}) {
		t.Errorf("files %q", files)
	}
	for _, f := range o.Figures {
		if f.Where == "my-body@1.0.0 solids" && (f.Text != "98 %" || f.Basis != systems.FromSheet || !strings.Contains(f.Source, "rev. 7")) {
			t.Errorf("%+v", f)
		}
	}
	if f := found(o, "figure-outside-class"); len(f) > 0 {
		t.Errorf("a plausible sheet: %+v", f)
	}
	// 10 mil of 98 % solids, by hand: 10.204 mil.
	for _, n := range o.TakeOff {
		if n.Step == "body" && (n.Wet/units.Mil < 10.203 || n.Wet/units.Mil > 10.205) {
			t.Errorf("wet film %v", n.Wet)
		}
	}
}

// A figure outside its class's range is a finding, not an error: 70 % solids of a
// class of 97 % to 100 %; pot life in hours for minutes, which is 60 times. Common
// practice, no source.
func TestImplausibleSheet(t *testing.T) {
	for old, want := range map[string]string{`solids = "98 %"`: "solids", `"20 °C" = "28m"`: "times.pot-life 20 °C", `density = "1.12 kg/L"`: "parts.a.density"} {
		odd := map[string]string{"solids": `solids = "70 %"`, "times.pot-life 20 °C": `"20 °C" = "28h"`, "parts.a.density": `density = "1.9 kg/L"`}[want]
		c, err := systems.LoadLayers(systems.BuiltinLayer(), company(strings.Replace(ownSheet, old, odd, 1)))
		if err != nil {
			t.Fatal(err)
		}
		f := found(planWith(t, c, baseJob+"[steps.body]\nmaterial = \"my-body\"\n"), "figure-outside-class")
		if len(f) != 1 || f[0].Severity != systems.Watch || f[0].Limit != "my-body@1.0.0 "+want || f[0].Owner != "epoxy-standard@1.1.0" || !strings.Contains(f[0].Text, "look at the sheet again") {
			t.Errorf("%s: %+v", odd, f)
		}
	}
}

// What a sheet must not do, with file, line and key. Common practice, no source.
func TestSheetErrors(t *testing.T) {
	for _, tc := range []struct{ old, new, want string }{
		{`extends = "epoxy-standard@1.1.0"`, `extends = "epoxy-standard"`, "company/materials/my-body-1.0.0.toml:5: extends: found \"epoxy-standard\": want a name with its version"},
		{`extends = "epoxy-standard@1.1.0"`, `extends = "epoxy-standart@1.1.0"`, ":5: extends: found \"epoxy-standart@1.1.0\": want one of"},
		{`extends = "epoxy-standard@1.1.0"`, `extends = "epoxy-standart@1.1.0"`, "(nearest: epoxy-standard@1.1.0)"},
		{`extends = "epoxy-standard@1.1.0"`, `extends = "my-body@1.0.0"`, ":5: extends: found \"my-body@1.0.0\", which comes back to this file"},
		{`edition = "rev. 7, March 2026"`, ``, ": sheet.edition: not given"},
		{`kind = "liquid"`, `kind = "aggregate"`, ":1: kind: found \"aggregate\": want liquid"},
		{`solids = "98 %"`, `solids = "98 mil"`, ":6: solids: "},
		{`solids = "98 %"`, `solids = "980 %"`, ":6: solids: found \"980 %\": want 5 % to 100 %"},
		{`"20 °C" = "28m"`, `"50 °F" = "28m"`, "times.pot-life: rows \"10 °C\" and \"50 °F\" are the same temperature"},
		{`"20 °C" = "28m"`, `"20 °C" = "28"`, "times.pot-life: row \"20 °C\""},
		{`[times.pot-life]`, `[times.pot_life]`, ":17: times.pot_life: found event \"pot_life\": want one of pot-life"},
		{`solids =`, `solid =`, "(nearest: solids)"},
	} {
		_, err := systems.LoadLayers(systems.BuiltinLayer(), company(strings.Replace(ownSheet, tc.old, tc.new, 1)))
		var f *systems.FileError
		if !errors.As(err, &f) || f.Line == 0 || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s: got %v\nwant %s", tc.new, err, tc.want)
		}
	}
	circle := fstest.MapFS{}
	for i, to := range []string{"b", "c", "a"} {
		id := string(rune('a' + i))
		circle["materials/"+id+"-1.0.0.toml"] = file(strings.NewReplacer("my-body", id, "epoxy-standard@1.1.0", to+"@1.0.0").Replace(ownSheet))
	}
	if _, err := systems.LoadLayers(systems.BuiltinLayer(), systems.DataLayer{Name: "company", Files: circle}); err == nil || !strings.Contains(err.Error(), "a@1.0.0 -> b@1.0.0 -> c@1.0.0 -> a@1.0.0") {
		t.Errorf("a circle of three: %v", err)
	}
	// A sheet over a sheet is held against the class at the bottom.
	two := fstest.MapFS{"materials/my-body-1.0.0.toml": file(ownSheet), "materials/winter-1.0.0.toml": file("id = \"winter\"\nversion = \"1.0.0\"\nextends = \"my-body@1.0.0\"\nsolids = \"60 %\"\n[sheet]\ntitle = \"w\"\nedition = \"1\"\n")}
	c, err := systems.LoadLayers(systems.BuiltinLayer(), systems.DataLayer{Name: "company", Files: two})
	if err != nil {
		t.Fatal(err)
	}
	o := planWith(t, c, baseJob+"[steps.body]\nmaterial = \"winter\"\n")
	if f := found(o, "figure-outside-class"); len(f) != 1 || f[0].Owner != "epoxy-standard@1.1.0" {
		t.Errorf("a sheet over a sheet: %+v", f)
	}
}

// Which layer wins, and the report of it. Common practice, no source.
func TestLayers(t *testing.T) {
	epoxy, err := data.Files.ReadFile("materials/epoxy-standard-1.0.0.toml")
	if err != nil {
		t.Fatal(err)
	}
	own := strings.Replace(string(epoxy), `name = "Epoxy, 100 % solids, standard cure"`, `name = "ours"`, 1)
	limit := func(value string) string {
		return "kind = \"limits\"\nid = \"house\"\nversion = \"1.0.0\"\n[limits.dew-point-3k]\nwhat = \"w\"\nvalue = \"" + value + "\"\nquantity = \"temperature difference\"\nowner = \"the house\"\nbasis = \"common-practice\"\n"
	}
	firm := systems.DataLayer{Name: "company", Files: fstest.MapFS{"materials/epoxy-standard-1.0.0.toml": file(own), "limits/house-1.0.0.toml": file(limit("4 K"))}}
	job := systems.DataLayer{Name: "job", Files: fstest.MapFS{"limits/house-1.0.0.toml": file(limit("5 K"))}}
	c, err := systems.LoadLayers(systems.BuiltinLayer(), firm, job)
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{"epoxy-standard": "ours", "epoxy-standard@1.0.0": "ours", "epoxy-standard@1.1.0": "Epoxy, 100 % solids, standard cure"} {
		if m, err := c.Material(name); err != nil || m.Name != want {
			t.Errorf("%s is %q (%v), want %q", name, m.Name, err, want)
		}
	}
	if l, err := c.Limit("dew-point-3k"); err != nil || l.Value != "5 K" {
		t.Errorf("limit %+v, %v", l, err)
	}
	if l, err := c.Limit("dew-point-3k@1.1.0"); err != nil || l.Value != "3 K" {
		t.Errorf("the built-in limit by its version: %+v, %v", l, err)
	}
	got := fmt.Sprint(c.Overrides())
	want := "[{limit dew-point-3k company built-in} {limit dew-point-3k job company} {material epoxy-standard company built-in} {material epoxy-standard@1.0.0 company built-in}]"
	if got != want {
		t.Errorf("overrides\n got %s\nwant %s", got, want)
	}
	if o := builtin(t).Overrides(); len(o) > 0 {
		t.Errorf("one layer: %v", o)
	}
	for what, layers := range map[string][]systems.DataLayer{
		"no files": {systems.BuiltinLayer(), {Name: "x"}}, "no name": {systems.BuiltinLayer(), {Files: fstest.MapFS{}}}, "again": {systems.BuiltinLayer(), systems.BuiltinLayer()},
	} {
		if _, err := systems.LoadLayers(layers...); err == nil || !strings.Contains(err.Error(), what) {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// Faults of several files come together, each with its file and line.
func TestSeveralFiles(t *testing.T) {
	firm := fstest.MapFS{
		"materials/my-body-1.0.0.toml": file(strings.NewReplacer("98 %", "980 %", "15 L", "0 L").Replace(ownSheet)),
		"limits/house-1.0.0.toml":      file("kind = \"limits\"\nid = \"house\"\nversion = \"1.0.0\"\nschema = 2\n"),
		"notes.toml":                   file("a = 1\n"),
		"marks/x-1.0.0.toml":           file("kind = \"marks\"\nid = \"x\"\nversion = \"1.0.0\"\n[grits.7]\nscratch = \"1 gal\"\nsise = \"2 um\"\n"),
	}
	_, err := systems.LoadLayers(systems.BuiltinLayer(), systems.DataLayer{Name: "company", Files: firm})
	var many *systems.FileErrors
	if !errors.As(err, &many) || len(many.All) != 6 {
		t.Fatalf("%v", err)
	}
	for i, want := range []string{"company/limits/house-1.0.0.toml:4: schema: found 2: want 1", "company/marks/x-1.0.0.toml:5: grits.7.scratch: ", "company/marks/x-1.0.0.toml:6: grits.7.sise: unknown key", "company/notes.toml: found a file that is in none of the folders",
		"company/materials/my-body-1.0.0.toml:6: solids: found \"980 %\"", "company/materials/my-body-1.0.0.toml:7: kit: "} {
		if !strings.HasPrefix(many.All[i].Error(), want) {
			t.Errorf("fault %d: %v, want %s", i, many.All[i], want)
		}
	}
}

// A job of several faults tells them together, in the order of its lines; one of
// figures for a version that no step takes is refused.
func TestJobFaultsTogether(t *testing.T) {
	text := changed(t, `hands = 3`, `hands = 0`, `area = "800 ft2"`, `area = "800 ft"`)
	text = strings.Replace(text, `"0h" = "65 °F"`, `"0h" = "650 °F"`, 1)
	_, err := systems.ReadJob(strings.NewReader(text), builtin(t))
	if err == nil || strings.Count(err.Error(), "\n") != 0 || !strings.Contains(err.Error(), "job:5: areas.a.area") {
		t.Errorf("what cannot be read comes first: %v", err)
	}
	text = strings.Replace(text, `"800 ft"`, `"0 ft2"`, 1) + "[joints.j]\nlength = \"0 ft\"\nwidth = \"1 in\"\ndepth = \"1 in\"\n[steps.sead]\nskip = true\n"
	_, err = systems.ReadJob(strings.NewReader(text), builtin(t))
	var many *systems.FileErrors
	if !errors.As(err, &many) || len(many.All) != 4 {
		t.Fatalf("%v", err)
	}
	for i, want := range []string{"job:5: areas.a.area: ", "job:9: crew.hands: ", "job:25: joints.j.length: ", "job:28: steps.sead: found step \"sead\""} {
		if !strings.HasPrefix(many.All[i].Error(), want) {
			t.Errorf("fault %d: %v, want %s", i, many.All[i], want)
		}
	}
	pinned := baseJob + "[materials.epoxy-standard]\nsolids = \"98 %\"\n"
	for _, step := range []string{"body", "grout", "cove", "prime"} {
		pinned += "[steps." + step + "]\nmaterial = \"epoxy-standard@1.0.0\"\n"
	}
	if _, err := systems.ReadJob(strings.NewReader(pinned), builtin(t)); err != nil && !strings.Contains(err.Error(), "epoxy-standard@1.0.0") {
		t.Errorf("figures for another version: %v", err)
	}
}

func FuzzLoad(f *testing.F) {
	f.Add("materials", ownSheet)
	f.Add("limits", "kind = \"limits\"\nid = \"x\"\nversion = \"1.0.0\"\n")
	for _, name := range []string{"materials/epoxy-standard-1.1.0.toml", "recipes/quartz-broadcast/1.1.0.toml", "limits/air-1.1.0.toml", "limits/cautions-1.1.0.toml", "marks/grits-1.1.0.toml", "heat/fuels-1.0.0.toml", "sources.toml"} {
		text, err := data.Files.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		folder, _, _ := strings.Cut(name, "/")
		f.Add(folder, string(text))
	}
	f.Fuzz(func(t *testing.T, folder, text string) {
		name := "my-body-1.0.0.toml"
		if folder == "sources.toml" {
			name = folder
		} else if !slices.Contains([]string{"materials", "recipes", "limits", "marks", "heat"}, folder) {
			return
		} else {
			name = folder + "/" + name
		}
		_, err := systems.LoadLayers(systems.BuiltinLayer(), systems.DataLayer{Name: "company", Files: fstest.MapFS{name: file(text)}})
		if err == nil {
			return
		}
		for _, line := range strings.Split(err.Error(), "\n") {
			if !strings.HasPrefix(line, "company/") && !strings.HasPrefix(line, "and ") && !strings.Contains(line, "materials/") && !strings.Contains(line, "recipes/") && !strings.Contains(line, "heat/") {
				t.Errorf("a fault without its file: %q", line)
			}
		}
	})
}
