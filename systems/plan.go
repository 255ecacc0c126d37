package systems

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/tackfree/tackfree/aggregate"
	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// Plan works a job out: take-off, batches, schedule along the temperatures,
// findings, alternatives, order and cautions. In a job with a [room] the coats'
// water and the slab's own moisture act on the air, the slab and the heat, and
// these on the schedule: both are worked out in turn until they fit, with the order of
// sections held where they otherwise would not (see coupled.go for what is counted,
// settle.go for that; findings tell). A plan with findings is still a
// plan; an error means that there is none (a job not made by [ReadJob], or ctx
// cancelled).
func Plan(ctx context.Context, j Job) (*Outcome, error) {
	if ctx == nil {
		return nil, errors.New("systems.Plan: context = nil: want one, context.Background() if it is not to be ended")
	}
	p, err := wholePlan(ctx, &j)
	if err != nil {
		return nil, err
	}
	p.o.why, p.o.job = explainer(&j), p.j
	return p.o, nil
}

// wholePlan works a job out and leaves the run that did it.
func wholePlan(ctx context.Context, j *Job) (*planner, error) {
	p, err := run(ctx, j, nil)
	if err != nil {
		return nil, err
	}
	if err := p.alternatives(ctx); err != nil {
		return nil, err
	}
	if err := p.heat(); err != nil {
		return nil, err
	}
	p.nights()
	if err := p.standing(); err != nil {
		return nil, err
	}
	p.judgeFigures()
	p.markPast()
	p.rank()
	p.provenance()
	p.o.say()
	return p, nil
}

// run makes a plan without its alternatives, in step with what it does to its
// space. above is nil, or the weather as an earlier run over the same job worked
// it out.
func run(ctx context.Context, j *Job, above *sky) (*planner, error) {
	return couple(ctx, j, above, maxRounds, false)
}

// sections makes a plan in the space's weather as it is. Where working on several sections
// at once misses recoat windows it also tries them one by one, and keeps that
// if it misses fewer. above is nil, or that weather worked out.
func sections(ctx context.Context, j *Job, above *sky) (*planner, error) {
	if j.order != nil {
		return runAs(ctx, j, above, j.order.oneByOne)
	}
	p, err := runAs(ctx, j, above, false)
	if err != nil || p.o.Sections == 1 || p.missed() == 0 {
		return p, err
	}
	q, err := runAs(ctx, j, p.sky, true)
	if err == nil && q.missed() < p.missed() {
		return q, nil
	}
	return p, err
}

// missed counts the windows that the plan misses; a step that cannot be
// planned at all misses its own, and so do those behind it, on each section.
func (p *planner) missed() int {
	n := 0
	for _, f := range p.o.Findings {
		if f.Key == "window-missed" || f.Key == "no-longer-wet" {
			n++
		}
	}
	for _, id := range p.j.Recipe.order {
		if _, whole := p.done[spot{id, 0}]; whole || !p.active(id) {
			continue
		}
		for section := 1; section <= p.o.Sections; section++ {
			if _, ok := p.done[spot{id, section}]; !ok {
				n++
			}
		}
	}
	return n
}

func runAs(ctx context.Context, j *Job, above *sky, oneByOne bool) (*planner, error) {
	p, err := begin(ctx, j, above, oneByOne)
	if err != nil {
		return nil, err
	}
	for _, stage := range []func() error{p.geometry, p.link, p.takeOff, p.schedule, p.batches, p.doses, p.grain, p.collect, p.order, p.judge} {
		if err := stage(); err != nil {
			return nil, err
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
	}
	p.rank()
	return p, nil
}

// begin makes a planner that has planned nothing yet.
func begin(ctx context.Context, j *Job, above *sky, oneByOne bool) (*planner, error) {
	if j.catalog == nil || len(j.Recipe.order) == 0 || len(j.Areas) == 0 || len(j.Weather.Slab) == 0 {
		return nil, errors.New("systems.Plan: the job was not read by ReadJob")
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := j.Crew.check(); err != nil {
		return nil, err
	}
	p := &planner{ctx: ctx, j: j, sky: above, oneByOne: oneByOne, needs: map[string]*Need{}, beds: map[string]aggregate.Bed{}, done: map[spot]placed{}, used: map[string]Limit{}}
	if p.sky == nil {
		var margin units.TempDelta
		if err := margin.UnmarshalText([]byte(j.Margin.Value)); err != nil {
			return nil, fmt.Errorf("systems.Plan: margin rule %s: %w", j.Margin.ID, err)
		}
		p.sky = newSky(&j.Weather, margin)
	}
	p.trace = p.sky.slab
	if err := p.index(); err != nil {
		return nil, err
	}
	p.o = &Outcome{
		Job: j.Name, Place: j.Place, Recipe: j.Recipe.ID + "@" + j.Recipe.Version, Title: j.Recipe.Name, Start: j.Start,
		Findings: []Finding{}, Alternatives: []Alternative{}, Data: j.catalog.version, Input: j.input,
	}
	return p, nil
}

// rank puts the gravest findings first.
func (p *planner) rank() {
	slices.SortStableFunc(p.o.Findings, func(a, b Finding) int { return graver(a.Severity, b.Severity) })
}

// A planner holds one run of Plan.
type planner struct {
	*sky
	ctx context.Context // of the one call of Plan
	j   *Job
	o   *Outcome

	steps     map[string]*Step
	materials map[string]*Material     // by the name a step uses
	thrown    map[string][]string      // by coat: the broadcasts into it
	wetInto   map[string][]string      // by coat: the coats laid into it while it is wet
	lags      map[string]time.Duration // by coat: how long after it the last of them begins

	after, before map[string][]link // by step with work: what it waits for, which windows it must meet

	oneByOne bool          // each section to its end before the next is begun
	holds    []hold        // coats that wait for the order that is held
	asked    time.Duration // when the crew is counted, where it is not always as large

	trace climate.Trace // of the slab

	floor, lost, face units.Area   // plan area, what the cove takes of it, the base's face
	faces             units.Area   // other vertical faces
	edge              units.Length // where coats are cut in
	fillet            units.Volume // of the cove
	baseLength        units.Length
	needs             map[string]*Need
	beds              map[string]aggregate.Bed
	done              map[spot]placed
	used              map[string]Limit // limits that the plan compared with, by id
	otherFiles        []FileID         // files that only the alternatives used
}

// index makes what is looked up often: steps are large to copy.
func (p *planner) index() error {
	p.steps, p.materials, p.lags = map[string]*Step{}, p.j.materials, map[string]time.Duration{}
	p.thrown, p.wetInto = map[string][]string{}, map[string][]string{}
	for _, id := range p.j.Recipe.order {
		s := p.j.steps[id]
		if s == nil {
			of := p.j.Recipe.Steps[id]
			s = &of
		}
		p.steps[id] = s
		if s.Does == Broadcast && !p.j.skip[id] {
			p.lags[s.Into] = max(p.lags[s.Into], time.Duration(s.Lag.Q))
			p.thrown[s.Into] = append(p.thrown[s.Into], id)
		}
		if s.Wet {
			for into, event := range s.After {
				if event == Done {
					p.wetInto[into] = append(p.wetInto[into], id)
				}
			}
		}
	}
	p.used[p.j.Margin.ID] = p.j.Margin
	return nil
}

// A spot is one step on one section.
type spot struct {
	step    string
	section int
}

// step returns a step of the recipe, not to be changed.
func (p *planner) step(id string) *Step { return p.steps[id] }

// material returns the material of a step, not to be changed.
func (p *planner) material(id string) *Material { return p.materials[p.steps[id].Material] }

// limit returns a limit of the catalog and notes that the plan used it.
func (p *planner) limit(id string) (Limit, bool) {
	l, ok := p.j.catalog.limits[id]
	if ok {
		p.used[id] = l
	}
	return l, ok
}

func (p *planner) find(f Finding) { p.o.Findings = append(p.o.Findings, f) }

func (p *planner) clock(t time.Duration) *time.Time {
	at := p.j.Start.Add(t.Round(time.Second))
	return &at
}

// active reports whether the step has work on this job.
func (p *planner) active(id string) bool {
	if p.j.skip[id] {
		return false
	}
	switch p.step(id).Does {
	case FillPatch:
		return len(p.j.Patches) > 0
	case FillJoint:
		return len(p.j.Joints) > 0
	case FillCrack:
		return len(p.j.Cracks) > 0
	case Coat:
		return p.step(id).Only == "" || p.face > 0
	case Cove:
		return p.fillet > 0
	case Grind:
		return len(p.j.Grits) > 0
	}
	return true
}

// has reports whether a step that does what has work on this job.
func (p *planner) has(does string) bool {
	return slices.ContainsFunc(p.j.Recipe.order, func(id string) bool { return p.step(id).Does == does && p.active(id) })
}

// provenance lists the data files used, the figures and the cautions.
func (p *planner) provenance() {
	files := map[string]FileID{}
	add := func(f FileID) {
		if f.ID != "" {
			files[f.Kind+f.ID+f.Version+f.Layer] = f
		}
	}
	cautions := map[string]bool{}
	for _, c := range p.j.Recipe.Cautions {
		cautions[c] = true
	}
	add(p.j.Recipe.file)
	for _, f := range p.otherFiles {
		add(f)
	}
	seen := map[string]bool{}
	for _, id := range p.j.Recipe.order {
		if !p.active(id) {
			continue
		}
		s := p.step(id)
		for _, o := range s.figures() {
			p.o.Figures = append(p.o.Figures, Figure{Where: p.o.Recipe + " " + id + " " + o.where, Text: o.text, Origin: o.Origin})
		}
		for _, name := range []string{s.Material, s.Sand} {
			m, ok := p.materials[name]
			if !ok || seen[name] {
				continue
			}
			seen[name] = true
			add(m.file)
			for _, f := range m.bases {
				add(f)
			}
			for _, c := range m.Cautions {
				cautions[c] = true
			}
			for _, o := range m.origins() {
				p.o.Figures = append(p.o.Figures, Figure{Where: m.ID + "@" + m.Version + " " + o.where, Text: o.text, Origin: o.Origin})
			}
		}
	}
	for _, g := range p.j.Grits {
		grit := p.j.catalog.grits[g]
		add(grit.file)
		p.o.Figures = append(p.o.Figures, Figure{Where: "grit " + g + " scratch", Text: grit.Scratch.Text, Origin: grit.Scratch.Origin})
	}
	for _, id := range slices.Sorted(maps.Keys(p.used)) {
		l := p.used[id]
		add(l.file)
		p.o.Figures = append(p.o.Figures, Figure{Where: "limit " + l.ID, Text: l.Value, Origin: Origin{Basis: l.Basis, Source: l.Source, At: l.At, Note: l.Note}})
	}
	if b, ok := p.j.catalog.prep.band(p.o.Thickness); ok && p.j.Profile > 0 {
		add(p.j.catalog.prep.file)
		p.o.Figures = append(p.o.Figures, b.figure())
	}
	if s := p.j.Site; s != nil {
		s.provenance(add, func(where, text string, o Origin) {
			p.o.Figures = append(p.o.Figures, Figure{Where: where, Text: text, Origin: o})
		}, cautions)
	}
	for _, key := range slices.Sorted(maps.Keys(cautions)) {
		p.o.Cautions = append(p.o.Cautions, p.j.catalog.cautions[key])
		add(p.j.catalog.files["caution "+key])
	}
	for _, key := range slices.Sorted(maps.Keys(files)) {
		p.o.Files = append(p.o.Files, files[key])
	}
}

// figures lists the step's own figures.
func (s *Step) figures() []origin {
	var all origins
	all.add("film", s.Film.Text, s.Film.Origin)
	all.add("share", s.Share.Text, s.Share.Origin)
	all.add("ratio", s.Ratio.Text, s.Ratio.Origin)
	all.add("waste", s.Waste.Text, s.Waste.Origin)
	all.add("rate", s.Rate.Text, s.Rate.Origin)
	all.add("pace", s.Pace.Text, s.Pace.Origin)
	all.add("each", s.Each.Text, s.Each.Origin)
	all.add("setup", s.Setup.Text, s.Setup.Origin)
	all.add("lag", s.Lag.Text, s.Lag.Origin)
	all.add("keeps", s.Keeps.Text, s.Keeps.Origin)
	all.add("takes", s.Takes.Text, s.Takes.Origin)
	all.add("face", s.Face.Text, s.Face.Origin)
	all.add("texture", s.Texture.Text, s.Texture.Origin)
	all.add("thinner", s.Thinner.Text, s.Thinner.Origin)
	all.add("lets", s.Lets.Text, s.Lets.Origin)
	all.add("cut", s.Cut.Text, s.Cut.Origin)
	all.add("strip", s.Strip.Text, s.Strip.Origin)
	all.add("hangs", s.Hangs.Text, s.Hangs.Origin)
	all.add("tools", s.Tools.Text, s.Tools.Origin)
	all.add("residue", s.Residue.Text, s.Residue.Origin)
	all.add("usable", s.Usable.Text, s.Usable.Origin)
	return all
}

func title(s *Step, id string) string {
	if s.Title != "" {
		return s.Title
	}
	first, size := utf8.DecodeRuneInString(id)
	return string(unicode.ToUpper(first)) + id[size:]
}
