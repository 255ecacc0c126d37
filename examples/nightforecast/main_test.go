package main

import (
	"bytes"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/tackfree/tackfree/internal/cli/clitest"
	"github.com/tackfree/tackfree/systems"
)

// The demo job is the library's own; common practice, no source. The times are
// those of its golden plan.
func TestRun(t *testing.T) {
	got := clitest.Main(run).Out(t, 0)
	for _, part := range []string{"Fri 10 Apr 12:00 to Sat 11 Apr 18:00", "tank empty, rented", "slab has fallen by", "would burn 32", "needs at least", "least margin", "times what it takes at 23 °C"} {
		clitest.Want(t, got, part)
	}
	clitest.Want(t, clitest.Main(run).Out(t, 0, "-units", "si", "-from", "0h", "-hours", "4", "-hold", "12 °C"), "Tue 7 Apr 07:00 to Tue 7 Apr 11:00")
	clitest.Want(t, clitest.Main(run).Out(t, 0, "-hold", "70 °F"), "no heater holds the slab at 70 °F")
	for want, args := range map[string][]string{
		"want 1 to 168":            {"-hours", "0"},
		"before the weather ends":  {"-from", "1000h"},
		"want a name that ends in": {"-picture", "night.gif"},
		"want at most one":         {"a.toml", "b.toml"},
		"none.toml":                {"none.toml"},
		"want 0 to 5000":           {"-wet", "1 in"},
		"want 0 to 20":             {"-rh-within", "50 %"},
	} {
		clitest.Want(t, clitest.Main(run).Out(t, 1, args...), want)
	}
	dir := t.TempDir()
	typed := filepath.Join(dir, "typed.toml")
	demo := string(systems.DemoJob())
	text := demo[:strings.Index(demo, "[room]")] + "[temperatures.slab]\n\"0h\" = \"60 °F\"\n[temperatures.air]\n\"0h\" = \"60 °F\"\n[temperatures.rh]\n\"0h\" = \"50 %\"\n"
	if err := os.WriteFile(typed, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	clitest.Want(t, clitest.Main(run).Out(t, 1, typed), "the job has no [room]")
}

func TestPicture(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"night.svg", "night.png"} {
		file := filepath.Join(dir, name)
		clitest.Want(t, clitest.Main(run).Out(t, 0, "-picture", file), "picture in "+file)
		b, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if strings.HasSuffix(name, ".png") {
			if _, err := png.Decode(bytes.NewReader(b)); err != nil {
				t.Error(err)
			}
		} else if !bytes.Contains(b, []byte("<svg")) {
			t.Errorf("no svg: %.80s", b)
		}
	}
}
