package systems

import (
	"context"
	"errors"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// A Decision is the best plan among those that a [Goal] leaves to choose from,
// and what else there is to know of them. It marshals to JSON.
type Decision struct {
	Goal     string       `json:"goal"`
	HandOver string       `json:"hand_over"`
	Start    time.Time    `json:"start"` // of the work, not before
	Heat     HeatChoice   `json:"heat"`
	Coats    []CoatChoice `json:"coats"`

	Score    Score      `json:"score"`              // what its plan gives
	Burned   []Burn     `json:"burned,omitempty"`   // by heater, until hand-over
	Cost     []CostLine `json:"cost,omitempty"`     // of the goal least cost, as are the next two
	Currency string     `json:"currency,omitempty"` // as the job names it
	Digits   int        `json:"digits,omitempty"`   // of its minor unit
	Optimal  bool       `json:"optimal"`            // proved: no other choice's plan is better
	Searched bool       `json:"searched"`           // proved: no other is better than the search's first, without the water of coats and slab, and the cost without what the search leaves out

	// Where it is not optimal: what another choice could give at most, in the order
	// of the goal (fields behind the first that is better say nothing), the same in
	// words, and whether that is one that gives water to the space's air.
	Bound      *Score `json:"bound,omitempty"`
	Gap        string `json:"gap,omitempty"`
	GapOfWater bool   `json:"gap_of_water,omitempty"`

	// Weighed are the choices that were planned with what the search does not
	// count, in the order of what it took them for. The decision is the best of
	// them and of all that it counts to the end.
	Weighed []Weighed `json:"weighed,omitempty"`

	Ways   float64 `json:"ways"`             // how many choices there are
	States int     `json:"states,omitempty"` // looked at, in one section
	Plans  int     `json:"plans,omitempty"`  // made, in several
	Spaces int     `json:"spaces,omitempty"` // with the water of how a choice begins, searched to the end

	Others      []Other      `json:"others,omitempty"`      // the best with each other material
	Heats       []HeatScore  `json:"heats,omitempty"`       // the best with each way to heat
	Relaxations []Relaxation `json:"relaxations,omitempty"` // where every plan has a Stop: what would leave one without

	// Changed says in what the plan differs from what the search took it for, which
	// counts no water that coats and slab give to the room, and for least cost no
	// batches, overtime and waiting.
	Changed []string `json:"changed,omitempty"`
	// Uncounted are the findings to stop for of the heat that begin after the
	// floor is handed over: the heat is off then, though the plan goes on with it.
	Uncounted []Finding `json:"uncounted,omitempty"`

	Keys    string   `json:"keys"` // of the job file, as TOML: in place of those that it has
	Text    []string `json:"text"` // in plain words, in SI; see Sentences
	Outcome *Outcome `json:"outcome"`
	Job     Job      `json:"-"` // as decided: Plan makes Outcome of it again

	prices *Prices // of the goal least cost
	counts bool    // there are choices that the search counts fully
}

// A CoatChoice is what a decision takes for one coat.
type CoatChoice struct {
	Step      string     `json:"step"`
	Title     string     `json:"title"`
	Option    string     `json:"option"` // [OwnMaterial] or the key of the recipe's option
	Material  string     `json:"material"`
	Name      string     `json:"name"`
	Start     *time.Time `json:"start"`                // of the first section; nil if it is not planned
	NotBefore *time.Time `json:"not_before,omitempty"` // it is held back until then by the decision
}

// A Score is how good a plan is.
type Score struct {
	Whole    bool          `json:"whole"`     // all work is planned
	HandOver *time.Time    `json:"hand_over"` // nil if it never is
	Stops    int           `json:"stops"`
	Watches  int           `json:"watches"`
	Fuel     *units.Energy `json:"fuel,omitempty"` // taken in by the heaters until hand-over, on the higher heating value; nil without a room
	Cost     *int64        `json:"cost,omitempty"` // minor units
}

// A Burn is what a heater burns until the floor is handed over.
type Burn struct {
	Heater string       `json:"heater"`
	Fuel   string       `json:"fuel"` // in words; "" for electric
	Mass   units.Mass   `json:"mass"`
	Energy units.Energy `json:"energy"` // on the higher heating value
}

// A Weighed is a choice that was planned with all that a plan counts.
type Weighed struct {
	HeatChoice
	Start   time.Time         `json:"start"`   // of the work, not before
	Options map[string]string `json:"options"` // by coat, as of [CoatChoice]
	Search  Score             `json:"search"`  // what the search took it for
	Score   Score             `json:"score"`   // what its plan gives
}

// An Other is the best plan with another material for one coat, of those known.
type Other struct {
	Step     string `json:"step"`
	Option   string `json:"option"`
	Name     string `json:"name"`
	Score    Score  `json:"score"`
	Estimate bool   `json:"estimate,omitempty"` // as the search takes it: it gives water, or has costs, that are not counted
}

// A HeatScore is the best plan with one way to heat, of those known.
type HeatScore struct {
	HeatChoice
	Score    Score `json:"score"`
	Estimate bool  `json:"estimate,omitempty"` // as of [Other]
}

// Decide looks for the best plan of a job: a material for each coat among those
// that the recipe offers and the goal allows, times until which coats are held
// back, a start of the work and a way to heat.
//
// The best plan is, in this order, one that hands the floor over at all, has the
// fewest findings to stop for, is best by the goal, hands over earliest, takes
// the materials that come first in the recipe (the first coat's first), the
// job's own heat before others by name, the earlier start of the work, and the
// earlier starts of the coats. Findings of the heat count that begin before the
// floor is handed over, and so does the fuel: from the job's start, at which the
// forecast begins, until the hand-over, when the heat is off; after the
// forecast's end it is taken to burn on as on its last day. The goal fewest
// findings counts those to stop for and then those to watch.
//
// Where the job says what time it is now, what was begun stays as it is: coats not
// begun are decided, to start from now on, and thermostats and refills hold from
// then on.
//
// Least cost goes by the job's prices, line by line as package money bills a plan,
// and what has none is an error that names it.
//
// A floor coated in one section is searched to the end, forward over its steps
// (see forward in this package): the decision is optimal on the grid. One coated
// in several, or with more states than Goal.Nodes, is searched over whole plans
// with a proved bound, and where Goal.Nodes of them do not settle it the decision
// says how much better another choice could be at most. Both use the planner's
// own rules for each step.
//
// Both leave out the water that coats and slab give to the space's air, and of the
// cost overtime, hands that wait, and what more batches than one leave in their
// buckets, all of which hang on when the coats are laid. So the best choices of the
// search, that with each combination of materials in each way to heat, are
// planned anew with all that [Plan] counts, up to eight of them in the search's
// order, and the best is taken by what these plans give. What the search says of
// a choice without such water is exact; of one with it, it bounds nothing, for
// water may help. Of a floor in one section, for the goals earliest and least fuel,
// those with water are then looked at too, where it is the slab's or that of the
// first coat: each is bounded between the driest and the dampest space that it can
// have, and what is not shut out so is searched to its end in the very space that
// its beginning leaves (see extremes, between and within in this package), with all
// times of the grid. The decision is called optimal only where bounds that hold for
// all plans prove it, those with water too; else Gap says how much better another
// could be at most, and Searched whether what the search counts was proved.
//
// Where the plan has findings to stop for, Relaxations says what would leave one
// without: each kind of change is tried in growing size, by the same search, and a
// change is told only if a plan with all that it counts has none then.
//
// Everything runs in the caller's goroutine; a cancelled ctx ends it with its
// error. Errors name the field of the goal or the job that is wrong.
func Decide(ctx context.Context, job Job, goal Goal) (*Decision, error) {
	if job.catalog == nil || len(job.Recipe.order) == 0 || len(job.Areas) == 0 || len(job.Weather.Slab) == 0 {
		return nil, errors.New("systems.Decide: the job was not read by ReadJob")
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	goal, err := goal.filled(&job)
	if err != nil {
		return nil, err
	}
	pr, err := newProblem(ctx, &job, goal)
	if err != nil {
		return nil, err
	}
	r, err := pr.solve()
	if err != nil {
		return nil, err
	}
	d, err := pr.decision(r)
	if err != nil {
		return nil, err
	}
	if (d.Score.Stops > 0 || d.Score.HandOver == nil) && !goal.NoRelax {
		if d.Relaxations, err = pr.relax(d); err != nil {
			return nil, err
		}
	}
	d.Text = d.Sentences(units.SI)
	return d, nil
}

// A result is what a search found. It counts no water that coats or slab give to
// the space's air, and of least cost no lines that hang on the hours of the day.
type result struct {
	best    *value   // of all
	open    *value   // the bound of what was left out, or nil
	dryOpen *value   // likewise, of the combos that give no water
	by      []*value // best by class, or nil
	forward bool
}

// solve searches a problem.
func (pr *problem) solve() (*result, error) {
	r := &result{by: make([]*value, len(pr.combos)*len(pr.heats)), forward: true}
	if pr.sections > 1 {
		return pr.solveByPlans(r)
	}
	for heat := range pr.heats {
		for start := range pr.starts {
			err := pr.forward(heat, start, r.by)
			if errors.Is(err, errTooLarge) {
				return pr.solveByPlans(r)
			}
			if err != nil {
				return nil, err
			}
		}
		pr.heats[heat].cells = nil // as large as all the rest
	}
	for _, v := range r.by {
		if v != nil && (r.best == nil || v.less(r.best)) {
			r.best = v
		}
	}
	return r, nil
}

// solveByPlans searches over whole plans, those that give no water to the air
// first: what is left out because another is better must not hang on water that
// was not counted.
func (pr *problem) solveByPlans(r *result) (*result, error) {
	r.by, r.forward = make([]*value, len(r.by)), false
	for _, wet := range []bool{false, true} {
		b := &branch{problem: pr, by: r.by, before: pr.nodes, only: func(c *combo) bool { return c.wet == wet }}
		if wet && pr.clear && r.best != nil && r.best.rank == 0 && r.best.stops == 0 {
			break
		}
		if err := b.search(); err != nil {
			return nil, err
		}
		if b.best != nil && (r.best == nil || b.best.less(r.best)) {
			r.best = b.best
		}
		if b.open != nil && (r.open == nil || b.open.less(r.open)) {
			r.open = b.open
		}
		if !wet && b.open != nil && (b.best == nil || b.open.less(b.best)) {
			r.dryOpen = b.open
		}
	}
	if r.open != nil && (r.best == nil || !r.open.less(r.best)) {
		r.open = nil
	}
	return r, nil
}
