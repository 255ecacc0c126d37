// Command sources lists every figure of the catalog by how it is known, or
// those that a job's plan leans on, and says what share of the plan nobody
// published.
//
//	go run ./examples/sources [-basis published|common-practice|illustrative|sheet|job] [-count] [-job job.toml]
package main

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/cli"
	"github.com/tackfree/tackfree/systems"
)

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

var bases = []systems.Basis{systems.Published, systems.CommonPractice, systems.Illustrative, systems.FromSheet, systems.FromJob}

func run(args []string, stdout, stderr io.Writer) int {
	var basis, job string
	var count bool
	return cli.Run("sources", args, stdout, stderr, func(f *flag.FlagSet) {
		f.StringVar(&basis, "basis", "", "list only figures of this basis")
		f.BoolVar(&count, "count", false, "only how many there are of each")
		f.StringVar(&job, "job", "", "the figures that the plan of this job file uses")
	}, func(units.System) (string, error) {
		wanted := bases
		if basis != "" {
			if wanted = []systems.Basis{systems.Basis(basis)}; !slices.Contains(bases, wanted[0]) {
				return "", fmt.Errorf("-basis: found %q: want published, common-practice, illustrative, sheet or job", basis)
			}
		}
		c, err := systems.Builtin()
		if err != nil {
			return "", err
		}
		plan, whose, err := planned(c, job)
		if err != nil {
			return "", err
		}
		figures := c.Figures()
		if job != "" {
			figures = plan.Figures
		}
		return list(figures, wanted, count, c) + whose + " plan: " + plan.Share() + "\n", nil
	})
}

// planned plans the job of that file, or the demo job.
func planned(c *systems.Catalog, file string) (o *systems.Outcome, whose string, err error) {
	var j systems.Job
	if file != "" {
		whose = "The job's"
		j, err = systems.ReadJobFS(os.DirFS(filepath.Dir(file)), filepath.Base(file), c)
	} else {
		whose = "The demo job's"
		j, err = systems.ReadJob(bytes.NewReader(systems.DemoJob()), c)
	}
	if err != nil {
		return nil, "", err
	}
	o, err = systems.Plan(context.Background(), j)
	return o, whose, err
}

// list prints the figures of each basis, and counts them.
func list(figures []systems.Figure, wanted []systems.Basis, count bool, c *systems.Catalog) string {
	var b strings.Builder
	n := systems.Bases(figures)
	for _, basis := range wanted {
		if n[basis] == 0 && len(wanted) > 1 {
			continue
		}
		fmt.Fprintf(&b, "%s: %d of %d figures\n", basis, n[basis], len(figures))
		for _, f := range figures {
			if f.Basis != basis || count {
				continue
			}
			fmt.Fprintf(&b, "  %s: %s", f.Where, f.Text)
			if s, ok := c.Source(f.Source); ok {
				parts := slices.DeleteFunc([]string{s.Owner, s.Title, f.At}, func(s string) bool { return s == "" })
				fmt.Fprintf(&b, " (%s; %s)", strings.Join(parts, ", "), map[string]string{"seen": "seen", "memory": "from memory"}[s.How])
			}
			b.WriteString("\n")
		}
	}
	fmt.Fprintf(&b, "%d of %d figures are published, %d common practice, %d illustrative, %d of own sheets, %d of the job's own: replace what is not published by your product's sheet.\n",
		n[systems.Published], len(figures), n[systems.CommonPractice], n[systems.Illustrative], n[systems.FromSheet], n[systems.FromJob])
	return b.String()
}
