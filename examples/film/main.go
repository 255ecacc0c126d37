// Command film answers what a coat asks: films, order by cause, kits, the
// floor's measure, joints, the mix, marks, readings, what was achieved and
// volatile compounds, a line each. An empty text leaves a line out.
//
//	go run ./examples/film -dry "10 mil" -solids "98 %" -area "1250 ft2" -waste "5 %"
//	go run ./examples/film -readings "9 mil, 10 mil, 11 mil" -rule 80/20 -used "13 gal"
package main

import (
	"flag"
	"io"
	"os"
	"strings"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/cli"
)

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

func run(args []string, stdout, stderr io.Writer) int {
	var c coat
	return cli.Run("film", args, stdout, stderr, func(f *flag.FlagSet) {
		f.TextVar(&c.dry, "dry", 16*units.Mil, "dry film")
		f.TextVar(&c.solids, "solids", 100*units.Percent, "volume solids")
		f.TextVar(&c.thinner, "thinner", units.Fraction(0), "thinner, as a share of the liquid")
		f.TextVar(&c.area, "area", 1250*units.SquareFoot, "area")
		f.TextVar(&c.causes.Waste, "waste", 5*units.Percent, "share of the order that never reaches the floor")
		f.TextVar(&c.causes.Profile, "profile", units.Length(0), "volume per area in the texture")
		f.TextVar(&c.causes.Uptake, "uptake", units.Length(0), "volume per area that the pores drink")
		f.TextVar(&c.causes.Residue, "residue", units.Volume(0), "left in the bucket of each batch")
		f.TextVar(&c.causes.Batch, "batch", units.Volume(0), "mixed at once")
		f.TextVar(&c.causes.Tools, "tools", units.Volume(0), "that rollers and squeegees hold")
		f.TextVar(&c.kit, "kit", 3*units.Gallon, "mixed volume of one kit")
		f.StringVar(&c.kits, "kits", "3 gal = 150, 15 gal = 690", "kits on sale with their prices")
		f.TextVar(&c.primer, "primer", 4*units.Mil, "dry film of a primer below the coat; 0 mil for none")
		f.TextVar(&c.seals, "seals", 90*units.Percent, "share of the pores that the primer closes")
		f.StringVar(&c.room, "room", "50 ft x 25 ft", "length x width of the floor")
		f.StringVar(&c.holes, "holes", "2 ft x 2 ft", "holes in it, length x width each, with commas")
		f.StringVar(&c.joint, "joint", "100 ft x 0.125 in x 1.5 in", "length x width x depth")
		f.StringVar(&c.base, "base", "100 ft x 4 in x 1 in", "cove base, length x height x radius")
		f.StringVar(&c.parts, "parts", "2 x 9.2 lb/gal, 1 x 8.1 lb/gal", "mixing ratio by volume x density of each part")
		f.TextVar(&c.scratch, "scratch", 7*units.Mil, "depth of a scratch; 0 mil for none")
		f.TextVar(&c.allowed, "allowed", 0.5*units.Mil, "relief that may be left of it")
		f.StringVar(&c.readings, "readings", "15 mil, 17 mil, 16 mil, 18 mil, 17 mil, 16 mil", "dry film readings")
		f.StringVar(&c.rule, "rule", "80/20", "how they are judged: "+strings.Join(ruleNames(), ", "))
		f.StringVar(&c.comb, "comb", "14 mil, 16 mil", "wet film comb: tooth touched, next tooth clear")
		f.TextVar(&c.used, "used", 13.5*units.Gallon, "liquid used for the area; 0 gal for none")
		f.TextVar(&c.voc, "voc", 0.4*units.PoundPerGallon, "volatile organic compounds of the coat as mixed")
		f.TextVar(&c.vocThinner, "voc-thinner", 7.2*units.PoundPerGallon, "of its thinner")
		f.TextVar(&c.limit, "limit", units.Density(100), "limit on them in your place")
	}, c.answers)
}
