package learn

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/systems"
)

func (p reader) loggers(out *Readings) error {
	f := &p.f.Loggers
	if !p.d.Defined("loggers") {
		return nil
	}
	text, file, line := []byte(strings.TrimPrefix(f.Log, "\n")), p.d.Name, p.d.Line("loggers", "log")+1
	switch {
	case (f.Log == "") == (f.LogFile == ""):
		return p.bad("loggers", "found log and log_file, or neither: want one of them")
	case f.LogFile != "" && p.open == nil:
		return p.bad("loggers/log_file", "found %q, but the readings were not read from a folder: want them in loggers.log", f.LogFile)
	case f.LogFile != "":
		var err error
		if text, err = p.open(f.LogFile); err != nil {
			return p.bad("loggers/log_file", "found %q: %w", f.LogFile, err)
		}
		file, line = f.LogFile, 1
	}
	all, err := readLog(text, file, line, p.j)
	if err != nil {
		return err
	}
	site := p.j.Site
	if site == nil {
		return p.bad("loggers", "found loggers, and the job has no [room]: want one, with its slab")
	}
	var heat []Switch
	for _, key := range p.d.Under("loggers", "heat") {
		at, err := p.j.Moment(key)
		if err != nil {
			return p.bad("loggers/heat/"+key, "%v", err)
		}
		word := f.Heat[key]
		if word != "on" && word != "off" {
			return p.bad("loggers/heat/"+key, "found %q: want on or off", word)
		}
		if len(heat) > 0 && at <= heat[len(heat)-1].At {
			return p.bad("loggers/heat/"+key, "found time %q not after the one before: want rising times", key)
		}
		heat = append(heat, Switch{at, word == "on"})
	}
	if len(all.loggers["air"]) > 0 && len(all.loggers["surface"]) > 0 {
		s := &Slab{Slab: site.Room.Slab, Air: all.loggers["air"], Surface: all.loggers["surface"], Ground: all.loggers["ground"], AtRest: f.AtRest, Conductivity: f.Conductivity}
		if f.GroundDepth != nil {
			s.GroundDepth = *f.GroundDepth
		}
		var deepest units.Length
		for _, l := range s.Slab.Layers {
			deepest += l.Thickness
		}
		if len(s.Ground) > 0 && !(s.GroundDepth > 0 && s.GroundDepth <= deepest) {
			return p.bad("loggers/ground_depth", "found a ground logger at %v: want its depth below the surface, up to %v", s.GroundDepth, deepest)
		}
		if w := f.DeepWithin; w != nil {
			if !(*w > 0 && *w <= 30) {
				return p.bad("loggers/deep_within", "found %v: want above 0 K to 30 K", *w)
			}
			s.DeepWithin = *w
		}
		out.Slab = s
	}
	if out.Slab == nil && len(all.outdoors) == 0 {
		return p.bad("loggers", "found no loggers of air and surface, nor of air and outdoors: want columns of them")
	}
	if len(all.outdoors) > 0 && len(all.loggers["air"]) > 0 {
		out.Room = &Room{Room: site.Room, Outdoors: all.outdoors, Air: all.loggers["air"], RH: all.rh, Heat: heat, Surface: all.loggers["surface"]}
	}
	return nil
}

// A logged file is what loggers read, by the kind of their columns.
type loggedFile struct {
	loggers  map[string][]Logger
	rh       []Humid
	outdoors climate.Weather
}

// readLog reads the loggers' CSV.
func readLog(text []byte, file string, first int, j *systems.Job) (*loggedFile, error) {
	r := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(text, []byte("\ufeff"))))
	r.TrimLeadingSpace, r.Comment = true, '#'
	bad := func(line int, key, format string, args ...any) error {
		return &systems.FileError{File: file, Line: first + line - 1, Key: key, Problem: fmt.Sprintf(format, args...)}
	}
	const want = "a heading with time, and columns that begin with air, surface, ground, rh, outdoors or outdoors-rh, such as surface door (°F)"
	head, err := r.Read()
	if err != nil {
		return nil, bad(1, "log", "found no heading: want %s", want)
	}
	type column struct{ kind, name, unit string }
	cols := make([]column, len(head))
	seen := map[string]bool{}
	for i, h := range head {
		name, unit, _ := strings.Cut(strings.TrimSpace(h), "(")
		name = strings.ToLower(strings.Join(strings.Fields(name), " "))
		kind, _, _ := strings.Cut(name, " ")
		cols[i] = column{kind, name, strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(unit), ")"))}
		single := kind == "time" || kind == "rh" || kind == "outdoors" || kind == "outdoors-rh"
		if !single && kind != "air" && kind != "surface" && kind != "ground" {
			return nil, bad(1, "log", "found column %q: want %s", h, want)
		}
		key := name
		if single {
			key = kind
		}
		if seen[key] {
			return nil, bad(1, "log", "found column %q twice: want each once", h)
		}
		seen[key] = true
	}
	if !seen["time"] || seen["outdoors"] != seen["outdoors-rh"] {
		return nil, bad(1, "log", "found no time, or one of outdoors and outdoors-rh alone: want %s", want)
	}
	out := &loggedFile{loggers: map[string][]Logger{}}
	traces := make([]climate.Trace, len(cols))
	last := time.Duration(math.MinInt64)
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		line, _ := r.FieldPos(0)
		if err != nil {
			var pe *csv.ParseError
			if errors.As(err, &pe) {
				line, err = pe.Line, pe.Err
			}
			return nil, bad(line, "log", "%v: want %d columns, as the heading has", err, len(head))
		}
		var at time.Duration
		for i, c := range cols {
			if c.kind == "time" {
				if at, err = j.Moment(strings.TrimSpace(row[i])); err != nil {
					return nil, bad(line, "log.time", "%v", err)
				}
			}
		}
		if at <= last {
			return nil, bad(line, "log.time", "found a time not after the one before: want rising times")
		}
		if j.Now > 0 && at > j.Now {
			return nil, bad(line, "log.time", "found %s since the start: want nothing after the job's now, %s; is the logger's clock right?", units.DurationText(at), units.DurationText(j.Now))
		}
		last = at
		var outdoors climate.Reading
		both := 0
		for i, c := range cols {
			cell := strings.TrimSpace(row[i])
			if c.kind == "time" || cell == "" {
				continue
			}
			if _, err := strconv.ParseFloat(cell, 64); err == nil && c.unit != "" {
				cell += " " + c.unit
			}
			if c.kind == "rh" || c.kind == "outdoors-rh" {
				var q units.Fraction
				if err := q.UnmarshalText([]byte(cell)); err != nil {
					return nil, bad(line, "log."+c.name, "%v", err)
				}
				if !(q >= 0.01 && q <= 1) {
					return nil, bad(line, "log."+c.name, "found %q: want 1 %% to 100 %%", cell)
				}
				if c.kind == "rh" {
					out.rh = append(out.rh, Humid{at, q})
				} else {
					outdoors.RH = q
					both++
				}
				continue
			}
			var t units.Temperature
			if err := t.UnmarshalText([]byte(cell)); err != nil {
				return nil, bad(line, "log."+c.name, "%v", err)
			}
			low, high := -60.0, 100.0
			if c.kind == "outdoors" {
				low, high = -40, 60
			}
			if k := t.Celsius(); !(k >= low && k <= high) {
				return nil, bad(line, "log."+c.name, "found %q: want %g °C to %g °C", cell, low, high)
			}
			if c.kind == "outdoors" {
				outdoors.Temp = t
				both++
				continue
			}
			traces[i] = append(traces[i], climate.Sample{At: at, Temp: t})
		}
		if both == 2 {
			outdoors.At = at
			out.outdoors = append(out.outdoors, outdoors)
		}
	}
	for i, c := range cols {
		if len(traces[i]) > 0 {
			out.loggers[c.kind] = append(out.loggers[c.kind], Logger{c.name, traces[i]})
		}
	}
	return out, nil
}
