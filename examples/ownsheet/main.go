// Command ownsheet puts a product's own sheet over its generic class: it shows
// what the sheet changes, whether it is plausible, and what a plan with it says
// of its figures.
//
//	go run ./examples/ownsheet [-units us|si] [-data folder] [-material id] [-step body]
//
// Without -data it reads the example's own company folder. A folder is laid out
// like the library's data: materials/<id>-<version>.toml, limits, recipes ...
package main

import (
	"bytes"
	"context"
	"embed"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/cli"
	"github.com/tackfree/tackfree/systems"
)

//go:embed company
var example embed.FS

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

func run(args []string, stdout, stderr io.Writer) int {
	var folder, material, step string
	define := func(f *flag.FlagSet) {
		f.StringVar(&folder, "data", "", "folder with the company's data")
		f.StringVar(&material, "material", "body-coat", "id of the material to show")
		f.StringVar(&step, "step", "body", "step of the demo job that takes it")
	}
	return cli.Run("ownsheet", args, stdout, stderr, define, func(sys units.System) (string, error) { return show(folder, material, step, sys) })
}

func show(folder, material, step string, sys units.System) (string, error) {
	files, err := fs.Sub(example, "company")
	if folder != "" {
		files, err = os.DirFS(folder), nil
	}
	if err != nil {
		return "", err
	}
	c, err := systems.LoadLayers(systems.BuiltinLayer(), systems.DataLayer{Name: "company", Files: files})
	if err != nil {
		return "", err
	}
	m, err := c.Material(material)
	if err != nil {
		return "", err
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s (%s@%s)\n", m.Name, m.ID, m.Version)
	if m.Extends != "" {
		class, err := c.Material(m.Extends)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(&b, "%s, %s, over %s (%s)\n\n", m.Sheet.Title, m.Sheet.Edition, class.Name, m.Extends)
		was := map[string]string{}
		for _, f := range class.Figures() {
			was[f.Where] = f.Text
		}
		for _, f := range m.Figures() {
			if f.Basis == systems.FromSheet {
				fmt.Fprintf(&b, "  %-24s %s (%s); class: %s\n", f.Where, f.Text, f.At, was[f.Where])
			}
		}
	}
	for _, o := range c.Overrides() {
		fmt.Fprintf(&b, "  %s %s: %s hides %s\n", o.Kind, o.Name, o.Layer, o.Over)
	}
	job := string(systems.DemoJob()) + fmt.Sprintf("\n[steps.%s]\nmaterial = %q\n", step, m.ID+"@"+m.Version)
	j, err := systems.ReadJob(bytes.NewReader([]byte(job)), c)
	if err != nil {
		return "", err
	}
	o, err := systems.Plan(context.Background(), j)
	if err != nil {
		return "", err
	}
	fmt.Fprintf(&b, "\nThe demo job with it: %s\n", o.Share())
	for _, f := range o.Findings {
		if f.Key == "figure-outside-class" || f.Step == step {
			fmt.Fprintf(&b, "  %s: %s\n", f.Severity, f.Sentence(sys))
		}
	}
	return b.String(), nil
}
