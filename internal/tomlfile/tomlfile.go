// Package tomlfile decodes TOML files strictly and says where a key stands.
//
// The decoding is BurntSushi/toml's. What it adds: unknown and wrongly
// capitalised keys are errors that list the keys allowed, and every error
// names file, line and key, also those found after decoding.
package tomlfile

import (
	"encoding"
	"errors"
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strings"

	"github.com/BurntSushi/toml"
)

// An Error is one fault of a file.
type Error struct {
	File    string
	Line    int    // 1 is the first; 0 if not known
	Key     string // "areas.shop.length"
	Problem string // what was found and what is allowed
	Err     error  // beneath, or nil
}

// Error gives file, line, key and problem in one line.
func (e *Error) Error() string {
	s := e.File
	if e.Line > 0 {
		s += fmt.Sprintf(":%d", e.Line)
	}
	if e.Key != "" {
		s += ": " + e.Key
	}
	return s + ": " + e.Problem
}

// Unwrap returns the error beneath.
func (e *Error) Unwrap() error { return e.Err }

// A Doc is a decoded file.
type Doc struct {
	Name  string
	md    toml.MetaData
	lines map[string]int
	text  string
}

var prefix = regexp.MustCompile(`^toml: (line \d+:? ?)?(\(last key .*?"\): )?`)

// Decode reads text, the file called name, into v, a pointer to a struct with
// toml tags.
func Decode(name string, text []byte, v any) (*Doc, error) {
	d := &Doc{Name: name, lines: lines(string(text)), text: string(text)}
	var err error
	d.md, err = toml.Decode(string(text), v)
	if bad := d.check(reflect.TypeOf(v), nil); bad != nil { // knows the key, which the decoder may not
		return d, bad
	}
	if err != nil {
		if bad := d.lists(string(text), reflect.TypeOf(v)); bad != nil {
			return d, bad
		}
		return d, d.wrap(err)
	}
	return d, nil
}

// Primitive decodes a part that was left undecoded, at key, into v.
func (d *Doc) Primitive(p toml.Primitive, v any, key ...string) error {
	err := d.md.PrimitiveDecode(p, v)
	if bad := d.check(reflect.TypeOf(v), key); bad != nil {
		return bad
	}
	if err != nil {
		return d.wrap(err, key...)
	}
	return nil
}

func (d *Doc) wrap(err error, key ...string) error {
	e := &Error{File: d.Name, Problem: prefix.ReplaceAllString(err.Error(), ""), Err: err, Key: join(key)}
	var p toml.ParseError
	if errors.As(err, &p) {
		e.Line, e.Key = p.Position.Line, p.LastKey
		if at := p.Position.Start; at > 0 && at <= len(d.text) { // toml v1.6.0 counts an end of file as a line back
			e.Line = 1 + strings.Count(d.text[:at], "\n")
		}
	}
	if e.Line == 0 && e.Key != "" {
		e.Line = d.Line(strings.Split(e.Key, ".")...)
	}
	e.Problem = strings.ReplaceAll(e.Problem, "\n", " ")
	return e
}

// Errorf returns an [*Error] at key.
func (d *Doc) Errorf(key []string, format string, args ...any) error {
	err := fmt.Errorf(format, args...)
	return &Error{File: d.Name, Line: d.Line(key...), Key: join(key), Problem: err.Error(), Err: errors.Unwrap(err)}
}

// Line returns the line of key, or of the nearest table above it, or 0.
func (d *Doc) Line(key ...string) int {
	for n := len(key); n > 0; n-- {
		if l, ok := d.lines[strings.Join(key[:n], "\x00")]; ok {
			return l
		}
	}
	return 0
}

// Under returns the names of the keys directly under the table at key, in the
// order of the file.
func (d *Doc) Under(key ...string) []string {
	var names []string
	for _, k := range d.md.Keys() {
		if len(k) > len(key) && slices.Equal(k[:len(key)], key) && !slices.Contains(names, k[len(key)]) {
			names = append(names, k[len(key)])
		}
	}
	return names
}

// Defined reports whether the file has the key.
func (d *Doc) Defined(key ...string) bool { return d.md.IsDefined(key...) }

func join(key []string) string { return strings.Join(key, ".") }

type unmarshaler interface{ UnmarshalTOML(any) error }

var (
	tomlType      = reflect.TypeFor[unmarshaler]()
	textType      = reflect.TypeFor[encoding.TextUnmarshaler]()
	primitiveType = reflect.TypeFor[toml.Primitive]()
)

// check compares every key of the file under base with the fields of t.
func (d *Doc) check(t reflect.Type, base []string) error {
	for _, k := range d.md.Keys() {
		if len(k) <= len(base) || !slices.Equal([]string(k[:len(base)]), base) {
			continue
		}
		at, leaf := t, false
		for i, name := range k[len(base):] {
			for at.Kind() == reflect.Pointer {
				at = at.Elem()
			}
			if at == primitiveType || at.Kind() == reflect.Interface || reflect.PointerTo(at).Implements(tomlType) || reflect.PointerTo(at).Implements(textType) {
				leaf = true
				break
			}
			if at.Kind() == reflect.Map {
				at = at.Elem()
				continue
			}
			if at.Kind() != reflect.Struct {
				return d.Errorf(k[:len(base)+i], "found a table: want %s", wanted(at))
			}
			next, known := field(at, name)
			if next == nil {
				full := []string(k[:len(base)+i+1])
				return d.Errorf(full, "unknown key %q: want one of %s", name, strings.Join(known, ", "))
			}
			at = next
		}
		if want := wanted(at); !leaf && want != "" && !strings.Contains(want, kind(d.md.Type(k...))) {
			return d.Errorf(k, "found %s: want %s", kind(d.md.Type(k...)), want)
		}
	}
	return nil
}

// lists looks for a list of texts with something else in it, which the decoder
// reports without its key.
func (d *Doc) lists(text string, t reflect.Type) error {
	var raw map[string]any
	if _, err := toml.Decode(text, &raw); err != nil {
		return nil // the decoder's own error has a line
	}
	for _, k := range d.md.Keys() {
		at, v := t, any(raw)
		for _, name := range k {
			for at != nil && at.Kind() == reflect.Pointer {
				at = at.Elem()
			}
			table, ok := v.(map[string]any)
			if at == nil || !ok {
				at = nil
				break
			}
			v = table[name]
			switch at.Kind() {
			case reflect.Map:
				at = at.Elem()
			case reflect.Struct:
				at, _ = field(at, name)
			default:
				at = nil
			}
		}
		list, ok := v.([]any)
		if !ok || at == nil || at.Kind() != reflect.Slice {
			continue
		}
		for _, e := range list {
			if _, ok := e.(string); !ok {
				return d.Errorf(k, "found %v in the list: want texts in quotes", e)
			}
		}
	}
	return nil
}

// kind names a TOML type to people.
func kind(t string) string {
	switch t {
	case "String":
		return "a text in quotes"
	case "Integer":
		return "a whole number"
	case "Float":
		return "a number"
	case "Bool":
		return "true or false"
	case "Hash":
		return "a table"
	case "Array":
		return "a list"
	case "ArrayHash":
		return "a list of tables"
	case "":
		return "nothing"
	}
	return "a date"
}

// wanted says what a field of type t is written as, or "" if it decides itself.
func wanted(t reflect.Type) string {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch p := reflect.PointerTo(t); {
	case p.Implements(tomlType):
		return "a text in quotes or a table"
	case p.Implements(textType):
		return "a text in quotes"
	}
	switch t.Kind() {
	case reflect.String:
		return "a text in quotes"
	case reflect.Int, reflect.Int64:
		return "a whole number"
	case reflect.Float64:
		return "a whole number or a number"
	case reflect.Bool:
		return "true or false"
	case reflect.Map:
		return "a table"
	case reflect.Struct:
		if t == primitiveType {
			return ""
		}
		return "a table"
	case reflect.Slice:
		return "a list"
	}
	return ""
}

func field(t reflect.Type, name string) (reflect.Type, []string) {
	var known []string
	for _, f := range reflect.VisibleFields(t) { // those of embedded structs too
		tag := f.Tag.Get("toml")
		if tag == "" || tag == "-" {
			continue
		}
		if tag == name {
			return f.Type, nil
		}
		known = append(known, tag)
	}
	slices.Sort(known)
	return nil, known
}
