package systems

import (
	"errors"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// An Area is one floor area with what is known of its concrete.
type Area struct {
	Name                             string
	Floor                            units.Area
	BaseLength, BaseHeight, BaseCove units.Length
	Uptake                           units.Length // volume of resin the pores drink, per area
	UptakeKnown                      bool
	Profile                          units.Length // volume of resin the texture takes, per area

	Lines []coverage.Line // the shape, and the holes in it
	Plan  units.Area      // as seen from above: of a stair its treads, else Floor
	Less  units.Area      // taken off beside the holes
	Edge  units.Length    // sides of the shape and its holes, where a coat is cut in
	Faces units.Area      // vertical faces that are coated too: sides of plinths and columns

	EdgeKnown, EdgeGiven bool // Edge follows from the shape or was given; was given

	given               []given // of the shape, as the job states it
	sides               []side  // that Faces adds up
	uptakeOf, profileOf []given // the tests that Uptake and Profile follow from
	uptakeAs            arg     // Uptake as the job gives it, where it says more of it than the figure
}

// A PatchWork is a number of like patches.
type PatchWork struct {
	Name  string
	Area  units.Area
	Depth units.Length
	Crown units.Length
	Count int
}

// A JointWork is a number of like joints or cracks.
type JointWork struct {
	Name                 string
	Form                 string // "square", or "" for it; "v"
	Length, Width, Depth units.Length
	Set, Rod             units.Length // of a backer rod: how deep its crown lies, its diameter; 0 without one
	Over, Lap            units.Length // bead that the joint is overfilled by, to be ground off: its height and width
	Count                int
}

// SlabState is what was measured of the slab.
type SlabState struct {
	Humidity *units.Fraction // in-situ relative humidity
	Emission *units.MassFlux
	Age      *time.Duration
	Probes   int // readings that Humidity is the highest of; 0 if it was typed in itself
	Dishes   int // likewise of Emission
}

func (p jobReader) areas() error {
	names := p.d.Under("areas")
	if len(names) == 0 {
		return p.bad("areas", "found none: want at least one, such as [areas.shop]")
	}
	var errs []error
	for _, name := range names {
		errs = append(errs, p.area(name))
	}
	return errors.Join(errs...)
}

func (p jobReader) area(name string) error {
	f, at := p.f.Areas[name], "areas/"+name
	a := Area{Name: name}
	if err := p.measure(at, &f, &a); err != nil {
		return err
	}
	if f.BaseLength != nil || f.BaseHeight != nil || f.BaseRadius != nil {
		if f.BaseLength == nil || f.BaseHeight == nil {
			return p.bad(at, "found a base without both base_length and base_height: want both")
		}
		a.BaseLength, a.BaseHeight = *f.BaseLength, *f.BaseHeight
		if f.BaseRadius != nil {
			a.BaseCove = *f.BaseRadius
		}
		if err := errors.Join(within(p, at+"/base_length", a.BaseLength, 0, 1e5, "0 m to 100 km"), within(p, at+"/base_height", a.BaseHeight, 0.001, 5, "1 mm to 5 m"),
			within(p, at+"/base_radius", a.BaseCove, 0, a.BaseHeight, "0 mm up to the base height")); err != nil {
			return err
		}
		if lost := a.BaseLength.Times(a.BaseCove); lost >= a.Floor {
			return p.bad(at+"/base_length", "found a cove that takes %v of floor: want less than the area", lost)
		}
	}
	if err := p.surface(at, &f, &a); err != nil {
		return err
	}
	if a.Plan == 0 {
		a.Plan = a.Floor
	}
	p.j.Areas = append(p.j.Areas, a)
	return nil
}

func count(n *int64) int64 {
	if n == nil {
		return 1
	}
	return *n
}

func (p jobReader) patches() error {
	var total units.Area
	var errs []error
	for _, name := range p.d.Under("patches") {
		f, at := p.f.Patches[name], "patches/"+name
		n := count(f.Count)
		if n < 1 || n > 100000 {
			errs = append(errs, p.bad(at+"/count", "found %d: want 1 to 100000", n))
		}
		if err := errors.Join(within(p, at+"/area", f.Area, 1e-6, 1e5, "1 mm2 to 100 000 m2"), within(p, at+"/depth", f.Depth, 1e-5, 1, "0.01 mm to 1 m"),
			within(p, at+"/crown", f.Crown, 0, 0.05, "0 mm to 50 mm")); err != nil {
			errs = append(errs, err)
		}
		total += f.Area * units.Area(n)
		p.j.Patches = append(p.j.Patches, PatchWork{name, f.Area, f.Depth, f.Crown, int(n)})
	}
	if len(errs) > 0 {
		return errors.Join(errs...)
	}
	var floor units.Area
	for _, a := range p.j.Areas {
		floor += a.Floor
	}
	if total > floor {
		return p.bad("patches", "found %v of patches on %v of floor: want no more than the floor", total, floor)
	}
	return nil
}

func (p jobReader) joints() error {
	var errs []error
	fill := func(kind, name string, f jointFile, to *[]JointWork) {
		w, err := p.joint(kind+"/"+name, name, f)
		if err != nil {
			errs = append(errs, err)
		}
		*to = append(*to, w)
	}
	for _, name := range p.d.Under("joints") {
		fill("joints", name, p.f.Joints[name], &p.j.Joints)
	}
	for _, name := range p.d.Under("cracks") {
		fill("cracks", name, p.f.Cracks[name], &p.j.Cracks)
	}
	for _, g := range p.f.Grind.Grits {
		if _, ok := p.c.grits[g]; !ok {
			errs = append(errs, p.bad("grind/grits", "found grit %q: want some of %s", g, strings.Join(sortedGrits(p.c.grits), ", ")))
		}
	}
	p.j.Grits = p.f.Grind.Grits
	if n := p.f.Grind.Profile; n != nil {
		if *n < 1 || *n > 10 {
			errs = append(errs, p.bad("grind/profile", "found %d: want a surface profile from 1 to 10", *n))
		}
		p.j.Profile = *n
	}
	return errors.Join(errs...)
}

func sortedGrits(m map[string]Grit) []string {
	keys := slices.Collect(maps.Keys(m))
	slices.SortFunc(keys, func(a, b string) int {
		x, _ := strconv.Atoi(a)
		y, _ := strconv.Atoi(b)
		return x - y
	})
	return keys
}

func (p jobReader) slab() error {
	m := p.f.Moisture
	if m.Humidity != nil {
		if err := within(p, "moisture/humidity", *m.Humidity, 0, 1, "0 % to 100 %"); err != nil {
			return err
		}
	}
	if m.Emission != nil {
		if err := within(p, "moisture/emission", *m.Emission, 0, 1e-5, "0 to about 177 lb/(1000 ft2 d)"); err != nil {
			return err
		}
	}
	p.j.Slab = SlabState{Humidity: m.Humidity, Emission: m.Emission, Probes: len(m.Readings), Dishes: len(m.Dishes)}
	if len(m.Readings) > 0 {
		if m.Humidity != nil {
			return p.bad("moisture/readings", "found readings and humidity: want one of them")
		}
		var high units.Fraction
		for i, text := range m.Readings {
			var rh units.Fraction
			if err := rh.UnmarshalText([]byte(text)); err != nil {
				return p.bad("moisture/readings", "reading %d: %w", i+1, err)
			}
			if !(rh >= 0.01 && rh <= 1) {
				return p.bad("moisture/readings", "reading %d: found %q: want 1 %% to 100 %%", i+1, text)
			}
			high = max(high, rh)
		}
		p.j.Slab.Humidity = &high
	}
	if len(m.Dishes) > 0 {
		if m.Emission != nil {
			return p.bad("moisture/dishes", "found dishes and emission: want one of them")
		}
		var high units.MassFlux
		for _, name := range p.d.Under("moisture", "dishes") {
			f, at := m.Dishes[name], "moisture/dishes/"+name
			if f.Gain == nil || f.Area == nil || f.Exposure == nil {
				return p.bad(at, "found no gain, area or exposure: want all three")
			}
			e, err := climate.EmissionRate(*f.Gain, *f.Area, f.Exposure.Duration())
			if err != nil {
				return p.bad(at, "%w", oneLine(err))
			}
			high = max(high, e)
		}
		p.j.Slab.Emission = &high
	}
	if m.Age != nil {
		age := m.Age.Duration()
		if age < 0 {
			return p.bad("moisture/age", "found %v: want 0d or more", age)
		}
		p.j.Slab.Age = &age
	}
	return nil
}
