package logfile

import (
	"errors"
	"io"
	"strings"
	"testing"
	"time"
)

func all(text string) (rows []Row, err error) {
	l, err := Open([]byte(text), "a heading", time.ParseDuration)
	if err != nil {
		return nil, err
	}
	for {
		r, err := l.Next()
		if err == io.EOF {
			return rows, nil
		}
		if err != nil {
			return nil, err
		}
		rows = append(rows, r)
	}
}

// A log as loggers write it: a mark of its bytes' order, comments, blanks, a skipped
// cell, a unit in a cell. Source: RFC 4180; the rest common practice, no source.
func TestRows(t *testing.T) {
	rows, err := all("\ufeff# of the hall\nTime, Surface  Door ( °F ),rh (%)\n0h,50,60\n 1h , 10 °C,\n")
	if err != nil || len(rows) != 2 {
		t.Fatal(rows, err)
	}
	if r := rows[0]; r.Line != 3 || r.At != 0 || r.Cells[0] != "" || r.Cells[1] != "50 °F" || r.Cells[2] != "60 %" {
		t.Errorf("%+v", r)
	}
	if r := rows[1]; r.Line != 4 || r.At != time.Hour || r.Cells[1] != "10 °C" || r.Cells[2] != "" {
		t.Errorf("%+v", r)
	}
}

// Each fault by its line and column, no panic. Source: RFC 4180; the rest common
// practice, no source.
func TestFaults(t *testing.T) {
	for text, want := range map[string]string{
		"":                            "line 1: found no heading: want a heading",
		"time;air (°C)\n0h;10\n":      `line 1: found heading "time;air (°C)": want commas between columns`,
		"time,air,Air (K)\n":          `line 1: found column "Air (K)" twice`,
		"air\n10\n":                   "line 1: found no column time: want a heading",
		"time,air\n0h,10,5\n":         "line 2: found 3 columns: want 2, as the heading has, and a point in numbers",
		"time,air\n0h,10\n1h\n":       "line 3: found 1 columns: want 2, as the heading has",
		"time,air\n0\"h,10\n":         "line 2: found a line that is no CSV",
		"time,air\n0h,10\n1h,\"5\n":   "found a line that is no CSV",
		"time,air\n0h,10\n0h,11\n":    "line 3: time found a time not after the one before",
		"time,air\n0h,1\n\n# x\n,2\n": "line 5: time ",
	} {
		_, err := all(text)
		var f *Fault
		if !errors.As(err, &f) || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

// No text makes it panic.
func FuzzLog(f *testing.F) {
	f.Add("time,air\n0\"h,10\n")
	f.Fuzz(func(t *testing.T, text string) {
		all(text)
	})
}
