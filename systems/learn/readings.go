package learn

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"strings"

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
		AtRest       bool              `toml:"at_rest"`
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
// The columns of the CSV, with commas between them and points in numbers, are time,
// and by the first word of their heading air, surface, ground, rh, outdoors or
// outdoors-rh, each with its unit in brackets; what follows the first word is the
// logger's name: "surface door (°F)". loggers.at_rest is AtRest of [Slab] and [Room].
func Read(r io.Reader, j systems.Job) (Readings, error) { return read(r, "readings", nil, j) }

// ReadFS reads the file called name in fsys; a CSV file that it names
// (loggers.log_file) is read from the same folder.
func ReadFS(fsys fs.FS, name string, j systems.Job) (Readings, error) {
	if fsys == nil {
		return Readings{}, errors.New("learn.ReadFS: file tree = nil: want the folder of the readings")
	}
	f, err := fsys.Open(name)
	if err != nil {
		return Readings{}, err
	}
	defer f.Close()
	return read(f, name, func(file string) ([]byte, error) { return fs.ReadFile(fsys, path.Join(path.Dir(name), file)) }, j)
}

func read(r io.Reader, name string, open func(string) ([]byte, error), j systems.Job) (Readings, error) {
	if r == nil {
		return Readings{}, errors.New("learn.Read: reader = nil: want the text of a file of readings")
	}
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
				errs = append(errs, p.bad(at, "found %s thrown and %s vacuumed back: want no more back than was thrown", shown(*f.Thrown), shown(*f.Vacuumed)))
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
