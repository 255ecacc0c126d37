// Package logfile reads what loggers write: CSV with a heading, a column time and
// others, each with its unit in brackets. What the columns mean is for the caller.
package logfile

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
)

// A Column is one of the heading: "surface door (°F)" has the name "surface door",
// in small letters with single blanks, and the unit "°F".
type Column struct {
	Name, Unit string
	Text       string // as it was written
}

// A Row is what was read at a time, its cells in the order of the columns. A number
// alone has got its column's unit; "" is what a logger skipped, and the time's cell.
type Row struct {
	Line  int // of the text, from 1
	At    time.Duration
	Cells []string
}

// A Fault is what is wrong with a log: in which line of its text, from 1, in which
// column ("" of the line as a whole), what was found and what is wanted.
type Fault struct {
	Line    int
	Column  string
	Problem string
}

// Error says the line, the column and the problem.
func (f *Fault) Error() string {
	return strings.TrimSuffix(fmt.Sprintf("line %d: %s", f.Line, f.Column), " ") + " " + f.Problem
}

// In names the column under the key of the log, "log.surface door", or the log alone,
// "log", where the fault is that of the line as a whole.
func (f *Fault) In(key string) string {
	if f.Column == "" {
		return key
	}
	return key + "." + f.Column
}

// Bad is a fault of a cell of a row.
func (r Row) Bad(c Column, format string, args ...any) *Fault {
	return &Fault{r.Line, c.Name, fmt.Sprintf(format, args...)}
}

// A Log is a log being read.
type Log struct {
	Columns []Column
	Line    int // of the heading

	csv    *csv.Reader
	want   string
	time   int // column
	moment func(string) (time.Duration, error)
	last   time.Duration
}

// Open reads the heading of a log. want says in words what heading is wanted, moment
// reads a time. The error is a [*Fault]: no heading, or a column twice.
func Open(text []byte, want string, moment func(string) (time.Duration, error)) (*Log, error) {
	l := &Log{csv: csv.NewReader(bytes.NewReader(bytes.TrimPrefix(text, []byte("\ufeff")))), want: want, moment: moment, last: math.MinInt64}
	l.csv.TrimLeadingSpace, l.csv.Comment = true, '#'
	head, err := l.csv.Read()
	if err != nil {
		return nil, &Fault{1, "", "found no heading: want " + want}
	}
	l.Line, _ = l.csv.FieldPos(0)
	if len(head) == 1 && strings.ContainsAny(head[0], ";\t") {
		return nil, &Fault{l.Line, "", fmt.Sprintf("found heading %q: want commas between columns, and a point in numbers", head[0])}
	}
	for _, text := range head {
		name, unit, _ := strings.Cut(text, "(")
		c := Column{strings.ToLower(strings.Join(strings.Fields(name), " ")), strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(unit), ")")), text}
		if slices.ContainsFunc(l.Columns, func(o Column) bool { return o.Name == c.Name }) {
			return nil, &Fault{l.Line, "", fmt.Sprintf("found column %q twice: want each once", text)}
		}
		l.Columns = append(l.Columns, c)
	}
	l.time = slices.IndexFunc(l.Columns, func(c Column) bool { return c.Name == "time" })
	return l, nil
}

// Next returns the next row, and [io.EOF] behind the last one. Any other error is a
// [*Fault]: no column time, a line that is no CSV or has more or fewer cells than the
// heading, a time that is none or not after the one before.
func (l *Log) Next() (Row, error) {
	if l.time < 0 {
		return Row{}, &Fault{l.Line, "", "found no column time: want " + l.want}
	}
	cells, err := l.csv.Read()
	if err == io.EOF {
		return Row{}, err
	}
	if wrong := (*csv.ParseError)(nil); errors.As(err, &wrong) {
		switch {
		case !errors.Is(err, csv.ErrFieldCount):
			return Row{}, &Fault{wrong.Line, "", fmt.Sprintf("found a line that is no CSV (%v): want %d columns, as the heading has", wrong.Err, len(l.Columns))}
		case len(cells) > len(l.Columns):
			return Row{}, &Fault{wrong.Line, "", fmt.Sprintf("found %d columns: want %d, as the heading has, and a point in numbers", len(cells), len(l.Columns))}
		}
		return Row{}, &Fault{wrong.Line, "", fmt.Sprintf("found %d columns: want %d, as the heading has", len(cells), len(l.Columns))}
	} else if err != nil {
		return Row{}, &Fault{1, "", err.Error()}
	}
	r := Row{Cells: cells}
	r.Line, _ = l.csv.FieldPos(0)
	if r.At, err = l.moment(strings.TrimSpace(cells[l.time])); err != nil {
		return Row{}, r.Bad(l.Columns[l.time], "%v", err)
	}
	if r.At <= l.last {
		return Row{}, r.Bad(l.Columns[l.time], "found a time not after the one before: want rising times")
	}
	l.last = r.At
	for i, cell := range cells {
		cells[i] = strings.TrimSpace(cell)
		if _, err := strconv.ParseFloat(cells[i], 64); err == nil && l.Columns[i].Unit != "" {
			cells[i] += " " + l.Columns[i].Unit
		}
	}
	cells[l.time] = ""
	return r, nil
}
