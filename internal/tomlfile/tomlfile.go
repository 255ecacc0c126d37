// Package tomlfile decodes TOML 1.0 files strictly and says where a key stands.
//
// The parsing is pelletier/go-toml's. What it adds: unknown and wrongly
// capitalised keys are errors that list the keys allowed, every error names
// file, line and key, also those found after decoding, and all faults of a file
// are told, not the first alone. BurntSushi/toml reads the same files in the
// tests, to compare with.
package tomlfile

import (
	"bytes"
	"errors"
	"fmt"
	"iter"
	"maps"
	"reflect"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// A Doc is a decoded file.
type Doc struct {
	Name  string
	text  string
	nodes []node                     // see parse
	names map[int32]map[string]int32 // keys of large tables, by table
	types map[reflect.Type]*shape
}

// A Reader decodes many files and remembers the fields of their structs between
// them. It is not safe for concurrent use.
type Reader struct {
	types  map[reflect.Type]*shape
	parser unstable.Parser
	nodes  []node // of the last file, to be written over
}

// NewReader returns a Reader.
func NewReader() *Reader { return &Reader{types: map[reflect.Type]*shape{}} }

// Decode reads text, the file called name, into v, a pointer to a struct with
// toml tags. Several faults come back as one [*Errors].
func Decode(name string, text []byte, v any) (*Doc, error) {
	return NewReader().Decode(name, text, v)
}

var mark = []byte("\uFEFF") // which some editors write first

// Decode is the function of that name.
func (r *Reader) Decode(name string, text []byte, v any) (*Doc, error) {
	text = bytes.TrimPrefix(text, mark)
	d := &Doc{Name: name, text: string(text), types: r.types}
	if err := d.sound(); err != nil {
		d.text = ""
		return d, err
	}
	if err := d.parse(r, text); err != nil {
		return d, err
	}
	return d, d.bindAll(0, v, nil)
}

// A Part is a part of a file that was left undecoded. A field of this type
// takes any value.
type Part struct {
	doc *Doc
	at  int32
}

// Primitive decodes a part that was left undecoded, at key, into v.
func (d *Doc) Primitive(p Part, v any, key ...string) error { return p.doc.bindAll(p.at, v, key) }

// A Table is a table as a type reads it that reads itself; see [Rows].
type Table Part

// Rows goes over a table that was given to UnmarshalTOML: a [Table], or what
// other decoders make of one. A value in it is a string, an int64, a float64, a
// bool, a []any, a map[string]any, or a date as it was written. Other things than
// a table are no table.
func Rows(in any) (rows iter.Seq2[string, any], ok bool) {
	switch x := in.(type) {
	case Table:
		return func(yield func(string, any) bool) {
			for i := x.doc.nodes[x.at].first; i > 0; i = x.doc.nodes[i].after {
				if !yield(x.doc.nodes[i].key, x.doc.plain(i)) {
					return
				}
			}
		}, true
	case map[string]any:
		return func(yield func(string, any) bool) {
			for _, key := range slices.Sorted(maps.Keys(x)) {
				if !yield(key, x[key]) {
					return
				}
			}
		}, true
	}
	return nil, false
}

// String says the table as other decoders' would be said.
func (t Table) String() string { return fmt.Sprint(t.doc.plain(t.at)) }

// Errorf returns an [*Error] at key.
func (d *Doc) Errorf(key []string, format string, args ...any) error {
	err := fmt.Errorf(format, args...)
	return &Error{File: d.Name, Line: d.Line(key...), Key: join(key), Problem: err.Error(), Err: errors.Unwrap(err)}
}

// Line returns the line of key, or of the nearest table above it, or 0.
func (d *Doc) Line(key ...string) int {
	line := 0
	for at := range d.walk(key) {
		line = int(d.nodes[at].line)
	}
	return line
}

// TextLine returns the line of the file on which a row of the text of a key stands,
// rows from 1. All rows of a text that is written on one line stand on that.
func (d *Doc) TextLine(row int, key ...string) int {
	line := d.Line(key...)
	all := strings.SplitN(d.text, "\n", line+1)
	if line < 1 || line > len(all) {
		return line
	}
	own := strings.TrimRight(all[line-1], " \t\r")
	for _, mark := range []string{`"""`, "'''"} {
		switch n := strings.Count(own, mark); {
		case n == 1 && strings.HasSuffix(own, mark): // the line's end behind it is not of the text
			return line + row
		case n == 1:
			return line + row - 1
		}
	}
	return line
}

// walk goes down key as far as the file has it.
func (d *Doc) walk(key []string) iter.Seq[int32] {
	return func(yield func(int32) bool) {
		if len(d.nodes) == 0 {
			return
		}
		at := int32(0)
		for _, name := range key {
			in := at
			if at = d.find(in, name); at == 0 && d.nodes[in].kind == list { // of [[table]]: the first that has it
				for i := d.nodes[in].first; i > 0 && at == 0; i = d.nodes[i].after {
					at = d.find(i, name)
				}
			}
			if at == 0 || !yield(at) {
				return
			}
		}
	}
}

// at returns the value at key, and whether the file has it.
func (d *Doc) at(key []string) (at int32, ok bool) {
	n := 0
	for at = range d.walk(key) {
		n++
	}
	return at, n == len(key) && len(d.nodes) > 0
}

// Under returns the names of the keys directly under the table at key, in the
// order of the file.
func (d *Doc) Under(key ...string) []string {
	at, ok := d.at(key)
	if !ok || d.nodes[at].kind != table {
		return nil
	}
	var names []string
	for i := d.nodes[at].first; i > 0; i = d.nodes[i].after {
		names = append(names, d.nodes[i].key)
	}
	return names
}

// Defined reports whether the file has the key.
func (d *Doc) Defined(key ...string) bool {
	_, ok := d.at(key)
	return ok
}

// Whole returns the whole number at key, and whether there is one.
func (d *Doc) Whole(key ...string) (n int64, ok bool) {
	at, ok := d.at(key)
	if !ok || d.nodes[at].kind != whole {
		return 0, false
	}
	n, err := d.nodes[at].whole()
	return n, err == nil
}

func join(key []string) string { return strings.Join(key, ".") }
