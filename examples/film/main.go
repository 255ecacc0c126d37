// Command film answers what a coat asks: films, order by cause, kits, the
// floor's measure, joints, the mix, marks, readings, what was achieved, volatile
// compounds, tests of the concrete, stairs, cuts and patches, a line each. An
// empty text leaves a line out.
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
		f.TextVar(&c.causes.Edge, "edge", units.Length(0), "edges that are cut in by brush")
		f.TextVar(&c.causes.EdgeWidth, "edge-width", 3*units.Inch, "width of the strip along them")
		f.TextVar(&c.causes.EdgeExtra, "edge-film", 3*units.Mil, "wet film on top of the coat's own there")
		f.TextVar(&c.causes.Faces, "faces", units.Area(0), "vertical faces coated too")
		f.TextVar(&c.causes.FaceFilm, "face-film", 6*units.Mil, "dry film that hangs on them")
		f.TextVar(&c.causes.Texture, "texture", units.Length(0), "volume per area in the texture of a broadcast crust")
		f.TextVar(&c.kit, "kit", 3*units.Gallon, "mixed volume of one kit")
		f.StringVar(&c.kits, "kits", "3 gal = 150, 15 gal = 690", "kits on sale with their prices")
		f.TextVar(&c.primer, "primer", 4*units.Mil, "dry film of a primer below the coat; 0 mil for none")
		f.TextVar(&c.seals, "seals", 90*units.Percent, "share of the pores that the primer closes")
		f.BoolVar(&c.whole, "whole", false, "kits are mixed whole, not opened in part")
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
		f.StringVar(&c.formula, "formula", "60 lb of 9.5 lb/gal stays, 25 lb of 25 lb/gal stays, 10 lb of 8.33 lb/gal water, 5 lb of 7.2 lb/gal solvent", "a coating by mass of density, and what becomes of it")
		f.StringVar(&c.ring, "ring", "12 mL x 1 ft2 x 50 %", "a test spot: what it drank x its area x the share that resin will")
		f.StringVar(&c.porosity, "porosity", "8 % x 0.04 in", "open pores x how deep the resin goes in")
		f.StringVar(&c.putty, "putty", "4 mil x 50 %", "height of a profile x the share of it that is hollow")
		f.StringVar(&c.bands, "bands", "0 mil to 3 mil = 1-2, 4 mil to 10 mil = 1-3, 10 mil to 40 mil = 3-5, 50 mil to 125 mil = 4-6", "films and the classes of profile that suit them, of one edition (these: ICRI 310.2R-2013, from memory)")
		f.StringVar(&c.corners, "corners", "0 ft, 0 ft; 20 ft, 0 ft; 20 ft, 12 ft; 14 ft, 12 ft; 14 ft, 17 ft; 0 ft, 17 ft", "a floor by its corners")
		f.StringVar(&c.stair, "stair", "3 x 5 ft x 11 in x 6.5 in", "steps x width x tread x riser")
		f.StringVar(&c.cut, "cut", "28 ft x 0.375 in x 1.25 in x 0.5 in x 0.75 in x 0.0625 in", "saw cut: length x width x depth x rod x depth of its crown x what it is overfilled by")
		f.StringVar(&c.patch, "patch", "3.5 ft2 x 0.75 in x 0.0625 in", "area x depth x crown")
		f.StringVar(&c.fillers, "filler", "1.5 x 2.65 kg/L", "filler by mass of the mix x its density")
		f.StringVar(&c.vapour, "vapour", "0.5 kg/h x 92.1 x 0.005 %", "solvent given off x molar mass x limit by volume")
	}, c.answers)
}
