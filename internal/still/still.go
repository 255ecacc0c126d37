// Package still makes data of which nothing scatters but what a test gives, so that
// what comes of one factor can be held against its closed form.
package still

import (
	"strings"
	"testing/fstest"

	"github.com/tackfree/tackfree/systems"
)

// File returns a scatter file that keeps every scatter of the built-in data at what is
// planned, but for those given by id as the lines of their tables.
func File(scatter map[string]string) (string, error) {
	c, err := systems.Builtin()
	if err != nil {
		return "", err
	}
	var b strings.Builder
	b.WriteString("kind = \"scatter\"\nid = \"own\"\nversion = \"1.0.0\"\nname = \"own\"\n")
	for _, id := range c.Scatters() {
		lines, ok := scatter[id]
		if !ok {
			lines = "shape = \"lognormal\"\nmean = \"100 %\"\nspread = \"0 %\""
		}
		b.WriteString("[scatter." + id + "]\n" + lines + "\nbasis = \"illustrative\"\n")
	}
	return b.String(), nil
}

// Catalog returns the built-in data with that file over it.
func Catalog(scatter map[string]string) (*systems.Catalog, error) {
	text, err := File(scatter)
	if err != nil {
		return nil, err
	}
	return systems.LoadLayers(systems.BuiltinLayer(), systems.DataLayer{Name: "own", Files: fstest.MapFS{"scatter/own-1.0.0.toml": {Data: []byte(text)}}})
}
