package learn

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/logfile"
	"github.com/tackfree/tackfree/systems"
)

func (p reader) loggers(out *Readings) error {
	f := &p.f.Loggers
	if !p.d.Defined("loggers") {
		return nil
	}
	text, file, lineOf := []byte(f.Log), p.d.Name, func(row int) int { return p.d.TextLine(row, "loggers", "log") }
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
		file, lineOf = f.LogFile, func(row int) int { return row }
	}
	all, err := readLog(text, file, lineOf, p.j)
	if err != nil {
		return err
	}
	site := p.j.Site
	if site == nil {
		return p.bad("loggers", "found loggers, and the job has no [room]: want one, with its slab")
	}
	heat, err := p.heat()
	if err != nil {
		return err
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
		out.Room = &Room{Room: site.Room, Outdoors: all.outdoors, Air: all.loggers["air"], RH: all.rh, Heat: heat, Surface: all.loggers["surface"], AtRest: f.AtRest}
	}
	return nil
}

// heat reads when the heat was put on and off.
func (p reader) heat() (heat []Switch, err error) {
	for _, key := range p.d.Under("loggers", "heat") {
		at, err := p.j.Moment(key)
		if err != nil {
			return nil, p.bad("loggers/heat/"+key, "%v", err)
		}
		word := p.f.Loggers.Heat[key]
		if word != "on" && word != "off" {
			return nil, p.bad("loggers/heat/"+key, "found %q: want on or off", word)
		}
		if len(heat) > 0 && at <= heat[len(heat)-1].At {
			return nil, p.bad("loggers/heat/"+key, "found time %q not after the one before: want rising times", key)
		}
		heat = append(heat, Switch{at, word == "on"})
	}
	return heat, nil
}

// A logged file is what loggers read, by the kind of their columns.
type loggedFile struct {
	loggers  map[string][]Logger
	rh       []Humid
	outdoors climate.Weather
}

const wantColumns = "a heading with time, and columns that begin with air, surface, ground, rh, outdoors or outdoors-rh, such as surface door (°F)"

// kindOf is the first word of a column, which says what it is of.
func kindOf(c logfile.Column) string {
	kind, _, _ := strings.Cut(c.Name, " ")
	return kind
}

// checkColumns refuses headings that say nothing, or two of what there can be one of.
func checkColumns(log *logfile.Log) error {
	seen := map[string]bool{}
	for _, c := range log.Columns {
		kind := kindOf(c)
		switch kind {
		case "air", "surface", "ground":
		case "rh", "outdoors", "outdoors-rh":
			if seen[kind] {
				return &logfile.Fault{Line: log.Line, Problem: fmt.Sprintf("found column %q, a second one of %s: want one", c.Text, kind)}
			}
		default:
			if c.Name != "time" {
				return &logfile.Fault{Line: log.Line, Problem: fmt.Sprintf("found column %q: want %s", c.Text, wantColumns)}
			}
		}
		seen[kind] = true
	}
	if seen["outdoors"] != seen["outdoors-rh"] {
		return &logfile.Fault{Line: log.Line, Problem: "found one of outdoors and outdoors-rh alone: want both"}
	}
	return nil
}

// readLog reads the loggers' CSV, of which lineOf says which line of the file is one
// of the text.
func readLog(text []byte, file string, lineOf func(int) int, j *systems.Job) (*loggedFile, error) {
	out, err := readRows(text, j)
	if wrong := (*logfile.Fault)(nil); errors.As(err, &wrong) {
		return nil, &systems.FileError{File: file, Line: lineOf(wrong.Line), Key: wrong.In("log"), Problem: wrong.Problem}
	}
	return out, err
}

func readRows(text []byte, j *systems.Job) (*loggedFile, error) {
	log, err := logfile.Open(text, wantColumns, j.Moment)
	if err == nil {
		err = checkColumns(log)
	}
	if err != nil {
		return nil, err
	}
	out := &loggedFile{loggers: map[string][]Logger{}}
	traces := make([]climate.Trace, len(log.Columns))
	for {
		row, err := log.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		if j.Now > 0 && row.At > j.Now {
			return nil, &logfile.Fault{Line: row.Line, Column: "time", Problem: fmt.Sprintf("found %s since the start: want nothing after the job's now, %s; is the logger's clock right?", units.DurationText(row.At), units.DurationText(j.Now))}
		}
		if err := out.take(row, log.Columns, traces); err != nil {
			return nil, err
		}
	}
	for i, c := range log.Columns {
		if len(traces[i]) > 0 {
			out.loggers[kindOf(c)] = append(out.loggers[kindOf(c)], Logger{c.Name, traces[i]})
		}
	}
	return out, nil
}

// take takes a row over: temperatures of loggers into their traces, the weather
// outdoors where the row has both of it.
func (out *loggedFile) take(row logfile.Row, columns []logfile.Column, traces []climate.Trace) error {
	outdoors := climate.Reading{At: row.At}
	both := 0
	for i, cell := range row.Cells {
		if cell == "" {
			continue
		}
		var t units.Temperature
		var q units.Fraction
		var err error
		kind := kindOf(columns[i])
		switch kind {
		case "rh", "outdoors-rh":
			if err = q.UnmarshalText([]byte(cell)); err == nil && !(q >= 0.01 && q <= 1) {
				err = fmt.Errorf("found %q: want 1 %% to 100 %%", cell)
			}
		default:
			low, high := -60.0, 100.0
			if kind == "outdoors" {
				low, high = -40, 60
			}
			if err = t.UnmarshalText([]byte(cell)); err == nil && !(t.Celsius() >= low && t.Celsius() <= high) {
				err = fmt.Errorf("found %q: want %g °C to %g °C", cell, low, high)
			}
		}
		if err != nil {
			return row.Bad(columns[i], "%v", err)
		}
		switch kind {
		case "rh":
			out.rh = append(out.rh, Humid{row.At, q})
		case "outdoors-rh":
			outdoors.RH = q
			both++
		case "outdoors":
			outdoors.Temp = t
			both++
		default:
			traces[i] = append(traces[i], climate.Sample{At: row.At, Temp: t})
		}
	}
	if both == 2 {
		out.outdoors = append(out.outdoors, outdoors)
	}
	return nil
}
