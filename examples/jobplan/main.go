// Command jobplan plans a floor from a job file: what to buy, what to do when,
// what to watch.
//
//	go run ./examples/jobplan [-units us|si] [-json] [-strict] [-why figure] [-decide goal] [-whatif text]
//	    [-confidence "90 %"] [-money] [-draws n] [-seed n] [-learn readings.toml]
//	    [-picture plan.svg|plan.png [-width "297 mm"]] [job.toml]
//
// Without a path it plans the demo job. -why steps.body.kits prints where a
// figure comes from instead of the plan; -whatif "heat stops 34h" what that does
// to the plan, or the name of a table [what_if.<name>] of the job; with -picture
// the sheet shows the work going on as planned through that. -decide earliest
// looks for the best plan among the materials, starts and heat that the job may
// have, and writes the decision before the plan. -confidence adds how sure the
// order is and what to buy for that chance of having enough, -money what it costs.
// -learn takes readings from the site: what was learned, which sensors are not
// believed, and the plan with that, from the job's now on; try it on
// testdata/thursday.toml.
// It exits with 1 on a wrong input, and with 3 on findings if -strict is given.
package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
	"github.com/tackfree/tackfree/systems/confidence"
	"github.com/tackfree/tackfree/systems/report"
)

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

func run(args []string, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("jobplan", flag.ContinueOnError)
	flags.SetOutput(io.Discard) // one line for what is wrong, below
	sys := units.US
	flags.TextVar(&sys, "units", units.US, "us or si")
	asJSON := flags.Bool("json", false, "write the outcome as JSON")
	strict := flags.Bool("strict", false, "exit with 3 if there are findings to stop for or watch")
	var buy order
	buy.flags(flags)
	why := flags.String("why", "", "write where a figure comes from, such as steps.body.kits or order.epoxy-standard@1.1.0.need")
	goal := flags.String("decide", "", "look for the best plan by a goal: earliest, fuel, cost, findings, or job for the one that the job file gives")
	disturbed := flags.String("whatif", "", "write what goes otherwise then: \"heat stops 34h, for 6h, colder 3 K\", or the name of a table [what_if.<name>] of the job")
	readings := flags.String("learn", "", "learn from a file of readings, such as testdata/readings.toml, and plan with what they teach")
	picture := flags.String("picture", "", "write the plan as one sheet to this file, .svg or .png, instead of the text")
	width := 297 * units.Millimetre
	flags.TextVar(&width, "width", width, "of the picture, such as \"297 mm\" or, for a phone, \"106 mm\"")
	if err := flags.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			flags.SetOutput(stdout)
			flags.Usage()
			return 0
		}
		fmt.Fprintf(stderr, "jobplan: %v\n", err)
		return 1
	}
	err := alone(flags)
	var j systems.Job
	if err == nil {
		j, err = read(flags.Args())
	}
	var o *systems.Outcome
	if err == nil && *goal == "" && *disturbed == "" && *readings == "" {
		o, err = systems.Plan(context.Background(), j)
	}
	switch {
	case err != nil:
	case *picture != "" && *disturbed != "":
		err = saveDisturbed(*picture, j, *disturbed, sys, width)
	case *picture != "":
		err = save(*picture, j, o, &buy, sys, width)
	case *readings != "":
		o, err = learnFrom(stdout, *readings, j, sys, *asJSON)
	case *goal != "":
		o, err = decide(stdout, j, *goal, sys, *asJSON)
	case *disturbed != "":
		o, err = whatIf(stdout, j, *disturbed, sys, *asJSON)
	case *why != "":
		err = explain(stdout, o, *why, sys, *asJSON)
	default:
		err = write(stdout, o, &buy, sys, *asJSON)
	}
	if err != nil {
		fmt.Fprintf(stderr, "jobplan: %v\n", err)
		return 1
	}
	if *strict && o != nil {
		for _, f := range o.Findings {
			if f.Severity != systems.Note {
				return 3
			}
		}
	}
	return 0
}

// alone returns an error if a flag is given with nothing in it, or beside one
// with which it would do nothing.
func alone(flags *flag.FlagSet) error {
	given := map[string]bool{}
	var err error
	flags.Visit(func(f *flag.Flag) {
		if given[f.Name] = true; f.Value.String() == "" {
			err = fmt.Errorf("found -%s with nothing: want %s", f.Name, f.Usage)
		}
	})
	for _, x := range [][]string{{"why", "decide", "whatif", "learn"}, {"picture", "why", "decide", "learn"}, {"confidence", "why", "decide", "whatif", "learn"}, {"money", "why", "decide", "whatif", "learn"}} {
		var both []string
		for _, name := range x {
			if given[name] {
				both = append(both, "-"+name)
			}
		}
		if err == nil && len(both) > 1 && (x[0] == "why" || given[x[0]]) {
			err = fmt.Errorf("found %s together: want one of them", strings.Join(both, " and "))
		}
	}
	return err
}

func read(paths []string) (j systems.Job, err error) {
	if len(paths) > 1 {
		return j, fmt.Errorf("found %d job files: want at most one", len(paths))
	}
	c, err := systems.Builtin()
	if err != nil {
		return j, err
	}
	if len(paths) == 0 {
		return systems.ReadJob(bytes.NewReader(systems.DemoJob()), c)
	}
	return systems.ReadJobFS(os.DirFS(filepath.Dir(paths[0])), filepath.Base(paths[0]), c)
}

// save writes the picture; nothing is written if it cannot be drawn.
func save(name string, j systems.Job, o *systems.Outcome, x *order, sys units.System, width units.Length) error {
	format, err := pictureFormat(name)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	c, err := confidence.Of(context.Background(), o, confidence.Options{Draws: x.draws, Seed: x.seed})
	if err != nil {
		return err
	}
	if err := drawPlan(&b, format, j, o, c, nil, sys, width); err != nil {
		return errors.New(strings.ReplaceAll(err.Error(), "\n", "; "))
	}
	return os.WriteFile(name, b.Bytes(), 0o644)
}

func write(w io.Writer, o *systems.Outcome, buy *order, sys units.System, asJSON bool) error {
	a, err := buy.of(o)
	if err != nil {
		return err
	}
	if asJSON {
		return encode(w, a)
	}
	if err := report.Write(w, o, sys); err != nil {
		return err
	}
	return a.write(w, sys)
}

func explain(w io.Writer, o *systems.Outcome, path string, sys units.System, asJSON bool) error {
	e, err := o.Explain(path)
	if err != nil {
		return err
	}
	if asJSON {
		return encode(w, e)
	}
	return e.Write(w, sys)
}

func encode(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}
