package main

import (
	"context"
	"flag"
	"fmt"
	"io"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/confidence"
	"github.com/tackfree/tackfree/systems/money"
	"github.com/tackfree/tackfree/systems/report"
)

// An order holds the flags that ask how sure the order is and what it costs.
type order struct {
	level string
	draws int
	seed  uint64
	money bool
}

func (x *order) flags(f *flag.FlagSet) {
	f.StringVar(&x.level, "confidence", "", "how sure the order is, and what to buy for this chance of having enough, such as \"90 %\"")
	f.IntVar(&x.draws, "draws", 10000, "how often -confidence and -money draw the job, 100 to 1000000")
	f.Uint64Var(&x.seed, "seed", 1, "of the draws: the same seed gives the same figures")
	f.BoolVar(&x.money, "money", false, "what the job costs, from the [prices] of the job file")
}

// asked is what the flags ask for, beside the plan.
type asked struct {
	*systems.Outcome
	Confidence *confidence.Order `json:"confidence,omitempty"`
	Money      *money.Bill       `json:"money,omitempty"`
}

// of works out what the flags ask for.
func (x *order) of(o *systems.Outcome) (*asked, error) {
	a := &asked{Outcome: o}
	if x.level == "" && !x.money {
		return a, nil
	}
	opt := confidence.Options{Draws: x.draws, Seed: x.seed}
	if x.draws == 0 {
		return nil, fmt.Errorf("draws: found 0: want 100 to 1000000")
	}
	if x.level != "" {
		if err := opt.Level.UnmarshalText([]byte(x.level)); err != nil {
			return nil, fmt.Errorf("confidence: %w", err)
		}
		if opt.Level == 0 {
			return nil, fmt.Errorf("confidence: found 0 %%: want 50 %% to 99.9 %%")
		}
	}
	c, err := confidence.Of(context.Background(), o, opt)
	if err != nil {
		return nil, err
	}
	if x.level != "" {
		a.Confidence = c
	}
	if x.money {
		a.Money, err = money.Of(o, c)
	}
	return a, err
}

// write writes what the flags ask for, below the plan.
func (a *asked) write(w io.Writer, sys units.System) error {
	if a.Confidence != nil {
		if err := report.WriteConfidence(w, a.Outcome, a.Confidence, sys); err != nil {
			return err
		}
	}
	if a.Money != nil {
		return report.WriteMoney(w, a.Outcome, a.Money, sys)
	}
	return nil
}
