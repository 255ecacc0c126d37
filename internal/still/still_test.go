package still

import (
	"testing"

	"github.com/tackfree/tackfree/systems"
)

// Every scatter is still, but for the one given. Our own rule, no source.
func TestCatalog(t *testing.T) {
	c, err := Catalog(map[string]string{"waste": "shape = \"normal\"\nmean = \"110 %\"\nspread = \"10 %\""})
	if err != nil {
		t.Fatal(err)
	}
	for _, id := range c.Scatters() {
		s, err := c.Scatter(id)
		if err != nil {
			t.Fatal(err)
		}
		if moves := *s.Spread != 0 || s.Mean != 1; moves != (id == systems.ScatterWaste) {
			t.Errorf("%s: mean %v, spread %v", id, s.Mean, *s.Spread)
		}
	}
	if _, err := Catalog(map[string]string{"waste": "shape = \"round\""}); err == nil {
		t.Error("a shape that is none is taken")
	}
}
