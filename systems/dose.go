package systems

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/tomlfile"
)

// A Dose says how much of one part a liquid takes at several temperatures of the
// floor, by mass of its other parts: an initiator, whose share makes up for the
// cold. In TOML it is a table of rows, temperature = share, beside the keys part,
// basis, source, at and note. The liquid's times are those with the dose of each
// temperature; its mix is that of the usual one.
type Dose struct {
	Part  string // key of the part
	Rows  []DoseRow
	Texts [][2]string // the rows as written, coldest first
	Origin
}

// A DoseRow is the dose at one temperature.
type DoseRow struct {
	Temp  units.Temperature
	Share units.Fraction
}

// Given reports whether the file gave it.
func (d *Dose) Given() bool { return len(d.Rows) > 0 }

func (d *Dose) text() string { return Times{Texts: d.Texts}.text() }

// Share returns the dose at a temperature, linear between the rows; outside them
// there is none.
func (d *Dose) Share(t units.Temperature) (units.Fraction, bool) {
	n := len(d.Rows)
	if n == 0 || t.Less(d.Rows[0].Temp) || d.Rows[n-1].Temp.Less(t) {
		return 0, false
	}
	for i, r := range d.Rows[1:] {
		if !r.Temp.Less(t) {
			before := d.Rows[i]
			x := float64(t.Sub(before.Temp) / r.Temp.Sub(before.Temp))
			return before.Share + units.Fraction(x)*(r.Share-before.Share), true
		}
	}
	return d.Rows[0].Share, true
}

// UnmarshalTOML reads the table.
func (d *Dose) UnmarshalTOML(in any) error {
	rows, ok := tomlfile.Rows(in)
	if !ok {
		return fmt.Errorf("found %v: want a table of rows such as \"50 °F\" = \"3 %%\", with part and basis", in)
	}
	n := Dose{Origin: Origin{Basis: FromJob}}
	for key, v := range rows {
		s, ok := v.(string)
		if !ok {
			return fmt.Errorf("%s: found %v: want a text in quotes", key, v)
		}
		switch key {
		case "part":
			n.Part = s
		case "basis":
			n.Basis = Basis(s)
		case "source":
			n.Source = s
		case "at":
			n.Origin.At = s
		case "note":
			n.Note = s
		default:
			var row DoseRow
			if err := row.Temp.UnmarshalText([]byte(key)); err != nil {
				return fmt.Errorf("row %q is neither a temperature nor one of part, basis, source, at, note: %w", key, err)
			}
			if err := row.Share.UnmarshalText([]byte(s)); err != nil {
				return fmt.Errorf("row %q: %w", key, err)
			}
			if !(row.Share > 0 && row.Share <= 0.2) {
				return fmt.Errorf("row %q: found %q: want a share above 0 %% and at most 20 %%", key, s)
			}
			if k := len(n.Rows); k > 0 && !n.Rows[k-1].Temp.Less(row.Temp) {
				return fmt.Errorf("found row %q below row %q: want the rows in order, the coldest first", key, n.Texts[k-1][0])
			}
			n.Rows, n.Texts = append(n.Rows, row), append(n.Texts, [2]string{key, s})
		}
	}
	if len(n.Rows) < 2 {
		return fmt.Errorf("found %d rows: want two or more such as \"50 °F\" = \"3 %%\"", len(n.Rows))
	}
	if n.Part == "" {
		return fmt.Errorf("found no part: want the key of the part that is dosed, such as part = \"b\"")
	}
	if err := n.Basis.check(); err != nil {
		return err
	}
	*d = n
	return nil
}

// doses sets what each batch takes of an initiator.
func (p *planner) doses() error {
	for _, id := range p.j.Recipe.order {
		if n := p.needs[id]; n != nil {
			if err := p.dose(id, n); err != nil {
				return err
			}
		}
	}
	return nil
}

// dose sets what each batch of a step takes of an initiator, at the slab's
// temperature when the first section of the step begins.
func (p *planner) dose(id string, n *Need) error {
	if n.Batches == nil || !p.material(id).Dose.Given() {
		return nil
	}
	m, b := p.material(id), n.Batches
	temp := units.Kelvin(p.j.Weather.Slab.At(p.firstStart(id)))
	share, ok := m.Dose.Share(temp)
	if !ok {
		asked := m.Dose.Rows[0].Temp
		if asked.Less(temp) {
			asked = m.Dose.Rows[len(m.Dose.Rows)-1].Temp
		}
		p.find(Finding{Key: "no-dose-for-temperature", Severity: Stop, Step: id, Found: Amount{temp}, Asked: Amount{asked}, Owner: "data sheet", Limit: m.ID + "@" + m.Version})
		return nil
	}
	part := slices.Index(m.parts, m.Dose.Part)
	usual := n.Parts[part].Mass
	var err1, err2 error
	dosed := m.dosed(share)
	n.Parts, err1 = parts(dosed, n.Gross)
	b.Parts, err2 = parts(dosed, b.Each)
	if err := errors.Join(err1, err2); err != nil {
		return fmt.Errorf("systems.Plan: dose of step %s: %w", id, err)
	}
	each, all := b.Parts[part].Mass, n.Parts[part].Mass
	b.Dose = &BatchDose{Part: m.Parts[m.Dose.Part].Name, Share: share, At: temp, Each: each, All: all}
	if all > usual*(1+1e-9) {
		p.find(Finding{Key: "dose-beyond-kits", Severity: Note, Step: id, Found: Amount{all}, Asked: Amount{usual}, Owner: "this plan", Limit: m.ID + "@" + m.Version})
	}
	return nil
}

// firstStart returns when a step begins on its first section; the job's start for one
// that is not in the schedule.
func (p *planner) firstStart(id string) time.Duration {
	if at := p.earliest(id); at != forever {
		return at
	}
	return 0
}

// earliest returns when a step begins on the section that it begins on first; forever
// if it is not in the schedule.
func (p *planner) earliest(id string) time.Duration {
	at := forever
	for section := range p.o.Sections + 1 {
		if d, ok := p.done[spot{id, section}]; ok {
			at = min(at, d.start)
		}
	}
	return at
}

// dosed returns m with the dose in its mix.
func (m *Material) dosed(share units.Fraction) *Material {
	n := *m
	n.mix.Parts = slices.Clone(m.mix.Parts)
	k := slices.Index(m.parts, m.Dose.Part)
	rest, one := 0.0, 1.0 // by mass
	for i, p := range n.mix.Parts {
		mass := p.Ratio
		if n.mix.By == coverage.ByVolume {
			mass *= float64(p.Density)
		}
		if i != k {
			rest += mass
		} else if p.Ratio > 0 {
			one = mass / p.Ratio
		}
	}
	n.mix.Parts[k].Ratio = float64(share) * rest / one
	return &n
}
