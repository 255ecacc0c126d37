// Command broadcast answers what a crew asks of a broadcast, one line each:
// what the film holds, how much to throw and to buy, how much area in one go,
// what the grout and a second course take, what the grading says; and draws
// the build-up in section.
//
//	go run ./examples/broadcast -film "10 mil" -size "0.6 mm" -area "1250 ft2"
//	go run ./examples/broadcast -grading "No. 16:100 No. 20:80 No. 30:35 No. 50:0" -picture section.png
package main

import (
	"flag"
	"io"
	"os"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/cli"
)

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

// wishes is what the flags ask for.
type wishes struct {
	film, size, above, second units.Length
	density, resin            units.Density
	packing, retention, fill  units.Fraction
	usable                    units.Fraction
	area                      units.Area
	sections                  int
	rate                      units.Loading
	kit, patch                units.Volume
	window, lead              units.Span
	spreading, throwing       units.AreaRate
	viscosity, sandToResin    float64
	flake                     units.Loading
	flakeThickness            units.Length
	grading, picture          string
	seed                      uint64
	fineSize                  units.Length
	sys                       units.System
}

func run(args []string, stdout, stderr io.Writer) int {
	var w wishes
	return cli.Run("broadcast", args, stdout, stderr, func(f *flag.FlagSet) {
		f.TextVar(&w.film, "film", 10*units.Mil, "wet film the grain falls into")
		f.TextVar(&w.size, "size", 0.6*units.Millimetre, "middle size of the grain; -grading gives its own")
		f.StringVar(&w.grading, "grading", "", "sieve analysis, such as \"No. 16:100 No. 30:40 No. 50:0\": what passes, in percent")
		f.TextVar(&w.density, "density", 2.65*units.KilogramPerLitre, "density of the grain")
		f.TextVar(&w.packing, "packing", 55*units.Percent, "solids of the loose bed")
		f.TextVar(&w.rate, "rate", units.Loading(0), "throw only this much; 0 throws to refusal")
		f.TextVar(&w.retention, "retention", 70*units.Percent, "share of the thrown grain that stays")
		f.TextVar(&w.area, "area", 1250*units.SquareFoot, "area")
		f.IntVar(&w.sections, "sections", 4, "equal sections, coated one after another, 1 to 1000")
		f.TextVar(&w.usable, "usable", 80*units.Percent, "share of the vacuumed grain fit to throw again")
		f.TextVar(&w.above, "grout", 8*units.Mil, "grout above the peaks")
		f.TextVar(&w.fill, "fill", 100*units.Percent, "share of the open voids that the grout fills")
		f.TextVar(&w.kit, "kit", 1.5*units.Gallon, "one kit of grout")
		f.TextVar(&w.second, "second", 20*units.Mil, "film of a second course on this one")
		f.TextVar(&w.window, "window", units.Span(25*time.Minute), "how long a film takes grain")
		f.TextVar(&w.lead, "lead", units.Span(10*time.Minute), "from the first spreading to the first throwing")
		f.TextVar(&w.spreading, "spreading", 600*units.SquareFootPerHour, "pace of spreading")
		f.TextVar(&w.throwing, "throwing", 450*units.SquareFootPerHour, "pace of throwing")
		f.TextVar(&w.resin, "resin", 1.1*units.KilogramPerLitre, "density of the mixed resin")
		f.Float64Var(&w.viscosity, "viscosity", 0.5, "of the mixed resin, Pa s (1 is 1000 cP)")
		f.TextVar(&w.fineSize, "fine", 0.15*units.Millimetre, "size of a second, finer grading")
		f.TextVar(&w.patch, "patch", 5*units.Gallon, "volume of a mortar patch")
		f.Float64Var(&w.sandToResin, "sand-to-resin", 5, "of the mortar, by mass")
		f.TextVar(&w.flake, "flake", 0.125*units.PoundPerSquareFoot, "flake in place of grain")
		f.TextVar(&w.flakeThickness, "flake-thickness", 5*units.Mil, "of the flake, taken as 1.5 kg/L")
		f.StringVar(&w.picture, "picture", "", "draw the build-up in section to this file, .svg or .png")
		f.Uint64Var(&w.seed, "seed", 1, "of the picture's grains")
	}, func(s units.System) (string, error) {
		w.sys = s
		text, bed, err := answers(&w)
		if err != nil || w.picture == "" {
			return text, err
		}
		if err := picture(&w, bed); err != nil {
			return "", err
		}
		return text + "picture in " + w.picture + "\n", nil
	})
}
