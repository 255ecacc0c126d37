package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/tackfree/tackfree/internal/cli/clitest"
)

// The sheet is invented; the class's figures are the library's.
func TestRun(t *testing.T) {
	m := clitest.Main(run)
	got := m.Out(t, 0)
	for _, part := range []string{"Body coat, our own (body-coat@1.0.0)", "rev. 7, March 2026, over Epoxy, 100 % solids, standard cure (epoxy-standard@1.1.0)", "solids                   99 % (p. 1, composition); class: 100 %", "10 °C 50m, 20 °C 28m, 30 °C 15m (p. 2, table 1); class: 40 °F 75m", "figures are illustrative or common practice"} {
		clitest.Want(t, got, part)
	}
	if strings.Contains(got, "lets one expect") {
		t.Errorf("a plausible sheet is doubted:\n%s", got)
	}
	sheet, err := example.ReadFile("company/materials/body-coat-1.0.0.toml")
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	write := func(old, new string) {
		if err := os.MkdirAll(filepath.Join(folder, "materials"), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(folder, "materials", "body-coat-1.0.0.toml"), []byte(strings.Replace(string(sheet), old, new, 1)), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write(`"99 %"`, `"66 %"`)
	clitest.Want(t, m.Out(t, 0, "-data", folder), "watch: body-coat@1.0.0 solids is 66 %; its class epoxy-standard@1.1.0 lets one expect 97 % or more")
	write(`"99 %"`, `"99"`)
	clitest.Want(t, m.Out(t, 1, "-data", folder), "company/materials/body-coat-1.0.0.toml:9: solids: ")
	clitest.Want(t, m.Out(t, 1, "-material", "body-cote"), "(nearest: body-coat)")
}
