package systems_test

import (
	"errors"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/tackfree/tackfree/systems"
)

// What is wrong with a scatter is said with its key and what is allowed. Our own
// file kind, no source.
func TestScatterErrors(t *testing.T) {
	const file = "scatter/floors-1.0.0.toml"
	for _, tc := range []struct{ old, new, want string }{
		{`shape = "lognormal"`, `shape = "log-normal"`, `want one of normal, lognormal`},
		{`shape = "lognormal"`, `shape = "triangular"`, `want low and high`},
		{`mean = "103 %"`, `mean = "0 %"`, "want 20 % to 500 %"},
		{`mean = "103 %"`, ``, "want 20 % to 500 %"},
		{`spread = "12 %"`, ``, "want one for all shapes but triangular"},
		{`spread = "12 %"`, `spread = "-12 %"`, "want 0 % to 200 %"},
		{`spread = "12 %"`, `spread = "12 mil"`, "unit of length"},
		{"spread = \"5 %\"", "spread = \"40 %\"", "would often fall below nothing"},
		{`low = "93.3 %"`, `low = "99 %"`, "middle third"},
		{`low = "93.3 %"`, `low = "101 %"`, "want low above 0 %, then mean"},
		{`low = "30 %"`, `low = "99 %"`, "fits between low and high"},
		{`shared = "50 %"`, `shared = "150 %"`, "want 0 % to 100 %"},
		{`worth = 4`, `worth = 2`, "want 0, or 3 to 1000 jobs"},
		{`[scatter.film-roller]`, `[scatter.fylm]`, "want film- and a method, or"},
		{`basis = "illustrative"`, `basis = "hearsay"`, "want published"},
		{`source = "tb-43-0144"`, `source = "tb-43"`, "want a key of sources.toml"},
		{`kind = "scatter"`, `kind = "scatters"`, "want scatter"},
		{`version = "1.0.0"`, `version = "1.0.1"`, "want the file named"},
	} {
		_, err := systems.Load(tree(t, file, tc.old, tc.new))
		var f *systems.FileError
		if !errors.As(err, &f) || !strings.Contains(err.Error(), tc.want) || f.Line == 0 {
			t.Errorf("%q:\n got %v\nwant %q", tc.new, err, tc.want)
		}
	}
}

// A company's own scatter stands over the built-in one, and says so; a method that
// only it has may be used by a job.
func TestOwnScatter(t *testing.T) {
	own := systems.DataLayer{Name: "company", Files: fstest.MapFS{"scatter/ours-1.0.0.toml": file(`kind = "scatter"
id = "ours"
version = "1.0.0"
[scatter.film-roller]
shape = "normal"
mean = "101 %"
spread = "4 %"
basis = "sheet"
source = "our records"
[scatter.film-spray]
shape = "normal"
mean = "110 %"
spread = "9 %"
basis = "illustrative"
`)}}
	c, err := systems.LoadLayers(systems.BuiltinLayer(), own)
	if err != nil {
		t.Fatal(err)
	}
	if s, err := c.Scatter("film-roller"); err != nil || s.Shape != systems.Normal || s.File().Layer != "company" || s.Method() != "roller" {
		t.Errorf("%+v, %v", s, err)
	}
	if s, err := c.Scatter("waste"); err != nil || s.File().Layer != "" || s.Method() != "" {
		t.Errorf("%+v, %v", s, err)
	}
	if _, err := c.Scatter("wast"); err == nil || !strings.Contains(err.Error(), "waste") {
		t.Errorf("a wrong name: %v", err)
	}
	found := false
	for _, o := range c.Overrides() {
		found = found || o == systems.Override{Kind: "scatter", Name: "film-roller", Layer: "company", Over: "built-in"}
	}
	if !found {
		t.Errorf("overrides %v", c.Overrides())
	}
	text := strings.Replace(baseJob, "[crew]", "[steps.seal]\nmethod = \"spray\"\n[crew]", 1)
	if _, err := systems.ReadJob(strings.NewReader(text), builtin(t)); err == nil || !strings.Contains(err.Error(), `steps.seal.method: found "spray": want`) {
		t.Errorf("an unknown method: %v", err)
	}
	o := planWith(t, c, text)
	w, err := o.Working()
	if err != nil {
		t.Fatal(err)
	}
	methods := map[string]string{}
	for _, x := range w.Takings {
		methods[x.Need.Step] = x.Method
	}
	// By what a coat is: the primer's 7.7 mil wet by roller, the body's 10 by squeegee.
	for step, want := range map[string]string{"prime": "roller", "body": "squeegee", "throw": "", "grout": "flood", "seal": "spray"} {
		if methods[step] != want {
			t.Errorf("%s is laid by %q, want %q", step, methods[step], want)
		}
	}
}
