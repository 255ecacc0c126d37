package systems

import (
	"strings"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// asGiven lists figures as the job states them.
func asGiven(all []given) []arg {
	var in []arg
	for _, g := range all {
		a := arg{name: g.name, text: g.text, origin: Origin{Basis: FromJob}}
		if g.q != nil {
			a.value = g.q
		}
		in = append(in, a)
	}
	return in
}

// noteShapes says how floor, edges and faces of each area follow from its
// shape, and what its concrete takes from the tests of it.
func (p *planner) noteShapes(n notes) {
	var edges, faces []string
	var inEdges, inFaces []arg
	for _, a := range p.j.Areas {
		at := "areas." + a.Name + "."
		in := asGiven(a.given)
		if len(in) == 1 && a.given[0].name == "area" && a.Less == 0 { // given as it is
			in = nil
		} else {
			in = append(in, fromJob("taken off", a.Less))
			n[at+"floor"] = note{name: "floor of " + a.Name, value: a.Floor, formula: "the shape's area less its holes and what is taken off (coverage.TakeOff)", in: in, by: func(x map[string]float64) (float64, error) {
				f, err := coverage.TakeOff(a.Lines)
				return float64(f.Area) - x["taken off"], err
			}}
		}
		if a.Edge > 0 {
			edges, inEdges = append(edges, "edge of "+a.Name), append(inEdges, fromJob("edge of "+a.Name, a.Edge))
			if !a.EdgeGiven && in != nil {
				n[at+"edge"] = note{name: "edge of " + a.Name, value: a.Edge, formula: "the sides of the shape and of its holes (coverage.TakeOff)", in: asGiven(a.given), by: func(map[string]float64) (float64, error) {
					f, err := coverage.TakeOff(a.Lines)
					return float64(f.Edge), err
				}}
				inEdges[len(inEdges)-1] = of("edge of "+a.Name, at+"edge")
			}
		}
		if len(a.sides) > 0 {
			var terms []string
			var in []arg
			for _, s := range a.sides {
				if s.edge == 0 {
					terms, in = append(terms, s.what), append(in, fromJob(s.what, s.area))
					continue
				}
				terms = append(terms, "sides of "+s.what+" * height of "+s.what)
				in = append(in, fromJob("sides of "+s.what, s.edge), fromJob("height of "+s.what, s.height))
			}
			n[at+"faces"] = note{name: "vertical faces of " + a.Name, value: a.Faces, formula: strings.Join(terms, " + "), in: in}
			faces, inFaces = append(faces, "faces of "+a.Name), append(inFaces, of("faces of "+a.Name, at+"faces"))
		}
		if len(a.uptakeOf) > 0 {
			x := note{name: "uptake of " + a.Name, value: a.Uptake, formula: "porosity * penetration", in: asGiven(a.uptakeOf)}
			if a.uptakeOf[0].name == "drunk" {
				x.formula = "drunk / test spot * share"
			}
			n[at+"uptake"] = x
		}
		if a.uptakeAs.text != "" {
			as := a.uptakeAs
			n[at+"uptake"] = note{name: as.name, value: a.Uptake, given: &as}
		}
		if len(a.profileOf) > 0 {
			x := note{name: "profile of " + a.Name, value: a.Profile, formula: "height * share", in: asGiven(a.profileOf)}
			if a.profileOf[0].name == "sand" {
				x.formula = "volume of sand over the round patch that it makes (coverage.SandPatch)"
				x.by = func(x map[string]float64) (float64, error) {
					l, err := coverage.SandPatch(units.Volume(x["sand"]), units.Length(x["diameter"]))
					return float64(l), err
				}
			}
			n[at+"profile"] = x
		}
	}
	if len(edges) > 0 {
		n["edge"] = note{name: "edges", value: p.edge, formula: strings.Join(edges, " + "), in: inEdges}
	}
	if len(faces) > 0 {
		n["faces"] = note{name: "vertical faces", value: p.faces, formula: strings.Join(faces, " + "), in: inFaces}
	}
}

// ofArea is a figure of an area: computed from what the job states, or that.
func (n notes) ofArea(what, area string, value any) arg {
	if path := "areas." + area + "." + what; n[path].formula != "" || n[path].given != nil {
		return of(what+" of "+area, path)
	}
	return fromJob(what+" of "+area, value)
}

// noteTold says what a coat takes along edges, on faces and in a measured crust.
func (p *planner) noteTold(n notes, at string, s *Step, m *Material, need *Need) (sum []string, in []arg) {
	solids, thin := fromMaterial(m, "solids", m.Solids), fromStep(p, "thinner", s.Thinner)
	add := func(key, name, formula string, value units.Volume, args ...arg) {
		if value > 0 {
			n[at+key] = note{name: name, value: value, formula: formula, in: args}
			sum, in = append(sum, key), append(in, of(key, at+key))
		}
	}
	add("texture", "in the measured texture of the crust", "texture * area / solids", need.Texture, fromStep(p, "texture", s.Texture), of("area", at+"area"), solids)
	if s.Cut.Given() {
		add("edges", "more along the edges", "length of the edges * strip * more wet film / (1 + thinner)", need.Edges, of("length of the edges", "edge"), fromStep(p, "strip", s.Strip), fromStep(p, "more wet film", s.Cut), thin)
	}
	if s.Hangs.Given() {
		add("faces", "on vertical faces", "film that hangs / solids * vertical faces", need.Faces, fromStep(p, "film that hangs", s.Hangs), solids, of("vertical faces", "faces"))
	}
	return sum, in
}

// noteMixed says what a step takes with its tools, buckets and waste: net is
// the formula of what stays in place. one is the path of what it would take
// with one batch for each section.
func (p *planner) noteMixed(n notes, at string, s *Step, need *Need, net string, in []arg) {
	waste := fromStep(p, "waste", s.Waste)
	if s.Tools.Given() || s.Residue.Given() {
		sections := p.mixings(s)
		n[at+"placed"] = note{name: "in place", value: need.Gross - need.Waste - need.Tools - need.Residue, formula: net, in: in}
		net, in = "placed", []arg{of("placed", at+"placed")}
		single := "placed"
		if s.Tools.Given() {
			n[at+"tools"] = note{name: "held by the tools", value: need.Tools, formula: "tools of a section * sections", in: []arg{fromStep(p, "tools of a section", s.Tools), fromSections(sections)}}
			net, in, single = "(placed + tools)", append(in, of("tools", at+"tools")), "placed + tools"
		}
		if s.Residue.Given() {
			one := (need.Gross - need.Waste - need.Residue + s.Residue.Q*units.Volume(sections)) / units.Volume(1-s.Waste.Q)
			n[at+"single"] = note{name: "need with one batch for each section", value: one, formula: "(" + single + " + residue of a batch * sections) / (1 - waste)",
				in: append(append([]arg{}, in...), fromStep(p, "residue of a batch", s.Residue), fromSections(sections), waste)}
			n[at+"residue"] = note{name: "left in the buckets", value: need.Residue, formula: "residue of a batch * batches", in: []arg{fromStep(p, "residue of a batch", s.Residue), of("batches", at+"batches")}}
			if need.Residue == 0 {
				n[at+"residue"] = note{name: "left in the buckets", value: need.Residue, formula: "none counted: a batch would stay in its bucket", in: []arg{fromStep(p, "residue of a batch", s.Residue)}, by: func(map[string]float64) (float64, error) { return 0, nil }}
			}
			net, in = "("+single+" + residue)", append(in, of("residue", at+"residue"))
		}
	}
	p.noteGross(n, at, s, need, net, in)
	if s.Thinner.Given() {
		n[at+"thinner"] = note{name: "thinner", value: need.Thinner, formula: "need * share of thinner", in: []arg{of("need", at+"gross"), fromStep(p, "share of thinner", s.Thinner)}}
	}
}

// mixings is how many sections a step's liquid is mixed for.
func (p *planner) mixings(s *Step) int {
	if s.Does == Coat {
		return p.o.Sections
	}
	return 1
}

// noteVolatiles says what a coating gives off.
func (p *planner) noteVolatiles(n notes, at string, s *Step, m *Material, need *Need) {
	v := need.Volatiles
	if v == nil {
		return
	}
	in := []arg{of("need", at+"gross"), fromMaterial(m, "compounds", m.VOC)}
	organic := "need * compounds"
	all := "need"
	if s.Thinner.Given() {
		organic, all = organic+" + thinner * compounds of the thinner", "(need + thinner)"
		in = append(in, of("thinner", at+"thinner"), fromStep(p, "compounds of the thinner", s.Lets))
	}
	n[at+"organic"] = note{name: "volatile organic compounds", value: v.Organic, formula: organic, in: in}
	whole := []arg{of("organic", at+"organic"), of("need", at+"gross")}
	if s.Thinner.Given() {
		whole = append(whole, of("thinner", at+"thinner"))
	}
	n[at+"voc"] = note{name: "volatile organic compounds per volume as applied", value: v.Actual, formula: "organic / " + all, in: whole}
	water, exempt := fromMaterial(m, "water", m.Water), fromMaterial(m, "exempt", m.Exempt)
	for _, a := range []*arg{&water, &exempt} {
		if a.text == "" {
			a.origin, a.text = Origin{Basis: CommonPractice, Note: "not given: none"}, "0 %"
		}
	}
	n[at+"voc_less_water"] = note{name: "the same less water and exempt compounds", value: v.LessWater, formula: "organic / (" + strings.Trim(all, "()") + " - need * water - need * exempt)", in: append(whole, water, exempt)}
}

// noteGrain says how long the film takes grain, how much to spread in one go
// and what is bought.
func (p *planner) noteGrain(n notes, at, id string, s *Step, need *Need) {
	n[at+"bought"] = note{name: "bought", value: need.Bought, formula: "thrown", in: []arg{of("thrown", at+"thrown")}}
	if s.Usable.Given() {
		n[at+"bought"] = note{name: "bought", value: need.Bought, formula: "what is thrown, section after section, less what is thrown again (aggregate.Reuse)",
			in: []arg{of("held per area", at+"loading"), of("held", at+"held"), of("thrown", at+"thrown"), of("area", at+"area"), fromSections(p.o.Sections), fromStep(p, "usable", s.Usable)},
			by: func(x map[string]float64) (float64, error) {
				sections := make([]units.Area, int(x["sections"]))
				for i := range sections {
					sections[i] = units.Area(x["area"] / x["sections"])
				}
				b, _, err := aggregate.Reuse{Held: units.Loading(x["held per area"]), Retention: units.Fraction(x["held"] / x["thrown"]), Usable: units.Fraction(x["usable"])}.Bought(sections)
				return float64(b), err
			}}
	}
	if need.Window == 0 {
		return
	}
	into := p.material(s.Into)
	t := into.Times[BroadcastLatest]
	n[at+"window"] = note{name: "the film takes grain for", value: need.Window, formula: "until the integral of " + t.rate() + " from the first and the last spot laid comes to 1, on the section where that is soonest " + t.by(),
		in: []arg{{name: words(BroadcastLatest) + " of the sheet", text: t.text(), origin: t.Origin, file: into.fileOf(t.Origin)}}, told: true}
	if need.AtOnce == 0 {
		return
	}
	hands := fromJob("hands", p.j.Crew.Hands)
	n[at+"at_once"] = note{name: "spread at most in one go", value: need.AtOnce, formula: "two paces, so that grain falls on the last spot within the window (aggregate.Throw); with one pair of hands, which does both in turn, on the first one too",
		in: []arg{of("window", at+"window"), fromStep(p, "rate of spreading", p.step(s.Into).Rate), fromStep(p, "rate of throwing", s.Rate), hands}, by: func(x map[string]float64) (float64, error) {
			w, _ := p.paces(id, s)
			w.Window = need.Window.Duration()
			w.Lead = min(w.Lead, w.Window)
			most, err := w.Most()
			if x["hands"] < 2 {
				most = min(most, w.Spread.For(w.Window))
			}
			return float64(most), err
		}}
}

// noteMarks says what each coat leaves of a scratch.
func (p *planner) noteMarks(n notes) {
	if len(p.o.Marks) == 0 {
		return
	}
	grit := p.j.catalog.grits[p.j.Grits[len(p.j.Grits)-1]]
	below := arg{name: "relief below", value: grit.Scratch.Q, text: grit.Scratch.Text, origin: grit.Scratch.Origin, file: &grit.file}
	for _, m := range p.o.Marks {
		s, path := p.step(m.Step), "marks."+m.Step
		n[path] = note{name: "relief after " + m.Step, value: m.Relief, formula: "relief below * (1 - solids / (1 + thinner))",
			in: []arg{below, fromMaterial(p.material(m.Step), "solids", p.material(m.Step).Solids), fromStep(p, "thinner", s.Thinner)}}
		below = of("relief below", path)
	}
}

// jointFormula says how a joint's filling follows from what the job gives.
func jointFormula(w JointWork) string {
	formula := "length * width * depth"
	switch {
	case w.Form == "v":
		formula = "length * width * depth of a V, half of a square one (coverage.VCut)"
	case w.Rod > 0:
		formula = "length, width and what lies above a round rod (coverage.SawCut)"
	}
	if w.Over > 0 {
		formula += ", with the bead that it is overfilled by (coverage.Bead)"
	}
	return formula
}

// jointGiven lists the sides of a joint.
func jointGiven(w JointWork) []arg {
	in := []arg{fromJob("length", w.Length), fromJob("width", w.Width), fromJob("depth", w.Depth)}
	if w.Rod > 0 {
		in = append(in, fromJob("rod", w.Rod), fromJob("set", w.Set))
	}
	if w.Over > 0 {
		in = append(in, fromJob("over", w.Over), fromJob("lap", w.Lap))
	}
	return in
}

// jointOf is the joint of the inputs that [jointGiven] lists.
func jointOf(form string, x map[string]float64) JointWork {
	l := func(name string) units.Length { return units.Length(x[name]) }
	return JointWork{Form: form, Length: l("length"), Width: l("width"), Depth: l("depth"), Rod: l("rod"), Set: l("set"), Over: l("over"), Lap: l("lap")}
}

// noteGround says what grinding takes off of what was filled proud.
func (p *planner) noteGround(n notes, at string, s *Step, need *Need) {
	if need.Ground == 0 {
		return
	}
	var in []arg
	if s.Does == FillPatch {
		for _, w := range p.j.Patches {
			in = append(in, fromJob("crown of "+w.Name, w.Crown), fromJob("area of "+w.Name, w.Area), fromJob("count of "+w.Name, w.Count))
		}
	} else {
		for _, w := range p.slots(s) {
			in = append(in, fromJob("over of "+w.Name, w.Over), fromJob("lap of "+w.Name, w.Lap), fromJob("length of "+w.Name, w.Length), fromJob("count of "+w.Name, w.Count))
		}
	}
	n[at+"ground"] = note{name: "proud, to be ground off", value: need.Ground, formula: "caps of crowns (coverage.Patch.Ground) and beads of joints (coverage.Bead)", in: in, by: func(x map[string]float64) (float64, error) {
		var sum float64
		for _, w := range p.j.Patches {
			if s.Does == FillPatch {
				v, err := coverage.Patch{Area: units.Area(x["area of "+w.Name]), Crown: units.Length(x["crown of "+w.Name])}.Ground()
				if err != nil {
					return sum, err
				}
				sum += float64(v) * x["count of "+w.Name]
			}
		}
		for _, w := range p.slots(s) {
			if s.Does != FillPatch {
				v, err := coverage.Bead{Length: units.Length(x["length of "+w.Name]), Width: units.Length(x["lap of "+w.Name]), Height: units.Length(x["over of "+w.Name])}.Fill()
				if err != nil {
					return sum, err
				}
				sum += float64(v) * x["count of "+w.Name]
			}
		}
		return sum, nil
	}}
}
