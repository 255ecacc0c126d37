package confidence

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

// A factor is one thing that scatters: one column of the Latin hypercube, of
// standard normal scores. A group is what a reader calls several alike.
type factor struct {
	group string // "film", "waste" ...
	where string // step, or "" of the whole job
}

// A term is a factor on an amount: its score is its own column's, or with what
// the job's steps share in it sqrt(shared) z0 + sqrt(1 - shared) z.
type term struct {
	of         spread
	own, joint int // columns; joint -1: nothing is shared
	a, b       float64
}

// A step is one taking, as the draws compute it again. All volumes are in m3,
// masses in kg, as planned.
type step struct {
	taking *systems.Taking
	line   int // of the order, for the liquid or the grain
	sand   int // of the order, for the filler; -1: none

	film, profile, uptake, fill, waste float64 // planned; film with edges and faces, waste per net
	texture                            float64 // of a crust, measured
	tools, residue, batch              float64 // held by tools; left in the bucket of each batch; the most that is mixed at once
	parts                              int     // sections that are mixed for on their own
	whole                              bool    // each batch is a kit
	voids                              float64
	sandPer                            float64 // kg by m3 of gross
	filmTerm, profileTerm, uptakeTerm  int     // indices of terms; -1: none
	voidsTerm, wasteTerm               int
	fillTerms                          []int

	told, took float64 // share that is done, and what that took, m3 or kg

	fills   int     // step whose open voids it fills; -1: none
	open    float64 // planned open voids of that, m
	perOpen float64 // m3 by m of open voids

	into                int     // broadcast: coat it falls into; -1: not one
	area                float64 //
	loose               float64 // thrown that does not stay, by what does
	usable              float64 // of the loose grain, what is thrown again
	heldTerm, looseTerm int
	sections            int
}

// A line is one material of the order.
type line struct {
	*systems.OrderLine
	unit    float64      // m3 or kg of the smallest kit, or a bag
	sizes   int          // of kits
	planned float64      // need of the plan
	bought  float64      // what the plan's kits or bags hold
	whole   bool         // kits are mixed whole
	factors map[int]bool // columns that it hangs on
}

type model struct {
	factors []factor
	terms   []term
	steps   []step
	lines   []line
	hours   int // terms; -1: none
	fuel    int

	tables []*table
	wide   widest

	used  []Used
	notes []string
}

// build takes a plan apart into what scatters and what follows from it.
func build(o *systems.Outcome, w *systems.Working, opt *Options) (*model, error) {
	m := &model{}
	past := map[string][]float64{}
	farthest := map[string]systems.PastUse{} // from the plan, of the past jobs by scatter
	for _, x := range append(append([]systems.PastUse{}, w.Past...), opt.Past...) {
		if !(x.Ratio >= 0.05 && x.Ratio <= 20) {
			return nil, fmt.Errorf("past job %q, %s: ratio = %v: want 5 %% to 2000 %%", x.Job, x.Scatter, x.Ratio)
		}
		if _, err := w.Scatter(x.Scatter); err != nil {
			return nil, fmt.Errorf("past job %q: %w", x.Job, err)
		}
		past[x.Scatter] = append(past[x.Scatter], float64(x.Ratio))
		if old, ok := farthest[x.Scatter]; !ok || math.Abs(math.Log(float64(x.Ratio))) > math.Abs(math.Log(float64(old.Ratio))) {
			farthest[x.Scatter] = x
		}
	}
	index := map[string]int{}
	for i := range o.Order {
		l := &o.Order[i]
		index[l.Material] = i
		x := line{OrderLine: l, planned: float64(l.Volume), factors: map[int]bool{}}
		if l.UnitVolume == 0 {
			x.unit, x.sizes, x.planned, x.bought = float64(l.UnitMass), 1, float64(l.Mass), float64(l.UnitMass)*float64(l.Units)
		} else {
			kits := w.Kits(l.Material)
			x.unit, x.sizes, x.bought = float64(kits[len(kits)-1].Volume), len(kits), held(l.Kits)
		}
		m.lines = append(m.lines, x)
	}
	at := map[string]int{}
	count := map[string]int{} // steps that a scatter is for
	for i := range w.Takings {
		t := &w.Takings[i]
		at[t.Need.Step] = i
		if t.Step.Does == systems.Coat {
			count["film"]++
		}
		if t.Need.Waste+t.Need.Tools+t.Need.Residue > 0 {
			count[systems.ScatterWaste]++
		}
	}
	dists := map[string]spread{}
	dist := func(id string) (spread, *systems.Scatter, error) {
		s, err := w.Scatter(id)
		if err != nil {
			return nil, nil, err
		}
		if d, ok := dists[id]; ok {
			return d, &s, nil
		}
		d, err := spreadOf(&s)
		if err != nil {
			return nil, nil, err
		}
		d, own := predicted(&s, d, past[id])
		dists[id] = d
		switch x := d.(type) {
		case *table:
			m.tables = append(m.tables, x)
		case student:
			m.tables = append(m.tables, x.t)
		}
		u := Used{Scatter: s, File: s.File(), Jobs: len(past[id])}
		if !own && u.Jobs > 0 {
			m.notes = append(m.notes, fmt.Sprintf("One past job of %s alone says nothing of scatter, and its class is worth no job: it is not used.", id))
			u.Jobs = 0
		}
		m.used = append(m.used, u)
		return d, &s, nil
	}
	joint := map[string]int{} // column that the steps of a group share
	column := func(group, where string) int {
		m.factors = append(m.factors, factor{group, where})
		return len(m.factors) - 1
	}
	var err error
	add := func(id, group, where string) int {
		d, s, e := dist(id)
		if e != nil {
			err = e
			return -1
		}
		if _, still := d.(always); still {
			m.terms = append(m.terms, term{of: d, own: -1, joint: -1})
			return len(m.terms) - 1
		}
		t := term{of: d, joint: -1, a: 0, b: 1}
		if s.Shared > 0 && count[group] > 1 {
			if _, ok := joint[group]; !ok {
				joint[group] = column(group, "")
			}
			t.joint, t.a, t.b = joint[group], math.Sqrt(float64(s.Shared)), math.Sqrt(1-float64(s.Shared))
		}
		if t.b > 0 {
			t.own = column(group, where)
		} else {
			t.own = -1
		}
		m.terms = append(m.terms, t)
		return len(m.terms) - 1
	}
	for i := range w.Takings {
		t := &w.Takings[i]
		n, id := &t.Need, t.Need.Step
		s := step{taking: t, line: index[n.Material], sand: -1, fills: -1, into: -1, sections: o.Sections,
			film: float64(n.Film + n.Edges + n.Faces), texture: float64(n.Texture), tools: float64(n.Tools), batch: float64(t.Batch), parts: 1, whole: t.Material.Whole,
			profile: float64(n.Profile), uptake: float64(n.Uptake), fill: float64(n.Fill), voids: float64(n.Voids),
			filmTerm: -1, profileTerm: -1, uptakeTerm: -1, voidsTerm: -1, wasteTerm: -1, heldTerm: -1, looseTerm: -1}
		if n.Batches != nil && n.Batches.N > 0 {
			s.residue = float64(n.Residue) / float64(n.Batches.N)
			m.lines[s.line].whole = s.whole
		}
		if n.Gross > n.Waste && n.Waste+n.Tools+n.Residue > 0 {
			s.waste = float64(n.Waste / (n.Gross - n.Waste))
			s.wasteTerm = add(systems.ScatterWaste, systems.ScatterWaste, id)
		}
		if n.Sand > 0 && t.Sand != nil {
			s.sand, s.sandPer = index[t.Sand.ID+"@"+t.Sand.Version], float64(n.Sand)/float64(n.Gross)
		}
		switch took := t.Took.(type) {
		case units.Volume:
			s.told, s.took = float64(t.Told), float64(took)
		case units.Mass:
			s.told, s.took = float64(t.Told), float64(took)
		}
		if s.told > 0 {
			m.notes = append(m.notes, fmt.Sprintf("What the step %s took is told by the job: it does not scatter.", id))
		}
		switch t.Step.Does {
		case systems.Coat:
			s.parts = o.Sections
			s.filmTerm = add(systems.FilmOf(t.Method), "film", id)
			if n.Profile > 0 {
				s.profileTerm = add(systems.ScatterProfile, systems.ScatterProfile, id)
			}
			if n.Uptake > 0 {
				s.uptakeTerm = add(systems.ScatterUptake, systems.ScatterUptake, id)
			}
			for _, area := range t.Unknown {
				m.notes = append(m.notes, fmt.Sprintf("Nothing is known of how much area %s drinks: the plan counts none for it, and no scatter either.", area))
			}
			if n.Voids > 0 {
				s.fills = at[crust(w, at, t.Step.Fills)]
			}
			if n.Voids+n.Texture > 0 {
				s.voidsTerm = add(systems.ScatterVoids, systems.ScatterVoids, id)
			}
		case systems.Broadcast:
			s.into = at[t.Step.Into]
			s.area, s.loose, s.usable = float64(n.Area), float64(1/t.Keeps-1), float64(t.Step.Usable.Q)
			s.heldTerm = add(systems.ScatterHeld, systems.ScatterHeld, id)
			if s.loose > 0 {
				s.looseTerm = add(systems.ScatterLoose, systems.ScatterLoose, id)
			}
		case systems.FillPatch:
			s.fillTerms = []int{add(systems.ScatterPatchDepth, systems.ScatterPatchDepth, id), add(systems.ScatterPatchArea, systems.ScatterPatchArea, id)}
		case systems.FillJoint:
			s.fillTerms = []int{add(systems.ScatterJointWidth, systems.ScatterJointWidth, id), add(systems.ScatterJointDepth, systems.ScatterJointDepth, id)}
		case systems.FillCrack:
			s.fillTerms = []int{add(systems.ScatterCrackWidth, systems.ScatterCrackWidth, id), add(systems.ScatterCrackDepth, systems.ScatterCrackDepth, id)}
		case systems.Cove:
			s.fillTerms = []int{add(systems.ScatterCove, systems.ScatterCove, id)}
		}
		if err != nil {
			return nil, fmt.Errorf("step %s: %w", id, err)
		}
		m.steps = append(m.steps, s)
	}
	m.hours, m.fuel = -1, -1
	if slices.ContainsFunc(w.Stints, func(s systems.Stint) bool { return !s.Done }) {
		m.hours = add(systems.ScatterHours, systems.ScatterHours, "")
	}
	if len(w.Fuels) > 0 {
		m.fuel = add(systems.ScatterFuel, systems.ScatterFuel, "")
	}
	if err != nil {
		return nil, err
	}
	if len(m.factors) == 0 {
		return nil, fmt.Errorf("nothing in this plan scatters: want a job that takes material")
	}
	for i := range m.steps {
		if err := m.voidsOf(&m.steps[i]); err != nil {
			return nil, fmt.Errorf("step %s: %w", m.steps[i].taking.Need.Step, err)
		}
	}
	m.hangs()
	var idle []string
	for id := range past {
		if dists[id] == nil {
			idle = append(idle, id)
		}
	}
	if slices.Sort(idle); len(idle) > 0 {
		m.notes = append(m.notes, fmt.Sprintf("Nothing in this plan scatters by %s: its past jobs count for nothing here.", strings.Join(idle, ", ")))
	}
	for id, d := range dists {
		if w := width(d); len(past[id]) > 0 && (w > m.wide.width || w == m.wide.width && id < m.wide.id) {
			m.wide = widest{id, w, len(past[id]), farthest[id]}
		}
	}
	return m, m.check()
}

// A widest is the scatter that the contractor's own jobs leave the widest.
type widest struct {
	id    string
	width float64
	jobs  int
	far   systems.PastUse // the one farthest from its plan
}

// width is by how much a factor is larger in one job of a thousand than in the
// middle.
func width(d spread) float64 { return d.at(distuv.UnitNormal.Quantile(0.999)) / d.at(0) }

// far says of an amount that no draw should come to where that may come from.
func (m *model) far(err error) error {
	if err == nil || m.wide.jobs == 0 || m.wide.width < 5 || errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	apart := fmt.Sprintf("past jobs of %s, %d in number, are so far apart", m.wide.id, m.wide.jobs)
	if m.wide.jobs == 1 {
		apart = fmt.Sprintf("the past job of %s is so far from what is usual", m.wide.id)
	}
	return fmt.Errorf("%w (%s that one job of a thousand comes to %.3g times the middle; farthest from its plan is past job %q, used %.4g times what was planned: look at its amounts, or give more jobs that agree)",
		err, apart, m.wide.width, m.wide.far.Job, float64(m.wide.far.Ratio))
}

// crust follows a grout over a grout down to what it fills: a broadcast, or a
// starved mortar. What the one before left goes with the open voids there.
func crust(w *systems.Working, at map[string]int, id string) string {
	for s := &w.Takings[at[id]].Step; s.Does == systems.Coat && s.Sand == "" && s.Fills != ""; s = &w.Takings[at[id]].Step {
		id = s.Fills
	}
	return id
}

// voidsOf works out how a grout's need hangs on the open voids below it.
func (m *model) voidsOf(s *step) error {
	if s.fills < 0 {
		return nil
	}
	below := &m.steps[s.fills]
	if below.into < 0 { // a starved mortar: its voids go with its thickness
		s.open, s.perOpen = 1, s.voids
		return nil
	}
	bed, err := below.taking.Bed(m.steps[below.into].taking.Need.Wet)
	if err != nil {
		return err
	}
	if bed.Open <= 0 {
		s.fills = -1
		return nil
	}
	s.open, s.perOpen = float64(bed.Open), s.voids/float64(bed.Open)
	return nil
}

// hangs notes which columns each line of the order hangs on.
func (m *model) hangs() {
	mark := func(s *step, factors map[int]bool, terms ...int) {
		for _, t := range terms {
			if t < 0 {
				continue
			}
			for _, c := range []int{m.terms[t].own, m.terms[t].joint} {
				if c >= 0 {
					factors[c] = true
				}
			}
		}
	}
	for i := range m.steps {
		s := &m.steps[i]
		if s.told == 1 {
			continue
		}
		f := map[int]bool{}
		mark(s, f, s.filmTerm, s.profileTerm, s.uptakeTerm, s.voidsTerm, s.wasteTerm, s.heldTerm, s.looseTerm)
		mark(s, f, s.fillTerms...)
		if s.fills >= 0 {
			below := &m.steps[s.fills]
			mark(below, f, below.filmTerm)
			if below.into >= 0 {
				mark(below, f, m.steps[below.into].filmTerm)
			}
		}
		if s.into >= 0 {
			mark(s, f, m.steps[s.into].filmTerm)
		}
		for c := range f {
			m.lines[s.line].factors[c] = true
			if s.sand >= 0 {
				m.lines[s.sand].factors[c] = true
			}
		}
	}
}

// check sees that the amounts come to the plan's where nothing scatters: the
// draws compute what the plan computed.
func (m *model) check() error {
	r := m.row()
	r.planned = true
	for i := range r.terms {
		r.terms[i] = 1
	}
	if err := m.needs(r); err != nil {
		return err
	}
	for i, l := range m.lines {
		if !(math.Abs(r.need[i]-l.planned) <= 1e-9*l.planned) {
			return fmt.Errorf("%s comes to %g where nothing scatters, and the plan has %g: this version does not know all that the plan counts", l.Material, r.need[i], l.planned)
		}
	}
	return nil
}

// A row is one draw: its factors and what follows from them.
type row struct {
	planned  bool // as if nothing were done
	terms    []float64
	need     []float64 // by line, m3 or kg
	take     []float64 // of kits that are mixed whole, what the batches hold
	vacuumed float64   // kg
	film     []float64 // factor of each step's film
	open     []float64 // open voids of each step, m
}

func (m *model) row() *row {
	return &row{terms: make([]float64, len(m.terms)), need: make([]float64, len(m.lines)), take: make([]float64, len(m.lines)), film: make([]float64, len(m.steps)), open: make([]float64, len(m.steps))}
}

func (r *row) of(t int) float64 {
	if t < 0 {
		return 1
	}
	return r.terms[t]
}

// needs works a draw out: the films first, the grain that each holds, the voids
// that it leaves, what fills them, and the losses on top.
func (m *model) needs(r *row) error {
	clear(r.need)
	clear(r.take)
	r.vacuumed = 0
	for i := range m.steps {
		s := &m.steps[i]
		r.film[i] = r.of(s.filmTerm)
		if s.into >= 0 {
			bed, err := s.taking.Bed(m.steps[s.into].taking.Need.Wet * units.Length(r.film[s.into]))
			if err != nil {
				return fmt.Errorf("step %s, its film at %.3g of the plan's: %w", s.taking.Need.Step, r.film[s.into], err)
			}
			r.open[i] = float64(bed.Open)
			held := float64(bed.Held) * r.of(s.heldTerm) * s.area
			loose := held * s.loose * r.of(s.looseTerm)
			bought, back := s.bought(held, loose)
			if s.told > 0 && !r.planned { // of what was bought for it, what did not stay
				all := s.took + (1-s.told)*bought
				back = max(0, back+all-bought)
				bought = all
			}
			r.need[s.line] += bought
			r.vacuumed += back
			continue
		}
		r.open[i] = r.film[i] // of a starved mortar, in films
		net := s.film*r.film[i] + s.profile*r.of(s.profileTerm) + s.uptake*r.of(s.uptakeTerm) + s.texture*r.of(s.voidsTerm)
		if s.fills >= 0 {
			net += s.perOpen * r.open[s.fills] * r.of(s.voidsTerm)
		}
		if s.fill > 0 {
			fill := s.fill
			for _, t := range s.fillTerms {
				fill *= r.of(t)
			}
			net += fill
		}
		gross, batches, err := s.mixed(net, r.of(s.wasteTerm))
		if err != nil {
			return fmt.Errorf("step %s: %w", s.taking.Need.Step, err)
		}
		take := float64(batches) * s.batch
		if s.told > 0 && !r.planned {
			gross, take = s.took+(1-s.told)*gross, s.took+(1-s.told)*take
		}
		r.need[s.line] += gross
		r.take[s.line] += take
		if s.sand >= 0 {
			r.need[s.sand] += gross * s.sandPer
		}
	}
	return nil
}

// mixed adds to what lies on the floor, net, what never reaches it: what tools and
// buckets hold back and what is spilled of all that, as planned, times one factor.
// It counts the batches: of every section the fewest that hold it. A bucket that
// keeps half of its batch or more is scraped out.
func (s *step) mixed(net, losses float64) (gross float64, batches int, err error) {
	gross = net + losses*(s.tools+s.waste*(net+s.tools))
	if s.residue > 0 || s.whole {
		stays := min(losses*s.residue*(1+s.waste), s.batch/2)
		if batches, err = coverage.Kits(units.Volume(gross/float64(s.parts)), units.Volume(s.batch-stays)); err != nil {
			return 0, 0, err
		}
		batches *= s.parts
		gross += stays * float64(batches)
	}
	return gross, batches, nil
}

// bought returns the grain to buy for what stays and what comes loose, and what
// is left over at the end. Without re-use all that is thrown is bought. With it,
// what is usable of the loose grain of one section is thrown on the next, as
// [aggregate.Reuse] has it for equal sections: the first is thrown new, each
// later one needs what the one before did not give back.
func (s *step) bought(held, loose float64) (bought, left float64) {
	if s.usable == 0 || s.sections < 2 {
		return held + loose, loose
	}
	bought = held + loose - loose*s.usable*float64(s.sections-1)/float64(s.sections)
	return bought, bought - held
}

// held adds up what kits hold, m3.
func held(kits []systems.KitLine) (all float64) {
	for _, k := range kits {
		all += float64(k.Volume) * float64(k.N)
	}
	return all
}
