package learn

import (
	"fmt"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// A balance is where the plan says that the liquid of one coat goes, so that what
// was used can be put against it:
//
//	used = film + profile + uptake + voids + texture + edges + faces + tools + residue + waste
//
// All of them are volumes of the liquid as it comes in kits, before thinner and
// filler. Of one reading everything but film and uptake is taken as the plan has
// it: tools by the share of the area, which they are spent with section by
// section; residue and waste by the share of the liquid, which they are batches and
// a share of. Used as the plan has it gives back the plan. Source: volume balance.
type balance struct {
	j    *systems.Job
	plan *systems.Outcome
	n    *systems.Need
	s    *systems.Step
}

// A place is an area of the job, or all of them, as one coat meets it.
type place struct {
	covers  float64 // m2 that the coat goes on: floor, and the base's face where it goes up it
	floor   float64 // m2 of it with pores and texture of the slab
	profile float64 // m3 in that texture, of a coat that meets it
	lies    float64 // m3 in open voids, a crust's texture, along edges and on faces
	uptake  float64 // m3 that the pores drink as the job has it, before thinner
	known   bool    // every area's uptake is
	areas   []systems.Area
}

// drinks reports whether the coat goes on bare concrete: the recipe's first one,
// or, where that is not laid, the first one on the floor that is.
func (b *balance) drinks() bool {
	if b.s.First {
		return true
	}
	bare := false
	for _, s := range b.j.Recipe.Steps {
		bare = bare || s.First
	}
	for i := range b.plan.TakeOff {
		id := b.plan.TakeOff[i].Step
		if s := b.j.Recipe.Steps[id]; s.First {
			return false
		} else if s.Does == systems.Coat && s.Only == "" {
			return bare && id == b.n.Step
		}
	}
	return false
}

// thin is what a volume of liquid becomes with its thinner.
func (b *balance) thin() float64 { return 1 + float64(b.s.Thinner.Q) }

// liquid is the volume of liquid in a film of one unit as it is laid, with thinner and filler.
func (b *balance) liquid() float64 { return float64(b.n.Film) / float64(b.n.Wet.Over(b.n.Area)) }

// at returns the place of an area, or of all of them for "".
func (b *balance) at(of string) place {
	p := place{known: true}
	var lost, lostHere, edge, face float64
	for i, a := range b.j.Areas {
		// Where the cove takes floor away the take-off says only how much in all.
		x, err := coverage.CoveBase{Length: a.BaseLength, Height: a.BaseHeight, Radius: a.BaseCove}.FloorLost()
		if err != nil || a.BaseLength == 0 {
			x = 0
		}
		lost += float64(x)
		if of != "" && a.Name != of {
			continue
		}
		line := b.plan.Areas[i]
		lostHere += float64(x)
		edge += float64(line.Edge)
		face += float64(line.Faces)
		if b.s.Only == "" {
			p.covers += float64(a.Floor)
		}
		if b.s.Base || b.s.Only != "" {
			p.covers += float64(line.Base)
		}
		p.floor += float64(a.Floor)
		p.areas = append(p.areas, a)
		p.uptake += float64(a.Uptake.Over(a.Floor))
		p.known = p.known && a.UptakeKnown
		if b.n.Profile > 0 {
			p.profile += float64(a.Profile.Over(a.Floor)) * b.liquid()
		}
	}
	if whole := b.plan.Floor; b.s.Only == "" && lost > 0 {
		if b.s.Base {
			whole += b.plan.Base
		}
		p.covers -= float64(whole-b.n.Area) * lostHere / lost
	}
	p.lies = float64(b.n.Voids+b.n.Texture) * p.covers / float64(b.n.Area)
	if b.plan.Edge > 0 {
		p.lies += float64(b.n.Edges) * edge / float64(b.plan.Edge)
	}
	if b.plan.Faces > 0 {
		p.lies += float64(b.n.Faces) * face / float64(b.plan.Faces)
	}
	return p
}

// down is the liquid in film, profile and pores by the area covered, of what was used
// at a place.
func (b *balance) down(u Used, at place) float64 {
	n := b.n
	stays := 1 - float64((n.Waste+n.Residue)/n.Gross)
	return (float64(u.Used)*stays-float64(n.Tools)*float64(u.Area)/float64(n.Area))/float64(u.Area) - at.lies/at.covers
}

// taken says what of the balance was taken as planned.
func (b *balance) taken(film string) string {
	n := b.n
	text := "volume balance"
	if film != "" {
		text += ": " + film
	}
	text += fmt.Sprintf("; as planned: waste %.3g %%", 100*float64(n.Waste/n.Gross))
	for _, x := range []struct {
		v    units.Volume
		name string
	}{{n.Tools, "tools"}, {n.Residue, "buckets"}, {n.Edges + n.Faces, "edges and faces"}, {n.Voids + n.Texture, "open voids"}, {n.Profile, "profile"}} {
		if x.v > 0 {
			text += fmt.Sprintf(", %s %.2g %%", x.name, 100*float64(x.v/n.Gross))
		}
	}
	if n.Sand > 0 {
		text += ", filler"
	}
	return text
}
