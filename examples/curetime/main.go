// Command curetime tells when an event of a data sheet comes along a history
// of temperature.
//
//	go run ./examples/curetime -times "50 °F=22h,75 °F=8h" -temps "0h=60 °F,12h=50 °F"
package main

import (
	"flag"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/cli"
)

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

func run(args []string, stdout, stderr io.Writer) int {
	var times, temps *string
	var from units.Span
	return cli.Run("curetime", args, stdout, stderr, func(f *flag.FlagSet) {
		times = f.String("times", "50 °F=22h,60 °F=14h,75 °F=8h", "the data sheet's rows, temperature=time")
		temps = f.String("temps", "0h=62 °F,12h=52 °F,24h=60 °F", "the history, time=temperature")
		f.TextVar(&from, "from", units.Span(0), "when the event begins")
	}, func(s units.System) (string, error) {
		var table cure.Table
		err := pairs("times", *times, func(k, v string) error {
			temp, d, err := pair(k, v)
			table = append(table, cure.Point{Temp: temp, Time: d})
			return err
		})
		if err != nil {
			return "", err
		}
		var trace climate.Trace
		err = pairs("temps", *temps, func(k, v string) error {
			temp, d, err := pair(v, k)
			trace = append(trace, climate.Sample{At: d, Temp: temp})
			return err
		})
		if err != nil {
			return "", err
		}
		at, err := cure.Reach(table, trace, from.Duration())
		if err != nil {
			return "", err
		}
		held := ""
		if at > trace[len(trace)-1].At {
			held = ", with the last temperature held"
		}
		temp, err := trace.At(at)
		if err != nil {
			return "", err
		}
		return fmt.Sprintf("reached at %s%s, at %s\n", units.Format(units.Span(at), s), held, units.Format(temp, s)), nil
	})
}

func pair(temp, d string) (t units.Temperature, at time.Duration, err error) {
	if err = t.UnmarshalText([]byte(temp)); err == nil {
		at, err = units.ParseDuration(d)
	}
	return t, at, err
}

// pairs reads "a=b,c=d".
func pairs(name, text string, each func(k, v string) error) error {
	for _, one := range strings.Split(text, ",") {
		k, v, ok := strings.Cut(one, "=")
		if !ok {
			return fmt.Errorf("-%s: found %q: want pairs with = between them, such as 50 °F=22h", name, one)
		}
		if err := each(strings.TrimSpace(k), strings.TrimSpace(v)); err != nil {
			return fmt.Errorf("-%s: %w", name, err)
		}
	}
	return nil
}
