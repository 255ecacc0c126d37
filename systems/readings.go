package systems

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

func (p jobReader) weather() error {
	t := p.f.Temperatures
	w := &p.j.Weather
	switch {
	case t.Log != "" && t.LogFile != "":
		return p.bad("temperatures/log_file", "found log and log_file: want one of them")
	case t.LogFile != "":
		if p.open == nil {
			return p.bad("temperatures/log_file", "found %q, but the job was not read from a folder: want the readings in temperatures.log", t.LogFile)
		}
		text, err := p.open(t.LogFile)
		if err != nil {
			return p.bad("temperatures/log_file", "found %q: %w", t.LogFile, err)
		}
		p.j.input.Files = map[string]string{t.LogFile: string(text)}
		if err := w.readLog(t.LogFile, text, func(row int) int { return row }, p.j.Start); err != nil {
			return err
		}
	case t.Log != "":
		lineOf := func(row int) int { return p.d.TextLine(row, "temperatures", "log") }
		if err := w.readLog(p.d.Name, []byte(t.Log), lineOf, p.j.Start); err != nil {
			return err
		}
	}
	logged := *w
	for _, x := range []struct {
		read    func() (Series, error)
		to, log *Series
	}{
		{func() (Series, error) { return p.temperatures(t.Slab, "temperatures", "slab") }, &w.Slab, &logged.Slab},
		{func() (Series, error) { return p.temperatures(t.Air, "temperatures", "air") }, &w.Air, &logged.Air},
		{func() (Series, error) { return p.humidities(t.RH, "temperatures", "rh") }, &w.RH, &logged.RH},
	} {
		typed, err := x.read()
		if err != nil {
			return err
		}
		if len(typed) > 0 { // typed ones win over the logger's
			*x.to, *x.log = typed, nil
		}
	}
	p.j.given, p.j.logged = *w, logged
	if err := p.split(); err != nil {
		return err
	}
	if p.j.Site != nil {
		*w = p.j.given.over(p.j.Site.weather())
	}
	for _, x := range []struct {
		name string
		of   Series
	}{{"slab", w.Slab}, {"air", w.Air}, {"rh", w.RH}} {
		if len(x.of) == 0 {
			return p.bad("temperatures", "found no %s: want [temperatures.%s], a log with that column, or [room] and [outdoors]", x.name, x.name)
		}
	}
	return nil
}

// temperatures reads a table of temperatures by time.
func (p jobReader) temperatures(of map[string]units.Temperature, table ...string) (Series, error) {
	inCelsius := func(t units.Temperature) string { return units.Format(t, units.SI) }
	return readSeries(p, of, inCelsius, units.Temperature.Kelvin, 233.15-1e-9, 333.15+1e-9, warm, table...)
}

// humidities reads a table of relative humidities by time.
func (p jobReader) humidities(of map[string]units.Fraction, table ...string) (Series, error) {
	return readSeries(p, of, units.Fraction.String, func(rh units.Fraction) float64 { return float64(rh) }, 0.01, 1, "1 % to 100 %", table...)
}

// readSeries reads a table of readings by time, each of which must lie from lo to hi
// in the unit of in; say says one in an error.
func readSeries[Q units.Quantity](p jobReader, of map[string]Q, say func(Q) string, in func(Q) float64, lo, hi float64, want string, table ...string) (Series, error) {
	var s Series
	var errs []error
	for _, key := range p.d.Under(table...) {
		full := append(slices.Clone(table), key)
		at, err := moment(key, p.j.Start)
		if err != nil {
			errs = append(errs, p.d.Errorf(full, "%v", err))
			continue
		}
		v := in(of[key])
		if !(v >= lo && v <= hi) {
			errs = append(errs, p.d.Errorf(full, "found %s: want %s", say(of[key]), want))
			continue
		}
		if len(s) > 0 && at <= s[len(s)-1].At {
			errs = append(errs, p.d.Errorf(full, "found time %q not after the one before: want rising times", key))
			continue
		}
		s = append(s, Reading{at, v})
	}
	return s, errors.Join(errs...)
}

// farthest is how far a reading may be from the job's start: a year and some.
const farthest = 400 * day

// Moment reads a time of the job, since its start or by the clock with an offset, as
// that since its start.
//
// Range: 400 days before the start to 400 days after it. The error names the text and
// what is allowed.
func (j *Job) Moment(text string) (time.Duration, error) { return moment(text, j.Start) }

// moment reads a time since the start, or one with offset.
func moment(text string, start time.Time) (time.Duration, error) {
	at, err := units.ParseDuration(text)
	if err != nil {
		t, err := time.Parse(time.RFC3339, text)
		if err != nil {
			return 0, fmt.Errorf("found time %q: want a time since the start such as 12h, or one with offset such as 2026-04-07T07:00:00-04:00", text)
		}
		at = t.Sub(start) // holds the farthest Duration if it is farther
	}
	if at < -farthest || at > farthest {
		return 0, fmt.Errorf("found time %q: want one within 400 days of the start", text)
	}
	return at, nil
}
