package systems

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
)

// humidRow is a row of times over temperature and humidity while it is read.
type humidRow struct {
	rh   []units.Fraction
	time []time.Duration
	text []string // "30 % 10h"
}

// readHumidRow reads the table of one temperature: humidity = time.
func readHumidRow(in any) (humidRow, error) {
	var r humidRow
	table, ok := in.(map[string]any)
	if !ok {
		return r, fmt.Errorf("found %v: want a time such as \"16h\", or a table such as { \"30 %%\" = \"20h\", \"80 %%\" = \"12h\" }", in)
	}
	for _, key := range slices.Sorted(maps.Keys(table)) {
		var rh units.Fraction
		if err := rh.UnmarshalText([]byte(key)); err != nil {
			return r, fmt.Errorf("humidity %q: %w", key, err)
		}
		if !(rh >= 0 && rh <= 1) {
			return r, fmt.Errorf("humidity %q: want 0 %% to 100 %%", key)
		}
		s, ok := table[key].(string)
		if !ok {
			return r, fmt.Errorf("humidity %q: found %v: want a text in quotes", key, table[key])
		}
		d, err := units.ParseDuration(s)
		if err != nil {
			return r, fmt.Errorf("humidity %q: %w", key, err)
		}
		if d <= 0 {
			return r, fmt.Errorf("humidity %q: found %q: want a time above zero", key, s)
		}
		at, twice := slices.BinarySearch(r.rh, rh)
		if twice {
			return r, fmt.Errorf("humidity %q: found it twice: want each humidity once", key)
		}
		r.rh, r.time, r.text = slices.Insert(r.rh, at, rh), slices.Insert(r.time, at, d), slices.Insert(r.text, at, key+" "+s)
	}
	if len(r.rh) == 0 {
		return r, fmt.Errorf("found no humidity: want at least one such as { \"50 %%\" = \"16h\" }")
	}
	return r, nil
}

func (r humidRow) String() string { return "(" + strings.Join(r.text, ", ") + ")" }

// usual is the humidity at which data sheets state times without one; common
// practice, no source.
const usual = 50 * units.Percent

// dependences names what the air's water does to a liquid's times, as files do.
func dependences() map[string]cure.Dependence {
	return map[string]cure.Dependence{"moisture-cured": cure.MoistureCured, "waterborne": cure.Waterborne}
}

// overHumidity makes the table over humidity of the rows read, and the plain one
// at the column nearest to the usual humidity.
func (t *Times) overHumidity(by string, rows []humidRow) error {
	dep, ok := dependences()[by]
	if !ok {
		return fmt.Errorf("by: found %q: want moisture-cured or waterborne, for times over humidity", by)
	}
	h := &cure.HumidTable{By: dep, RH: rows[0].rh}
	column := 0
	for i, rh := range h.RH {
		if max(rh-usual, usual-rh) < max(h.RH[column]-usual, usual-h.RH[column]) {
			column = i
		}
	}
	for i, row := range rows {
		if !slices.Equal(row.rh, h.RH) {
			return fmt.Errorf("row %q has the humidities %v, and the first row %v: want the same in all", t.Texts[i][0], row, rows[0])
		}
		h.Temps, h.Times = append(h.Temps, t.Table[i].Temp), append(h.Times, row.time)
		t.Table[i].Time = row.time[column]
	}
	if err := h.Validate(); err != nil {
		return oneLine(err)
	}
	t.Humid = h
	return nil
}

// between returns the times to count with in air whose humidity goes from low to
// high: at each temperature the longest of an event that comes earliest then, and
// the shortest of one that must not have passed. Past the columns the nearest one
// holds, and where that is not the safe side the plan says so.
//
// It takes the extremes of the whole job for each of its steps, which is safe and
// not sharp; a law along the history of both, in its place here, is sharper.
func (t Times) between(low, high units.Fraction, latest bool) (cure.Table, error) {
	h := t.Humid
	first, last := h.RH[0], h.RH[len(h.RH)-1]
	at := []units.Fraction{min(max(low, first), last), min(max(high, first), last)}
	for _, rh := range h.RH {
		if rh > low && rh < high {
			at = append(at, rh)
		}
	}
	var worst cure.Table
	for _, rh := range at {
		table, err := h.At(rh)
		if err != nil {
			return nil, err
		}
		if worst == nil {
			worst = table
			continue
		}
		for i := range table {
			if latest {
				worst[i].Time = min(worst[i].Time, table[i].Time)
			} else {
				worst[i].Time = max(worst[i].Time, table[i].Time)
			}
		}
	}
	return worst, nil
}

// isLatest reports whether an event is one that must not have passed.
func isLatest(event string) bool {
	return event == PotLife || event == BroadcastLatest || event == RecoatLatest
}

// atHumidity returns m with the times of the humidities that the job's air goes
// through from the start on.
func (p *planner) atHumidity(m *Material) (*Material, error) {
	if !slices.ContainsFunc(slices.Collect(maps.Values(m.Times)), func(t Times) bool { return t.Humid != nil }) {
		return m, nil
	}
	low, high := p.humidities()
	n := *m
	n.Times = maps.Clone(m.Times)
	for event, t := range n.Times {
		if t.Humid == nil {
			continue
		}
		table, err := t.between(low, high, isLatest(event))
		if err != nil {
			return nil, fmt.Errorf("systems.Plan: %s of %s: %w", event, m.ID, err)
		}
		t.Table = table
		n.Times[event] = t
	}
	return &n, nil
}

// humidities returns the least and the most humidity of the air from the start on.
func (p *planner) humidities() (low, high units.Fraction) {
	low = units.Fraction(p.j.Weather.RH.At(0))
	high = low
	for _, r := range p.j.Weather.RH {
		if r.At > 0 {
			low, high = min(low, units.Fraction(r.V)), max(high, units.Fraction(r.V))
		}
	}
	return low, high
}

// judgeHumidity tells where the air is damper or drier than the columns of a
// liquid's times, on the side on which they may be too short, or its pot life or
// window too long.
func (p *planner) judgeHumidity() {
	low, high := p.humidities()
	told := map[string]bool{}
	for _, id := range p.j.Recipe.order {
		if !p.placed(id) || p.needs[id] == nil || p.step(id).Does == Broadcast || told[p.step(id).Material] {
			continue
		}
		m := p.material(id)
		told[p.step(id).Material] = true
		for _, event := range Events() {
			h := m.Times[event].Humid
			if h == nil {
				continue
			}
			// Waterborne liquids are slower the damper it is, moisture-cured ones the drier.
			damp := (h.By == cure.Waterborne) != isLatest(event)
			f := Finding{Key: "humidity-beyond-data-sheet", Severity: Watch, Step: id, Event: event, Owner: "data sheet", Limit: m.ID + "@" + m.Version}
			if end := h.RH[len(h.RH)-1]; damp && high > end*(1+1e-9) {
				f.Found, f.Asked = Amount{high}, Amount{end}
			} else if end := h.RH[0]; !damp && low < end*(1-1e-9) {
				f.Found, f.Asked = Amount{low}, Amount{end}
			} else {
				continue
			}
			p.find(f)
			break // one of each liquid
		}
	}
}
