package systems

import (
	"errors"
	"fmt"
	"io"
	"sort"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/logfile"
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

// readLog reads a logger's CSV: a heading with the columns time, slab, air and
// rh in any order, each with its unit ("slab (°F)", "rh (%)"), then readings.
// Cells are numbers in the heading's unit, or quantity texts. Times are RFC
// 3339 with offset, or times since the job's start. lineOf says which line of the
// file a line of the text is.
func (w *Weather) readLog(name string, text []byte, lineOf func(int) int, start time.Time) error {
	err := w.readRows(text, start)
	if wrong := (*logfile.Fault)(nil); errors.As(err, &wrong) {
		return &FileError{File: name, Line: lineOf(wrong.Line), Key: wrong.In("log"), Problem: wrong.Problem}
	}
	return err
}

func (w *Weather) readRows(text []byte, start time.Time) error {
	const heading = "a heading with the columns time, slab (°F), air (°F), rh (%)"
	log, err := logfile.Open(text, heading, func(text string) (time.Duration, error) { return moment(text, start) })
	if err != nil {
		return err
	}
	to := make([]*Series, len(log.Columns))
	for i, c := range log.Columns {
		switch c.Name {
		case "time":
		case "slab":
			to[i] = &w.Slab
		case "air":
			to[i] = &w.Air
		case "rh":
			to[i] = &w.RH
		default:
			return &logfile.Fault{Line: log.Line, Problem: fmt.Sprintf("found column %q: want %s", c.Text, heading)}
		}
	}
	for {
		row, err := log.Next()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		for i, cell := range row.Cells {
			if cell == "" { // a logger skips readings
				continue
			}
			v, err := readingOf(cell, to[i] == &w.RH)
			if err != nil {
				return row.Bad(log.Columns[i], "%v", err)
			}
			*to[i] = append(*to[i], Reading{row.At, v})
		}
	}
}

// readingOf reads a cell: a humidity, or a temperature in K.
func readingOf(cell string, humid bool) (float64, error) {
	if humid {
		f, err := parse[units.Fraction](cell)
		if err == nil && !(f >= 0.01 && f <= 1) {
			err = fmt.Errorf("found %q: want 1 %% to 100 %%", cell)
		}
		return float64(f), err
	}
	t, err := parse[units.Temperature](cell)
	if c := t.Celsius(); err == nil && !(c >= -40-1e-9 && c <= 60+1e-9) {
		err = fmt.Errorf("found %q: want %s", cell, warm)
	}
	return t.Kelvin(), err
}

// warm is how warm a slab, its air and the air outdoors may be.
const warm = "-40 °C to 60 °C"

// over returns w, with the series that it lacks from other.
func (w Weather) over(other Weather) Weather {
	for _, x := range []struct{ to, from *Series }{{&w.Slab, &other.Slab}, {&w.Air, &other.Air}, {&w.RH, &other.RH}} {
		if len(*x.to) == 0 {
			*x.to = *x.from
		}
	}
	return w
}
