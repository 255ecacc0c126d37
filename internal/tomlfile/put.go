package tomlfile

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
)

// Put returns text with key set to literal, a TOML value, in the place of what
// stands there, or after the last line of its table, or in a table of its own at
// the end. An empty literal takes the key out, or a table with all its keys. All
// else stays as it is, comments too: the result is read again, and a text in which anything but key changed,
// as where key lies in an inline table, is an error.
func Put(text string, key []string, literal string) (string, error) {
	const fn = "tomlfile.Put"
	d, was, err := read(text)
	if err != nil {
		return "", fmt.Errorf("%s: %w", fn, err)
	}
	if len(key) == 0 {
		return "", fmt.Errorf("%s: no key", fn)
	}
	line := func(key []string) (int, bool) {
		_, ok := d.at(key)
		return d.Line(key...), ok
	}
	all := strings.Split(text, "\n")
	name, table := key[len(key)-1], key[:len(key)-1]
	entry := Key(name) + " = " + literal
	first, there := line(key)
	switch {
	case there && literal == "" && first > 0 && strings.HasPrefix(strings.TrimLeft(all[first-1], " \t"), "["+join(quoted(key))+"]"):
		end := first
		for end < len(all) && !strings.HasPrefix(strings.TrimLeft(all[end], " \t"), "[") {
			end++
		}
		for end > first && (strings.TrimSpace(all[end-1]) == "" || strings.HasPrefix(strings.TrimSpace(all[end-1]), "#")) {
			end-- // what stands above the next table is that one's
		}
		all = slices.Delete(all, first-1, end)
	case there:
		end := ends(all, first)
		keep := ""
		if i := comment(all[end-1]); i >= 0 && end == first {
			keep = " " + all[end-1][i:]
		}
		var with []string
		if literal != "" {
			with = []string{entry + keep}
		}
		all = slices.Replace(all, first-1, end, with...)
	case literal == "":
		return text, nil
	case len(table) == 0:
		all = slices.Insert(all, 0, entry)
	default:
		header, ok := line(table)
		if ok && !strings.HasPrefix(strings.TrimLeft(all[header-1], " \t"), "["+join(quoted(table))+"]") {
			if header > 0 && !strings.HasPrefix(strings.TrimLeft(all[header-1], " \t"), "[") {
				return "", fmt.Errorf("%s: cannot put %s into the text: its table is written with dots", fn, join(key))
			}
			ok = false // only tables below it have a line
		}
		if ok {
			last := header
			for child := range inside(was, table) {
				from, there := line(append(slices.Clone(table), child))
				if !there || from <= header || strings.HasPrefix(strings.TrimLeft(all[from-1], " \t"), "[") {
					continue // a table below it
				}
				last = max(last, ends(all, from))
			}
			all = slices.Insert(all, last, entry)
		} else {
			all = append(all, "["+join(quoted(table))+"]", entry, "")
		}
	}
	out := strings.Join(all, "\n")
	_, now, err := read(out)
	if err != nil {
		return "", fmt.Errorf("%s: cannot put %s into the text: %w", fn, join(key), err)
	}
	var want any
	if literal != "" {
		_, v, err := read("x = " + literal)
		if err != nil {
			return "", fmt.Errorf("%s: %s = %s: %w", fn, join(key), literal, err)
		}
		want = v["x"]
	}
	set(was, key, want)
	for i := len(key) - 1; want == nil && i > 0 && len(inside(was, key[:i])) == 0 && inside(now, key[:i]) == nil; i-- {
		set(was, key[:i], nil) // it had no line but those of what is below it
	}
	if !reflect.DeepEqual(was, now) {
		return "", fmt.Errorf("%s: cannot put %s into the text: it stands in a table on one line, or under another way of writing it", fn, join(key))
	}
	return out, nil
}

// set puts a value into decoded tables; nil takes it out.
func set(raw map[string]any, key []string, v any) {
	for _, name := range key[:len(key)-1] {
		next, ok := raw[name].(map[string]any)
		if !ok {
			next = map[string]any{}
			raw[name] = next
		}
		raw = next
	}
	if v == nil {
		delete(raw, key[len(key)-1])
		return
	}
	raw[key[len(key)-1]] = v
}

// inside returns the table at key, or nil.
func inside(raw map[string]any, key []string) map[string]any {
	for _, name := range key {
		raw, _ = raw[name].(map[string]any)
	}
	return raw
}

// ends returns the last line of the key that begins on a line, both counted from 1:
// its value may go on over lines.
func ends(all []string, first int) int {
	end := first
	for end < len(all) && !complete(strings.Join(all[first-1:end], "\n")) {
		end++
	}
	return end
}

// complete reports whether key = value is all there.
func complete(text string) bool {
	_, _, err := read(strings.TrimLeft(text, " \t"))
	return err == nil
}

// read returns the nodes of a text and what it says.
func read(text string) (*Doc, map[string]any, error) {
	d := &Doc{Name: "text", text: text}
	if err := d.sound(); err != nil {
		return nil, nil, err
	}
	if err := d.parse(NewReader(), []byte(text)); err != nil {
		return nil, nil, err
	}
	all, _ := d.plain(0).(map[string]any)
	return d, all, nil
}

// comment returns where a comment begins on a line, or -1.
func comment(line string) int {
	quote := byte(0)
	for i := 0; i < len(line); i++ {
		switch c := line[i]; {
		case quote == 0 && c == '#':
			return i
		case quote == 0 && (c == '"' || c == '\''):
			quote = c
		case c == '\\' && quote == '"':
			i++
		case c == quote:
			quote = 0
		}
	}
	return -1
}

// Key writes a key as TOML has it: bare, or in quotes.
func Key(name string) string {
	bare := name != ""
	for _, r := range name {
		bare = bare && (r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' || r == '_')
	}
	if bare {
		return name
	}
	return strconv.Quote(name)
}

func quoted(keys []string) []string {
	out := make([]string, len(keys))
	for i, k := range keys {
		out[i] = Key(k)
	}
	return out
}
