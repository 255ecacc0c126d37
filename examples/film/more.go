package main

import (
	"fmt"
	"strings"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// more are the questions beside the coat itself. An empty text leaves its line out.
type more struct {
	formula, ring, porosity, putty, bands, corners, stair, cut, patch, fillers, vapour string
	whole                                                                              bool
}

// fields reads a text of parts with a separator between into quantities.
func fields(flag, text, between string, to ...interface{ UnmarshalText([]byte) error }) error {
	parts := strings.Split(text, between)
	if len(parts) != len(to) {
		return fmt.Errorf("%s: found %q: want %d figures with %q between", flag, text, len(to), strings.TrimSpace(between))
	}
	for i, p := range parts {
		if err := to[i].UnmarshalText([]byte(strings.TrimSpace(p))); err != nil {
			return fmt.Errorf("%s: %w", flag, err)
		}
	}
	return nil
}

// solidsOf tells a formula by mass and density: what stays, and what is volatile.
func (c *coat) solidsOf(s units.System) (string, error) {
	fates := map[string]coverage.Fate{"stays": coverage.Stays, "solvent": coverage.Solvent, "water": coverage.Water, "exempt": coverage.Exempt}
	var f coverage.Formula
	for _, one := range list(c.formula) {
		mass, rest, _ := strings.Cut(one, " of ")
		density, fate, _ := strings.Cut(rest, " ")
		unit, fate, _ := strings.Cut(strings.TrimSpace(fate), " ")
		i := coverage.Ingredient{Name: fate}
		if err := i.Mass.UnmarshalText([]byte(mass)); err != nil {
			return "", fmt.Errorf("-formula: %w", err)
		}
		if err := i.Density.UnmarshalText([]byte(density + " " + unit)); err != nil {
			return "", fmt.Errorf("-formula: %w", err)
		}
		var ok bool
		if i.Fate, ok = fates[fate]; !ok {
			return "", fmt.Errorf("-formula: found %q: want stays, solvent, water or exempt", fate)
		}
		f = append(f, i)
	}
	if len(f) == 0 {
		return "", nil
	}
	x, err := f.Composition()
	if err != nil {
		return "", err
	}
	actual, err := x.Volatiles.Actual()
	if err != nil {
		return "", err
	}
	less, err := x.Volatiles.LessWater()
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("the formula has %s solids by volume, %s by mass, %s; volatile compounds %s, less water and exempt ones %s\n",
		units.Format(x.VolumeSolids, s), units.Format(x.WeightSolids, s), units.Format(x.Density, s), content(actual, s), content(less, s)), nil
}

// pores tells what a test spot, porosity and a measured profile come to.
func (c *coat) pores(s units.System) (string, error) {
	var text strings.Builder
	if c.ring != "" {
		var v units.Volume
		var a units.Area
		var share units.Fraction
		if err := fields("-ring", c.ring, " x ", &v, &a, &share); err != nil {
			return "", err
		}
		l, err := coverage.MeasuredUptake(v, a, share)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(&text, "a spot of %s that drank %s: the pores take %s of resin\n", units.Format(a, s), units.Format(v, s), units.Format(l, s))
	}
	if c.porosity != "" {
		var p units.Fraction
		var d units.Length
		if err := fields("-porosity", c.porosity, " x ", &p, &d); err != nil {
			return "", err
		}
		l, err := coverage.PoreUptake(p, d)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(&text, "pores of %s, %s deep: they take %s\n", units.Format(p, s), units.Format(d, s), units.Format(l, s))
	}
	if c.putty != "" {
		var h units.Length
		var share units.Fraction
		if err := fields("-putty", c.putty, " x ", &h, &share); err != nil {
			return "", err
		}
		l, err := coverage.ProfileFill(h, share)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(&text, "a profile of %s by putty: it takes %s\n", units.Format(h, s), units.Format(l, s))
	}
	return text.String(), nil
}

// class tells which profiles suit the film, by the bands given.
func (c *coat) class(s units.System) (string, error) {
	var bands coverage.ProfileBands
	for _, one := range list(c.bands) {
		film, classes, _ := strings.Cut(one, " = ")
		var b coverage.ProfileBand
		if err := fields("-bands", film, " to ", &b.From, &b.To); err != nil {
			return "", err
		}
		if n, err := fmt.Sscanf(classes+"\n", "%d-%d\n", &b.Lowest, &b.Rough); n != 2 || err != nil {
			return "", fmt.Errorf("-bands: found %q: want two classes such as 3-5", classes)
		}
		bands = append(bands, b)
	}
	if len(bands) == 0 {
		return "", nil
	}
	low, rough, err := bands.For(c.dry)
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("a film of %s suits profile classes %d to %d of the bands given; mind their edition\n", units.Format(c.dry, s), low, rough), nil
}

// shapes tells a room of corners and a stair.
func (c *coat) shapes(s units.System) (string, error) {
	var text strings.Builder
	if c.corners != "" {
		var p coverage.Polygon
		for _, one := range strings.Split(c.corners, ";") {
			var at coverage.Point
			if err := fields("-corners", one, ",", &at.X, &at.Y); err != nil {
				return "", err
			}
			p = append(p, at)
		}
		f, err := coverage.TakeOff([]coverage.Line{{Name: "corners", Shape: p}})
		if err != nil {
			return "", err
		}
		fmt.Fprintf(&text, "a floor of %d corners: %s, edges %s\n", len(p), units.Format(f.Area, s), units.Format(f.Edge, s))
	}
	if c.stair != "" {
		n, sizes, _ := strings.Cut(c.stair, " x ")
		var st coverage.Steps
		var count float64
		if err := number("-stair: steps", n, &count); err != nil {
			return "", err
		}
		st.Count = int(count)
		if err := fields("-stair", sizes, " x ", &st.Width, &st.Tread, &st.Riser); err != nil {
			return "", err
		}
		a, err := st.Area()
		if err != nil {
			return "", err
		}
		fmt.Fprintf(&text, "a stair of %s: %s\n", c.stair, units.Format(a, s))
	}
	return text.String(), nil
}

// cuts tells a saw cut over its backer with what it is overfilled by, and a
// patch with its crown.
func (c *coat) cuts(s units.System) (string, error) {
	var text strings.Builder
	if c.cut != "" {
		var j coverage.SawCut
		var over units.Length
		if err := fields("-cut", c.cut, " x ", &j.Length, &j.Width, &j.Depth, &j.Rod, &j.Set, &over); err != nil {
			return "", err
		}
		flush, err := j.Fill()
		if err != nil {
			return "", err
		}
		bead, err := coverage.Bead{Length: j.Length, Width: j.Width, Height: over}.Fill()
		if err != nil {
			return "", err
		}
		fmt.Fprintf(&text, "a saw cut of %s over a rod of %s: %s flush, and %s to be shaved off\n", units.Format(j.Length, s), units.Format(j.Rod, s), units.Format(flush, s), units.Format(bead, s))
	}
	if c.patch != "" {
		var p coverage.Patch
		if err := fields("-patch", c.patch, " x ", &p.Area, &p.Depth, &p.Crown); err != nil {
			return "", err
		}
		v, err := p.Fill()
		if err != nil {
			return "", err
		}
		off, err := p.Ground()
		if err != nil {
			return "", err
		}
		fmt.Fprintf(&text, "a patch of %s: %s of mortar, of it %s ground off\n", units.Format(p.Area, s), units.Format(v, s), units.Format(off, s))
	}
	return text.String(), nil
}

// filled tells the mix with a filler by mass of it and air stirred in.
func (c *coat) filled(s units.System, m coverage.Mix) (string, error) {
	if c.fillers == "" {
		return "", nil
	}
	ratio, density, _ := strings.Cut(c.fillers, " x ")
	p := coverage.Part{Name: "filler"}
	if err := number("-filler: ratio", ratio, &p.Ratio); err != nil {
		return "", err
	}
	if err := p.Density.UnmarshalText([]byte(strings.TrimSpace(density))); err != nil {
		return "", fmt.Errorf("-filler: %w", err)
	}
	with, err := m.With(p, coverage.ByMass)
	if err != nil {
		return "", err
	}
	d, err := with.Density()
	if err != nil {
		return "", err
	}
	y, err := with.Yield()
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("with %s of its mass of filler: %s, %.3g volumes of one of the first part\n", strings.TrimSpace(ratio), units.Format(d, s), y), nil
}

// air tells how much outdoor air keeps a solvent's vapour below a limit.
func (c *coat) air(s units.System) (string, error) {
	if c.vapour == "" {
		return "", nil
	}
	var rate units.MassFlow
	var limit units.Fraction
	parts := strings.Split(c.vapour, " x ")
	if len(parts) != 3 {
		return "", fmt.Errorf("-vapour: found %q: want rate x molar mass x limit, such as 1 kg/h x 92 x 0.005 %%", c.vapour)
	}
	var molar float64
	if err := number("-vapour: molar mass", parts[1], &molar); err != nil {
		return "", err
	}
	if err := fields("-vapour", parts[0]+" x "+parts[2], " x ", &rate, &limit); err != nil {
		return "", err
	}
	const mixing = 5 // 3 to 10 is usual
	q, err := climate.DilutionAir(rate, molar, limit, 0, mixing, units.Celsius(20), units.Atmosphere)
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("vapour of %s at %s takes %s of outdoor air, mixed imperfectly (factor %d); the local rule and a meter decide\n", units.Format(rate, s), units.Format(limit, s), units.Format(q, s), mixing), nil
}
