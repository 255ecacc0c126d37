package systems

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/tackfree/tackfree/climate"
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

// isLatest reports whether an event is one that must not have passed.
func isLatest(event string) bool {
	return event == PotLife || event == BroadcastLatest || event == RecoatLatest
}

// comes returns when an event of a liquid on the slab comes that begins at from:
// the earliest it may, or, latest, when it may no longer be counted on. Times over
// humidity go along the slab's temperature and the humidity over it together.
// Beyond their rows and columns nothing proceeds to an earliest event where it is
// slower, and a latest one has no longer than at the edge; where it is faster an
// earliest one takes no less than there, and a latest one goes on as [widened] says.
func (s *sky) comes(t Times, latest bool, from time.Duration) (time.Duration, error) {
	if s.known == nil || len(t.Table) == 0 {
		return s.along(t, latest, from)
	}
	key := arrival{&t.Table[0], t.Humid, latest, from}
	if x, ok := s.known[key]; ok {
		return x.at, x.err
	}
	at, err := s.along(t, latest, from)
	s.known[key] = arrived{at, err}
	return at, err
}

// An arrival is an event of a liquid, by its rows, and when it began.
type arrival struct {
	rows   *cure.Point
	humid  *cure.HumidTable
	latest bool
	from   time.Duration
}

type arrived struct {
	at  time.Duration
	err error
}

// along works out what comes returns.
func (s *sky) along(t Times, latest bool, from time.Duration) (time.Duration, error) {
	if t.Humid == nil {
		law := t.Table.NotBefore()
		if latest {
			law = t.Table.NotAfter()
		}
		return cure.Reach(law, s.slab, from)
	}
	damp, err := s.overSlab()
	if err != nil {
		return 0, err
	}
	law := t.Humid.NotBefore()
	if latest {
		w, err := hotter(widened(t.Humid))
		if err != nil {
			return 0, err
		}
		law = w.NotAfter()
	}
	return law.Reach(s.slab, damp, from)
}

// rate is what an event's integral along the slab is of, in words; by is who
// does it.
func (t Times) rate() string {
	if t.Humid != nil {
		return "dt / t(slab's temperature, humidity over it)"
	}
	return "dt / t(slab's temperature)"
}

func (t Times) by() string {
	if t.Humid != nil {
		return "(cure.HumidLaw.Reach)"
	}
	return "(cure.Reach)"
}

// at returns the times over temperature of a liquid in its bucket, in air of a
// humidity: that of the air, for the bucket is as warm as it.
func (t Times) at(rh units.Fraction) (cure.Table, error) {
	if t.Humid == nil {
		return t.Table, nil
	}
	w := widened(t.Humid)
	return w.At(min(max(rh, w.RH[0]), w.RH[len(w.RH)-1]))
}

// widened returns h with what a latest event counts with beyond its columns, where
// it is faster: one of air that is quite damp, or quite dry if it is waterborne, by
// the line of the last two columns where that falls, or, of one column, as one over
// RH, or over 1 - RH (see [cure.Dependence]).
func widened(h *cure.HumidTable) cure.HumidTable {
	w := cure.HumidTable{By: h.By, Temps: slices.Clone(h.Temps), RH: slices.Clone(h.RH)}
	end, edge, next, place := units.Fraction(1), len(h.RH)-1, len(h.RH)-2, len(h.RH)
	share := func(rh units.Fraction) float64 { return float64(rh) }
	if h.By == cure.Waterborne {
		end, edge, next, place = 0, 0, 1, 0
		share = func(rh units.Fraction) float64 { return float64(1 - rh) }
	}
	more := math.Log(share(end) / share(h.RH[edge]))
	for _, row := range h.Times {
		row = slices.Clone(row)
		if more > 0 {
			slope := -1.0
			if len(row) > 1 {
				slope = math.Log(row[edge].Seconds()/row[next].Seconds()) / math.Log(share(h.RH[edge])/share(h.RH[next]))
			}
			past := max(1, time.Duration(row[edge].Seconds()*math.Exp(min(0, slope*more))*1e9))
			row = slices.Insert(row, place, min(past, row[edge]))
		}
		w.Times = append(w.Times, row)
	}
	if more > 0 {
		w.RH = slices.Insert(w.RH, place, end)
	}
	return w
}

// hotter returns w with a row hotter than a slab may be, as [cure.Table.NotAfter]
// has it: between, it is on the same line.
func hotter(w cure.HumidTable) (cure.HumidTable, error) {
	top := units.Celsius(90)
	if w.Temps[len(w.Temps)-1].Less(top) {
		var row []time.Duration
		for j := range w.RH {
			var column cure.Table
			for i, t := range w.Temps {
				column = append(column, cure.Point{Temp: t, Time: w.Times[i][j]})
			}
			d, err := column.NotAfter().Time(top)
			if err != nil {
				return w, err
			}
			row = append(row, d)
		}
		w.Temps, w.Times = append(w.Temps, top), append(w.Times, row)
	}
	return w, nil
}

// steps of overSlab: K of slab or air, and share of the humidity.
const overStep, rhStep = 0.2, 0.02

// overSlab returns the humidity over the slab through time, at its temperature:
// see [cure.HumidityOver], with the air's humidity linear between its readings as
// the plan has it. What is above 100 % condenses: of that the margin tells.
// Between its readings it is within 2e-4 of itself.
func (s *sky) overSlab() (cure.Humidity, error) {
	if s.damp != nil {
		return s.damp, nil
	}
	var damp cure.Humidity
	add := func(at time.Duration, c conditions) error {
		rh, err := c.overSlab()
		if err != nil {
			return fmt.Errorf("humidity over the slab %v after the start: %w", at, err)
		}
		damp = append(damp, cure.Damp{At: at, RH: rh})
		return nil
	}
	var before conditions
	for i, at := range s.nodes {
		c := s.weather(at)
		if i > 0 {
			from := s.nodes[i-1]
			n := math.Ceil(max(math.Abs(c.slab-before.slab)/overStep, math.Abs(c.air-before.air)/overStep, math.Abs(c.rh/before.rh-1)/rhStep))
			for k := 1.0; k < n; k++ {
				mid := from + time.Duration(float64(at-from)*(k/n))
				if mid <= damp[len(damp)-1].At || mid >= at {
					continue
				}
				if err := add(mid, s.weather(mid)); err != nil {
					return nil, err
				}
			}
		}
		if err := add(at, c); err != nil {
			return nil, err
		}
		before = c
	}
	s.damp = damp
	return damp, nil
}

// overSlab is the humidity of the air at the slab's temperature, at most 100 %.
func (c conditions) overSlab() (units.Fraction, error) {
	rh, err := climate.Air{Temp: units.Kelvin(c.air), RH: units.Fraction(c.rh)}.SurfaceRH(units.Kelvin(c.slab))
	return min(rh, 1), err
}
