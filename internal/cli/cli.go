// Package cli is what the small examples share: flags that take quantity text,
// and one clear line for what is wrong.
package cli

import (
	"errors"
	"flag"
	"fmt"
	"io"

	"github.com/tackfree/tackfree/data/units"
)

// Run parses args with the flags that define adds and prints what compute
// returns. It returns the exit code: 0, or 1 with one line on stderr.
func Run(name string, args []string, stdout, stderr io.Writer, define func(*flag.FlagSet), compute func(units.System) (string, error)) int {
	flags := flag.NewFlagSet(name, flag.ContinueOnError)
	flags.SetOutput(io.Discard)
	sys := units.US
	flags.TextVar(&sys, "units", units.US, "us or si")
	define(flags)
	if err := flags.Parse(args); errors.Is(err, flag.ErrHelp) {
		flags.SetOutput(stdout)
		flags.Usage()
		return 0
	} else if err != nil {
		fmt.Fprintf(stderr, "%s: %v\n", name, err)
		return 1
	}
	if flags.NArg() > 0 {
		fmt.Fprintf(stderr, "%s: found %q: want flags only, such as -units si\n", name, flags.Arg(0))
		return 1
	}
	text, err := compute(sys)
	if err != nil {
		fmt.Fprintf(stderr, "%s: %v\n", name, oneLine(err))
		return 1
	}
	io.WriteString(stdout, text)
	return 0
}

// oneLine puts joined errors on one line.
func oneLine(err error) error {
	if j, ok := err.(interface{ Unwrap() []error }); ok {
		text := ""
		for i, e := range j.Unwrap() {
			if i > 0 {
				text += "; "
			}
			text += oneLine(e).Error()
		}
		return errors.New(text)
	}
	return err
}
