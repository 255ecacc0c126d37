package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"strconv"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/confidence"
	"github.com/tackfree/tackfree/systems/money"
	"github.com/tackfree/tackfree/systems/report"
)

// An order holds the flags that ask how sure the order is and what it costs.
type order struct {
	level  string
	chance units.Fraction // of level; 0: not asked
	draws  int
	seed   uint64
	money  bool
}

func (x *order) flags(f *flag.FlagSet) {
	x.draws, x.seed = 10000, 1
	f.StringVar(&x.level, "confidence", "", "how sure the order is, and what to buy for this `chance` of having enough, such as \"90 %\"")
	f.Func("draws", "how `often` -confidence, -money and -picture draw the job, 100 to 1000000 (default 10000)", func(s string) error {
		n, err := strconv.Atoi(s)
		if x.draws = n; err != nil || n < 100 || n > 1000000 {
			return errors.New("want a whole number from 100 to 1000000")
		}
		return nil
	})
	f.Func("seed", "of the draws, a whole `number`: the same seed gives the same figures (default 1)", func(s string) (err error) {
		if x.seed, err = strconv.ParseUint(s, 10, 64); err != nil {
			return fmt.Errorf("want a whole number from 0 to %d", uint64(math.MaxUint64))
		}
		return nil
	})
	f.BoolVar(&x.money, "money", false, "what the job costs, from the [prices] of the job file")
}

// check reads the chance asked for.
func (x *order) check() error {
	if x.level == "" {
		return nil
	}
	if err := x.chance.UnmarshalText([]byte(x.level)); err != nil {
		return fmt.Errorf("confidence: %w", err)
	}
	if !(x.chance >= 0.5 && x.chance <= 0.999) {
		return fmt.Errorf("confidence: found %q: want 50 %% to 99.9 %%", x.level)
	}
	return nil
}

// added is what the flags ask for beside a plan.
type added struct {
	Confidence *confidence.Order `json:"confidence,omitempty"`
	Money      *money.Bill       `json:"money,omitempty"`
}

// of works out what the flags ask for.
func (x *order) of(o *systems.Outcome) (a added, err error) {
	if x.chance == 0 && !x.money {
		return a, nil
	}
	c, err := confidence.Of(context.Background(), o, confidence.Options{Draws: x.draws, Seed: x.seed, Level: x.chance})
	if err != nil {
		return a, err
	}
	if x.chance > 0 {
		a.Confidence = c
	}
	if x.money {
		a.Money, err = money.Of(o, c)
	}
	return a, err
}

// write writes what the flags ask for, below the plan.
func (a added) write(w io.Writer, o *systems.Outcome, sys units.System) error {
	if a.Confidence != nil {
		if err := report.WriteConfidence(w, o, a.Confidence, sys); err != nil {
			return err
		}
	}
	if a.Money != nil {
		return report.WriteMoney(w, o, a.Money, sys)
	}
	return nil
}
