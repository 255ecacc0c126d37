// Command nightforecast forecasts the nights of a job's space: what slab, air
// and dew point do under the weather, the heaters and their tanks, what that
// means for the coats, and how much heat it would take.
//
//	go run ./examples/nightforecast [-units us|si] [-from 77h] [-hours 30] [-picture night.svg|night.png] [-width "297 mm"]
//	    [-hold "55 °F"] [-wet "8 mil" -solids "52 %"] [job.toml]
//
// Without a path it takes the demo job; the job needs a [room]. Without -from
// it shows the night in which a tank first runs dry, or the coldest one.
package main

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/draw"
	"github.com/tackfree/tackfree/systems"
)

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

// wishes is what the flags ask for.
type wishes struct {
	sys         units.System
	from        units.Span
	hours       int
	picture     string
	width       units.Length
	hold        units.Temperature
	wet         units.Length
	solids      units.Fraction
	given       map[string]bool
	job         string
	temp, slabT units.TempDelta
	rh          units.Fraction
}

func run(args []string, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("nightforecast", flag.ContinueOnError)
	flags.SetOutput(io.Discard)
	w := wishes{given: map[string]bool{}}
	flags.TextVar(&w.sys, "units", units.US, "us or si")
	flags.TextVar(&w.from, "from", units.Span(0), "begin so long after the job's start")
	flags.IntVar(&w.hours, "hours", 30, "show so many hours, 1 to 168")
	flags.StringVar(&w.picture, "picture", "", "write a picture to this file, .svg or .png")
	flags.TextVar(&w.width, "width", 297*units.Millimetre, "of the picture")
	flags.TextVar(&w.hold, "hold", units.Fahrenheit(50), "find the heater that holds the slab at this through the hours shown")
	flags.TextVar(&w.wet, "wet", 8*units.Mil, "wet film of a waterborne coat laid at the start of the hours shown")
	flags.TextVar(&w.solids, "solids", 52*units.Percent, "of that coat, by volume; the rest is taken as water")
	flags.TextVar(&w.temp, "air-within", 0.5*units.KelvinDelta, "what the air's thermometer may be off")
	flags.TextVar(&w.slabT, "slab-within", 0.5*units.KelvinDelta, "what the slab's thermometer may be off")
	flags.TextVar(&w.rh, "rh-within", 3*units.Percent, "what the hygrometer may be off")
	err := flags.Parse(args)
	if errors.Is(err, flag.ErrHelp) {
		flags.SetOutput(stdout)
		flags.Usage()
		return 0
	}
	flags.Visit(func(f *flag.Flag) { w.given[f.Name] = true })
	if err == nil && flags.NArg() > 1 {
		err = fmt.Errorf("found %d job files: want at most one", flags.NArg())
	}
	w.job = flags.Arg(0)
	var text string
	if err == nil {
		text, err = night(w)
	}
	if err != nil {
		fmt.Fprintf(stderr, "nightforecast: %s\n", strings.ReplaceAll(err.Error(), "\n", "; "))
		return 1
	}
	io.WriteString(stdout, text)
	return 0
}

// read returns the job and its plan.
func read(path string) (systems.Job, *systems.Outcome, *systems.Catalog, error) {
	c, err := systems.Builtin()
	if err != nil {
		return systems.Job{}, nil, nil, err
	}
	var j systems.Job
	if path == "" {
		j, err = systems.ReadJob(bytes.NewReader(systems.DemoJob()), c)
	} else {
		j, err = systems.ReadJobFS(os.DirFS(filepath.Dir(path)), filepath.Base(path), c)
	}
	if err != nil {
		return j, nil, nil, err
	}
	if j.Site == nil {
		return j, nil, nil, errors.New("the job has no [room]: want its space, heaters and the weather outdoors")
	}
	o, err := systems.Plan(context.Background(), j)
	return j, o, c, err
}

func night(w wishes) (string, error) {
	j, o, c, err := read(w.job)
	if err != nil {
		return "", err
	}
	if w.hours < 1 || w.hours > 168 {
		return "", fmt.Errorf("hours = %d: want 1 to 168", w.hours)
	}
	s := j.Site
	from := w.from.Duration()
	if !w.given["from"] {
		from = trouble(s)
	}
	to := min(from+time.Duration(w.hours)*time.Hour, s.Span)
	if from < 0 || from >= s.Span {
		return "", fmt.Errorf("from = %v: want from 0h to before the weather ends at %s", w.from, units.DurationText(s.Span))
	}
	var b strings.Builder
	q := func(x units.Quantity) string { return units.Format(x, w.sys) }
	when := func(at time.Duration) string { return j.Start.Add(at).Format("Mon 15:04") }

	fmt.Fprintf(&b, "%s, %s\n%s to %s\n\n", j.Name, j.Place, j.Start.Add(from).Format("Mon 2 Jan 15:04"), j.Start.Add(to).Format("Mon 2 Jan 15:04"))
	fmt.Fprintf(&b, "%-10s %9s %9s %7s %9s %10s %9s %14s  %s\n", "", "outdoors", "air", "RH", "slab", "dew point", "margin", "heat taken in", "fuel left")
	for at := from; at <= to; at += time.Hour {
		i := int(at / s.Steps)
		x := s.Forecast.States[i]
		out, err := s.Outdoors.At(at)
		if err != nil {
			return "", err
		}
		fuel := ""
		for k, h := range s.Heaters {
			if h.Fuel.ID != "" {
				fuel += "  " + q(x.Fuel[k])
			}
		}
		fmt.Fprintf(&b, "%s\n", strings.TrimRight(fmt.Sprintf("%-10s %9s %9s %7s %9s %10s %9s %14s%s", when(at), q(out.Temp), q(x.Air), q(x.RH), q(x.Surface), q(x.DewPoint), q(x.Margin), q(x.Power), fuel), " "))
	}
	b.WriteString("\n")
	for _, e := range s.Forecast.Events {
		if e.At >= from && e.At <= to {
			name := ""
			if e.What == climate.TankEmpty || e.What == climate.TankRefilled {
				name = ", " + s.Heaters[e.Heater].Name
			}
			fmt.Fprintf(&b, "%s  %s%s\n", when(e.At), e.What, name)
		}
	}
	if err := answers(&b, w, j, from, to, when); err != nil {
		return "", err
	}
	if w.picture != "" {
		if err := picture(w, j, o, c, from, to); err != nil {
			return "", err
		}
		fmt.Fprintf(&b, "picture in %s\n", w.picture)
	}
	return b.String(), nil
}

// trouble returns the noon before a tank first runs dry, or before the slab is
// coldest after the first day.
func trouble(s *systems.Site) time.Duration {
	at := time.Duration(0)
	if e, ok := s.Forecast.First(climate.TankEmpty); ok {
		at = e.At
	} else if _, low, err := s.Forecast.LowestSurface(min(24*time.Hour, s.Span/2), s.Span); err == nil {
		at = low
	}
	return max(0, at-6*time.Hour).Truncate(time.Hour)
}

// answers tells what the table leaves to be asked.
func answers(b *strings.Builder, w wishes, j systems.Job, from, to time.Duration, when func(time.Duration) string) error {
	s := j.Site
	q := func(x units.Quantity) string { return units.Format(x, w.sys) }
	low, at, err := s.Forecast.LowestMargin(from, to)
	if err != nil {
		return err
	}
	x := s.Forecast.States[int(at/s.Steps)]
	_, within, err := climate.Sensor{Temp: w.temp, RH: w.rh, Surface: w.slabT}.Margin(climate.Air{Temp: x.Air, RH: min(x.RH, 1), Pressure: s.Room.Pressure}, x.Surface)
	if err != nil {
		return err
	}
	fmt.Fprintf(b, "\nleast margin of the slab above the dew point: %s ± %s (%s), as instruments within %s, %s and %s of the slab would read it\n", q(low), q(within), when(at), q(w.temp), q(w.rh), q(w.slabT))
	cold, at, err := s.Forecast.LowestSurface(from, to)
	if err != nil {
		return err
	}
	fmt.Fprintf(b, "coldest slab: %s (%s)\n", q(cold), when(at))
	if e, ok := s.Forecast.First(climate.TankEmpty); ok {
		for _, n := range []time.Duration{3 * time.Hour, 6 * time.Hour, 12 * time.Hour} {
			if e.At+n > s.Span {
				break
			}
			fall, err := s.Room.FallAfter(s.Outdoors, e.At, n)
			if err != nil {
				return err
			}
			fmt.Fprintf(b, "%d h after the tank is empty the slab has fallen by %s\n", int(n.Hours()), q(fall))
		}
		fuel, err := s.Room.FuelFor(s.Outdoors, s.Span)
		if err != nil {
			return err
		}
		for k, h := range s.Heaters {
			if h.Fuel.ID != "" {
				fmt.Fprintf(b, "%s would burn %s (%s) of %s until %s if it did not run dry\n", h.Name, q(fuel[k]), q(fuel[k].Volume(h.Fuel.Density.Q)), h.Fuel.Name, when(s.Span))
			}
		}
	}
	if len(s.Heaters) > 0 {
		p, f, err := s.Room.HeaterFor(s.Outdoors, w.hold, from, to)
		switch {
		case errors.Is(err, climate.ErrNotHeld):
			fmt.Fprintf(b, "no heater holds the slab at %s through these hours with this thermostat: set it higher or begin earlier\n", q(w.hold))
		case err != nil:
			return err
		case p == 0:
			fmt.Fprintf(b, "the slab holds %s through these hours without %s\n", q(w.hold), s.Heaters[0].Name)
		default:
			fmt.Fprintf(b, "to hold the slab at %s through these hours %s needs at least %s and, from the start, %s of %s\n", q(w.hold), s.Heaters[0].Name, q(p), q(fuelOf(f, s)), fuelName(s))
		}
	}
	if slices.ContainsFunc(s.Room.Heaters, func(h climate.Heater) bool { return h.Unvented }) {
		with, vented, err := s.Room.UnventedCost(s.Outdoors, s.Span)
		if err != nil {
			return err
		}
		fmt.Fprintf(b, "least margin with unvented heat %s, with its exhaust led outdoors %s\n", q(with), q(vented))
	}
	return dries(b, w, s, from, when)
}

func fuelName(s *systems.Site) string {
	if s.Heaters[0].Fuel.ID == "" {
		return "electricity"
	}
	return s.Heaters[0].Fuel.Name
}

// fuelOf returns what the first heater takes until the end of f.
func fuelOf(f *climate.RoomForecast, s *systems.Site) units.Quantity {
	if s.Heaters[0].Fuel.ID == "" {
		return f.Balance.TakenIn
	}
	return f.Balance.Fuel[0]
}

// dries tells when a waterborne coat laid at a time is dry, against the 23 °C
// and 50 % that data sheets state.
func dries(b *strings.Builder, w wishes, s *systems.Site, from time.Duration, when func(time.Duration) string) error {
	water, err := climate.WaterIn(w.wet, w.solids)
	if err != nil {
		return err
	}
	x := s.Forecast.States[int(from/s.Steps)]
	convection, err := climate.FloorConvection(x.Surface, x.Air)
	if err != nil {
		return err
	}
	convection = max(convection, 0.5) // what stirs in any room
	d := climate.Drying{Water: water, Convection: convection}
	usual, err := d.Time(units.Celsius(23), climate.Air{Temp: units.Celsius(23), RH: 0.5})
	if err != nil {
		return err
	}
	done, err := d.Reach(s.Forecast.Surfaces(), s.Forecast.Airs(), from)
	if errors.Is(err, climate.ErrNeverDry) {
		fmt.Fprintf(b, "a waterborne coat laid %s does not dry\n", when(from))
		return nil
	}
	if err != nil {
		return err
	}
	took := done - from
	fmt.Fprintf(b, "water of a waterborne coat, %s wet, laid %s is gone %s, after %s: %.1f times what it takes at 23 °C and 50 %%\n", units.Format(w.wet, w.sys), when(from), when(done),
		units.DurationText(took.Round(time.Minute)), math.Round(10*took.Hours()/usual.Hours())/10)
	return nil
}

// picture draws the hours shown.
func picture(w wishes, j systems.Job, o *systems.Outcome, c *systems.Catalog, from, to time.Duration) error {
	format := strings.TrimPrefix(filepath.Ext(w.picture), ".")
	if format != "svg" && format != "png" {
		return fmt.Errorf("picture = %q: want a name that ends in .svg or .png", w.picture)
	}
	f := climate.RoomForecast{Balance: j.Site.Forecast.Balance}
	for _, x := range j.Site.Forecast.States {
		if x.At >= from && x.At <= to {
			f.States = append(f.States, x)
		}
	}
	for _, e := range j.Site.Forecast.Events {
		if e.At >= from && e.At <= to {
			f.Events = append(f.Events, e)
		}
	}
	n := draw.NightSheet{Title: j.Name, Place: j.Place, Start: j.Start, System: w.sys, Forecast: &f, Outdoors: j.Site.Outdoors, Width: w.width}
	if err := n.Limits.Margin.UnmarshalText([]byte(j.Margin.Value)); err != nil {
		return err
	}
	for _, h := range j.Site.Heaters {
		n.Tanks = append(n.Tanks, h.Name)
	}
	for _, x := range o.Schedule {
		if x.Does != systems.Coat {
			continue
		}
		begin, end := x.Start.Sub(j.Start), x.End.Sub(j.Start)
		for _, e := range x.Events {
			if e.Event == systems.TackFree && e.At != nil {
				end = e.At.Sub(j.Start)
			}
		}
		if end < from || begin > to {
			continue
		}
		for _, need := range o.TakeOff {
			if need.Step != x.Step {
				continue
			}
			m, err := c.Material(need.Material)
			if err != nil {
				return err
			}
			band := draw.Band{Name: x.Step, From: begin, To: end}
			if m.Surface.LowText != "" {
				band.Low = m.Surface.Low
			}
			if m.Surface.HighText != "" {
				band.High = m.Surface.High
			}
			n.Bands = append(n.Bands, band)
		}
		if begin >= from && begin <= to {
			n.Marks = append(n.Marks, draw.Mark{At: begin, Text: x.Step + " goes down"})
		}
		if end >= from && end <= to {
			n.Marks = append(n.Marks, draw.Mark{At: end, Text: x.Step + " tack-free"})
		}
	}
	var b bytes.Buffer
	if err := draw.Night(&b, format, n); err != nil {
		return err
	}
	return os.WriteFile(w.picture, b.Bytes(), 0o644)
}
