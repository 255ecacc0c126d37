package systems

import (
	"fmt"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// collect puts the needs into the outcome, in the order of the work.
func (p *planner) collect() error {
	p.o.TakeOff = []Need{}
	for _, id := range p.j.Recipe.order {
		if n := p.needs[id]; n != nil {
			p.o.TakeOff = append(p.o.TakeOff, *n)
		}
	}
	return nil
}

// geometry adds up the areas.
func (p *planner) geometry() error {
	for _, a := range p.j.Areas { // before asking whether the cove has work
		if a.BaseLength > 0 {
			fillet, err := coverage.CoveBase{Length: a.BaseLength, Height: a.BaseHeight, Radius: a.BaseCove}.Fillet()
			if err != nil {
				return err
			}
			p.fillet += fillet
		}
	}
	coved := p.has(Cove)
	for _, a := range p.j.Areas {
		line := AreaLine{Name: a.Name, Floor: a.Floor}
		if a.BaseLength > 0 {
			base := coverage.CoveBase{Length: a.BaseLength, Height: a.BaseHeight, Radius: a.BaseCove}
			if !coved {
				base.Radius = 0 // a square corner: no arc on the face, no fillet on the floor
			}
			face, err := base.Face()
			if err != nil {
				return err
			}
			lost, err := base.FloorLost()
			if err != nil {
				return err
			}
			line.Base = face
			p.face += face
			p.lost += lost
			p.baseLength += a.BaseLength
		}
		line.Edge, line.Faces = a.Edge, a.Faces
		p.floor += a.Floor
		p.edge += a.Edge
		p.faces += a.Faces
		p.o.Areas = append(p.o.Areas, line)
	}
	p.o.Floor, p.o.Base, p.o.Edge, p.o.Faces = p.floor, p.face, p.edge, p.faces
	return nil
}

// area is what a coat, broadcast or sweep covers: the floor less what the cove
// took, and the base's face where the step goes up it; or that face alone.
func (p *planner) area(s *Step) units.Area {
	if s.Only == "base" {
		return p.face
	}
	base := s.Base
	if s.Does == Broadcast {
		base = p.step(s.Into).Base
	}
	if base {
		return p.floor - p.lost + p.face
	}
	return p.floor - p.lost
}

// takeOff computes what every step needs and the build-up.
func (p *planner) takeOff() error {
	var total units.Length
	layer := func(id string, adds units.Length) {
		if total += adds; adds > 0 {
			p.o.Build = append(p.o.Build, Layer{Step: id, Title: title(p.step(id), id), Adds: adds, Total: total})
		}
	}
	for _, id := range p.j.Recipe.order {
		if !p.active(id) {
			continue
		}
		s := p.step(id)
		var n *Need
		var err error
		switch s.Does {
		case FillPatch, FillJoint, FillCrack, Cove:
			n, err = p.mortar(id, s)
		case Coat:
			if n, err = p.coat(id, s); err == nil && s.Only == "" { // the build is the floor's
				layer(id, n.Dry)
			}
		case Broadcast:
			if n, err = p.broadcast(id, s); err == nil {
				layer(id, p.beds[id].Height-p.needs[s.Into].Dry) // the bed holds the coat it fell into
			}
		default:
			continue
		}
		if err != nil {
			return fmt.Errorf("systems.Plan: step %s: %w", id, err)
		}
		p.needs[id] = n
	}
	p.o.Thickness = total
	return nil
}

// drinks reports whether a coat with work goes on bare concrete: the recipe's
// first one, or, where that is skipped, the first that is not.
func (p *planner) drinks(id string) bool {
	if p.step(id).First {
		return true
	}
	bare, first := false, ""
	for _, other := range p.j.Recipe.order {
		s := p.step(other)
		if s.First && p.active(other) {
			return false
		}
		bare = bare || s.First
		if first == "" && s.Does == Coat && s.Only == "" && p.active(other) {
			first = other
		}
	}
	return bare && first == id
}

func (p *planner) need(id string, s *Step, area units.Area) *Need {
	m := p.material(id)
	return &Need{Step: id, Title: title(s, id), Material: m.ID + "@" + m.Version, Name: m.Name, Area: area}
}

// mortar takes off patches, joints or the cove: resin bulked with sand.
func (p *planner) mortar(id string, s *Step) (*Need, error) {
	n := p.need(id, s, 0)
	switch s.Does {
	case FillPatch:
		for _, w := range p.j.Patches {
			patch := coverage.Patch{Area: w.Area, Depth: w.Depth, Crown: w.Crown}
			v, err := patch.Fill()
			if err != nil {
				return nil, err
			}
			off, err := patch.Ground()
			if err != nil {
				return nil, err
			}
			n.Mortar += v * units.Volume(w.Count)
			n.Ground += off * units.Volume(w.Count)
			n.Area += w.Area * units.Area(w.Count)
		}
	case FillJoint, FillCrack:
		for _, w := range p.slots(s) {
			v, off, err := w.Fill()
			if err != nil {
				return nil, err
			}
			n.Mortar += v * units.Volume(w.Count)
			n.Ground += off * units.Volume(w.Count)
			n.Area += w.Length.Times(w.Width) * units.Area(w.Count)
		}
	default:
		n.Mortar, n.Area = p.fillet+s.Face.Q.Over(p.face), p.face
	}
	m := p.material(id)
	f, err := p.filling(id, s)
	if err != nil {
		return nil, err
	}
	n.Fill = n.Mortar / units.Volume(f.yield)
	n.Gross = n.Fill / units.Volume(1-s.Waste.Q)
	n.Waste = n.Gross * units.Volume(s.Waste.Q)
	n.SandName, n.Sand = f.name, f.sand(n.Gross)
	return n, p.split(n, m)
}

// slots returns the joints or the cracks that a step fills.
func (p *planner) slots(s *Step) []JointWork {
	if s.Does == FillCrack {
		return p.j.Cracks
	}
	return p.j.Joints
}

// A filling is what filler makes of a liquid.
type filling struct {
	name    string         // of the filler; "" if there is none
	ratio   float64        // filler to liquid by mass
	yield   float64        // volume in place by volume of liquid
	air     units.Fraction // of the volume in place, where the liquid does not fill the sand
	density units.Density  // of the liquid
}

// sand returns the filler that goes with a volume of liquid.
func (f filling) sand(v units.Volume) units.Mass { return v.Mass(f.density) * units.Mass(f.ratio) }

// filling works out what a step's filler makes of its liquid: sand as
// [aggregate.Mortar] has it; a thickener adds the volume of its grain, and
// holds no air. Source: volume balance.
func (p *planner) filling(id string, s *Step) (f filling, err error) {
	f = filling{yield: 1, ratio: float64(s.Ratio.Q)}
	if f.density, err = p.material(id).mix.Density(); err != nil {
		return f, err
	}
	sand, ok := p.materials[s.Sand]
	if !ok || f.ratio == 0 {
		f.ratio = 0
		return f, nil
	}
	f.name = sand.Name
	if sand.Kind == "thickener" {
		f.yield += f.ratio * float64(f.density/sand.Density.Q)
		return f, nil
	}
	mix := aggregate.Mortar{SandToResin: f.ratio, SandDensity: sand.Density.Q, ResinDensity: f.density, Bulk: sand.Packing.Q}
	if f.yield, err = mix.Yield(); err == nil {
		f.air, err = mix.Air()
	}
	return f, err
}

// coat takes off a film with its losses. A filled coat, a slurry or a mortar
// laid over the whole floor, is as thick as its film says with the filler in
// it; the needs are of the liquid, the filler goes with all of it. Where the
// liquid does not fill the sand, the air left is what a grout may fill.
// Source: volume balance.
func (p *planner) coat(id string, s *Step) (*Need, error) {
	m, area := p.material(id), p.area(s)
	n := p.need(id, s, area)
	n.Dry = s.Film.Q
	f, err := p.filling(id, s)
	if err != nil {
		return nil, err
	}
	liquid := 1 / units.Fraction(f.yield)                                                       // share of the liquid in the coat as laid
	if n.Wet, err = coverage.WetFilm(n.Dry, 1-(1-m.Solids.Q)*liquid, s.Thinner.Q); err != nil { // only the liquid shrinks
		return nil, err
	}
	thin := units.Length(1 + s.Thinner.Q) // the needs are of the liquid before thinning
	film := n.Wet * units.Length(liquid) / thin
	why := coverage.Causes{Waste: s.Waste.Q}
	if p.drinks(id) {
		for _, a := range p.j.Areas {
			n.Profile += a.Profile.Over(a.Floor) * units.Volume(liquid) / units.Volume(thin)
			n.Uptake += a.Uptake.Over(a.Floor) / units.Volume(thin)
		}
	}
	switch {
	case s.Texture.Given(): // measured on the crust: better than what is computed of the bed
		n.Texture = s.Texture.Q.Over(area) / units.Volume(m.Solids.Q)
	case s.Fills != "":
		if err := p.voids(id, s, n, m); err != nil {
			return nil, err
		}
	}
	why.Profile, why.Uptake, why.Texture = n.Profile.PerArea(area), n.Uptake.PerArea(area), (n.Voids + n.Texture).PerArea(area)
	if s.Cut.Given() {
		why.Edge, why.EdgeWidth, why.EdgeExtra = p.edge, s.Strip.Q, s.Cut.Q/thin
	}
	if s.Hangs.Given() {
		why.Faces, why.FaceFilm = p.faces, s.Hangs.Q/units.Length(m.Solids.Q)
	}
	t, err := why.Tell(area, film, 1) // all of them are volumes of the liquid
	if err != nil {
		return nil, err
	}
	n.Film, n.Edges, n.Faces, n.Gross, n.Waste = t.Film, t.Edges, t.Faces, t.Total, t.Waste
	n.Thinner = n.Gross * units.Volume(s.Thinner.Q)
	if f.name != "" {
		n.SandName, n.Sand = f.name, f.sand(n.Gross)
		n.Mortar = (n.Film + n.Profile) * units.Volume(f.yield)
		p.beds[id] = aggregate.Bed{Open: n.Wet * units.Length(f.air)}
	}
	n.Spread = units.Spread(float64(area) / float64(n.Gross))
	return n, p.split(n, m)
}

// voids takes off what a grout fills of the open voids below, and what it
// leaves open to a second one.
func (p *planner) voids(id string, s *Step, n *Need, m *Material) error {
	bed := p.beds[s.Fills]
	if s.Share.Given() {
		bed.Fill = s.Share.Q
	}
	if s.Share.Given() && s.Share.Q == 0 { // Fill 0 of a bed stands for 1
		p.beds[id] = bed
		return nil
	}
	voids, err := bed.Grout(0)
	if err != nil {
		return err
	}
	n.Voids = voids.Over(p.area(p.step(p.crust(s.Fills)))) / units.Volume(m.Solids.Q)
	p.beds[id], err = bed.Grouted()
	return err
}

// crust returns the broadcast, or the starved mortar, whose voids a step fills
// that is named by a grout over it.
func (p *planner) crust(id string) string {
	for s := p.step(id); s.Does == Coat && s.Sand == "" && s.Fills != ""; s = p.step(id) {
		id = s.Fills
	}
	return id
}

// broadcast takes off the aggregate thrown into a coat.
func (p *planner) broadcast(id string, s *Step) (*Need, error) {
	m := p.material(id)
	n := p.need(id, s, p.area(s))
	into := p.needs[s.Into]
	bed, err := bedOf(s, m, into.Wet)
	if err != nil {
		return nil, err
	}
	if !m.Plate.Given() && s.Takes.Given() && bed.Held < s.Takes.Q*(1-1e-9) {
		p.find(Finding{Key: "grain-not-held", Severity: Watch, Step: id, Found: Amount{bed.Held}, Asked: Amount{s.Takes.Q}, Owner: "recipe", Limit: p.o.Recipe})
	}
	p.beds[id] = bed
	n.Loading, n.Embedded, n.Light = bed.Held, bed.Embedment, bed.Light
	n.Held = bed.Held.Over(n.Area)
	thrown, _, err := aggregate.Thrown(bed.Held, keeps(s, m))
	if err != nil {
		return nil, err
	}
	n.Thrown = thrown.Over(n.Area)
	n.Vacuumed = n.Thrown - n.Held
	n.Bought = n.Thrown
	return n, nil
}

// split fills in the amounts of the parts.
func (p *planner) split(n *Need, m *Material) (err error) {
	n.Parts, err = parts(m, n.Gross)
	return err
}

func parts(m *Material, v units.Volume) ([]PartLine, error) {
	shares, err := m.mix.Split(v)
	if err != nil {
		return nil, err
	}
	lines := make([]PartLine, len(shares))
	for i, s := range shares {
		lines[i] = PartLine{Name: s.Name, Volume: s.Volume, Mass: s.Mass}
	}
	return lines, nil
}
