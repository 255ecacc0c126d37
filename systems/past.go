package systems

import (
	"cmp"
	"errors"
	"strconv"
	"strings"
	"time"

	"github.com/tackfree/tackfree/internal/tomlfile"
)

// A DoneWork is what the job says of a step that was begun before now. Of work
// on the whole floor it has one stretch, Whole, or several Sections; of coats
// and what comes after the first of them each section has its own. A coat done
// as a whole on a floor of several sections counts as done on them one after the
// other, in even parts of its time.
type DoneWork struct {
	Whole    *DoneSpan
	Sections map[int]DoneSpan // by section, from 1
	Material string           // really used, if not the one planned, in the film that the job plans for the step, not that of an option with this material; "" if it was that
	Kits     *float64         // opened, of a broadcast bags, as many as its material's Kit or Bag is; nil if not told
}

// A DoneSpan is from when to when work went on.
type DoneSpan struct {
	Start time.Duration
	End   *time.Duration // nil: it was begun and goes on
}

// What the job says of a piece of work of the plan.
const (
	WorkDone    = "done"
	WorkRunning = "running" // begun before now, and not ended then
)

type doneSpanFile struct {
	Start string `toml:"start"`
	End   string `toml:"end"`
}

type doneFile struct {
	Start    string                  `toml:"start"`
	End      string                  `toml:"end"`
	Material string                  `toml:"material"`
	Kits     *float64                `toml:"kits"`
	Sections map[string]doneSpanFile `toml:"sections"`
}

// now reads the moment up to which the past is known.
func (p jobReader) now() error {
	if p.f.Now == "" {
		if len(p.f.Done) > 0 {
			return p.bad("done", "found work done without now: want now, the moment up to which it is told, such as \"30h\"")
		}
		return nil
	}
	t, err := moment(p.f.Now, p.j.Start)
	if err != nil {
		return p.bad("now", "%v", err)
	}
	if t < 0 {
		return p.bad("now", "found %q, which is before the start: want a time from the start on", p.f.Now)
	}
	p.j.Now = t
	return nil
}

// done reads what is done, before the materials are resolved.
func (p jobReader) done() error {
	var errs []error
	p.j.Done = map[string]DoneWork{}
	for _, id := range p.d.Under("done") {
		w, err := p.doneStep(id)
		errs = append(errs, err)
		p.j.Done[id] = w
	}
	return errors.Join(errs...)
}

func (p jobReader) doneStep(id string) (w DoneWork, err error) {
	f, at := p.f.Done[id], "done/"+id
	s, ok := p.j.Recipe.Steps[id]
	switch {
	case !ok:
		return w, p.bad(at, "found step %q, which the recipe does not have: want %s", id, tomlfile.OneOf(id, p.j.Recipe.order))
	case p.j.skip[id]:
		return w, p.bad(at, "found step %q, which the job skips: want it done or skipped", id)
	case len(f.Sections) > 0 && (p.d.Defined("done", id, "start") || p.d.Defined("done", id, "end")):
		return w, p.bad(at, "found start or end beside sections: want one of them")
	case len(f.Sections) == 0:
		x, err := p.doneSpan(doneSpanFile{f.Start, f.End}, at)
		if err != nil {
			return w, err
		}
		w.Whole = &x
	}
	for _, key := range p.d.Under("done", id, "sections") {
		n, err := strconv.Atoi(key)
		if most := cmp.Or(p.j.Sections, mostSections); err != nil || n < 1 || n > most || key != strconv.Itoa(n) { // "1" and "01" would be one section twice
			return w, p.d.Errorf([]string{"done", id, "sections", key}, "found section %q: want 1 to %d, without a sign or a zero before it", key, most)
		}
		x, err := p.doneSpan(f.Sections[key], at+"/sections/"+key)
		if err != nil {
			return w, err
		}
		if w.Sections == nil {
			w.Sections = map[int]DoneSpan{}
		}
		w.Sections[n] = x
	}
	if p.d.Defined("done", id, "material") {
		if f.Material == "" {
			return w, p.bad(at+"/material", "found \"\": want a material of the kind planned, or none where that one was used")
		}
		if err := p.otherMaterial(&s, f.Material, at+"/material"); err != nil {
			return w, err
		}
		w.Material = f.Material
		p.j.Recipe.Steps[id] = s
	}
	if f.Kits != nil {
		if s.Material == "" {
			return w, p.bad(at+"/kits", "found kits of a step that takes no material: want none")
		}
		if !(*f.Kits > 0 && *f.Kits <= 1e5) {
			return w, p.bad(at+"/kits", "found %v: want above 0 to 100000, parts of one as 3.5", *f.Kits)
		}
		w.Kits = f.Kits
	}
	return w, nil
}

func (p jobReader) doneSpan(f doneSpanFile, at string) (x DoneSpan, err error) {
	path := strings.Split(at, "/")
	if p.d.Defined(append(path, "end")...) && f.End == "" {
		return x, p.bad(at+"/end", "found \"\": want a time up to now, or no end of work that goes on")
	}
	if !p.d.Defined(append(path, "start")...) {
		return x, p.bad(at, "found no start: want when it was begun, since the start of the job or with offset")
	}
	if x.Start, err = moment(f.Start, p.j.Start); err != nil {
		return x, p.bad(at+"/start", "%v", err)
	}
	if x.Start < 0 || x.Start > p.j.Now {
		return x, p.bad(at+"/start", "found %q: want a time from the job's start up to now", f.Start)
	}
	if f.End == "" {
		return x, nil
	}
	end, err := moment(f.End, p.j.Start)
	if err != nil {
		return x, p.bad(at+"/end", "%v", err)
	}
	if end < x.Start {
		return x, p.bad(at+"/end", "found %q, which is before its start %q: want a later time", f.End, f.Start)
	}
	if end > p.j.Now {
		return x, p.bad(at+"/end", "found %q, which is after now: want a time up to now, or none of work that goes on", f.End)
	}
	x.End = &end
	return x, nil
}
