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

	Score    Score      `json:"score"`
	Burned   []Burn     `json:"burned,omitempty"`   // by heater, until hand-over
	Cost     []CostLine `json:"cost,omitempty"`     // of the goal least cost, as are the next two
	Currency string     `json:"currency,omitempty"` // as the job names it
	Digits   int        `json:"digits,omitempty"`   // of its minor unit
	Optimal  bool       `json:"optimal"`            // proved: no other choice is better
	Bound    *Score     `json:"bound,omitempty"`
	Gap      string     `json:"gap,omitempty"` // in words: how much better another choice could be at most

	Ways   float64 `json:"ways"`             // how many choices there are
	States int     `json:"states,omitempty"` // looked at, in one section
	Plans  int     `json:"plans,omitempty"`  // made, in several

	Others      []Other      `json:"others,omitempty"`      // the best with each other material
	Heats       []HeatScore  `json:"heats,omitempty"`       // the best with each way to heat
	Relaxations []Relaxation `json:"relaxations,omitempty"` // where every plan has a Stop: what would leave one without

	// Changed says in what the plan differs from what the search took it for, which
	// counts no water that the coats give to the room, and for least cost no batches.
	Changed []string `json:"changed,omitempty"`
	// Uncounted are the findings to stop for of the heat that begin after the
	// floor is handed over: the heat is off then, though the plan goes on with it.
	Uncounted []Finding `json:"uncounted,omitempty"`

	Keys    string   `json:"keys"` // of the job file, as TOML: in place of those that it has
	Text    []string `json:"text"` // in plain words, in SI; see Sentences
	Outcome *Outcome `json:"outcome"`
	Job     Job      `json:"-"` // as decided: Plan makes Outcome of it again

	prices *Prices // of the goal least cost
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

// An Other is the best plan with another material for one coat.
type Other struct {
	Step   string `json:"step"`
	Option string `json:"option"`
	Name   string `json:"name"`
	Score  Score  `json:"score"`
}

// A HeatScore is the best plan with one way to heat.
type HeatScore struct {
	HeatChoice
	Score Score `json:"score"`
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
// and what has none is an error that names it. Overtime, hands that wait, and what
// more batches than one leave in their buckets hang on when the coats are laid and
// are not counted; the decision says what the last comes to.
//
// A floor coated in one section is searched to the end, forward over its steps
// (see forward in this package): the decision is optimal on the grid. One coated
// in several, or with more states than Goal.Nodes, is searched over whole plans
// with a proved bound, and where Goal.Nodes of them do not settle it the decision
// says how much better another choice could be at most. Both use the planner's
// own rules for each step; the plan of the choice is made by [Plan], and if that
// finds other than the search did, which counts no water of the coats, Changed
// says so.
//
// Where every plan has a finding to stop for, Relaxations says what would leave
// one without: each kind of change is tried in growing size, by the same search.
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
	if (r.best.rank > 0 || r.best.stops > 0) && !goal.NoRelax {
		if d.Relaxations, err = pr.relax(d); err != nil {
			return nil, err
		}
	}
	d.Text = d.Sentences(units.SI)
	return d, nil
}

// A result is what a search found.
type result struct {
	best    *value
	open    *value   // the bound of what was left out, or nil
	by      []*value // best by combo, or nil
	byHeat  []*value // best by way to heat, or nil
	forward bool
}

// solve searches a problem.
func (pr *problem) solve() (*result, error) {
	r := &result{by: make([]*value, len(pr.combos)), byHeat: make([]*value, len(pr.heats))}
	if pr.sections == 1 {
		for heat := range pr.heats {
			for start := range pr.starts {
				v, err := pr.forward(heat, start, r.by)
				if errors.Is(err, errTooLarge) {
					return pr.solveByPlans(r)
				}
				if err != nil {
					return nil, err
				}
				if v != nil && (r.byHeat[heat] == nil || v.less(r.byHeat[heat])) {
					r.byHeat[heat] = v
				}
			}
			pr.heats[heat].cells = nil // as large as all the rest
			if v := r.byHeat[heat]; v != nil && (r.best == nil || v.less(r.best)) {
				r.best = v
			}
		}
		r.forward = true
		return r, nil
	}
	return pr.solveByPlans(r)
}

func (pr *problem) solveByPlans(r *result) (*result, error) {
	b := &branch{problem: pr, by: make([]*value, len(pr.combos))}
	if err := b.search(); err != nil {
		return nil, err
	}
	r.best, r.open, r.byHeat = b.best, b.open, nil
	r.by = b.by
	if r.open != nil && (r.best == nil || !r.open.less(r.best)) {
		r.open = nil
	}
	return r, nil
}
