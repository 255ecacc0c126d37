package systems

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// fromLimit is a limit of the catalog as an input.
func fromLimit(l Limit, value any) arg {
	file := l.file
	return arg{name: "limit " + l.ID + " of " + l.Owner, value: value, text: l.Value, origin: Origin{Basis: l.Basis, Source: l.Source, At: l.At, Note: l.Note}, file: &file}
}

// noteFindings notes what each finding found and what is asked there.
func (p *planner) noteFindings(n notes) {
	for i := range p.o.Findings {
		f, at := &p.o.Findings[i], fmt.Sprintf("findings.%d.", i)
		if f.Found.Q != nil {
			x := p.noteFound(n, f)
			x.value = f.Found.Q
			n[at+"found"] = x
		}
		if f.Asked.Q != nil {
			x := p.noteAsked(n, f)
			x.value = f.Asked.Q
			n[at+"asked"] = x
		}
		n[at+"section"] = note{name: "section", value: f.Section, formula: "the section that it is about; none of the whole floor", in: []arg{{name: "sections", value: p.o.Sections, origin: Origin{Basis: FromJob, Note: "given, or as many as the shifts need"}}}, told: true}
		for key, t := range map[string]*time.Time{"when": f.When, "until": f.Until, "worst": f.Worst} {
			if t == nil {
				continue
			}
			x := note{name: key, value: *t, formula: map[string]string{"when": "when it begins", "until": "when it ends, as far as the plan looks", "worst": "when it is worst"}[key] + ", along the schedule and the weather", told: true}
			if path := "steps." + f.Step + ".start"; f.Step != "" && n[path].name != "" {
				x.in = append(x.in, of("start of the step", path))
			}
			x.in = append(x.in, p.readings("slab", p.j.Weather.Slab), p.readings("air", p.j.Weather.Air), p.readings("humidity", p.j.Weather.RH))
			n[at+key] = x
		}
	}
}

// as notes a figure that another note explains.
func (n notes) as(name, path string) (note, bool) {
	_, ok := n[path]
	return note{name: name, formula: "as there", in: []arg{of(name, path)}, by: func(x map[string]float64) (float64, error) { return x[name], nil }}, ok
}

// noteFound says where what a finding found comes from.
func (p *planner) noteFound(n notes, f *Finding) note {
	at := "steps." + f.Step + "."
	when := func(t *time.Time) time.Duration { return t.Sub(p.j.Start) }
	key := strings.TrimSuffix(f.Key, "-before-tack-free")
	if is := slices.IndexFunc(limits[:], func(l struct{ key, words string }) bool { return l.key == key }); is >= 0 && f.Worst != nil && f.Step != "" {
		m := p.material(f.Step)
		at := func(t time.Duration) float64 {
			found, _ := p.amounts(m, is, p.weather(t))
			return si(found)
		}
		return p.weatherNote("found", nil, onLine+", at the worst moment: "+limits[is].words, when(f.Worst), func(conditions) float64 {
			w := when(f.Worst) // to the second
			x, y, z := at(w-time.Second), at(w), at(w+time.Second)
			return min(max(si(f.Found.Q), min(x, y, z)), max(x, y, z))
		})
	}
	for path, keys := range map[string][]string{
		at + "wet":              {"film-too-thin", "film-too-thick"},
		at + "loading":          {"grain-not-held"},
		at + "batches.dose.all": {"dose-beyond-kits"},
		at + "largest_room":     {"pot-life-of-less"},
		"thickness":             {"build-out-of-range", "profile-does-not-fit"},
		"heat.lowest_margin":    {"unvented-heat-damps"},
		"heat.co2":              {"carbon-dioxide"},
	} {
		if slices.Contains(keys, f.Key) {
			if x, ok := n.as("found", path); ok {
				return x
			}
		}
	}
	switch f.Key {
	case "slab-falling":
		return p.weatherNote("found", nil, "slab an hour after the start - slab at the start", when(f.When), func(c conditions) float64 {
			return p.j.Weather.Slab.At(when(f.When)+time.Hour) - c.slab
		})
	case "colder-than-data-sheet":
		return note{name: "found", formula: "the coldest of the slab from the start until tack-free", in: []arg{p.readings("slab", p.j.Weather.Slab)}, told: true}
	case "humidity-beyond-data-sheet":
		words, figure := "vapour of the air over what would saturate it at the slab's temperature (climate.Air.SurfaceRH), at most 100 %", func(c conditions) float64 {
			rh, _ := c.overSlab()
			return float64(rh)
		}
		if f.Event == PotLife {
			words, figure = onLine, func(c conditions) float64 { return c.rh }
		}
		at := when(f.Worst)
		return p.weatherNote("found", nil, words+", at the worst moment", at, func(c conditions) float64 { // the moment is to the second
			x, y, z := figure(p.weather(at-time.Second)), figure(c), figure(p.weather(at+time.Second))
			return min(max(si(f.Found.Q), min(x, y, z)), max(x, y, z))
		})
	case "no-dose-for-temperature":
		return p.weatherNote("found", nil, onLine+", at the start of the step", p.firstStart(f.Step), func(c conditions) float64 { return c.slab })
	case "slab-too-wet":
		return note{given: ptr(fromJob("reading of the slab", f.Found.Q))}
	case "patch-too-deep":
		return note{given: ptr(fromJob("depth of "+f.Limit, f.Found.Q))}
	case "joint-too-young":
		return note{given: ptr(fromJob("age of the slab", f.Found.Q))}
	case "figure-outside-class":
		return note{given: p.sheetFigure(f)}
	case "shift-too-short":
		path := at
		if f.Section > 1 {
			path += fmt.Sprintf("%d.", f.Section)
		}
		if _, ok := n[path+"end"]; ok {
			return note{name: "found", formula: "end - start of the step", in: []arg{of("start", path+"start"), of("end", path+"end")}, told: true}
		}
	case "scratch-telegraphs":
		grit := p.j.catalog.grits[f.Limit]
		scratch := arg{name: "scratch", value: grit.Scratch.Q, text: grit.Scratch.Text, origin: grit.Scratch.Origin, file: &grit.file}
		if x, ok := n.as("found", "marks."+f.Step); ok { // with coats over it
			return x
		}
		return note{name: "found", formula: "scratch", in: []arg{scratch}}
	case "pot-life-too-short":
		m := p.material(f.Step)
		pot := m.Times[PotLife]
		return note{name: "found", formula: "of the table at the air's temperature while the step goes on, to the second", in: []arg{p.readings("air", p.j.Weather.Air), {name: "pot life of the sheet", text: pot.text(), origin: pot.Origin, file: m.fileOf(pot.Origin)}}, told: true}
	case "pot-life-of-less":
		return note{name: "found", formula: "the lesser of the need of a section and the vessel", in: []arg{of("need", at+"gross"), fromMaterial(p.material(f.Step), "vessel", p.material(f.Step).Vessel)}, told: true}
	}
	for _, path := range sortedKeys(n) { // one of the space's: the only other that findings name
		if strings.HasPrefix(path, "heat.") && n[path].value != nil && text(n[path].value) == text(f.Found.Q) {
			if x, ok := n.as("found", path); ok {
				return x
			}
		}
	}
	if p.j.Site != nil {
		return note{name: "found", formula: "of the forecast of the space (climate.Room), the worst from when to until", in: p.site(), told: true}
	}
	return note{name: "found", formula: "of the plan, as the finding's sentence says", in: []arg{p.readings("slab", p.j.Weather.Slab), p.readings("air", p.j.Weather.Air), p.readings("humidity", p.j.Weather.RH)}, told: true}
}

// noteAsked says who asks for what a finding was held against.
func (p *planner) noteAsked(n notes, f *Finding) note {
	if l, ok := p.j.catalog.limits[f.Limit]; ok {
		return note{given: ptr(fromLimit(l, f.Asked.Q))}
	}
	switch f.Key {
	case "patch-too-deep":
		for _, id := range []string{"patch-lift-1in", "patch-lift-fast"} {
			var q units.Length
			if l, ok := p.j.catalog.limits[id]; ok && l.Owner == f.Owner && q.UnmarshalText([]byte(l.Value)) == nil && text(q) == text(f.Asked.Q) {
				return note{given: ptr(fromLimit(l, f.Asked.Q))}
			}
		}
	case "dose-beyond-kits":
		return note{name: "asked", formula: "the initiator in what the step uses of its kits, in the ratio of the mix", in: []arg{of("need", "steps."+f.Step+".gross")}, told: true}
	case "unvented-heat-damps":
		if x, ok := n.as("asked", "heat.vented_margin"); ok {
			return x
		}
	case "build-out-of-range":
		b := p.j.Recipe.Build
		return note{given: &arg{name: "build of the recipe", value: f.Asked.Q, text: b.text(), origin: b.Origin, file: &p.j.Recipe.file}}
	case "scratch-telegraphs":
		return note{given: ptr(fromStep(p, "relief that shows", p.j.Recipe.Relief))}
	case "figure-outside-class":
		return note{name: "asked", formula: "the end of the class's range, or three times its figure for times and films", in: []arg{*p.sheetFigure(f)}, told: true}
	}
	if m, ok := p.materials[p.materialOf(f.Step)]; ok {
		if o, ok := m.originOf(f); ok {
			return note{given: &arg{name: o.where + " of " + m.Name, value: f.Asked.Q, text: o.text, origin: o.Origin, file: m.fileOf(o.Origin)}}
		}
		if s := p.step(f.Step); s.Takes.Given() && f.Key == "grain-not-held" {
			return note{given: ptr(fromStep(p, "takes", s.Takes))}
		}
	}
	return note{given: ptr(fromJob("as the job gives it: "+f.Owner, f.Asked.Q))}
}

func (p *planner) materialOf(step string) string {
	if s := p.step(step); s != nil {
		return s.Material
	}
	return ""
}

// originOf returns the figure of a material that a finding asks for.
func (m *Material) originOf(f *Finding) (origin, bool) {
	where := map[string]string{"slab-too-cold": "surface", "slab-too-hot": "surface", "air-too-cold": "air", "air-too-hot": "air", "air-too-damp": "humidity", "air-too-dry": "humidity",
		"film-too-thin": "film", "film-too-thick": "film", "colder-than-data-sheet": "times." + TackFree, "pot-life-too-short": "mixing", "no-dose-for-temperature": "dose"}[strings.TrimSuffix(f.Key, "-before-tack-free")]
	if t, ok := m.Times[f.Event]; ok && f.Key == "humidity-beyond-data-sheet" {
		return origin{"humidities of " + words(f.Event), t.text(), t.Origin}, true
	}
	if f.Key == "pot-life-of-less" {
		t := m.Times[PotLife]
		return origin{"amount of the pot life", text(t.Amount), t.Origin}, true
	}
	for _, o := range m.origins() {
		if o.where == where {
			return o, true
		}
	}
	return origin{}, false
}

// sheetFigure is the figure of an own sheet that lies far from its class's.
func (p *planner) sheetFigure(f *Finding) *arg {
	of, what, _ := strings.Cut(f.Limit, " ")
	for _, m := range p.materials {
		if m.ID+"@"+m.Version != of {
			continue
		}
		for _, o := range m.origins() {
			if o.where == what || strings.HasPrefix(what, o.where+" ") {
				return &arg{name: f.Limit, value: f.Found.Q, text: text(f.Found.Q), origin: o.Origin, file: m.fileOf(o.Origin)}
			}
		}
	}
	return ptr(fromJob(f.Limit, f.Found.Q))
}

// noteAlternatives notes what another way to do a step would do.
func (p *planner) noteAlternatives(n notes) {
	for i := range p.o.Alternatives {
		a, at := &p.o.Alternatives[i], fmt.Sprintf("alternatives.%d.", i)
		in := []arg{fromJob("start of the job", p.o.Start), p.readings("slab", p.j.Weather.Slab), p.readings("air", p.j.Weather.Air), p.readings("humidity", p.j.Weather.RH)}
		how := map[string]string{
			"material": "the whole job planned again with it in this step",
			"wait":     "the first later start in a shift from which the limits are kept until tack-free",
			"warm":     "the start as planned, on a warmer slab",
		}[a.Way]
		m := p.material(a.Step)
		if a.Way == "material" {
			for _, o := range p.step(a.Step).Options {
				if x, ok := p.materials[o.Material]; ok && x.Name == a.What {
					m = x
				}
			}
		}
		tack := m.Times[m.nearest(TackFree)]
		if len(tack.Table) > 0 {
			in = append(in, arg{name: "tack-free of " + m.Name, text: tack.text(), origin: tack.Origin, file: m.fileOf(tack.Origin)})
		}
		if a.Start != nil {
			n[at+"start"] = note{name: "start of " + a.Step, value: *a.Start, formula: how, in: in, told: true}
		}
		if a.Service != nil {
			n[at+"service"] = note{name: "service", value: *a.Service, formula: how, in: in, told: true}
		}
		if a.Warmer != 0 {
			least := in
			if m.Surface.text() != "" {
				least = append(least, arg{name: "surface of " + m.Name, text: m.Surface.text(), origin: m.Surface.Origin, file: m.fileOf(m.Surface.Origin)})
			}
			least = append(least, fromLimit(p.j.Margin, p.margin))
			n[at+"warmer"] = note{name: "warmer at worst", value: a.Warmer, formula: "the most, from the start until tack-free, by which the slab lacks of its margin above the dew point, of the material's coldest surface and of its coldest row", in: least, told: true}
		}
	}
}
