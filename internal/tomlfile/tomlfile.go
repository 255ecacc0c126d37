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
	"maps"
	"reflect"
	"regexp"
	"slices"
	"strings"

	"github.com/BurntSushi/toml"
)

// A Doc is a decoded file.
type Doc struct {
	Name  string
	md    toml.MetaData
	at    map[string]int // lines, once asked for
	text  string
	types map[reflect.Type]map[string]reflect.Type // fields by tag
}

// A Reader decodes many files and remembers the fields of their structs between
// them. It is not safe for concurrent use.
type Reader struct {
	types map[reflect.Type]map[string]reflect.Type
}

// NewReader returns a Reader.
func NewReader() *Reader { return &Reader{map[reflect.Type]map[string]reflect.Type{}} }

var prefix = regexp.MustCompile(`^toml: (line \d+:? ?)?(\(last key .*?"\): )?`)

// Decode reads text, the file called name, into v, a pointer to a struct with
// toml tags. Several faults come back as one [*Errors].
func Decode(name string, text []byte, v any) (*Doc, error) {
	return NewReader().Decode(name, text, v)
}

// Decode is the function of that name.
func (r *Reader) Decode(name string, text []byte, v any) (*Doc, error) {
	d := &Doc{Name: name, text: string(text), types: r.types}
	if err := d.sound(); err != nil {
		d.text = ""
		return d, err
	}
	var err error
	d.md, err = toml.Decode(d.text, v)
	return d, d.faults(reflect.TypeOf(v), nil, err)
}

// Primitive decodes a part that was left undecoded, at key, into v.
func (d *Doc) Primitive(p toml.Primitive, v any, key ...string) error {
	return d.faults(reflect.TypeOf(v), key, d.md.PrimitiveDecode(p, v))
}

// Again reads the file once more, into v, without looking at the keys.
func (d *Doc) Again(v any) error {
	_, err := toml.Decode(d.text, v)
	return err
}

// faults gathers what is wrong under base, which was decoded into a t with err.
func (d *Doc) faults(t reflect.Type, base []string, err error) error {
	bad := d.check(t, base, err != nil) // knows the key, which the decoder may not
	if len(bad) == 0 && err != nil {
		bad = append(bad, d.wrap(err, base...))
	}
	return Gather(bad...)
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
	if d.at == nil {
		d.at = lines(d.text)
	}
	for n := len(key); n > 0; n-- {
		if l, ok := d.at[strings.Join(key[:n], "\x00")]; ok {
			return l
		}
	}
	return 0
}

// Under returns the names of the keys directly under the table at key, in the
// order of the file.
func (d *Doc) Under(key ...string) []string {
	var names []string
	seen := map[string]bool{}
	for _, k := range d.md.Keys() {
		if len(k) > len(key) && slices.Equal(k[:len(key)], key) && !seen[k[len(key)]] {
			seen[k[len(key)]] = true
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

// check compares every key of the file under base with the fields of t. all
// says that the decoder refused something: then every value is read again by
// itself, so that each fault is found, and not the first alone.
func (d *Doc) check(t reflect.Type, base []string, all bool) []error {
	var bad []error
	told := map[string]bool{}
	tell := func(key []string, format string, args ...any) {
		if k := join(key); !told[k] {
			told[k] = true
			bad = append(bad, d.Errorf(key, format, args...))
		}
	}
	var raw map[string]any
	if all {
		if _, err := toml.Decode(d.text, &raw); err != nil {
			return nil // the decoder's own error has a line
		}
	}
	done := map[string]bool{} // values read again
next:
	for _, k := range d.md.Keys() {
		if len(k) <= len(base) || !slices.Equal([]string(k[:len(base)]), base) {
			continue
		}
		at := t
		for i, name := range k[len(base):] {
			full := k[:len(base)+i]
			for at.Kind() == reflect.Pointer {
				at = at.Elem()
			}
			if opaque(at) {
				if all && at != primitiveType && at.Kind() != reflect.Interface {
					d.reread(at, full, raw, done, tell)
				}
				continue next
			}
			if at.Kind() == reflect.Map {
				at = at.Elem()
				continue
			}
			if at.Kind() != reflect.Struct {
				tell(full, "found a table: want %s", wanted(at))
				continue next
			}
			next := d.field(at, name)
			if next == nil {
				tell(k[:len(base)+i+1], "unknown key %q: want %s", name, OneOf(name, slices.Sorted(maps.Keys(d.types[at]))))
				continue next
			}
			at = next
		}
		for at.Kind() == reflect.Pointer {
			at = at.Elem()
		}
		text := reflect.PointerTo(at).Implements(textType)
		if !all && !text {
			continue // the decoder refuses it
		}
		if want := wanted(at); want != "" && !strings.Contains(want, kind(d.md.Type(k...))) {
			tell(k, "found %s: want %s", kind(d.md.Type(k...)), want)
			continue
		}
		if all && opaque(at) && at != primitiveType && at.Kind() != reflect.Interface {
			d.reread(at, k, raw, done, tell)
		}
		if all && at.Kind() == reflect.Slice {
			list, _ := value(raw, k).([]any)
			for _, e := range list {
				if _, ok := e.(string); !ok {
					tell(k, "found %v in the list: want texts in quotes", e)
				}
			}
		}
	}
	return bad
}

// opaque reports whether a t reads its value itself.
func opaque(t reflect.Type) bool {
	return t == primitiveType || t.Kind() == reflect.Interface || reflect.PointerTo(t).Implements(tomlType) || reflect.PointerTo(t).Implements(textType)
}

// value returns what stands at key.
func value(raw map[string]any, key []string) any {
	v := any(raw)
	for _, name := range key {
		table, ok := v.(map[string]any)
		if !ok {
			return nil
		}
		v = table[name]
	}
	return v
}

// reread lets a new t read the value at key and tells what it says.
func (d *Doc) reread(t reflect.Type, key []string, raw map[string]any, done map[string]bool, tell func([]string, string, ...any)) {
	if done[join(key)] {
		return
	}
	done[join(key)] = true
	var err error
	switch x, v := reflect.New(t).Interface(), value(raw, key); x := x.(type) {
	case unmarshaler:
		err = x.UnmarshalTOML(v)
	case encoding.TextUnmarshaler:
		if s, ok := v.(string); ok {
			err = x.UnmarshalText([]byte(s))
		}
	}
	if err != nil {
		tell(key, "%s", strings.ReplaceAll(err.Error(), "\n", " "))
	}
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

// field returns the type of the field of t, a struct, with that tag, or nil.
func (d *Doc) field(t reflect.Type, name string) reflect.Type {
	fields, ok := d.types[t]
	if !ok {
		fields = map[string]reflect.Type{}
		for _, f := range reflect.VisibleFields(t) { // those of embedded structs too
			if tag := f.Tag.Get("toml"); tag != "" && tag != "-" {
				fields[tag] = f.Type
			}
		}
		d.types[t] = fields
	}
	return fields[name]
}
