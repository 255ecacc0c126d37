// Command jobplan plans a floor from a job file: what to buy, what to do when,
// what to watch.
//
//	go run ./examples/jobplan [-units us|si] [-json] [-strict] [-why figure] [-picture plan.svg|plan.png [-width "297 mm"]] [job.toml]
//
// Without a path it plans the demo job. -why steps.body.kits prints where a
// figure comes from instead of the plan. It exits with 1 on a wrong input, and
// with 3 on findings if -strict is given.
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
	why := flags.String("why", "", "write where a figure comes from, such as steps.body.kits or order.epoxy-standard@1.1.0.need")
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
	j, o, err := plan(flags.Args())
	switch {
	case err != nil:
	case *picture != "":
		err = save(*picture, j, o, sys, width)
	case *why != "":
		err = explain(stdout, o, *why, sys, *asJSON)
	default:
		err = write(stdout, o, sys, *asJSON)
	}
	if err != nil {
		fmt.Fprintf(stderr, "jobplan: %v\n", err)
		return 1
	}
	if *strict {
		for _, f := range o.Findings {
			if f.Severity != systems.Note {
				return 3
			}
		}
	}
	return 0
}

func plan(paths []string) (systems.Job, *systems.Outcome, error) {
	if len(paths) > 1 {
		return systems.Job{}, nil, fmt.Errorf("found %d job files: want at most one", len(paths))
	}
	c, err := systems.Builtin()
	if err != nil {
		return systems.Job{}, nil, err
	}
	var j systems.Job
	if len(paths) == 0 {
		j, err = systems.ReadJob(bytes.NewReader(systems.DemoJob()), c)
	} else {
		j, err = systems.ReadJobFS(os.DirFS(filepath.Dir(paths[0])), filepath.Base(paths[0]), c)
	}
	if err != nil {
		return j, nil, err
	}
	o, err := systems.Plan(context.Background(), j)
	return j, o, err
}

// save writes the picture; nothing is written if it cannot be drawn.
func save(name string, j systems.Job, o *systems.Outcome, sys units.System, width units.Length) error {
	format, err := pictureFormat(name)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := drawPlan(&b, format, j, o, nil, sys, width); err != nil {
		return errors.New(strings.ReplaceAll(err.Error(), "\n", "; "))
	}
	return os.WriteFile(name, b.Bytes(), 0o644)
}

func write(w io.Writer, o *systems.Outcome, sys units.System, asJSON bool) error {
	if !asJSON {
		return report.Write(w, o, sys)
	}
	return encode(w, o)
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
