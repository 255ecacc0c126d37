package main

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/tackfree/tackfree/climate"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/tomlfile"
)

// A history is a night's temperatures, from its first reading on.
type history struct {
	place string
	start time.Time // of the first reading
	trace climate.Trace
}

// readHistory reads a night by the ending of its file's name.
func readHistory(file string, text []byte) (history, error) {
	switch ending := filepath.Ext(file); ending {
	case ".csv":
		return readLog(file, text)
	case ".toml":
		return readForecast(file, text)
	default:
		return history{}, fmt.Errorf("%s: found the ending %q: want .csv or .toml", file, ending)
	}
}

// coldest and hottest of a trace, for a line that names the reading.
const coldest, hottest = -60, 100 // °C

func readForecast(file string, text []byte) (history, error) {
	var in struct {
		Place        string            `toml:"place"`
		Start        string            `toml:"start"`
		Temperatures map[string]string `toml:"temperatures"`
	}
	doc, err := tomlfile.Decode(file, text, &in)
	if err != nil {
		return history{}, err
	}
	h := history{place: in.Place}
	if err := printable(doc, in.Place, "place"); err != nil {
		return h, err
	}
	if h.start, err = time.Parse(time.RFC3339, in.Start); err != nil {
		return h, doc.Errorf([]string{"start"}, "found %q: want a time with its offset, such as 2026-04-10T16:00:00-05:00", in.Start)
	}
	for _, key := range doc.Under("temperatures") {
		at := []string{"temperatures", key}
		temp, d, err := pair(in.Temperatures[key], key)
		if err != nil {
			return h, doc.Errorf(at, "%w", err)
		}
		if err := h.add(d, temp); err != nil {
			return h, doc.Errorf(at, "%w", err)
		}
	}
	if len(h.trace) == 0 {
		return h, doc.Errorf([]string{"temperatures"}, `found none: want rows such as "0h" = "62 °F"`)
	}
	return h, nil
}

func (h *history) add(at time.Duration, temp units.Temperature) error {
	if n := len(h.trace); n == 0 && at != 0 {
		return fmt.Errorf("found the first reading at %s: want it at 0h, the start", units.DurationText(at))
	} else if n > 0 && at <= h.trace[n-1].At {
		return errors.New("found a time that is not after the one before: want rising times")
	}
	if at > 60*24*time.Hour {
		return errors.New("found a reading more than 60 days after the first: want one night, or some days")
	}
	if c := temp.Celsius(); !(c >= coldest && c <= hottest) {
		return fmt.Errorf("found %.4g °C: want %d to %d °C", c, coldest, hottest)
	}
	h.trace = append(h.trace, climate.Sample{At: at, Temp: temp})
	return nil
}

// readLog reads the columns time and temperature. The unit stands in the head,
// "temperature °F", or with every reading.
func readLog(file string, text []byte) (history, error) {
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	r := csv.NewReader(bytes.NewReader(text))
	r.Comment, r.FieldsPerRecord, r.TrimLeadingSpace = '#', -1, true
	var h history
	wrong := func(column, format string, args ...any) error {
		line, _ := r.FieldPos(0)
		return fmt.Errorf("%s:%d: %s: %w", file, line, column, fmt.Errorf(format, args...))
	}
	next := func() ([]string, error) {
		row, err := r.Read()
		var bad *csv.ParseError
		if errors.As(err, &bad) {
			err = fmt.Errorf("%s:%d: found a row that is no CSV (%w): want time,temperature", file, bad.Line, bad.Err)
		}
		for i := range row {
			row[i] = strings.TrimSpace(row[i])
		}
		return row, err
	}
	head, err := next()
	if err == io.EOF {
		return h, fmt.Errorf("%s: found no rows: want a head time,temperature °F and readings below it", file)
	}
	if err != nil {
		return h, err
	}
	if len(head) != 2 || head[0] != "time" || !slices.Contains([]string{"temperature", "temperature °F", "temperature °C"}, head[1]) {
		return h, wrong("head", "found %q: want time,temperature °F or time,temperature °C, or time,temperature with the unit at every reading", strings.Join(head, ","))
	}
	unit := strings.TrimPrefix(head[1], "temperature")
	for {
		row, err := next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return h, err
		}
		if len(row) != 2 {
			return h, wrong("row", "found %d columns: want 2, time and temperature", len(row))
		}
		at, err := time.Parse(time.RFC3339, row[0])
		if err != nil {
			return h, wrong("time", "found %q: want a time with its offset, such as 2026-04-10T16:00:00-05:00", row[0])
		}
		if len(h.trace) == 0 {
			h.start = at
		}
		if _, err := strconv.ParseFloat(row[1], 64); unit != "" && err != nil {
			return h, wrong(head[1], "found %q: want a number, for the unit stands in the head", row[1])
		}
		var temp units.Temperature
		if err := temp.UnmarshalText([]byte(row[1] + unit)); err != nil {
			return h, wrong(head[1], "%w", err)
		}
		if err := h.add(at.Sub(h.start), temp); err != nil {
			return h, wrong("time or temperature", "%w", err)
		}
	}
	if len(h.trace) == 0 {
		return h, fmt.Errorf("%s: found a head and no readings: want one or more", file)
	}
	return h, nil
}
