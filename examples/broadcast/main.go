// Command broadcast tells what a wet film holds when grain is thrown to
// refusal, how much to throw, and what the grout takes.
//
//	go run ./examples/broadcast -film "10 mil" -size "0.6 mm" -area "1250 ft2"
package main

import (
	"flag"
	"fmt"
	"io"
	"os"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/cli"
)

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

func run(args []string, stdout, stderr io.Writer) int {
	var film, size, above units.Length
	var density units.Density
	var packing, retention units.Fraction
	var area units.Area
	return cli.Run("broadcast", args, stdout, stderr, func(f *flag.FlagSet) {
		f.TextVar(&film, "film", 10*units.Mil, "wet film the grain falls into")
		f.TextVar(&size, "size", 0.6*units.Millimetre, "middle size of the grain")
		f.TextVar(&density, "density", 2.65*units.KilogramPerLitre, "density of the grain")
		f.TextVar(&packing, "packing", 55*units.Percent, "solids of the loose bed")
		f.TextVar(&retention, "retention", 70*units.Percent, "share of the thrown grain that stays")
		f.TextVar(&area, "area", 1250*units.SquareFoot, "area")
		f.TextVar(&above, "grout", 8*units.Mil, "grout above the peaks")
	}, func(s units.System) (string, error) {
		bed, err := aggregate.ToRefusal(film, aggregate.Grain{Size: size, Density: density, Packing: packing})
		if err != nil {
			return "", err
		}
		thrown, back, err := aggregate.Thrown(bed.Held, retention)
		if err != nil {
			return "", err
		}
		grout, err := bed.Grout(above)
		if err != nil {
			return "", err
		}
		if err := units.InRange("broadcast", "area", float64(area), 0, 1e8, "m2"); err != nil {
			return "", err
		}
		f := func(q units.Quantity) string { return units.Format(q, s) }
		return fmt.Sprintf("holds %s, bed %s high, grain embedded %s\nthrow %s, vacuum back %s, grout %s\n", f(bed.Held), f(bed.Height), f(bed.Embedment), f(thrown.Over(area)), f(back.Over(area)), f(grout.Over(area))), nil
	})
}
