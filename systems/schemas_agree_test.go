package systems_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/BurntSushi/toml"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"github.com/tackfree/tackfree/data"
	"github.com/tackfree/tackfree/systems"
)

// schemas are the compiled schemas by kind of file.
func schemas(t *testing.T) map[string]*jsonschema.Schema {
	t.Helper()
	files, err := filepath.Glob("../data/schemas/*.schema.json")
	if err != nil || len(files) != 10 {
		t.Fatalf("%d schemas, %v", len(files), err)
	}
	all := map[string]*jsonschema.Schema{}
	c := jsonschema.NewCompiler()
	for _, file := range files {
		s, err := c.Compile(file)
		if err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		all[strings.TrimSuffix(filepath.Base(file), ".schema.json")] = s
	}
	return all
}

// kindOf says which schema a data file goes by.
func kindOf(name, text string) string {
	switch top, _, _ := strings.Cut(name, "/"); {
	case top == "sources.toml":
		return "sources"
	case top == "limits" && strings.Contains(text, "kind = \"cautions\""):
		return "cautions"
	case top == "materials" || top == "recipes":
		return top[:len(top)-1]
	default:
		return top
	}
}

// schemaTakes reports what the schema says of a TOML text; one that is no TOML
// is refused by both.
func schemaTakes(s *jsonschema.Schema, text string) error {
	var raw map[string]any
	if _, err := toml.Decode(text, &raw); err != nil {
		return err
	}
	return s.Validate(raw)
}

// The schemas take what the decoder takes and refuse what it refuses, as far as
// a schema can see: form, keys, units, words. What hangs on other keys or files
// (ranges, names that lead nowhere, the file's name) only the decoder knows.
func TestSchemasAgree(t *testing.T) {
	all, cases := schemas(t), 0
	decodes := func(name, text string) error {
		if name == "job" {
			_, err := systems.ReadJob(strings.NewReader(text), builtin(t))
			return err
		}
		if _, err := data.Files.Open(name); err == nil {
			m := fstest.MapFS{}
			fs.WalkDir(data.Files, ".", func(n string, d fs.DirEntry, err error) error {
				if err == nil && !d.IsDir() {
					b, _ := fs.ReadFile(data.Files, n)
					m[n] = &fstest.MapFile{Data: b}
				}
				return err
			})
			m[name] = file(text)
			_, err = systems.Load(m)
			return err
		}
		_, err := systems.LoadLayers(systems.BuiltinLayer(), systems.DataLayer{Name: "own", Files: fstest.MapFS{name: file(text)}})
		return err
	}
	agree := func(kind, name, text string, good bool) {
		t.Helper()
		cases++
		says, err := schemaTakes(all[kind], text), decodes(name, text)
		if (says == nil) != good || (err == nil) != good {
			t.Errorf("%s, want good %v:\nschema  %v\ndecoder %v\n%.200s", name, good, says, err, text)
		}
	}
	texts := map[string]string{} // of the files that are changed below
	err := fs.WalkDir(data.Files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := fs.ReadFile(data.Files, name)
		texts[name] = string(text)
		cases++
		if says := schemaTakes(all[kindOf(name, string(text))], string(text)); says != nil { // all of them load: TestGoldenPlans
			t.Errorf("%s: %v", name, says)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	agree("job", "job", string(systems.DemoJob()), true)
	for _, name := range []string{"two-rooms", "vestibule", "metric", "every-finding", "overlay", "typed",
		"roll-coat", "double-quartz", "flake", "slurry", "mortar", "urethane-cement", "moisture-primed", "cove", "repair", "vertical", "methacrylate"} {
		text, err := os.ReadFile("testdata/" + name + ".toml")
		if err != nil {
			t.Fatal(err)
		}
		agree("job", "job", string(text), true)
	}
	const spread = "scatter/floors-1.0.0.toml"
	const prep, silica = "marks/preparation-1.0.0.toml", "materials/fumed-silica-1.0.0.toml"
	const epoxy, quartz, recipe, limit, caution, mark, fuel = "materials/epoxy-standard-1.1.0.toml", "materials/quartz-medium-1.0.0.toml", "recipes/quartz-broadcast/1.1.0.toml", "limits/dew-point-1.1.0.toml", "limits/cautions-1.1.0.toml", "marks/grits-1.1.0.toml", "heat/fuels-1.0.0.toml"
	texts["job"], texts["materials/my-body-1.0.0.toml"] = baseJob, ownSheet
	for _, tc := range []struct {
		name, old, new string
		good           bool
	}{
		{"materials/my-body-1.0.0.toml", "", "", true},
		{"materials/my-body-1.0.0.toml", `kind = "liquid"`, ``, true},
		{"materials/my-body-1.0.0.toml", `solids = "98 %"`, `solids = { value = "98 %", basis = "published", source = "imo-pspc" }`, true},
		{"materials/my-body-1.0.0.toml", `"10 °C" = "50m"`, `"283 K" = "0.8h"`, true},
		{"materials/my-body-1.0.0.toml", `"10 °C" = "50m"`, `"50 degF" = "50 min"`, true},
		{"materials/my-body-1.0.0.toml", `edition = "rev. 7, March 2026"`, ``, false},
		{"materials/my-body-1.0.0.toml", `edition = "rev. 7, March 2026"`, `edition = " "`, false},
		{"materials/my-body-1.0.0.toml", `edition = "rev. 7, March 2026"`, `edition = 2026-03-01`, false},
		{"materials/my-body-1.0.0.toml", `extends = "epoxy-standard@1.1.0"`, `extends = "epoxy-standard"`, false},
		{"materials/my-body-1.0.0.toml", `extends = "epoxy-standard@1.1.0"`, `extends = 1`, false},
		{"materials/my-body-1.0.0.toml", `extends = "epoxy-standard@1.1.0"`, ``, false},
		{"materials/my-body-1.0.0.toml", `kind = "liquid"`, `kind = "liquor"`, false},
		{"materials/my-body-1.0.0.toml", `version = "1.0.0"`, `version = "1.0"`, false},
		{"materials/my-body-1.0.0.toml", `version = "1.0.0"`, `version = "1.0.0"` + "\nschema = 2", false},
		{"materials/my-body-1.0.0.toml", `version = "1.0.0"`, `version = "1.0.0"` + "\nschema = 1", true},
		{"materials/my-body-1.0.0.toml", `solids = "98 %"`, `solids = "98"`, false},
		{"materials/my-body-1.0.0.toml", `solids = "98 %"`, `solids = 0.98`, false},
		{"materials/my-body-1.0.0.toml", `solids = "98 %"`, "solids = \"50 %\"\nwater = \"45 %\"", true},
		{"materials/my-body-1.0.0.toml", `solids = "98 %"`, "solids = \"50 %\"\nwater = \"45 mil\"", false},
		{"materials/my-body-1.0.0.toml", `solids = "98 %"`, "solids = \"50 %\"\nwater = 0.45", false},
		{"materials/my-body-1.0.0.toml", `solids = "98 %"`, `solids = "98 mil"`, false},
		{"materials/my-body-1.0.0.toml", `solids = "98 %"`, `Solids = "98 %"`, false},
		{"materials/my-body-1.0.0.toml", `solids = "98 %"`, `solid = "98 %"`, false},
		{"materials/my-body-1.0.0.toml", `solids = "98 %"`, `solids = ["98 %"]`, false},
		{"materials/my-body-1.0.0.toml", `solids = "98 %"`, `solids = { value = "98 %", basis = "hearsay" }`, false},
		{"materials/my-body-1.0.0.toml", `solids = "98 %"`, `solids = { valu = "98 %" }`, false},
		{"materials/my-body-1.0.0.toml", `solids = "98 %"`, `solids = { low = "98 %" }`, false},
		{"materials/my-body-1.0.0.toml", `solids = "98 %"`, `solids = { value = "98 %", low = "90" }`, false},
		{"materials/my-body-1.0.0.toml", `"10 °C" = "50m"`, `"10 °C" = "50"`, false},
		{"materials/my-body-1.0.0.toml", `"10 °C" = "50m"`, `"10 °C" = 50`, false},
		{"materials/my-body-1.0.0.toml", `"10 °C" = "50m"`, `"10" = "50m"`, false},
		{"materials/my-body-1.0.0.toml", `"10 °C" = "50m"`, `"10 mil" = "50m"`, false},
		{"materials/my-body-1.0.0.toml", "\"10 °C\" = \"50m\"\n\"20 °C\" = \"28m\"\n", "", false},
		{"materials/my-body-1.0.0.toml", `amount = "1 gal"`, `amount = "1 lb"`, false},
		{"materials/my-body-1.0.0.toml", `[times.pot-life]`, `[times.pot_life]`, false},
		{"materials/my-body-1.0.0.toml", `density = "1.12 kg/L"`, `density = "1.12 kg"`, false},
		{"materials/my-body-1.0.0.toml", `density = "1.12 kg/L"`, `weight = "1.12 kg/L"`, false},
		{epoxy, `mix_by = "volume"`, `mix_by = "weight"`, false},
		{epoxy, `mix_by = "volume"`, ``, false},
		{epoxy, `mix = "2:1"`, ``, false},
		{epoxy, `film = { low = "6 mil", high = "40 mil", basis`, `film = { lo = "6 mil", high = "40 mil", basis`, false},
		{epoxy, `film = { low = "6 mil", high = "40 mil", basis`, `film = { basis`, false},
		{epoxy, `film = { low = "6 mil", high = "40 mil", basis`, `film = { low = "6 mil", basis`, true},
		{epoxy, `surface = { low = "50 °F"`, `surface = { low = "50 F"`, false},
		{epoxy, `cautions = ["amine"`, `cautions = [1, "amine"`, false},
		{epoxy, `cautions = [`, `cautions = "amine" # [`, false},
		{epoxy, `[times.pot-life]`, `[times.pot-lif]`, false},
		{epoxy, `kind = "liquid"`, ``, false},
		{quartz, `kind = "aggregate"`, `kind = "sand"`, false},
		{quartz, `kind = "aggregate"`, `kind = "liquid"`, false},
		{recipe, `kind = "recipe"`, `kind = "receipt"`, false},
		{recipe, `margin = "dew-point-3k"`, ``, false},
		{recipe, `does = "grind"`, `does = "polish"`, false},
		{recipe, `does = "grind"`, ``, false},
		{recipe, `material = "epoxy-fast"`, ``, false},
		{recipe, `hands = 2`, `hands = "2"`, false},
		{recipe, `hands = 2`, `hands = 2.5`, false},
		{recipe, `first = true`, `first = "yes"`, false},
		{recipe, `first = true`, `furst = true`, false},
		{recipe, `after = { patch = "grindable"`, `after = { patch = 1`, false},
		{recipe, `each = { value = "20m"`, `each = { value = "20 mil"`, false},
		{recipe, `pace = { value = "60 ft/h", low = "30 ft/h", high = "120 ft/h"`, `pace = { value = "60 ft2/h"`, false},
		{limit, `quantity = "temperature difference"`, `quantity = "temperature"`, true}, // 3 K is one too
		{limit, `quantity = "temperature difference"`, `quantity = "temperature differences"`, false},
		{limit, `value = "3 K"`, `value = 3`, false},
		{limit, `value = "3 K"`, `walue = "3 K"`, false},
		{limit, `owner = "IMO MSC.215(82) PSPC"`, ``, false},
		{limit, `kind = "limits"`, `kind = "limit"`, false},
		{caution, `title = "`, `titel = "`, false},
		{caution, `version = "1.1.0"`, `version = 1.1`, false},
		{mark, `scratch = {`, `scratches = {`, false},
		{mark, `kind = "marks"`, `kind = "grits"`, false},
		{prep, "[profiles.10]", "[profiles.11]", false},
		{prep, `does = "blast"`, `does = "polish"`, false},
		{prep, "least = 3\nmost = 5", "least = 3\nmost = 11", false},
		{prep, "least = 3\nmost = 5", "least = 3", false},
		{prep, `basis = "common-practice"` + "\n\n[media.steel-shot-230]", `basis = "hearsay"` + "\n\n[media.steel-shot-230]", false},
		{prep, `low = "4 mil"`, `low = "4 min"`, false},
		{silica, `kind = "thickener"`, `kind = "thinner"`, false},
		{silica, `bag = {`, `kit = {`, false},
		{fuel, `kind = "fuels"`, `kind = "fuel"`, false},
		{fuel, `hhv = {`, `hhw = {`, false},
		{"sources.toml", `how = "memory"`, `how = "hearsay"`, false},
		{"sources.toml", `title = "Guide`, `name = "Guide`, false},
		{"job", "", "", true},
		{"job", `uptake = "2 mil"`, `uptake = "2.0e0 mil"`, true},
		{"job", `hands = 3`, `hands = 1000`, true},
		{"job", `[crew]`, "schema = 1\n[crew]", false}, // it is a key of the area then
		{"job", `name = "base"`, "schema = 1\nname = \"base\"", true},
		{"job", `name = "base"`, "schema = 7\nname = \"base\"", false},
		{"job", `name = "base"`, "now = \"9h\"\nname = \"base\"", true},
		{"job", `[moisture]`, "[room.slab]\nconductivity = \"1.4 W/m\"\n[moisture]", false},
		{"job", `[moisture]`, "[room.heaters.a]\nleft = \"20 gal\"\n[moisture]", false},
		{"job", `name = "base"`, "now = 9\nname = \"base\"", false},
		{"job", `[moisture]`, "[done.sound]\nstart = 1\n[moisture]", false},
		{"job", `[moisture]`, "[done.sound]\nend = \"1h\"\n[moisture]", false},
		{"job", `[moisture]`, "[done.sound]\nstart = \"0h\"\nbegin = \"1h\"\n[moisture]", false},
		{"job", `name = "base"`, "now = \"9h\"\nname = \"base\"\ndone = { sound = { start = \"0h\", end = \"1h\" } }", true},
		{"job", `name = "base"`, "now = \"9h\"\nname = \"base\"\ndone = { patch = { start = \"0h\", kits = \"3\" } }", false},
		{"job", `name = "base"`, "now = \"9h\"\nname = \"base\"\ndone = { sound = { sections = { 1 = { start = \"0h\" } } } }", true},
		{"job", `name = "base"`, "now = \"9h\"\nname = \"base\"\ndone = { sound = { sections = { 1 = { end = \"0h\" } } } }", false},
		{"job", `name = "base"`, ``, false},
		{"job", `name = "base"`, `name = " "`, false},
		{"job", `recipe = "quartz-broadcast@1.1.0"`, ``, false},
		{"job", `start = "2026-05-04T07:00:00-04:00"`, `start = "2026-05-04T07:00:00"`, false},
		{"job", `start = "2026-05-04T07:00:00-04:00"`, `start = 2026-05-04T07:00:00-04:00`, false},
		{"job", `area = "800 ft2"`, `area = "800 ft"`, false},
		{"job", `area = "800 ft2"`, `area = "800 sq ft"`, false},
		{"job", `area = "800 ft2"`, `area = "800 ft2"` + "\nwidth = \"2 ft\"", false},
		{"job", `area = "800 ft2"`, `width = "20 ft"`, false},
		{"job", `area = "800 ft2"`, `width = "20 ft"` + "\nlength = \"40 ft\"", true},
		{"job", `uptake = "2 mil"`, `uptake = "2,5 mil"`, false},
		{"job", `uptake = "2 mil"`, `uptak = "2 mil"`, false},
		{"job", `hands = 3`, `hands = 0`, false},
		{"job", `hands = 3`, `hands = "three"`, false},
		{"job", `to = "17:00"`, `rest = ["sunday"]` + "\nto = \"17:00\"", false},
		{"job", `to = "17:00"`, `rest = ["sun"]` + "\nto = \"17:00\"", true},
		{"job", `[crew]`, `[krew]`, false},
		{"job", `humidity = "70 %"`, `humidity = "70 °F"`, false},
		{"job", `emission = "3 lb/(1000 ft2 d)"`, `emission = "3 lb"`, false},
		{"job", `"0h" = "65 °F"`, `"0h" = 65`, false},
		{"job", `"0h" = "65 °F"`, `"0h" = "65 °F/h"`, false},
		{"job", `[moisture]`, "[materials.epoxy-standard]\nsolids = \"98 %\"\n[moisture]", true},
		{"job", `[moisture]`, "[materials.epoxy-standard]\nsolids = \"98 mil\"\n[moisture]", false},
		{"job", `[moisture]`, "[steps.body]\nskip = \"no\"\n[moisture]", false},
		{"job", `[moisture]`, "[patches.a]\narea = \"1 ft2\"\ndepth = \"0.5 in\"\ncount = 2\n[moisture]", true},
		{"job", `[moisture]`, "[patches.a]\narea = \"1 ft2\"\n[moisture]", false},
		{"job", `[moisture]`, "[cracks.a]\nlength = \"9 ft\"\nwidth = \"0.25 in\"\ndepth = \"0.5 in\"\n[moisture]", true},
		{"job", `[moisture]`, "[cracks.a]\nlength = \"9 ft\"\n[moisture]", false},
		{"job", `[moisture]`, "[what_if.a]\ncolder = \"3 K\"\ndrier = \"5 %\"\n[moisture]", true},
		{"job", `[moisture]`, "[what_if.a]\nhands_short = 1\nhands_from = \"9h\"\nuptake = \"150 %\"\n[moisture]", true},
		{"job", `[moisture]`, "[what_if.a]\ndelay = { body = \"9h\" }\noption = { grout = \"cold\" }\nmaterial = { seal = \"polyaspartic-slow\" }\n[moisture]", true},
		{"job", `[moisture]`, "[what_if.a]\nnot_before = { body = \"2026-05-06T07:00:00-04:00\" }\n[moisture]", true},
		{"job", `[moisture]`, "[what_if.a]\n[moisture]", false},
		{"job", `[moisture]`, "[what_if.a]\ncolder = \"3 K\"\nwarmer = \"3 K\"\n[moisture]", false},
		{"job", `[moisture]`, "[what_if.a]\ncolder = \"3 °C\"\n[moisture]", true},
		{"job", `[moisture]`, "[what_if.a]\ncolder = 3\n[moisture]", false},
		{"job", `[moisture]`, "[what_if.a]\ncolder = \"3 h\"\n[moisture]", false},
		{"job", `[moisture]`, "[what_if.a]\ncold = \"3 K\"\n[moisture]", false},
		{"job", `[moisture]`, "[what_if.a]\nfor = \"3h\"\nuptake = \"150 %\"\n[moisture]", false},
		{"job", `[moisture]`, "[what_if.a]\nheater = \"x\"\nuptake = \"150 %\"\n[moisture]", false},
		{"job", `[moisture]`, "[what_if.a]\nhands_from = \"9h\"\nuptake = \"150 %\"\n[moisture]", false},
		{"job", `[moisture]`, "[what_if.a]\nhands_short = 0\n[moisture]", false},
		{"job", `[moisture]`, "[what_if.a]\nhands_short = 1.5\n[moisture]", false},
		{"job", `[moisture]`, "[what_if.a]\ndoor = \"2h\"\n[moisture]", false},
		{"job", `[moisture]`, "[what_if.a]\ndelay = {}\n[moisture]", false},
		{"job", `[moisture]`, "[what_if.a]\ndelay = { body = 3 }\n[moisture]", false},
		{"job", `[moisture]`, "[what_if.a]\nheat_stops = \"\"\nuptake = \"150 %\"\n[moisture]", false},
		{"job", `[moisture]`, "[what_if.a]\nuptake = 1.5\n[moisture]", false},
		{"job", `[moisture]`, "[grind]\nprofile = 3\n[moisture]", true},
		{"job", `[moisture]`, "[grind]\nprofile = 11\n[moisture]", false},
		{"job", `[moisture]`, "[decide]\ngoal = \"earliest\"\nhorizon = \"72h\"\ngrid = \"2h\"\n[decide.materials]\nbody = [\"own\", \"cold\"]\n[moisture]", true},
		{"job", `[moisture]`, "[decide]\ngoal = \"soonest\"\n[moisture]", false},
		{"job", `[moisture]`, "[decide]\nhand_over = \"tack-free\"\n[moisture]", false},
		{"job", `[moisture]`, "[decide]\ngaol = \"earliest\"\n[moisture]", false},
		{"job", `[moisture]`, "[decide]\nnodes = -1\n[moisture]", false},
		{"job", `[moisture]`, "[decide.materials]\nbody = []\n[moisture]", false},
		{"job", `[moisture]`, "[decide.refills.a]\nrented = { \"2h\" = \"20 gal\" }\n[moisture]", false},
		{"job", `[moisture]`, "[decide.start]\nfrom = 6\n[moisture]", false},
		{"job", `[moisture]`, "[decide]\ngoal = \"cost\"\n[prices]\nlabour = \"45.00 per h\"\n[moisture]", true},
		{"job", `[moisture]`, "[decide.prices]\nhour = 4500\n[moisture]", false},
		{"job", `[moisture]`, "[steps.body]\nmethod = \"rake\"\n[moisture]", true},
		{"job", `[moisture]`, "[steps.body]\nmethod = 3\n[moisture]", false},
		{"job", `[moisture]`, "[prices]\ncurrency = \"x\"\nlabour = \"38.50 per h\"\nwaiting = true\novertime = { after = \"8h\", times = \"150 %\" }\n[moisture]", true},
		{"job", `[moisture]`, "[prices]\nlabour = \"-38.50 per h\"\n[moisture]", false},
		{"job", `[moisture]`, "[prices]\nlabour = \"38,50 per h\"\n[moisture]", false},
		{"job", `[moisture]`, "[prices]\nlabour = \"38.50\"\n[moisture]", false},
		{"job", `[moisture]`, "[prices]\nlabour = 38.5\n[moisture]", false},
		{"job", `[moisture]`, "[prices]\ndigits = 5\n[moisture]", false},
		{"job", `[moisture]`, "[prices.overtime]\nafter = \"8h\"\n[moisture]", false},
		{"job", `[moisture]`, "[prices.materials]\nepoxy-standard = \"198.00 per kit\"\n[prices.fuels]\npropane = \"1 per lb\"\n[moisture]", true},
		{"job", `[moisture]`, "[prices.materials]\nepoxy-standard = \"1.00.0 per kit\"\n[moisture]", false},
		{"job", `[moisture]`, "[prices.equipment]\ngrinder = { price = \"180.00 per day\", days = 2 }\n[moisture]", true},
		{"job", `[moisture]`, "[prices.equipment]\ngrinder = { days = 2 }\n[moisture]", false},
		{"job", `[moisture]`, "[prices.equipment]\ngrinder = { price = \"180.00 per h\" }\n[moisture]", false},
		{"job", `[moisture]`, "[prices.equipment]\ngrinder = { price = \"1 per day\", days = 0 }\n[moisture]", false},
		{"job", `[moisture]`, "[prices.disposal]\nleft-over = \"6.00 per gal\"\n[moisture]", true},
		{"job", `[moisture]`, "[prices.disposal]\nleftover = \"6.00 per gal\"\n[moisture]", false},
		{"job", `[moisture]`, "[past.a]\nwaste = { planned = \"1 gal\", used = \"2 gal\" }\n[moisture]", true},
		{"job", `[moisture]`, "[past.a]\nwaste = { planned = \"1 gal\" }\n[moisture]", false},
		{"job", `[moisture]`, "[past.a]\nwast = { planned = \"1 gal\", used = \"2 gal\" }\n[moisture]", false},
		{spread, `shape = "lognormal"`, `shape = "even"`, false},
		{spread, `shape = "lognormal"`, `shape = "normal"`, true},
		{spread, `shape = "lognormal"`, `shape = "beta"`, false},
		{spread, `mean = "103 %"`, ``, false},
		{spread, `spread = "12 %"`, ``, false},
		{spread, `spread = "12 %"`, `spread = 0.12`, false},
		{spread, `low = "93.3 %"`, ``, false},
		{spread, `worth = 4`, `worth = 2`, false},
		{spread, `worth = 4`, `worth = 0`, true},
		{spread, `[scatter.film-roller]`, `[scatter.films]`, false},
		{spread, `[scatter.film-roller]`, `[scatter.film-spray]`, true},
		{spread, `basis = "illustrative"`, `bases = "illustrative"`, false},
		{spread, `kind = "scatter"`, `kind = "spread"`, false},
		{"job", `[moisture]`, "[joints.a]\nlength = \"1 ft\"\nwidth = \"1 ft\"\ndepth = \"1 gal\"\n[moisture]", false},
		{"job", `area = "800 ft2"`, `diameter = "30 ft"`, true},
		{"job", `area = "800 ft2"`, "diameter = \"30 ft\"\nlength = \"3 ft\"", false},
		{"job", `area = "800 ft2"`, `diameter = "30 ft2"`, false},
		{"job", `area = "800 ft2"`, `corners = ["0 ft, 0 ft", "-4 ft, 9 ft", "20 ft,9 ft"]`, true},
		{"job", `area = "800 ft2"`, `corners = ["0 ft, 0 ft", "4 ft, 9 ft"]`, false},
		{"job", `area = "800 ft2"`, `corners = ["0 ft 0 ft", "4 ft, 9 ft", "20 ft, 9 ft"]`, false},
		{"job", `area = "800 ft2"`, `corners = ["0, 0", "4, 9", "20, 9"]`, false},
		{"job", `area = "800 ft2"`, "steps = 3\nwidth = \"5 ft\"\ntread = \"11 in\"\nriser = \"6 in\"\nnosing = \"1 in\"\nopen_sides = 2", true},
		{"job", `area = "800 ft2"`, "steps = 3\nwidth = \"5 ft\"\ntread = \"11 in\"", false},
		{"job", `area = "800 ft2"`, "steps = 0\nwidth = \"5 ft\"\ntread = \"11 in\"\nriser = \"6 in\"", false},
		{"job", `area = "800 ft2"`, "area = \"800 ft2\"\nriser = \"6 in\"", false},
		{"job", `area = "800 ft2"`, "steps = 3\nwidth = \"5 ft\"\ntread = \"11 in\"\nriser = \"6 in\"\nopen_sides = 3", false},
		{"job", `area = "800 ft2"`, "area = \"800 ft2\"\nedge = \"90 ft\"\nfaces = \"20 ft2\"", true},
		{"job", `area = "800 ft2"`, "area = \"800 ft2\"\nfaces = \"20 ft\"", false},
		{"job", `[crew]`, "[areas.a.holes.h]\nlength = \"2 ft\"\nwidth = \"2 ft\"\nheight = \"4 in\"\ncount = 2\n[crew]", true},
		{"job", `[crew]`, "[areas.a.holes.h]\nlength = \"2 ft\"\n[crew]", false},
		{"job", `[crew]`, "[areas.a.holes.h]\nlength = \"2 ft\"\nwidth = \"2 ft\"\narea = \"4 ft2\"\n[crew]", false},
		{"job", `[crew]`, "[areas.a.holes.h]\narea = \"4 ft2\"\nsteps = 2\n[crew]", false},
		{"job", `uptake = "2 mil"`, `drank = { volume = "12 mL", area = "1 ft2", share = "50 %" }`, true},
		{"job", `uptake = "2 mil"`, `drank = { volume = "12 mL" }`, false},
		{"job", `profile = "2 mil"`, `texture = { height = "4 mil", share = "50 %" }`, true},
		{"job", `profile = "2 mil"`, `texture = { sand = "25 mL", diameter = "8 in" }`, true},
		{"job", `profile = "2 mil"`, `texture = { sand = "25 mL", share = "50 %" }`, false},
		{"job", `profile = "2 mil"`, `texture = { height = "4 mil", share = "50 %", sand = "25 mL", diameter = "8 in" }`, false},
		{"job", `[moisture]`, "[joints.a]\nlength = \"9 ft\"\nwidth = \"0.25 in\"\ndepth = \"1 in\"\nrod = \"0.375 in\"\nset = \"0.5 in\"\nover = \"0.05 in\"\nlap = \"0.5 in\"\n[moisture]", true},
		{"job", `[moisture]`, "[joints.a]\nlength = \"9 ft\"\nwidth = \"0.25 in\"\ndepth = \"1 in\"\nrod = \"0.375 in\"\n[moisture]", false},
		{"job", `[moisture]`, "[joints.a]\nlength = \"9 ft\"\nwidth = \"0.25 in\"\ndepth = \"1 in\"\nlap = \"0.5 in\"\n[moisture]", false},
		{"job", `[moisture]`, "[cracks.a]\nform = \"v\"\nlength = \"9 ft\"\nwidth = \"0.25 in\"\ndepth = \"1 in\"\n[moisture]", true},
		{"job", `[moisture]`, "[cracks.a]\nform = \"u\"\nlength = \"9 ft\"\nwidth = \"0.25 in\"\ndepth = \"1 in\"\n[moisture]", false},
		{"job", `[moisture]`, "[volatiles]\nmost = \"100 g/L\"\nowner = \"us\"\nactual = true\n[moisture]", true},
		{"job", `[moisture]`, "[volatiles]\nmost = \"100 g/L\"\n[moisture]", false},
		{"job", `[moisture]`, "[volatiles]\nowner = \"us\"\n[moisture]", false},
		{"job", `[moisture]`, "[volatiles]\nmost = \"100 g\"\nowner = \"us\"\n[moisture]", false},
		{"job", `[moisture]`, "[materials.epoxy-standard.kits.pail]\nprice = 195\n[materials.epoxy-standard.kits.drum]\nprice = 870.5\ncase = 2\n[moisture]", true},
		{"job", `[moisture]`, "[materials.epoxy-standard.kits.pail]\nprice = \"195\"\n[moisture]", false},
		{"job", `[moisture]`, "[materials.epoxy-standard]\nsolids = \"90 %\"\nwhole = true\nvoc = \"20 g/L\"\nwater = \"3 %\"\nexempt = \"2 %\"\n[moisture]", true},
		{"job", `[moisture]`, "[materials.epoxy-standard]\nvoc = \"20 %\"\n[moisture]", false},
		{"job", `[moisture]`, "[steps.body]\ntexture = \"2 mil\"\nthinner = \"5 %\"\nlets = \"800 g/L\"\ncut = \"2 mil\"\nstrip = \"3 in\"\nhangs = \"5 mil\"\ntools = \"12 fl oz\"\nresidue = \"1 fl oz\"\n[steps.throw]\nusable = \"50 %\"\n[moisture]", true},
		{"job", `[moisture]`, "[steps.body]\ntools = \"12 oz\"\n[moisture]", false},
	} {
		if !strings.Contains(texts[tc.name], tc.old) {
			t.Errorf("%s has no %q", tc.name, tc.old)
			continue
		}
		text := strings.Replace(texts[tc.name], tc.old, tc.new, 1)
		agree(kindOf(tc.name, text), tc.name, text, tc.good)
	}
	named := 0
	for name, text := range texts { // the first line names the schema, for editors
		first, _, _ := strings.Cut(text, "\n")
		if ref, ok := strings.CutPrefix(first, "#:schema "); ok {
			named++
			if got := filepath.Join("../data", filepath.Dir(name), ref); got != filepath.Join("../data/schemas", kindOf(name, text)+".schema.json") {
				t.Errorf("%s names %s", name, got)
			}
		} else if strings.Contains(name, "/") && !strings.Contains(name, "1.0.0") {
			t.Errorf("%s names no schema in its first line", name)
		}
	}
	if named < 15 {
		t.Errorf("only %d files name their schema", named)
	}
	if cases < 100 {
		t.Errorf("only %d cases", cases)
	}
}
