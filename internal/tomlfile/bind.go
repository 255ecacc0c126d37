package tomlfile

import (
	"encoding"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
)

type unmarshaler interface{ UnmarshalTOML(any) error }

var (
	tomlType = reflect.TypeFor[unmarshaler]()
	textType = reflect.TypeFor[encoding.TextUnmarshaler]()
	partType = reflect.TypeFor[Part]()
)

// A shape is what is known of a type.
type shape struct {
	fields map[string]field // of a struct, by tag
	names  []string         // theirs, sorted
	toml   bool             // it reads its value itself
	text   bool             // it reads a text itself
}

type field struct {
	index []int
	typ   reflect.Type
}

func (d *Doc) shape(t reflect.Type) *shape {
	if s, ok := d.types[t]; ok {
		return s
	}
	s := &shape{toml: reflect.PointerTo(t).Implements(tomlType), text: reflect.PointerTo(t).Implements(textType)}
	if t.Kind() == reflect.Struct {
		s.fields = map[string]field{}
		for _, f := range reflect.VisibleFields(t) { // those of embedded structs too
			if tag := f.Tag.Get("toml"); tag != "" && tag != "-" {
				s.fields[tag] = field{f.Index, f.Type}
				s.names = append(s.names, tag)
			}
		}
		slices.Sort(s.names)
	}
	d.types[t] = s
	return s
}

// bindAll puts the value at a node, whose key is base, into v, a pointer, and
// gathers all that is wrong with it.
func (d *Doc) bindAll(at int32, v any, base []string) error {
	b := binder{d: d, key: slices.Clone(base)}
	b.bind(at, reflect.ValueOf(v).Elem())
	if b.more > 0 {
		b.bad = append(b.bad, &Errors{More: b.more})
	}
	return Gather(b.bad...)
}

// enough is how many faults of a file are worded; more are counted.
const enough = 10 * MaxErrors

type binder struct {
	d   *Doc
	key []string // of what is being bound
	bad []error

	more int // faults beyond those
}

func (b *binder) tell(at int32, format string, args ...any) {
	if len(b.bad) >= enough {
		b.more++
		return
	}
	problem := strings.ReplaceAll(fmt.Sprintf(format, args...), "\n", " ")
	e := &Error{File: b.d.Name, Line: int(b.d.nodes[at].line), Key: join(b.key), Problem: problem}
	if len(b.bad) > 0 {
		if last, ok := b.bad[len(b.bad)-1].(*Error); ok && last.Key == e.Key { // one fault a key
			return
		}
	}
	b.bad = append(b.bad, e)
}

// bind puts the value at a node into v.
func (b *binder) bind(at int32, v reflect.Value) {
	d := b.d
	n := &d.nodes[at]
	for v.Kind() == reflect.Pointer {
		if v.IsNil() {
			v.Set(reflect.New(v.Type().Elem()))
		}
		v = v.Elem()
	}
	t := v.Type()
	if t == partType {
		v.Set(reflect.ValueOf(Part{d, at}))
		return
	}
	s := d.shape(t)
	switch want := wanted(t, s); {
	case t.Kind() == reflect.Interface:
		v.Set(reflect.ValueOf(d.plain(at)))
	case !fits(want, n.kind):
		found := n.kind.String()
		if n.kind == list && n.made == byHeader {
			found = "a list of tables"
		}
		b.tell(at, "found %s: want %s", found, want)
	case s.toml:
		in := any(Table{d, at})
		if n.kind == text {
			in = n.text
		}
		if err := v.Addr().Interface().(unmarshaler).UnmarshalTOML(in); err != nil {
			b.tell(at, "%s", err)
		}
	case s.text:
		if err := v.Addr().Interface().(encoding.TextUnmarshaler).UnmarshalText([]byte(n.text)); err != nil {
			b.tell(at, "%s", err)
		}
	default:
		b.plain(at, v, s)
	}
}

// plain binds to a type that does not read itself, of a kind that fits.
func (b *binder) plain(at int32, v reflect.Value, s *shape) {
	d := b.d
	n := &d.nodes[at]
	switch v.Kind() {
	case reflect.String:
		v.SetString(n.text)
	case reflect.Bool:
		v.SetBool(n.text == "true")
	case reflect.Int, reflect.Int64:
		i, _ := n.whole() // the reader has seen that it is one
		if v.OverflowInt(i) {
			b.tell(at, "found %s: want a whole number of at most %d bits", n.text, v.Type().Bits())
			return
		}
		v.SetInt(i)
	case reflect.Float64:
		f, _ := n.number()
		v.SetFloat(f)
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 0, d.count(at)))
		elem := reflect.New(v.Type().Elem()).Elem()
		for i := n.first; i > 0; i = d.nodes[i].after {
			if elem.Kind() == reflect.String && d.nodes[i].kind != text {
				b.tell(i, "found %v in the list: want texts in quotes", d.plain(i))
				continue
			}
			elem.SetZero()
			b.bind(i, elem)
			v.Set(reflect.Append(v, elem))
		}
	case reflect.Map:
		if v.IsNil() {
			v.Set(reflect.MakeMapWithSize(v.Type(), d.count(at)))
		}
		elem := reflect.New(v.Type().Elem()).Elem()
		for i := n.first; i > 0; i = d.nodes[i].after {
			elem.SetZero()
			b.key = append(b.key, d.nodes[i].key)
			b.bind(i, elem)
			b.key = b.key[:len(b.key)-1]
			v.SetMapIndex(reflect.ValueOf(d.nodes[i].key).Convert(v.Type().Key()), elem)
		}
	case reflect.Struct:
		for i := n.first; i > 0; i = d.nodes[i].after {
			b.key = append(b.key, d.nodes[i].key)
			if f, ok := s.fields[d.nodes[i].key]; ok {
				b.bind(i, v.FieldByIndex(f.index))
			} else if len(b.bad) >= enough {
				b.more++
			} else {
				b.tell(i, "unknown key %q: want %s", d.nodes[i].key, OneOf(d.nodes[i].key, s.names))
			}
			b.key = b.key[:len(b.key)-1]
		}
	}
}

// What a field is written as.
const (
	wantText      = "a text in quotes"
	wantTextTable = "a text in quotes or a table"
	wantWhole     = "a whole number"
	wantNumber    = "a whole number or a number"
	wantFlag      = "true or false"
	wantTable     = "a table"
	wantList      = "a list"
)

// wanted says what a field of type t is written as, or "" if it decides itself.
func wanted(t reflect.Type, s *shape) string {
	switch {
	case s.toml:
		return wantTextTable
	case s.text:
		return wantText
	}
	switch t.Kind() {
	case reflect.String:
		return wantText
	case reflect.Int, reflect.Int64:
		return wantWhole
	case reflect.Float64:
		return wantNumber
	case reflect.Bool:
		return wantFlag
	case reflect.Map, reflect.Struct:
		return wantTable
	case reflect.Slice:
		return wantList
	}
	return ""
}

// fits reports whether what is wanted may be a k.
func fits(want string, k kind) bool {
	switch want {
	case wantText:
		return k == text
	case wantTextTable:
		return k == text || k == table
	case wantWhole:
		return k == whole
	case wantNumber:
		return k == whole || k == number
	case wantFlag:
		return k == flag
	case wantTable:
		return k == table
	case wantList:
		return k == list
	}
	return true
}

// count returns how many values a table or list has.
func (d *Doc) count(at int32) (n int) {
	for i := d.nodes[at].first; i > 0; i = d.nodes[i].after {
		n++
	}
	return n
}

func (n *node) whole() (int64, error) { return strconv.ParseInt(n.text, 0, 64) }

func (n *node) number() (float64, error) {
	if n.kind == whole {
		i, err := n.whole()
		return float64(i), err
	}
	return strconv.ParseFloat(strings.ReplaceAll(n.text, "_", ""), 64)
}

// plain returns the value at a node as a plain Go one; see [Rows].
func (d *Doc) plain(at int32) any {
	n := &d.nodes[at]
	switch n.kind {
	case whole:
		i, _ := n.whole()
		return i
	case number:
		f, _ := n.number()
		return f
	case flag:
		return n.text == "true"
	case list:
		all := []any{}
		for i := n.first; i > 0; i = d.nodes[i].after {
			all = append(all, d.plain(i))
		}
		return all
	case table:
		all := map[string]any{}
		for i := n.first; i > 0; i = d.nodes[i].after {
			all[d.nodes[i].key] = d.plain(i)
		}
		return all
	}
	return n.text
}
