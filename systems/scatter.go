package systems

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/tomlfile"
)

// A Scatter is by how much a kind of amount comes out other than planned, from
// job to job: a factor on the planned figure, with its shape. It is an entry of
// a data/scatter file. Package confidence draws from it.
type Scatter struct {
	ID     string          `toml:"-" json:"id"`
	What   string          `toml:"what" json:"what"`
	Shape  string          `toml:"shape" json:"shape"`             // one of [Shapes]
	Mean   units.Fraction  `toml:"mean" json:"mean"`               // of the factor: 100 % is as planned
	Spread *units.Fraction `toml:"spread" json:"spread,omitempty"` // standard deviation by mean; of a triangle it follows from the ends
	Low    *units.Fraction `toml:"low" json:"low,omitempty"`       // ends, of triangular and beta
	High   *units.Fraction `toml:"high" json:"high,omitempty"`     //
	Shared units.Fraction  `toml:"shared" json:"shared,omitempty"` // share of the variance that the steps of one job have in common
	Worth  int64           `toml:"worth" json:"worth"`             // jobs that it counts for beside the contractor's own
	Basis  Basis           `toml:"basis" json:"basis"`             //
	Source string          `toml:"source" json:"source,omitempty"` //
	At     string          `toml:"at" json:"at,omitempty"`         //
	Note   string          `toml:"note" json:"note,omitempty"`     //

	file FileID
}

// The shapes of a scatter.
const (
	Normal     = "normal"     // cut off at nothing; for small spreads
	Lognormal  = "lognormal"  // its logarithm is normal
	Triangular = "triangular" // low, high and the mean between
	Beta       = "beta"       // low, high, mean and spread
)

// Shapes lists the shapes that a scatter may have.
func Shapes() []string { return []string{Normal, Lognormal, Triangular, Beta} }

// What scatters, beside the films of coats ("film-roller": a method after
// [FilmOf]).
const (
	ScatterUptake     = "uptake"
	ScatterProfile    = "profile"
	ScatterHeld       = "held"
	ScatterVoids      = "voids"
	ScatterLoose      = "loose"
	ScatterPatchDepth = "patch-depth"
	ScatterPatchArea  = "patch-area"
	ScatterJointWidth = "joint-width"
	ScatterJointDepth = "joint-depth"
	ScatterCrackWidth = "crack-width"
	ScatterCrackDepth = "crack-depth"
	ScatterCove       = "cove"
	ScatterWaste      = "waste"
	ScatterHours      = "hours"
	ScatterFuel       = "fuel"
)

const filmOf = "film-"

// FilmOf returns the id of the scatter of films put down by a method.
func FilmOf(method string) string { return filmOf + method }

func scatterIDs() []string {
	return []string{ScatterUptake, ScatterProfile, ScatterHeld, ScatterVoids, ScatterLoose, ScatterPatchDepth, ScatterPatchArea, ScatterJointWidth,
		ScatterJointDepth, ScatterCrackWidth, ScatterCrackDepth, ScatterCove, ScatterWaste, ScatterHours, ScatterFuel}
}

// knownScatter reports whether id is the name of something that scatters.
func knownScatter(id string) bool {
	return slices.Contains(scatterIDs(), id) || strings.HasPrefix(id, filmOf) && len(id) > len(filmOf)
}

type scatterFile struct {
	Schema  int64              `toml:"schema"`
	Kind    string             `toml:"kind"`
	ID      string             `toml:"id"`
	Version string             `toml:"version"`
	Name    string             `toml:"name"`
	Scatter map[string]Scatter `toml:"scatter"`
}

// readScatter reads a file under scatter.
func (c *Catalog) readScatter(r *tomlfile.Reader, name string, text []byte, id FileID) (*dataSet, error) {
	var f scatterFile
	d, err := r.Decode(name, text, &f)
	if err != nil {
		return nil, err
	}
	id.Kind, id.ID, id.Version = f.Kind, f.ID, f.Version
	if f.Kind != "scatter" {
		return nil, d.Errorf([]string{"kind"}, "found %q: want scatter", f.Kind)
	}
	if err := versioned(d, f.ID, f.Version); err != nil {
		return nil, err
	}
	var errs []error
	all := map[string]Scatter{}
	for _, key := range d.Under("scatter") {
		s := f.Scatter[key]
		s.ID, s.file = key, id
		at := []string{"scatter", key}
		if !knownScatter(key) {
			errs = append(errs, d.Errorf(at, "found scatter of %q: want film- and a method, or %s", key, tomlfile.OneOf(key, scatterIDs())))
		}
		if key, problem := s.check(); problem != "" {
			errs = append(errs, d.Errorf(append(slices.Clone(at), key), "%s", problem))
		}
		if err := s.Basis.check(); err != nil {
			errs = append(errs, d.Errorf(append(slices.Clone(at), "basis"), "%w", err))
		} else if problem := c.unsourced(s.origin()); problem != "" {
			errs = append(errs, d.Errorf(append(slices.Clone(at), "source"), "%s", problem))
		}
		all[key] = s
	}
	return &dataSet{FileID: id, doc: d, scatter: all}, tomlfile.Gather(errs...)
}

// check looks at a scatter's own figures; it returns a key and what is wrong.
func (s *Scatter) check() (key, problem string) {
	if !slices.Contains(Shapes(), s.Shape) {
		return "shape", fmt.Sprintf("found %q: want %s", s.Shape, tomlfile.OneOf(s.Shape, Shapes()))
	}
	if !(s.Mean >= 0.2 && s.Mean <= 5) {
		return "mean", fmt.Sprintf("found %v: want 20 %% to 500 %%", s.Mean)
	}
	ends := s.Shape == Triangular || s.Shape == Beta
	for _, end := range []struct {
		key string
		at  *units.Fraction
	}{{"low", s.Low}, {"high", s.High}} {
		if ends != (end.at != nil) {
			return end.key, "found an end of a shape that has none, or none of one that has: want low and high for triangular and beta only"
		}
	}
	if ends && !(*s.Low > 0 && *s.Low < s.Mean && s.Mean < *s.High && *s.High <= 20) {
		return "low", fmt.Sprintf("found %v to %v about %v: want low above 0 %%, then mean, then high, at most 2000 %%", *s.Low, *s.High, s.Mean)
	}
	if (s.Shape == Triangular) == (s.Spread != nil) {
		return "spread", "found a spread of a triangle, whose ends say it, or none of another shape: want one for all shapes but triangular"
	}
	switch s.Shape {
	case Normal:
		if !(*s.Spread >= 0 && *s.Spread <= 0.3) {
			return "spread", fmt.Sprintf("found %v: want 0 %% to 30 %%, or another shape, since a normal one would often fall below nothing", *s.Spread)
		}
	case Lognormal:
		if !(*s.Spread >= 0 && *s.Spread <= 2) {
			return "spread", fmt.Sprintf("found %v: want 0 %% to 200 %%", *s.Spread)
		}
	case Triangular:
		if mode := 3*s.Mean - *s.Low - *s.High; !(mode >= *s.Low && mode <= *s.High) {
			return "mean", fmt.Sprintf("found %v: want it in the middle third, %v to %v, or the triangle has no top", s.Mean, (2**s.Low+*s.High)/3, (*s.Low+2**s.High)/3)
		}
	case Beta:
		x, y := s.Mean-*s.Low, *s.High-s.Mean
		if sd := *s.Spread * s.Mean; !(sd > 0 && sd*sd < x*y) {
			return "spread", fmt.Sprintf("found %v: want one above 0 %% that fits between low and high", *s.Spread)
		}
	}
	if !(s.Shared >= 0 && s.Shared <= 1) {
		return "shared", fmt.Sprintf("found %v: want 0 %% to 100 %%", s.Shared)
	}
	if s.Worth != 0 && (s.Worth < 3 || s.Worth > 1000) {
		return "worth", fmt.Sprintf("found %d: want 0, or 3 to 1000 jobs", s.Worth)
	}
	return "", ""
}

// Method returns the method of a film's scatter, or "" of another one.
func (s *Scatter) Method() string {
	method, _ := strings.CutPrefix(s.ID, filmOf)
	if method == s.ID {
		return ""
	}
	return method
}

func (s *Scatter) origin() Origin { return Origin{s.Basis, s.Source, s.At, s.Note} }

func (s Scatter) from() FileID { return s.file }

// text says the scatter in words.
func (s *Scatter) text() string {
	t := fmt.Sprintf("%s, mean %s", s.Shape, units.Format(s.Mean, units.SI))
	if s.Spread != nil {
		t += ", spread " + units.Format(*s.Spread, units.SI)
	}
	if s.Low != nil && s.High != nil {
		t += fmt.Sprintf(", %s to %s", units.Format(*s.Low, units.SI), units.Format(*s.High, units.SI))
	}
	return t
}

// Figure returns the scatter as a figure, in words and with its basis.
func (s *Scatter) Figure() Figure {
	return Figure{Where: "scatter " + s.ID, Text: s.text(), Origin: s.origin()}
}

// File returns the data file that the scatter stands in.
func (s *Scatter) File() FileID { return s.file }

// Scatter returns the scatter called id.
func (c *Catalog) Scatter(id string) (Scatter, error) { return one(c.scatter, "scatter", id) }

// Scatters lists the ids of the scatters.
func (c *Catalog) Scatters() []string { return slices.Sorted(maps.Keys(c.scatter)) }

// Methods lists the methods of laying a film that the catalog knows the scatter of.
func (c *Catalog) Methods() []string {
	var all []string
	for _, id := range c.Scatters() {
		if s := c.scatter[id]; s.Method() != "" {
			all = append(all, s.Method())
		}
	}
	return all
}
