package systems

import (
	"slices"
	"strings"
	"time"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// notes says of every figure of a finished run how it was computed, from what
// the run left.
func (p *planner) notes() notes {
	n := notes{}
	p.noteShapes(n)
	p.noteAreas(n)
	for _, id := range p.j.Recipe.order {
		need, s := p.needs[id], p.step(id)
		if need == nil {
			continue
		}
		m, at := p.material(id), "steps."+id+"."
		switch s.Does {
		case Coat:
			p.noteCoat(n, at, id, s, m, need)
		case Broadcast:
			p.noteBroadcast(n, at, id, s, m, need)
		default:
			p.noteMortar(n, at, id, s, m, need)
		}
		if need.Batches != nil {
			p.noteBatches(n, at, id, s, m, need)
		}
	}
	p.noteOrder(n)
	p.noteBuild(n)
	p.noteMarks(n)
	p.noteSchedule(n)
	p.noteLayers(n)
	p.noteWork(n)
	p.noteAmounts(n)
	p.noteHeat(n)
	p.noteWater(n)
	p.noteNights(n)
	p.noteLoss(n)
	p.noteFindings(n)
	p.noteAlternatives(n)
	p.noteNothing(n)
	return n
}

func of(name, path string) arg { return arg{name: name, path: path} }

// fromJob is a figure that the job gives.
func fromJob(name string, value any) arg {
	return arg{name: name, value: value, origin: Origin{Basis: FromJob}}
}

// fromStep is a figure of the recipe, or the job's own in its place.
func fromStep[Q units.Quantity](p *planner, name string, v Value[Q]) arg {
	a := arg{name: name, value: v.Q, text: v.Text, origin: v.Origin}
	if !v.Given() { // nothing is what the plan takes then
		a.origin = Origin{Basis: CommonPractice, Note: "not given"}
	}
	if v.Basis != FromJob {
		a.file = &p.j.Recipe.file
	}
	return a
}

// fromMaterial is a figure of a material file, of the class that it fills in, or
// the job's own in its place.
func fromMaterial[Q units.Quantity](m *Material, name string, v Value[Q]) arg {
	return arg{name: name, value: v.Q, text: v.Text, origin: v.Origin, file: m.fileOf(v.Origin)}
}

func (m *Material) fileOf(o Origin) *FileID {
	switch {
	case o.Basis == FromJob:
		return nil
	case o.Basis != FromSheet && len(m.bases) > 0:
		return &m.bases[len(m.bases)-1]
	}
	return &m.file
}

func (p *planner) noteAreas(n notes) {
	var floors, faces, lost []string
	var in, inFaces, inLost []arg
	for _, a := range p.o.Areas {
		floors, in = append(floors, "floor of "+a.Name), append(in, n.ofArea("floor", a.Name, a.Floor))
		if a.Base > 0 {
			faces, inFaces = append(faces, "base of "+a.Name), append(inFaces, of("base of "+a.Name, "areas."+a.Name+".base"))
		}
	}
	coved := p.has(Cove)
	for _, a := range p.j.Areas {
		if a.BaseLength == 0 {
			continue
		}
		radius := fromJob("radius of the cove", a.BaseCove)
		if !coved {
			radius = arg{name: "radius of the cove", value: units.Length(0), text: "0 m", origin: Origin{Basis: CommonPractice, Note: "no cove is formed: a square corner"}}
		}
		for _, line := range p.o.Areas {
			if line.Name == a.Name {
				n["areas."+a.Name+".base"] = note{name: "base of " + a.Name, value: line.Base, formula: "developed face of the wall and the cove's quarter circle: length * (height - radius + radius * pi / 2)",
					in: []arg{fromJob("length", a.BaseLength), fromJob("height", a.BaseHeight), radius}, by: func(x map[string]float64) (float64, error) {
						face, err := coverage.CoveBase{Length: units.Length(x["length"]), Height: units.Length(x["height"]), Radius: units.Length(x["radius of the cove"])}.Face()
						return float64(face), err
					}}
			}
		}
		if coved {
			lost = append(lost, "length of "+a.Name+" * radius of "+a.Name)
			inLost = append(inLost, fromJob("length of "+a.Name, a.BaseLength), fromJob("radius of "+a.Name, a.BaseCove))
		}
	}
	n["floor"] = note{name: "floor", value: p.floor, formula: strings.Join(floors, " + "), in: in}
	if len(faces) > 0 {
		n["base"] = note{name: "base", value: p.face, formula: strings.Join(faces, " + "), in: inFaces}
	}
	if len(lost) > 0 {
		n["lost"] = note{name: "floor under the cove", value: p.lost, formula: strings.Join(lost, " + "), in: inLost}
	}
}

// noteArea says what a step covers.
func (p *planner) noteArea(n notes, at string, s *Step) {
	if s.Only == "base" {
		n[at+"area"] = note{name: "area", value: p.area(s), formula: "base", in: []arg{of("base", "base")}}
		return
	}
	base := s.Base
	if s.Does == Broadcast {
		base = p.step(s.Into).Base
	}
	x := note{name: "area", value: p.area(s), formula: "floor", in: []arg{of("floor", "floor")}}
	if _, ok := n["lost"]; ok {
		x.formula += " - under the cove"
		x.in = append(x.in, of("under the cove", "lost"))
	}
	if base && p.face > 0 {
		x.formula += " + base"
		x.in = append(x.in, of("base", "base"))
	}
	n[at+"area"] = x
}

func (p *planner) noteCoat(n notes, at, id string, s *Step, m *Material, need *Need) {
	p.noteArea(n, at, s)
	solids := fromMaterial(m, "solids", m.Solids)
	n[at+"dry"] = note{name: "dry film", value: need.Dry, formula: "film", in: []arg{fromStep(p, "film", s.Film)}}
	wet, film, by, yield := "dry film / solids", "wet film * area", "", []arg(nil)
	if s.Thinner.Given() { // the needs are of the liquid before thinning
		wet, film, by, yield = "dry film * (1 + thinner) / solids", "wet film * area / (1 + thinner)", " / (1 + thinner)", []arg{fromStep(p, "thinner", s.Thinner)}
	}
	filled := p.noteYield(n, at, id, s, m)
	if filled { // only the liquid shrinks, and the needs are of it
		wet, film, by, yield = "dry film / (1 - (1 - solids) / yield)", "wet film * area / yield", " / yield", []arg{of("yield", at+"yield")}
	}
	n[at+"wet"] = note{name: "wet film", value: need.Wet, formula: wet, in: append([]arg{of("dry film", at+"dry"), solids}, yield...)}
	n[at+"film"] = note{name: "in the film", value: need.Film, formula: film, in: append([]arg{of("wet film", at+"wet"), of("area", at+"area")}, yield...)}
	told, inTold := p.noteTold(n, at, s, m, need)
	thinned, thinner := "", []arg(nil)
	if s.Thinner.Given() {
		thinned, thinner = by, yield
	}
	sum, in := "film", []arg{of("film", at+"film")}
	if p.drinks(id) {
		for _, x := range []struct {
			key, name string
			value     units.Volume
			per       func(Area) units.Length
			by        string // what of it is liquid, before thinning
			yield     []arg
		}{{"profile", "profile", need.Profile, func(a Area) units.Length { return a.Profile }, by, yield}, {"uptake", "uptake", need.Uptake, func(a Area) units.Length { return a.Uptake }, thinned, thinner}} {
			var terms []string
			var in []arg
			for _, a := range p.j.Areas {
				terms = append(terms, x.name+" of "+a.Name+" * floor of "+a.Name)
				in = append(in, n.ofArea(x.name, a.Name, x.per(a)), n.ofArea("floor", a.Name, a.Floor))
			}
			formula := strings.Join(terms, " + ")
			if x.by != "" {
				formula = "(" + formula + ")" + x.by
			}
			where := map[string]string{"uptake": "pores"}[x.name]
			if where == "" {
				where = x.name
			}
			n[at+x.key] = note{name: "in the " + where, value: x.value, formula: formula, in: append(in, x.yield...)}
			sum += " + " + where
		}
		in = append(in, of("profile", at+"profile"), of("pores", at+"uptake"))
	}
	if s.Fills != "" && !s.Texture.Given() {
		share := fromStep(p, "share filled", s.Share)
		if !s.Share.Given() {
			share.value, share.text = units.Fraction(1), "100 %"
		}
		n[at+"voids"] = note{name: "in the open voids", value: need.Voids, formula: "open voids * share filled * area of the broadcast / solids",
			in: []arg{of("open voids", "steps."+s.Fills+".open"), share, of("area of the broadcast", "steps."+p.crust(s.Fills)+".area"), solids}}
		n[at+"open"] = note{name: "open voids left", value: p.beds[id].Open, formula: "open voids - open voids * share filled", in: []arg{of("open voids", "steps."+s.Fills+".open"), share}}
		sum += " + open voids"
		in = append(in, of("open voids", at+"voids"))
	}
	for i, more := range told {
		sum, in = sum+" + "+more, append(in, inTold[i])
	}
	if len(in) > 1 && !s.Tools.Given() && !s.Residue.Given() {
		sum = "(" + sum + ")"
	}
	p.noteMixed(n, at, s, need, sum, in)
	p.noteVolatiles(n, at, s, m, need)
	if filled {
		laid, in := "film", []arg{of("film", at+"film"), of("yield", at+"yield")}
		if _, ok := n[at+"profile"]; ok {
			laid, in = "(film + profile)", append(in, of("profile", at+"profile"))
		}
		n[at+"mortar"] = note{name: "laid with its filler", value: need.Mortar, formula: laid + " * yield", in: in}
		p.noteSand(n, at, s, need)
		p.noteAir(n, at, id, s)
	}
	n[at+"spread"] = note{name: "spread with all losses", value: need.Spread, formula: "area / need", in: []arg{of("area", at+"area"), of("need", at+"gross")}}
}

// noteGross says what a step takes with its waste: net is the formula without.
func (p *planner) noteGross(n notes, at string, s *Step, need *Need, net string, in []arg) {
	n[at+"gross"] = note{name: "need", value: need.Gross, formula: net + " / (1 - waste)", in: append(in, fromStep(p, "waste", s.Waste))}
	n[at+"waste"] = note{name: "waste", value: need.Waste, formula: "need * share wasted", in: []arg{of("need", at+"gross"), fromStep(p, "share wasted", s.Waste)}}
}

// noteBroadcast says how a bed follows from the coat it falls into and its grain.
func (p *planner) noteBroadcast(n notes, at, id string, s *Step, m *Material, need *Need) {
	p.noteArea(n, at, s)
	in := []arg{of("wet film", "steps."+s.Into+".wet"), fromMaterial(m, "grain size", m.Size), fromMaterial(m, "density", m.Density), fromMaterial(m, "packing", m.Packing)}
	if m.Coverage.Given() {
		in = append(in, fromMaterial(m, "coverage", m.Coverage))
	}
	bed := func(figure func(aggregate.Bed) float64) func(map[string]float64) (float64, error) {
		return func(x map[string]float64) (float64, error) {
			b, err := aggregate.ToRefusal(units.Length(x["wet film"]), aggregate.Grain{Size: units.Length(x["grain size"]), Density: units.Density(x["density"]), Packing: units.Fraction(x["packing"]), Coverage: units.Fraction(x["coverage"])})
			return figure(b), err
		}
	}
	words := "resin-volume balance of a broadcast to refusal (aggregate.ToRefusal)"
	switch {
	case m.Plate.Given():
		words = "volume balance of flakes that lie flat, thrown to refusal"
		in = []arg{of("wet film", "steps."+s.Into+".wet"), fromMaterial(m, "refusal", m.Refusal), fromMaterial(m, "density", m.Density), fromMaterial(m, "packing", m.Packing)}
		bed = func(figure func(aggregate.Bed) float64) func(map[string]float64) (float64, error) {
			return func(x map[string]float64) (float64, error) {
				flakes := Material{Refusal: Value[units.Loading]{Q: units.Loading(x["refusal"])}, Density: Value[units.Density]{Q: units.Density(x["density"])}, Packing: Value[units.Fraction]{Q: units.Fraction(x["packing"])}}
				return figure(plates(units.Length(x["wet film"]), &flakes)), nil
			}
		}
	case s.Takes.Given():
		words = "volume balance of the grain that a film takes which does not rise among it (aggregate.Broadcast)"
		in = append(in, fromStep(p, "takes", s.Takes))
		bed = func(figure func(aggregate.Bed) float64) func(map[string]float64) (float64, error) {
			return func(x map[string]float64) (float64, error) {
				b, err := takes(units.Loading(x["takes"]), units.Length(x["wet film"]), aggregate.Grain{Size: units.Length(x["grain size"]), Density: units.Density(x["density"]), Packing: units.Fraction(x["packing"]), Coverage: units.Fraction(x["coverage"])})
				return figure(b), err
			}
		}
	}
	n[at+"loading"] = note{name: "held per area", value: need.Loading, formula: words + ": the grain that the film holds", in: in, by: bed(func(b aggregate.Bed) float64 { return float64(b.Held) })}
	n[at+"open"] = note{name: "open voids per area", value: p.beds[id].Open, formula: words + ": the voids between the film and the peaks", in: in, by: bed(func(b aggregate.Bed) float64 { return float64(b.Open) })}
	n[at+"height"] = note{name: "height of the bed", value: p.beds[id].Height, formula: words + ": the height of grain and resin", in: in, by: bed(func(b aggregate.Bed) float64 { return float64(b.Height) })}
	n[at+"held"] = note{name: "held", value: need.Held, formula: "held per area * area", in: []arg{of("held per area", at+"loading"), of("area", at+"area")}}
	keeps := fromMaterial(m, "share that stays", m.Retention)
	switch {
	case s.Keeps.Given():
		keeps = fromStep(p, "share that stays", s.Keeps)
	case !m.Retention.Given():
		keeps = arg{name: "share that stays", value: units.Fraction(1), text: "100 %", origin: Origin{Basis: CommonPractice, Note: "no retention given"}}
	}
	n[at+"thrown"] = note{name: "thrown", value: need.Thrown, formula: "held / share that stays", in: []arg{of("held", at+"held"), keeps}}
	p.noteGrain(n, at, id, s, need)
	n[at+"vacuumed"] = note{name: "vacuumed back", value: need.Vacuumed, formula: "thrown - held", in: []arg{of("thrown", at+"thrown"), of("held", at+"held")}}
}

func (p *planner) noteMortar(n notes, at, id string, s *Step, m *Material, need *Need) {
	var terms []string
	var in []arg
	item := func(name string, count int, formula string, by func(x map[string]float64) (float64, error), args ...arg) {
		x := note{name: name, formula: formula, in: args, by: by}
		values := map[string]float64{}
		for _, a := range args {
			values[a.name] = si(a.value)
		}
		v, err := by(values)
		if err != nil {
			return // the run would have stopped at it
		}
		x.value = units.Volume(v)
		n[at+"item."+name] = x
		terms, in = append(terms, "count of "+name+" * "+name), append(in, fromJob("count of "+name, count), of(name, at+"item."+name))
	}
	switch s.Does {
	case FillPatch:
		for _, w := range p.j.Patches {
			item(w.Name, w.Count, "area * depth and the cap of the crown (coverage.Patch)", func(x map[string]float64) (float64, error) {
				v, err := coverage.Patch{Area: units.Area(x["area"]), Depth: units.Length(x["depth"]), Crown: units.Length(x["crown"])}.Fill()
				return float64(v), err
			}, fromJob("area", w.Area), fromJob("depth", w.Depth), fromJob("crown", w.Crown))
		}
	case FillJoint, FillCrack:
		for _, w := range p.slots(s) {
			item(w.Name, w.Count, jointFormula(w), func(x map[string]float64) (float64, error) {
				v, _, err := jointOf(w.Form, x).Fill()
				return float64(v), err
			}, jointGiven(w)...)
		}
	case Cove:
		for _, a := range p.j.Areas {
			if a.BaseLength > 0 {
				item("cove of "+a.Name, 1, "length * radius * radius * (1 - pi / 4) (coverage.CoveBase)", func(x map[string]float64) (float64, error) {
					v, err := coverage.CoveBase{Length: units.Length(x["length"]), Height: units.Length(x["height"]), Radius: units.Length(x["radius"])}.Fillet()
					return float64(v), err
				}, fromJob("length", a.BaseLength), fromJob("height", a.BaseHeight), fromJob("radius", a.BaseCove))
			}
		}
		if s.Face.Given() {
			terms, in = append(terms, "trowelled on the face * base"), append(in, fromStep(p, "trowelled on the face", s.Face), of("base", "base"))
		}
	default:
		return // a kind of work whose figures are not yet explained
	}
	n[at+"mortar"] = note{name: "mortar in place", value: need.Mortar, formula: strings.Join(terms, " + "), in: in}
	p.noteGround(n, at, s, need)
	fill, args := "mortar", []arg{of("mortar", at+"mortar")}
	if p.noteYield(n, at, id, s, m) {
		fill, args = "mortar / yield", append(args, of("yield", at+"yield"))
		p.noteSand(n, at, s, need)
	}
	n[at+"fill"] = note{name: "resin in place", value: need.Fill, formula: fill, in: args}
	p.noteMixed(n, at, s, need, "fill", []arg{of("fill", at+"fill")})
	p.noteVolatiles(n, at, s, m, need)
}

// noteYield says what a step's filler makes of its liquid, and reports whether
// it has any.
func (p *planner) noteYield(n notes, at, id string, s *Step, m *Material) bool {
	f, err := p.filling(id, s)
	if err != nil || f.name == "" {
		return false
	}
	filler := p.materials[s.Sand]
	var parts []arg
	for _, key := range m.parts {
		parts = append(parts, fromMaterial(m, "density of "+m.Parts[key].Name, m.Parts[key].Density))
	}
	n[at+"density"] = note{name: "density of the mixed resin", value: f.density, formula: "of the parts in the ratio " + m.Mix + " by " + m.MixBy + " (coverage.Mix)", in: parts, by: func(map[string]float64) (float64, error) {
		d, err := m.mix.Density()
		return float64(d), err
	}}
	in := []arg{fromStep(p, "sand to resin", s.Ratio), fromMaterial(filler, "density of the sand", filler.Density), of("density of the resin", at+"density")}
	x := note{name: "mortar of a volume of resin", value: units.Fraction(f.yield)}
	if filler.Kind == "thickener" {
		in[0].name, in[1].name = "thickener to resin", "density of the thickener"
		x.formula, x.in = "1 + thickener to resin * density of the resin / density of the thickener", in
	} else {
		x.formula, x.in = "resin with its sand, or the sand's bulk where that is more (aggregate.Mortar)", append(in, fromMaterial(filler, "packing", filler.Packing))
		x.by = func(x map[string]float64) (float64, error) { return mortarOf(x).Yield() }
	}
	n[at+"yield"] = x
	return true
}

// mortarOf is the mortar of the inputs that [planner.noteYield] names.
func mortarOf(x map[string]float64) aggregate.Mortar {
	return aggregate.Mortar{SandToResin: x["sand to resin"], SandDensity: units.Density(x["density of the sand"]), ResinDensity: units.Density(x["density of the resin"]), Bulk: units.Fraction(x["packing"])}
}

// noteSand says how much filler goes with what a step takes.
func (p *planner) noteSand(n notes, at string, s *Step, need *Need) {
	n[at+"sand"] = note{name: "sand", value: need.Sand, formula: "need * density of the resin * sand to resin",
		in: []arg{of("need", at+"gross"), of("density of the resin", at+"density"), fromStep(p, "sand to resin", s.Ratio)}}
}

// noteAir says what a filled coat leaves open for a grout.
func (p *planner) noteAir(n notes, at, id string, s *Step) {
	f, err := p.filling(id, s)
	if err != nil {
		return // the run would have stopped at it
	}
	air := note{name: "air in the coat as laid", value: f.air, formula: "what the liquid leaves empty of the sand's voids (aggregate.Mortar)", in: n[at+"yield"].in, by: func(x map[string]float64) (float64, error) {
		a, err := mortarOf(x).Air()
		return float64(a), err
	}}
	if p.materials[s.Sand].Kind == "thickener" {
		air.formula = "none: a thickener holds no air"
		air.by = func(map[string]float64) (float64, error) { return 0, nil }
	}
	n[at+"air"] = air
	n[at+"open"] = note{name: "open voids per area", value: p.beds[id].Open, formula: "wet film * air", in: []arg{of("wet film", at+"wet"), of("air", at+"air")}}
}

func (p *planner) noteBatches(n notes, at, id string, s *Step, m *Material, need *Need) {
	if _, ok := n[at+"gross"]; !ok {
		return
	}
	b, sections := need.Batches, 1
	if s.Does == Coat {
		sections = p.o.Sections
	}
	count := fromSections(sections)
	single := of("need", at+"gross") // with one batch for each section
	residue := units.Volume(0)
	if s.Residue.Given() {
		single = of("need", at+"single")
		if need.Residue > 0 {
			residue = s.Residue.Q
		}
	}
	one := (need.Gross - need.Waste - need.Residue + s.Residue.Q*units.Volume(sections)) / units.Volume(1-s.Waste.Q) / units.Volume(sections)
	pot := m.Times[PotLife]
	life := note{name: "pot life", value: b.PotLife, formula: "of the table at the air's temperature, no longer than at its rows, to the second", in: []arg{
		{name: "air", value: b.At, origin: Origin{Basis: FromJob, Note: "the warmest that shortens it while the step goes on"}}, {name: "pot life of the sheet", text: pot.text(), origin: pot.Origin, file: m.fileOf(pot.Origin)}},
		by: func(x map[string]float64) (float64, error) {
			table, err := pot.at(units.Fraction(x["humidity"]))
			if err != nil {
				return 0, err
			}
			d, err := table.NotAfter().Time(units.Kelvin(x["air"]))
			return d.Round(time.Second).Seconds(), err
		}}
	what := "the air's temperature"
	if pot.Humid != nil {
		if _, at, err := p.shortestPotLife(id, m); err == nil {
			what = "the air's temperature and humidity"
			life.formula = "of the table at " + what + ", no longer than at its rows, to the second"
			life.in = append(life.in, arg{name: "humidity", value: units.Fraction(p.j.Weather.RH.At(at)), origin: Origin{Basis: FromJob, Note: "then"}})
		}
	}
	vessel := m.Vessel
	if !vessel.Given() {
		vessel = m.Kit
	}
	if room := min(one, vessel.Q); m.Reaction.Given() && pot.Amount > 0 && room > pot.Amount*(1+1e-9) {
		life.formula = "the lesser of the table's at " + what + " and, since a batch may be larger than the table's amount, that of a full vessel's own heat (cure.Mix.PotLife), to the second"
		life.in = append(life.in, single, count, fromMaterial(m, "vessel", vessel), fromMaterial(m, "reaction.heat", m.Reaction.Heat))
		table := life.by
		life.by = func(x map[string]float64) (float64, error) {
			d, err := table(x)
			if err != nil {
				return d, err
			}
			own, err := m.potLifeOf(units.Volume(min(x["need"]*(1/x["sections"]), x["vessel"])), units.Kelvin(x["air"]), units.Fraction(x["humidity"]))
			return min(d, own.Round(time.Second).Seconds()), err
		}
	}
	n[at+"pot_life"] = life
	kept := []arg{single, of("largest batch", at+"largest"), count, fromStep(p, "waste", s.Waste)}
	if s.Residue.Given() {
		kept = append(kept, fromStep(p, "residue of a batch", s.Residue))
	}
	n[at+"batches"] = note{name: "batches", value: b.N, formula: "need of a section by what the largest batch lays of it, rounded up, for each section", in: kept,
		by: func(x map[string]float64) (float64, error) {
			lays := 1 - x["waste"]
			net := x["need"]/x["sections"]*lays - x["residue of a batch"]
			k, err := coverage.Kits(units.Volume(net), units.Volume(x["largest batch"]*lays)-residue)
			return float64(k) * x["sections"], err
		}}
	n[at+"batch"] = note{name: "one batch", value: b.Each, formula: "need / batches", in: []arg{of("need", at+"gross"), of("batches", at+"batches")}}
	if m.Whole {
		n[at+"batch"] = note{name: "one batch", value: b.Each, formula: "largest batch", in: []arg{of("largest batch", at+"largest")}}
	}
	in := []arg{single, count, of("pot life", at+"pot_life"), fromMaterial(m, "mixing", m.Mixing)}
	in = append(in, fromMaterial(m, "vessel", vessel))
	work := p.together(id, 1/float64(sections))
	in = append(in, arg{name: "work on a section", value: units.Span(work), origin: Origin{Basis: CommonPractice, Note: "area by the rate of the hands, the broadcast with it"}})
	n[at+"largest"] = note{name: "largest batch", value: b.Largest, formula: "the least of the vessel, the need of a section, and what the crew lays of it in the pot life less the mixing; bound by the " + b.Binding, in: in,
		by: func(x map[string]float64) (float64, error) {
			share := x["need"] * (1 / x["sections"])
			least := min(share, x["vessel"])
			if left := x["pot life"] - x["mixing"]; x["work on a section"] > 0 && left > 0 {
				if b.Binding == "pot life" || b.Binding == "whole kit" {
					return float64(b.Largest), nil // the exact pot life is not to the second
				}
				least = min(least, share/x["work on a section"]*(left+0.5))
			}
			if m.Whole {
				return float64(m.wholeKit(units.Volume(least))), nil
			}
			return least, nil
		}}
}

func fromSections(n int) arg {
	return arg{name: "sections", value: n, origin: Origin{Basis: FromJob, Note: "given, or as many as the shifts need"}}
}

func (p *planner) noteBuild(n notes) {
	var terms []string
	var in []arg
	for _, l := range p.o.Build {
		s, at := p.step(l.Step), "steps."+l.Step+"."
		x := note{name: "layer of " + l.Step, value: l.Adds, formula: "dry film", in: []arg{of("dry film", at+"dry")}}
		if s.Does == Broadcast {
			x.formula, x.in = "height of the bed - dry film below", []arg{of("height of the bed", at+"height"), of("dry film below", "steps."+s.Into+".dry")}
		}
		n[at+"adds"] = x
		terms, in = append(terms, x.name), append(in, of(x.name, at+"adds"))
	}
	if len(terms) > 0 {
		n["thickness"] = note{name: "build", value: p.o.Thickness, formula: strings.Join(terms, " + "), in: in}
	}
}

// noteSchedule gives the reasons of the schedule's times.
func (p *planner) noteSchedule(n notes) {
	for _, w := range p.o.Schedule {
		at, s := workPath(&w), p.step(w.Step)
		in := []arg{{name: "start of the job", value: p.j.Start, origin: Origin{Basis: FromJob}}}
		for _, l := range p.after[w.Step] {
			if path := "steps." + l.step + "." + l.event; slices.Contains(Events(), l.event) {
				if _, ok := n[path]; ok {
					in = append(in, of(words(l.event)+" of "+l.step, path))
				}
			}
		}
		n[at+"start"] = note{name: "start of " + w.Title, value: w.Start, formula: "the first moment that the crew, what lies below and the weather allow: " + w.Binding, in: in, told: true}
		work := []arg{}
		for _, a := range []arg{fromStep(p, "rate of a hand", s.Rate), fromStep(p, "pace of a hand", s.Pace), fromStep(p, "time of each", s.Each), fromStep(p, "setting up", s.Setup)} {
			if a.text != "" {
				work = append(work, a)
			}
		}
		work = append(work, fromJob("hands", int(p.hands(s))))
		n[at+"crew"] = note{name: "crew's time for " + w.Title, value: w.Crew, formula: "what there is to do by the rate of the hands, with setting up", in: work, told: true}
		n[at+"end"] = note{name: "end of " + w.Title, value: w.End, formula: "its start and the crew's time, in shifts, a broadcast with its coat", in: []arg{of("start", at+"start"), of("crew's time", at+"crew")}, told: true}
		m := p.materials[s.Material]
		for _, e := range w.Events {
			if e.At == nil {
				continue
			}
			t := m.Times[e.Event]
			formula := "when the integral of " + t.rate() + " from the work on comes to 1 " + t.by()
			in := []arg{of("end of the work", at+"end"), {name: words(e.Event) + " of the sheet", text: t.text(), origin: t.Origin, file: m.fileOf(t.Origin)}}
			if slices.Contains(afterWet, e.Event) && m.Times[TackFree].Humid != nil {
				formula += ", not before it is tack-free in that humidity"
				in = append(in, of("tack free", at+TackFree))
			}
			n[at+e.Event] = note{name: words(e.Event) + " of " + w.Title, value: *e.At, formula: formula, in: in, told: true}
		}
	}
}
