package systems

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/tomlfile"
)

// A Recipe is one file of data/recipes: the steps of a floor, in their order.
type Recipe struct {
	Schema   int64                `toml:"schema"`
	Kind     string               `toml:"kind"` // "recipe"
	ID       string               `toml:"id"`
	Version  string               `toml:"version"`
	Name     string               `toml:"name"`
	Margin   string               `toml:"margin"` // id of the dew-point margin limit
	Build    Limits[units.Length] `toml:"build"`  // thickness of the finished floor
	Relief   Value[units.Length]  `toml:"relief"` // scratch relief that shows through a clear or thin coat
	Cautions []string             `toml:"cautions"`
	Steps    map[string]Step      `toml:"steps"`

	order []string // keys of Steps as they stand in the file
	file  FileID
}

// What a step does.
const (
	Survey    = "survey"    // sound the slab, mark, measure
	FillPatch = "patch"     // fill hollow or broken spots
	FillJoint = "joint"     // fill joints
	FillCrack = "crack"     // fill chased cracks
	Cove      = "cove"      // form the cove base
	Condition = "condition" // bring the room to temperature and hold it
	Grind     = "grind"     // grind by the job's grit steps
	Clean     = "clean"     // vacuum and wipe
	Coat      = "coat"      // spread a liquid
	Broadcast = "broadcast" // throw aggregate into a wet coat
	Sweep     = "sweep"     // vacuum back the loose grain
)

// A Step is one piece of work of a recipe.
type Step struct {
	Does     string                    `toml:"does"`
	Title    string                    `toml:"title"`
	Material string                    `toml:"material"` // id, or id@version
	Sand     string                    `toml:"sand"`     // filler of a patch, joint, crack or cove mortar, or of a filled coat
	Ratio    Value[units.Fraction]     `toml:"ratio"`    // filler to resin by mass: "150 %"
	Film     Value[units.Length]       `toml:"film"`     // dry film of a coat, with its filler; of a grout, above the peaks
	Fills    string                    `toml:"fills"`    // the broadcast, or the starved mortar, whose open voids a grout fills
	Share    Value[units.Fraction]     `toml:"share"`    // share of those voids filled
	Into     string                    `toml:"into"`     // the coat a broadcast falls into
	Lag      Value[units.Span]         `toml:"lag"`      // a broadcast follows the coat by this
	Keeps    Value[units.Fraction]     `toml:"keeps"`    // share of a broadcast that stays, if not the aggregate's retention
	Takes    Value[units.Loading]      `toml:"takes"`    // what stays of a broadcast into a film that does not rise among the grain; see takes
	Face     Value[units.Length]       `toml:"face"`     // mortar trowelled on the face of a cove base
	Texture  Value[units.Length]       `toml:"texture"`  // volume per area that a coat fills in a broadcast's crust, by sand patch; in place of the open voids of fills
	Thinner  Value[units.Fraction]     `toml:"thinner"`  // by volume of the liquid, stirred into a coat
	Lets     Value[units.Density]      `toml:"lets"`     // volatile organic compounds of the thinner
	Cut      Value[units.Length]       `toml:"cut"`      // wet film on top of a coat's own along edges, where it is cut in by brush
	Strip    Value[units.Length]       `toml:"strip"`    // width of that strip
	Hangs    Value[units.Length]       `toml:"hangs"`    // dry film of a coat on vertical faces; not given: they are not coated
	Tools    Value[units.Volume]       `toml:"tools"`    // that rollers and squeegees hold at the end, of each section
	Residue  Value[units.Volume]       `toml:"residue"`  // left in the bucket of each batch
	Usable   Value[units.Fraction]     `toml:"usable"`   // share of the grain vacuumed off a section that is thrown on the next
	First    bool                      `toml:"first"`    // a coat on bare concrete: profile and pores drink
	Base     bool                      `toml:"base"`     // the cove base is coated too
	Only     string                    `toml:"only"`     // "base": a coat on the base's face alone, a wall
	Wet      bool                      `toml:"wet"`      // a coat or cove laid into the coat before it while that is wet
	Bars     bool                      `toml:"bars"`     // a coat that keeps the slab's moisture from those above it
	Waste    Value[units.Fraction]     `toml:"waste"`    // share of the order that never reaches the floor
	Rate     Value[units.AreaRate]     `toml:"rate"`     // per hand; of grinding, per machine and grit step
	Pace     Value[units.Speed]        `toml:"pace"`     // joints and cove, per hand
	Each     Value[units.Span]         `toml:"each"`     // per patch, one hand
	Setup    Value[units.Span]         `toml:"setup"`    // before the step begins, once
	Hands    int64                     `toml:"hands"`    // at most so many work at it; 0 is the whole crew
	After    map[string]string         `toml:"after"`    // step -> event that must have been reached, or Done
	Before   map[string]string         `toml:"before"`   // step -> event that must not have passed
	Slab     Limits[units.Temperature] `toml:"slab"`     // condition: wait until the slab is inside
	Needs    string                    `toml:"needs"`    // what must be so before it begins, in words
	Leaves   string                    `toml:"leaves"`   // what it leaves to the next, in words
	Checks   []string                  `toml:"checks"`   // what to look at and measure while it is done, in words
	Options  map[string]Option         `toml:"options"`
}

// An Option is another material that a recipe allows for a step.
type Option struct {
	Material string              `toml:"material"`
	Film     Value[units.Length] `toml:"film"` // if it differs
	Why      string              `toml:"why"`
}

// does lists what steps can do.
func does() []string {
	return []string{Survey, FillPatch, FillJoint, FillCrack, Cove, Condition, Grind, Clean, Coat, Broadcast, Sweep}
}

// check looks at the steps by themselves, while the file's lines are at hand,
// and tells all that is wrong with them.
func (r *Recipe) check(d *tomlfile.Doc) error {
	if len(r.order) == 0 {
		return d.Errorf([]string{"steps"}, "found none: want at least one step")
	}
	var errs []error
	for i, id := range r.order {
		s := r.Steps[id]
		bad := func(key, format string, args ...any) {
			errs = append(errs, d.Errorf(append([]string{"steps", id}, strings.Split(key, "/")...), format, args...))
		}
		if !slices.Contains(does(), s.Does) {
			bad("does", "found %q: want %s", s.Does, tomlfile.OneOf(s.Does, does()))
			continue // what else it has hangs on it
		}
		if (s.mortar() || s.Does == Coat || s.Does == Broadcast) && s.Material == "" {
			bad("material", "not given: want a material for a step that does %s", s.Does)
		}
		if s.Does == Coat && !(s.Film.Q > 0 && s.Film.Q <= 25*units.Millimetre) {
			bad("film", "found %q: want a film above 0 mm and at most 25 mm", s.Film.Text)
		}
		earlier := r.order[:i]
		if s.Into != "" && !slices.Contains(earlier, s.Into) {
			bad("into", "found %q: want an earlier step%s", s.Into, near(s.Into, earlier))
		} else if s.Does == Broadcast && (s.Into == "" || r.Steps[s.Into].Does != Coat) {
			bad("into", "found %q: want an earlier coat", s.Into)
		}
		if f := r.Steps[s.Fills]; s.Fills != "" && !slices.Contains(earlier, s.Fills) {
			bad("fills", "found %q: want an earlier step%s", s.Fills, near(s.Fills, earlier))
		} else if s.Fills != "" && f.Does != Broadcast && !(f.Does == Coat && (f.Sand != "" || f.Fills != "")) {
			bad("fills", "found %q: want an earlier broadcast, a coat with sand, or a grout that left voids open", s.Fills)
		}
		if key, problem := r.misfit(&s); problem != "" {
			bad(key, "%s", problem)
		}
		r.checkEvents(bad, "after", s.After, earlier)
		r.checkEvents(bad, "before", s.Before, earlier)
		for _, f := range []struct {
			key   string
			wrong bool
			text  string
			want  string
		}{
			{"keeps", s.Keeps.Given() && (s.Does != Broadcast || !(s.Keeps.Q >= 0.05 && s.Keeps.Q <= 1)), s.Keeps.Text, "5 % to 100 %, of a broadcast"},
			{"waste", s.Waste.Given() && !(s.Waste.Q >= 0 && s.Waste.Q < 0.9), s.Waste.Text, "0 % to 90 %"},
			{"share", s.Share.Given() && !(s.Share.Q >= 0 && s.Share.Q <= 1), s.Share.Text, "0 % to 100 %"},
			{"ratio", s.Ratio.Given() && !(s.Ratio.Q >= 0 && s.Ratio.Q <= 20), s.Ratio.Text, "0 % to 2000 % by mass"},
			{"rate", s.Rate.Given() && !(s.Rate.Q > 0), s.Rate.Text, "a rate above zero"},
			{"pace", s.Pace.Given() && !(s.Pace.Q > 0), s.Pace.Text, "a pace above zero"},
		} {
			if f.wrong {
				bad(f.key, "found %q: want %s", f.text, f.want)
			}
		}
		if s.Hands < 0 || s.Hands > 1000 {
			bad("hands", "found %d: want 0 to 1000", s.Hands)
		}
	}
	return tomlfile.Gather(errs...)
}

// near says which of known a word may have meant, or nothing.
func near(word string, known []string) string {
	if n := tomlfile.Nearest(word, known); n != "" {
		return " (nearest: " + n + ")"
	}
	return ""
}

// checkEvents looks at the steps that one comes after, or before the windows of
// which close.
func (r *Recipe) checkEvents(bad func(key, format string, args ...any), key string, m map[string]string, earlier []string) {
	for _, other := range slices.Sorted(maps.Keys(m)) {
		switch event := m[other]; {
		case !slices.Contains(earlier, other):
			bad(key+"/"+other, "found step %q: want an earlier step%s", other, near(other, earlier))
		case key == "after" && event == Done:
		case !slices.Contains([]string{FillPatch, FillJoint, FillCrack, Cove, Coat}, r.Steps[other].Does):
			bad(key+"/"+other, "found event %q of a step that places nothing that cures: want a patch, joint, crack, cove or coat", event)
		case event == PotLife || !slices.Contains(Events(), event):
			bad(key+"/"+other, "found event %q: want one of %s, or %s of a step to wait for%s", event, strings.Join(Events()[1:], ", "), Done, near(event, append(Events()[1:], Done)))
		}
	}
}

// mortar reports whether the step places resin, mostly with sand, by volume.
func (s *Step) mortar() bool {
	return s.Does == FillPatch || s.Does == FillJoint || s.Does == FillCrack || s.Does == Cove
}

// misfit returns the first key of a step that does not fit what the step does,
// and what is wrong with it.
func (r *Recipe) misfit(s *Step) (key, problem string) {
	into := r.Steps[s.Into]
	switch {
	case s.Takes.Given() && (s.Does != Broadcast || !(s.Takes.Q > 0 && s.Takes.Q <= 100)):
		return "takes", fmt.Sprintf("found %q: want above 0 kg/m2 and at most 100 kg/m2, of a broadcast", s.Takes.Text)
	case s.Does == Broadcast && into.Sand != "" && !s.Takes.Given():
		return "takes", "not given: want what stays, for a film with sand does not rise among the grain"
	case s.Face.Given() && (s.Does != Cove || !(s.Face.Q >= 0 && s.Face.Q <= 25*units.Millimetre)):
		return "face", fmt.Sprintf("found %q: want 0 mm to 25 mm, of a cove", s.Face.Text)
	case s.losing() != "":
		return s.losing(), "found a loss that does not fit what the step does or is out of range: want texture 0 mm to 10 mm, cut 0 mm to 5 mm with strip 0 mm to 1 m, hangs 0 mm to 5 mm, tools 0 L to 200 L of a coat; thinner 0 % to 50 % of a coat without sand, lets 0 g/L to 2000 g/L beside it; residue 0 L to 20 L of what is mixed; usable 0 % to 100 % of a broadcast"
	case s.Only != "" && (s.Only != "base" || s.Does != Coat):
		return "only", fmt.Sprintf("found %q: want base, of a coat", s.Only)
	case s.Only != "" && (s.First || s.Base || s.Fills != ""):
		return "only", "found first, base or fills beside it: want none of them, for the base's face alone has neither pores nor voids known"
	case s.Does == Broadcast && into.Only != "":
		return "into", fmt.Sprintf("found %q, a coat on the base's face: want one on the floor", s.Into)
	case s.Sand != "" && !s.mortar() && s.Does != Coat:
		return "sand", fmt.Sprintf("found %q: want it for a patch, joint, crack, cove or coat only", s.Sand)
	case s.Sand != "" && s.Does == Coat && !(s.Ratio.Given() && s.Ratio.Q > 0):
		return "ratio", fmt.Sprintf("found %q: want how much filler the coat has, such as 150 %%", s.Ratio.Text)
	case s.Bars && s.Does != Coat:
		return "bars", "found true: want it for a coat only"
	case s.Wet:
		for other, event := range s.Before {
			if event == TackFree && s.After[other] == Done && (s.Does == Coat || s.Does == Cove) && r.Steps[other].Does == Coat {
				return "", ""
			}
		}
		return "wet", "found true: want a coat or cove with after = { other = \"done\" } and before = { other = \"tack-free\" }, other being the coat that it is laid into"
	}
	return "", ""
}

// aKind says a kind of material in a sentence.
func aKind(kind string) string {
	if kind == "aggregate" {
		return "an " + kind
	}
	return "a " + kind
}

// losing returns the first key of a loss that does not fit the step.
func (s *Step) losing() string {
	coat := s.Does == Coat
	for _, x := range []struct {
		key          string
		given, where bool
		v, most      float64
	}{
		{"texture", s.Texture.Given(), coat, float64(s.Texture.Q), 0.01},
		{"thinner", s.Thinner.Given(), coat && s.Sand == "", float64(s.Thinner.Q), 0.5},
		{"lets", s.Lets.Given(), s.Thinner.Given(), float64(s.Lets.Q), 2000},
		{"cut", s.Cut.Given(), coat && s.Strip.Given(), float64(s.Cut.Q), 0.005},
		{"strip", s.Strip.Given(), coat && s.Cut.Given(), float64(s.Strip.Q), 1},
		{"hangs", s.Hangs.Given(), coat, float64(s.Hangs.Q), 0.005},
		{"tools", s.Tools.Given(), coat, float64(s.Tools.Q), 0.2},
		{"residue", s.Residue.Given(), coat || s.mortar(), float64(s.Residue.Q), 0.02},
		{"usable", s.Usable.Given(), s.Does == Broadcast, float64(s.Usable.Q), 1},
	} {
		if x.given && !(x.where && x.v >= 0 && x.v <= x.most) {
			return x.key
		}
	}
	return ""
}

// resolve checks every material, limit, source and caution that the recipe names,
// and tells all that lead nowhere.
func (r Recipe) resolve(c *Catalog, file string) error {
	var errs []error
	bad := func(key, format string, args ...any) {
		errs = append(errs, &FileError{File: file, Key: key, Problem: fmt.Sprintf(format, args...)})
	}
	if _, err := c.Limit(r.Margin); err != nil {
		bad("margin", "%v", err)
	}
	for _, key := range r.Cautions {
		if _, ok := c.cautions[key]; !ok {
			bad("cautions", "found %q, which no cautions file has: want %s", key, tomlfile.OneOf(key, slices.Sorted(maps.Keys(c.cautions))))
		}
	}
	sourced := func(key string, o Origin) {
		if problem := c.unsourced(o); problem != "" {
			bad(key, "%s", problem)
		}
	}
	sourced("build", r.Build.Origin)
	sourced("relief", r.Relief.Origin)
	for _, id := range r.order {
		s, at := r.Steps[id], "steps."+id+"."
		for _, f := range s.figures() {
			sourced(at+f.where, f.Origin)
		}
		want := "liquid"
		if s.Does == Broadcast {
			want = "aggregate"
		}
		material := func(key, name string, kinds ...string) {
			m, err := c.Material(name)
			switch {
			case err != nil:
				bad(at+key, "%v", err)
			case !slices.Contains(kinds, m.Kind):
				bad(at+key, "found %s, %s: want %s", name, aKind(m.Kind), aKind(kinds[0]))
			}
		}
		if s.Material != "" {
			material("material", s.Material, want)
		}
		if s.Sand != "" {
			material("sand", s.Sand, "aggregate", "thickener")
		}
		for _, o := range slices.Sorted(maps.Keys(s.Options)) {
			material("options."+o, s.Options[o].Material, want)
		}
	}
	return errors.Join(errs...)
}

// Order lists the steps' ids in the order of the work.
func (r Recipe) Order() []string { return slices.Clone(r.order) }
