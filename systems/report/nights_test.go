package report_test

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/report"
)

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
		if n := strings.Count(b.String(), " NOBODY WORKS: "); n != len(o.Nights) || strings.Contains(b.String(), "NIGHT") || strings.Contains(b.String(), "BREAK") {
			t.Errorf("%s: %d times without work told, of %d", name, n, len(o.Nights))
		}
	}
}
