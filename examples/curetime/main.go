// Command curetime tells when the events of a data sheet come along a history
// of temperature.
//
//	go run ./examples/curetime -times "50 °F=22h,75 °F=8h" -temps "0h=60 °F,12h=50 °F"
//	go run ./examples/curetime -demo -within "2 K" -by 07:00 -event tack-free -now 20h -picture cure.svg
//	go run ./examples/curetime -sheet sheet.toml -night night.csv
//
// The first form takes one event. The others take a sheet of several and a
// night, logged (CSV) or forecast (TOML), as those in this folder; they tell
// each event's time with its 95 % interval, how long the windows are open, and
// when to begin at the latest, and draw all that.
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
	w := wishes{given: map[string]bool{}}
	var all *flag.FlagSet
	return cli.Run("curetime", args, stdout, stderr, func(f *flag.FlagSet) {
		times = f.String("times", "50 °F=22h,60 °F=14h,75 °F=8h", "the data sheet's rows, temperature=time")
		temps = f.String("temps", "0h=62 °F,12h=52 °F,24h=60 °F", "the history, time=temperature")
		f.TextVar(&w.from, "from", units.Span(0), "when the event begins")
		f.StringVar(&w.sheet, "sheet", "", "a file of several events' rows, .toml; instead of -times")
		f.StringVar(&w.night, "night", "", "a file of a night's temperatures, .csv or .toml; instead of -temps")
		f.BoolVar(&w.demo, "demo", false, "take a sheet and a night of our own invention")
		f.TextVar(&w.within, "within", units.TempDelta(0), "standard deviation of the night's temperatures, as one shift of all")
		f.BoolVar(&w.beyond, "beyond", false, "go on past the rows of the sheet")
		f.TextVar(&w.now, "now", units.Span(0), "tell how long from this time of the night on windows are open")
		f.StringVar(&w.by, "by", "", "tell the latest start so that events are reached by this time, 13h or 07:00")
		f.StringVar(&w.event, "event", "", "the one event that -by is for")
		f.StringVar(&w.file, "picture", "", "write a picture to this file, .svg or .png")
		f.TextVar(&w.hours, "hours", units.Span(0), "of the picture; else up to the last event")
		f.TextVar(&w.width, "width", 297*units.Millimetre, "of the picture")
		f.IntVar(&w.dpi, "dpi", 150, "dots per inch of a png; a phone's 400 dots are -width '4.1667 in' -dpi 96")
		all = f
	}, func(s units.System) (string, error) {
		all.Visit(func(f *flag.Flag) { w.given[f.Name] = true })
		w.sys = s
		several := w.demo || w.given["sheet"] || w.given["night"]
		for _, name := range []string{"times", "temps"} {
			if several && w.given[name] {
				return "", fmt.Errorf("found -%s beside a sheet and a night: want one or the other", name)
			}
		}
		for _, name := range []string{"within", "beyond", "now", "by", "event", "picture", "hours", "width", "dpi"} {
			if !several && w.given[name] {
				return "", fmt.Errorf("found -%s: want -sheet and -night beside it, or -demo", name)
			}
		}
		for _, name := range []string{"hours", "width", "dpi"} {
			if w.given[name] && w.file == "" {
				return "", fmt.Errorf("found -%s: want -picture beside it", name)
			}
		}
		if several {
			return w.along()
		}
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
		at, err := cure.Reach(table, trace, w.from.Duration())
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
