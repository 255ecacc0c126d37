package coverage

import (
	"errors"
	"math"

	"github.com/tackfree/tackfree/data/units"
)

// Causes are all that a coat takes beyond its film, each by its cause. Volumes
// are of the liquid as laid. [Loss] is the short form.
type Causes struct {
	Profile units.Length // volume per area in the texture of the slab, 0 to 50 mm: [ProfileFill], [SandPatch]
	Uptake  units.Length // volume per area in its pores, 0 to 50 mm: [PoreUptake], [MeasuredUptake]
	Texture units.Length // volume per area in the texture of a broadcast crust, 0 to 50 mm

	Edge      units.Length // length of edges cut in by brush, 0 to 1000 km
	EdgeWidth units.Length // width of the strip along them, 0 to 1 m
	EdgeExtra units.Length // wet film on top of the coat's own there, 0 to 50 mm

	Faces    units.Area   // vertical faces coated too, 0 to 1e8 m2
	FaceFilm units.Length // dry film on them, 0 to 1 m: what hangs without running

	Tools   units.Volume   // that rollers and squeegees hold, once for the coat, 0 to 1000 m3
	Batch   units.Volume   // mixed at once; 0: all in one
	Residue units.Volume   // left in the bucket of each batch, below Batch (1 - Waste)
	Waste   units.Fraction // share of the order spilled or left over, 0 to 95 %
}

// A Tally is what a coat takes, by cause. The volumes add up to Total.
type Tally struct {
	Film, Profile, Uptake, Texture units.Volume
	Edges, Faces                   units.Volume
	Tools, Residue, Waste          units.Volume
	Total                          units.Volume
	Batches                        int // at most Batch each; 1 without one, 0 for nothing
}

// Tell returns what a coat takes by cause. The film, the surface, edges and
// faces stay on the floor; tools and the bucket of every batch hold back
// theirs; the sum is divided by 1 - Waste. The batches are the fewest that lay
// it all. Without edges, faces, tools and residue the total is that of [Need].
//
// Range: area 0 to 1e8 m2; dry, solids as [WetFilm]; c as its fields say; at
// most 1e9 batches.
// Accuracy: exact arithmetic. Source: volume balance; the amounts are the
// user's: no public figures for buckets, rollers and edges were found.
func (c Causes) Tell(area units.Area, dry units.Length, solids units.Fraction) (Tally, error) {
	const fn = "coverage.Causes.Tell"
	if err := errors.Join(units.FromZero(fn, "area", float64(area), 1e8, "m2"), film(fn, "dry", dry, solids, 0), c.check(fn)); err != nil {
		return noTally(), err
	}
	wet := dry / units.Length(solids)
	t := Tally{Film: wet.Over(area), Profile: c.Profile.Over(area), Uptake: c.Uptake.Over(area), Texture: c.Texture.Over(area),
		Edges: c.EdgeExtra.Over(c.Edge.Times(c.EdgeWidth)), Faces: c.FaceFilm.Over(c.Faces) / units.Volume(solids), Tools: c.Tools}
	net := t.Film + t.Profile + t.Uptake + t.Texture + t.Edges + t.Faces
	if net == 0 { // nothing to lay: no tool gets wet
		return Tally{}, nil
	}
	net += t.Tools
	t.Batches = 1
	kept := units.Volume(1 - c.Waste)
	if c.Batch > 0 {
		n, err := Kits(net, c.Batch*kept-c.Residue)
		if err != nil {
			return noTally(), err
		}
		t.Batches = max(n, 1)
	}
	t.Residue = c.Residue * units.Volume(t.Batches)
	t.Total = (net + t.Residue) / kept
	t.Waste = t.Total * units.Volume(c.Waste)
	return t, nil
}

func noTally() Tally {
	v := units.Volume(math.NaN())
	return Tally{Film: v, Profile: v, Uptake: v, Texture: v, Edges: v, Faces: v, Tools: v, Residue: v, Waste: v, Total: v}
}

func (c Causes) check(fn string) error {
	surface := func(arg string, l units.Length) error { return units.FromZero(fn, arg, mils(l), deepest, "mil") }
	err := errors.Join(surface("Profile", c.Profile), surface("Uptake", c.Uptake), surface("Texture", c.Texture),
		span(fn, "Edge", c.Edge, 1e6), span(fn, "EdgeWidth", c.EdgeWidth, 1), surface("EdgeExtra", c.EdgeExtra),
		units.FromZero(fn, "Faces", float64(c.Faces), 1e8, "m2"), units.FromZero(fn, "FaceFilm", mils(c.FaceFilm), thickest, "mil"),
		units.FromZero(fn, "Tools", float64(c.Tools), 1000, "m3"), units.FromZero(fn, "Batch", float64(c.Batch), 1000, "m3"),
		units.FromZero(fn, "Waste", percent(c.Waste), 95, "%"), units.FromZero(fn, "Residue", float64(c.Residue), 1000, "m3"))
	if most := float64(c.Batch) * float64(1-c.Waste); err == nil && c.Batch > 0 && !(float64(c.Residue) < most*(1-1e-9)) {
		return &units.RangeError{Func: fn, Arg: "Residue", Got: float64(c.Residue), Lo: 0, Hi: most, Unit: "m3"}
	}
	return err
}
