package systems

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"sort"
	"strconv"
	"strings"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
)

// A Reading is one value of a [Series] at a time since the job's start.
type Reading struct {
	At time.Duration
	V  float64 // K, or a fraction
}

// A Series is piecewise linear and held past its ends.
type Series []Reading

// At returns the value at t.
func (s Series) At(t time.Duration) float64 {
	i := sort.Search(len(s), func(i int) bool { return s[i].At > t })
	switch {
	case i == 0:
		return s[0].V
	case i == len(s):
		return s[i-1].V
	}
	a, b := s[i-1], s[i]
	return a.V + (b.V-a.V)*float64(t-a.At)/float64(b.At-a.At)
}

// below returns when s is first below v between from and to, and how low it is
// there at its lowest.
func (s Series) below(v float64, from, to time.Duration) (first time.Duration, lowest float64, ok bool) {
	at, before := from, s.At(from)
	lowest = before
	first, ok = from, before < v
	for i := sort.Search(len(s), func(i int) bool { return s[i].At > from }); at < to; i++ {
		next := to
		if i < len(s) {
			next = min(to, s[i].At)
		}
		now := s.At(next)
		if !ok && now < v {
			first, ok = at+time.Duration(float64(next-at)*(before-v)/(before-now)), true
		}
		at, before, lowest = next, now, min(lowest, now)
	}
	return first, lowest, ok
}

// Weather holds what the slab and the air do over the days of the job: typed
// in, read off a logger, or forecast.
type Weather struct {
	Slab, Air Series // K
	RH        Series // fraction, over liquid water
}

// Last returns the time of the last reading of any of the three: after it
// nothing changes.
func (w *Weather) Last() time.Duration {
	return max(w.Slab[len(w.Slab)-1].At, w.Air[len(w.Air)-1].At, w.RH[len(w.RH)-1].At)
}

// SlabTrace returns the slab's temperatures as a trace for package cure.
func (w *Weather) SlabTrace() climate.Trace {
	t := make(climate.Trace, len(w.Slab))
	for i, r := range w.Slab {
		t[i] = climate.Sample{At: r.At, Temp: units.Kelvin(r.V)}
	}
	return t
}

// byteOrderMark is what some programs write before UTF-8 text.
var byteOrderMark = []byte("\ufeff")

// readLog reads a logger's CSV: a heading with the columns time, slab, air and
// rh in any order, each with its unit ("slab (°F)", "rh (%)"), then readings.
// Cells are numbers in the heading's unit, or quantity texts. Times are RFC
// 3339 with offset, or times since the job's start.
func (w *Weather) readLog(name string, text []byte, firstLine int, start time.Time) error {
	r := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(text, byteOrderMark)))
	r.TrimLeadingSpace = true
	r.Comment = '#'
	bad := func(line int, key, format string, args ...any) error {
		return &FileError{File: name, Line: firstLine + line - 1, Key: key, Problem: fmt.Sprintf(format, args...)}
	}
	const heading = "a heading with the columns time, slab (°F), air (°F), rh (%)"
	head, err := r.Read()
	if err != nil {
		return bad(1, "log", "found no heading: want %s", heading)
	}
	type column struct{ name, unit string }
	cols := make([]column, len(head))
	seen := map[string]bool{}
	for i, h := range head {
		n, unit, _ := strings.Cut(strings.TrimSpace(h), "(")
		cols[i] = column{strings.ToLower(strings.TrimSpace(n)), strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(unit), ")"))}
		switch cols[i].name {
		case "time", "slab", "air", "rh":
		default:
			return bad(1, "log", "found column %q: want %s", h, heading)
		}
		if seen[cols[i].name] {
			return bad(1, "log", "found column %q twice: want each once", h)
		}
		seen[cols[i].name] = true
	}
	if !seen["time"] {
		return bad(1, "log", "found no column time: want %s", heading)
	}
	last := time.Duration(-1 << 62)
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		line, _ := r.FieldPos(0)
		if err != nil {
			var pe *csv.ParseError
			if errors.As(err, &pe) {
				line = pe.Line
				err = pe.Err
			}
			if errors.Is(err, csv.ErrFieldCount) {
				return bad(line, "log", "found %d columns: want %d, as the heading has", len(row), len(head))
			}
			return bad(line, "log", "%v", err)
		}
		var at time.Duration
		for i, c := range cols {
			if c.name == "time" {
				if at, err = moment(strings.TrimSpace(row[i]), start); err != nil {
					return bad(line, "log.time", "%v", err)
				}
			}
		}
		if at <= last {
			return bad(line, "log.time", "found a time not after the one before: want rising times")
		}
		last = at
		for i, c := range cols {
			cell := strings.TrimSpace(row[i])
			if c.name == "time" || cell == "" { // a logger skips readings
				continue
			}
			if _, err := strconv.ParseFloat(cell, 64); err == nil && c.unit != "" {
				cell += " " + c.unit
			}
			if c.name == "rh" {
				var f units.Fraction
				if err := f.UnmarshalText([]byte(cell)); err != nil {
					return bad(line, "log.rh", "%v", err)
				}
				if !(f >= 0.01 && f <= 1) {
					return bad(line, "log.rh", "found %q: want 1 %% to 100 %%", cell)
				}
				w.RH = append(w.RH, Reading{at, float64(f)})
				continue
			}
			var t units.Temperature
			if err := t.UnmarshalText([]byte(cell)); err != nil {
				return bad(line, "log."+c.name, "%v", err)
			}
			if !(t.Celsius() >= -40-1e-9 && t.Celsius() <= 60+1e-9) {
				return bad(line, "log."+c.name, "found %q: want -40 °C to 60 °C", cell)
			}
			if c.name == "slab" {
				w.Slab = append(w.Slab, Reading{at, t.Kelvin()})
			} else {
				w.Air = append(w.Air, Reading{at, t.Kelvin()})
			}
		}
	}
	return nil
}

// over returns w, with the series that it lacks from other.
func (w Weather) over(other Weather) Weather {
	for _, x := range []struct{ to, from *Series }{{&w.Slab, &other.Slab}, {&w.Air, &other.Air}, {&w.RH, &other.RH}} {
		if len(*x.to) == 0 {
			*x.to = *x.from
		}
	}
	return w
}
