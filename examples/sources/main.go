// Command sources lists every figure of the catalog by how it is known, or
// those that a job's plan leans on.
//
//	go run ./examples/sources [-basis published|common-practice|illustrative|job] [-job job.toml]
package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/cli"
	"github.com/tackfree/tackfree/systems"
)

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

var bases = []systems.Basis{systems.Published, systems.CommonPractice, systems.Illustrative, systems.FromJob}

func run(args []string, stdout, stderr io.Writer) int {
	var basis, job string
	return cli.Run("sources", args, stdout, stderr, func(f *flag.FlagSet) {
		f.StringVar(&basis, "basis", "", "list only figures of this basis")
		f.StringVar(&job, "job", "", "the figures that the plan of this job file uses")
	}, func(units.System) (string, error) {
		wanted := bases
		if basis != "" {
			wanted = nil
			for _, b := range bases {
				if string(b) == basis {
					wanted = []systems.Basis{b}
				}
			}
			if wanted == nil {
				return "", fmt.Errorf("-basis: found %q: want published, common-practice, illustrative or job", basis)
			}
		}
		c, err := systems.Builtin()
		if err != nil {
			return "", err
		}
		figures := c.Figures()
		if job != "" {
			j, err := systems.ReadJobFS(os.DirFS(filepath.Dir(job)), filepath.Base(job), c)
			if err != nil {
				return "", err
			}
			o, err := systems.Plan(context.Background(), j)
			if err != nil {
				return "", err
			}
			figures = o.Figures
		}
		return list(figures, wanted, c.Sources()), nil
	})
}

// list prints the figures of each basis, and counts them.
func list(figures []systems.Figure, wanted []systems.Basis, sources map[string]systems.Source) string {
	var b strings.Builder
	n := systems.Bases(figures)
	for _, basis := range wanted {
		if n[basis] == 0 {
			continue
		}
		fmt.Fprintf(&b, "%s\n", strings.ToUpper(string(basis)))
		for _, f := range figures {
			if f.Basis != basis {
				continue
			}
			fmt.Fprintf(&b, "  %s: %s", f.Where, f.Text)
			if s, ok := sources[f.Source]; ok {
				fmt.Fprintf(&b, " (%s, %s; %s)", s.Owner, f.At, map[string]string{"seen": "seen", "memory": "from memory"}[s.How])
			}
			b.WriteString("\n")
		}
	}
	fmt.Fprintf(&b, "%d of %d figures are published, %d common practice, %d illustrative, %d of the job's own: replace what is not published by your product's sheet.\n",
		n[systems.Published], len(figures), n[systems.CommonPractice], n[systems.Illustrative], n[systems.FromJob])
	return b.String()
}
