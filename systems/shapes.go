package systems

import (
	"errors"
	"fmt"
	"strings"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// A holeFile is a part of an area that is not coated: a rectangle, a circle, a
// polygon or an area.
type holeFile struct {
	Length   *units.Length `toml:"length"`
	Width    *units.Length `toml:"width"`
	Diameter *units.Length `toml:"diameter"`
	Corners  []string      `toml:"corners"`
	Area     *units.Area   `toml:"area"`
	Count    *int64        `toml:"count"`
	Height   *units.Length `toml:"height"` // to which its sides are coated
}

// A given is a figure of a shape as the job states it, for explanations.
type given struct {
	name string
	q    units.Quantity
	text string // where it is no quantity
}

// A bare shape is one of a stated area whose sides are not known.
type bare struct{ area units.Area }

func (f bare) Area() (units.Area, error)        { return f.area, nil }
func (f bare) Perimeter() (units.Length, error) { return 0, nil }

// stairs are steps as a shape: treads and risers, cut in along the nosings.
type stairs struct{ coverage.Steps }

func (s stairs) Perimeter() (units.Length, error) { return s.Edge() }

// shape reads the one shape that an area or a hole has, and says what it read.
func (p jobReader) shape(at string, f *holeFile) (coverage.Shape, []given, error) {
	ways := 0
	for _, is := range []bool{f.Area != nil, f.Length != nil || f.Width != nil, f.Diameter != nil, len(f.Corners) > 0} {
		if is {
			ways++
		}
	}
	switch {
	case ways > 1 && f.Area != nil && (f.Length != nil || f.Width != nil):
		return nil, nil, p.bad(at, "found area and length or width: want either area, or length and width")
	case ways > 1:
		return nil, nil, p.bad(at, "found more than one of area, length and width, diameter, corners: want one of them")
	case f.Area != nil:
		return bare{*f.Area}, []given{{"area", *f.Area, ""}}, within(p, at+"/area", *f.Area, 1e-4, 1e7, "an area from 1 cm2 to 10 000 000 m2")
	case f.Length != nil && f.Width != nil:
		err := errors.Join(within(p, at+"/length", *f.Length, 0.01, 1e4, "10 mm to 10 km"), within(p, at+"/width", *f.Width, 0.01, 1e4, "10 mm to 10 km"))
		return coverage.Rectangle{Length: *f.Length, Width: *f.Width}, []given{{"length", *f.Length, ""}, {"width", *f.Width, ""}}, err
	case f.Diameter != nil:
		return coverage.Circle{Diameter: *f.Diameter}, []given{{"diameter", *f.Diameter, ""}}, within(p, at+"/diameter", *f.Diameter, 0.01, 1e4, "10 mm to 10 km")
	case len(f.Corners) > 0:
		poly, err := p.corners(at+"/corners", f.Corners)
		return poly, []given{{"corners", nil, strings.Join(f.Corners, "; ")}}, err
	}
	return nil, nil, p.bad(at, "found neither area nor length and width: want one of them, or diameter, or corners")
}

// corners reads a polygon: "x, y" of each corner in order.
func (p jobReader) corners(at string, texts []string) (coverage.Polygon, error) {
	var poly coverage.Polygon
	for i, text := range texts {
		x, y, ok := strings.Cut(text, ",")
		var c coverage.Point
		if err := errors.Join(c.X.UnmarshalText([]byte(x)), c.Y.UnmarshalText([]byte(y))); !ok || err != nil {
			return nil, p.bad(at, "corner %d: found %q: want two lengths with a comma between, such as 12 ft, 4 ft", i+1, text)
		}
		poly = append(poly, c)
	}
	if _, err := poly.Area(); err != nil {
		if errors.Is(err, coverage.ErrCrossing) {
			return nil, p.bad(at, "%v: want the corners in their order, either way round", strings.TrimPrefix(err.Error(), "coverage.Polygon.Area: "))
		}
		return nil, p.bad(at, "%w", oneLine(err))
	}
	return poly, nil
}

// measure reads the shape of an area and its holes into a.
func (p jobReader) measure(at string, f *areaFile, a *Area) error {
	key := at
	if f.Steps != nil || f.Tread != nil || f.Riser != nil || f.Nosing != nil || f.OpenSides != nil {
		s, err := p.stairs(at, f)
		if err != nil {
			return err
		}
		a.Lines, a.Plan = []coverage.Line{{Name: a.Name, Shape: s}}, units.Area(s.Count)*s.Width.Times(s.Tread)
		a.given = append(a.given, given{"steps", nil, fmt.Sprint(s.Count)}, given{"width", s.Width, ""}, given{"tread", s.Tread, ""}, given{"riser", s.Riser, ""}, given{"nosing", s.Nosing, ""})
	} else {
		s, g, err := p.shape(at, &holeFile{Length: f.Length, Width: f.Width, Diameter: f.Diameter, Corners: f.Corners, Area: f.Area})
		if err != nil {
			return err
		}
		a.Lines, a.given = []coverage.Line{{Name: a.Name, Shape: s}}, g
	}
	if f.Area != nil {
		key += "/area"
	}
	whole, err := coverage.TakeOff(a.Lines)
	if err != nil {
		return p.bad(key, "%w", oneLine(err))
	}
	if err := within(p, key, whole.Area, 1e-3, 1e7, "an area from 10 cm2 to 10 000 000 m2"); err != nil {
		return err
	}
	if err := p.holes(at, f, a); err != nil {
		return err
	}
	floor, err := coverage.TakeOff(a.Lines)
	if err != nil || floor.Area <= 1e-9*whole.Area {
		return p.bad(at+"/holes", "found holes of %v in %v: want less than the area", floor.Deducted, whole.Area)
	}
	a.Floor, a.Edge = floor.Area, floor.Edge
	if f.Edge != nil {
		if err := within(p, at+"/edge", *f.Edge, 0, 1e5, "0 m to 100 km"); err != nil {
			return err
		}
		a.Edge, a.EdgeGiven = *f.Edge, true
	}
	a.EdgeKnown = f.Edge != nil || f.Area == nil
	if f.Faces != nil {
		if err := within(p, at+"/faces", *f.Faces, 0, 1e5, "0 m2 to 100 000 m2"); err != nil {
			return err
		}
		a.Faces += *f.Faces
	}
	if f.Less == nil {
		return nil
	}
	if err := within(p, at+"/less", *f.Less, 0, a.Floor*(1-1e-9), "0 m2 up to less than the area"); err != nil {
		return err
	}
	a.Less = *f.Less
	a.Floor -= a.Less
	return nil
}

// holes reads what is taken off an area, and the sides of it that are coated.
func (p jobReader) holes(at string, f *areaFile, a *Area) error {
	if f.Faces != nil {
		a.sides = append(a.sides, side{what: "faces", area: *f.Faces})
	}
	for _, name := range p.d.Under(append(strings.Split(at, "/"), "holes")...) {
		h, at := f.Holes[name], at+"/holes/"+name
		s, g, err := p.shape(at, &h)
		if err != nil {
			return err
		}
		if h.Area != nil { // else the shape's own sides are looked at
			if err := within(p, at+"/area", *h.Area, 1e-6, 1e7, "1 mm2 to 10 000 000 m2"); err != nil {
				return err
			}
		}
		n := count(h.Count)
		if n < 1 || n > 100000 {
			return p.bad(at+"/count", "found %d: want 1 to 100000", n)
		}
		line := coverage.Line{Name: name, Shape: s, Count: int(n), Deduct: true}
		a.Lines = append(a.Lines, line)
		for _, one := range g {
			one.name += " of " + name
			a.given = append(a.given, one)
		}
		if n > 1 {
			a.given = append(a.given, given{"count of " + name, nil, fmt.Sprint(n)})
		}
		if h.Height == nil {
			continue
		}
		if h.Area != nil {
			return p.bad(at+"/height", "found a height of a hole whose sides are not known: want length and width, diameter or corners, or faces of the area")
		}
		if err := within(p, at+"/height", *h.Height, 0, 10, "0 m to 10 m"); err != nil {
			return err
		}
		edge, err := s.Perimeter()
		if err != nil {
			return p.bad(at, "%w", oneLine(err))
		}
		edge *= units.Length(n)
		a.Faces += edge.Times(*h.Height)
		a.sides = append(a.sides, side{name, edge, *h.Height, 0})
	}
	return nil
}

// A side is a vertical face: a length and a height, or an area.
type side struct {
	what         string
	edge, height units.Length
	area         units.Area
}

// stairs reads the steps of a stair, coated on treads and risers.
func (p jobReader) stairs(at string, f *areaFile) (stairs, error) {
	if f.Steps == nil || f.Width == nil || f.Tread == nil || f.Riser == nil || f.Length != nil || f.Area != nil || f.Diameter != nil || len(f.Corners) > 0 {
		return stairs{}, p.bad(at, "found a part of a stair: want steps, width, tread and riser, and no other shape")
	}
	if *f.Steps < 1 || *f.Steps > 10000 {
		return stairs{}, p.bad(at+"/steps", "found %d: want 1 to 10000", *f.Steps)
	}
	s := coverage.Steps{Count: int(*f.Steps), Width: *f.Width, Tread: *f.Tread, Riser: *f.Riser}
	if f.Nosing != nil {
		s.Nosing = *f.Nosing
	}
	if f.OpenSides != nil {
		if *f.OpenSides < 0 || *f.OpenSides > 2 {
			return stairs{}, p.bad(at+"/open_sides", "found %d: want 0 to 2", *f.OpenSides)
		}
		s.StringerL, s.StringerR = *f.OpenSides > 0, *f.OpenSides > 1
	}
	if _, err := s.Area(); err != nil {
		return stairs{}, p.bad(at, "%w", oneLine(err))
	}
	return stairs{s}, nil
}

type drankFile struct {
	Volume units.Volume    `toml:"volume"`
	Area   units.Area      `toml:"area"`
	Share  *units.Fraction `toml:"share"` // of it that the resin will drink; of a test with resin 100 %
}

type textureFile struct {
	Height   *units.Length   `toml:"height"` // replica putty or depth micrometer, peak to valley
	Share    *units.Fraction `toml:"share"`  // of that envelope which is hollow
	Sand     *units.Volume   `toml:"sand"`   // sand patch
	Diameter *units.Length   `toml:"diameter"`
}

// surface reads what the pores and the texture of an area take: figures, or the
// tests that they follow from.
func (p jobReader) surface(at string, f *areaFile, a *Area) error {
	ways := 0
	for _, is := range []bool{f.Uptake != nil, f.Porosity != nil || f.Penetration != nil, f.Drank != nil} {
		if is {
			ways++
		}
	}
	var err error
	switch {
	case ways > 1:
		return p.bad(at, "found more than one of uptake, porosity and penetration, and drank: want either the measured uptake, or porosity and penetration, or what a test spot drank")
	case f.Uptake != nil:
		a.Uptake = f.Uptake.Q
		if f.Uptake.Origin != (Origin{Basis: FromJob}) {
			a.uptakeAs = arg{name: "uptake of " + a.Name, value: a.Uptake, text: f.Uptake.Text, origin: f.Uptake.Origin}
		}
	case f.Drank != nil:
		share := units.Fraction(1)
		if f.Drank.Share != nil {
			share = *f.Drank.Share
		}
		if a.Uptake, err = coverage.MeasuredUptake(f.Drank.Volume, f.Drank.Area, share); err != nil {
			return p.bad(at+"/drank", "%w", oneLine(err))
		}
		a.uptakeOf = []given{{"drunk", f.Drank.Volume, ""}, {"test spot", f.Drank.Area, ""}, {"share", share, ""}}
	case f.Porosity != nil && f.Penetration != nil:
		if err := errors.Join(within(p, at+"/porosity", *f.Porosity, 0, 0.5, "0 % to 50 %"), within(p, at+"/penetration", *f.Penetration, 0, 0.05, "0 mm to 50 mm")); err != nil {
			return err
		}
		if a.Uptake, err = coverage.PoreUptake(*f.Porosity, *f.Penetration); err != nil {
			return p.bad(at+"/porosity", "%w", oneLine(err))
		}
		a.uptakeOf = []given{{"porosity", *f.Porosity, ""}, {"penetration", *f.Penetration, ""}}
	case f.Porosity != nil || f.Penetration != nil:
		return p.bad(at, "found one of porosity and penetration: want both")
	}
	a.UptakeKnown = ways > 0
	if f.Profile != nil {
		a.Profile = *f.Profile
	}
	if t := f.Texture; t != nil {
		switch {
		case f.Profile != nil:
			return p.bad(at+"/profile", "found profile and texture: want one of them")
		case t.Height != nil && t.Share != nil && t.Sand == nil && t.Diameter == nil:
			a.Profile, err = coverage.ProfileFill(*t.Height, *t.Share)
			a.profileOf = []given{{"height", *t.Height, ""}, {"share", *t.Share, ""}}
		case t.Sand != nil && t.Diameter != nil && t.Height == nil && t.Share == nil:
			a.Profile, err = coverage.SandPatch(*t.Sand, *t.Diameter)
			a.profileOf = []given{{"sand", *t.Sand, ""}, {"diameter", *t.Diameter, ""}}
		default:
			return p.bad(at+"/texture", "found neither height and share nor sand and diameter: want one pair of them")
		}
		if err != nil {
			return p.bad(at+"/texture", "%w", oneLine(err))
		}
	}
	return errors.Join(within(p, at+"/uptake", a.Uptake, 0, 0.005, "0 mm to 5 mm (volume per area)"), within(p, at+"/profile", a.Profile, 0, 0.01, "0 mm to 10 mm (volume per area)"))
}

// joint reads one line of joints or cracks.
func (p jobReader) joint(at, name string, f jointFile) (JointWork, error) {
	w := JointWork{Name: name, Form: f.Form, Length: f.Length, Width: f.Width, Depth: f.Depth, Count: int(count(f.Count))}
	var errs []error
	if n := count(f.Count); n < 1 || n > 100000 {
		errs = append(errs, p.bad(at+"/count", "found %d: want 1 to 100000", n))
	}
	if w.Form != "" && w.Form != "square" && w.Form != "v" {
		errs = append(errs, p.bad(at+"/form", "found %q: want square or v", w.Form))
	}
	if err := errors.Join(within(p, at+"/length", f.Length, 1e-3, 1e6, "1 mm to 1000 km"), within(p, at+"/width", f.Width, 1e-4, 1, "0.1 mm to 1 m"),
		within(p, at+"/depth", f.Depth, 1e-4, 2, "0.1 mm to 2 m")); err != nil {
		errs = append(errs, err)
	}
	if len(errs) > 0 {
		return w, errors.Join(errs...)
	}
	switch {
	case (f.Rod == nil) != (f.Set == nil):
		return w, p.bad(at+"/rod", "found one of rod and set: want both, the rod's diameter and how deep its crown lies")
	case f.Rod != nil && w.Form == "v":
		return w, p.bad(at+"/rod", "found a rod in a V: want it in a square joint")
	case f.Rod != nil:
		w.Rod, w.Set = *f.Rod, *f.Set
		if !(w.Rod >= w.Width) {
			return w, p.bad(at+"/rod", "found %v in a joint of %v: want a rod at least as wide", w.Rod, w.Width)
		}
	}
	if f.Over != nil {
		w.Over, w.Lap = *f.Over, w.Width
		if f.Lap != nil {
			w.Lap = *f.Lap
		}
		if err := errors.Join(within(p, at+"/lap", w.Lap, w.Width, 1, "the joint's width to 1 m"), within(p, at+"/over", w.Over, 0, w.Lap/2, "0 mm to half the width of the bead")); err != nil {
			return w, err
		}
	} else if f.Lap != nil {
		return w, p.bad(at+"/lap", "found the width of a bead without over: want both")
	}
	if _, _, err := w.Fill(); err != nil {
		return w, p.bad(at, "%w", oneLine(err))
	}
	return w, nil
}

// Fill returns the volume that fills one joint or crack with what it is
// overfilled by, and that bead, which grinding or shaving takes off again.
func (w JointWork) Fill() (all, off units.Volume, err error) {
	switch {
	case w.Form == "v":
		all, err = coverage.VCut{Length: w.Length, Width: w.Width, Depth: w.Depth}.Fill()
	case w.Rod > 0:
		all, err = coverage.SawCut{Length: w.Length, Width: w.Width, Depth: w.Depth, Set: w.Set, Rod: w.Rod}.Fill()
	default:
		all, err = coverage.Joint{Length: w.Length, Width: w.Width, Depth: w.Depth}.Fill()
	}
	if err == nil && w.Over > 0 {
		off, err = coverage.Bead{Length: w.Length, Width: w.Lap, Height: w.Over}.Fill()
	}
	return all + off, off, err
}
