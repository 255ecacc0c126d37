// Command dewpoint tells the dew point of the air and how far a surface is
// above it.
//
//	go run ./examples/dewpoint -air "60 °F" -rh "75 %" -surface "58 °F"
package main

import (
	"flag"
	"fmt"
	"io"
	"os"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/cli"
	"github.com/tackfree/tackfree/systems"
)

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

func run(args []string, stdout, stderr io.Writer) int {
	var air, surface units.Temperature
	var rh units.Fraction
	return cli.Run("dewpoint", args, stdout, stderr, func(f *flag.FlagSet) {
		f.TextVar(&air, "air", units.Fahrenheit(60), "air temperature")
		f.TextVar(&rh, "rh", 75*units.Percent, "relative humidity, over water")
		f.TextVar(&surface, "surface", units.Fahrenheit(58), "surface temperature")
	}, func(s units.System) (string, error) {
		dew, err := climate.DewPoint(air, rh)
		if err != nil {
			return "", err
		}
		margin, err := climate.Margin(surface, dew)
		if err != nil {
			return "", err
		}
		side := "above"
		if margin < 0 {
			side = "below"
		}
		text := fmt.Sprintf("dew point %s, surface %s %s it\n", units.Format(dew, s), units.Format(max(margin, -margin), s), side)
		catalog, err := systems.Builtin()
		if err != nil {
			return "", err
		}
		for _, id := range []string{"dew-point-3k", "dew-point-5f", "dew-point-5f-rising"} {
			rule, err := catalog.Limit(id)
			if err != nil {
				return "", err
			}
			var by units.TempDelta
			if err := by.UnmarshalText([]byte(rule.Value)); err != nil {
				return "", err
			}
			verdict, more := "kept", ""
			if margin < by {
				verdict = "broken"
			}
			if rule.Rising {
				more = ", and rising"
			}
			text += fmt.Sprintf("rule %s%s (%s): %s\n", rule.Value, more, rule.Owner, verdict)
		}
		return text, nil
	})
}
