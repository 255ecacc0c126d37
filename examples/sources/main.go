// Command sources lists every figure of the built-in data by how it is known,
// and what share of the demo job's plan nobody published.
//
//	go run ./examples/sources [-basis published] [-count]
package main

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/cli"
	"github.com/tackfree/tackfree/systems"
)

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

func run(args []string, stdout, stderr io.Writer) int {
	var basis string
	var count bool
	define := func(f *flag.FlagSet) {
		f.StringVar(&basis, "basis", "", "only those that are published, common-practice or illustrative")
		f.BoolVar(&count, "count", false, "only how many there are of each")
	}
	return cli.Run("sources", args, stdout, stderr, define, func(units.System) (string, error) { return list(systems.Basis(basis), count) })
}

func list(only systems.Basis, count bool) (string, error) {
	bases := []systems.Basis{systems.Published, systems.CommonPractice, systems.Illustrative}
	if only != "" && only != bases[0] && only != bases[1] && only != bases[2] {
		return "", fmt.Errorf("found basis %q: want published, common-practice or illustrative", only)
	}
	c, err := systems.Builtin()
	if err != nil {
		return "", err
	}
	figures := c.Figures()
	var b strings.Builder
	for _, basis := range bases {
		if only != "" && basis != only {
			continue
		}
		var lines []string
		for _, f := range figures {
			if f.Basis != basis {
				continue
			}
			line := "  " + f.Where + ": " + f.Text
			if s, ok := c.Source(f.Source); ok {
				line += " (" + strings.Join(strings.Fields(s.Owner+", "+s.Title+" "+f.At), " ") + "; " + s.How + ")"
			}
			lines = append(lines, line)
		}
		fmt.Fprintf(&b, "%s: %d of %d figures\n", basis, len(lines), len(figures))
		if !count {
			b.WriteString(strings.Join(lines, "\n") + "\n")
		}
	}
	j, err := systems.ReadJob(bytes.NewReader(systems.DemoJob()), c)
	if err != nil {
		return "", err
	}
	o, err := systems.Plan(context.Background(), j)
	if err != nil {
		return "", err
	}
	fmt.Fprintf(&b, "The demo job's plan: %s\n", o.Share())
	return b.String(), nil
}
