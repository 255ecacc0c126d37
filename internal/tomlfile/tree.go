package tomlfile

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// What a value is.
type kind uint8

const (
	text kind = iota + 1
	whole
	number
	flag
	date
	list
	table
)

func (k kind) String() string {
	return [...]string{"nothing", "a text in quotes", "a whole number", "a number", "true or false", "a date", "a list", "a table"}[k]
}

// How a table or a list came to be: it says what may still be added to it.
type made uint8

const (
	byValue  made = iota // { } or [ ]: nothing more
	byPath               // above a [table]: that table may still come itself
	byHeader             // [table], or the list of [[table]]
	byDots               // a.b = 1: more of it in the same table
)

// A node is a value of a file. Nodes stand in one list, the file itself first,
// and name each other by their place in it; 0 is none.
type node struct {
	key, text          string // text: of a text what it says, of other single values as written
	first, last, after int32  // the first and last value inside it; the next beside it
	line               int32
	kind               kind
	made               made
}

// parse makes the nodes of d.text. It refuses what TOML 1.0 refuses: the parser
// reads each line, and what one line may add to those before it is seen to here.
func (d *Doc) parse(from *Reader, data []byte) error {
	p := &from.parser
	p.Reset(data)
	d.nodes = append(from.nodes[:0], node{kind: table, made: byHeader})
	defer func() { from.nodes, d.nodes = d.nodes, slices.Clone(d.nodes) }() // of the size that it came to
	r := reader{d: d, p: p, line: 1}
	under, end := int32(0), 0 // the table that lines belong to; where the last one ends
	for p.NextExpression() {
		e := p.Expression()
		var err error
		switch e.Kind {
		case unstable.KeyValue:
			end = int(e.Raw.Offset + e.Raw.Length)
			err = r.put(under, e)
		default:
			under, end, err = r.header(e)
		}
		if err != nil {
			return err
		}
	}
	if err := p.Error(); err != nil {
		return d.syntax(p, err, under, end)
	}
	return nil
}

// A reader puts what the parser reads into the nodes.
type reader struct {
	d    *Doc
	p    *unstable.Parser
	line int // of at, as far as counted
	at   int
}

// lineOf returns the line of an offset, none before the last one asked for.
func (r *reader) lineOf(offset uint32) int {
	if to := int(offset); to > r.at {
		r.line += strings.Count(r.d.text[r.at:to], "\n")
		r.at = to
	}
	return r.line
}

// word returns what a key or text says, out of the file's text where it stands
// there as it is.
func (r *reader) word(n *unstable.Node) string {
	at, size := n.Raw.Offset, n.Raw.Length
	switch len(n.Data) {
	case 0:
		return ""
	case int(size):
		return r.d.text[at : at+size]
	case int(size) - 2: // in quotes, without escapes
		return r.d.text[at+1 : at+size-1]
	}
	return string(n.Data)
}

// many is how many keys of a table are looked through one by one.
const many = 32

// find returns the value called key in a table.
func (d *Doc) find(in int32, key string) int32 {
	if names, ok := d.names[in]; ok {
		return names[key]
	}
	n := 0
	for i := d.nodes[in].first; i > 0; i = d.nodes[i].after {
		if d.nodes[i].key == key {
			return i
		}
		n++
	}
	if n > many {
		names := make(map[string]int32, 2*n)
		for i := d.nodes[in].first; i > 0; i = d.nodes[i].after {
			names[d.nodes[i].key] = i
		}
		if d.names == nil {
			d.names = map[int32]map[string]int32{}
		}
		d.names[in] = names
	}
	return 0
}

// add puts a value into a table or list.
func (d *Doc) add(in int32, n node) int32 {
	at := int32(len(d.nodes))
	d.nodes = append(d.nodes, n)
	if names, ok := d.names[in]; ok {
		names[n.key] = at
	}
	if up := &d.nodes[in]; up.first == 0 {
		up.first, up.last = at, at
	} else {
		d.nodes[up.last].after, up.last = at, at
	}
	return at
}

func (r *reader) again(line int, key []string) error {
	return &Error{File: r.d.Name, Line: line, Key: join(key), Problem: fmt.Sprintf("found %q again: want each key once", key[len(key)-1])}
}

// header makes or finds the table of a line such as [a.b] or [[a.b]].
func (r *reader) header(e *unstable.Node) (under int32, end int, err error) {
	d := r.d
	var key []string
	for it := e.Key(); it.Next(); {
		part := it.Node()
		line, name := r.lineOf(part.Raw.Offset), r.word(part)
		key, end = append(key, name), int(part.Raw.Offset+part.Raw.Length)
		at, ends := d.find(under, name), part.Next() == nil
		n := node{key: name, line: int32(line), kind: table, made: byPath}
		lists := ends && e.Kind == unstable.ArrayTable
		switch old := d.nodes[at]; {
		case at == 0 && lists:
			n.kind, n.made = list, byHeader
			under = d.add(d.add(under, n), node{line: int32(line), kind: table, made: byHeader})
		case at == 0:
			if ends {
				n.made = byHeader
			}
			under = d.add(under, n)
		case lists && old.kind == list && old.made == byHeader:
			under = d.add(at, node{line: int32(line), kind: table, made: byHeader})
		case !ends && old.kind == list && old.made == byHeader:
			under = old.last
		case old.kind == table && old.made != byValue && !ends:
			under = at
		case old.kind == table && old.made == byPath && !lists:
			d.nodes[at].made, under = byHeader, at
		default:
			return 0, 0, r.again(line, key)
		}
	}
	return under, end, nil
}

// put puts a line such as a.b = 1 into a table.
func (r *reader) put(under int32, e *unstable.Node) error {
	d := r.d
	var line int
	var name string
	it := e.Key()
	for it.Next() {
		part := it.Node()
		line, name = r.lineOf(part.Raw.Offset), r.word(part)
		at := d.find(under, name)
		switch {
		case part.Next() == nil && at == 0:
		case at == 0:
			under = d.add(under, node{key: name, line: int32(line), kind: table, made: byDots})
		case part.Next() != nil && d.nodes[at].kind == table && d.nodes[at].made == byDots:
			under = at
		default:
			return r.again(line, append(d.path(under), name))
		}
	}
	return r.value(under, name, line, e.Value())
}

// value puts a value into a table or a list.
func (r *reader) value(under int32, name string, line int, v *unstable.Node) error {
	n := node{key: name, line: int32(line)}
	switch v.Kind {
	case unstable.String:
		n.kind, n.text = text, r.word(v)
	case unstable.Integer:
		n.kind, n.text = whole, r.word(v)
	case unstable.Float:
		n.kind, n.text = number, r.word(v)
	case unstable.Bool:
		n.kind, n.text = flag, r.word(v)
	case unstable.Array, unstable.InlineTable:
		n.kind = list
		if v.Kind == unstable.InlineTable {
			n.kind = table
		}
		at := r.d.add(under, n)
		for it := v.Children(); it.Next(); {
			var err error
			if n.kind == table {
				r.d.nodes[at].made = byHeader // while it is read
				err = r.put(at, it.Node())
			} else {
				err = r.value(at, "", line, it.Node())
			}
			if err != nil {
				return err
			}
		}
		if n.kind == table {
			r.d.shut(at)
		}
		return nil
	default:
		n.kind, n.text = date, string(v.Data)
	}
	at := r.d.add(under, n)
	if n.kind != whole && n.kind != number {
		return nil
	}
	if _, err := n.number(); err != nil {
		return &Error{File: r.d.Name, Line: line, Key: join(r.d.path(at)), Problem: fmt.Sprintf("found %s: want %s of at most 64 bits", n.text, n.kind)}
	}
	return nil
}

// shut ends a table in braces, with the dotted ones inside.
func (d *Doc) shut(at int32) {
	d.nodes[at].made = byValue
	for i := d.nodes[at].first; i > 0; i = d.nodes[i].after {
		if d.nodes[i].kind == table {
			d.shut(i)
		}
	}
}

// path returns the key of a table.
func (d *Doc) path(of int32) []string {
	var key []string
	var walk func(at int32) bool
	walk = func(at int32) bool {
		if at == of {
			return true
		}
		for i := d.nodes[at].first; i > 0; i = d.nodes[i].after {
			if k := d.nodes[i].key; k != "" {
				key = append(key, k)
			}
			if walk(i) {
				return true
			}
			if d.nodes[i].key != "" {
				key = key[:len(key)-1]
			}
		}
		return false
	}
	walk(0)
	return key
}

var bareKey = regexp.MustCompile(`^[ \t]*([A-Za-z0-9_-]+(?:\.[A-Za-z0-9_-]+)*)[ \t]*=`)

// syntax says what the parser did not understand, in the line after end.
func (d *Doc) syntax(p *unstable.Parser, err error, under int32, end int) error {
	e := &Error{File: d.Name, Problem: said(err.Error()), Err: err}
	var at *unstable.ParserError
	if errors.As(err, &at) {
		offset := min(int(p.Range(at.Highlight).Offset), len(d.text))
		e.Line = 1 + strings.Count(d.text[:offset], "\n")
		rest := d.text[end:]
		if n := strings.IndexByte(rest, '\n'); end > 0 && n >= 0 { // what follows on the line of the last key is no key
			rest = rest[n+1:]
		}
		for {
			line, more, ok := strings.Cut(rest, "\n")
			if s := strings.TrimSpace(line); s != "" && s[0] != '#' || !ok {
				break
			}
			rest = more
		}
		if m := bareKey.FindStringSubmatch(rest); m != nil {
			e.Key = join(append(d.path(under), m[1]))
		}
	}
	return e
}

// said puts the parser's sentence, such as "expected '=' after key" or "invalid
// escape character U+0020", into the order of the others.
func said(s string) string {
	want, found, ok := strings.Cut(s, " but got ")
	switch {
	case ok:
		return "found " + found + ": want " + strings.TrimPrefix(want, "expected ")
	case strings.HasPrefix(s, "expected "):
		return "found something else: want " + strings.TrimPrefix(s, "expected ")
	case strings.HasPrefix(s, "need a character after"):
		return `invalid escape: found nothing after \: want one of b, t, n, f, r, ", \, u and U`
	case strings.HasPrefix(s, "invalid escape character"):
		return s + `: want one of b, t, n, f, r, ", \, u and U`
	}
	return "found what is not TOML (" + s + "): want TOML 1.0"
}
