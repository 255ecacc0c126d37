package systems

import (
	"encoding"
	"fmt"
	"iter"
	"slices"
	"sort"

	"github.com/tackfree/tackfree/cure"
	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/tomlfile"
)

// Basis says how a figure is known.
type Basis string

// The bases of a figure.
const (
	Published      Basis = "published"       // read in a source of sources.toml, at a place
	CommonPractice Basis = "common-practice" // what the trade does; no source
	Illustrative   Basis = "illustrative"    // plausible, for trying things out
	FromJob        Basis = "job"             // typed in by the user for this job
	FromSheet      Basis = "sheet"           // read in the product's own sheet, at a place
)

// Origin says where a figure comes from.
type Origin struct {
	Basis  Basis  `json:"basis,omitempty"`
	Source string `json:"source,omitempty"` // key in sources.toml; of a sheet its title and edition
	At     string `json:"at,omitempty"`     // place in the source
	Note   string `json:"note,omitempty"`
}

// A Value is one figure of a data file or a job: the quantity, the text as it
// was written, the range in which the trade works, and where it comes from.
// In TOML it is a text ("10 mil") or a table with the keys value, low, high,
// basis, source, at and note.
type Value[Q any] struct {
	Q         Q
	Text      string // as written; "" if not given
	Low, High *Q     // the trade's range; nil if none is stated
	Origin
}

// Given reports whether the file gave the figure.
func (v Value[Q]) Given() bool { return v.Text != "" }

// MarshalText returns the text as it was written.
func (v Value[Q]) MarshalText() ([]byte, error) { return []byte(v.Text), nil }

// UnmarshalTOML reads a text or a table.
func (v *Value[Q]) UnmarshalTOML(in any) error {
	if text, ok := in.(string); ok {
		q, err := parse[Q](text)
		if err != nil {
			return err
		}
		*v = Value[Q]{Q: q, Text: text, Origin: Origin{Basis: FromJob}}
		return nil
	}
	if rows, ok := tomlfile.Rows(in); ok {
		texts, origin, err := fields(rows, "value", "low", "high")
		if err != nil {
			return err
		}
		n := Value[Q]{Text: texts[0], Origin: origin}
		if n.Text == "" {
			return fmt.Errorf("a figure needs value = \"...\"")
		}
		if n.Q, err = parse[Q](n.Text); err != nil {
			return err
		}
		for i, end := range []string{"low", "high"} {
			if texts[1+i] == "" {
				continue
			}
			q, err := parse[Q](texts[1+i])
			if err != nil {
				return fmt.Errorf("%s: %w", end, err)
			}
			if i == 0 {
				n.Low = &q
			} else {
				n.High = &q
			}
		}
		if n.Low != nil && less(n.Q, *n.Low) || n.High != nil && less(*n.High, n.Q) {
			return fmt.Errorf("found %q outside its own range %q to %q", n.Text, texts[1], texts[2])
		}
		*v = n
		return nil
	}
	return fmt.Errorf("found %v: want a text in quotes, such as \"10 mil\", or a table with value, low, high, basis, source, at, note", in)
}

// Limits is a pair of limits with one origin. In TOML it is a table with the
// keys low, high (either may be left out), basis, source, at and note.
type Limits[Q any] struct {
	Low, High         Q
	LowText, HighText string // "" if there is no limit on that side
	Origin
}

// UnmarshalTOML reads the table.
func (r *Limits[Q]) UnmarshalTOML(in any) error {
	rows, ok := tomlfile.Rows(in)
	if !ok {
		return fmt.Errorf("found %v: want a table with low, high, basis", in)
	}
	texts, origin, err := fields(rows, "low", "high")
	if err != nil {
		return err
	}
	n := Limits[Q]{LowText: texts[0], HighText: texts[1], Origin: origin}
	if n.LowText == "" && n.HighText == "" {
		return fmt.Errorf("limits need low, high or both")
	}
	if n.LowText != "" {
		if n.Low, err = parse[Q](n.LowText); err != nil {
			return fmt.Errorf("low: %w", err)
		}
	}
	if n.HighText != "" {
		if n.High, err = parse[Q](n.HighText); err != nil {
			return fmt.Errorf("high: %w", err)
		}
	}
	*r = n
	return nil
}

// Times holds the times of one event at several temperatures, as a data sheet
// states them. In TOML it is a table of rows, temperature = time, beside the
// keys basis, source, at, note and amount (the mixed volume that a pot life is for).
//
// Where the air's humidity matters too, each row is a table, humidity = time, and
// by = "moisture-cured" or "waterborne" says how: see [cure.Dependence].
type Times struct {
	Table  cure.Table       // of one over humidity: at the column nearest to 50 %; in a plan, at the worst that the air goes through
	Humid  *cure.HumidTable // over humidity too; nil if the rows are of temperature alone
	Texts  [][2]string      // the rows as written, coldest first
	Amount units.Volume
	Origin
}

// UnmarshalTOML reads the table.
func (t *Times) UnmarshalTOML(in any) error {
	rows, ok := tomlfile.Rows(in)
	if !ok {
		return fmt.Errorf("found %v: want a table of rows such as \"50 °F\" = \"16h\", with basis", in)
	}
	n := Times{Origin: Origin{Basis: FromJob}}
	var humid []humidRow
	by := ""
	for key, v := range rows {
		s, ok := v.(string)
		if !ok && slices.Contains([]string{"basis", "source", "at", "note", "amount", "by"}, key) {
			return fmt.Errorf("%s: found %v: want a text in quotes", key, v)
		}
		switch key {
		case "by":
			by = s
		case "basis":
			n.Basis = Basis(s)
		case "source":
			n.Source = s
		case "at":
			n.At = s
		case "note":
			n.Note = s
		case "amount":
			if err := n.Amount.UnmarshalText([]byte(s)); err != nil {
				return fmt.Errorf("amount: %w", err)
			}
		default:
			if len(n.Table) == 1000 {
				return fmt.Errorf("found more than 1000 rows: want at most 1000")
			}
			var temp units.Temperature
			if err := temp.UnmarshalText([]byte(key)); err != nil {
				return fmt.Errorf("row %q is neither a temperature nor one of amount, basis, by, source, at, note: %w", key, err)
			}
			if !ok {
				row, err := readHumidRow(v)
				if err != nil {
					return fmt.Errorf("row %q: %w", key, err)
				}
				humid = append(humid, row)
				n.Table = append(n.Table, cure.Point{Temp: temp})
				n.Texts = append(n.Texts, [2]string{key, row.String()})
				continue
			}
			d, err := units.ParseDuration(s)
			if err != nil {
				return fmt.Errorf("row %q: %w", key, err)
			}
			if d <= 0 {
				return fmt.Errorf("row %q: found %q: want a time above zero", key, s)
			}
			n.Table = append(n.Table, cure.Point{Temp: temp, Time: d})
			n.Texts = append(n.Texts, [2]string{key, s})
		}
	}
	if len(n.Table) == 0 {
		return fmt.Errorf("no row: want at least one such as \"50 °F\" = \"16h\"")
	}
	if err := n.Basis.check(); err != nil {
		return err
	}
	if _, any := in.(map[string]any); any && len(humid) == 0 { // of another decoder, which does not keep the order
		sort.Stable(byTemp(n)) // so that rows of one temperature are named in one order
	}
	for i := 1; i < len(n.Table); i++ {
		switch before, row := n.Table[i-1].Temp, n.Table[i].Temp; {
		case before == row:
			return fmt.Errorf("rows %q and %q are the same temperature", n.Texts[i-1][0], n.Texts[i][0])
		case row.Less(before):
			return fmt.Errorf("found row %q below row %q: want the rows in order, the coldest first", n.Texts[i][0], n.Texts[i-1][0])
		}
	}
	switch {
	case by == "" && len(humid) == 0:
	case len(humid) != len(n.Table):
		return fmt.Errorf("found rows of a time beside rows or a by of humidity: want all rows over humidity, or none")
	default:
		if err := n.overHumidity(by, humid); err != nil {
			return err
		}
	}
	*t = n
	return nil
}

// byTemp sorts rows, the coldest first.
type byTemp Times

func (t byTemp) Len() int { return len(t.Table) }

func (t byTemp) Less(a, b int) bool { return t.Table[a].Temp.Less(t.Table[b].Temp) }

func (t byTemp) Swap(a, b int) {
	t.Table[a], t.Table[b] = t.Table[b], t.Table[a]
	t.Texts[a], t.Texts[b] = t.Texts[b], t.Texts[a]
}

func (b Basis) check() error {
	switch b {
	case Published, CommonPractice, Illustrative, FromJob, FromSheet:
		return nil
	}
	return fmt.Errorf("basis: found %q: want published, common-practice or illustrative, or sheet of a product's own sheet", string(b))
}

// fields reads the texts of a figure's table, in the order of keys, of which
// there are at most three, and its origin, and refuses other keys.
func fields(rows iter.Seq2[string, any], keys ...string) (texts [3]string, o Origin, err error) {
	o.Basis = FromJob
	for key, v := range rows {
		s, ok := v.(string)
		if !ok {
			return texts, o, fmt.Errorf("%s: found %v: want a text in quotes", key, v)
		}
		i := slices.Index(keys, key)
		switch {
		case i >= 0:
			texts[i] = s
		case key == "basis":
			o.Basis = Basis(s)
		case key == "source":
			o.Source = s
		case key == "at":
			o.At = s
		case key == "note":
			o.Note = s
		default:
			known := append(slices.Clone(keys), "basis", "source", "at", "note")
			return texts, o, fmt.Errorf("unknown key %q: want %s", key, tomlfile.OneOf(key, known))
		}
	}
	return texts, o, o.Basis.check()
}

// less compares two figures of one kind.
func less[Q any](a, b Q) bool {
	x, ok1 := any(a).(units.Quantity)
	y, ok2 := any(b).(units.Quantity)
	return ok1 && ok2 && units.Compare(x, y) < 0
}

func parse[Q any](text string) (q Q, err error) {
	switch p := any(&q).(type) {
	case encoding.TextUnmarshaler:
		err = p.UnmarshalText([]byte(text))
	default:
		err = fmt.Errorf("%T is not read from text", q)
	}
	return q, err
}
