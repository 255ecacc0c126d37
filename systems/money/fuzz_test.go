package money_test

import (
	"context"
	"errors"
	"strings"
	"testing"

	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/confidence"
	"github.com/tackfree/tackfree/systems/money"
)

// Whatever stands in [prices] and [past]: an error that names its line, or a bill that
// adds up. Hostile texts of our own, no source.
func FuzzPricesAndPast(f *testing.F) {
	for _, text := range []string{
		"waiting = true\novertime = { after = \"6h\", times = \"133.33 %\" }\n",
		"digits = 4\n[prices.materials]\nepoxy-standard = \"0.0001 per fl oz\"\n[past.a]\nhours = { planned = \"1h\", used = \"20h\" }\n",
		"[prices.materials]\nepoxy-standard = \"10000000000.00 per mL\"\n[prices.disposal]\nleft-over = \"1 per gal\"\n",
		"[prices.equipment]\nvacuum = { price = \"1 per day\", days = 10000 }\n[past.b]\nwaste = { planned = \"1 gal\", used = \"0 gal\" }\n",
		"[materials.\"epoxy-standard@1.2.0\".kits.pail]\nprice = 1e-300\n[past.c]\nfilm-squeegee = { planned = \"NaN gal\", used = \"-1 gal\" }\n",
		"labour = \"12 per h\"\n", "[past]\n\"\" = {}\n", "digits = -1\n",
	} {
		f.Add(text)
	}
	c := builtin(f)
	f.Fuzz(func(t *testing.T, text string) {
		j, err := systems.ReadJob(strings.NewReader(floor+text), c)
		if err != nil {
			var file *systems.FileError
			if !errors.As(err, &file) {
				t.Fatalf("%q: %v: want the file's line", text, err)
			}
			return
		}
		o, err := systems.Plan(context.Background(), j)
		if err != nil {
			return // the fuzz may write more than prices
		}
		r, err := confidence.Of(context.Background(), o, confidence.Options{Draws: 100})
		if err != nil {
			if !strings.Contains(err.Error(), "want") {
				t.Fatalf("%q: %v", text, err)
			}
			return
		}
		b, err := money.Of(o, r)
		if err != nil {
			if !errors.Is(err, money.ErrTooLarge) && !strings.Contains(err.Error(), "want") {
				t.Fatalf("%q: %v", text, err)
			}
			return
		}
		var sum int64
		for _, l := range b.Lines {
			if sum += l.Amount.Minor; l.Amount.Minor < 0 {
				t.Fatalf("%q: %+v", text, l)
			}
		}
		if sum != b.Total.Minor || b.Drawn.P50.Minor > b.Drawn.P90.Minor || b.Days < 1 {
			t.Fatalf("%q: lines of %d, bill %+v", text, sum, b)
		}
	})
}
