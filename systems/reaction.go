package systems

import (
	"fmt"
	"time"

	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/tomlfile"
)

// A Reaction is what a liquid's own heat depends on. With it the plan knows the
// pot life of more than the amount that the data sheet times.
type Reaction struct {
	Heat         Value[units.SpecificEnergy] `toml:"heat"` // of the mixed liquid, cured through
	Specific     Value[units.SpecificHeat]   `toml:"specific"`
	Conductivity Value[units.Conductivity]   `toml:"conductivity"`
	Energy       Value[units.MolarEnergy]    `toml:"energy"`   // of activation
	Start        Value[units.Fraction]       `toml:"start"`    // rate at no conversion, of that which the product adds at full
	Workable     Value[units.Fraction]       `toml:"workable"` // conversion at which it can no longer be worked
}

// Given reports whether the file gave it.
func (r *Reaction) Given() bool { return r.Heat.Given() }

func (r *Reaction) figures() []figure {
	return []figure{fig("heat", r.Heat, 1e3, 1e6, "1 kJ/kg to 1000 kJ/kg"), fig("specific", r.Specific, 500, 5000, "500 J/(kg K) to 5000 J/(kg K)"),
		fig("conductivity", r.Conductivity, 0.05, 10, "0.05 W/(m K) to 10 W/(m K)"), fig("energy", r.Energy, 1e3, 200e3, "1 kJ/mol to 200 kJ/mol"),
		fig("start", r.Start, 1e-4, 10, "0.01 % to 1000 %"), fig("workable", r.Workable, 0.001, 0.99, "0.1 % to 99 %")}
}

// check looks at the reaction of a material, under key.
func (r *Reaction) check(d *tomlfile.Doc, key []string) error {
	n := 0
	all := r.figures()
	for _, f := range all {
		if f.text == "" {
			continue
		}
		n++
		if !(f.v >= f.lo && f.v <= f.hi) {
			return d.Errorf(append(key[:len(key):len(key)], "reaction", f.key), "found %q: want %s", f.text, f.want)
		}
	}
	if n > 0 && n < len(all) {
		return d.Errorf(append(key[:len(key):len(key)], "reaction"), "found some of heat, specific, conductivity, energy, start and workable: want all of them")
	}
	return nil
}

// pail is what the trade mixes in: 11 in across, in still air. Common practice,
// no source.
var pail = cure.Pail{Diameter: 0.28, Top: 8, Side: 8, Bottom: 5}

// potLifeOf returns the pot life of a batch that is larger than the amount which
// the data sheet times, at a temperature and a humidity of the air: da/dt = k (start + a)(1 - a)^2, the usual
// form of an epoxide and an amine, whose scale k is the data sheet's.
func (m *Material) potLifeOf(batch units.Volume, temp units.Temperature, rh units.Fraction) (time.Duration, error) {
	sheet := m.Times[PotLife]
	mass := func(v units.Volume) (sum units.Mass, err error) {
		all, err := parts(m, v)
		for _, p := range all {
			sum += p.Mass
		}
		return sum, err
	}
	small, err := mass(sheet.Amount)
	if err != nil {
		return 0, err
	}
	large, err := mass(batch)
	if err != nil {
		return 0, err
	}
	table, err := sheet.at(rh)
	if err != nil {
		return 0, err
	}
	r := &m.Reaction
	x := cure.Mix{Kinetics: cure.Kinetics{A1: 1e6 * float64(r.Start.Q), A2: 1e6, Ea1: r.Energy.Q, Ea2: r.Energy.Q, M: 1, N: 2}, Heat: r.Heat.Q, Specific: r.Specific.Q,
		Density: small.PerVolume(sheet.Amount), Conductivity: r.Conductivity.Q, Workable: r.Workable.Q}
	life, err := x.PotLife(pail, small, table)
	if err != nil {
		return 0, fmt.Errorf("pot life of %s: %w", m.ID, err)
	}
	return life.Life(pail, large, temp)
}
