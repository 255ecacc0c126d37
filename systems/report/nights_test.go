package report_test

import (
	"bytes"
	"context"
	"os"
	"strings"
	"testing"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/report"
)

// planned plans a job and says it in SI.
func planned(t *testing.T, c *systems.Catalog, text string) (*systems.Outcome, string) {
	t.Helper()
	j, err := systems.ReadJob(strings.NewReader(text), c)
	if err != nil {
		t.Fatal(err)
	}
	o, err := systems.Plan(context.Background(), j)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := report.Write(&b, o, units.SI); err != nil {
		t.Fatal(err)
	}
	return o, b.String()
}

// A time in which nobody works is called that, whether it is by night or by day:
// of the demo the afternoon after the primer and the Sunday, and of a crew that
// comes at eight in the evening the whole day. Each of them is told. Common
// practice, no source.
func TestNobodyWorks(t *testing.T) {
	c, err := systems.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	demo := string(systems.DemoJob())
	for name, text := range map[string]string{"by day": demo, "by night": strings.NewReplacer(`from = "07:00"`, `from = "20:00"`, `to = "18:30"`, `to = "06:00"`).Replace(demo)} {
		o, said := planned(t, c, text)
		if n := strings.Count(said, " NOBODY WORKS: "); n != len(o.Nights) || strings.Contains(said, "NIGHT") || strings.Contains(said, "BREAK") {
			t.Errorf("%s: %d times without work told, of %d", name, n, len(o.Nights))
		}
	}
}

// A heater that burns from a main has no tank to be empty, and one that runs dry
// twice tells it in the order of time. Common practice, no source.
func TestTanks(t *testing.T) {
	c, err := systems.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, tc := range []struct{ file, want, not string }{
		{"../testdata/stories/night-stop.toml", "heat taken in\n", "0 g"},
		{"../testdata/whatif/two-tanks.toml", "the tank runs dry Thu 12 Feb 08:17; refilled Fri 13 Feb 07:00; the tank runs dry Sat 14 Feb 10:58", "refilled Sat 14 Feb 13:00."},
	} {
		text, err := os.ReadFile(tc.file)
		if err != nil {
			t.Fatal(err)
		}
		_, said := planned(t, c, string(text))
		_, heat, _ := strings.Cut(said, "\nHEAT\n")
		heat, _, _ = strings.Cut(heat, "\nWHAT IF")
		if tc.want != "heat taken in\n" {
			heat = strings.Join(strings.Fields(heat), " ")
		}
		if !strings.Contains(heat, tc.want) || strings.Contains(heat, tc.not) {
			t.Errorf("%s: want %q and no %q in\n%.900s", tc.file, tc.want, tc.not, heat)
		}
	}
}
