package systems

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// volatilesFile is a limit of volatile organic compounds that the job names.
type volatilesFile struct {
	Most   *units.Density `toml:"most"`
	Owner  string         `toml:"owner"`  // rule, class and date
	Actual bool           `toml:"actual"` // of the coating as it is; else of it less water and exempt compounds
}

// A VolatileLine is what the coating of a step gives off as applied, mixed and
// thinned. Which figure counts, and what is exempt, the local rule says.
type VolatileLine struct {
	Actual    units.Density `json:"actual"`     // per volume of coating
	LessWater units.Density `json:"less_water"` // per volume less water and exempt compounds
	Organic   units.Mass    `json:"organic"`    // of all that the step takes
}

func (p jobReader) volatiles() error {
	f := p.f.Volatiles
	if f.Most == nil {
		if f.Owner != "" || f.Actual {
			return p.bad("volatiles/most", "not given: want the limit, such as 100 g/L")
		}
		return nil
	}
	if strings.TrimSpace(f.Owner) == "" {
		return p.bad("volatiles/owner", "not given: want whose limit it is, with its class and date")
	}
	if err := within(p, "volatiles/most", *f.Most, 0, 2000, "0 g/L to 2000 g/L"); err != nil {
		return err
	}
	p.j.VOC = &coverage.VOCLimit{Owner: f.Owner, Most: *f.Most, Actual: f.Actual}
	return nil
}

// volatiles works out what the coating of a step gives off, if its material
// says what it has in it, and compares it with the job's limit.
func (p *planner) volatiles(id string, n *Need) error {
	m, s := p.material(id), p.step(id)
	if !m.VOC.Given() || s.Thinner.Given() && !s.Lets.Given() {
		if p.j.VOC != nil {
			p.find(Finding{Key: "volatiles-not-given", Severity: Note, Step: id, Owner: p.j.VOC.Owner, Limit: m.ID + "@" + m.Version})
		}
		return nil
	}
	v, err := m.volatiles(n.Gross, n.Thinner, s.Lets.Q)
	if err != nil {
		return fmt.Errorf("systems.Plan: volatiles of step %s: %w", id, err)
	}
	line := VolatileLine{Organic: v.Organic}
	if line.Actual, err = v.Actual(); err == nil {
		line.LessWater, err = v.LessWater()
	}
	if err != nil {
		return fmt.Errorf("systems.Plan: volatiles of step %s: %w", id, err)
	}
	n.Volatiles = &line
	if p.j.VOC == nil {
		return nil
	}
	if ok, got, err := p.j.VOC.Met(v); err != nil {
		return fmt.Errorf("systems.Plan: volatiles of step %s: %w", id, err)
	} else if !ok {
		p.find(Finding{Key: "volatiles-above-limit", Severity: Watch, Step: id, Found: Amount{got}, Asked: Amount{p.j.VOC.Most}, Owner: p.j.VOC.Owner, Limit: m.ID + "@" + m.Version})
	}
	return nil
}

// volatiles are those of an amount of the liquid with its thinner.
func (m *Material) volatiles(v, thinner units.Volume, lets units.Density) (coverage.Volatiles, error) {
	liquid, err := coverage.VolatilesOf(v, m.VOC.Q)
	if err != nil {
		return liquid, err
	}
	liquid.Water, liquid.Exempt = v*units.Volume(m.Water.Q), v*units.Volume(m.Exempt.Q)
	more, err := coverage.VolatilesOf(thinner, lets)
	return liquid.Plus(more), err
}

// VolatilesText says an amount of volatile organic compounds in a coating as labels
// and rules do: in g/L, not kg/m3, where s is SI; in lb/gal where it is US.
func VolatilesText(d units.Density, s units.System) string {
	text := units.Format(d, s)
	if number, ok := strings.CutSuffix(text, " kg/m3"); ok {
		return number + " g/L" // the same number
	}
	if s == units.SI { // 100 g/L and more would be kg/L
		return strconv.FormatFloat(math.Round(float64(d)), 'f', -1, 64) + " g/L"
	}
	return text
}
