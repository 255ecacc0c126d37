package learn

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"path"
	"strconv"
	"strings"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/tomlfile"
	"github.com/tackfree/tackfree/systems"
)

type usedFile struct {
	Of   string        `toml:"of"`
	Area *units.Area   `toml:"area"`
	Used *units.Volume `toml:"used"`
	Kits *float64      `toml:"kits"`
}

type grainFile struct {
	Thrown   *units.Mass `toml:"thrown"`
	Vacuumed *units.Mass `toml:"vacuumed"`
}

type workFile struct {
	Area   *units.Area   `toml:"area"`
	Length *units.Length `toml:"length"`
	Count  int64         `toml:"count"`
	Time   *units.Span   `toml:"time"`
	Setup  *units.Span   `toml:"setup"`
	Hands  int64         `toml:"hands"`
	Passes int64         `toml:"passes"`
}

type readingsFile struct {
	Schema  int64  `toml:"schema"`
	Kind    string `toml:"kind"` // "readings"
	Loggers struct {
		Log          string            `toml:"log"`
		LogFile      string            `toml:"log_file"`
		GroundDepth  *units.Length     `toml:"ground_depth"`
		DeepWithin   *units.TempDelta  `toml:"deep_within"`
		Conductivity bool              `toml:"conductivity"`
		Heat         map[string]string `toml:"heat"` // on or off, by time
	} `toml:"loggers"`
	Used  map[string]map[string]usedFile  `toml:"used"`
	Wet   map[string][]string             `toml:"wet"`
	Grain map[string]map[string]grainFile `toml:"grain"`
	Work  map[string]map[string]workFile  `toml:"work"`
}

// Read reads a file of readings of a job: TOML, with the loggers' readings as
// CSV in loggers.log. Its times are since the job's start, or RFC 3339 with
// offset. Every fault is a [*systems.FileError] that names line, key, what was
// found and what is allowed.
//
// The columns of the CSV are time, and by the first word of their heading air,
// surface, ground, rh, outdoors or outdoors-rh, each with its unit in brackets;
// what follows the first word is the logger's name: "surface door (°F)".
func Read(r io.Reader, j systems.Job) (Readings, error) { return read(r, "readings", nil, j) }

// ReadFS reads the file called name in fsys; a CSV file that it names
// (loggers.log_file) is read from the same folder.
func ReadFS(fsys fs.FS, name string, j systems.Job) (Readings, error) {
	f, err := fsys.Open(name)
	if err != nil {
		return Readings{}, err
	}
	defer f.Close()
	return read(f, name, func(file string) ([]byte, error) { return fs.ReadFile(fsys, path.Join(path.Dir(name), file)) }, j)
}

func read(r io.Reader, name string, open func(string) ([]byte, error), j systems.Job) (Readings, error) {
	text, err := io.ReadAll(io.LimitReader(r, tomlfile.MaxBytes+1))
	if err != nil {
		return Readings{}, err
	}
	var f readingsFile
	d, err := tomlfile.Decode(name, bytes.TrimPrefix(text, []byte("\ufeff")), &f)
	if err != nil {
		return Readings{}, err
	}
	p := reader{d, &f, &j, open}
	var out Readings
	var errs []error
	if f.Kind != "readings" {
		errs = append(errs, p.bad("kind", "found %q: want readings", f.Kind))
	}
	if d.Defined("schema") && f.Schema != 1 {
		errs = append(errs, p.bad("schema", "found %d: want 1", f.Schema))
	}
	errs = append(errs, p.loggers(&out), p.used(&out), p.wet(&out), p.grain(&out), p.work(&out))
	if err := tomlfile.Gather(errs...); err != nil {
		return Readings{}, err
	}
	if err := out.check(&j); err != nil {
		return Readings{}, &systems.FileError{File: name, Problem: strings.ReplaceAll(err.Error(), "\n", "; "), Err: err}
	}
	return out, nil
}

type reader struct {
	d    *tomlfile.Doc
	f    *readingsFile
	j    *systems.Job
	open func(string) ([]byte, error)
}

func (p reader) bad(key, format string, args ...any) error {
	return p.d.Errorf(strings.Split(key, "/"), format, args...)
}

func (p reader) step(table, id string) error {
	if s, ok := p.j.Recipe.Steps[id]; !ok || p.j.Skips(id) {
		return p.bad(table+"/"+id, "found step %q, which the job does not have or skips: want %s", id, tomlfile.OneOf(id, p.j.Recipe.Order()))
	} else if want := map[string]bool{"used": s.Does == systems.Coat, "wet": s.Does == systems.Coat, "grain": s.Does == systems.Broadcast, "work": s.Does != systems.Condition}; !want[table] {
		return p.bad(table+"/"+id, "found step %q, which does %s: want a step that such readings are of", id, s.Does)
	}
	return nil
}

func (p reader) used(out *Readings) error {
	var errs []error
	for _, id := range p.d.Under("used") {
		if err := p.step("used", id); err != nil {
			errs = append(errs, err)
			continue
		}
		for _, name := range p.d.Under("used", id) {
			f, at := p.f.Used[id][name], "used/"+id+"/"+name
			u := Used{Step: id, Name: name, Of: f.Of}
			if f.Area == nil || (f.Used == nil) == (f.Kits == nil) {
				errs = append(errs, p.bad(at, "found no area, or not one of used and kits: want the area done and how much went on it"))
				continue
			}
			if u.Area = *f.Area; f.Used != nil {
				u.Used = *f.Used
			} else if m, ok := p.j.MaterialOf(id); ok {
				u.Used = m.Kit.Q * units.Volume(*f.Kits)
			}
			if key, problem := u.fault(p.j); problem != "" {
				if key == "used" && f.Kits != nil {
					key, problem = "kits", fmt.Sprintf("found %g: want above nothing", *f.Kits)
				}
				errs = append(errs, p.bad(at+"/"+key, "%s", problem))
			}
			out.Used = append(out.Used, u)
		}
	}
	return errors.Join(errs...)
}

func (p reader) wet(out *Readings) error {
	var errs []error
	for _, id := range p.d.Under("wet") {
		if err := p.step("wet", id); err != nil {
			errs = append(errs, err)
			continue
		}
		w := Wet{Step: id}
		if len(p.f.Wet[id]) == 0 {
			errs = append(errs, p.bad("wet/"+id, "found no readings: want wet films such as \"10 mil\""))
		}
		for i, text := range p.f.Wet[id] {
			var l units.Length
			if err := l.UnmarshalText([]byte(text)); err != nil {
				errs = append(errs, p.bad("wet/"+id, "reading %d: %w", i+1, err))
			} else if !(l > 0 && l <= 1) {
				errs = append(errs, p.bad("wet/"+id, "reading %d: found %q: want above 0 mil to 1 m", i+1, text))
			}
			w.Readings = append(w.Readings, l)
		}
		out.Wet = append(out.Wet, w)
	}
	return errors.Join(errs...)
}

func (p reader) grain(out *Readings) error {
	var errs []error
	for _, id := range p.d.Under("grain") {
		if err := p.step("grain", id); err != nil {
			errs = append(errs, err)
			continue
		}
		for _, name := range p.d.Under("grain", id) {
			f, at := p.f.Grain[id][name], "grain/"+id+"/"+name
			if f.Thrown == nil || f.Vacuumed == nil {
				errs = append(errs, p.bad(at, "found no thrown or no vacuumed: want both"))
				continue
			}
			if !(*f.Thrown > 0 && *f.Vacuumed >= 0 && *f.Vacuumed <= *f.Thrown) {
				errs = append(errs, p.bad(at, "found %v thrown and %v vacuumed back: want no more back than was thrown", *f.Thrown, *f.Vacuumed))
			}
			out.Grain = append(out.Grain, Grain{id, name, *f.Thrown, *f.Vacuumed})
		}
	}
	return errors.Join(errs...)
}

func (p reader) work(out *Readings) error {
	var errs []error
	for _, id := range p.d.Under("work") {
		if err := p.step("work", id); err != nil {
			errs = append(errs, err)
			continue
		}
		for _, name := range p.d.Under("work", id) {
			f, at := p.f.Work[id][name], "work/"+id+"/"+name
			w := Work{Step: id, Name: name, Count: int(f.Count), Hands: int(f.Hands), Passes: int(f.Passes)}
			if f.Time == nil {
				errs = append(errs, p.bad(at, "found no time: want how long the hands worked"))
				continue
			}
			w.Time = f.Time.Duration()
			if f.Setup != nil {
				w.Setup = f.Setup.Duration()
			}
			if f.Area != nil {
				w.Area = *f.Area
			}
			if f.Length != nil {
				w.Length = *f.Length
			}
			if key, problem := w.fault(p.j); problem != "" {
				errs = append(errs, p.bad(path.Join(at, key), "%s", problem))
			}
			out.Work = append(out.Work, w)
		}
	}
	return errors.Join(errs...)
}

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
		s := &Slab{Slab: site.Room.Slab, Air: all.loggers["air"], Surface: all.loggers["surface"], Ground: all.loggers["ground"], Conductivity: f.Conductivity}
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
