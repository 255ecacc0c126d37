// Command film tells wet film, spread and need of a coat.
//
//	go run ./examples/film -dry "10 mil" -solids "98 %" -area "1250 ft2" -waste "5 %"
package main

import (
	"flag"
	"fmt"
	"io"
	"os"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/cli"
)

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

func run(args []string, stdout, stderr io.Writer) int {
	var dry, profile, uptake units.Length
	var solids, thinner, waste units.Fraction
	var area units.Area
	var kit units.Volume
	return cli.Run("film", args, stdout, stderr, func(f *flag.FlagSet) {
		f.TextVar(&dry, "dry", 16*units.Mil, "dry film")
		f.TextVar(&solids, "solids", 100*units.Percent, "volume solids")
		f.TextVar(&thinner, "thinner", units.Fraction(0), "thinner, as a share of the liquid")
		f.TextVar(&area, "area", 1250*units.SquareFoot, "area")
		f.TextVar(&waste, "waste", 5*units.Percent, "share of the order that never reaches the floor")
		f.TextVar(&profile, "profile", units.Length(0), "volume per area in the texture")
		f.TextVar(&uptake, "uptake", units.Length(0), "volume per area that the pores drink")
		f.TextVar(&kit, "kit", 3*units.Gallon, "mixed volume of one kit")
	}, func(s units.System) (string, error) {
		wet, err := coverage.WetFilm(dry, solids, thinner)
		if err != nil {
			return "", err
		}
		spread, err := coverage.SpreadRate(dry, solids)
		if err != nil {
			return "", err
		}
		need, err := coverage.Need(area, dry, solids, coverage.Loss{Waste: waste, Profile: profile, Uptake: uptake})
		if err != nil {
			return "", err
		}
		kits, err := coverage.Kits(need, kit)
		if err != nil {
			return "", err
		}
		text := fmt.Sprintf("wet film %s, without losses %s\norder %s for %s: %d kits of %s\n",
			units.Format(wet, s), units.Format(spread, s), units.Format(need, s), units.Format(area, s), kits, units.Format(kit, s))
		if thinner > 0 {
			text += fmt.Sprintf("spread and order are of the liquid before thinning; thinner %s\n", units.Format(need*units.Volume(thinner), s))
		}
		return text, nil
	})
}
