package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/learn"
	"github.com/tackfree/tackfree/systems/report"
)

// learned is what -learn gives a program.
type learned struct {
	Learned *learn.Result    `json:"learned"`
	TOML    string           `json:"toml"` // to put into the job's file
	Plan    *systems.Outcome `json:"plan"`
	added
}

// learnedWhy is what -learn with -why gives a program.
type learnedWhy struct {
	Learned *learn.Result        `json:"learned"`
	Why     *systems.Explanation `json:"why"`
}

// learnFrom learns from a file of readings, writes what it learned and which
// sensors it does not believe, and the plan made anew with that; or, given why,
// where a figure of that plan comes from.
func learnFrom(w io.Writer, file string, j systems.Job, why string, buy *order, sys units.System, asJSON bool) (*systems.Outcome, error) {
	ctx := context.Background()
	r, err := learn.ReadFS(os.DirFS(filepath.Dir(file)), filepath.Base(file), j)
	if err != nil {
		return nil, err
	}
	got, err := learn.Learn(ctx, j, r)
	if err != nil {
		return nil, err
	}
	j, _, err = got.Apply(j)
	if err != nil {
		return nil, err
	}
	o, err := systems.Plan(ctx, j)
	if err != nil {
		return nil, err
	}
	var e *systems.Explanation
	if why != "" {
		if e, err = o.Explain(why); err != nil {
			return nil, err
		}
	}
	a, err := buy.of(o)
	if err != nil {
		return nil, err
	}
	switch {
	case asJSON && e != nil:
		return o, encode(w, learnedWhy{got, e})
	case asJSON:
		return o, encode(w, learned{got, got.TOML(), o, a})
	}
	if err := got.Write(w, sys); err != nil {
		return nil, err
	}
	if e != nil {
		if _, err := fmt.Fprintln(w); err != nil {
			return nil, err
		}
		return o, e.Write(w, sys)
	}
	if _, err := fmt.Fprintf(w, "\nFOR THE JOB'S FILE\n------------------\n%s\n", got.TOML()); err != nil {
		return nil, err
	}
	if err := report.Write(w, o, sys); err != nil {
		return nil, err
	}
	return o, a.write(w, o, sys)
}
