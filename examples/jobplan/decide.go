package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/report"
)

// decide looks for the best plan of a job by a goal, or by that of the job's
// [decide] where goal is "job", and writes the decision in plain words with the
// keys to put into the job file, then the plan.
func decide(w io.Writer, j systems.Job, goal string, buy *order, sys units.System, asJSON bool) (*systems.Outcome, error) {
	g := j.Goal
	if goal != "job" {
		g.For = goal
	}
	d, err := systems.Decide(context.Background(), j, g)
	if err != nil {
		return nil, err
	}
	a, err := buy.of(d.Outcome)
	if err != nil {
		return nil, err
	}
	if asJSON {
		return d.Outcome, encode(w, struct {
			*systems.Decision
			added
		}{d, a})
	}
	fmt.Fprintf(w, "DECISION\n--------\n%s\n\n", fold(d.Sentences(sys)))
	fmt.Fprintf(w, "IN THE JOB FILE\n---------------\n%s\n", d.Keys)
	if err := report.Write(w, d.Outcome, sys); err != nil {
		return nil, err
	}
	return d.Outcome, a.write(w, d.Outcome, sys)
}

// fold breaks sentences into lines of the report's width.
func fold(sentences []string) string {
	const width = 96
	var b strings.Builder
	for i, s := range sentences {
		if i > 0 {
			b.WriteByte('\n')
		}
		at := 0
		for k, word := range strings.Fields(s) {
			n := len([]rune(word))
			switch {
			case k == 0:
			case at+1+n > width:
				b.WriteString("\n  ")
				at = 2
			default:
				b.WriteByte(' ')
				at++
			}
			b.WriteString(word)
			at += n
		}
	}
	return b.String()
}
