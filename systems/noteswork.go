package systems

import (
	"fmt"
	"slices"
	"strconv"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// readings are a series of the weather as an input.
func (p *planner) readings(name string, s Series) arg {
	a := arg{name: name, text: fmt.Sprintf("%d readings", len(s)), origin: Origin{Basis: FromJob}}
	if p.j.Site != nil {
		a.origin.Note = "of the job, or of the forecast of its space (climate.Room)"
	}
	return a
}

// weatherNote notes what the weather is at a moment, or what follows from it.
func (p *planner) weatherNote(name string, value any, formula string, at time.Duration, figure func(conditions) float64) note {
	return note{name: name, value: value, formula: formula, in: []arg{
		{name: "moment", value: p.j.Start.Add(at), origin: Origin{Basis: FromJob, Note: "by the schedule"}},
		p.readings("slab", p.j.Weather.Slab), p.readings("air", p.j.Weather.Air), p.readings("humidity", p.j.Weather.RH)},
		by: func(map[string]float64) (float64, error) { return figure(p.weather(at)), nil }}
}

const onLine = "on the line between the readings before and after"

// noteWork notes the weather at the start of each piece of work, and the days
// of the whole.
func (p *planner) noteWork(n notes) {
	var ends []arg
	reached := map[string][]arg{}
	for i := range p.o.Schedule {
		w := &p.o.Schedule[i]
		at, start := workPath(w), p.done[spot{w.Step, w.Section}].start
		of := " at the start of " + w.Title
		n[at+"slab_at_start"] = p.weatherNote("slab"+of, w.Slab, onLine, start, func(c conditions) float64 { return c.slab })
		n[at+"air_at_start"] = p.weatherNote("air"+of, w.Air, onLine, start, func(c conditions) float64 { return c.air })
		n[at+"rh_at_start"] = p.weatherNote("humidity"+of, w.RH, onLine, start, func(c conditions) float64 { return c.rh })
		n[at+"margin_at_start"] = p.weatherNote("margin"+of, w.Margin, "slab - dew point of the air (climate.DewPoint)", start, func(c conditions) float64 { return c.slab - c.dew })
		n[at+"section"] = note{name: "section", value: w.Section, formula: "the parts that the floor is coated in, counted in their order; none of work on the whole floor",
			in: []arg{{name: "sections", value: p.o.Sections, origin: Origin{Basis: FromJob, Note: "given, or as many as the shifts need"}}}, told: true}
		end := arg{name: "end of " + w.Title, path: at + "end"}
		if w.Section > 0 {
			end.name += fmt.Sprintf(", section %d", w.Section)
		}
		ends = append(ends, end)
		for _, e := range w.Events {
			if e.At != nil && (e.Event == Foot || e.Event == Service) {
				reached[e.Event] = append(reached[e.Event], arg{name: e.Event + end.name[len("end"):], path: at + e.Event})
			}
		}
	}
	n["start"] = note{given: &arg{name: "start of the job", value: p.o.Start, origin: Origin{Basis: FromJob}}, value: p.o.Start}
	if p.o.Now != nil {
		n["now"] = note{given: ptr(fromJob("now", *p.o.Now)), value: *p.o.Now}
	}
	hands := fromJob("hands", p.j.Crew.Hands)
	n["sections"] = note{name: "sections", value: p.o.Sections, formula: "as the job gives them, or as few as let the crew lay the slowest coat of one in a shift", in: []arg{hands, fromJob("shift", units.Span(p.j.Crew.To-p.j.Crew.From))}, told: true}
	if len(ends) == 0 {
		ends = []arg{fromJob("start of the job", p.o.Start)}
	}
	n["end"] = note{name: "end of the work", value: p.o.End, formula: "the last of the ends", in: ends, told: true}
	for event, at := range map[string]*time.Time{Foot: p.o.Foot, Service: p.o.Service} {
		if at != nil {
			n[event] = note{name: words(event) + " on all of it", value: *at, formula: "the last of what was placed to reach it, not before the last work ends", in: append(reached[event], of("end of the work", "end")), told: true}
		}
	}
}

// noteParts notes what an amount of a mixed liquid takes of each part.
func noteParts(n notes, at string, m *Material, lines []PartLine, amount arg, dose *arg) {
	in := []arg{amount}
	if dose != nil {
		in = append(in, *dose)
	}
	for _, key := range m.parts {
		in = append(in, fromMaterial(m, "density of "+m.Parts[key].Name, m.Parts[key].Density))
	}
	for i, line := range lines {
		split := func(figure func(PartLine) float64) func(map[string]float64) (float64, error) {
			return func(x map[string]float64) (float64, error) {
				mixed := m
				if dose != nil {
					mixed = m.dosed(units.Fraction(x[dose.name]))
				}
				all, err := parts(mixed, units.Volume(x[amount.name]))
				if err != nil {
					return 0, err
				}
				return figure(all[i]), nil
			}
		}
		words := "of the amount in the ratio " + m.Mix + " by " + m.MixBy + " (coverage.Mix)"
		if dose != nil {
			words += ", and of " + m.Parts[m.Dose.Part].Name + " the dose by mass of the others"
		}
		key := at + strconv.Itoa(i)
		n[key+".volume"] = note{name: "volume of " + line.Name, value: line.Volume, formula: words, in: in, by: split(func(l PartLine) float64 { return float64(l.Volume) })}
		n[key+".mass"] = note{name: "mass of " + line.Name, value: line.Mass, formula: words, in: in, by: split(func(l PartLine) float64 { return float64(l.Mass) })}
	}
}

// noteAmounts notes the parts of needs and batches, and what remains of a need
// that other notes do not have.
func (p *planner) noteAmounts(n notes) {
	for _, need := range p.o.TakeOff {
		id, at := need.Step, "steps."+need.Step+"."
		s, m := p.step(id), p.material(id)
		var dose *arg
		if need.Batches != nil && need.Batches.Dose != nil {
			dose = p.noteDose(n, at, m, &need)
		}
		if _, ok := n[at+"gross"]; ok {
			noteParts(n, at+"parts.", m, need.Parts, of("need", at+"gross"), dose)
		}
		if b := need.Batches; b != nil {
			noteParts(n, at+"batches.parts.", m, b.Parts, of("one batch", at+"batch"), dose)
			n[at+"batch_air"] = note{name: "air at which the pot life is shortest", value: b.At, formula: "the air while the step goes on, at the moment at which the pot life is shortest",
				in: []arg{p.readings("air", p.j.Weather.Air)}, told: true}
		}
		if s.Does == Broadcast {
			bed := n[at+"loading"]
			bed.name, bed.value = "share of the grain's height in resin", need.Embedded
			bed.formula += ", and how deep it stands in it"
			bed.by, bed.told = nil, true
			n[at+"embedded"] = bed
		}
		if s.mortar() {
			p.noteMortarArea(n, at, s, &need)
		}
	}
}

// noteDose notes what a step takes of an initiator, and returns the dose.
func (p *planner) noteDose(n notes, at string, m *Material, need *Need) *arg {
	d, key := need.Batches.Dose, at+"batches.dose."
	part := strconv.Itoa(slices.Index(m.parts, m.Dose.Part))
	n[key+"at"] = p.weatherNote("slab at the start of "+need.Title, d.At, onLine, p.firstStart(need.Step), func(c conditions) float64 { return c.slab })
	n[key+"share"] = note{name: "dose of " + d.Part, value: d.Share, formula: "of the material's rows at the slab's temperature, on the line between them", in: []arg{of("slab", key+"at"), {name: "doses of the sheet", text: m.Dose.text(), origin: m.Dose.Origin, file: m.fileOf(m.Dose.Origin)}},
		by: func(x map[string]float64) (float64, error) {
			share, _ := m.Dose.Share(units.Kelvin(x["slab"]))
			return float64(share), nil
		}}
	for name, from := range map[string]string{"each": at + "batches.parts." + part + ".mass", "all": at + "parts." + part + ".mass"} {
		x := note{name: d.Part + " of " + name, formula: "as there", in: []arg{of(d.Part, from)}, by: func(x map[string]float64) (float64, error) { return x[d.Part], nil }}
		if x.value = d.Each; name == "all" {
			x.value = d.All
		}
		n[key+name] = x
	}
	return ptr(of("dose", key+"share"))
}

// noteMortarArea notes what patches, joints or a cove cover.
func (p *planner) noteMortarArea(n notes, at string, s *Step, need *Need) {
	x := note{name: "area", value: need.Area, formula: "area of each by its count, added up"}
	var sum []float64
	add := func(name string, area units.Area, count int) {
		x.in = append(x.in, fromJob("area of "+name, area), fromJob("count of "+name, count))
		sum = append(sum, float64(area)*float64(count))
	}
	switch s.Does {
	case FillPatch:
		for _, w := range p.j.Patches {
			add(w.Name, w.Area, w.Count)
		}
	case FillJoint, FillCrack:
		for _, w := range p.slots(s) {
			add(w.Name, w.Length.Times(w.Width), w.Count)
		}
	case Cove:
		n[at+"area"] = note{name: "area", value: need.Area, formula: "base", in: []arg{of("base", "base")}}
		return
	}
	x.by = func(map[string]float64) (float64, error) {
		all := 0.0
		for _, a := range sum {
			all += a
		}
		return all, nil
	}
	if len(x.in) > 0 {
		n[at+"area"] = x
	}
}

// noteLayers notes the floors, and the height of the floor after each layer.
func (p *planner) noteLayers(n notes) {
	for _, a := range p.o.Areas {
		n["areas."+a.Name+".floor"] = note{given: ptr(fromJob("floor of "+a.Name, a.Floor)), value: a.Floor}
	}
	var before []arg
	formula := ""
	for _, l := range p.o.Build {
		if formula != "" {
			formula += " + "
		}
		formula += "layer of " + l.Step
		before = append(before[:len(before):len(before)], of("layer of "+l.Step, "steps."+l.Step+".adds"))
		n["build."+l.Step+".total"] = note{name: "build up to " + l.Title, value: l.Total, formula: formula, in: before}
	}
}

func ptr[T any](x T) *T { return &x }
