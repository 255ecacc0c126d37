package systems

import (
	"errors"
	"io"
	"io/fs"
	"maps"
	"path"
	"strings"
	"time"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/tomlfile"
)

// A Job is one floor to be built: what was typed in, with the recipe and the
// materials resolved and the user's own figures put over theirs. Make one with
// [ReadJob] or [ReadJobFS].
type Job struct {
	Name, Place string
	Start       time.Time
	Recipe      Recipe
	Areas       []Area
	Patches     []PatchWork
	Joints      []JointWork
	Cracks      []JointWork // chased: as wide and deep as they are to be filled
	Grits       []string
	Crew        Crew
	Slab        SlabState
	Weather     Weather
	Sections    int // 0: as many as the crew needs
	Margin      Limit
	Profile     int64              // of the prepared slab, CSP 1 to 10; 0 if not given
	VOC         *coverage.VOCLimit // of volatile organic compounds; nil if the job names none
	Moisture    string             // id of the slab moisture limit that applies in place of the materials' own, or ""
	Goal        Goal               // of [decide], for Decide; zero if the job has none
	Site        *Site              // nil if the job has no [room]

	// What is before Now has happened: it is placed as Done tells, and all other
	// work starts then or later. Zero: nothing is done yet.
	Now  time.Duration
	Done map[string]DoneWork // by step

	catalog   *Catalog
	materials map[string]*Material // by the name a step uses; not to be changed
	skip      map[string]bool
	overrides map[string]Material      // by id, figures of the job's own data sheets
	held      map[string]time.Duration // by step: it does not start before
	ifs       whatIfs                  // disturbances by the name of their table
	lack      []lack                   // hands that are missing
	keep      *kept                    // the plan whose starts are kept, or nil
	layout    string                   // of times in the words of disturbances; "": as all text has them
	order     *heldOrder               // of its sections, or nil
	steps     map[string]*Step         // of an alternative: those of its plan, but for what it changes; else nil
	given     Weather                  // typed in or logged: it wins over the site's forecast
	logged    Weather                  // of it, what a logger read
	input     Input
	prices    *Prices           // nil: none given
	past      []PastUse         // in the order of the file
	methods   map[string]string // by coat: how it is put down, if the job says so
}

// ReadJob reads a job file and resolves it against c. Every fault is a
// [*FileError] that names line, key, what was found and what is allowed. A
// logger's readings stand in the file itself (temperatures.log); for a file
// that names another (temperatures.log_file) use [ReadJobFS].
func ReadJob(r io.Reader, c *Catalog) (Job, error) { return readJob(r, "job", nil, c) }

// ReadJobFS reads the job file called name in fsys; a logger's CSV file that
// it names is read from the same folder.
func ReadJobFS(fsys fs.FS, name string, c *Catalog) (Job, error) {
	if fsys == nil {
		return Job{}, errors.New("systems.ReadJobFS: file tree = nil: want the folder of the job")
	}
	f, err := fsys.Open(name)
	if err != nil {
		return Job{}, err
	}
	defer f.Close()
	return readJob(f, name, func(file string) ([]byte, error) { return fs.ReadFile(fsys, path.Join(path.Dir(name), file)) }, c)
}

const maxJobBytes = 8 << 20

func readJob(r io.Reader, name string, open func(string) ([]byte, error), c *Catalog) (Job, error) {
	if c == nil {
		return Job{}, errors.New("systems.ReadJob: catalog = nil: want one from Builtin or Load")
	}
	if r == nil {
		return Job{}, errors.New("systems.ReadJob: reader = nil: want the text of a job")
	}
	text, err := io.ReadAll(io.LimitReader(r, maxJobBytes+1))
	if err != nil {
		return Job{}, err
	}
	if len(text) > maxJobBytes {
		return Job{}, &FileError{File: name, Problem: "longer than 8 MiB"}
	}
	var f jobFile
	d, err := tomlfile.Decode(name, text, &f)
	if err == nil {
		err = edition(d)
	}
	if err != nil {
		return Job{}, err
	}
	j := Job{Name: f.Name, Place: f.Place, catalog: c, materials: map[string]*Material{}, skip: map[string]bool{}, overrides: map[string]Material{}, held: map[string]time.Duration{}, methods: map[string]string{}, input: Input{Name: name, Text: string(text)}}
	p := jobReader{d: d, f: &f, j: &j, c: c, open: open}
	if err := p.all(); err != nil {
		return Job{}, err
	}
	return j, nil
}

type jobReader struct {
	d    *tomlfile.Doc
	f    *jobFile
	j    *Job
	c    *Catalog
	open func(string) ([]byte, error)
}

func (p jobReader) bad(key string, format string, args ...any) error {
	return p.d.Errorf(strings.Split(key, "/"), format, args...)
}

// all reads every part and gathers the faults. A part that hangs on another is
// left out where that one is at fault: what it would say might not be true.
func (p jobReader) all() error {
	var errs []error
	sound := func(read func() error) bool {
		err := read()
		errs = append(errs, err)
		return err == nil
	}
	start, recipe, areas := sound(p.head), sound(p.recipe), sound(p.areas)
	sound(p.joints)
	crew := sound(p.crew)
	sound(p.slab)
	sound(p.volatiles)
	prices := sound(p.prices)
	sound(p.past)
	overrides := sound(p.overrides)
	if prices && overrides {
		sound(p.kitPrices)
	}
	if areas {
		sound(p.patches)
	}
	now := start && sound(p.now)
	weather := now && areas && sound(p.room) && sound(p.weather)
	if now && recipe && sound(p.steps) && sound(p.done) && overrides && sound(p.resolve) {
		sound(p.decide)
		if areas {
			sound(p.before)
		}
		if weather && crew {
			sound(p.whatIf)
		}
	}
	return tomlfile.Gather(errs...)
}

func (p jobReader) head() error {
	if strings.TrimSpace(p.f.Name) == "" {
		return p.bad("name", "not given: want the job's name")
	}
	t, err := time.Parse(time.RFC3339, p.f.Start)
	if err != nil {
		return p.bad("start", "found %q: want a time with offset such as 2026-04-07T07:00:00-04:00", p.f.Start)
	}
	if t.Year() < 1900 || t.Year() > 2200 {
		return p.bad("start", "found %q: want a year from 1900 to 2200", p.f.Start)
	}
	p.j.Start = t.In(OffsetOf(t)) // Parse takes the machine's own zone, with its daylight saving, where the offset fits
	return nil
}

func (p jobReader) recipe() error {
	r, err := p.c.Recipe(p.f.Recipe)
	if err != nil {
		return p.bad("recipe", "found %q: %w", p.f.Recipe, err)
	}
	r.Steps = maps.Clone(r.Steps)
	p.j.Recipe = r
	margin := r.Margin
	if p.f.Limits.Margin != "" {
		margin = p.f.Limits.Margin
	}
	l, err := p.c.Limit(margin)
	if err != nil {
		return p.bad("limits/margin", "%w", err)
	}
	if err := new(units.TempDelta).UnmarshalText([]byte(l.Value)); err != nil {
		return p.bad("limits/margin", "found %q, which is not a temperature difference: want a dew-point rule", margin)
	}
	p.j.Margin = l
	if id := p.f.Limits.Moisture; id != "" {
		l, err := p.c.Limit(id)
		if err != nil {
			return p.bad("limits/moisture", "%w", err)
		}
		if l.Quantity != "mass flux" && (l.Quantity != "fraction" || !strings.HasPrefix(id, "moisture-")) {
			return p.bad("limits/moisture", "found %q, which is not a limit of slab moisture: want an emission, or a humidity whose id begins with moisture-", id)
		}
		p.j.Moisture = id
	}
	return nil
}

// within checks a length-like figure of the job.
func within[Q ~float64](p jobReader, key string, q, lo, hi Q, want string) error {
	if q >= lo && q <= hi {
		return nil
	}
	return p.bad(key, "found %v: want %s", any(q), want)
}
