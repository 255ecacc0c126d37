package main

import (
	"errors"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/tomlfile"
)

// A datasheet holds the events of one coat.
type datasheet struct {
	name    string
	events  []event // in the order of the file
	windows []window
}

// An event has its rows and, of three or more, their fit.
type event struct {
	name   string
	rows   cure.Table
	fit    cure.Arrhenius
	fitted bool
	latest bool // it closes a window
}

// A window opens with one event and closes with another.
type window struct {
	name          string
	opens, closes int // of events
}

const mostEvents, mostWindows = 8, 4

// readSheet reads events, each with its rows "temperature = time", and windows.
func readSheet(file string, text []byte) (datasheet, error) {
	var in struct {
		Name    string                       `toml:"name"`
		Events  map[string]map[string]string `toml:"events"`
		Windows map[string]struct {
			Opens  string `toml:"opens"`
			Closes string `toml:"closes"`
		} `toml:"windows"`
	}
	doc, err := tomlfile.Decode(file, text, &in)
	if err != nil {
		return datasheet{}, err
	}
	s := datasheet{name: in.Name}
	if err := printable(doc, in.Name, "name"); err != nil {
		return s, err
	}
	names := doc.Under("events")
	if len(names) < 1 || len(names) > mostEvents {
		return s, doc.Errorf([]string{"events"}, "found %d events: want 1 to %d, such as [events.tack-free]", len(names), mostEvents)
	}
	for _, name := range names {
		if err := printable(doc, name, "events", name); err != nil {
			return s, err
		}
		e, err := readEvent(doc, name, in.Events[name])
		if err != nil {
			return s, err
		}
		s.events = append(s.events, e)
	}
	windows := doc.Under("windows")
	if len(windows) > mostWindows {
		return s, doc.Errorf([]string{"windows"}, "found %d windows: want at most %d", len(windows), mostWindows)
	}
	for _, name := range windows {
		if err := printable(doc, name, "windows", name); err != nil {
			return s, err
		}
		w := window{name: name}
		for _, end := range []struct {
			key, event string
			to         *int
		}{{"opens", in.Windows[name].Opens, &w.opens}, {"closes", in.Windows[name].Closes, &w.closes}} {
			if *end.to = slices.Index(names, end.event); *end.to < 0 {
				return s, doc.Errorf([]string{"windows", name, end.key}, "found %q: want one of the events %s", end.event, strings.Join(names, ", "))
			}
		}
		if w.opens == w.closes {
			return s, doc.Errorf([]string{"windows", name, "closes"}, "found %q, which opens it too: want another event", in.Windows[name].Closes)
		}
		s.events[w.closes].latest = true
		s.windows = append(s.windows, w)
	}
	for _, w := range s.windows { // beyond the rows an event is safe for one side only
		if e := s.events[w.opens]; e.latest {
			return s, doc.Errorf([]string{"windows", w.name, "opens"}, "found %q, which closes a window: want an event that closes none", e.name)
		}
	}
	return s, nil
}

// printable refuses a text that would break a line of the table.
func printable(doc *tomlfile.Doc, text string, key ...string) error {
	if utf8.RuneCountInString(text) > 80 || strings.ContainsFunc(text, func(r rune) bool { return !unicode.IsPrint(r) }) {
		return doc.Errorf(key, "found the text %.90q: want one line of at most 80 characters", text)
	}
	return nil
}

func readEvent(doc *tomlfile.Doc, name string, rows map[string]string) (event, error) {
	e := event{name: name}
	at := []string{"events", name}
	for _, key := range doc.Under(at...) {
		temp, d, err := pair(key, rows[key])
		if err != nil {
			return e, doc.Errorf(append(at, key), "%w", err)
		}
		if d <= 0 {
			return e, doc.Errorf(append(at, key), "found %q: want a time above zero", rows[key])
		}
		e.rows = append(e.rows, cure.Point{Temp: temp, Time: d})
	}
	if len(e.rows) < 2 {
		return e, doc.Errorf(at, `found %d rows: want 2 or more, such as "50 °F" = "22h"`, len(e.rows))
	}
	if err := e.rows.Validate(); err != nil {
		return e, doc.Errorf(at, "%w", err)
	}
	if len(e.rows) > 2 {
		var err error
		if e.fit, err = cure.Fit(e.rows); err != nil {
			return e, doc.Errorf(at, "the line through its rows: %w", err)
		}
		e.fitted = true
	}
	return e, nil
}

// law is the fit of three rows or more, else the rows. Beyond them, where that
// is asked for, the fit goes on, and of two rows what is safe for its side.
func (e *event) law(beyond bool) cure.Law {
	switch {
	case e.fitted && beyond:
		return e.fit.ExtrapolatedLaw()
	case e.fitted:
		return e.fit.Law()
	case beyond && e.latest:
		return e.rows.NotAfter()
	case beyond:
		return e.rows.NotBefore()
	}
	return e.rows
}

// interval is the event's 95 % interval from the fit and the forecast; it is
// not known of two rows with a history that is taken to be right.
func (e *event) interval(t climate.Trace, start time.Duration, within units.TempDelta, beyond bool) (v cure.Interval, known bool, err error) {
	if e.fitted {
		a := e.fit
		if beyond {
			a.Coldest, a.Hottest = units.Temperature{}, units.Temperature{}
		}
		v, err = cure.ReachInterval(a, t, start, within)
		known = true
	} else if within > 0 {
		v, err = cure.ForecastInterval(e.law(beyond), t, start, within)
		known = true
	}
	if errors.Is(err, cure.ErrNotReached) {
		return v, false, nil
	}
	return v, known, err
}

// from says where the interval comes from.
func (e *event) from(within units.TempDelta) string {
	switch {
	case e.fitted && within > 0:
		return "rows and forecast"
	case e.fitted:
		return "rows"
	case within > 0:
		return "forecast alone: two rows"
	}
	return "not known: two rows"
}
